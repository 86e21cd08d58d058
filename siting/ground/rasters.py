"""Reading rasters: one small interface; files by rasterio where it is installed, by GDAL's own bindings otherwise.

Only windows are read, never a whole raster, and a window that is finer than
what is sampled from it is thinned while it is read, strip by strip, by taking
every k-th cell: averaging would invent land-cover classes and flatten ridges.
"""
from __future__ import annotations

import os
from contextlib import contextmanager
from typing import NamedTuple, Protocol

import numpy as np

from ..errors import InputError

STRIP_CELLS = 8_000_000
"""Cells held at once while a window is thinned."""
HELD_CELLS, HELD_MARGIN = 24_000_000, 0.15
"""Most cells that a raster holds for windows that move, and how far around a window is read, as a part of its size."""
CACHE_BYTES = 256 << 20
"""Most memory that GDAL may keep decoded blocks in during a run."""


class Window(NamedTuple):
    """A piece of a raster: its cells, which of them hold data, and how it lies in the whole.

    Cell (i, j) of `values` is cell (row + i·thinning, col + j·thinning) of the raster.
    """

    values: np.ndarray
    valid: np.ndarray
    row: int
    col: int
    thinning: int


class Source(Protocol):
    """What a raster is read from: a file by rasterio or by GDAL, or an array.

    Attributes
    ----------
    affine : tuple of float
        Geotransform in GDAL's order: x = a + b·col + c·row, y = d + e·col + f·row.
    shape : tuple of int
        Rows and columns.
    overviews : tuple of float
        See `Raster.overviews`.
    crs : str
        Empty where it names none.
    unit : str
        Of the values; empty where it names none.
    category_names : dict of int to str
        Names of classes; empty where it names none.
    """

    affine: tuple
    shape: tuple[int, int]
    overviews: tuple[float, ...]
    crs: str
    unit: str
    category_names: dict[int, str]

    def block(self, row0: int, row1: int, col0: int, col1: int) -> tuple[np.ndarray, np.ndarray]:
        """Return the values of cells that exist, and which of them hold data; both may be written to."""


