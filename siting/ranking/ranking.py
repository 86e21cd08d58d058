"""Ranking candidates: rows, best first."""
from __future__ import annotations

from typing import Callable

import numpy as np

from ..candidates import Candidate
from ..setup import Setup
from .appraise import appraise
from .draws import SHORE_DRAWS, Doubt
from .order import shared_ranks
from .rows import RankRow
from .trust import add_trust


def rank(candidates: list[Candidate], setup: Setup, doubt: Doubt | None = None,
         progress: Callable[[float, str], None] = lambda fraction, message: None,
         is_cancelled: Callable[[], bool] = lambda: False) -> list[RankRow]:
    """Assess, score and order candidates.

    Parameters
    ----------
    candidates : list of Candidate
        Resolved; one that no layer covers gets its `problem` here.
    setup : Setup
    doubt : Doubt, optional
        How uncertain the inputs are; without it, or with 0 trials, trust in the ranks is not looked at.
    progress, is_cancelled : callable
        See `siting.assess.assess`.

    Returns
    -------
    list of RankRow
        Best first, equals in the order of their names; candidates that were not assessed come last, without a rank.

    Raises
    ------
    Cancelled
    """
    setup = setup.with_inflow(is_cancelled)
    trials = 0 if doubt is None else doubt.trials
    share = 1.0 / (1.0 + trials + (SHORE_DRAWS if trials else 0))
    rows = [row for _index, _found, row in appraise(
        candidates, setup, lambda part, name: progress(share * part, name), is_cancelled)]
    _number(rows)
    if doubt is not None and trials:
        add_trust(rows, candidates, setup, doubt, lambda part, name: progress(share + (1.0 - share) * part, name),
                  is_cancelled)
    return sorted(rows, key=lambda row: (row.rank is None, row.rank or 0, candidates[row.index].name, row.index))


def _number(rows: list[RankRow]) -> None:
    """Give rows their ranks; under water is a finding, so it has one, behind all others."""
    unscored = [0.0 if row.drowned else np.nan for row in rows]
    found = shared_ranks([other if row.result is None else row.result.score for row, other in zip(rows, unscored)],
                         [np.inf if row.result is None else row.result.precision for row in rows],
                         [row.is_limit_broken or row.drowned for row in rows])
    for row, number, tied in zip(rows, found.rank.tolist(), found.tied.tolist()):
        if row.result is not None or row.drowned:
            row.rank, row.tied = number, tied


def rows_of(candidates: list[Candidate], setup: Setup,
            progress: Callable[[float, str], None] = lambda fraction, message: None,
            is_cancelled: Callable[[], bool] = lambda: False) -> list[RankRow]:
    """Rank resolved candidates wherever they stand; their rows in their own order.

    Parameters
    ----------
    candidates : list of Candidate
    setup : Setup
        Its terrain must be prepared for where they stand; those below the ground get their problem.
    progress, is_cancelled : callable
        See `siting.assess.assess`.
    """
    if not candidates:
        return []
    found = rank(candidates, setup.seen_from(candidates), None, progress, is_cancelled)
    return sorted(found, key=lambda row: row.index)
