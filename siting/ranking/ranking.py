"""Ranking candidates: from assessments to one row each, best first."""
from __future__ import annotations

from dataclasses import dataclass
from typing import Callable

import numpy as np

from ..assess import Assessment, Settings, assess
from ..candidates import Candidate
from ..errors import failing_alone
from ..ground.surfacelayers import SurfaceLayers
from ..precision.worth import SkyLook, SkyWorth
from ..sight.looking import SightLayers
from ..verdict.causes import find_causes
from ..verdict.costs import costs_of
from ..verdict.score import NOT_ASSESSED, UNSUITABLE, Criterion, Score, score
from ..words import advising, limits, wording
from .order import shared_ranks
from .trust import SHORE_DRAWS, Doubt, Draws, draw_values, generator_of, shore_moves, trust


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


def own_key(field: str) -> str:
    """Return the key of a criterion of the analyst's own."""
    return f"own:{field}"


def clearance_m(candidate: Candidate) -> float:
    """Return the height over the highest level [m]."""
    return float(candidate.over_zero_m - candidate.high_m)


def is_too_low(candidate: Candidate, min_clearance_m: float) -> bool:
    """Tell whether a candidate has less than the least clearance [m]."""
    return round(clearance_m(candidate), 3) < min_clearance_m


def own_values(candidate: Candidate, criteria: list[Criterion]) -> list[float]:
    """Return the analyst's own properties of a candidate, in the order of the criteria; NaN where one is missing."""
    named = {own_key(name): value for name, value in candidate.own.items()}
    return [named.get(one.key, np.nan) for one in criteria]


