"""Advice: what would mend a candidate, which windows to use, and how precise values will be."""
from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from ..arrays import Array
from ..assessment import Assessment
from ..precision.worth import Over, SkyWorth
from ..verdict.competing import competing_surfaces
from ..verdict.costs import AVOID, BEFORE, BUSY, DRY, HEIGHT, INTERVAL, WAVES, WORTH_MENDING, Cost
from ..verdict.score import SUITABLE, Score
from ..verdict.walls import HIDDEN
from ..windows import height_for
from .hiding import hider_words
from .limits import TARGET, nothing_words, roughness_words
from .skywording import seconds
from .twosurfaces import directions_words
from .wording import cut, degrees, precision_text, where_words

MOST_WINDOWS = 4
"""Windows that are listed; the widest ranges first named."""
COMPASS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


def advice(over: Over, worth: SkyWorth, costs: Sequence[Cost], result: Score, min_clearance_m: float) -> str:
    """Say what would mend a candidate, where it is usable, how precise it will be and how often to log.

    Parameters
    ----------
    over : Over
    worth : SkyWorth
    costs : sequence of Cost
    result : Score
    min_clearance_m : float
        Least height over the highest level [m].

    Returns
    -------
    str
        Such as “2.3 cm every 3 h from 46 arcs a day; log every 5 s (at most 12 s); use 5 to 20° between 60 and 120°”.
    """
    a = over.assessment
    parts = []
    clearance = float(a.candidate.over_zero_m - a.candidate.high_m)
    if round(clearance, 3) < min_clearance_m:
        parts.append(f"raise it by {min_clearance_m - clearance:.1f} m for the clearance")
    mend = [cost for cost in costs if cost.can_be_mended
            and (result.verdict != SUITABLE or cost.part >= WORTH_MENDING)]
    parts += [mend_words(over, worth, limit) for limit in mend[:1]]
    if worth.has_arcs:
        parts += [precision_words(over, worth), logging_words(over, worth), tide_words(over, worth)]
    competitors = competing_surfaces(a)
    if competitors:
        parts.append(directions_words(len(competitors)))
    windows = windows_words(a)
    if not worth.has_arcs and not mend:
        parts.append(f"{'no arc counts' if windows else 'usable nowhere'}: {nothing_words(over, worth)}")
    elif not windows:
        parts.append("usable nowhere as it is")
    # what may be cut stands last
    parts.append(f"use {windows}" if windows else "")
    return cut("; ".join(part for part in parts if part))


def mend_words(over: Over, worth: SkyWorth, cost: Cost) -> str:
    """Say what would mend a cause."""
    a = over.assessment
    place = where_words(cost.name, cost.near_m, cost.far_m)
    towards = _towards(a, cost.bins)
    if cost.kind == BEFORE:
        return f"move it {towards}past {place}, nearer to {TARGET[a.surface.is_water]}, or raise it"
    if cost.kind == AVOID:
        return f"move it {towards}past {place}, or raise it" if cost.near_m < 1.0 or _is_on_land(a, cost) else (
            f"move it away from {place}")
    if cost.kind == BUSY:
        return f"wait for {cost.name or 'the area to avoid'} to be free ({100 * (1 - cost.share):.0f} % of the time)"
    if cost.kind == HIDDEN:
        return f"raise it or move it {towards}past {hider_words(cost.name, cost.out_m)}"
    if cost.kind == DRY:
        return "move it to where the water stays at the lowest level"
    if cost.kind == INTERVAL:
        return f"log faster: {seconds(_fastest_s(over))} s resolves every arc"
    if cost.kind == HEIGHT:
        needed = height_for(a.settings.min_cycles, float(a.windows.width.max()), a.settings.wavelength_m)
        return f"raise it to {needed:.1f} m over the highest level for {degrees(a.settings.min_cycles)} oscillations"
    if cost.kind == WAVES:
        return (f"find shelter from {roughness_words(a)}" if a.planes is None else
                f"find smoother ground than this: {roughness_words(a)}")
    return ""


def _is_on_land(a: Assessment, cost: Cost) -> bool:
    """Tell whether target begins only beyond what is to be avoided."""
    target = a.spots(0).target
    columns = np.repeat(cost.bins, a.kernels.grid.rays_per_bin)
    inner = a.kernels.grid.radius_m < cost.near_m
    return not (target[inner][:, columns] > 0.5).any()


def _towards(a: Assessment, bins) -> str:
    """Say in which direction bins lie on the whole, such as “towards the north-east, ”; nothing where all around."""
    if bins is None or not bins.any():
        return ""
    angle = np.radians(a.settings.bin_centre_deg[bins])
    east, north = np.sin(angle).mean(), np.cos(angle).mean()
    if np.hypot(east, north) < 0.5:
        return ""
    return f"{COMPASS[int(np.round(np.degrees(np.arctan2(east, north)) / 45.0)) % 8]}wards "


def _fastest_s(over: Over) -> float:
    """Return the interval that resolves every arc that is long enough [s]."""
    errors = over.errors
    chosen = errors.is_long & errors.within(0.0, over.end_s)
    return float(np.min(errors.longest_s[chosen])) if chosen.any() else float("nan")


