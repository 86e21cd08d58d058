"""A raster held in memory: an array read through the same interface as a file."""
from __future__ import annotations

from copy import copy

import numpy as np

from ..errors import InputError
from .rasters import Raster, Source, finished


class ArrayRaster(Raster):
    """An array of cells, which gives what a file of the same cells would.

    Parameters
    ----------
    values : array_like, shape (rows, columns)
        Numbers; row 0 is the first. They are copied.
    affine : sequence of float
        Geotransform in GDAL's order: x = a + b·col + c·row, y = d + e·col + f·row.
    crs : str
        WKT, or an authority's code such as “EPSG:32633”.
    nodata : float, optional
        Value of cells without data. Cells that are not finite have none anyway.
    category_names : dict of int to str, optional
        Names of classes.
    unit : str
        Of the values; empty where it is not known.
    name : str
        For messages.

    Raises
    ------
    InputError
        If the array is no table of numbers, the geotransform is none, or there is no CRS.
    """

    def __init__(self, values, affine, crs: str, nodata: float | None = None,
                 category_names: dict[int, str] | None = None, unit: str = "", name: str = "array"):
        # no file, and one band
        self.path, self.band, self.name = "", 1, name
        self._read_from(_Array(values, affine, crs, nodata, category_names, unit, name), None)

    def overview(self, number: int) -> Raster:
        """Refuse to open an overview, for an array has none.

        Raises
        ------
        InputError
            Always.
        """
        raise InputError(f"Raster “{self.name}” is an array and has no overviews; number {number} was asked for.")

    def reopened(self) -> ArrayRaster:
        """Give the same cells once more; any number of threads may read them."""
        other = copy(self)
        other.category_names = dict(self.category_names)
        return other

    def _source_anew(self) -> Source:
        return self._source


class _Array:
    def __init__(self, values, affine, crs, nodata, category_names, unit, name):
        cells = np.asarray(values)
        if cells.ndim != 2 or not cells.size or cells.dtype.kind not in "iuf":
            raise InputError(f"Raster “{name}” needs a table of numbers (rows × columns), not an array of shape "
                             f"{cells.shape} and type {cells.dtype.name}.")
        self.affine = tuple(float(part) for part in affine)
        if len(self.affine) != 6 or not np.isfinite(self.affine).all():
            raise InputError(f"Raster “{name}” needs six finite numbers as its geotransform, not {self.affine}.")
        self._cells, self._nodata = cells.copy(), nodata
        self.shape: tuple[int, int] = cells.shape
        self.overviews: tuple[float, ...] = ()
        self.crs, self.unit = crs or "", unit
        self.category_names = dict(category_names or {})

    def block(self, row0, row1, col0, col1):
        return finished(self._cells[row0:row1, col0:col1].copy(), self._nodata, None, 1.0, 0.0)
