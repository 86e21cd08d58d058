"""How precise a value is that is made of the arcs around its time, through the days looked at."""
from __future__ import annotations

import numpy as np

from ..arrays import Array

EVERY_S = 600.0
"""Distance of the times at which a value is looked at [s]."""
KEPT_PART = 0.95
"""Part of the times that keep to the precision told."""
LEAST_SPREAD_M = 0.3
"""Least spread of a surface about its mean without any arc [m], a convention."""
LEAST_SPREAD_DEG = 20.0
"""The same of a pattern's phase over dry and wet soil [°], a convention."""
CENTIMETRES = 100.0


def spread_unseen(low_m: float, high_m: float, is_phase: bool = False) -> float:
    """Return how far the surface strays from its mean, known without any arc.

    Parameters
    ----------
    low_m, high_m : float
        Levels [m].
    is_phase : bool
        Whether the phase is wanted, which levels say nothing of.

    Returns
    -------
    float
        Standard deviation of a sine between the levels, at least `LEAST_SPREAD_M` [cm]; of the phase [°].
    """
    if is_phase:
        return LEAST_SPREAD_DEG
    spread_m: float = max((high_m - low_m) / (2.0 * np.sqrt(2.0)), LEAST_SPREAD_M)
    return CENTIMETRES * spread_m


def errors_by_time(middle_s: Array, information: Array, days: int, cadence_h: float,
                   unseen: float) -> Array:
    """Return the standard error of a value at each time.

    Parameters
    ----------
    middle_s : ndarray, shape (arcs,)
        Middles of the arcs [s].
    information : ndarray, shape (arcs,)
        1/error² of each, thinned by the time it cannot be used.
    days : int
        Days looked at, from time 0 on.
    cadence_h : float
        A value is made of the arcs within half of this before and after its time [h].
    unseen : float
        See `spread_unseen`.

    Returns
    -------
    ndarray, shape (times,)
        1/√(Σ information + 1/unseen²), every `EVERY_S`.
    """
    moments = np.arange(0.0, days * 86_400.0, EVERY_S)
    order = np.argsort(middle_s, kind="stable")
    sorted_s = middle_s[order]
    total = np.concatenate([[0.0], np.cumsum(information[order])])
    half = cadence_h * 1800.0
    # a hair of tolerance: an arc at the very edge is in for both neighbours alike
    first = np.searchsorted(sorted_s, moments - half - 1e-6)
    last = np.searchsorted(sorted_s, moments + half + 1e-6)
    error: Array = 1.0 / np.sqrt(np.maximum(total[last] - total[first], 0.0) + 1.0 / unseen**2)
    return error


def kept_error(errors: Array) -> float:
    """Return the error that `KEPT_PART` of the times keep to."""
    return float(np.sort(errors)[int(np.ceil(KEPT_PART * len(errors))) - 1])
