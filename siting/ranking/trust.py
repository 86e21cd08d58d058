"""Trust in a rank: the ranking repeated while heights, levels, shoreline and weights are in doubt.

Each candidate is assessed again under drawn errors of its own (its height, its
level, where the mapped surroundings lie); worlds are then put together from one
such draw for each candidate and one draw of the weights for all, ranked like the
real thing, and the ranks counted. A candidate's random numbers are its own, so the order
of the input and its neighbours never matter. Errors of different candidates are taken for
independent; that the same error of a level may befall all of them is left out,
which makes the intervals rather too wide.
"""
from __future__ import annotations

import hashlib
from copy import copy
from dataclasses import dataclass
from typing import Callable, NamedTuple, Sequence

import numpy as np
import pyproj

from ..candidates import Candidate, levelled
from ..errors import Cancelled
from ..verdict.score import Criterion, total_scores
from .order import Ranks, shared_ranks

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
    error : ndarray, shape (trials, candidates)
        Predicted standard error; NaN where a candidate could not be assessed.
    own : ndarray, shape (trials, candidates, criteria)
        The analyst's own properties.
    is_broken : ndarray of bool, shape (trials, candidates)
        Whether a limit is broken.
    """

    error: np.ndarray
    own: np.ndarray
    is_broken: np.ndarray

    def chosen(self, index) -> Draws:
        """Return the draws at an index into trials and candidates."""
        return Draws(self.error[index], self.own[index], self.is_broken[index])


class Trust(NamedTuple):
    """How far ranks can be trusted; arrays of shape (candidates,).

    Attributes
    ----------
    low, high : ndarray
        Ranks at 5 and 95 % of the worlds, ties spanned; NaN for candidates without a rank.
    best : ndarray
        Share of the worlds in which a candidate is the best; where several are, each has its part.
    by_shore_low, by_shore_high : ndarray
        Ranks that a candidate takes when only its shoreline is moved by one standard deviation, any way, and all
        others stay.
    """

    low: np.ndarray
    high: np.ndarray
    best: np.ndarray
    by_shore_low: np.ndarray
    by_shore_high: np.ndarray


def generator_of(candidate: Candidate, seed: int) -> np.random.Generator:
    """Return random numbers of a candidate's own: the same wherever it stands in the input, and whoever stands beside.

    Two candidates that are alike in all that is assessed draw alike, so that they stay alike.
    """
    figures = (candidate.lon, candidate.lat, candidate.over_zero_m, candidate.zero_level_m, candidate.low_m,
               candidate.high_m, candidate.wave_m, *(candidate.own[name] for name in sorted(candidate.own)))
    text = ",".join(f"{value:.7f}" for value in figures)
    digest = hashlib.sha256(f"{seed};{text}".encode()).digest()
    return np.random.default_rng(int.from_bytes(digest[:16], "big"))


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
    return levelled(other, candidate.over_zero_m + height, candidate.low_m + level, candidate.high_m + level)


Evaluate = Callable[[list], Draws]
"""Gives the properties of a list of candidates, arrays of shape (candidates, …)."""


def _stacked(found: Sequence[Draws]) -> Draws:
    return Draws(*(np.array(part) for part in zip(*found)))


def draw_values(candidates: Sequence[Candidate], doubt: Doubt, evaluate: Evaluate,
                progress: Callable[[float, str], None] = lambda fraction, message: None,
                is_cancelled: Callable[[], bool] = lambda: False) -> Draws:
    """Assess every candidate under errors of its own, `doubt.trials` times.

    Raises
    ------
    Cancelled
    """
    generators = [generator_of(one, doubt.seed) for one in candidates]
    found = []
    for trial in range(doubt.trials):
        if is_cancelled():
            raise Cancelled("stopped by the user")
        progress(trial / doubt.trials, f"draw {trial + 1}")
        found.append(evaluate([drawn(c, doubt, rng) for c, rng in zip(candidates, generators)]))
    return _stacked(found)


def ranks_of(draws: Draws, wanted: float, criteria: Sequence[Criterion], weight=None) -> Ranks:
    """Rank candidates by their properties, as a ranking does.

    Parameters
    ----------
    draws : Draws
        Of one world, arrays of shape (candidates, …).
    wanted : float
        Precision that is wanted.
    criteria : sequence of Criterion
        The analyst's own.
    weight : ndarray, optional
        Instead of their own.

    Returns
    -------
    Ranks
    """
    total = np.where(draws.is_broken, 0.0, total_scores(draws.error, wanted, draws.own, criteria, weight))
    return shared_ranks(np.where(np.isnan(draws.error), np.nan, total), draws.error, draws.is_broken)


def trust(draws: Draws, wanted: float, criteria: Sequence[Criterion], doubt: Doubt, nominal: Draws,
          generators: Sequence[np.random.Generator], by_shore: Draws | None = None, worlds: int = WORLDS) -> Trust:
    """Count the ranks of all candidates in worlds put together from their draws.

    Parameters
    ----------
    draws : Draws
    wanted : float
        Precision that is wanted.
    criteria : sequence of Criterion
    doubt : Doubt
    nominal : Draws
        Properties without errors, arrays of shape (candidates, …); NaN errors where one was not assessed.
    generators : sequence of Generator
        Of each candidate: which draw it takes into each world.
    by_shore : Draws, optional
        The same with the shoreline alone moved.
    worlds : int

    Returns
    -------
    Trust
    """
    trials, number = draws.error.shape
    taken = np.array([rng.integers(0, trials, worlds) for rng in generators]).reshape(number, worlds)
    weight = np.array([c.weight for c in criteria])
    factor = np.exp(np.random.default_rng(doubt.seed).normal(0.0, doubt.weight, (worlds, len(weight))))
    first, last, best = np.empty((worlds, number), int), np.empty((worlds, number), int), np.zeros(number)
    for world in range(worlds):
        ranks = ranks_of(draws.chosen((taken[:, world], np.arange(number))), wanted, criteria, weight * factor[world])
        first[world], last[world] = ranks.rank, ranks.last
        best += np.where(ranks.rank == 1, 1.0 / ranks.tied, 0.0)
    missing = np.isnan(nominal.error)
    low = np.sort(first, axis=0)[int(np.floor(LOW_PERCENT / 100.0 * (worlds - 1)))]
    high = np.sort(last, axis=0)[int(np.ceil(HIGH_PERCENT / 100.0 * (worlds - 1)))]
    low, high, best = (np.where(missing, np.nan, part) for part in (low, high, best / worlds))
    shore_low, shore_high = low.copy(), high.copy()
    if by_shore is not None:
        shore_low, shore_high = _by_shore(by_shore, wanted, criteria, nominal)
    return Trust(low, high, best, shore_low, shore_high)


def _by_shore(by_shore, wanted, criteria, nominal):
    """Rank each candidate anew with its own shoreline moved, one at a time."""
    number = len(nominal.error)
    low, high = np.full(number, np.nan), np.full(number, np.nan)
    own = ranks_of(nominal, wanted, criteria).rank
    for one in np.flatnonzero(~np.isnan(nominal.error)):
        found = [own[one]]
        for trial in range(len(by_shore.error)):
            changed = Draws(*(part.copy() for part in nominal))
            for mine, moved_part in zip(changed, by_shore):
                mine[one] = moved_part[trial, one]
            found.append(ranks_of(changed, wanted, criteria).rank[one])
        low[one], high[one] = min(found), max(found)
    return low, high


def shore_moves(candidates: Sequence[Candidate], doubt: Doubt, evaluate: Evaluate,
                is_cancelled: Callable[[], bool] = lambda: False) -> Draws:
    """Assess every candidate with its shoreline moved by one standard deviation north, east, south and west."""
    found = []
    for east, north in ((0.0, 1.0), (1.0, 0.0), (0.0, -1.0), (-1.0, 0.0)):
        if is_cancelled():
            raise Cancelled("stopped by the user")
        found.append(evaluate([moved(c, east * doubt.shore_m, north * doubt.shore_m) for c in candidates]))
    return _stacked(found)
