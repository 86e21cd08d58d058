"""Figures, distances and directions in plain words."""
from __future__ import annotations

import math

import numpy as np

from ..arrays import Array

MAX_TEXT = 250
"""Longest text of a field: a Shapefile cuts at 254 bytes."""


def metres(value: float) -> str:
    """Write a distance: decimetres below 10 m, metres below 1 km.

    Examples
    --------
    >>> metres(3.26), metres(47.6), metres(1234.0)
    ('3.3', '48', '1230')
    """
    if value < 9.95:
        return f"{value:.1f}"
    if value < 999.5:
        return f"{value:.0f}"
    return f"{round(value, -1):.0f}"


def degrees(value: float) -> str:
    """Write an angle without needless decimals."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


def precision_text(value: float) -> str:
    """Write a precision with two digits, whole from ten on.

    Examples
    --------
    >>> precision_text(1.234), precision_text(0.87), precision_text(77.8)
    ('1.2', '0.87', '78')
    """
    return f"{value:.2g}" if value < 9.95 else f"{value:.0f}"


def plain_text(value: float) -> str:
    """Write a number of unknown size with four digits, whole from ten thousand on and never with an exponent of ten.

    Examples
    --------
    >>> plain_text(90_000.0), plain_text(2000.0), plain_text(0.12345)
    ('90000', '2000', '0.1235')
    """
    return f"{value:.0f}" if abs(value) >= 1e4 else f"{value:.4g}"


def cut(text: str, longest: int = MAX_TEXT) -> str:
    """Shorten a text to a number of UTF-8 bytes, at a word, with an ellipsis."""
    if len(text.encode("utf-8")) <= longest:
        return text
    words = text.split(" ")
    while len(words) > 1 and len((" ".join(words) + " …").encode("utf-8")) > longest:
        words.pop()
    text = " ".join(words).rstrip(",;: ")
    # one endless word, such as a name without blanks, is cut within
    while len((text + " …").encode("utf-8")) > longest:
        text = text[:-1]
    return text + " …"


def where_words(name: str, near_m: float, far_m: float) -> str:
    """Say what lies where, such as “car park from 12 to 25 m out”."""
    if not math.isfinite(near_m) or far_m <= near_m:
        return name
    return f"{name} from {metres(near_m)} to {metres(far_m)} m out"


def part_time_words(name: str, share: float) -> str:
    """Say for which share of the time something is there, such as “berth, there 30 % of the time”."""
    return f"{name}, there {100 * share:.0f} % of the time"


def level_words(level_m: float, levels: int) -> str:
    """Say at which level, where there is more than one."""
    return f" (at level {level_m:+.2f} m)" if levels > 1 else ""


def azimuth_ranges(chosen: Array, width_deg: float) -> list[tuple[float, float]]:
    """Join neighbouring bins to ranges of azimuth, over north where they join there.

    Parameters
    ----------
    chosen : ndarray of bool, shape (bins,)
    width_deg : float

    Returns
    -------
    list of (from, to)
        Clockwise [°]; (0, 360) where all are chosen.

    Examples
    --------
    >>> azimuth_ranges(np.array([True, False, False, True]), 90.0)
    [(270.0, 90.0)]
    """
    if chosen.all():
        return [(0.0, 360.0)]
    if not chosen.any():
        return []
    begin = np.flatnonzero(chosen & ~np.roll(chosen, 1))
    end = np.flatnonzero(chosen & ~np.roll(chosen, -1)) + 1
    if end[0] <= begin[0]:
        end = np.roll(end, -1)
    bins = len(chosen)
    return [(float(b * width_deg), float(width_deg * (e if e <= bins else e - bins))) for b, e in zip(begin, end)]


def azimuth_words(chosen: Array, width_deg: float, most: int = 3) -> str:
    """Say where a set of bins lies, such as “between 80 and 140°”; the widest ranges first named in order."""
    ranges = azimuth_ranges(chosen, width_deg)
    if ranges == [(0.0, 360.0)]:
        return "all around"
    widest = sorted(ranges, key=lambda r: -((r[1] - r[0]) % 360))[:most]
    parts = [f"{degrees(a)} and {degrees(b)}°" for a, b in ranges if (a, b) in widest]
    more = len(ranges) - len(parts)
    text = ", ".join("between " + part for part in parts)
    return text + (f" and {more} more ranges" if more > 1 else " and one more range" if more else "")
