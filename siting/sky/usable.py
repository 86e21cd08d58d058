"""Arcs over usable directions: where their vertices lie, and the longest usable piece of each."""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..arrays import Array
from .arcs import Arcs, runs

GAP_MARGIN_S = 12 * 3600.0
"""Time before and after that is looked at for gaps."""


class Pieces(NamedTuple):
    """The longest usable piece of each arc; arrays of shape (arcs,).

    Attributes
    ----------
    width : ndarray
        Change of sin e; 0 where nothing is usable.
    t_start_s, t_end_s : ndarray
        [s]; NaN where nothing is usable.
    mean_sine : ndarray
    first, last : ndarray of int
        Its vertices; -1 where nothing is usable.
    """

    width: Array
    t_start_s: Array
    t_end_s: Array
    mean_sine: Array
    first: Array
    last: Array

    @property
    def middle_s(self) -> Array:
        """Middles in time [s]."""
        return (self.t_start_s + self.t_end_s) / 2.0


class Placed(NamedTuple):
    """Where the vertices of arcs lie among the directions and elevation angles looked at; arrays of shape (vertices,).

    Attributes
    ----------
    bin : ndarray of int
        Azimuth bin.
    below : ndarray of int
        Index of the angle at or below the vertex; the next one encloses it.
    part : ndarray
        How far between them it lies, 0 to 1 in sin e.
    spacing_s : ndarray
        Time for which it stands: half the way to its neighbours on the arc [s].
    """

    bin: Array
    below: Array
    part: Array
    spacing_s: Array

    def some(self, vertices: Array) -> Placed:
        """Return the same of some vertices, chosen by index."""
        return Placed(*(values.take(vertices) for values in self))

    def both(self, grid: Array) -> tuple[Array, Array]:
        """Return the values of a grid (angles, bins) at the angles below and above each vertex."""
        cell = self.below * grid.shape[1] + self.bin
        flat = grid.ravel()
        return flat.take(cell), flat.take(cell + grid.shape[1])

    def between(self, grid: Array) -> Array:
        """Interpolate a grid (angles, bins), or (angles,) where all bins are alike, at each vertex."""
        if grid.ndim == 1:
            low, high = grid.take(self.below), grid.take(self.below + 1)
        else:
            low, high = self.both(grid)
        value: Array = low + self.part * (high - low)
        return value


def place(arcs: Arcs, elevation_deg: Array, bins: int) -> Placed:
    """Find where the vertices of arcs lie.

    Parameters
    ----------
    arcs : Arcs
    elevation_deg : ndarray, shape (angles,)
        Rising [°].
    bins : int
        Number of azimuth bins.

    Returns
    -------
    Placed
    """
    # a hair of tolerance: an arc that ends at an angle looked at has reached it
    sines = np.sin(np.radians(elevation_deg)).astype(np.float32) - np.float32(1e-7)
    below = np.clip(np.searchsorted(sines, arcs.sine, side="right") - 1, 0, len(sines) - 2)
    column = np.minimum((arcs.azimuth_deg * np.float32(bins / 360.0)).astype(np.int32), bins - 1)
    part = (arcs.sine - sines.take(below)) / np.diff(sines).take(below)
    np.clip(part, np.float32(0.0), np.float32(1.0), out=part)
    return Placed(column, below, part, spacing_s(arcs))


def spacing_s(arcs: Arcs) -> Array:
    """Return the time for which each vertex of arcs stands: half the way to its neighbours, shape (vertices,) [s]."""
    step = np.diff(arcs.time_s) / 2.0
    # between two arcs lies no time of either
    step[arcs.start[1:-1] - 1] = 0.0
    spacing = np.zeros(len(arcs.time_s))
    spacing[1:] = step
    spacing[:-1] += step
    return spacing


def usable_vertices(placed: Placed, good: Array) -> Array:
    """Tell which vertices of arcs lie in usable directions: where both angles that enclose them are good.

    Parameters
    ----------
    placed : Placed
    good : ndarray of bool, shape (angles, bins)

    Returns
    -------
    ndarray of bool, shape (vertices,)
    """
    both = good[1:] & good[:-1]
    lies_in: Array = both.ravel().take(placed.below * good.shape[1] + placed.bin)
    return lies_in


