"""Many line segments on a plane: what crosses them, and how near they are."""
from __future__ import annotations

from collections.abc import Iterable
from typing import Callable, NamedTuple

import numpy as np

from ..arrays import Array, ArrayLike

BLOCK = 64
"""Neighbouring segments that share a box."""
TOUCH = 1e-6
"""Share of a segment from its beginning that counts as its first vertex."""


class Crossing(NamedTuple):
    """Where two segments cross [m], and which."""

    xy: Array
    one: int
    other: int


class Segments:
    """Segments in blocks of neighbours, each block with its box.

    Parameters
    ----------
    start, end : ndarray, shape (n, 2)
        In the order of their lines, so that neighbours follow each other.
    before : ndarray of int, shape (n,), optional
        The segment of its line before each; -1 where the line begins.
    """

    def __init__(self, start: Array, end: Array, before: Array | None = None):
        self._before = np.full(len(start), -1) if before is None else before
        self.start, self.end = np.asarray(start, float), np.asarray(end, float)
        first = np.arange(0, len(self.start), BLOCK)
        self._low = np.minimum.reduceat(np.minimum(self.start, self.end), first) if len(first) else np.zeros((0, 2))
        self._high = np.maximum.reduceat(np.maximum(self.start, self.end), first) if len(first) else np.zeros((0, 2))

    @classmethod
    def of_lines(cls, lines: Iterable[Array]) -> Segments:
        """Take the steps of lines of vertices; a single vertex is a segment without length."""
        lines = [xy if len(xy) > 1 else np.repeat(xy, 2, axis=0) for xy in lines]
        if not lines:
            return cls(np.zeros((0, 2)), np.zeros((0, 2)))
        before, first = [], 0
        for xy in lines:
            last = first + len(xy) - 2
            is_ring = len(xy) > 3 and np.array_equal(xy[0], xy[-1])
            before.append(np.append(last if is_ring else -1, np.arange(first, last)))
            first = last + 1
        return cls(np.concatenate([xy[:-1] for xy in lines]), np.concatenate([xy[1:] for xy in lines]),
                   np.concatenate(before))

    def __len__(self):
        return len(self.start)

    def _members(self, blocks) -> Array:
        members = (blocks[:, None] * BLOCK + np.arange(BLOCK)).ravel()
        return members[members < len(self.start)]

    def near(self, low: Array, high: Array) -> Array:
        """Return indices of the segments whose blocks meet a box."""
        return self._members(np.flatnonzero(np.all((self._low <= high) & (self._high >= low), axis=1)))

    def hits(self, a: ArrayLike, b: ArrayLike) -> tuple[Array, Array]:
        """Find where a straight leg from a to b crosses segments or touches them.

        Returns
        -------
        index : ndarray of int
            The segments hit, the nearest to `a` first.
        share : ndarray
            How far along the leg, 0 to 1. Segments along the leg are left out.
        """
        a, b = np.asarray(a, float), np.asarray(b, float)
        near = self.near(np.minimum(a, b), np.maximum(a, b))
        along, step, lead = b - a, self.end[near] - self.start[near], self.start[near] - a
        det = along[0] * step[:, 1] - along[1] * step[:, 0]
        with np.errstate(divide="ignore", invalid="ignore"):
            share = (lead[:, 0] * step[:, 1] - lead[:, 1] * step[:, 0]) / det
            other = (lead[:, 0] * along[1] - lead[:, 1] * along[0]) / det
            hit = (share >= 0) & (share <= 1) & (other >= 0) & (other <= 1)
        order = np.argsort(share[hit], kind="stable")
        return near[hit][order], share[hit][order]

    def distance(self, xy: ArrayLike) -> tuple[float, int, Array]:
        """Return the distance of a point to the nearest segment, which that is, and the nearest place on it."""
        if not len(self.start):
            return np.inf, -1, np.full(2, np.nan)
        xy = np.asarray(xy, float)
        gap = np.hypot(*np.maximum(np.maximum(self._low - xy, xy - self._high), 0.0).T)
        best = (np.inf, -1, np.full(2, np.nan))
        order = np.argsort(gap, kind="stable")
        for k in range(0, len(order), 8):
            if gap[order[k]] >= best[0]:
                break
            members = self._members(order[k:k + 8])
            places = self._nearest_places(xy, members)
            dist = np.hypot(*(places - xy).T)
            least = int(np.argmin(dist))
            if dist[least] < best[0]:
                best = (float(dist[least]), int(members[least]), places[least])
        return best

    def _nearest_places(self, xy, members):
        start, step = self.start[members], self.end[members] - self.start[members]
        square = np.sum(step**2, axis=1)
        share = np.sum((xy - start) * step, axis=1) / np.where(square > 0, square, 1.0)
        return start + np.clip(share, 0.0, 1.0)[:, None] * step

    def crossings(self, most: int = 20, pulse: Callable[[], None] = lambda: None) -> list[Crossing]:
        """Find lines that cross each other or themselves, or have a segment in common.

        Ends that only touch do not count, nor do vertices at which lines meet without changing sides.

        Parameters
        ----------
        most : int
            Stop after so many.
        pulse : callable
            Called now and then; may raise to stop.
        """
        found = []
        for block in range(len(self._low)):
            pulse()
            others = np.flatnonzero(np.all((self._low <= self._high[block]) & (self._high >= self._low[block]), axis=1))
            mine, theirs = self._members(np.array([block])), self._members(others[others >= block])
            found += self._pairs(mine, theirs)
            if len(found) >= most:
                return found[:most]
        return found

    def _pairs(self, mine, theirs):
        p, r = self.start[mine][:, None], (self.end - self.start)[mine][:, None]
        q, s = self.start[theirs][None], (self.end - self.start)[theirs][None]
        det = r[..., 0] * s[..., 1] - r[..., 1] * s[..., 0]
        lead = q - p
        with np.errstate(divide="ignore", invalid="ignore"):
            t = (lead[..., 0] * s[..., 1] - lead[..., 1] * s[..., 0]) / det
            u = (lead[..., 0] * r[..., 1] - lead[..., 1] * r[..., 0]) / det
            # each vertex belongs to the segment that it begins
            meet = (t > -TOUCH) & (t < 1 - TOUCH) & (u > -TOUCH) & (u < 1 - TOUCH)
        twins = self._same(mine, theirs)
        found = []
        for one, other in np.argwhere((meet | twins) & (mine[:, None] < theirs[None])).tolist():
            i, j = int(mine[one]), int(theirs[other])
            where = float(t[one, other]) if meet[one, other] else 0.5
            place = self.start[i] + where * (self.end[i] - self.start[i])
            if twins[one, other] or self._changes_sides(i, j, place, where < TOUCH, u[one, other] < TOUCH):
                found.append(Crossing(place, i, j))
        return found

    def _changes_sides(self, i, j, place, at_vertex_i, at_vertex_j) -> bool:
        """Tell whether two lines that meet at a place pass through each other there."""
        angles = []
        for index, at_vertex in ((i, at_vertex_i), (j, at_vertex_j)):
            begin = self._before[index] if at_vertex else index
            if begin < 0:
                return False  # a line that ends here
            for end in (self.start[begin], self.end[index]):
                angles.append(np.arctan2(*(end - place)[::-1]))
        turn, back, ahead = np.mod(np.array(angles[1:]) - angles[0], 2.0 * np.pi)
        return (back < turn) != (ahead < turn)

    def _same(self, mine, theirs):
        """Tell which segments have the same two ends."""
        a, b = self.start[mine][:, None], self.end[mine][:, None]
        c, d = self.start[theirs][None], self.end[theirs][None]
        return (np.all(a == c, axis=-1) & np.all(b == d, axis=-1)) | (np.all(a == d, axis=-1) & np.all(b == c, axis=-1))
