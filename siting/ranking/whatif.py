"""What a wrong assumption would change: the same sites assessed with another height, level or sea."""
from __future__ import annotations

from dataclasses import replace
from typing import Callable, NamedTuple

import numpy as np

from ..candidates import Candidate
from ..purposes import Purpose
from ..setup import Setup
from .appraise import appraise

HEIGHT_ERROR_M, LEVEL_ERROR_M, WAVE_ERROR_M = 0.5, 0.25, 0.5
"""Errors looked at [m]; conventions."""


class Change(NamedTuple):
    """One assumption that may be wrong.

    Attributes
    ----------
    label : str
    height_m : float
        Added to the height over the zero level [m].
    low_m, high_m : float
        Added to the lowest and the highest level [m].
    wave_m : float
        Added to the significant wave height [m].
    """

    label: str
    height_m: float = 0.0
    low_m: float = 0.0
    high_m: float = 0.0
    wave_m: float = 0.0

    def of(self, candidate: Candidate) -> Candidate:
        """Return a candidate with this changed; what it cannot be is its problem."""
        if candidate.problem:
            return replace(candidate)
        low = candidate.low_m + self.low_m
        # bare ground stays the lowest level of snow
        return replace(candidate, wave_m=candidate.wave_m + self.wave_m).at(
            candidate.over_zero_m + self.height_m, low, max(candidate.high_m + self.high_m, low))


class ChangedOutcome(NamedTuple):
    """What a site would then be; `score` and `precision` are None where they cannot be told."""

    label: str
    score: float | None
    precision: float | None
    verdict: str
    note: str


def changes(purpose: Purpose) -> list[Change]:
    """List the assumptions looked at for a purpose."""
    height, level = HEIGHT_ERROR_M, LEVEL_ERROR_M
    found = [Change(f"antenna {height:g} m lower", -height), Change(f"antenna {height:g} m higher", height)]
    if purpose.is_water:
        found += [Change(f"all levels {level:g} m lower", 0.0, -level, -level),
                  Change(f"all levels {level:g} m higher", 0.0, level, level),
                  Change(f"significant wave height {WAVE_ERROR_M:g} m more", wave_m=WAVE_ERROR_M)]
    elif purpose.is_depth:
        found += [Change(f"greatest snow depth {level:g} m less", 0.0, 0.0, -level),
                  Change(f"greatest snow depth {level:g} m more", 0.0, 0.0, level)]
    return found


def what_if(candidates: list[Candidate], setup: Setup, wrong: list[Change],
            progress: Callable[[float, str], None] = lambda fraction, message: None,
            is_cancelled: Callable[[], bool] = lambda: False) -> list[list[ChangedOutcome]]:
    """Assess and score all candidates anew, one wrong assumption after the other.

    Parameters
    ----------
    candidates : list of Candidate
        Resolved, as they were assessed.
    setup : Setup
    wrong : list of Change
    progress, is_cancelled : callable
        See `siting.assess.assess`.

    Returns
    -------
    list of list of ChangedOutcome
        For each candidate one for each change.

    Raises
    ------
    Cancelled
    """
    found: list[list[ChangedOutcome]] = [[] for _one in candidates]
    setup = setup.with_inflow(is_cancelled)
    for number, change in enumerate(wrong):
        def tell(part: float, name: str, done: int = number) -> None:
            progress((done + part) / len(wrong), name)

        changed = [change.of(candidate) for candidate in candidates]
        for index, _found, row in appraise(changed, setup, tell, is_cancelled):
            told = row.result
            found[index].append(ChangedOutcome(change.label, None if told is None else told.score,
                                        None if told is None else told.precision, row.verdict, row.limit_by))
    return found


def widest_change(score: float, outcomes: list[ChangedOutcome]) -> float:
    """Return by how much the score changes at most; NaN where there is none to compare."""
    scores = [outcome.score for outcome in outcomes if outcome.score is not None]
    return float(np.max(np.abs(np.array(scores) - score))) if scores else float("nan")
