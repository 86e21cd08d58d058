"""Finding what stands highest along rays over a raster, without looking at most of it.

From large blocks to small ones, a stretch of a ray is given up as soon as the greatest height in
the blocks around it cannot raise the skyline; the cells themselves are read only where it can,
the most promising stretches first.
"""
from __future__ import annotations

from typing import Callable, NamedTuple

import numpy as np

from ..arrays import Array
from ..errors import Cancelled
from .rays import NEAR_M, Rays
from .relief import BLOCK, SIZES, STEP, Relief

CELL_STEP = 0.45
"""Step along a ray at full resolution [cells]."""
STRETCH = 64
"""Steps in a stretch, for blocks of `BLOCK` cells: it stays within a block's side of its middle."""
TOLERANCE = 3.5e-6
"""Gain of slope that is not looked for (0.0002°)."""
START_CELLS = 0.7
"""The ray begins this far out [cells], so that the antenna's own cell hides nothing."""
CENTRED_FROM = 4.0
"""From so many half diagonals of a cell on, its distance is that of its centre; nearer, that of the ray's own point."""
SKIPPED = 4
"""Every so many points of a stretch are looked at first, to find where the data of a ray end."""
EDGE_POINTS = 6
"""Points on either side of where a ray is thought to leave the raster that are looked at exactly."""
AT_ONCE = 4096
"""Stretches looked at together."""


class Best(NamedTuple):
    """The highest slope found on each ray, and where; both arrays are written to.

    Attributes
    ----------
    slope : ndarray, shape (rays,)
        Tangent of the elevation angle; -inf where nothing was met.
    dist_m : ndarray, shape (rays,)
    """

    slope: Array
    dist_m: Array

    def raise_to(self, ray: Array, slope: Array, dist_m: Array) -> None:
        """Take over what is higher; a ray may occur several times."""
        order = np.argsort(slope, kind="stable")
        ray, slope, dist_m = ray[order], slope[order], dist_m[order]
        # of equal indices the last assignment stays: the highest
        highest = np.full(self.slope.shape, -np.inf)
        where = np.full(self.slope.shape, np.nan)
        highest[ray], where[ray] = slope, dist_m
        better = highest > self.slope
        self.slope[better], self.dist_m[better] = highest[better], where[better]


