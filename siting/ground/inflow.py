"""Where water reaches, when nothing but an elevation model tells: low ground behind a dyke stays dry."""
from __future__ import annotations

from typing import Callable

import numpy as np

from ..errors import Cancelled
from .rasters import Raster

BLOCKS = 1024
"""Blocks each way in which a whole DEM is looked at."""


class Inflow:
    """The blocks of a DEM that the sea reaches from its rim at a level.

    A block counts as low where its *highest* cell lies below the level, so that a dyke of one
    cell keeps the water out; a channel narrower than a block is taken for closed. Cells without
    data keep nothing out: a DEM that was warped or clipped has a rim of them, and one that ends at
    the shore has them for the sea.

    Parameters
    ----------
    dem : Raster
    level : float
        Highest level looked at, in the DEM's vertical datum [m].
    is_cancelled : callable
        Asked between strips.

    Raises
    ------
    Cancelled
    """

    def __init__(self, dem: Raster, level: float, is_cancelled: Callable[[], bool] = lambda: False):
        self.size = max(-(-max(dem.shape) // BLOCKS), 1)
        low = np.stack([self._low_row(dem, top, level, is_cancelled)
                        for top in range(0, dem.shape[0], self.size)])
        rim = np.zeros_like(low)
        rim[0], rim[-1], rim[:, 0], rim[:, -1] = low[0], low[-1], low[:, 0], low[:, -1]
        self._reached = _flood(rim, low, is_circular=False)

    def _low_row(self, dem, top, level, is_cancelled):
        if is_cancelled():
            raise Cancelled("stopped by the user")
        window = dem.read(top, top + self.size, 0, dem.shape[1])
        is_low = (~window.valid | (window.values < level)).all(axis=0)
        return np.logical_and.reduceat(is_low, np.arange(0, dem.shape[1], self.size))

    def reaches(self, column, row) -> np.ndarray:
        """Tell which cells lie in blocks that the sea reaches.

        Parameters
        ----------
        column, row : ndarray of int
            Cells of the DEM; outside it the answer is no.

        Returns
        -------
        ndarray of bool
        """
        column, row = column // self.size, row // self.size
        height, width = self._reached.shape
        inside = (row >= 0) & (column >= 0) & (row < height) & (column < width)
        return inside & self._reached[row.clip(0, height - 1), column.clip(0, width - 1)]


def spread_around(low: np.ndarray, seeds: np.ndarray | None) -> np.ndarray:
    """Keep the low spots around a site that are connected with water.

    Parameters
    ----------
    low : ndarray of bool, shape (n_rings, rays)
    seeds : ndarray of bool or None
        Spots that water is known to reach; without them, the outermost ring.

    Returns
    -------
    ndarray of bool
    """
    if seeds is None:
        seeds = np.zeros_like(low)
        seeds[-1] = True
    return _flood(seeds & low, low, is_circular=True)


def _flood(reached, low, is_circular):
    """Spread along rows and columns, in both directions, until nothing more is reached."""
    columns = low.shape[1]
    while True:
        before = np.count_nonzero(reached)
        for flip in (True, False):
            reached = _spread(reached, low, 0, flip)
        for flip in (False, True):
            if is_circular:
                around = _spread(np.tile(reached, (1, 2)), np.tile(low, (1, 2)), 1, flip)
                reached = around[:, :columns] | around[:, columns:]
            else:
                reached = _spread(reached, low, 1, flip)
        if np.count_nonzero(reached) == before:
            return reached


def _spread(reached, low, axis, flip):
    """Carry `reached` along an axis through unbroken runs of `low`."""
    if flip:
        reached, low = np.flip(reached, axis), np.flip(low, axis)
    place = np.arange(1, low.shape[axis] + 1, dtype=np.int32).reshape((-1, 1) if axis == 0 else (1, -1))
    last_wall = np.maximum.accumulate(np.where(low, 0, place), axis=axis)
    last_seed = np.maximum.accumulate(np.where(reached, place, 0), axis=axis)
    out = low & (last_seed > last_wall)
    return np.flip(out, axis) if flip else out
