"""Sampling a raster on the polar grid around each site."""
from __future__ import annotations

import numpy as np

from ..geometry.localframe import LocalFrame
from .polargrid import PolarGrid
from .rasters import STRIP_CELLS, Raster

BEND_CELLS = 0.05
"""Bend of the map within the reach [cells] below which a straight one is taken."""


class RasterSampler:
    """Looks a raster up at local points of many sites.

    Parameters
    ----------
    raster : Raster
    lon, lat : ndarray, shape (n,)
        The sites, WGS 84 [°].
    reach_m : array_like
        Farthest point that will be asked for at each site [m].
    """

    def __init__(self, raster: Raster, lon, lat, reach_m):
        self.raster = raster
        self.frame = LocalFrame(lon, lat, raster.crs, reach_m)
        self._wrap_to_raster()
        self.coefficients = self._pixel_coefficients()

    def _wrap_to_raster(self):
        """Turn sites by a full circle where the raster counts longitudes another way round."""
        self.turn, self._goes_around = np.zeros(len(self.frame.lon)), False
        if self.frame.edges is None:
            return
        rows, cols = self.raster.shape
        a, b, c, _d, e, _f = self.raster.affine
        corners = np.array([a, a + b * cols, a + c * rows, a + b * cols + c * rows])
        west, east = corners.min(), corners.max()
        self._goes_around = c == 0 and e == 0 and abs(east - west - np.diff(self.frame.edges)[0]) < 0.5 * abs(b)
        x, width = self.frame.origin[:, 0], self.frame.edges[1] - self.frame.edges[0]
        for turn in (width, -width):
            moved = (x + turn >= west) & (x + turn <= east) & ~((x >= west) & (x <= east))
            self.turn[moved] = turn

    def _pixel_coefficients(self) -> np.ndarray:
        """Chain the local polynomial with the raster's affine: (n, 2, 6) for columns and rows."""
        a, b, c, d, e, f = self.raster.affine
        det = b * f - c * e
        inverse = np.array([[f, -c], [-e, b]]) / det
        k = self.frame.coefficients.copy()
        k[:, 0, 0] += self.turn - a
        k[:, 1, 0] -= d
        return np.einsum("ij,njk->nik", inverse, k)

    def cell_m(self, site: int) -> float:
        """Return the smaller side of a cell at a site [m], measured on the ground; NaN off the map."""
        (p, q), (r, s) = self.coefficients[site][:, 1:3]
        det = abs(p * s - q * r)
        if not det > 0:
            return np.nan
        return float(min(np.hypot(s, r), np.hypot(q, p)) / det)

    def pixels(self, site: int, east, north) -> tuple[np.ndarray, np.ndarray]:
        """Return the whole columns and rows of local points [m]."""
        if self.frame.is_exact_needed[site]:
            x, y = self.frame.place(site, east, north)
            pixels = self.raster.pixel_of(x + self.turn[site], y)
            return tuple(np.floor(np.nan_to_num(p, nan=-1.0)).astype(np.int64) for p in pixels)
        east, north = np.asarray(east, np.float32), np.asarray(north, np.float32)
        pixels = []
        for k in self.coefficients[site]:
            # whole cells apart, so that single precision serves rasters of any size
            base = np.floor(k[0])
            c = (k - [base, 0, 0, 0, 0, 0]).astype(np.float32)
            value = c[0] + c[1] * east + c[2] * north
            value += (c[3] * east + c[4] * north) * east + c[5] * north * north
            pixels.append(np.floor(value).astype(np.int64) + np.int64(base))
        return tuple(pixels)

    def _is_bent(self, site) -> bool:
        bend = np.abs(self.coefficients[site][:, 3:]).sum(axis=1).max() * self.frame.reach_m[site] ** 2
        return bool(self.frame.is_exact_needed[site] or bend > BEND_CELLS)

    def sample(self, site: int, east, north) -> tuple[np.ndarray, np.ndarray]:
        """Look up the cell under each point.

        Parameters
        ----------
        site : int
        east, north : ndarray
            Points [m].

        Returns
        -------
        values : ndarray
            The cells' values; 0 where there are none.
        valid : ndarray of bool
            False outside the raster and on cells without data.

        Raises
        ------
        InputError
            If the file is damaged there.
        """
        if not self.is_on_map(site):
            return np.zeros(np.shape(east), np.float32), np.zeros(np.shape(east), bool)
        column, row = self.pixels(site, east, north)
        pieces = self._pieces(int(row.min()), int(row.max()) + 1, int(column.min()), int(column.max()) + 1)
        return self._gather(row, column, pieces)

    def sample_grid(self, site: int, grid: PolarGrid) -> tuple[np.ndarray, np.ndarray]:
        """Look up the cell under each spot of a polar grid; like `sample`, but faster.

        Parameters
        ----------
        site : int
        grid : PolarGrid

        Returns
        -------
        values, valid : ndarray, shape (n_rings, rays)
            See `sample`.
        """
        if not self.is_on_map(site) or self._is_bent(site):
            return self.sample(site, *grid.east_north())
        local, box = [], []
        for k in self.coefficients[site][::-1]:
            reach = grid.edges_m[-1] * np.hypot(k[1], k[2])
            first = int(np.floor(k[0] - reach))
            # counted from the box's first cell, so that single precision serves rasters of any size
            value = grid.linear(k[1], k[2])
            value += np.float32(k[0] - first)
            local.append(np.floor(value, out=value))
            box += [first, first + int(2.0 * reach) + 3]
        row, column = local
        pieces = self._pieces(*box)
        if len(pieces) > 1 or not self._holds(box):
            return self._gather(row.astype(np.int32), column.astype(np.int32), pieces, (box[0], box[2]))
        window = self.raster.read(*box)
        # whole numbers up to STRIP_CELLS are exact in single precision
        row *= np.float32(window.values.shape[1])
        row += column
        index = row.astype(np.intp)
        values = window.values.take(index)
        return values, (np.ones(row.shape, bool) if window.valid.all() else window.valid.take(index))

    def _holds(self, box) -> bool:
        rows, cols = self.raster.shape
        return box[0] >= 0 and box[1] <= rows and box[2] >= 0 and box[3] <= cols

    def _gather(self, row, column, pieces, origin=(0, 0)):
        """Take the cells under points from the pieces of their box, see `_pieces`; they count from `origin`."""
        if len(pieces) == 1:
            (window_box, turn), = pieces
            window = self.raster.read(*window_box)
            return look_up(window, row, column, (origin[0] - window.row, origin[1] + turn - window.col))
        values, valid = None, np.zeros(row.shape, bool)
        for (row0, row1, col0, col1), turn in pieces:
            here = (row >= row0 - origin[0]) & (row < row1 - origin[0])
            here &= (column >= col0 - turn - origin[1]) & (column < col1 - turn - origin[1])
            window = self.raster.read(row0, row1, col0, col1) if here.any() else None
            if window is None or not window.values.size:
                continue
            if values is None:
                values = np.zeros(row.shape, window.values.dtype)
            offset = (origin[0] - window.row, origin[1] + turn - window.col)
            values[here], valid[here] = look_up(window, row[here], column[here], offset)
        return (np.zeros(row.shape, np.float32) if values is None else values), valid

    def _pieces(self, row0, row1, col0, col1):
        """Cut a box, rows first, into strips that may be held at once, each with the columns by which it is turned.

        A box that runs over the seam of a raster of the whole world goes on at its other side.
        """
        columns = [((col0, col1), 0)]
        width = self.raster.shape[1]
        if self._goes_around and (col0 < 0 or col1 > width):
            columns = [((max(col0 + turn, 0), min(col1 + turn, width)), turn) for turn in (0, width, -width)
                       if col0 + turn < width and col1 + turn > 0]
        row0, row1 = max(row0, 0), min(row1, self.raster.shape[0])
        if row1 <= row0:
            return [((row0, row0, col0, col1), 0)]
        lines = max(STRIP_CELLS // max(col1 - col0, 1), 1)
        return [((top, min(top + lines, row1), left, right), turn)
                for (left, right), turn in columns for top in range(row0, row1, lines)]

    def between_cells(self, site: int) -> tuple[float, bool]:
        """Interpolate bilinearly between the cell centres around the site itself.

        For smooth surfaces on a coarse grid, such as a geoid; at the raster's rim the
        nearest cells serve.

        Returns
        -------
        value : float
        valid : bool
            False where one of the four cells is missing or holds no data.
        """
        if not self.is_on_map(site):
            return np.nan, False
        position = self.coefficients[site][:, 0] - 0.5
        limits = np.array(self.raster.shape[::-1]) - 1.0
        if np.any(position < -0.5) or np.any(position > limits + 0.5):
            return np.nan, False
        position = np.clip(position, 0.0, limits)
        col, row = np.floor(position).astype(int)
        window = self.raster.read(row, row + 2, col, col + 2)
        if not window.valid.all():
            return np.nan, False
        part_x, part_y = position - [col, row]
        values = np.pad(window.values.astype(float), ((0, 2 - window.values.shape[0]),
                                                      (0, 2 - window.values.shape[1])), mode="edge")
        return float(np.array([1 - part_y, part_y]) @ values @ np.array([1 - part_x, part_x])), True

    def surroundings(self, site: int, step_m: float) -> tuple[np.ndarray, np.ndarray]:
        """Read the cells in the box around a site's reach, thinned to a step.

        Parameters
        ----------
        site : int
        step_m : float
            Cells finer than half of it are thinned.

        Returns
        -------
        values : ndarray
            As many as there are; of no cell where the raster does not reach.
        valid : ndarray of bool
            Which of them hold data.
        """
        if not self.is_on_map(site):
            return np.zeros(0, np.float32), np.zeros(0, bool)
        angle = np.linspace(0.0, 2.0 * np.pi, 33)
        reach = self.frame.reach_m[site]
        window = self._window(site, *self.pixels(site, reach * np.sin(angle), reach * np.cos(angle)), step_m)
        return window.values, window.valid

    def is_on_map(self, site: int) -> bool:
        """Tell whether the raster's CRS can show a site."""
        return bool(np.isfinite(self.frame.origin[site]).all() and np.isfinite(self.cell_m(site)))

    def _window(self, site, column, row, step_m):
        thinning = max(int(step_m / (2.0 * self.cell_m(site))), 1)
        return self.raster.read(int(row.min()), int(row.max()) + 1,
                                int(column.min()), int(column.max()) + 1, thinning)


def look_up(window, row, column, offset=(0, 0)) -> tuple[np.ndarray, np.ndarray]:
    """Take the cells of a window at its rows and columns plus an offset.

    Parameters
    ----------
    window : Window
        Not thinned.
    row, column : ndarray of int
    offset : tuple of int
        Added to rows and columns; it makes them count from the window's first cell.

    Returns
    -------
    values : ndarray
    valid : ndarray of bool
        False outside the window and on cells without data.
    """
    height, width = window.values.shape
    if not height or not width:
        return np.zeros(row.shape, window.values.dtype), np.zeros(row.shape, bool)
    index = row * row.dtype.type(width) + column
    index += offset[0] * width + offset[1]
    complete = (row.min() + offset[0] >= 0 and column.min() + offset[1] >= 0
                and row.max() + offset[0] < height and column.max() + offset[1] < width)
    outside = None
    if not complete:
        row, column = row + offset[0], column + offset[1]
        outside = (row < 0) | (column < 0) | (row >= height) | (column >= width)
        index[outside] = 0
    values = window.values.take(index)
    if complete and window.valid.all():
        return values, np.ones(row.shape, bool)
    valid = window.valid.take(index)
    if outside is not None:
        valid &= ~outside
        values[outside] = 0
    return values, valid
