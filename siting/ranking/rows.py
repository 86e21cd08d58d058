"""What is told of one candidate: the row that a ranking, a sheet and the bench show."""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..assess import Assessment
from ..candidates import Candidate
from ..precision.worth import SkyWorth
from ..setup import Setup
from ..verdict.causes import find_causes
from ..verdict.costs import costs_of
from ..verdict.score import NOT_ASSESSED, UNSUITABLE, Criterion, Score, score
from ..words import advising, limits, wording


@dataclass
class RankRow:
    """What is told of one candidate; None where it does not apply.

    Attributes
    ----------
    index : int
        Index into the candidates.
    rank : int or None
        1 is best; equals share it.
    result : Score or None
        Score and verdict.
    quality : float or None
        Mean over the bins that count.
    az_span_deg : float or None
        Sum of the bins that count [°].
    el_from_deg, el_to_deg : float or None
        Lowest and highest angle of any bin that counts [°].
    h_low_m, h_high_m : float or None
        Height over the surface at the lowest and the highest level [m].
    res_m : float or None
        Least separation of the best bin [m].
    limit_by, advice : str
    bin_quality : ndarray or None
        Quality of each bin, for charts.
    bin_counts : ndarray of bool or None
        Which bins count.
    sky : SkyWorth or None
        What the satellites give: precision, arcs, interval.
    is_limit_broken : bool
        Whether a limit outside the score is broken.
    drowned : bool
        Whether it is under water at the highest level.
    own : list of float or None
        The analyst's own properties, in the order of the criteria.
    tied : int
        How many candidates share its rank.
    ends_m : ndarray or None
        Where the elevation models end in each bin [m]; None where they reach far enough.
    rank_lo, rank_hi : int or None
        Ranks at 5 and 95 % of the worlds drawn, ties spanned; None where trust was not looked at.
    p_best : float or None
        Share of those worlds in which it is the best, divided among equals.
    """

    index: int
    rank: int | None = None
    result: Score | None = None
    quality: float | None = None
    az_span_deg: float | None = None
    el_from_deg: float | None = None
    el_to_deg: float | None = None
    h_low_m: float | None = None
    h_high_m: float | None = None
    res_m: float | None = None
    limit_by: str = ""
    advice: str = ""
    bin_quality: np.ndarray | None = None
    bin_counts: np.ndarray | None = None
    sky: SkyWorth | None = None
    is_limit_broken: bool = False
    drowned: bool = False
    own: list | None = None
    tied: int = 1
    ends_m: np.ndarray | None = None
    rank_lo: int | None = None
    rank_hi: int | None = None
    p_best: float | None = None

    @property
    def verdict(self) -> str:
        """Suitable, marginal, unsuitable or not assessed."""
        if self.result is not None:
            return self.result.verdict
        return UNSUITABLE if self.drowned else NOT_ASSESSED


def own_values(candidate: Candidate, criteria: Sequence[Criterion]) -> list[float]:
    """Return the analyst's own properties of a candidate, in the order of the criteria; NaN where one is missing."""
    return [candidate.own.get(one.key, np.nan) for one in criteria]


def row_of(index: int, assessment: Assessment, setup: Setup) -> RankRow:
    """Turn one assessment into a row, not yet ranked.

    Parameters
    ----------
    index : int
    assessment : Assessment
    setup : Setup

    Returns
    -------
    RankRow
    """
    a = assessment
    counts, angle = a.counts, np.array(a.settings.elevation_deg)
    some = bool(counts.any())
    over = setup.look.over(a)
    worth = over.worth()
    own = own_values(a.candidate, setup.criteria)
    is_low, least = setup.limits.are_broken_by(a.candidate), setup.limits.min_clearance_m
    result = score(worth.precision, setup.look.demand.precision, own, setup.criteria, is_low, worth.has_arcs)
    costs = costs_of(over, worth, find_causes(a))
    limit = limits.clearance_words(a.candidate.clearance_m, least) if is_low else limits.limit_words(
        over, worth, costs, result, setup.criteria, own)
    best = float(np.min(a.separation_m))
    return RankRow(
        index, None, result, float(a.windows.quality[counts].mean()) if some else 0.0,
        float(counts.sum() * a.settings.bin_width_deg),
        float(angle[a.windows.first[counts].min()]) if some else None,
        float(angle[a.windows.last[counts].max()]) if some else None,
        float(a.candidate.over_zero_m - a.candidate.low_m),
        a.candidate.clearance_m,
        best if np.isfinite(best) else None,
        limit, advising.advice(over, worth, costs, result, least),
        a.windows.quality.copy(), counts, worth, is_low, own=own,
        ends_m=None if a.sight is None else a.sight.ends_m,
    )


def problem_row(index: int, candidate: Candidate) -> RankRow:
    """Make the row of a candidate that cannot be assessed: its reason in `limit_by`."""
    row = RankRow(index, limit_by=wording.cut(candidate.problem), drowned=candidate.drowned)
    row.advice = "not assessed: " + candidate.problem if not candidate.drowned else "put the antenna higher"
    row.advice = wording.cut(row.advice)
    if np.isfinite(candidate.over_zero_m):
        row.h_low_m = float(candidate.over_zero_m - candidate.low_m)
        row.h_high_m = candidate.clearance_m
    return row