def precision_words(over: Over, worth: SkyWorth) -> str:
    """Say how precise values are and from how many arcs, such as “2.3 cm every 3 h from 46 arcs a day”."""
    demand = over.look.demand
    arcs = f"{worth.arcs_day:.0f}" if worth.arcs_day >= 9.95 or worth.arcs_day == round(worth.arcs_day) else (
        f"{worth.arcs_day:.1f}")
    value = f"{precision_text(worth.precision)}{demand.unit} every {demand.cadence_h:g} h"
    return f"{value} from {arcs} arc{'s' if arcs != '1' else ''} a day"


def logging_words(over: Over, worth: SkyWorth) -> str:
    """Say how often to log, such as “log every 5 s (at most 12 s)”: the latter resolves, the former has a margin."""
    shortest = over.look.receiver.interval_s
    most = f"at most {seconds(worth.int_max_s)} s"
    if worth.int_rec_s is None:
        return f"no usual interval resolves it with a margin ({most})"
    text = f"log every {worth.int_rec_s:g} s ({most})"
    return text if worth.int_rec_s >= shortest else f"{text}, the receiver's shortest is {seconds(shortest)} s"


def tide_words(over: Over, worth: SkyWorth) -> str:
    """Say that the tide must be corrected for where it shifts single arcs by more than the precision wanted."""
    shift = max(worth.shift_m)
    if over.look.demand.is_phase or 100.0 * shift <= over.look.demand.precision:
        return ""
    return f"only with tide-rate correction (the tide shifts single arcs by up to {shift:.2f} m)"


def windows_words(assessment: Assessment) -> str:
    """List the windows of the directions that count, each with its own azimuths; an empty text where none counts.

    Neighbours whose windows differ are joined only where there are too many ranges, and then to the angles that all
    of them have.

    Returns
    -------
    str
        Such as “5 to 20° between 60 and 120°, 5 to 12° between 120 and 140°”.
    """
    a = assessment
    counts = a.counts
    if not counts.any():
        return ""
    angle = np.array(a.settings.elevation_deg)
    low = np.where(counts, angle[a.windows.first], np.nan)
    high = np.where(counts, angle[a.windows.last], np.nan)
    for slack in (0.0, 1.0, 2.0, 4.0):
        groups = joined_windows(low, high, slack)
        if len(groups) <= MOST_WINDOWS:
            break
    number, width = len(counts), a.settings.bin_width_deg
    shown = sorted(groups, key=lambda group: -group[1])[:MOST_WINDOWS]
    texts = []
    for first, count, bottom, top in (group for group in groups if group in shown):
        start, end = degrees(first * width), degrees((first + count - 1) % number * width + width)
        where = "all around" if count == number else f"between {start} and {end}°"
        texts.append(f"{degrees(bottom)} to {degrees(top)}° {where}")
    more = len(groups) - len(texts)
    return ", ".join(texts) + (f" and {more} narrower" if more else "")


def joined_windows(low: Array, high: Array, slack: float) -> list[tuple[int, int, float, float]]:
    """Join neighbouring bins whose windows differ by little.

    Parameters
    ----------
    low, high : ndarray, shape (bins,)
        Ends of each bin's window [°]; NaN where a bin does not count.
    slack : float
        By how much ends may differ within a range [°].

    Returns
    -------
    list of (first, count, low, high)
        First bin and number of bins, over north where they join there, and the angles that all of them have.

    Examples
    --------
    >>> joined_windows(np.array([5.0, 5.0, np.nan, 5.0]), np.array([20.0, 19.0, np.nan, 20.0]), 1.0)
    [(3, 3, 5.0, 19.0)]
    """
    number = len(low)
    change = np.abs(low - np.roll(low, 1)) + np.abs(high - np.roll(high, 1))
    edges = np.flatnonzero(~(change == 0))
    if not len(edges):
        return [(0, number, float(low[0]), float(high[0]))]
    # begin behind a bin that does not count, or where windows change most, so that no range begins within another
    outside = np.isnan(low)
    begin = int(np.flatnonzero(outside)[0]) if outside.any() else int(np.argmax(change))
    edges = (np.sort((edges - begin) % number) + begin) % number
    count = np.diff(np.append((edges - begin) % number, number))
    groups: list = []
    is_open = False
    for first, bins, bottom, top in zip(edges.tolist(), count.tolist(), low[edges].tolist(), high[edges].tolist()):
        if math.isnan(bottom):
            is_open = False
            continue
        if is_open:
            start, before, (least, most), (lowest, highest) = groups[-1]
            lows, highs = (min(least, bottom), max(most, bottom)), (min(lowest, top), max(highest, top))
            if lows[1] - lows[0] <= slack and highs[1] - highs[0] <= slack and lows[1] < highs[0]:
                groups[-1] = (start, before + bins, lows, highs)
                continue
        groups.append((first, bins, (bottom, bottom), (top, top)))
        is_open = True
    return [(first, bins, lows[1], highs[0]) for first, bins, lows, highs in groups]
