"""Sampling a raster on the polar grid around each site."""
from __future__ import annotations

import numpy as np

from ..localframe import LocalFrame
from .polargrid import PolarGrid
from .rasters import Raster

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
        self._coefficients = self._pixel_coefficients()

    def _wrap_to_raster(self):
        """Turn sites by a full circle where the raster counts longitudes another way round."""
        self._turn = np.zeros(len(self.frame.lon))
        if self.frame.edges is None:
            return
        rows, cols = self.raster.shape
        a, b, c, _d, _e, _f = self.raster.affine
        corners = np.array([a, a + b * cols, a + c * rows, a + b * cols + c * rows])
        west, east = corners.min(), corners.max()
        x, width = self.frame.origin[:, 0], self.frame.edges[1] - self.frame.edges[0]
        for turn in (width, -width):
            moved = (x + turn >= west) & (x + turn <= east) & ~((x >= west) & (x <= east))
            self._turn[moved] = turn

    def _pixel_coefficients(self) -> np.ndarray:
        """Chain the local polynomial with the raster's affine: (n, 2, 6) for columns and rows."""
        a, b, c, d, e, f = self.raster.affine
        det = b * f - c * e
        inverse = np.array([[f, -c], [-e, b]]) / det
        k = self.frame.coefficients.copy()
        k[:, 0, 0] += self._turn - a
        k[:, 1, 0] -= d
        return np.einsum("ij,njk->nik", inverse, k)

    def cell_m(self, site: int) -> float:
        """Return the smaller side of a cell at a site [m], measured on the ground; NaN off the map."""
        (p, q), (r, s) = self._coefficients[site][:, 1:3]
        det = abs(p * s - q * r)
        if not det > 0:
            return np.nan
        return float(min(np.hypot(s, r), np.hypot(q, p)) / det)

    def pixels(self, site: int, east, north) -> tuple[np.ndarray, np.ndarray]:
        """Return the whole columns and rows of local points [m]."""
        if self.frame.is_exact_needed[site]:
            x, y = self.frame.place(site, east, north)
            pixels = self.raster.pixel_of(x + self._turn[site], y)
            return tuple(np.floor(np.nan_to_num(p, nan=-1.0)).astype(np.int64) for p in pixels)
        east, north = np.asarray(east, np.float32), np.asarray(north, np.float32)
        reach = self.frame.reach_m[site]
        pixels = []
        for k in self._coefficients[site]:
            # whole cells apart, so that single precision serves rasters of any size
            base = np.floor(k[0])
            c = (k - [base, 0, 0, 0, 0, 0]).astype(np.float32)
            value = c[1] * east
            value += c[2] * north
            if np.abs(k[3:]).sum() * reach**2 > BEND_CELLS:
                value += (c[3] * east + c[4] * north) * east + c[5] * north * north
            value += c[0]
            np.floor(value, out=value)
            pixels.append(value.astype(np.int32) + np.int64(base) if abs(base) > 1e9
                          else value.astype(np.int32) + np.int32(base))
        return tuple(pixels)

    def sample(self, site: int, east, north, step_m: float) -> tuple[np.ndarray, np.ndarray]:
        """Look up the cell under each point.

        Parameters
        ----------
        site : int
        east, north : ndarray
            Points [m].
        step_m : float
            Smallest distance between points: cells finer than half of it are thinned.

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
        if not self._on_map(site):
            return np.zeros(np.shape(east), np.float32), np.zeros(np.shape(east), bool)
        column, row = self.pixels(site, east, north)
        return look_up(self._window(site, column, row, step_m), row, column)

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
        if not self._on_map(site):
            return np.nan, False
        position = self._coefficients[site][:, 0] - 0.5
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
            As in `sample`.

        Returns
        -------
        values : ndarray
            As many as there are; of no cell where the raster does not reach.
        valid : ndarray of bool
            Which of them hold data.
        """
        if not self._on_map(site):
            return np.zeros(0, np.float32), np.zeros(0, bool)
        angle = np.linspace(0.0, 2.0 * np.pi, 33)
        reach = self.frame.reach_m[site]
        window = self._window(site, *self.pixels(site, reach * np.sin(angle), reach * np.cos(angle)), step_m)
        return window.values, window.valid

    def _on_map(self, site) -> bool:
        return bool(np.isfinite(self.frame.origin[site]).all() and np.isfinite(self.cell_m(site)))

    def _window(self, site, column, row, step_m):
        thinning = max(int(step_m / (2.0 * self.cell_m(site))), 1)
        return self.raster.read(int(row.min()), int(row.max()) + 1,
                                int(column.min()), int(column.max()) + 1, thinning)


def look_up(window, row, column) -> tuple[np.ndarray, np.ndarray]:
    """Take the cells of a window at rows and columns of the whole raster."""
    height, width = window.values.shape
    if not height or not width:
        return np.zeros(row.shape, window.values.dtype), np.zeros(row.shape, bool)
    row, column = row - window.row, column - window.col
    if window.thinning > 1:
        row, column = row // window.thinning, column // window.thinning
    complete = (row.min() >= 0 and column.min() >= 0
                and row.max() < height and column.max() < width)
    if not complete:
        outside = (row < 0) | (column < 0) | (row >= height) | (column >= width)
        row, column = row.clip(0, height - 1), column.clip(0, width - 1)
    index = row * np.int32(width) + column if height * width < 2**31 else row.astype(np.int64) * width + column
    values = window.values.ravel()[index]
    if complete and window.valid.all():
        return values, np.ones(row.shape, bool)
    valid = window.valid.ravel()[index]
    if not complete:
        valid &= ~outside
    return values, valid


def grid_step_m(grid: PolarGrid) -> float:
    """Return the smallest distance between two spots of a polar grid [m]."""
    rings = np.diff(grid.edges_m)
    rays = max(grid.edges_m[0], grid.radius_m[0]) * 2.0 * np.pi / grid.rays
    return float(min(rings.min(), rays)) if len(rings) else 0.0
