"""Ranking candidates: from assessments to one row each, best first."""
from __future__ import annotations

from dataclasses import dataclass
from typing import Callable

import numpy as np

from .assess import Assessment, Settings, assess
from .candidates import Candidate
from .ground.surface import SurfaceLayers
from .sight.looking import SightLayers
from .sky.arcs import arcs_over
from .sky.sampling import greatest_level_rate
from .sky.sky import Sky
from .sky.usable import SkyWorth, sky_worth
from .trust import SHORE_DRAWS, Doubt, draw_values, shore_moves, trust
from .verdict import skywording, wording
from .verdict.reasons import spoil
from .verdict.score import AZ_SPAN, NOT_ASSESSED, QUALITY, UNSUITABLE, Criterion, Score, rank_order, score, sky_criteria


@dataclass(frozen=True)
class SkyLook:
    """What the sky is looked at for.

    Attributes
    ----------
    sky : Sky
        With a margin of `siting.sky.usable.GAP_MARGIN_S`.
    interval_s : float
        Shortest interval that the receiver can log [s].
    is_tidal : bool
        Whether the surface moves between its levels twice a day.
    """

    sky: Sky
    interval_s: float = 1.0
    is_tidal: bool = True

    def worth(self, assessment: Assessment) -> SkyWorth:
        """Judge the arcs over one site by the surface that was found there."""
        a, one = assessment, assessment.candidate
        rate = greatest_level_rate(one.low_m, one.high_m) if self.is_tidal else 0.0
        return sky_worth(
            self.sky, arcs_over(self.sky, one.lon, one.lat, with_margin=True), a.good,
            np.array(a.settings.elevation_deg), a.settings.wavelength_m, a.least_height_m,
            float(np.max(one.heights_m)), a.settings.min_cycles, a.settings.max_res_m, rate)


@dataclass
class RankRow:
    """What is told of one candidate; None where it does not apply.

    Attributes
    ----------
    index : int
        Index into the candidates.
    rank : int or None
        1 is best.
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
        What the satellites give; None where they were not looked at.
    is_limit_broken : bool
        Whether a limit outside the score is broken.
    drowned : bool
        Whether it is under water at the highest level.
    values : list of float or None
        What enters the score, in the order of the criteria.
    rank_lo, rank_hi : int or None
        Ranks at 5 and 95 % of the worlds drawn; None where trust was not looked at.
    p_best : float or None
        Share of those worlds in which it is the best.
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
    values: list | None = None
    rank_lo: int | None = None
    rank_hi: int | None = None
    p_best: float | None = None

    @property
    def verdict(self) -> str:
        """Suitable, marginal, unsuitable or not assessed."""
        if self.result is not None:
            return self.result.verdict
        return UNSUITABLE if self.drowned else NOT_ASSESSED


def properties(assessment: Assessment, look: SkyLook | None = None) -> tuple[dict, SkyWorth | None]:
    """Return what enters the score of one candidate.

    Parameters
    ----------
    assessment : Assessment
    look : SkyLook, optional

    Returns
    -------
    values : dict of str to float
        By the key of their criterion (see `siting.verdict.score` and `own_key`).
    sky : SkyWorth or None
    """
    counts = assessment.counts
    found = {"quality": float(assessment.windows.quality[counts].mean()) if counts.any() else 0.0,
             "az_span": float(counts.sum() * assessment.settings.bin_width_deg)}
    worth = None
    if look is not None:
        worth = look.worth(assessment)
        found.update(arcs_day=worth.arcs_day, gap_h=worth.gap_h, sampling=worth.int_max_s / look.interval_s)
    found.update({own_key(name): value for name, value in assessment.candidate.own.items()})
    return found, worth


def own_key(field: str) -> str:
    """Return the key of a criterion of the analyst's own."""
    return f"own:{field}"


def clearance_m(candidate: Candidate) -> float:
    """Return the height over the highest level [m]."""
    return float(candidate.over_zero_m - candidate.high_m)


def is_too_low(candidate: Candidate, min_clearance_m: float) -> bool:
    """Tell whether a candidate has less than the least clearance [m]."""
    return round(clearance_m(candidate), 3) < min_clearance_m