def row_of(index: int, assessment: Assessment, criteria: list[Criterion], look: SkyLook,
           min_clearance_m: float = 0.0) -> RankRow:
    """Turn one assessment into a row, not yet ranked.

    Parameters
    ----------
    index : int
    assessment : Assessment
    criteria : list of Criterion
        The analyst's own.
    look : SkyLook
    min_clearance_m : float
        Least height over the highest level [m].

    Returns
    -------
    RankRow
    """
    a = assessment
    counts, angle = a.counts, np.array(a.settings.elevation_deg)
    some = bool(counts.any())
    over = look.over(a)
    worth = over.worth()
    own = own_values(a.candidate, criteria)
    clearance = clearance_m(a.candidate)
    is_low = is_too_low(a.candidate, min_clearance_m)
    result = score(worth.precision, look.demand.precision, own, criteria, is_low, worth.has_arcs)
    spoiled = find_causes(a)
    costs = costs_of(over, worth, spoiled)
    limit = limits.clearance_words(clearance, min_clearance_m) if is_low else limits.limit_words(
        over, worth, costs, result, criteria, own)
    best = float(np.min(a.separation_m))
    return RankRow(
        index, None, result, float(a.windows.quality[counts].mean()) if some else 0.0,
        float(counts.sum() * a.settings.bin_width_deg),
        float(angle[a.windows.first[counts].min()]) if some else None,
        float(angle[a.windows.last[counts].max()]) if some else None,
        float(a.candidate.over_zero_m - a.candidate.low_m),
        clearance,
        best if np.isfinite(best) else None,
        limit, advising.advice(over, worth, costs, result, min_clearance_m),
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
        row.h_high_m = float(candidate.over_zero_m - candidate.high_m)
    return row


def rank(candidates: list[Candidate], layers: SurfaceLayers, settings: Settings, criteria: list[Criterion],
         look: SkyLook, progress: Callable[[float, str], None] = lambda fraction, message: None,
         is_cancelled: Callable[[], bool] = lambda: False, sight: SightLayers | None = None,
         min_clearance_m: float = 0.0, doubt: Doubt | None = None) -> list[RankRow]:
    """Assess, score and order candidates.

    Parameters
    ----------
    candidates : list of Candidate
        Resolved; one that no layer covers gets its `problem` here.
    layers : SurfaceLayers
    settings : Settings
    criteria : list of Criterion
        The analyst's own; may be empty.
    look : SkyLook
    progress, is_cancelled : callable
        See `siting.assess.assess`.
    sight : SightLayers, optional
        What may hide the surface.
    min_clearance_m : float
        Least height over the highest level [m]; with less a candidate is unsuitable.
    doubt : Doubt, optional
        How uncertain the inputs are; without it, or with 0 trials, trust in the ranks is not looked at.

    Returns
    -------
    list of RankRow
        Best first, equals in the order of their names; candidates that were not assessed come last, without a rank.

    Raises
    ------
    Cancelled
    """
    layers = layers.with_inflow(is_cancelled)
    rows: list = [None] * len(candidates)
    trials = 0 if doubt is None else doubt.trials
    share = 1.0 / (1.0 + trials + (SHORE_DRAWS if trials else 0))
    for index, one in assess(candidates, layers, settings, lambda part, name: progress(share * part, name),
                             is_cancelled, sight):
        rows[index] = appraised(index, candidates[index], one, criteria, look, min_clearance_m)
    _number(rows)
    if trials:
        _add_trust(candidates, rows, layers, settings, criteria, look, sight, min_clearance_m, doubt,
                   lambda part, name: progress(share + (1.0 - share) * part, name), is_cancelled)
    return sorted(rows, key=lambda row: (row.rank is None, row.rank or 0, candidates[row.index].name, row.index))


def appraised(index: int, candidate: Candidate, assessment: Assessment | None, criteria: list[Criterion],
              look: SkyLook, min_clearance_m: float) -> RankRow:
    """Turn an assessment, or its lack, into a row; what goes wrong with one candidate stays with it."""
    if assessment is not None and assessment.is_unknown:
        candidate.problem, assessment = "none of the layers given has data around it", None
    if assessment is not None:
        with failing_alone(candidate):
            return row_of(index, assessment, criteria, look, min_clearance_m)
    return problem_row(index, candidate)


def _number(rows: list[RankRow]) -> None:
    """Give rows their ranks; under water is a finding, so it has one, behind all others."""
    nothing = [np.nan if row.result is None and not row.drowned else 0.0 for row in rows]
    found = shared_ranks([empty if row.result is None else row.result.score for row, empty in zip(rows, nothing)],
                         [np.inf if row.result is None else row.result.precision for row in rows],
                         [row.is_limit_broken or row.drowned for row in rows])
    for row, number, tied in zip(rows, found.rank.tolist(), found.tied.tolist()):
        if row.result is not None or row.drowned:
            row.rank, row.tied = number, tied


def _add_trust(candidates, rows, layers, settings, criteria, look, sight, min_clearance_m, doubt, progress,
               is_cancelled):
    """Fill in how far the ranks can be trusted."""
    def nothing(some):
        # under water is worse than anything that was assessed
        return Draws(np.array([np.inf if one.drowned else np.nan for one in some]),
                     np.array([own_values(one, criteria) for one in some], float).reshape(len(some), len(criteria)),
                     np.array([one.drowned for one in some], bool))

    def evaluate(some):
        found = nothing(some)
        for index, one in assess(some, layers, settings, is_cancelled=is_cancelled, sight=sight):
            if one is not None and not one.is_unknown:
                found.error[index] = look.over(one).precision()
                found.is_broken[index] = is_too_low(some[index], min_clearance_m)
        found.error[[i for i, one in enumerate(some) if one.drowned]] = np.inf
        found.is_broken[[i for i, one in enumerate(some) if one.drowned]] = True
        return found

    nominal = nothing(candidates)
    for index, row in enumerate(rows):
        if row.result is not None:
            nominal.error[index], nominal.is_broken[index] = row.result.precision, row.is_limit_broken
    # the real errors come first, the shoreline alone takes four more looks
    part = doubt.trials / (doubt.trials + SHORE_DRAWS)
    draws = draw_values(candidates, doubt, evaluate, lambda done, name: progress(part * done, name), is_cancelled)
    found = trust(draws, look.demand.precision, criteria, doubt, nominal,
                  [generator_of(one, doubt.seed + 1) for one in candidates],
                  shore_moves(candidates, doubt, evaluate, is_cancelled))
    for index, row in enumerate(rows):
        if row.rank is None or np.isnan(found.low[index]):
            continue
        row.rank_lo, row.rank_hi = int(found.low[index]), int(found.high[index])
        row.p_best = float(found.best[index])
        first, last = int(found.by_shore_low[index]), int(found.by_shore_high[index])
        if first != last:
            told = f"; a shoreline error of {doubt.shore_m:g} m alone moves its rank from {first} to {last}"
            row.advice = wording.cut(row.advice, wording.MAX_TEXT - len(told)) + told
