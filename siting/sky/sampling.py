"""How often to log: the sampling theorem on the interference pattern.

The pattern goes through 2 h sin e/λ oscillations. At least two samples an
oscillation resolve it: Δt ≤ λ/(4 |d(h sin e)/dt|), and with a moving surface
d(h sin e)/dt = h d(sin e)/dt + ḣ sin e, of which the greatest sum counts, for
rising and setting arcs alike. Source: the sampling theorem (Shannon 1949,
Proceedings of the IRE 37, 10-21; from memory).
"""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..arrays import Array
from .arcs import Arcs

SEMIDIURNAL_S = 44_700.0
"""Period of a semidiurnal tide [s], 12 h 25 min (principal lunar, M2)."""
MARGIN = 1.5
"""How much shorter than the bare limit the recommended interval is; a convention."""
INTERVALS_S = (0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 60.0)
"""Intervals that receivers log at [s]; common practice, no source."""


def greatest_level_rate(low_m: float, high_m: float) -> float:
    """Return how fast one semidiurnal tide between two levels moves at mid-tide [m/s]: π (high − low) / period.

    No bound: where shallow-water tides are strong, predicted tides exceed it by up to 15 %; the rate of a typical hour
    is two to three times lower (worked out from harmonic constants of 17 stations).
    """
    return np.pi * (high_m - low_m) / SEMIDIURNAL_S


def longest_interval_s(arcs: Arcs, height_m: float, wavelength_m: float, level_rate: float = 0.0) -> Array:
    """Return the longest interval that resolves a height on each arc.

    Parameters
    ----------
    arcs : Arcs
    height_m : float
        Greatest height over the surface [m].
    wavelength_m : float
    level_rate : float
        Speed of the surface, either way [m/s].

    Returns
    -------
    ndarray, shape (arcs,)
        [s]
    """
    return wavelength_m / (4.0 * arcs.greatest(pattern_rate(arcs.rate, arcs.sine, height_m, level_rate)))


def pattern_rate(rate: Array, sine: Array, height_m: float, level_rate: float) -> Array:
    """Return how fast h sin e changes at most at each vertex [m/s], whichever way the surface moves.

    Parameters
    ----------
    rate, sine : ndarray, shape (vertices,)
        d(sin e)/dt [1/s] and sin e.
    height_m : float
    level_rate : float
        Speed of the surface, either way [m/s].
    """
    return height_m * np.abs(rate) + abs(level_rate) * sine


def greatest_height_m(arcs: Arcs, interval_s: float, wavelength_m: float, level_rate: float = 0.0) -> float:
    """Return the greatest height that an interval resolves on every arc [m]; NaN without arcs, at least 0."""
    if not arcs:
        return np.nan
    with np.errstate(divide="ignore"):
        height = (wavelength_m / (4.0 * interval_s) - abs(level_rate) * arcs.sine) / np.abs(arcs.rate)
    return float(max(height.min(), 0.0))


def recommended_s(longest_s: float) -> float | None:
    """Return the interval to log at: the longest of `INTERVALS_S` that leaves the margin.

    Returns
    -------
    float or None
        [s]; None where even the shortest does not.

    Examples
    --------
    >>> recommended_s(26.0), recommended_s(0.07)
    (15.0, None)
    """
    fit = [interval_s for interval_s in INTERVALS_S if interval_s * MARGIN <= longest_s * (1.0 + 1e-9)]
    return fit[-1] if fit else None


class Shift(NamedTuple):
    """How far the moving surface shifts the height that single arcs show [m]."""

    rising: float
    setting: float


def tide_shift_m(mean_sine: Array, width: Array, duration_s: Array, is_rising: Array,
                 level_rate: float) -> Shift:
    """Return the greatest shift of the height on rising and on setting arcs.

    An arc on which the height over the surface changes at ḣ shows h + ḣ tan e/ė (the local form); over a whole arc
    that is ḣ × mean of sin e × duration / change of sin e. Rising and setting arcs err to opposite sides.

    Parameters
    ----------
    mean_sine, width, duration_s : ndarray, shape (arcs,)
        Mean of sin e, its change without sign, and the duration [s].
    is_rising : ndarray of bool
    level_rate : float
        [m/s]

    Returns
    -------
    Shift
        Without sign; 0 where there is no such arc.
    """
    shift = abs(level_rate) * mean_sine * duration_s / np.maximum(width, 1e-12)
    return Shift(*(float(shift[chosen].max()) if chosen.any() else 0.0 for chosen in (is_rising, ~is_rising)))
