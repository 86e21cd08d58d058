"""Trust in a rank: the ranking repeated while heights, levels, shoreline and weights are in doubt.

Each candidate is assessed again under drawn errors of its own (its height, its
level, where the mapped surroundings lie); worlds are then put together from one
such draw for each candidate and one draw of the weights for all, ranked like the
real thing, and the ranks counted. Errors of different candidates are taken for
independent; that the same error of a level may befall all of them is left out,
which makes the intervals rather too wide.
"""
from __future__ import annotations

from copy import copy
from dataclasses import dataclass
from typing import Callable, NamedTuple, Sequence

import numpy as np
import pyproj

from .candidates import Candidate
from .errors import Cancelled
from .heights import levels_between
from .verdict.score import Criterion

WORLDS = 1000
"""Worlds put together from the draws: enough for the 5 and 95 % of a rank."""
SHORE_DRAWS = 4
"""Ways in which the shoreline alone is moved."""
LOW_PERCENT, HIGH_PERCENT = 5.0, 95.0
_GEOD = pyproj.Geod(ellps="WGS84")


@dataclass(frozen=True)
class Doubt:
    """How uncertain the inputs are; standard deviations.

    Attributes
    ----------
    height_m : float
        Of an antenna's height [m].
    level_m : float
        Of a water level or snow depth [m].
    shore_m : float
        Of the place of shoreline and other mapped surroundings, in each direction [m].
    weight : float
        Of a weight, relative.
    trials : int
        Draws for each candidate.
    seed : int
    """

    height_m: float = 0.1
    level_m: float = 0.1
    shore_m: float = 1.0
    weight: float = 0.2
    trials: int = 20
    seed: int = 1


class Draws(NamedTuple):
    """Properties of all candidates under all draws.

    Attributes
    ----------
    values : ndarray, shape (trials, candidates, criteria)
        NaN where a candidate could not be assessed.
    is_broken : ndarray of bool, shape (trials, candidates)
        Whether a limit is broken.
    """

    values: np.ndarray
    is_broken: np.ndarray


class Trust(NamedTuple):
    """How far ranks can be trusted; arrays of shape (candidates,).

    Attributes
    ----------
    low, high : ndarray
        Ranks at 5 and 95 % of the worlds; NaN for candidates without a rank.
    best : ndarray
        Share of the worlds in which a candidate is the best.
    by_shore_low, by_shore_high : ndarray
        Ranks that a candidate takes when only its shoreline is moved by one standard deviation, any way, and all
        others stay.
    """

    low: np.ndarray
    high: np.ndarray
    best: np.ndarray
    by_shore_low: np.ndarray
    by_shore_high: np.ndarray


def moved(candidate: Candidate, east_m: float, north_m: float) -> Candidate:
    """Copy a candidate to a place beside its own: as if its surroundings lay the other way."""
    other = copy(candidate)
    if candidate.problem:
        return other
    azimuth, distance = np.degrees(np.arctan2(east_m, north_m)), float(np.hypot(east_m, north_m))
    lon, lat, _back = _GEOD.fwd(candidate.lon, candidate.lat, azimuth, distance)
    other.lon, other.lat = float(lon), float(lat)
    return other


def drawn(candidate: Candidate, doubt: Doubt, rng: np.random.Generator) -> Candidate:
    """Draw a candidate as it might really be.

    Parameters
    ----------
    candidate : Candidate
        Resolved.
    doubt : Doubt
    rng : Generator

    Returns
    -------
    Candidate
        With a `problem` where its antenna would be under water.
    """
    height, level, east, north = rng.normal(0.0, 1.0, 4) * (doubt.height_m, doubt.level_m, doubt.shore_m,
                                                            doubt.shore_m)
    other = moved(candidate, east, north)
    if candidate.problem:
        return other
    other.over_zero_m = candidate.over_zero_m + height
    other.low_m, other.high_m = candidate.low_m + level, candidate.high_m + level
    if other.over_zero_m - other.high_m <= 0.01:
        other.problem, other.drowned = "under the surface at the highest level", True
        return other
    other.levels_m = levels_between(other.low_m, other.high_m, other.over_zero_m)
    return other


Evaluate = Callable[[list], tuple]
"""Gives values (candidates, criteria) and broken limits (candidates,) of a list of candidates."""


def draw_values(candidates: Sequence[Candidate], doubt: Doubt, evaluate: Evaluate,
                progress: Callable[[float, str], None] = lambda fraction, message: None,
                is_cancelled: Callable[[], bool] = lambda: False) -> Draws:
    """Assess every candidate under errors of its own, `doubt.trials` times.

    Raises
    ------
    Cancelled
    """
    rng = np.random.default_rng(doubt.seed)
    values, broken = [], []
    for trial in range(doubt.trials):
        if is_cancelled():
            raise Cancelled("stopped by the user")
        progress(trial / doubt.trials, f"draw {trial + 1}")
        one, low = evaluate([drawn(c, doubt, rng) for c in candidates])
        values.append(one)
        broken.append(low)
    return Draws(np.array(values), np.array(broken))


