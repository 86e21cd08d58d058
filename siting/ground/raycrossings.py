"""Where the edges of polygons cross the rays of a polar grid, and what the union of any of the polygons covers.

Along a ray the number of polygons around a point changes by one at each
crossing. The union begins where that number rises from nought and ends where it
falls back, so a polygon that stands twice, or two that overlap, are counted
once, and exactly: within a ring too.
"""
from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

import numpy as np

from .polargrid import PHASES, PolarGrid


class Crossings(NamedTuple):
    """All crossings around one site, sorted along each ray.

    Attributes
    ----------
    grid : PolarGrid
    inside : ndarray, shape (groups,)
        How many polygons of each group hold the site.
    ray : ndarray of int, shape (n,)
        Ray of each crossing; the rays of `PHASES` follow each other.
    radius : ndarray, shape (n,)
        Its distance [m], rising along each ray.
    sign : ndarray, shape (n,)
        +1 where a polygon begins, -1 where it ends.
    group : ndarray of int, shape (n,)
    """

    grid: PolarGrid
    inside: np.ndarray
    ray: np.ndarray
    radius: np.ndarray
    sign: np.ndarray
    group: np.ndarray

    @property
    def groups(self) -> list[int]:
        """The groups that come near, rising."""
        return np.flatnonzero((self.inside > 0) | (np.bincount(self.group, minlength=len(self.inside)) > 0)).tolist()

    def cover(self, groups: Iterable[int] | None = None) -> np.ndarray | None:
        """Measure which part of each spot the union of some groups covers.

        Parameters
        ----------
        groups : iterable of int, optional
            All of them if not given.

        Returns
        -------
        ndarray, shape (n_rings, rays), or None
            0 to 1; None where none of the groups comes near.
        """
        chosen = np.ones(len(self.inside), bool)
        if groups is not None:
            chosen[:] = False
            chosen[list(groups)] = True
        mine = np.flatnonzero(chosen[self.group]) if len(self.group) else np.zeros(0, int)
        around = float(self.inside[chosen].sum())
        if not len(mine) and around <= 0:
            return None
        result = np.full((len(self.grid.edges_m) - 1, self.grid.rays), 1.0 if around > 0 else 0.0, np.float32)
        if not len(mine):
            return result
        ray, radius, step = _ends_of_union(self.ray[mine], self.radius[mine], self.sign[mine], around)
        phase, ray = np.divmod(ray, self.grid.rays)
        for number in range(len(PHASES)):
            rings, here = slice(number, None, len(PHASES)), phase == number
            result[rings] += _accumulate(ray[here], radius[here], step[here], self.grid, rings)
        return np.clip(result, 0.0, 1.0)


def crossings_of(first, second, owner, inside, grid: PolarGrid) -> Crossings:
    """Find where edges cross the rays of all phases.

    Parameters
    ----------
    first, second : ndarray, shape (edges, 2)
        Ends of the edges, east and north of the site [m]; inside lies to their left.
    owner : ndarray of int, shape (edges,)
        Group of each.
    inside : ndarray, shape (groups,)
        How many polygons of each group hold the site.
    grid : PolarGrid

    Returns
    -------
    Crossings
    """
    parts = []
    for number, phase in enumerate(PHASES):
        ray, radius, sign, which = _crossings(first, second, grid.rays, phase)
        parts.append((ray + number * grid.rays, radius, sign, owner[which]))
    ray, radius, sign, group = (np.concatenate(part) for part in zip(*parts))
    # one number orders by ray, then by radius; what lies within rounding lies at one place
    order = np.argsort(ray + radius * (0.5 / max(float(radius.max(initial=0.0)), 1e-9)))
    return Crossings(grid, inside, ray[order], radius[order], sign[order], group[order].astype(int))


def _ends_of_union(ray, radius, sign, around):
    """Keep the crossings at which the union begins (+1) or ends (-1)."""
    total = np.cumsum(sign)
    is_first = np.empty(len(ray), bool)
    is_first[0], is_first[1:] = True, ray[1:] != ray[:-1]
    # what was counted on the rays before
    start = (total - sign)[is_first]
    after = total - np.repeat(start, np.diff(np.append(np.flatnonzero(is_first), len(ray)))) + around
    before = after - sign
    step = (after > 0.5).astype(float) - (before > 0.5)
    kept = step != 0
    return ray[kept], radius[kept], step[kept]


def _crossings(first, second, rays, phase):
    """Find where edges cross the rays: ray number, radius, +1 inwards or -1 outwards, edge number."""
    unit = rays / (2.0 * np.pi)
    at1 = np.arctan2(first[:, 0], first[:, 1]) * unit - phase
    at2 = np.arctan2(second[:, 0], second[:, 1]) * unit - phase
    sweep = at2 - at1
    # the short way round; at1 and at2 keep their own rounding, so neighbours agree on a shared vertex
    turn = np.where(sweep > rays / 2.0, -rays, np.where(sweep < -rays / 2.0, rays, 0))
    low = np.where(sweep + turn > 0, np.floor(at1), np.floor(at2))
    high = np.where(sweep + turn > 0, np.floor(at2), np.floor(at1))
    number = (high - low + np.where(sweep + turn > 0, turn, -turn)).astype(int)
    sign = np.where(sweep + turn > 0, 1.0, -1.0)
    which = np.repeat(np.arange(len(first)), number)
    inner = np.arange(number.sum()) - np.repeat(np.cumsum(number) - number, number)
    ray = (low[which].astype(int) + 1 + inner) % rays
    azimuth = (ray + phase) / unit
    p, d = first[which], (second - first)[which]
    # rounding can put a ray a hair beside its edge's end: the radius is bounded by the edge
    with np.errstate(invalid="ignore", divide="ignore"):
        radius = (p[:, 0] * d[:, 1] - p[:, 1] * d[:, 0]) / (np.sin(azimuth) * d[:, 1] - np.cos(azimuth) * d[:, 0])
    longest = np.maximum(np.hypot(*first.T), np.hypot(*second.T))[which]
    radius = np.clip(np.nan_to_num(radius, nan=0.0), 0.0, longest)
    return ray, radius, sign[which], which


def _accumulate(ray, radius, sign, grid, rings) -> np.ndarray:
    """Turn crossings into the inside count of spots relative to the site, by area within the rings of a slice."""
    near, far = grid.edges_m[:-1][rings], grid.edges_m[1:][rings]
    # the ring in or before which a crossing lies takes a part, the rings beyond take all
    ring = np.searchsorted(near, radius, side="right") - 1
    within = np.clip(ring, 0, None)
    part = (radius**2 - near[within] ** 2) / (far[within] ** 2 - near[within] ** 2)
    part = np.clip(np.where(ring < 0, 0.0, part), 0.0, 1.0)
    size = (len(near) + 1) * grid.rays
    steps = np.bincount(within * grid.rays + ray, sign * (1.0 - part), size)
    steps += np.bincount((within + 1) * grid.rays + ray, sign * part, size)
    return np.cumsum(steps.reshape(len(near) + 1, grid.rays)[:-1], axis=0)
