"""Least-squares planes of the ground in many footprints at once, from every cell inside each.

A footprint cuts each row of cells in one stretch. With running sums along the
rows (of z, x·z and z²) a stretch costs two look-ups however long it is, and the
sums of a footprint are those of its stretches: all cells whose centres lie
inside count, each once, as if they were picked one by one. The cost goes with
the rows that a footprint covers, not with its cells.
"""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..arrays import Array
from .rastersampling import RasterSampler
from .tiltedzone import TiltedZone

LEAST_CELLS = 6
"""Cells below which a plane is no finding: three define it, and as many again tell how well it fits (a convention)."""
MOST_CELLS = 2_000_000
"""Cells held around a site; where there are more, every k-th row and column is taken. Half a metre stays whole
up to antennas of 20 m at 5°."""
COLLINEAR = 1e-9
"""Part of the product of the variances below which cells lie on one line."""
ONE_ROW = 1e-6
"""Variance below which cells lie in one row or column [cells²]; with one of n cells in another it is about 1/n."""


class GroundCells(NamedTuple):
    """The cells of a raster around a site.

    Attributes
    ----------
    values : ndarray, shape (rows, cols)
        Heights [m].
    valid : ndarray of bool, shape (rows, cols)
    to_cell : ndarray, shape (2, 6)
        Column and row (0 is the first cell's outer edge) as polynomials of east and north [m] from the
        site: factors of 1, E, N, E², EN, N².
    reach_m : float
        The cells hold everything up to this distance [m], as far as the raster does.
    """

    values: Array
    valid: Array
    to_cell: Array
    reach_m: float


def cells_around(sampler: RasterSampler, site: int, reach_m: float, most_cells: int = MOST_CELLS) -> GroundCells:
    """Read the cells around a site, thinned where there are too many.

    Parameters
    ----------
    sampler : RasterSampler
        Of the ground's heights.
    site : int
        Its index.
    reach_m : float
        Distance to read [m].
    most_cells : int
        Where there are more, every k-th row and column is taken.

    Returns
    -------
    GroundCells
        Of shape (0, 0) where the raster does not reach.

    Raises
    ------
    InputError
        If the file is damaged there.
    """
    raster, frame = sampler.raster, sampler.frame
    if not (np.isfinite(frame.origin[site]).all() and np.isfinite(sampler.cell_m(site))):
        return GroundCells(np.zeros((0, 0)), np.zeros((0, 0), bool), np.zeros((2, 6)), reach_m)
    a, b, c, d, e, f = raster.affine
    from_corner = frame.coefficients[site].copy()
    from_corner[:, 0] -= (a, d)
    to_cell = np.linalg.inv(np.array([[b, c], [e, f]])) @ from_corner
    # a raster that counts longitudes another way round: the sampler knows by how many columns
    column = sampler.pixels(site, np.zeros(1), np.zeros(1))[0][0]
    if abs(column + 0.5 - to_cell[0, 0]) > 1.0:
        to_cell[0, 0] += np.round(column + 0.5 - to_cell[0, 0])
    extent = reach_m * np.hypot(to_cell[:, 1], to_cell[:, 2]) + 1.0
    low, high = np.floor(to_cell[:, 0] - extent), np.ceil(to_cell[:, 0] + extent)
    thinning = max(int(np.ceil(np.sqrt(np.prod(high - low) / most_cells))), 1)
    window = raster.read(low[1], high[1], low[0], high[0], thinning)
    # the first cell taken stays where it is, the next ones are k cells away: their centres must fit
    to_cell[:, 0] -= (window.col + 0.5, window.row + 0.5)
    to_cell /= thinning
    to_cell[:, 0] += 0.5
    return GroundCells(window.values, window.valid, to_cell, reach_m)