def longest_pieces(arcs: Arcs, is_usable: Array) -> Pieces:
    """Find the longest unbroken usable piece of each arc, measured in sin e.

    Its ends lie halfway to the neighbouring vertex that is not usable, which at 30 s is 0.1° of elevation or less.
    """
    number = len(arcs.satellite)
    nothing = np.full(number, np.nan)
    made = Pieces(np.zeros(number), nothing.copy(), nothing.copy(), nothing.copy(),
                  np.full(number, -1), np.full(number, -1))
    if not is_usable.any():
        return made
    is_first = np.zeros(len(is_usable), bool)
    is_first[arcs.first] = True
    is_last = np.zeros(len(is_usable), bool)
    is_last[arcs.last] = True
    before = np.concatenate([[False], is_usable[:-1]]) & ~is_first
    after = np.concatenate([is_usable[1:], [False]]) & ~is_last
    heads = np.flatnonzero(is_usable & ~before)
    tails = np.flatnonzero(is_usable & ~after)
    outer_head = np.where(is_first[heads], heads, heads - 1)
    outer_tail = np.where(is_last[tails], tails, tails + 1)
    sine = arcs.sine
    head_sine, tail_sine = ((sine[a].astype(float) + sine[b]) / 2.0
                            for a, b in ((heads, outer_head), (tails, outer_tail)))
    width = np.abs(tail_sine - head_sine)
    arc = np.searchsorted(arcs.start, heads, side="right") - 1
    # the last of equal keys wins in an assignment: sort so that the widest piece of an arc comes last
    order = np.lexsort((width, arc))
    best = order[np.append(np.diff(arc[order]) > 0, True)]
    arc = arc[best]
    made.width[arc] = width[best]
    made.t_start_s[arc] = (arcs.time_s[heads[best]] + arcs.time_s[outer_head[best]]) / 2.0
    made.t_end_s[arc] = (arcs.time_s[tails[best]] + arcs.time_s[outer_tail[best]]) / 2.0
    made.mean_sine[arc] = (head_sine[best] + tail_sine[best]) / 2.0
    made.first[arc], made.last[arc] = heads[best], tails[best]
    return made


def vertices_of(pieces: Pieces, chosen: Array) -> tuple[Array, Array]:
    """List the vertices of some pieces.

    Parameters
    ----------
    pieces : Pieces
    chosen : ndarray of int, shape (chosen,)
        Arcs that have a piece.

    Returns
    -------
    index : ndarray of int
        Their vertices, piece after piece.
    start : ndarray of int, shape (chosen,)
        Where each piece begins in `index`; fit for ``ufunc.reduceat``.
    """
    first = pieces.first[chosen]
    index, start = runs(first, pieces.last[chosen] - first + 1)
    return index, start[:-1]


def longest_gap_s(middle_s: Array, start_s: float, end_s: float, first_s: float,
                  last_s: float) -> tuple[float, bool]:
    """Find the longest time between neighbouring arcs that touches the time looked at.

    Parameters
    ----------
    middle_s : ndarray
        Middles of the arcs, the margin included [s].
    start_s, end_s : float
        Time looked at [s].
    first_s, last_s : float
        Time computed: the margin included [s].

    Returns
    -------
    gap_s : float
    is_least : bool
        Whether it ends where the computed time ends, not at an arc.

    Examples
    --------
    >>> longest_gap_s(np.array([-100.0, 500.0, 900.0]), 0.0, 1000.0, -1000.0, 1200.0)
    (600.0, False)
    """
    moments = np.concatenate([[first_s], np.sort(middle_s), [last_s]])
    length = np.diff(moments)
    touches = (moments[1:] > start_s) & (moments[:-1] < end_s)
    length = np.where(touches, length, 0.0)
    index = int(np.argmax(length))
    return float(length[index]), index in (0, len(length) - 1)
