"""What the satellites give, in plain words with figures."""
from __future__ import annotations

from ..assessment import Assessment
from ..precision.worth import SkyWorth
from .wording import azimuth_words, degrees


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
