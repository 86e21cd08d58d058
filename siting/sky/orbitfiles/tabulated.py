"""Satellites between tabulated positions, by Lagrange's interpolation.

References
----------
1. Horemuž, Andersson 2006, Polynomial interpolation of GPS satellite coordinates, GPS Solutions 10, 67-72 (from
   memory): tables of 15 minutes need a polynomial of about degree 10.
2. Berrut, Trefethen 2004, Barycentric Lagrange interpolation, SIAM Review 46, 501-517 (from memory).
"""
from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ...arrays import Array
from ..clock import gps_minus_utc_s
from ..orbits import Orbits
from .selection import FoundOrbit

POINTS = 11
"""Epochs that a polynomial goes through, reference 1."""
LEAST_POINTS = 9
"""Epochs without a gap from which on positions are given. A convention of ours."""
GAP = 1.5
"""Spacing that counts as a gap, as a multiple of the median spacing. A convention of ours."""


class PositionTable:
    """Positions of one satellite at epochs.

    Parameters
    ----------
    gps_s : ndarray, shape (epochs,)
        Rising; GPS time, which no leap second breaks, written as seconds since 1970.
    position_m : ndarray, shape (epochs, 3)
        NaN where there is none.
    step_s : float
        Usual spacing of the epochs.

    Attributes
    ----------
    runs : list of (ndarray, ndarray)
        Epochs and positions of each stretch without a gap that is long enough.
    """

    def __init__(self, gps_s: Array, position_m: Array, step_s: float):
        there = np.isfinite(position_m).all(axis=1)
        epochs, values = gps_s[there], position_m[there]
        ends = np.flatnonzero(np.diff(epochs) > GAP * step_s) + 1
        self.runs = [(t, p) for t, p in zip(np.split(epochs, ends), np.split(values, ends))
                     if len(t) >= LEAST_POINTS]
        self.step_s = step_s

    def at(self, gps_s: Array) -> Array:
        """Return positions [m], shape (times, 3); NaN in gaps and beyond the first and last epoch."""
        result = np.full((len(gps_s), 3), np.nan)
        for epochs, values in self.runs:
            inside = (gps_s >= epochs[0]) & (gps_s <= epochs[-1])
            if inside.any():
                result[inside] = _between(epochs, values, gps_s[inside], self.step_s)
        return result


def _between(epochs: Array, values: Array, times: Array, unit_s: float) -> Array:
    """Interpolate inside one run, each time from the epochs around it; reference 2."""
    points = min(POINTS, len(epochs))
    after = np.searchsorted(epochs, times)
    first = np.clip(after - (points + 1) // 2, 0, len(epochs) - points)
    windows = np.arange(len(epochs) - points + 1)[:, None] + np.arange(points)
    nodes = epochs[windows] / unit_s  # in steps, so that no product overflows
    apart = nodes[:, :, None] - nodes[:, None, :]
    apart[:, np.arange(points), np.arange(points)] = 1.0
    weight = 1.0 / apart.prod(axis=2)
    away = (times[:, None] - epochs[windows][first]) / unit_s
    hit = away == 0.0
    terms = weight[first] / np.where(hit, 1.0, away)
    terms = np.where(hit.any(axis=1)[:, None], hit.astype(float), terms)
    found: Array = np.einsum("tp,tpc->tc", terms, values[windows][first]) / terms.sum(axis=1)[:, None]
    return found


class TabulatedOrbits(Orbits):
    """Satellites between tabulated positions.

    Parameters
    ----------
    chosen : sequence of FoundOrbit
        Their `data` are `PositionTable`.
    source : str
    """

    def __init__(self, chosen: Sequence[FoundOrbit], source: str):
        super().__init__([orbit.name for orbit in chosen], [orbit.system for orbit in chosen], source)
        self._tables: list[PositionTable] = [orbit.data for orbit in chosen]

    def one_position_m(self, index: int, utc_s: Array) -> Array:
        utc_s = np.asarray(utc_s, float)
        return self._tables[index].at(utc_s + gps_minus_utc_s(utc_s))
