"""Arcs: the rising and setting parts of passes between two elevation angles."""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from .sky import Sky, View

SLIVER = 2e-6
"""Change of sin e below which an arc is none: what the ends of the time and the limits shave off, 0.0001°."""


class Arcs(NamedTuple):
    """The arcs over one site; the vertices of arc i are ``start[i]`` to ``start[i + 1] - 1``.

    Attributes
    ----------
    satellite : ndarray of int, shape (arcs,)
        Index into the orbits' names.
    start : ndarray of int, shape (arcs + 1,)
    time_s : ndarray, shape (vertices,)
        From the start of the time looked at [s], rising within an arc.
    sine : ndarray, shape (vertices,)
        Sine of the elevation angle.
    azimuth_deg : ndarray, shape (vertices,)
        In [0, 360) [°].
    rate : ndarray, shape (vertices,)
        d(sin e)/dt [1/s].
    """

    satellite: np.ndarray
    start: np.ndarray
    time_s: np.ndarray
    sine: np.ndarray
    azimuth_deg: np.ndarray
    rate: np.ndarray

    def __bool__(self) -> bool:
        return len(self.satellite) > 0

    @property
    def first(self) -> np.ndarray:
        """Index of each arc's first vertex."""
        return self.start[:-1]

    @property
    def last(self) -> np.ndarray:
        """Index of each arc's last vertex."""
        return self.start[1:] - 1

    @property
    def is_rising(self) -> np.ndarray:
        """Whether the satellite climbs, shape (arcs,)."""
        return self.sine[self.last] > self.sine[self.first]

    @property
    def elevation_deg(self) -> np.ndarray:
        """Elevation angle of each vertex [°]."""
        return np.degrees(np.arcsin(np.clip(self.sine, -1.0, 1.0)))

    @property
    def arc_of_vertex(self) -> np.ndarray:
        """Index of the arc that each vertex belongs to."""
        return np.repeat(np.arange(len(self.satellite)), np.diff(self.start))

    def greatest(self, value: np.ndarray) -> np.ndarray:
        """Return the greatest of a value of the vertices for each arc, shape (arcs,)."""
        return np.maximum.reduceat(value, self.first) if self else np.zeros(0)


def arcs_over(sky: Sky, lon_deg: float, lat_deg: float, with_margin: bool = False) -> Arcs:
    """Find all arcs over a site.

    An arc ends where the satellite crosses one of the elevation angles looked at (interpolated between samples),
    at its highest and its lowest point, at the ends of the time looked at and where a position is missing;
    midnight does not end it.

    Parameters
    ----------
    sky : Sky
    lon_deg, lat_deg : float
        WGS 84 [°].
    with_margin : bool
        Look at the margin before and after too.

    Returns
    -------
    Arcs
        In order of satellite, then time.
    """
    first, last = (0, len(sky.times_s) - 1) if with_margin else (sky.first, sky.last)
    return cut(sky.view(lon_deg, lat_deg), sky.times_s[0], sky.step_s, sky.low_deg, sky.high_deg, first, last)


def cut(view: View, origin_s: float, step_s: float, low_deg: float, high_deg: float, first: int, last: int) -> Arcs:
    """Cut what a site sees into arcs (see `arcs_over`).

    Parameters
    ----------
    view : View
    origin_s, step_s : float
        Time of moment 0, and the distance of the moments [s].
    low_deg, high_deg : float
        Limits of the elevation angle [°].
    first, last : int
        First and last moment looked at.

    Returns
    -------
    Arcs
    """
    sine, joined = view.sine, view.is_joined
    limits = np.float32(np.sin(np.radians(low_deg))), np.float32(np.sin(np.radians(high_deg)))
    in_time = (view.moment >= first) & (view.moment <= last)
    inside = (sine >= limits[0]) & (sine <= limits[1]) & in_time
    rate = _rate(sine, joined, step_s)
    if not inside.any():
        return Arcs(*(np.zeros(n, kind) for n, kind in ((0, int), (1, int), *4 * [(0, float)])))
    turns = _turning_points(sine, joined, inside)
    heads, tails = _pieces(joined, inside, turns.sample)

    # one more vertex on either side: the crossing of a limit, or the turning point
    before, beyond = np.maximum(heads - 1, 0), np.minimum(tails + 1, len(sine) - 1)
    came = joined[heads] & in_time[before]
    goes_on = (tails + 1 < len(sine)) & joined[beyond] & in_time[beyond]
    head = _vertex_beyond(view, rate, limits, turns, _Side(heads, before, came, turns.sample[heads], -1.0))
    tail = _vertex_beyond(view, rate, limits, turns, _Side(tails, beyond, goes_on, turns.sample[beyond], 1.0))
    # the vertex on either side stands where its outer sample stood
    length = tails - heads + 1 + head.is_there + tail.is_there
    vertices, start = runs(heads - head.is_there, length)
    columns = []
    for name, value in (("moment", view.moment), ("sine", sine), ("azimuth_deg", view.azimuth_deg), ("rate", rate)):
        column = value.take(vertices).astype(float if name == "moment" else np.float32, copy=False)
        column[start[:-1][head.is_there]] = getattr(head, name)[head.is_there]
        column[start[1:][tail.is_there] - 1] = getattr(tail, name)[tail.is_there]
        columns.append(column)
    time, sines, azimuth, rates = columns
    # they leave the circle by a hair at most, which is quicker mended than divided
    azimuth[azimuth < 0] += np.float32(360.0)
    azimuth[azimuth >= 360] -= np.float32(360.0)
    made = Arcs(view.satellite[heads], start, origin_s + step_s * time, sines, azimuth, rates)
    rise = np.abs(sines[made.last] - sines[made.first])
    keep = (length >= 2) & (rise > SLIVER)
    return made if keep.all() else some_arcs(made, keep)[0]


