"""What a trial comes to: share of good arcs, bias, scatter, and how precise values made of them are."""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..precision.values import EVERY_S, kept_error, spread_unseen
from .simulate import LEAST_PEAK, NOTHING, TARGET, Trial

GOOD_M = 0.1
"""An arc within this is good [m]."""
ROBUST = 1.4826
"""Standard deviation over median absolute deviation, for a normal distribution (common practice, no source)."""
OUTLYING = 3.0
"""Arcs farther than this from the median of a value, in robust standard deviations, are left out of it."""
LEVELLED_M = 0.1
"""Greatest constant error that levelling a station takes for its antenna's own [m]; more is another surface."""
LEAST_SPREAD_M = 0.02
"""Spread within which nothing is left out [m]."""
POSSIBLE = 3.0
"""Heights farther from the mean one than so many times the surface's own spread are none of it."""
DRAWS = 100
CENTIMETRES = 100.0


class Outcome(NamedTuple):
    """What the arcs of a trial come to.

    Attributes
    ----------
    arcs : int
        Arcs tried.
    good_part : float
        Share of them within `GOOD_M`.
    bias_cm : float
        Median error [cm].
    scatter_cm : float
        Robust scatter: 1.4826 times the median absolute deviation from the median [cm].
    rms_cm : float
        Root mean square error, gross errors included [cm].
    other_part : float
        Share of arcs whose peak belongs to another surface than the water.
    none_part : float
        Share of arcs whose peak belongs to no surface, or that have none.
    finds : str
        The surface that most peaks belong to.
    """

    arcs: int
    good_part: float
    bias_cm: float
    scatter_cm: float
    rms_cm: float
    other_part: float
    none_part: float
    finds: str


def outcome(trial: Trial) -> Outcome:
    """Sum up a trial; NaN where no arc gave a height."""
    error = trial.error_m[np.isfinite(trial.error_m)]
    number = len(trial.arc)
    if not len(error):
        return Outcome(number, 0.0 if number else np.nan, np.nan, np.nan, np.nan, 0.0, 1.0, "nothing")
    bias = float(np.median(error))
    count = np.bincount(trial.finds + 1, minlength=len(trial.names) + 1)
    names = ("nothing", *trial.names)
    return Outcome(
        number, float(np.sum(np.abs(error) <= GOOD_M)) / number, CENTIMETRES * bias,
        CENTIMETRES * ROBUST * float(np.median(np.abs(error - bias))),
        CENTIMETRES * float(np.sqrt(np.mean(error**2))),
        float(np.mean(trial.finds > TARGET)), float(np.mean(trial.finds == NOTHING)), names[int(np.argmax(count))])


def simulated_precision(trial: Trial, middle_s: np.ndarray, days: int, cadence_h: float,
                        levels_m: tuple[float, float] = (0.0, 0.0), is_levelled: bool = True, seed: int = 1) -> float:
    """Return the error that 95 % of the times keep to, if values are made of arcs that err as those of a trial.

    Parameters
    ----------
    trial : Trial
    middle_s : ndarray
        Middles of all arcs that a mask leaves, tried or not [s].
    days : int
    cadence_h : float
        A value is made of the arcs within half of this before and after its time [h].
    levels_m : (low, high)
        For what is known without any arc [m].
    is_levelled : bool
        Whether the constant part of the error, up to `LEVELLED_M`, was found by levelling and taken off.
    seed : int

    Returns
    -------
    float
        [cm]

    Notes
    -----
    Every arc is given the error of one that was tried, by chance, with the square of its window's width for a
    weight, none where the peak is not clear or the height is none that the surface can have. A value is the weighted
    mean of what lies near their weighted median, drawn towards the mean level as far as its own error asks for
    (1/√(1/error² + 1/unseen²), contract rule 8). At each time the error is the root mean square of many draws.
    """
    unseen = spread_unseen(*levels_m)
    moments = np.arange(0.0, days * 86_400.0, EVERY_S)
    usable = np.isfinite(trial.error_m)
    if not usable.any() or not len(middle_s):
        return unseen
    rng = np.random.default_rng(seed)
    error, found = trial.error_m[usable], trial.found_m[usable]
    is_clear = trial.peak[usable] >= LEAST_PEAK
    is_clear &= np.abs(found - np.mean(trial.true_m)) <= POSSIBLE * unseen / CENTIMETRES
    if not is_clear.any():
        return unseen
    if is_levelled:
        error = error - np.clip(np.median(error[is_clear]), -LEVELLED_M, LEVELLED_M)
    pool, weight = CENTIMETRES * error, np.where(is_clear, trial.width[usable]**2, 0.0)
    middle = np.sort(middle_s)
    first = np.searchsorted(middle, moments - cadence_h * 1800.0 - 1e-6)
    last = np.searchsorted(middle, moments + cadence_h * 1800.0 + 1e-6)
    by_count = {int(count): _error_of(int(count), pool, weight, rng) for count in np.unique(last - first)}
    errors = np.array([by_count[int(count)] for count in last - first])
    return kept_error(1.0 / np.sqrt(1.0 / np.maximum(errors, 1e-6)**2 + 1.0 / unseen**2))


def _error_of(count, pool, weight, rng):
    """Return the root mean square error of values of so many arcs [cm]; inf without one."""
    if count == 0:
        return np.inf
    drawn = rng.integers(0, len(pool), (DRAWS, count))
    error, told = pool[drawn], weight[drawn]
    order = np.argsort(error, axis=1)
    error, told = np.take_along_axis(error, order, 1), np.take_along_axis(told, order, 1)
    median, total = _weighted_median(error, told)
    away = np.abs(error - median)
    order = np.argsort(away, axis=1)
    spread = _weighted_median(np.take_along_axis(away, order, 1), np.take_along_axis(told, order, 1))[0]
    near = away <= OUTLYING * np.maximum(ROBUST * spread, CENTIMETRES * LEAST_SPREAD_M)
    told = np.where(near, told, 0.0)
    value = np.sum(told * error, axis=1) / np.maximum(np.sum(told, axis=1), 1e-300)
    known = total[:, 0] > 0
    if not known.any():
        return np.inf
    # draws without a clear arc know nothing: they thin the information
    return float(np.sqrt(np.mean(value[known]**2) / np.mean(known)))


def _weighted_median(values, weights):
    """Return the weighted median of each row of rising values, and the sum of its weights, shape (rows, 1)."""
    sums = np.cumsum(weights, axis=1)
    at = np.argmax(sums >= sums[:, -1:] / 2.0, axis=1)[:, None]
    return np.take_along_axis(values, at, 1), sums[:, -1:]