def rank_numbers(values: np.ndarray, is_broken: np.ndarray, criteria: Sequence[Criterion], weight=None) -> np.ndarray:
    """Rank candidates by their properties, as `siting.verdict.score.rank_order` does, 1 for the best.

    Parameters
    ----------
    values : ndarray, shape (candidates, criteria)
    is_broken : ndarray of bool, shape (candidates,)
    criteria : sequence of Criterion
    weight : ndarray, optional
        Instead of the criteria's own.

    Returns
    -------
    ndarray of int, shape (candidates,)
    """
    wish = np.stack([c.desirability(values[:, i]) for i, c in enumerate(criteria)], axis=1)
    weight = np.array([c.weight for c in criteria]) if weight is None else np.asarray(weight)
    with np.errstate(divide="ignore", invalid="ignore"):
        logs = np.where(wish > 0, np.log(wish), 0.0)
        zeros = np.sum(wish == 0, axis=1)
        score = np.where(zeros > 0, 0.0, np.exp(logs @ weight / weight.sum()))
        rest = (wish > 0) @ weight
        others = np.where(rest > 0, logs @ weight / rest, -np.inf)
    missing = np.isnan(values).all(axis=1)
    order = np.lexsort((np.arange(len(values)), -others, zeros, -score, is_broken, missing))
    number = np.empty(len(values), int)
    number[order] = np.arange(1, len(values) + 1)
    return number


def trust(draws: Draws, criteria: Sequence[Criterion], doubt: Doubt, nominal: np.ndarray, nominal_broken: np.ndarray,
          by_shore: Draws | None = None, worlds: int = WORLDS) -> Trust:
    """Count the ranks of all candidates in worlds put together from their draws.

    Parameters
    ----------
    draws : Draws
    criteria : sequence of Criterion
    doubt : Doubt
    nominal : ndarray, shape (candidates, criteria)
        Properties without errors; NaN for candidates that were not assessed.
    nominal_broken : ndarray of bool
    by_shore : Draws, optional
        The same with the shoreline alone moved.
    worlds : int

    Returns
    -------
    Trust
    """
    rng = np.random.default_rng(doubt.seed + 1)
    trials, number, _criteria = draws.values.shape
    weight = np.array([c.weight for c in criteria])
    ranks = np.empty((worlds, number), int)
    for world in range(worlds):
        chosen = rng.integers(0, trials, number), np.arange(number)
        drawn_weight = weight * np.exp(rng.normal(0.0, doubt.weight, len(weight)))
        ranks[world] = rank_numbers(draws.values[chosen], draws.is_broken[chosen], criteria, drawn_weight)
    missing = np.isnan(nominal).all(axis=1)
    ordered = np.sort(ranks, axis=0)
    low = np.where(missing, np.nan, ordered[int(np.floor(LOW_PERCENT / 100.0 * (worlds - 1)))])
    high = np.where(missing, np.nan, ordered[int(np.ceil(HIGH_PERCENT / 100.0 * (worlds - 1)))])
    best = np.where(missing, np.nan, np.mean(ranks == 1, axis=0))
    shore_low, shore_high = low.copy(), high.copy()
    if by_shore is not None:
        shore_low, shore_high = _by_shore(by_shore, criteria, nominal, nominal_broken)
    return Trust(low, high, best, shore_low, shore_high)


def _by_shore(by_shore, criteria, nominal, nominal_broken):
    """Rank each candidate anew with its own shoreline moved, one at a time."""
    number = len(nominal)
    low, high = np.full(number, np.nan), np.full(number, np.nan)
    own = rank_numbers(nominal, nominal_broken, criteria)
    for one in np.flatnonzero(~np.isnan(nominal).all(axis=1)):
        found = [own[one]]
        for values, broken in zip(by_shore.values[:, one], by_shore.is_broken[:, one]):
            changed, limits = nominal.copy(), nominal_broken.copy()
            changed[one], limits[one] = values, broken
            found.append(rank_numbers(changed, limits, criteria)[one])
        low[one], high[one] = min(found), max(found)
    return low, high


def shore_moves(candidates: Sequence[Candidate], doubt: Doubt, evaluate: Evaluate,
                is_cancelled: Callable[[], bool] = lambda: False) -> Draws:
    """Assess every candidate with its shoreline moved by one standard deviation north, east, south and west."""
    values, broken = [], []
    for east, north in ((0.0, 1.0), (1.0, 0.0), (0.0, -1.0), (-1.0, 0.0)):
        if is_cancelled():
            raise Cancelled("stopped by the user")
        one, low = evaluate([moved(c, east * doubt.shore_m, north * doubt.shore_m) for c in candidates])
        values.append(one)
        broken.append(low)
    return Draws(np.array(values), np.array(broken))