class Search:
    """Looks along the rays of one site over one raster.

    Parameters
    ----------
    relief : Relief
    rays : Rays
        Of the same raster.
    antenna_m : float
        Height of the antenna [m].
    reach_m : float
        How far to look [m].
    earth_m : float
        Radius of the Earth times the refraction factor [m].
    is_cancelled : callable
    """

    def __init__(self, relief: Relief, rays: Rays, antenna_m: float, reach_m: float, earth_m: float,
                 is_cancelled: Callable[[], bool]):
        self.relief, self.rays, self.antenna_m, self.reach_m = relief, rays, antenna_m, reach_m
        self._earth_m, self._is_cancelled = earth_m, is_cancelled
        self.step_m = CELL_STEP / rays.cells_per_m
        self.steps = STRETCH * relief.block // BLOCK
        self.stretch_m = self.steps * self.step_m

    def slope(self, height_m: Array, dist_m: Array) -> Array:
        """Return the tangent of the elevation angle of heights [m] at distances [m]."""
        return (height_m - self.antenna_m - dist_m**2 / (2.0 * self._earth_m)) / dist_m

    def raise_best(self, best: Best, floor: float, elsewhere: Callable[..., Array] | None = None) -> None:
        """Raise the skyline to what this raster shows.

        Parameters
        ----------
        best : Best
        floor : float
            Slopes below are of no interest; -inf for none.
        elsewhere : callable, optional
            Given rays and distances (and the half-width of stretches, for whole stretches), tells where another
            raster takes precedence.
        """
        ray, number, bound = self._promising(best, floor, elsewhere)
        # the most promising stretch of each ray first, then twice as many each time
        order = np.lexsort((-bound, ray))
        ray, number, bound = ray[order], number[order], bound[order]
        place = np.arange(len(ray)) - np.searchsorted(ray, ray)
        first, count = 0, 1
        while len(ray):
            if self._is_cancelled():
                raise Cancelled("stopped by the user")
            now = place < first + count
            for start in range(0, np.count_nonzero(now), AT_ONCE):
                some = np.flatnonzero(now)[start:start + AT_ONCE]
                self._look(best, ray[some], number[some], elsewhere)
            first, count = first + count, 2 * count
            left = ~now & (bound > np.maximum(best.slope, floor)[ray] + TOLERANCE)
            ray, number, bound, place = ray[left], number[left], bound[left], place[left]

    def _promising(self, best, floor, elsewhere):
        """List the stretches that could raise the skyline, with the bound of each."""
        rays = len(best.slope)
        size = SIZES - 1
        length = self.stretch_m * STEP**size
        number = np.arange(int(np.ceil(self.reach_m / length)))
        ray, number = np.repeat(np.arange(rays), len(number)), np.tile(number, rays)
        while True:
            # where a stretch goes on beyond the reach, the last point looked at is as good a middle
            middle = np.minimum((number + 0.5) * length, self.reach_m)
            col, row = self.rays.roughly(ray, middle)
            bound = self._bound(self.relief.upper(size, col, row), number * length, length)
            keep = (bound > np.maximum(best.slope, floor)[ray] + TOLERANCE) & (number * length < self.reach_m)
            if elsewhere is not None:
                keep[keep] = ~elsewhere(ray[keep], middle[keep], 0.5 * length)
            ray, number, bound = ray[keep], number[keep], bound[keep]
            if size == 0:
                return ray, number, bound
            size, length = size - 1, length / STEP
            ray = np.repeat(ray, STEP)
            number = (number[:, None] * STEP + np.arange(STEP)).ravel()

    def _bound(self, height_m, near_m, length_m):
        """Return what no slope within stretches exceeds; the centre of a cell may lie a little outside."""
        near = np.maximum(near_m - self.rays.radius_m, 0.0)
        far = near_m + length_m + self.rays.radius_m
        over = height_m - self.antenna_m - near**2 / (2.0 * self._earth_m)
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.where(over > 0, over / near, over / far)

    def _look(self, best, ray, number, elsewhere):
        """Read the cells along stretches and raise the skyline where they do."""
        dist = number[:, None] * self.stretch_m + (np.arange(self.steps) + 0.5) * self.step_m
        ray = np.broadcast_to(ray[:, None], dist.shape)
        col, row = self.rays.exactly(ray, np.minimum(dist, self.reach_m))
        height = self.relief.heights(col, row)
        whole = np.floor(row), np.floor(col)
        cell_m = self.step_m / CELL_STEP
        skip = (dist < START_CELLS * cell_m) | (dist > self.reach_m)
        if number.min() == 0:
            skip |= (whole[0] == self.rays.own_cell[0]) & (whole[1] == self.rays.own_cell[1])
        if elsewhere is not None:
            skip |= elsewhere(ray, dist, None)
        ahead = self.rays.along[ray]
        centre = dist + ahead[..., 0] * (whole[1] + 0.5 - col) + ahead[..., 1] * (whole[0] + 0.5 - row)
        at = np.where(dist < CENTRED_FROM * self.rays.radius_m, dist, centre)
        slope = self.slope(height, at)
        slope[skip | np.isnan(slope)] = -np.inf
        top = np.argmax(slope, axis=1)
        line = np.arange(len(top))
        best.raise_to(ray[:, 0], slope[line, top], at[line, top])

    def known_to(self, rays: int) -> Array:
        """Tell how far along each ray the raster holds data [m]; 0 without any.

        To a cell up to `NEAR_M` and where the raster itself ends, else to one of the smallest blocks.
        """
        known = np.zeros(rays)
        everyone = np.arange(rays)
        last = max(self.reach_m - 0.5 * self.relief.block / self.rays.cells_per_m, 0.5 * self.reach_m)
        known[self.relief.is_full(0, *self.rays.roughly(everyone, np.full(rays, last)))] = self.reach_m
        left = everyone[known == 0]
        if len(left):
            known[left] = self._to_the_edge(left)
        ray, number = self._with_data(everyone[known == 0])
        seldom = np.arange(self.steps - 1, -1, -SKIPPED)[::-1]
        while len(ray):
            # the farthest stretches of each ray first; data a block's side off may have marked them
            far, last = np.full(rays, -1), np.append(ray[1:] != ray[:-1], True)
            far[ray[last]] = number[last]
            some = np.flatnonzero(far >= 0)
            point = self._last_with_data(some, far[some], seldom)
            found = point >= 0
            # between those points the data may go on a little, or lie where none of them is
            around = np.minimum(point[found, None] + np.arange(SKIPPED), self.steps - 1)
            point[found] = self._last_with_data(some[found], far[some[found]], around)
            point[~found] = self._last_with_data(some[~found], far[some[~found]], np.arange(self.steps))
            end = far[some] * self.stretch_m + (point + 1.0) * self.step_m
            known[some] = np.where(point >= 0, np.minimum(end, self.reach_m), 0.0)
            left = (known[ray] == 0) & (number < far[ray])
            ray, number = ray[left], number[left]
        return known

    def _to_the_edge(self, ray):
        """Tell how far rays go to the edge of the raster where there is data up to it [m]; 0 where that is not so."""
        end = int(np.ceil(self.reach_m / self.step_m))
        low, high = np.zeros(len(ray), int), np.full(len(ray), end)
        # a rectangle is left once
        for _halving in range(end.bit_length()):
            middle = (low + high) // 2
            inside = self.relief.is_inside(*self.rays.roughly(ray, self._at(middle)))
            low, high = np.where(inside, middle, low), np.where(inside, high, middle)
        point = np.minimum(np.maximum(low[:, None] + np.arange(-EDGE_POINTS, EDGE_POINTS + 1), 0), end - 1)
        is_data, inside = self._data_at(ray[:, None], self._at(point))
        last_inside, last_data = (np.where(mask, point, -1).max(axis=1) for mask in (inside, is_data))
        found = (last_data == last_inside) & (last_data >= 0) & ((last_data < point[:, -1]) | (last_data == end - 1))
        return np.where(found, np.minimum((last_data + 1.0) * self.step_m, self.reach_m), 0.0)

    def _at(self, point):
        """Return the distance of points numbered along a ray [m]."""
        return np.minimum((point + 0.5) * self.step_m, self.reach_m)

    def _data_at(self, ray, dist):
        """Tell whether points lie on data, and whether on the raster."""
        col, row = self.rays.exactly(np.broadcast_to(ray, dist.shape), dist)
        holds, unsure = self.relief.holds(col, row)
        read = unsure & (dist < NEAR_M)
        unsure[read] = np.isfinite(self.relief.heights(col[read], row[read]))
        return holds | unsure, self.relief.is_inside(col, row)

    def _last_with_data(self, ray, stretch, points):
        """Find the last point of stretches that lies on data: its number, -1 where none does.

        Parameters
        ----------
        ray, stretch : ndarray of int, shape (n,)
        points : ndarray of int, shape (points,) or (n, points)
            Numbers of points within a stretch, rising.
        """
        if not len(ray):
            return np.zeros(0, int)
        points = np.broadcast_to(points, (len(ray), np.shape(points)[-1]))
        dist = stretch[:, None] * self.stretch_m + (points + 0.5) * self.step_m
        is_data, _inside = self._data_at(ray[:, None], np.minimum(dist, self.reach_m))
        return np.where(is_data, points, -1).max(axis=1)

    def _with_data(self, ray):
        """List the stretches within a block's side of which there is data: rays, and numbers, rising along each."""
        size = SIZES - 1
        length = self.stretch_m * STEP**size
        number = np.arange(int(np.ceil(self.reach_m / length)))
        ray, number = np.repeat(ray, len(number)), np.tile(number, len(ray))
        while True:
            middle = np.minimum((number + 0.5) * length, self.reach_m)
            near = self.relief.upper(size, *self.rays.roughly(ray, middle)) > -np.inf
            near &= number * length < self.reach_m
            ray, number = ray[near], number[near]
            if size == 0:
                return ray, number
            size, length = size - 1, length / STEP
            ray = np.repeat(ray, STEP)
            number = (number[:, None] * STEP + np.arange(STEP)).ravel()