class Planes(NamedTuple):
    """Planes of the ground in footprints; arrays of one shape, NaN where there is none.

    Attributes
    ----------
    slope_east, slope_north : ndarray
        Rise towards east and north [m/m].
    foot_m : ndarray
        Height of the plane at the site's foot [m], in the raster's vertical datum; extrapolated.
    rough_m : ndarray
        Root mean square of the residuals [m].
    cells : ndarray of int
        Cells with data whose centres lie inside.
    data_share : ndarray
        Their area as a part of the footprint's, about 1 where nothing is missing.
    """

    slope_east: Array
    slope_north: Array
    foot_m: Array
    rough_m: Array
    cells: Array
    data_share: Array

    @property
    def is_found(self) -> Array:
        """Whether there is a plane."""
        return np.isfinite(self.rough_m)

    @property
    def tilt_deg(self) -> Array:
        """Angle between the plane and the horizontal [°]."""
        return np.degrees(np.arctan(np.hypot(self.slope_east, self.slope_north)))

    @property
    def downhill_deg(self) -> Array:
        """Azimuth towards which the plane falls [°], 0 to 360; NaN where it is exactly level."""
        azimuth = np.degrees(np.arctan2(-self.slope_east, -self.slope_north)) % 360.0
        return np.where((self.slope_east == 0) & (self.slope_north == 0), np.nan, azimuth)


