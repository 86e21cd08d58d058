"""What costs a site information: for each cause, what there would be without it alone.

Information is the sum of weight over squared error of the arcs. A cause that can be
mended by whoever chooses the place, the height or the logging stands before one that
cannot; only directions in which the target lies within reach of the footprints count.
"""
from __future__ import annotations

from typing import NamedTuple, cast

import numpy as np

from ..arrays import Array
from ..assessment import SHARE_ROUNDING, Assessment
from ..precision.arcerrors import ArcErrors
from ..precision.values import spread_unseen
from ..precision.worth import Over, SkyWorth
from ..sky.arcs import some_arcs
from ..windows import longest_windows
from .causes import LAND_KINDS, Causes, where_it_lies
from .walls import HIDDEN, SHADOW, SKYLINE

AVOID, BUSY, BEFORE, BEHIND, DRY, UNKNOWN = "avoid", "busy", "before", "behind", "dry", "unknown"
INTERVAL, HEIGHT, WAVES, GAPS = "interval", "height", "waves", "gaps"
MENDABLE = (AVOID, BUSY, BEFORE, DRY, HIDDEN, INTERVAL, HEIGHT, WAVES)
LEAST_PART = 0.03
"""Part of the information from which a cause is told; a convention."""
WORTH_MENDING = 0.2
"""Part of the information from which what can be mended stands before what cannot; a convention."""
MOST_PART = 0.5
"""Part of the information from which a cause stands before the gaps that it leaves; a convention."""
LOOKED_AT = 3
"""Causes on the ground that are looked at exactly, those that open most windows first."""
NOTABLE_LOSS_DB = 0.5
"""Loss by roughness from which it is asked what it costs [dB]."""


class Cost(NamedTuple):
    """A cause and what it costs.

    Attributes
    ----------
    kind : str
    name : str
        Of what lies there; empty where the kind says all.
    part : float
        Of the information that there would be without it alone, 0 to 1.
    gain : float
        That information, less what there is [1/unit²].
    near_m, far_m : float
        From where to where it lies; NaN where that means nothing.
    bins : ndarray of bool, shape (bins,), or None
        Directions in which it costs.
    share : float
        Of the time that it is there.
    out_m : float
        How far out what hides stands [m]; else NaN.
    """

    kind: str
    name: str
    part: float
    gain: float
    near_m: float = np.nan
    far_m: float = np.nan
    bins: Array | None = None
    share: float = 1.0
    out_m: float = np.nan

    @property
    def can_be_mended(self) -> bool:
        """Whether another place, height or way of logging mends it."""
        return self.kind in MENDABLE


def costs_of(over: Over, worth: SkyWorth, spoiled: Causes) -> list[Cost]:
    """Find what costs a site information.

    Parameters
    ----------
    over : Over
    worth : SkyWorth
    spoiled : Causes

    Returns
    -------
    list of Cost
        What can be mended and costs a fifth or more first, then the rest, each by what it costs, the most first;
        without what hardly costs.
    """
    found = [*_of_the_ground(over, worth.information, spoiled), *_of_walls(over, worth.information, spoiled),
             *_of_logging(over, worth.information), *_of_ships(over, worth.information), *_of_gaps(over, worth)]
    found = [cost for cost in found if cost.part >= LEAST_PART]
    # what can be mended goes first, but not a trifle before what costs nearly all
    found.sort(key=lambda cost: (not (cost.can_be_mended and cost.part >= WORTH_MENDING), -cost.gain))
    # gaps are often what another cause leaves: that one is told first where it costs most of all
    if any(cost.part >= MOST_PART for cost in found if cost.kind != GAPS):
        found.sort(key=lambda cost: cost.kind == GAPS)
    return found


def _cost(kind: str, name: str, without: float, information: float, bins: Array | None = None) -> Cost:
    gain = max(without - information, 0.0)
    return Cost(kind, name, gain / without if without > 0 else 0.0, gain, bins=bins)