def row_of(index: int, assessment: Assessment, criteria: list[Criterion], look: SkyLook | None = None,
           min_clearance_m: float = 0.0) -> RankRow:
    """Turn one assessment into a row, not yet ranked.

    Parameters
    ----------
    index : int
    assessment : Assessment
    criteria : list of Criterion
        Variants of those in `siting.verdict.score`; those of the sky only with `look`.
    look : SkyLook, optional
    min_clearance_m : float
        Least height over the highest level [m].

    Returns
    -------
    RankRow
    """
    a = assessment
    counts, angle = a.counts, np.array(a.settings.elevation_deg)
    some = bool(counts.any())
    found, worth = properties(a, look)
    values = [found.get(one.key, np.nan) for one in criteria]
    clearance = clearance_m(a.candidate)
    is_low = is_too_low(a.candidate, min_clearance_m)
    result = score(values, criteria, is_low)
    spoiled = spoil(a)
    limit = advice = ""
    if worth is not None:
        limit = skywording.limit_words(a, worth, result, criteria, look.interval_s)
        advice = skywording.advice(worth)
    if is_low:
        limit = wording.cut(f"clearance: {clearance:.2f} m over the highest level ({min_clearance_m:g} m needed)")
    best = float(np.min(a.separation_m))
    return RankRow(
        index, None, result, found["quality"], found["az_span"],
        float(angle[a.windows.first[counts].min()]) if some else None,
        float(angle[a.windows.last[counts].max()]) if some else None,
        float(a.candidate.over_zero_m - a.candidate.low_m),
        clearance,
        best if np.isfinite(best) else None,
        limit or wording.limit_words(a, spoiled, result, criteria, values),
        wording.advice(a, spoiled, advice),
        a.windows.quality.copy(), counts, worth, is_low, values=values,
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


def rank(candidates: list[Candidate], layers: SurfaceLayers, settings: Settings,
         criteria: list[Criterion] | None = None, look: SkyLook | None = None,
         progress: Callable[[float, str], None] = lambda fraction, message: None,
         is_cancelled: Callable[[], bool] = lambda: False, sight: SightLayers | None = None,
         min_clearance_m: float = 0.0, doubt: Doubt | None = None) -> list[RankRow]:
    """Assess, score and order candidates.

    Parameters
    ----------
    candidates : list of Candidate
        Resolved; one that no layer covers gets its `problem` here.
    layers : SurfaceLayers
    settings : Settings
    criteria : list of Criterion, optional
        The conventional ones by default: quality and azimuth span, and with `look` those of the sky.
    look : SkyLook, optional
        Satellites; without them only the surface is looked at.
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
        Best first; candidates that were not assessed come last, without a rank.

    Raises
    ------
    Cancelled
    """
    if criteria is None:
        criteria = [QUALITY, AZ_SPAN] + (sky_criteria(look.is_tidal) if look is not None else [])
    rows: list = [None] * len(candidates)
    trials = 0 if doubt is None else doubt.trials
    share = 1.0 / (1.0 + trials + (SHORE_DRAWS if trials else 0))
    for index, one in assess(candidates, layers, settings, lambda part, name: progress(share * part, name),
                             is_cancelled, sight):
        if one is not None and one.is_unknown:
            candidates[index].problem, one = "none of the layers given has data around it", None
        rows[index] = problem_row(index, candidates[index]) if one is None else row_of(
            index, one, criteria, look, min_clearance_m)
    order = rank_order([row.result for row in rows], criteria, [row.is_limit_broken for row in rows])
    # under water is a finding, not a failure to look: it stands before what was not assessed
    order.sort(key=lambda i: 0 if rows[i].result is not None else 1 if rows[i].drowned else 2)
    ranked = [rows[i] for i in order]
    number = 0
    for row in ranked:
        if row.result is not None or row.drowned:
            number += 1
            row.rank = number
    if trials:
        _add_trust(candidates, rows, layers, settings, criteria, look, sight, min_clearance_m, doubt,
                   lambda part, name: progress(share + (1.0 - share) * part, name), is_cancelled)
    return ranked


def _add_trust(candidates, rows, layers, settings, criteria, look, sight, min_clearance_m, doubt, progress,
               is_cancelled):
    """Fill in how far the ranks can be trusted."""
    def evaluate(some):
        values = np.full((len(some), len(criteria)), np.nan)
        broken = np.zeros(len(some), bool)
        for index, one in assess(some, layers, settings, is_cancelled=is_cancelled, sight=sight):
            if one is not None:
                found, _worth = properties(one, look)
                values[index] = [found.get(c.key, np.nan) for c in criteria]
                broken[index] = is_too_low(some[index], min_clearance_m)
            elif some[index].drowned:
                values[index], broken[index] = [c.worst for c in criteria], True
        return values, broken

    nominal = np.array([row.values if row.values is not None else [c.worst for c in criteria] if row.drowned
                        else [np.nan] * len(criteria) for row in rows], float)
    low = np.array([row.is_limit_broken or row.drowned for row in rows])
    # the real errors come first, the shoreline alone takes four more looks
    part = doubt.trials / (doubt.trials + SHORE_DRAWS)
    draws = draw_values(candidates, doubt, evaluate, lambda done, name: progress(part * done, name), is_cancelled)
    found = trust(draws, criteria, doubt, nominal, low, shore_moves(candidates, doubt, evaluate, is_cancelled))
    for index, row in enumerate(rows):
        if row.rank is None or np.isnan(found.low[index]):
            continue
        row.rank_lo, row.rank_hi = int(found.low[index]), int(found.high[index])
        row.p_best = float(found.best[index])
        first, last = int(found.by_shore_low[index]), int(found.by_shore_high[index])
        if first != last:
            row.advice = wording.cut(f"a shoreline error of {doubt.shore_m:g} m alone moves its rank from {first} to "
                                     f"{last}; {row.advice}")
