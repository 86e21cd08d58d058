"""Cells of a raster at full resolution, kept in square tiles so that many rays and sites share what was read."""
from __future__ import annotations

from typing import Callable

import numpy as np

from ..arrays import Array
from ..errors import Cancelled
from ..ground.rasters import Raster

TILE = 256
"""Side of a tile [cells]."""
SLOTS = 256
"""Tiles kept: 64 MB."""


class Tiles:
    """A raster's cells, read by tiles; the tiles not asked for longest make room for new ones.

    Parameters
    ----------
    raster : Raster
    is_cancelled : callable
        Asked before each tile is read.
    """

    def __init__(self, raster: Raster, is_cancelled: Callable[[], bool] = lambda: False):
        self.raster, self._is_cancelled = raster, is_cancelled
        self.across = -(-raster.shape[1] // TILE)
        self.number = self.across * -(-raster.shape[0] // TILE)
        # memory is taken from the system only as slots are filled
        self._pool = np.empty((min(SLOTS, self.number), TILE * TILE), np.float32)
        self._slot_of: dict[int, int] = {}
        self._asked = np.full(len(self._pool), -1, np.int64)
        self._holds = np.full(len(self._pool), -1, np.int64)
        self._clock = 0

    def values(self, row: Array, col: Array) -> Array:
        """Look cells up.

        Parameters
        ----------
        row, col : ndarray of int, one shape
            They may lie outside the raster.

        Returns
        -------
        ndarray of float32
            NaN outside the raster and on cells without data.

        Raises
        ------
        InputError
            If the file is damaged there.
        Cancelled
        """
        shape = row.shape
        row, col = row.ravel(), col.ravel()
        result = np.full(row.shape, np.nan, np.float32)
        inside = np.flatnonzero((row >= 0) & (row < self.raster.shape[0]) & (col >= 0) & (col < self.raster.shape[1]))
        row, col = row[inside], col[inside]
        tile = row // TILE * self.across + col // TILE
        within = row % TILE * TILE + col % TILE
        wanted, which = np.unique(tile, return_inverse=True)
        for start in range(0, len(wanted), len(self._pool)):
            some = wanted[start:start + len(self._pool)]
            slots = self._load(some)
            if len(some) == len(wanted):
                result[inside] = self._pool[slots[which], within]
                break
            mine = (which >= start) & (which < start + len(some))
            result[inside[mine]] = self._pool[slots[which[mine] - start], within[mine]]
        return result.reshape(shape)

    def _load(self, wanted) -> Array:
        """Return the slots of tiles, at most as many as there are slots; reads those that are missing."""
        self._clock += 1
        slots = np.array([self._slot_of.get(int(tile), -1) for tile in wanted], np.int64)
        self._asked[slots[slots >= 0]] = self._clock
        missing = np.flatnonzero(slots < 0)
        if len(missing):
            free = np.argsort(self._asked, kind="stable")[:len(missing)]
            for at, slot in zip(missing.tolist(), free.tolist()):
                if self._is_cancelled():
                    raise Cancelled("stopped by the user")
                self._slot_of.pop(int(self._holds[slot]), None)
                self._holds[slot] = -1
                self._read(int(wanted[at]), slot)
                self._slot_of[int(wanted[at])] = slot
                self._holds[slot], self._asked[slot], slots[at] = wanted[at], self._clock, slot
        return slots

    def _read(self, tile, slot):
        top, left = tile // self.across * TILE, tile % self.across * TILE
        window = self.raster.read(top, top + TILE, left, left + TILE)
        height, width = window.values.shape
        room = self._pool[slot].reshape(TILE, TILE)
        if (height, width) != room.shape:
            room[:] = np.nan
        room[:height, :width] = window.values
        if not window.valid.all():
            room[:height, :width][~window.valid] = np.nan