class Raster:
    """One band of a raster file, read by windows.

    Parameters
    ----------
    path : str
        What GDAL opens.
    name : str, optional
        The layer's name, for messages; else the path.
    band : int
        Band number, from 1.
    crs : str, optional
        WKT of the CRS, where the user has set another than the file's.
    overview : int, optional
        Open this overview of the file instead, see `overview`.

    Raises
    ------
    InputError
        If it cannot be opened, has no CRS, no georeference or no such band.
    """

    def __init__(self, path: str, name: str | None = None, band: int = 1, crs: str | None = None,
                 overview: int | None = None):
        self.path, self.band = str(path), int(band)
        self.name = name or os.path.basename(self.path) or self.path
        self._read_from(_open(self.path, self.name, self.band, overview), crs)

    def _read_from(self, source: Source, crs: str | None) -> None:
        self._source = source
        self.crs: str = crs or source.crs
        self.shape: tuple[int, int] = source.shape
        self.affine: tuple = source.affine
        self.category_names: dict[int, str] = source.category_names
        self.unit: str = source.unit
        if not self.crs:
            raise InputError(f"Raster “{self.name}” has no coordinate reference system. Assign it one first.")
        _a, b, c, _d, e, f = self.affine
        if b * f - c * e == 0 or self.affine == (0.0, 1.0, 0.0, 0.0, 0.0, 1.0):
            raise InputError(
                f"Raster “{self.name}” is not georeferenced (no geotransform). Georeference or warp it first.")

    @property
    def overviews(self) -> tuple[float, ...]:
        """How many times as wide as the file's own the cells of its overviews are, in the file's order."""
        return self._source.overviews

    def overview(self, number: int) -> Raster:
        """Open one of the file's overviews.

        Parameters
        ----------
        number : int
            Its place in `overviews`. How its cells were made (averaged, nearest …) no file tells.

        Raises
        ------
        InputError
            If it cannot be opened.
        """
        return Raster(self.path, self.name, self.band, self.crs, number)

    def reopened(self) -> Raster:
        """Open the same band once more: a file that is open may be read by one thread at a time."""
        other = Raster(self.path, self.name, self.band, self.crs)
        other.category_names = dict(self.category_names)
        return other

    def _source_anew(self) -> Source:
        return _open(self.path, self.name, self.band)

    def pixel_of(self, x, y) -> tuple[np.ndarray, np.ndarray]:
        """Return fractional column and row of coordinates in the raster's CRS (0, 0 is the outer corner)."""
        a, b, c, d, e, f = self.affine
        det = b * f - c * e
        dx, dy = np.asarray(x) - a, np.asarray(y) - d
        return (f * dx - c * dy) / det, (b * dy - e * dx) / det

    def read(self, row0: int, row1: int, col0: int, col1: int, thinning: int = 1) -> Window:
        """Read the cells of rows row0 … row1 - 1 and columns col0 … col1 - 1 that exist.

        Parameters
        ----------
        row0, row1, col0, col1 : int
            Bounds; they may lie outside the raster.
        thinning : int
            Keep every k-th row and column only.

        Returns
        -------
        Window
            Empty (shape (0, 0)) where the raster does not reach.

        Raises
        ------
        InputError
            If the file is damaged there.
        """
        # GDAL's bindings take no numpy integers
        row0, row1 = max(int(row0), 0), min(int(row1), self.shape[0])
        col0, col1 = max(int(col0), 0), min(int(col1), self.shape[1])
        if row1 <= row0 or col1 <= col0:
            return Window(np.zeros((0, 0), np.float32), np.zeros((0, 0), bool), row0, col0, thinning)
        width = col1 - col0
        if thinning <= 1:
            values, valid = self._block(row0, row1, col0, col1)
            return Window(values, valid, row0, col0, 1)
        lines = max(STRIP_CELLS // width // thinning, 1) * thinning
        parts = []
        for top in range(row0, row1, lines):
            block = self._block(top, min(top + lines, row1), col0, col1)
            parts.append([part[::thinning, ::thinning].copy() for part in block])
        values = np.concatenate([part[0] for part in parts])
        valid = np.concatenate([part[1] for part in parts])
        return Window(values, valid, row0, col0, thinning)

    def _block(self, row0, row1, col0, col1):
        try:
            values, valid = self._source.block(row0, row1, col0, col1)
        except Exception as error:  # both libraries raise many kinds for a damaged file
            raise InputError(
                f"Raster “{self.name}” cannot be read at rows {row0} to {row1}, columns {col0} to {col1}: "
                f"{error}. The file may be damaged; copy or export it anew.") from error
        if values.dtype.kind == "f":
            valid &= np.isfinite(values)
        return values, valid

    def thin_overview(self, cells: int = 1024) -> Window:
        """Read every k-th row and column of the whole raster, at most `cells` each way."""
        thinning = max(-(-max(self.shape) // cells), 1)
        rows = range(0, self.shape[0], thinning)
        lines = [self.read(row, row + 1, 0, self.shape[1]) for row in rows]
        return Window(np.concatenate([w.values[:, ::thinning] for w in lines]),
                      np.concatenate([w.valid[:, ::thinning] for w in lines]), 0, 0, thinning)


class HeldRaster(Raster):
    """The same band, which holds what was read last with some cells around: for windows that move a little.

    What it gives must not be written to. It is meant for one thread.

    Parameters
    ----------
    raster : Raster
        Opened once more.
    """

    def __init__(self, raster: Raster):
        self.path, self.band, self.name = raster.path, raster.band, raster.name
        self._read_from(raster._source_anew(), raster.crs)
        self.category_names = dict(raster.category_names)
        self._held: list = []

    def _block(self, row0, row1, col0, col1):
        for held in self._held:
            (top, bottom, left, right), values, valid = held
            if top <= row0 and row1 <= bottom and left <= col0 and col1 <= right:
                piece = slice(row0 - top, row1 - top), slice(col0 - left, col1 - left)
                return values[piece], valid[piece]
        more_rows, more_cols = (int(HELD_MARGIN * (b - a)) + 16 for a, b in ((row0, row1), (col0, col1)))
        box = (max(row0 - more_rows, 0), min(row1 + more_rows, self.shape[0]),
               max(col0 - more_cols, 0), min(col1 + more_cols, self.shape[1]))
        cells = (box[1] - box[0]) * (box[3] - box[2])
        if cells > HELD_CELLS:
            return super()._block(row0, row1, col0, col1)
        values, valid = super()._block(*box)
        values.flags.writeable = valid.flags.writeable = False
        self._held.insert(0, (box, values, valid))
        while sum(one[1].size for one in self._held) > HELD_CELLS:
            self._held.pop()
        piece = slice(row0 - box[0], row1 - box[0]), slice(col0 - box[2], col1 - box[2])
        return values[piece], valid[piece]


class _Rasterio:
    def __init__(self, path, band, overview=None):
        import rasterio
        from rasterio.enums import MaskFlags
        from rasterio.windows import Window as RasterioWindow
        self._window = RasterioWindow
        self._file = rasterio.open(path, **({} if overview is None else {"overview_level": overview}))
        self._check(band, self._file.count)
        self._band = band
        t = self._file.transform
        self.affine = (t.c, t.a, t.b, t.f, t.d, t.e)
        self.shape = self._file.shape
        self.overviews = tuple(float(factor) for factor in self._file.overviews(band))
        self.crs = self._file.crs.to_wkt() if self._file.crs else ""
        self.unit = (self._file.units[band - 1] or "") if self._file.units else ""
        self.category_names = _category_names(path, band)
        self._nodata = self._file.nodatavals[band - 1]
        flags = self._file.mask_flag_enums[band - 1]
        self._masked = MaskFlags.per_dataset in flags or MaskFlags.alpha in flags
        self._scale, self._offset = self._file.scales[band - 1], self._file.offsets[band - 1]

    @staticmethod
    def _check(band, count):
        if not 1 <= band <= count:
            raise ValueError(f"it has {count} band(s), band {band} was asked for")

    def block(self, row0, row1, col0, col1):
        window = self._window(col0, row0, col1 - col0, row1 - row0)
        values = self._file.read(self._band, window=window)
        mask = self._file.read_masks(self._band, window=window) if self._masked else None
        return finished(values, self._nodata, mask, self._scale, self._offset)


class _Gdal:
    def __init__(self, path, band, overview=None):
        from osgeo import gdal
        options = [] if overview is None else [f"OVERVIEW_LEVEL={overview}"]
        if hasattr(gdal, "ExceptionMgr"):
            with gdal.ExceptionMgr(useExceptions=True):
                self._file = gdal.OpenEx(path, gdal.OF_RASTER, open_options=options)
        else:
            self._file = gdal.OpenEx(path, gdal.OF_RASTER, open_options=options)
        if self._file is None:
            raise OSError(gdal.GetLastErrorMsg() or "not recognised as a raster")
        _Rasterio._check(band, self._file.RasterCount)
        self._band = self._file.GetRasterBand(band)
        self._error_text = gdal.GetLastErrorMsg
        self.affine = tuple(self._file.GetGeoTransform(can_return_null=False))
        self.shape = (self._file.RasterYSize, self._file.RasterXSize)
        self.overviews = tuple(self.shape[1] / self._band.GetOverview(i).XSize
                               for i in range(self._band.GetOverviewCount()))
        self.crs = self._file.GetProjection() or ""
        self.unit = self._band.GetUnitType() or ""
        self.category_names = _category_names(path, band)
        self._nodata = self._band.GetNoDataValue()
        flags = self._band.GetMaskFlags()
        self._mask = self._band.GetMaskBand() if flags & (gdal.GMF_PER_DATASET | gdal.GMF_ALPHA) else None
        self._scale = self._band.GetScale() or 1.0
        self._offset = self._band.GetOffset() or 0.0

    def block(self, row0, row1, col0, col1):
        box = (col0, row0, col1 - col0, row1 - row0)
        values = self._band.ReadAsArray(*box)
        if values is None:
            raise OSError(self._error_text() or "no data came back")
        mask = self._mask.ReadAsArray(*box) if self._mask is not None else None
        return finished(values, self._nodata, mask, self._scale, self._offset)


def finished(values, nodata, mask, scale, offset):
    """Mark cells without data, and apply a scale and offset where the band has one."""
    valid = np.ones(values.shape, bool) if mask is None else mask > 0
    if nodata is not None and not np.isnan(nodata):
        if values.dtype.kind == "f" and np.isfinite(nodata):
            # as np.isclose would tell, but without its copies of the block
            slack, limits = 1e-6 * abs(nodata), np.finfo(values.dtype)
            low, high = max(nodata - slack, float(limits.min)), min(nodata + slack, float(limits.max))
            valid &= (values < low) | (values > high)
        elif values.dtype.kind != "f":
            valid &= values != nodata
    if scale != 1.0 or offset != 0.0:
        values = (values * scale + offset).astype(np.float32)
    return values, valid


def _category_names(path, band) -> dict[int, str]:
    """Read the names of classes that the file itself carries, if any."""
    try:
        from osgeo import gdal
    except ImportError:
        return {}
    dataset = gdal.Open(path)
    names = dataset.GetRasterBand(band).GetCategoryNames() if dataset is not None else None
    return {value: name for value, name in enumerate(names or []) if name}


def _open(path, name, band, overview=None):
    try:
        import rasterio  # noqa: F401  (only whether it is there)
        backend = _Rasterio
    except ImportError:
        backend = _Gdal
    try:
        return backend(path, band, overview)
    except Exception as error:  # both libraries raise many kinds; the text tells
        raise InputError(
            f"Raster “{name}” cannot be opened: {error}. Check the path, or export the layer to a GeoTIFF."
        ) from error


@contextmanager
def bounded_cache(most_bytes: int = CACHE_BYTES):
    """Bound the memory that GDAL keeps decoded blocks in while a run lasts."""
    try:
        from osgeo import gdal
    except ImportError:
        yield
        return
    before = gdal.GetCacheMax()
    gdal.SetCacheMax(min(before, most_bytes))
    try:
        yield
    finally:
        gdal.SetCacheMax(before)