def _grounds(spoiled: Causes) -> dict[tuple[str, str, float], tuple[Array, Array]]:
    """Join the parts of the ground by what they are: kind, name and distance out → (lost share, share of the rings)."""
    joined: dict[tuple[str, str, float], tuple[Array, Array]] = {}
    for part in spoiled.parts:
        kind, name = spoiled.kinds[part.cause], spoiled.names[part.cause]
        if kind in LAND_KINDS:
            kind = BEFORE if part.is_before else BEHIND
        key = (kind, name, spoiled.out_m[part.cause])
        lost, ring = part.lost * spoiled.in_reach, part.per_ring * spoiled.in_reach
        if key in joined:
            lost, ring = lost + joined[key][0], ring + joined[key][1]
        joined[key] = lost, ring
    return joined


def _of_the_ground(over: Over, information: float, spoiled: Causes) -> list[Cost]:
    """Ask what the ground costs: what lies before the target, what is to be avoided, what hides."""
    a, some = over.assessment, []
    angle = np.array(a.settings.elevation_deg)
    for key, (lost, ring) in _grounds(spoiled).items():
        share = np.minimum(a.share + lost, 1.0)
        good = a.good | ((share >= a.settings.min_share - SHARE_ROUNDING) & ~_walled(a))
        opened = (good & ~a.good).any(axis=0)
        if opened.any():
            window = longest_windows(share[:, opened], good[:, opened], angle).width
            proxy = float(np.sum(window**2 - a.windows.width[opened]**2))
            some.append((key[0] not in MENDABLE, -proxy, key, share, good, opened, ring))
    some.sort(key=lambda cost: cost[:2])
    found: list[Cost] = []
    for cannot, _proxy, (kind, name, out), share, good, opened, ring in some[:LOOKED_AT]:
        if cannot and any(cost.part >= WORTH_MENDING for cost in found):
            # what cannot be mended stands behind what can: nobody will be told
            break
        near, far = where_it_lies(ring, cast("Array", spoiled.touched), a.kernels.grid.edges_m)
        here = opened & (far > 0)
        ends = (float(np.median(near[here])), float(np.median(far[here]))) if here.any() else (np.nan, np.nan)
        found.append(_cost(kind, name, information_with(over, information, good, share), information)
                     ._replace(near_m=ends[0], far_m=ends[1], bins=opened, out_m=out))
    return found


def _walled(a: Assessment) -> Array:
    """Tell which footprints fail whatever lies in them: behind the skyline, in a shadow, turned away."""
    fails: Array = (a.usable_seen.min(axis=0) - a.share) > SHARE_ROUNDING
    return fails


def _of_walls(over: Over, information: float, spoiled: Causes) -> list[Cost]:
    """Ask what takes whole footprints: skyline, shadows, ground turned away."""
    a, found = over.assessment, []
    for blocked in spoiled.blocked:
        if blocked.kind == SKYLINE:
            share = np.where(cast("Array", a.is_clear), a.share, a.usable_seen.min(axis=0))
        elif blocked.kind == SHADOW:
            share = np.minimum(a.share + cast("Array", a.unlit).max(axis=0), 1.0)
        else:
            share = a.usable_seen.min(axis=0)
        good = a.good | (share >= a.settings.min_share - SHARE_ROUNDING)
        opened = (good & ~a.good).any(axis=0)
        if opened.any():
            found.append(_cost(blocked.kind, "", information_with(over, information, good, share), information,
                               bins=opened))
    return found


