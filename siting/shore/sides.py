"""Which side of a shoreline is water, and whether a setback stays on land."""
from __future__ import annotations

from typing import Callable, NamedTuple

import numpy as np

from ..arrays import Array
from ..candidates import point_values
from ..ground.rasters import Raster
from ..ground.rastersampling import RasterSampler
from .along import Walk
from .plane import ShorePlane
from .segments import Segments

MOST_PROBES = 50
REACH_M = 50.0
"""How far around a point the map is fitted for its slope."""
OFFSETS_CELLS = (1.5, 3.0)
SURE = 0.6
"""Share of the probes that must agree for a side to be told without a warning."""


class Lower(NamedTuple):
    """Which side lies lower: `left` (None where nothing tells), the share of probes that agree, their number."""

    left: bool | None
    share: float
    probes: int


def lower_side(walk: Walk, plane: ShorePlane, dem: Raster) -> Lower:
    """Tell which side of a chain the DEM shows lower.

    Pairs of cells 1.5 and 3 cells off to both sides are compared at up to 50
    places; the side counts that is lower at most of them. Pairs without data
    on one side, or level, do not count.
    """
    number = int(np.clip(walk.length_m / 5.0, 5, MOST_PROBES))
    along = (np.arange(number) + 0.5) * walk.length_m / number
    xy, run = walk.points(along), walk.directions(along, walk.length_m / number)
    cell = _cell_m(dem, plane, xy)
    if not np.isfinite(cell):
        return Lower(None, 0.0, 0)
    normal = np.stack([-run[:, 1], run[:, 0]], axis=-1) / np.maximum(np.hypot(*run.T), 1e-9)[:, None]
    drops = []
    for offset in OFFSETS_CELLS:
        left, right = (_values(dem, plane, xy + side * offset * cell * normal) for side in (1.0, -1.0))
        drops.append(right - left)
    drop = np.concatenate(drops)
    drop = drop[np.isfinite(drop) & (drop != 0)]
    if not len(drop):
        return Lower(None, 0.0, 0)
    share = float(np.mean(drop > 0))
    if share == 0.5:
        return Lower(bool(drop.sum() > 0), 0.5, len(drop))
    return Lower(share > 0.5, max(share, 1.0 - share), len(drop))


def _cell_m(dem, plane, xy):
    sampler = RasterSampler(dem, *plane.lonlat(xy[len(xy) // 2:len(xy) // 2 + 1]), 1.0)
    return sampler.cell_m(0)


def _values(dem, plane, xy):
    values, valid = point_values(dem, *plane.lonlat(xy))
    return np.where(valid, values, np.nan)


def stays_on_land(shore: Segments, foot: Array, step: Array, place: Array) -> bool:
    """Tell whether a setback from a shore whose water is to the left ends on the land behind that shore.

    Parameters
    ----------
    shore : Segments
        All of it.
    foot, step : ndarray, shape (2,)
        The point of the shore, and the vector of the shore's step there.
    place : ndarray, shape (2,)
        Where the setback leads [m].

    Returns
    -------
    bool
        False in water, or where water lies between.
    """
    leg = place - foot
    starts_on_land = step[0] * leg[1] - step[1] * leg[0] <= 0
    _index, share = shore.hits(foot, place)
    length = max(float(np.hypot(*leg)), 1e-12)
    # a vertex on the leg belongs to two steps and is crossed once
    crossings = np.unique(np.round(share[share * length > 1e-6] * length, 6))
    return len(crossings) == (0 if starts_on_land else 1)


def slopes_deg(dem: Raster, lon: Array, lat: Array, pulse: Callable[[], None] = lambda: None) -> Array:
    """Return the slope of the DEM [°] over 3 × 3 cells at points, by Horn's weights.

    Parameters
    ----------
    dem : Raster
    lon, lat : ndarray, shape (n,)
        WGS 84 [°].
    pulse : callable
        Called for each point; may raise to stop.

    Returns
    -------
    ndarray, shape (n,)
        NaN where one of the nine cells has no data.

    References
    ----------
    Horn, B. K. P. (1981): Hill shading and the reflectance map. Proceedings of the IEEE 69(1), 14-47.
    """
    sampler = RasterSampler(dem, lon, lat, REACH_M)
    slopes = np.full(len(lon), np.nan)
    _a, b, c, _d, e, f = dem.affine
    weight = np.array([1.0, 2.0, 1.0]) / 8.0
    for site in range(len(lon)):
        pulse()
        if not np.isfinite(sampler.cell_m(site)):
            continue
        col, row = (int(pixel[0]) for pixel in sampler.pixels(site, np.zeros(1), np.zeros(1)))
        window = dem.read(row - 1, row + 2, col - 1, col + 2)
        if window.values.shape != (3, 3) or not window.valid.all():
            continue
        z = window.values.astype(float)
        rise = np.array([weight @ (z[:, 2] - z[:, 0]), weight @ (z[2] - z[0])])  # per column and row
        # from columns and rows to east and north on the ground
        metres = np.linalg.solve(sampler.frame.coefficients[site][:, 1:3], np.array([[b, c], [e, f]]))
        slopes[site] = np.degrees(np.arctan(np.hypot(*np.linalg.solve(metres.T, rise))))
    return slopes
