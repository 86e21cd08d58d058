"""Greatest heights of blocks of cells, in three sizes: what no cell of a block can exceed.

Where the file brings overviews and the ground is large, the blocks begin as estimates from the
overview (its greatest value around, half the local relief and `SPIKE_M` on top, for averaging
lowers ridges) and become exact around each site (`rays.NEAR_M`); otherwise the file is streamed
once and all of them are exact.
"""
from __future__ import annotations

from copy import copy
from typing import Callable

import numpy as np

from ..errors import Cancelled
from ..ground.rasters import Raster
from .rays import RayMap
from .tiles import TILE, Tiles

BLOCK = 16
"""Side of the smallest blocks [cells]; larger where there would be over `MOST_BLOCKS`."""
MOST_BLOCKS = 8_000_000
STEP = 4
"""Blocks of one size are this many times as wide as those of the size below."""
SIZES = 3
UNIT = 1024
"""The ground looked at is a rectangle of whole units [cells], so that no block is cut."""
SPIKE_M = 3.0
"""Added to an overview's heights for single trees, masts and noise that averaging took away (a convention)."""
OVERVIEW_FACTORS = (8.0, 64.0)
"""Overviews that serve: finer ones are no quicker than the file, coarser ones tell too little."""
OVERVIEW_FROM_CELLS = 40_000_000
"""Smaller ground is streamed, which leaves nothing to estimate [cells]."""
OVERVIEW_CELLS = 16_000_000
READ_TILES = 16
"""Tiles read at once while streaming."""
NOTHING = np.float32(-np.inf)