def _of_logging(over: Over, information: float) -> list[Cost]:
    """Ask what the interval, too few oscillations and roughness cost."""
    errors, found = over.errors, []
    within = errors.within(0.0, over.end_s)

    def total(changed: ArcErrors) -> float:
        return float(np.sum(changed.information[within]))

    if (errors.is_long & within & ~(errors.is_resolved & errors.has_peak)).any():
        finer = errors.noisier(1.0 / max(over.look.receiver.interval_s, 1.0))
        found.append(_cost(INTERVAL, "", total(finer._replace(is_resolved=np.ones_like(errors.is_resolved))),
                           information))
    short = within & (errors.pieces.width > 0) & ~errors.is_long
    if short.any():
        is_long = np.isfinite(errors.separation_m)
        if over.judge.max_res_m is not None:
            is_long &= errors.separation_m <= over.judge.max_res_m
        found.append(_cost(HEIGHT, "", total(errors._replace(is_long=is_long)), information))
    a = over.assessment
    if a.loss_db.max() > NOTABLE_LOSS_DB and _noise_matters(errors, within, information):
        smooth = over.look.pattern(a, loss_db=np.zeros(a.share.shape))
        found.append(_cost(WAVES, "", total(over.judge.judge(over.arcs, over.placed, a.good, smooth, a.busy)),
                           information))
    return found


def _noise_matters(errors: ArcErrors, within: Array, information: float) -> bool:
    """Tell whether so much would be gained without any noise that a part of it can be worth telling."""
    chosen = within & errors.is_long & errors.is_resolved
    without = float(np.sum((1.0 - errors.busy[chosen]) / errors.other2[chosen]))
    return without - information >= LEAST_PART * without


def _of_ships(over: Over, information: float) -> list[Cost]:
    """Ask what areas cost that are spoiled part of the time."""
    a = over.assessment
    if a.busy is None or not a.busy.any():
        return []
    errors = over.errors
    within = errors.within(0.0, over.end_s)
    found = []
    for index, (name, share) in enumerate(a.partly_names):
        busy = a.busy_without(index)
        if np.array_equal(busy, a.busy):
            continue
        changed = over.judge.judge(over.arcs, over.placed, a.good, over.pattern, busy)
        bins = ((a.busy - busy) > 0).any(axis=0) & a.counts
        found.append(_cost(BUSY, name, float(np.sum(changed.information[within])), information, bins=bins)
                     ._replace(share=share))
    return found


def _of_gaps(over: Over, worth: SkyWorth) -> list[Cost]:
    """Ask what it costs that arcs leave gaps: the same arcs evenly through the day would do better."""
    demand, candidate = over.look.demand, over.assessment.candidate
    if not worth.has_arcs or worth.gap_h <= demand.cadence_h:
        return []
    unseen = spread_unseen(candidate.low_m, candidate.high_m, demand.is_phase)
    hours = 24.0 * over.look.sky.days
    even = worth.information * min(demand.cadence_h / hours, 1.0) + 1.0 / unseen**2
    part = 1.0 - 1.0 / (worth.precision**2 * even)
    if part <= 0:
        return []
    return [Cost(GAPS, "", part, worth.information * part / (1.0 - part))]


def information_with(over: Over, information: float, good: Array, share: Array) -> float:
    """Return the information that there would be with other usable shares; only arcs that cross them are judged anew.

    Parameters
    ----------
    over : Over
    information : float
        What there is [1/unit²].
    good : ndarray of bool, shape (angles, bins)
    share : ndarray, shape (angles, bins)

    Returns
    -------
    float
        [1/unit²]
    """
    a, arcs = over.assessment, over.arcs
    if not arcs:
        return information
    opened = (good != a.good).any(axis=0)
    crosses = np.logical_or.reduceat(opened[over.placed.bin], arcs.first)
    crosses &= (arcs.time_s[arcs.first] < over.end_s) & (arcs.time_s[arcs.last] >= 0.0)
    if not crosses.any():
        return information
    some, vertices = some_arcs(arcs, crosses)
    new = over.judge.judge(some, over.placed.some(vertices), good, over.look.pattern(a, share=share), a.busy)
    old = np.sum(over.errors.information[crosses & over.errors.within(0.0, over.end_s)])
    return information - float(old) + over.total(new)
