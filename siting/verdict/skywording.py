"""What the satellites give, in plain words with figures."""
from __future__ import annotations

from typing import Sequence

import numpy as np

from ..assess import Assessment
from ..sky.usable import SkyWorth
from .score import Criterion, Score
from .wording import azimuth_words, cut, degrees

OF_THE_SKY = ("arcs_day", "gap_h", "sampling")


def seconds(value: float) -> str:
    """Write an interval with two digits.

    Examples
    --------
    >>> seconds(0.0512), seconds(26.04), seconds(131.0)
    ('0.051', '26', '130')
    """
    return f"{float(f'{value:.2g}'):g}"


def empty_words(assessment: Assessment, worth: SkyWorth) -> str:
    """Say where usable directions have no satellite; an empty text where there are none.

    Returns
    -------
    str
        Such as “no satellite crosses the usable angles between 320 and 40°”.
    """
    empty = worth.empty_bins & assessment.counts
    if not empty.any():
        return ""
    where = azimuth_words(empty, assessment.settings.bin_width_deg)
    angle = assessment.settings.elevation_deg
    return f"no satellite crosses the usable angles of {degrees(angle[0])} to {degrees(angle[-1])}° {where}"


def limit_words(assessment: Assessment, worth: SkyWorth, result: Score, criteria: Sequence[Criterion],
                interval_s: float) -> str:
    """Name what limits a candidate where that is the sky; an empty text where it is not.

    Parameters
    ----------
    assessment : Assessment
    worth : SkyWorth
    result : Score
    criteria : sequence of Criterion
    interval_s : float
        Shortest interval of the receiver [s].

    Returns
    -------
    str
        Such as “usable arcs of the worst day: 3 (worth nothing up to 4); no satellite crosses …”.
    """
    if result.limiting < 0 or criteria[result.limiting].key not in OF_THE_SKY or not assessment.counts.any():
        return ""
    one, wish = criteria[result.limiting], result.desirability[result.limiting]
    if one.key == "sampling":
        height = float(np.max(assessment.candidate.heights_m))
        if not np.isfinite(worth.int_max_s):
            return cut("no usable arc, so no interval resolves the height")
        return cut(f"sampling: {height:.1f} m over the lowest level needs an interval of at most "
                   f"{seconds(worth.int_max_s)} s; the receiver's shortest is {seconds(interval_s)} s"
                   + ("" if wish == 0 else f" (full marks up to {seconds(worth.int_max_s / one.best)} s)"))
    if one.key == "gap_h":
        figure = f"{'at least ' if worth.gap_is_least else ''}{worth.gap_h:.1f}"
    else:
        figure = str(worth.arcs_day)
    text = f"{one.label}: {figure}{one.unit} ({one.need(wish)})"
    empty = empty_words(assessment, worth)
    return cut(text + (f"; {empty}" if empty else ""))


def advice(worth: SkyWorth) -> str:
    """Say how often to log, or that no satellite passes.

    Returns
    -------
    str
        Such as “31 arcs a day, log every 5 s”.
    """
    if worth.arcs_day == 0 and not len(worth.middle_s):
        return "no satellite passes there"
    text = f"{worth.arcs_day} arc{'s' if worth.arcs_day != 1 else ''} a day"
    if worth.int_rec_s is None:
        return f"{text}, too fast for any usual interval"
    return f"{text}, log every {worth.int_rec_s:g} s"