class Relief:
    """A raster prepared for rays from many sites.

    Parameters
    ----------
    raster : Raster
    lon, lat : ndarray, shape (n,)
        The sites, WGS 84 [°]; NaN for none.
    reach_m : float
        Length of the rays [m].
    is_cancelled, progress : callable
        Asked, and told a fraction and a message, while the file is read.

    Attributes
    ----------
    block : int
        Side of the smallest blocks [cells].
    is_estimated : bool
        Whether blocks far from the sites are estimated from an overview.

    Raises
    ------
    InputError
        If the file is damaged.
    Cancelled
    """

    def __init__(self, raster: Raster, lon, lat, reach_m: float,
                 is_cancelled: Callable[[], bool] = lambda: False,
                 progress: Callable[[float, str], None] = lambda fraction, message: None):
        self.raster, self._is_cancelled, self._progress = raster, is_cancelled, progress
        self.look_from(lon, lat, reach_m)
        self.tiles = Tiles(raster, is_cancelled)
        wanted = self._wanted_tiles(reach_m)
        self._box(wanted)
        overview = self._overview(np.count_nonzero(wanted) * TILE * TILE)
        self.is_estimated = overview is not None
        self._exact = None if overview is None else ~wanted
        if overview is not None:
            self._estimate(overview)
        else:
            self._stream(wanted, f"reading “{raster.name}”")
        self._refresh(0, self._span[0], 0, self._span[1])

    def seen_from(self, lon, lat) -> Relief:
        """Return the same prepared ground, to be looked at from other sites within its reach [°]; shares all cells."""
        other = copy(self)
        other.look_from(lon, lat, self.map.reach_m)
        return other

    def look_from(self, lon, lat, reach_m: float) -> None:
        """Set the sites that are looked from [°], and how far [m]."""
        self._lon, self._lat = np.asarray(lon, float), np.asarray(lat, float)
        self.map = RayMap(self.raster, self._lon, self._lat, reach_m)

    # --- what is needed -------------------------------------------------------------------------------

    def _wanted_tiles(self, reach_m) -> np.ndarray:
        """Mark the tiles that the boxes around all sites touch."""
        rows, cols = (-(-n // TILE) for n in self.raster.shape)
        wanted = np.zeros((rows, cols), bool)
        sites = np.flatnonzero(np.isfinite(self._lon) & np.isfinite(self._lat))
        if not len(sites):
            return wanted
        angle = np.linspace(0.0, 2.0 * np.pi, 16, endpoint=False)
        # the polygon through 16 points of a circle stays within its box but for 2 %
        east, north = (np.repeat(1.03 * reach_m * f(angle)[:, None], len(sites), axis=1) for f in (np.sin, np.cos))
        place = self.map.near.frame.place_exactly(sites, east, north)
        col, row = self.raster.pixel_of(place[0] + self.map.near.turn[sites], place[1])
        for number in range(len(sites)):
            if not (np.isfinite(col[:, number]).all() and np.isfinite(row[:, number]).all()):
                # a pole lies around: whatever the raster has may be on a ray
                wanted[:] = True
                break
            low = [int(v[:, number].min()) // TILE for v in (row, col)]
            high = [int(v[:, number].max()) // TILE + 1 for v in (row, col)]
            top, bottom = max(low[0], 0), max(high[0], 0)
            for turn in {0, self.map.world_cols, -self.map.world_cols}:
                shift = turn // TILE
                wanted[top:bottom, max(low[1] + shift, 0):max(high[1] + shift + (turn != 0), 0)] = True
        else:
            poles = self._pole_rows(reach_m)
            wanted[:, :] |= poles
        return wanted

    def _pole_rows(self, reach_m) -> bool:
        """Tell whether a site's circle holds a pole on a map that is cut along a meridian."""
        if self.map.near.frame.edges is None:
            return False
        return bool(np.nanmax(np.abs(self._lat)) > 90.0 - 1.2 * np.degrees(reach_m / 6_356_000.0))

    def _box(self, wanted):
        """Lay the rectangle of blocks around the wanted tiles."""
        rows, cols = (np.flatnonzero(wanted.any(axis=axis)) for axis in (1, 0))
        if not len(rows):
            rows = cols = np.zeros(1, int)
        start = [int(part[0]) * TILE // UNIT * UNIT for part in (rows, cols)]
        stop = [-(-(int(part[-1]) + 1) * TILE // UNIT) * UNIT for part in (rows, cols)]
        self.origin = tuple(start)
        self._span = (stop[0] - start[0], stop[1] - start[1])
        self.block = BLOCK
        while self._span[0] * self._span[1] / self.block**2 > MOST_BLOCKS and self.block < UNIT // STEP**(SIZES - 1):
            self.block *= 2
        self._goes_around = bool(self.map.world_cols and self._span[1] >= self.raster.shape[1] >= self.map.world_cols)
        self._top, self._any, self._upper, self._full = [], [], [], []
        for size in range(SIZES):
            shape = tuple(n // self.side(size) for n in self._span)
            self._top.append(np.full(shape, NOTHING, np.float32))
            self._any.append(np.zeros((shape[0] + 4, shape[1] + 4), bool))
            self._upper.append(np.full((shape[0] + 4, shape[1] + 4), NOTHING, np.float32))
            self._full.append(np.zeros((shape[0] + 4, shape[1] + 4), bool))
        self._whole = [np.zeros(top.shape, bool) for top in self._top]
        self._clean = np.zeros(self._top[0].shape, bool)

    def side(self, size: int) -> int:
        """Return the side of blocks of a size [cells]."""
        return self.block * STEP**size

    # --- filling --------------------------------------------------------------------------------------

    def _overview(self, cells):
        """Choose the finest overview that is small enough; None where the file is to be streamed."""
        if cells < OVERVIEW_FROM_CELLS:
            return None
        for number, factor in enumerate(self.raster.overviews):
            fits = self._span[0] * self._span[1] / factor**2 <= OVERVIEW_CELLS
            if OVERVIEW_FACTORS[0] <= factor <= OVERVIEW_FACTORS[1] and fits:
                return self.raster.overview(number)
        return None

    def _estimate(self, overview: Raster):
        """Fill the smallest blocks from an overview, strip by strip."""
        scale = [overview.shape[axis] / self.raster.shape[axis] for axis in (0, 1)]
        height, width = self._top[0].shape
        # a block's centre: the overview's cells around it cover the block
        at = [np.floor((self.origin[axis] + (np.arange(n) + 0.5) * self.block) * scale[axis]).astype(int)
              for axis, n in ((0, height), (1, width))]
        reach = int(np.ceil(self.block * max(scale) / 2.0))
        lines = max(UNIT // self.block, 1)
        for top in range(0, height, lines):
            self._breathe(top / height, f"reading an overview of “{self.raster.name}”")
            here = at[0][top:top + lines]
            row0, col0 = here[0] - reach, at[1][0] - reach
            window = overview.read(row0, here[-1] + reach + 1, col0, at[1][-1] + reach + 1)
            if not window.values.size:
                continue
            shape = (here[-1] - here[0] + 2 * reach + 1, at[1][-1] - at[1][0] + 2 * reach + 1)
            high, low = np.full(shape, NOTHING, np.float32), np.full(shape, np.inf, np.float32)
            clean = np.ones(shape, np.float32)
            inner = (slice(window.row - row0, window.row - row0 + window.values.shape[0]),
                     slice(window.col - col0, window.col - col0 + window.values.shape[1]))
            high[inner] = np.where(window.valid, window.values, NOTHING)
            low[inner] = np.where(window.valid, window.values, np.inf)
            known = np.isfinite(high).astype(np.float32)
            clean[inner] = known[inner]
            high, low = _spread(high, np.maximum, reach, reach), _spread(low, np.minimum, reach, reach)
            known, clean = (_spread(part, np.minimum, reach, reach) for part in (known, clean))
            rows, cols = (here - here[0])[:, None], at[1] - at[1][0]
            high, low, known = high[rows, cols], low[rows, cols], known[rows, cols]
            with np.errstate(invalid="ignore"):
                self._top[0][top:top + lines] = np.where(high > NOTHING, high + 0.5 * (high - low) + SPIKE_M, NOTHING)
            self._whole[0][top:top + lines] = known > 0
            self._clean[top:top + lines] = clean[rows, cols] > 0

    def _stream(self, tiles: np.ndarray, message: str = ""):
        """Read marked tiles and fill the blocks in them with their exact maxima; tells progress with a message only."""
        number, done = max(np.count_nonzero(tiles), 1), 0
        for row in np.flatnonzero(tiles.any(axis=1)).tolist():
            col = 0
            while col < tiles.shape[1]:
                if not tiles[row, col]:
                    col += 1
                    continue
                stop = col + 1
                while stop < tiles.shape[1] and stop - col < READ_TILES and tiles[row, stop]:
                    stop += 1
                self._breathe(done / number, message)
                self._take(row * TILE, col * TILE, stop * TILE)
                done, col = done + stop - col, stop

    def _take(self, top, left, right):
        window = self.raster.read(top, top + TILE, left, right)
        values, valid = window.values, window.valid
        if values.dtype != np.float32:
            values = values.astype(np.float32)
        whole = is_clean = bool(valid.all())
        if not whole:
            values = np.where(valid, values, NOTHING)
        height, width = values.shape
        side = self.block
        lines, columns = -(-height // side), -(-width // side)
        if not whole:
            beyond = ((0, lines * side - height), (0, columns * side - width))
            known = np.pad(valid, beyond, constant_values=True).reshape(lines, side, -1).all(axis=1)
            is_clean = known.reshape(lines, columns, side).all(axis=2)
        if (lines * side, columns * side) != values.shape:
            values = np.pad(values, ((0, lines * side - height), (0, columns * side - width)), constant_values=NOTHING)
        high = values.reshape(lines, side, -1).max(axis=1).reshape(lines, columns, side).max(axis=2)
        row, col = (top - self.origin[0]) // side, (left - self.origin[1]) // side
        here = (slice(row, row + lines), slice(col, col + columns))
        self._top[0][here] = high
        self._clean[here] = is_clean
        if whole and values is window.values:
            self._whole[0][here] = True
        else:
            known = (values > NOTHING).reshape(lines, side, -1).all(axis=1).reshape(lines, columns, side).all(axis=2)
            self._whole[0][here] = known

    def _breathe(self, part, message):
        if self._is_cancelled():
            raise Cancelled("stopped by the user")
        if message:
            self._progress(part, message)

    def _refresh(self, row0, row1, col0, col1):
        """Bring the larger blocks and all bounds up to date within whole units of the rectangle [cells]."""
        for size in range(SIZES):
            side = self.side(size)
            r0, r1, c0, c1 = (v // side for v in (row0, row1, col0, col1))
            if size:
                for big, small, pick in ((self._top, self._top, np.max), (self._whole, self._whole, np.all)):
                    part = small[size - 1][r0 * STEP:r1 * STEP, c0 * STEP:c1 * STEP]
                    part = part.reshape(r1 - r0, STEP, c1 - c0, STEP)
                    big[size][r0:r1, c0:c1] = pick(pick(part, axis=3), axis=1)
            self._spread_bounds(size, r0, r1, c0, c1)

    def _spread_bounds(self, size, r0, r1, c0, c1):
        """Let each block know the greatest height of its neighbours; block (i, j) stands at [i + 2, j + 2]."""
        rows, cols = self._top[size].shape
        used = -(-self.raster.shape[1] // self.side(size))
        # where the last block before the seam of the world is cut, a block's side may reach over it and beyond
        reach = 2 if self._goes_around and self.raster.shape[1] % self.side(size) else 1
        # one block more on each side, and its neighbours
        r0, r1, c0, c1 = max(r0 - 1, -1), min(r1 + 1, rows + 1), max(c0 - reach, -1), min(c1 + reach, cols + 1)
        row = np.arange(r0 - 1, r1 + 1)
        col = np.arange(c0 - reach, c1 + reach)
        if self._goes_around:
            col = np.where(col < 0, col + used, np.where(col >= used, col - used, col))
        inside = ((row >= 0) & (row < rows))[:, None] & ((col >= 0) & (col < cols))
        index = np.ix_(np.clip(row, 0, rows - 1), np.clip(col, 0, cols - 1))
        here = (slice(r0 + 2, r1 + 2), slice(c0 + 2, c1 + 2))
        top = np.where(inside, self._top[size][index], NOTHING)
        self._any[size][here] = top[1:-1, reach:-reach] > NOTHING
        self._upper[size][here] = _spread(top, np.maximum, 1, reach)
        whole = (inside & self._whole[size][index]).astype(np.uint8)
        self._full[size][here] = _spread(whole, np.minimum, 1, reach) > 0

    def sharpen(self, site: int) -> None:
        """Make the blocks around a site exact where they are estimated.

        Raises
        ------
        InputError
            If the file is damaged there.
        Cancelled
        """
        if self._exact is None or not self.map.near.is_on_map(site):
            return
        angle = np.linspace(0.0, 2.0 * np.pi, 16, endpoint=False)
        reach = self.map.near.frame.reach_m[site] * 1.03
        col, row = self.map.exact(site, reach * np.sin(angle), reach * np.cos(angle))
        if not (np.isfinite(col).all() and np.isfinite(row).all()):
            return
        box = [(max(int(np.floor(v.min())) // TILE, 0), max(int(np.floor(v.max())) // TILE + 1, 0)) for v in (row, col)]
        here = tuple(slice(*pair) for pair in box)
        if self._exact[here].all():
            return
        missing = np.zeros(self._exact.shape, bool)
        missing[here] = ~self._exact[here]
        self._stream(missing)
        self._exact |= missing
        rows, cols = (np.flatnonzero(missing.any(axis=axis)) for axis in (1, 0))
        bounds = []
        for part, start in ((rows, self.origin[0]), (cols, self.origin[1])):
            low, high = int(part[0]) * TILE - start, (int(part[-1]) + 1) * TILE - start
            bounds += [low // UNIT * UNIT, -(-high // UNIT) * UNIT]
        self._refresh(*bounds)

    # --- asking ---------------------------------------------------------------------------------------

    def _index(self, size, col, row):
        """Return the flat index of the blocks under points; the outermost ones hold nothing."""
        side = self.side(size)
        shape = self._upper[size].shape
        found = []
        for value, start, number in ((row, self.origin[0], shape[0]), (col, self.origin[1], shape[1])):
            at = np.floor((np.nan_to_num(value, nan=-1e9) - start) * (1.0 / side))
            found.append(np.clip(at + 2.0, 0.0, number - 1.0).astype(np.intp))
        return found[0] * shape[1] + found[1]

    def upper(self, size: int, col, row) -> np.ndarray:
        """Return what no cell within a block's side of points exceeds [m]; -inf where there are no cells with data."""
        return self._upper[size].ravel()[self._index(size, col, row)]

    def is_full(self, size: int, col, row) -> np.ndarray:
        """Tell whether every cell within a block's side of points holds data."""
        return self._full[size].ravel()[self._index(size, col, row)]

    def has_any(self, size: int, col, row) -> np.ndarray:
        """Tell whether the blocks under points hold data anywhere."""
        return self._any[size].ravel()[self._index(size, col, row)]

    def is_inside(self, col, row) -> np.ndarray:
        """Tell whether points lie on the raster; those off the map do not."""
        with np.errstate(invalid="ignore"):
            return (col >= 0) & (row >= 0) & (col < self.raster.shape[1]) & (row < self.raster.shape[0])

    def holds(self, col, row) -> tuple[np.ndarray, np.ndarray]:
        """Tell by the smallest blocks where cells under points hold data, and where only some of a block do.

        Returns
        -------
        holds, unsure : ndarray of bool
            Where the cell holds data; where it may.
        """
        inside = self.is_inside(col, row) & self.has_any(0, col, row)
        found = [np.clip((np.nan_to_num(value, nan=0.0) - start) // self.block, 0, number - 1).astype(np.intp)
                 for value, start, number in zip((row, col), self.origin, self._clean.shape)]
        clean = self._clean[found[0], found[1]]
        return inside & clean, inside & ~clean

    def heights(self, col, row) -> np.ndarray:
        """Return the heights of the cells under points [m]; NaN where there are none."""
        bad = ~(np.isfinite(col) & np.isfinite(row))
        if np.any(bad):
            col, row = np.where(bad, -1.0, col), np.where(bad, -1.0, row)
        return self.tiles.values(np.floor(row).astype(np.int64), np.floor(col).astype(np.int64))

    @property
    def highest_m(self) -> float:
        """The greatest height that any cell looked at may have [m]; -inf without any."""
        return float(self._top[-1].max())


def _spread(array, pick, rows, cols):
    """Take the greatest or least of each cell's neighbours; the result is smaller by `rows` and `cols` on each side."""
    size = array.shape[0] - 2 * rows
    high = array[rows:rows + size].copy()
    for step in range(2 * rows + 1):
        pick(high, array[step:step + size], out=high)
    size = array.shape[1] - 2 * cols
    result = high[:, cols:cols + size].copy()
    for step in range(2 * cols + 1):
        pick(result, high[:, step:step + size], out=result)
    return result
