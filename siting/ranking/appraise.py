"""From candidates to assessments and rows: the one way for all who want them."""
from __future__ import annotations

from collections.abc import Iterator
from typing import Callable

from ..assess import Assessment, assess
from ..candidates import Candidate
from ..errors import failing_alone
from ..setup import Setup
from .rows import RankRow, problem_row, row_of


def assessed(candidates: list[Candidate], setup: Setup,
             progress: Callable[[float, str], None] = lambda fraction, message: None,
             is_cancelled: Callable[[], bool] = lambda: False) -> Iterator[tuple[int, Assessment | None]]:
    """Assess candidates; one that no layer covers cannot be.

    Parameters
    ----------
    candidates : list of Candidate
        Resolved; one that no layer covers gets its `problem` here.
    setup : Setup
    progress, is_cancelled : callable
        See `siting.assess.assess`.

    Yields
    ------
    index : int
        Index into `candidates`, in their order.
    assessment : Assessment or None
        None where `candidate.problem` says why not.

    Raises
    ------
    Cancelled
    """
    for index, found in assess(candidates, setup.layers, setup.settings, progress, is_cancelled, setup.sight):
        if found is not None and found.is_unknown:
            candidates[index].problem = "none of the layers given has data around it"
        yield index, None if candidates[index].problem else found


def appraise(candidates: list[Candidate], setup: Setup,
             progress: Callable[[float, str], None] = lambda fraction, message: None,
             is_cancelled: Callable[[], bool] = lambda: False) -> Iterator[tuple[int, Assessment | None, RankRow]]:
    """Assess candidates and say what they are worth, not yet ranked; see `assessed`.

    Yields
    ------
    index : int
        Index into `candidates`, in their order.
    assessment : Assessment or None
        None where the row says why not; what goes wrong with one candidate stays with it.
    row : RankRow
    """
    for index, found in assessed(candidates, setup, progress, is_cancelled):
        row = None
        if found is not None:
            with failing_alone(candidates[index]):
                row = row_of(index, found, setup)
        if row is None:
            yield index, None, problem_row(index, candidates[index])
        else:
            yield index, found, row