class PlaneFit:
    """Fits planes to the cells around one site.

    Parameters
    ----------
    cells : GroundCells
    """

    def __init__(self, cells: GroundCells):
        self.cells = cells
        rows, cols = cells.values.shape
        self._is_whole = bool(cells.valid.all())
        # heights around zero, or their squares would drown the residuals
        some = cells.values[::16, ::16][cells.valid[::16, ::16]]
        self._level = float(np.median(some)) if some.size else 0.0
        self._middle = cols / 2.0
        x = np.arange(cols) + 0.5 - self._middle
        self._sums = np.zeros((rows, cols + 1, 3 if self._is_whole else 6))
        z, xz, zz, *masked = np.moveaxis(self._sums[:, 1:], -1, 0)
        np.subtract(cells.values, self._level, out=z)
        if masked:
            z[~cells.valid] = 0.0
            n, nx, nxx = masked
            n[...] = cells.valid
            np.multiply(n, x, out=nx)
            np.multiply(nx, x, out=nxx)
        np.multiply(z, x, out=xz)
        np.multiply(z, z, out=zz)
        np.cumsum(self._sums, axis=1, out=self._sums)

    def fit(self, zones: TiltedZone) -> Planes:
        """Fit a plane to the cells whose centres lie inside each footprint.

        Parameters
        ----------
        zones : TiltedZone
            Footprints of shape S; NaN gives no plane.

        Returns
        -------
        Planes
            Of shape S. None (NaN) where fewer than `LEAST_CELLS` hold data, where they lie on one line, and
            where the footprint reaches beyond the cells that were read.
        """
        shape = zones.centre_m.shape[:-1]
        centre, major, minor = (part.reshape(-1, 2) for part in zones[:3])
        with np.errstate(invalid="ignore"):
            usable = np.flatnonzero(zones.far_m.ravel() <= self.cells.reach_m)
        result = np.full((4, len(centre)), np.nan)
        count, share = np.zeros(len(centre), int), np.zeros(len(centre))
        if usable.size and self.cells.values.size:
            centre, turn = self._in_cells(centre[usable])
            axes = turn @ np.stack([major[usable], minor[usable]], axis=-1)
            moments, met = self._moments(centre, axes)
            turn = turn[met]
            planes = _solve(moments, turn)
            met = usable[met]
            count[met] = np.round(moments[0])
            share[met] = moments[0] / (zones.area_m2.ravel()[met] * np.abs(np.linalg.det(turn)))
            rise = planes[:2]
            foot = planes[2] + self._level - np.sum(rise.T * zones.centre_m.reshape(-1, 2)[met], axis=1)
            result[:, met] = np.stack([*rise, foot, planes[3]])
        return Planes(*(part.reshape(shape) for part in (*result, count, share)))

    def _in_cells(self, centre):
        """Place centres among the cells, (m, 2), and tell how metres lie there in columns and rows, (m, 2, 2)."""
        east, north = centre.T
        k = self.cells.to_cell
        one = np.ones_like(east)
        place = np.stack([one, east, north, east**2, east * north, north**2], axis=-1) @ k.T
        turn = np.stack([np.stack([k[i, 1] + 2 * k[i, 3] * east + k[i, 4] * north,
                                   k[i, 2] + k[i, 4] * east + 2 * k[i, 5] * north], axis=-1) for i in (0, 1)], axis=-2)
        return place, turn

    def _moments(self, centre, axes):
        """Sum 1, x, y, xx, xy, yy, z, xz, yz, zz over each footprint's cells, from its centre [cells].

        Returns
        -------
        moments : ndarray, shape (10, footprints met)
        met : ndarray of int
            Footprints that meet any row at all.
        """
        rows, cols = self.cells.valid.shape
        (column_u, column_v), (row_u, row_v) = np.moveaxis(axes, 0, -1)
        tall = np.hypot(row_u, row_v)
        slant = (column_u * row_u + column_v * row_v) / tall
        wide = np.abs(column_u * row_v - column_v * row_u) / tall
        top = np.clip(np.ceil(centre[:, 1] - tall - 0.5), 0, rows).astype(np.intp)
        bottom = np.clip(np.floor(centre[:, 1] + tall - 0.5) + 1, 0, rows).astype(np.intp)
        number = np.maximum(bottom - top, 0)
        met = np.flatnonzero(number)
        number, top = number[met], top[met]
        start = np.cumsum(number) - number
        which = np.repeat(met, number)
        row = np.arange(len(which)) - np.repeat(start - top, number)
        # the stretch of each row inside the ellipse
        y = row + 0.5 - centre[which, 1]
        part = y / tall[which]
        half = wide[which] * np.sqrt(np.maximum(1.0 - part**2, 0.0))
        middle = centre[which, 0] + slant[which] * part
        left = np.clip(np.ceil(middle - half - 0.5), 0, cols).astype(np.intp)
        right = np.clip(np.floor(middle + half - 0.5) + 1.0, 0, cols).astype(np.intp)
        right = np.maximum(left, right)

        flat = self._sums.reshape(-1, self._sums.shape[-1])
        first = row * (cols + 1)
        found = (flat.take(first + right, axis=0) - flat.take(first + left, axis=0)).T
        shift = centre[which, 0] - self._middle
        z, xz, zz = found[:3]
        if self._is_whole:
            n = (right - left).astype(float)
            mean = (left + right) / 2.0 - centre[which, 0]
            x, xx = n * mean, n * mean**2 + n * (n**2 - 1.0) / 12.0
        else:
            n, x, xx = found[3:]
            xx = xx - 2.0 * shift * x + shift**2 * n
            x = x - shift * n
        xz = xz - shift * z
        terms = np.stack([n, x, y * n, xx, x * y, n * y**2, z, xz, y * z, zz])
        return np.add.reduceat(terms, start, axis=1) if len(met) else terms[:, :0], met


def _solve(moments, turn):
    """Solve the least squares: slopes east and north, height at the footprint's centre, rms residual, (4, m)."""
    n = moments[0]
    with np.errstate(invalid="ignore", divide="ignore"):
        x, y, z = moments[1] / n, moments[2] / n, moments[6] / n
        xx, xy, yy = moments[3] / n - x * x, moments[4] / n - x * y, moments[5] / n - y * y
        xz, yz, zz = moments[7] / n - x * z, moments[8] / n - y * z, moments[9] / n - z * z
        det = xx * yy - xy**2
        is_plane = (n > LEAST_CELLS - 0.5) & (det > COLLINEAR * xx * yy) & (np.minimum(xx, yy) > ONE_ROW)
        per_column = (yy * xz - xy * yz) / det
        per_row = (xx * yz - xy * xz) / det
        rest = zz - per_column * xz - per_row * yz
        height = z - per_column * x - per_row * y
        # from a rise per cell to a rise per metre: the transpose of metres → cells
        rise = np.einsum("nij,in->jn", turn, np.stack([per_column, per_row]))
        result = np.stack([*rise, height, np.sqrt(np.maximum(rest, 0.0))])
    return np.where(is_plane, result, np.nan)
