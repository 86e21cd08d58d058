"""What limits a candidate, in words: the cause that costs most of its information, or the limit that is broken."""
from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from ..precision.worth import Over, SkyWorth
from ..verdict.causes import Causes
from ..verdict.costs import AVOID, BEFORE, BEHIND, BUSY, DRY, GAPS, HEIGHT, INTERVAL, UNKNOWN, WAVES, Cost
from ..verdict.score import Criterion, Score
from ..verdict.walls import HIDDEN
from .hiding import blocked_words, hider_words
from .skywording import empty_words, seconds
from .wording import cut, degrees, level_words, metres, part_time_words, plain_text, where_words

TARGET = {True: "the water", False: "the surface to be measured"}
"""What is measured, in words, by whether it is water."""


def clearance_words(clearance_m: float, needed_m: float) -> str:
    """Name a broken limit of clearance."""
    return cut(f"clearance: {clearance_m:.2f} m over the highest level ({needed_m:g} m needed)")


def limit_words(over: Over, worth: SkyWorth, costs: Sequence[Cost], result: Score, criteria: Sequence[Criterion],
                own: Sequence[float]) -> str:
    """Name what limits a candidate most; an empty text where nothing does.

    Parameters
    ----------
    over : Over
    worth : SkyWorth
    costs : sequence of Cost
        See `siting.verdict.costs.costs_of`.
    result : Score
    criteria, own : sequence
        The analyst's own criteria and their values.

    Returns
    -------
    str
        Such as “car park from 3 to 27 m out costs 92 % of the information”.
    """
    for one, value, wish in zip(criteria, own, result.desirability[1:]):
        if wish == 0:
            told = f"{plain_text(value)}{one.unit} ({one.need(0.0)})" if math.isfinite(value) else "no value"
            return cut(f"{one.label}: {told}")
    if costs:
        most = costs[0]
        return cut(f"{cost_words(over, worth, most)} costs {100 * most.part:.0f} % of the information")
    return "" if worth.has_arcs else cut(nothing_words(over, worth))


def cost_words(over: Over, worth: SkyWorth, cost: Cost) -> str:
    """Say what a cause is and where it lies, such as “car park from 3 to 27 m out”."""
    a = over.assessment
    if cost.kind == BUSY:
        return part_time_words(cost.name or "an area to avoid", cost.share) + ","
    if cost.kind == INTERVAL:
        what = f"{worth.unresolved} arcs too fast for it" if worth.unresolved else "few samples"
        return f"logging every {seconds(over.look.receiver.interval_s)} s ({what})"
    if cost.kind == HEIGHT:
        return f"height: {a.least_height_m:.1f} m makes too few oscillations; that"
    if cost.kind == WAVES:
        return f"{roughness_words(a)}"
    if cost.kind == GAPS:
        return gap_words(over, worth)
    if cost.kind == HIDDEN:
        # such as “pier or quay 10 m out, which hides what lies behind it,”
        return f"{hider_words(cost.name, cost.out_m)}, which hides what lies behind it,"
    place = where_words(cost.name, cost.near_m, cost.far_m)
    if cost.kind == DRY:
        return f"{place}{level_words(float(a.candidate.levels_m.min()), len(a.candidate.levels_m))}"
    if cost.kind == BEFORE:
        return f"{place} before {TARGET[a.surface.is_water]}"
    if cost.kind == BEHIND:
        return f"{place}, with no water beyond," if a.surface.is_water else place
    if cost.kind in (AVOID, UNKNOWN):
        return place
    return blocked_words(a, cost.kind, cost.bins)


def gap_words(over: Over, worth: SkyWorth) -> str:
    """Say how long no arc comes, such as “6.1 h without an arc (a value every 3 h is wanted)”."""
    least = "at least " if worth.gap_is_least else ""
    empty = empty_words(over.assessment, worth)
    return (f"{least}{worth.gap_h:.1f} h without an arc (a value every {over.look.demand.cadence_h:g} h is wanted)"
            + (f", for {empty}," if empty else ""))


def roughness_words(assessment) -> str:
    """Say how rough the surface is, such as “waves of 1.00 m”."""
    worst = float(np.nanmax(assessment.rms_m))
    return f"rough ground ({worst:.2f} m rms)" if assessment.planes is not None else f"waves of {4 * worst:.2f} m"


def nothing_words(over: Over, worth: SkyWorth) -> str:
    """Say why no arc counts where no single cause explains it."""
    a = over.assessment
    some = a.windows.width > 0
    if not some.any():
        target = max(float(a.spots(level).target.max()) for level in range(len(a.candidate.levels_m)))
        reach = float(a.zones.far_m.max())
        if target < 0.5:
            what = "water" if a.surface.is_water else "such surface"
            return f"no {what} within {metres(reach)} m, the reach of the footprints"
        return "no direction has a window of usable elevation angles"
    if not a.counts.any():
        best = int(np.argmax(a.windows.width))
        n, res = float(a.cycles[best]), float(a.separation_m[best])
        if n < a.settings.min_cycles:
            return (f"no direction counts: only {n:.1f} oscillations ({degrees(a.settings.min_cycles)} needed) in the "
                    "best window")
        return (f"no direction counts: the best window tells only surfaces {res:.2f} m apart "
                f"({degrees(a.settings.max_res_m)} m needed)")
    return empty_words(a, worth) or "no arc counts: none keeps to the window of a direction long enough"


def names_of_avoided(spoiled: Causes) -> tuple:
    """Name the areas to avoid that touch the footprints."""
    return tuple(name for name, kind, weight in zip(spoiled.names, spoiled.kinds, spoiled.weight)
                 if kind == AVOID and weight.sum() > 0)