def _pieces(joined, inside, turn):
    """Return the first and the last sample of each arc: they break at limits, gaps and turning points."""
    begins = inside & (turn >= 0)
    begins[0] |= inside[0]
    begins[1:] |= inside[1:] & ~(joined[1:] & inside[:-1])
    ends = inside.copy()
    ends[:-1] &= begins[1:] | ~inside[1:]
    return np.flatnonzero(begins), np.flatnonzero(ends)


class _Side(NamedTuple):
    """One side of all arcs: their last samples, those beyond, whether these go on, where the arc turns, and when."""

    inner: np.ndarray
    outer: np.ndarray
    goes_on: np.ndarray
    turned: np.ndarray
    sign: float


class _Vertex(NamedTuple):
    """The vertex beyond the last sample on one side of all arcs."""

    is_there: np.ndarray
    moment: np.ndarray
    sine: np.ndarray
    azimuth_deg: np.ndarray
    rate: np.ndarray


def _vertex_beyond(view, rate, limits, turns, side) -> _Vertex:
    """Place the vertex beyond the last sample: where a limit is crossed, or where the satellite turns."""
    sine, inner, outer = view.sine, side.inner, side.outer
    limit = np.where(sine[outer] > limits[1], limits[1], limits[0])
    with np.errstate(invalid="ignore", divide="ignore"):
        part = ((limit - sine[inner]) / (sine[outer] - sine[inner])).astype(float)
    is_turn = side.goes_on & (side.turned >= 0)
    if is_turn.any():
        # the turning point's place, seen from the inner sample, in steps towards the outer one
        place = side.turned[is_turn]
        part[is_turn] = np.abs(place + turns.offset[place] - inner[is_turn])
    part = np.where(side.goes_on, np.clip(part, 0.0, 1.0), 0.0)
    turned_sine = np.where(is_turn, turns.sine[np.maximum(side.turned, 0)], limit)
    bend = (view.azimuth_deg[outer] - view.azimuth_deg[inner] + 180.0) % 360.0 - 180.0
    return _Vertex(side.goes_on & (part > 1e-6), view.moment[inner] + side.sign * part,
                   np.clip(turned_sine, *limits), view.azimuth_deg[inner] + part * bend,
                   np.where(is_turn, 0.0, rate[inner] + part * (rate[outer] - rate[inner])))


def _rate(sine, joined, step_s):
    """Return d(sin e)/dt [1/s]: by central differences, at the ends of a run one-sided."""
    step = np.zeros_like(sine)
    np.divide(np.diff(sine), np.float32(step_s), out=step[1:])
    after = np.append(step[1:], np.float32(0.0))
    goes_on = np.append(joined[1:], False)
    rate = (step + after) / np.float32(2.0)
    # few samples are ends
    end = np.flatnonzero(~(joined & goes_on))
    rate[end] = np.where(joined[end], step[end], np.where(goes_on[end], after[end], np.float32(0.0)))
    return rate


class _Turns(NamedTuple):
    """Highest and lowest points next to the samples that are looked at; arrays of shape (samples,).

    Attributes
    ----------
    sample : ndarray of int
        For a sample that begins a new arc because the point lies between it and the one before: the sample next to
        the point; else -1.
    sine, offset : ndarray
        Sine at the point, and its place in steps after the sample next to it.
    """

    sample: np.ndarray
    sine: np.ndarray
    offset: np.ndarray


def _turning_points(sine, joined, is_chosen) -> _Turns:
    """Find highest and lowest points: of the parabola through three samples."""
    found = _Turns(np.full(len(sine), -1), np.zeros(len(sine)), np.zeros(len(sine)))
    step = np.diff(sine)
    is_peak = joined[1:-1] & joined[2:] & (step[:-1] * step[1:] <= 0)
    peak = np.flatnonzero(is_peak) + 1
    # few samples are peaks: what is looked at may be asked of them alone
    peak = peak[is_chosen[peak]]
    if len(peak):
        left, middle, right = (sine[peak + i].astype(float) for i in (-1, 0, 1))
        bend = left - 2.0 * middle + right
        flat = np.abs(bend) < 1e-12
        offset = np.where(flat, 0.0, 0.5 * (left - right) / np.where(flat, 1.0, bend))
        offset = np.clip(offset, -0.5, 0.5)
        found.offset[peak] = offset
        found.sine[peak] = middle - 0.25 * (left - right) * offset
        found.sample[np.where(offset >= 0, peak + 1, peak)] = peak
    return found


def runs(first: np.ndarray, length: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """List the indices of runs, one run after the other.

    Parameters
    ----------
    first, length : ndarray of int, shape (runs,)
        First index of each, and how many follow one another from there.

    Returns
    -------
    index : ndarray of int
    start : ndarray of int, shape (runs + 1,)
        Where each begins in `index`, and the end of the last.

    Examples
    --------
    >>> [part.tolist() for part in runs(np.array([7, 2]), np.array([2, 3]))]
    [[7, 8, 2, 3, 4], [0, 2, 5]]
    """
    start = np.concatenate([[0], np.cumsum(length)])
    return np.repeat(first - start[:-1], length) + np.arange(start[-1]), start


def some_arcs(arcs: Arcs, keep: np.ndarray) -> tuple[Arcs, np.ndarray]:
    """Take some of the arcs.

    Parameters
    ----------
    arcs : Arcs
    keep : ndarray of bool, shape (arcs,)

    Returns
    -------
    Arcs
    vertices : ndarray of int
        Their vertices among all.
    """
    vertices, start = runs(arcs.first[keep], np.diff(arcs.start)[keep])
    return Arcs(arcs.satellite[keep], start, *(value.take(vertices) for value in arcs[2:])), vertices
