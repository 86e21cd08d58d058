"""Trust in a rank: the ranking repeated while heights, levels, shoreline and weights are in doubt.

Each candidate is assessed again under drawn errors of its own; worlds are then put
together from one such draw for each candidate and one draw of the weights for all,
ranked like the real thing, and the ranks counted. Errors of different candidates are
taken for independent; that the same error of a level may befall all of them is left
out, which makes the intervals rather too wide.
"""
from __future__ import annotations

from collections.abc import Sequence
from typing import Callable, NamedTuple

import numpy as np

from ..arrays import Array
from ..candidates import Candidate
from ..setup import Setup
from ..verdict.score import Criterion, total_scores
from ..words import wording
from .appraise import assessed
from .draws import SHORE_DRAWS, Doubt, Draws, draw_values, generator_of, shore_moves
from .order import Ranks, shared_ranks
from .rows import RankRow, own_values

WORLDS = 1000
"""Worlds put together from the draws: enough for the 5 and 95 % of a rank."""
LOW_PERCENT, HIGH_PERCENT = 5.0, 95.0


class Trials(NamedTuple):
    """What candidates are under errors, and without.

    Attributes
    ----------
    drawn : Draws
        Under all errors, arrays of shape (trials, candidates, …).
    nominal : Draws
        Without errors, arrays of shape (candidates, …); NaN errors where one was not assessed.
    by_shore : Draws or None
        With the shoreline alone moved, arrays of shape (moves, candidates, …).
    """

    drawn: Draws
    nominal: Draws
    by_shore: Draws | None = None


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

    low: Array
    high: Array
    best: Array
    by_shore_low: Array
    by_shore_high: Array


def ranks_of(draws: Draws, wanted: float, criteria: Sequence[Criterion], weight: Array | None = None) -> Ranks:
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


def trust(trials: Trials, wanted: float, criteria: Sequence[Criterion], doubt: Doubt,
          generators: Sequence[np.random.Generator], worlds: int = WORLDS) -> Trust:
    """Count the ranks of all candidates in worlds put together from their draws.

    Parameters
    ----------
    trials : Trials
    wanted : float
        Precision that is wanted.
    criteria : sequence of Criterion
    doubt : Doubt
    generators : sequence of Generator
        Of each candidate: which draw it takes into each world.
    worlds : int

    Returns
    -------
    Trust
    """
    draws, nominal = trials.drawn, trials.nominal
    number_of_draws, number = draws.error.shape
    taken = np.array([rng.integers(0, number_of_draws, worlds) for rng in generators]).reshape(number, worlds)
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
    if trials.by_shore is not None:
        shore_low, shore_high = _by_shore(trials.by_shore, wanted, criteria, nominal)
    return Trust(low, high, best, shore_low, shore_high)


def _by_shore(by_shore: Draws, wanted: float, criteria: Sequence[Criterion], nominal: Draws) -> tuple[Array, Array]:
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


def add_trust(rows: list[RankRow], candidates: list[Candidate], setup: Setup, doubt: Doubt,
              progress: Callable[[float, str], None], is_cancelled: Callable[[], bool]) -> None:
    """Fill in how far ranks can be trusted.

    Parameters
    ----------
    rows : list of RankRow
        Of the candidates, in their order; changed in place.
    candidates : list of Candidate
    setup : Setup
    doubt : Doubt
    progress, is_cancelled : callable
        See `siting.assess.assess`.

    Raises
    ------
    Cancelled
    """
    def evaluate(some: list[Candidate]) -> Draws:
        return _values(some, setup, is_cancelled)

    nominal = _unassessed(candidates, setup.criteria)
    for index, row in enumerate(rows):
        if row.result is not None:
            nominal.error[index], nominal.is_broken[index] = row.result.precision, row.is_limit_broken
    # the real errors come first, the shoreline alone takes four more looks
    part = doubt.trials / (doubt.trials + SHORE_DRAWS)
    drawn = draw_values(candidates, doubt, evaluate, lambda done, name: progress(part * done, name), is_cancelled)
    trials = Trials(drawn, nominal, shore_moves(candidates, doubt, evaluate, is_cancelled))
    found = trust(trials, setup.look.demand.precision, setup.criteria, doubt,
                  [generator_of(candidate, doubt.seed + 1) for candidate in candidates])
    for index, row in enumerate(rows):
        if row.rank is None or np.isnan(found.low[index]):
            continue
        row.rank_lo, row.rank_hi = int(found.low[index]), int(found.high[index])
        row.p_best = float(found.best[index])
        first, last = int(found.by_shore_low[index]), int(found.by_shore_high[index])
        if first != last:
            told = f"; a shoreline error of {doubt.shore_m:g} m alone moves its rank from {first} to {last}"
            row.advice = wording.cut(row.advice, wording.MAX_TEXT - len(told)) + told


def _unassessed(candidates: Sequence[Candidate], criteria: Sequence[Criterion]) -> Draws:
    """Give candidates what they have before anything was assessed; under water is worse than anything that was."""
    return Draws(np.array([np.inf if candidate.drowned else np.nan for candidate in candidates]),
                 np.array([own_values(candidate, criteria) for candidate in candidates], float).reshape(
                     len(candidates), len(criteria)),
                 np.array([candidate.drowned for candidate in candidates], bool))


def _values(candidates: list[Candidate], setup: Setup, is_cancelled: Callable[[], bool]) -> Draws:
    """Assess candidates for their properties alone, without words."""
    found = _unassessed(candidates, setup.criteria)
    for index, assessment in assessed(candidates, setup, is_cancelled=is_cancelled):
        if assessment is not None:
            found.error[index] = setup.look.over(assessment).precision()
            found.is_broken[index] = setup.limits.are_broken_by(candidates[index])
    drowned = [i for i, candidate in enumerate(candidates) if candidate.drowned]
    found.error[drowned], found.is_broken[drowned] = np.inf, True
    return found
