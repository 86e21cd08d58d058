"""Where water reaches, when nothing but an elevation model tells: low ground behind a dyke stays dry."""
from __future__ import annotations

from typing import Callable

import numpy as np

from ..arrays import Array
from ..errors import Cancelled
from .rasters import Raster

BLOCKS = 1024
"""Blocks each way in which a whole DEM is looked at."""


class Inflow:
    """From which level on the sea reaches the blocks of a DEM from its rim; found once, asked at any level.

    The spill level of a block is the least level at which there is a way in, over blocks whose *highest* cells all
    lie below it: of all ways from the rim the one whose highest block is lowest. So a dyke of one cell keeps the
    water out; a channel narrower than a block is taken for closed. Cells without data keep nothing out: a DEM that
    was warped or clipped has a rim of them, and one that ends at the shore has them for the sea.

    Parameters
    ----------
    dem : Raster
    is_cancelled : callable
        Asked between strips and sweeps.

    Raises
    ------
    Cancelled
    """

    def __init__(self, dem: Raster, is_cancelled: Callable[[], bool] = lambda: False):
        self.size = max(-(-max(dem.shape) // BLOCKS), 1)
        high = np.stack([self._highest(dem, top, is_cancelled) for top in range(0, dem.shape[0], self.size)])
        self._spill = _lowest_ways_in(high, is_cancelled)

    def _highest(self, dem, top, is_cancelled):
        _go_on(is_cancelled)
        window = dem.read(top, top + self.size, 0, dem.shape[1])
        high = np.where(window.valid, window.values, -np.inf).astype(np.float32).max(axis=0)
        return np.maximum.reduceat(high, np.arange(0, dem.shape[1], self.size))

    def spill_m(self, column: Array, row: Array) -> Array:
        """Return above which level the sea reaches cells.

        Parameters
        ----------
        column, row : ndarray of int
            Cells of the DEM.

        Returns
        -------
        ndarray
            In the DEM's vertical datum [m]; inf outside the DEM, which no level reaches.
        """
        column, row = column // self.size, row // self.size
        height, width = self._spill.shape
        inside = (row >= 0) & (column >= 0) & (row < height) & (column < width)
        return np.where(inside, self._spill[row.clip(0, height - 1), column.clip(0, width - 1)], np.float32(np.inf))

    def reaches(self, level: float, column: Array, row: Array) -> Array:
        """Tell which cells lie in blocks that the sea reaches at a level [m], shape of `column`."""
        return self.spill_m(column, row) < level


def _go_on(is_cancelled):
    if is_cancelled():
        raise Cancelled("stopped by the user")


def _lowest_ways_in(high, is_cancelled):
    """Carry the level of the rim inwards, along rows and columns both ways, until nothing gets lower."""
    spill = np.full(high.shape, np.inf, np.float32)
    for rim in (np.s_[0], np.s_[-1], np.s_[:, 0], np.s_[:, -1]):
        spill[rim] = high[rim]
    turned = np.ascontiguousarray(high.T)
    while True:
        _go_on(is_cancelled)
        before = spill
        spill = spill.copy()
        _sweep(spill, high)
        across = np.ascontiguousarray(spill.T)
        _sweep(across, turned)
        spill = np.ascontiguousarray(across.T)
        if np.array_equal(spill, before):
            return spill


def _sweep(spill, high):
    """Carry levels from row to row, down and up again, in place."""
    last = len(spill) - 1
    down, up = np.arange(1, last + 1), np.arange(last - 1, -1, -1)
    way = np.empty_like(spill[0])
    for row, came_from in zip(np.concatenate([down, up]).tolist(), np.concatenate([down - 1, up + 1]).tolist()):
        np.maximum(spill[came_from], high[row], out=way)
        np.minimum(spill[row], way, out=spill[row])


def spread_around(low: Array, seeds: Array | None) -> Array:
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
    return _flood(seeds & low, low)


def _flood(reached, low):
    """Spread along rings and rays, in both directions, until nothing more is reached."""
    columns = low.shape[1]
    while True:
        before = np.count_nonzero(reached)
        for flip in (True, False):
            reached = _spread(reached, low, 0, flip)
        for flip in (False, True):
            around = _spread(np.tile(reached, (1, 2)), np.tile(low, (1, 2)), 1, flip)
            reached = around[:, :columns] | around[:, columns:]
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
