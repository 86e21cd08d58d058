"""What the sky is worth over a surface: arcs that cross usable directions, their gaps and their sampling."""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..verdict.windows import oscillations, separation_m
from .arcs import Arcs
from .clock import DAY_S
from .sampling import Shift, pattern_rate, recommended_s, tide_shift_m
from .sky import Sky

GAP_MARGIN_S = 12 * 3600.0
"""Time before and after that is looked at for gaps: as long as the gap that is worth nothing."""


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

    width: np.ndarray
    t_start_s: np.ndarray
    t_end_s: np.ndarray
    mean_sine: np.ndarray
    first: np.ndarray
    last: np.ndarray


class SkyWorth(NamedTuple):
    """What the sky gives one site.

    Attributes
    ----------
    arcs_day : int
        Usable arcs of the worst day.
    per_day : ndarray of int
        Usable arcs of each day.
    gap_h : float
        Longest time between the middles of usable arcs [h].
    gap_is_least : bool
        Whether the gap reaches the end of what was computed, so that it may be longer.
    int_max_s : float
        Longest interval that resolves every usable arc [s]; NaN without one.
    int_rec_s : float or None
        Recommended interval [s].
    shift_m : Shift
        By how much the moving surface shifts single arcs [m].
    middle_s : ndarray
        Middles of the usable arcs within the time looked at [s].
    is_rising : ndarray of bool
        Of the same arcs.
    satellite : ndarray of int
        Of the same arcs.
    empty_bins : ndarray of bool, shape (bins,)
        Bins with usable angles that no satellite crosses there.
    """

    arcs_day: int
    per_day: np.ndarray
    gap_h: float
    gap_is_least: bool
    int_max_s: float
    int_rec_s: float | None
    shift_m: Shift
    middle_s: np.ndarray
    is_rising: np.ndarray
    satellite: np.ndarray
    empty_bins: np.ndarray


def usable_vertices(arcs: Arcs, good: np.ndarray, elevation_deg: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Tell which vertices of arcs lie in usable directions.

    Parameters
    ----------
    arcs : Arcs
    good : ndarray of bool, shape (angles, bins)
    elevation_deg : ndarray, shape (angles,)
        Rising [°].

    Returns
    -------
    is_usable : ndarray of bool, shape (vertices,)
        Where both angles that enclose the vertex are good in its azimuth bin.
    bin : ndarray of int, shape (vertices,)
    """
    angles, bins = good.shape
    both = good[1:] & good[:-1]
    # a hair of tolerance: an arc that ends at an angle looked at has reached it
    sines = np.sin(np.radians(elevation_deg)).astype(np.float32) - np.float32(1e-7)
    between = np.clip(np.searchsorted(sines, arcs.sine, side="right") - 1, 0, angles - 2)
    column = np.minimum((arcs.azimuth_deg * np.float32(bins / 360.0)).astype(np.int64), bins - 1)
    return both[between, column], column


def longest_pieces(arcs: Arcs, is_usable: np.ndarray) -> Pieces:
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
    sine = arcs.sine.astype(float)
    head_sine, tail_sine = ((sine[a] + sine[b]) / 2.0 for a, b in ((heads, outer_head), (tails, outer_tail)))
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


def sky_worth(sky: Sky, arcs: Arcs, good: np.ndarray, elevation_deg: np.ndarray, wavelength_m: float,
              least_height_m: float, greatest_height_m: float, min_cycles: float, max_res_m: float | None,
              level_rate: float) -> SkyWorth:
    """Judge the arcs over one site by the surface they reflect from.

    Parameters
    ----------
    sky : Sky
    arcs : Arcs
        With the margin, see `siting.sky.arcs.arcs_over`.
    good : ndarray of bool, shape (angles, bins)
        Where the surface is usable.
    elevation_deg : ndarray, shape (angles,)
    wavelength_m : float
    least_height_m, greatest_height_m : float
        Height over the highest and the lowest level [m].
    min_cycles : float
        Oscillations from which an arc counts.
    max_res_m : float or None
        Separation from which an arc counts [m].
    level_rate : float
        Greatest speed of the surface [m/s].

    Returns
    -------
    SkyWorth
    """
    is_usable, column = usable_vertices(arcs, good, elevation_deg)
    pieces = longest_pieces(arcs, is_usable)
    counts = (pieces.width > 0) & (oscillations(least_height_m, pieces.width, wavelength_m) >= min_cycles)
    if max_res_m is not None:
        counts &= separation_m(pieces.width, wavelength_m) <= max_res_m
    middle = (pieces.t_start_s + pieces.t_end_s) / 2.0
    end = sky.days * DAY_S
    with np.errstate(invalid="ignore"):
        within = counts & (middle >= 0.0) & (middle < end)
    per_day = np.bincount((middle[within] // DAY_S).astype(int), minlength=sky.days)
    gap, is_least = longest_gap_s(middle[counts], 0.0, end, float(sky.times_s[0]), float(sky.times_s[-1]))
    longest = np.nan
    if within.any():
        rate = pattern_rate(arcs, greatest_height_m, level_rate)
        mine = _in_pieces(len(rate), pieces.first[within], pieces.last[within])
        longest = float(wavelength_m / (4.0 * rate[mine].max()))
    rising = arcs.is_rising
    crossed = np.zeros(good.shape[1], bool)
    crossed[column[is_usable]] = True
    return SkyWorth(
        int(per_day.min()), per_day, gap / 3600.0, is_least, longest,
        recommended_s(longest) if within.any() else None,
        tide_shift_m(pieces.mean_sine[within], pieces.width[within],
                     (pieces.t_end_s - pieces.t_start_s)[within], rising[within], level_rate),
        middle[within], rising[within], arcs.satellite[within],
        (good[1:] & good[:-1]).any(axis=0) & ~crossed)


def _in_pieces(vertices, first, last):
    """Mark the vertices first … last of each piece."""
    change = np.zeros(vertices + 1, int)
    np.add.at(change, first, 1)
    np.add.at(change, last + 1, -1)
    return np.cumsum(change[:-1]) > 0


def longest_gap_s(middle_s: np.ndarray, start_s: float, end_s: float, first_s: float,
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
