"""The verdict in plain words, with figures; nothing is said that was not computed."""
from __future__ import annotations

import math

import numpy as np

from ..assess import Assessment
from .hiding import blocked_words
from .reasons import Spoil
from .twosurfaces import rivals

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


def bin_reasons(assessment: Assessment, spoiled: Spoil) -> list[str]:
    """Say for each bin what spoils it; an empty text where nothing does.

    Returns
    -------
    list of str
        Such as “car park from 12 to 25 m out takes 38 % of the footprints from 8 to 20°”.
    """
    a = assessment
    angle = [degrees(one) for one in a.settings.elevation_deg]
    bad = ~a.good
    any_bad = bad.any(axis=0).tolist()
    lowest = np.argmax(bad, axis=0).tolist()
    highest = (len(angle) - 1 - np.argmax(bad[::-1], axis=0)).tolist()
    # plain numbers are formatted faster than numpy's
    counts, width, cause = a.counts.tolist(), a.windows.width.tolist(), spoiled.cause.tolist()
    near, far, lost = spoiled.near_m.tolist(), spoiled.far_m.tolist(), spoiled.lost.tolist()
    at_level = level_words(spoiled.level_m, len(a.candidate.levels_m))
    texts, other = [], rivals(a)
    whole, busy = _blocked_by_bin(spoiled), busy_by_bin(a)
    for i in range(a.settings.bins):
        if not any_bad[i]:
            texts.append("" if counts[i] else _too_little(a, i))
            continue
        if whole[i] is not None and (cause[i] < 0 or whole[i].weight[i] > spoiled.weight[cause[i], i]):
            texts.append(cut(_whole_words(a, whole[i].kind, i, angle, bad[:, i])))
            continue
        if cause[i] < 0:
            texts.append("")
            continue
        what = where_words(spoiled.names[cause[i]], near[i], far[i])
        angles = (f"from {angle[lowest[i]]} to {angle[highest[i]]}°" if highest[i] > lowest[i]
                  else f"at {angle[lowest[i]]}°")
        text = f"{what} takes {max(100 * lost[i], 1):.0f} % of the footprints {angles}{at_level}"
        if width[i] > 0 and not counts[i]:
            text += f"; {_too_little(a, i)}"
        texts.append(text)
    return [cut("; ".join(part for part in (other.get(i), text, busy[i]) if part)) for i, text in enumerate(texts)]


def busy_by_bin(assessment: Assessment) -> list[str]:
    """Say for each bin what spoils its window part of the time, such as “berth, there 30 % of the time”."""
    a = assessment
    busy = a.window_busy
    if not busy.any():
        return [""] * a.settings.bins
    index = np.arange(len(a.settings.elevation_deg))[:, None]
    inside = (index >= a.windows.first) & (index <= a.windows.last)
    # the most frequent stand first, and of equals the one that covers more
    covers = np.stack([np.max(share * inside, axis=0) for share in a.partly_shares])
    most = np.argmax(covers > 1.0 - a.settings.min_share, axis=0)
    names = [part_time_words(name, share) for name, share in a.partly_names]
    return [names[k] if part > 0 else "" for k, part in zip(most.tolist(), busy.tolist())]


def _blocked_by_bin(spoiled):
    """Return what takes most whole footprints in each bin; None where nothing does."""
    bins = spoiled.cause.size
    if not spoiled.blocked:
        return [None] * bins
    weight = np.stack([one.weight for one in spoiled.blocked])
    most = np.argmax(weight, axis=0)
    return [spoiled.blocked[most[i]] if weight[most[i], i] > 0 else None for i in range(bins)]


def _whole_words(a, kind, i, angle, bad):
    """Say what takes whole footprints of a bin, and which."""
    low, high = int(np.argmax(bad)), len(bad) - 1 - int(np.argmax(bad[::-1]))
    which = f"from {angle[low]} to {angle[high]}°" if high > low else f"at {angle[low]}°"
    text = (f"{blocked_words(a, kind, np.arange(a.settings.bins) == i)} "
            f"{'hides the satellites' if kind == 'skyline' else 'takes the reflections'} {which}")
    if a.windows.width[i] > 0 and not a.counts[i]:
        text += f"; {_too_little(a, i)}"
    return text


def _too_little(a: Assessment, i: int) -> str:
    """Say why a bin with a window does not count."""
    n, res = float(a.cycles[i]), float(a.separation_m[i])
    if n < a.settings.min_cycles:
        return f"only {n:.1f} oscillations ({degrees(a.settings.min_cycles)} needed)"
    if a.settings.max_res_m is not None and res > a.settings.max_res_m:
        return f"tells only surfaces {res:.2f} m apart ({degrees(a.settings.max_res_m)} m needed)"
    return ""


def azimuth_ranges(chosen: np.ndarray, width_deg: float) -> list[tuple[float, float]]:
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


def azimuth_words(chosen: np.ndarray, width_deg: float, most: int = 3) -> str:
    """Say where a set of bins lies, such as “between 80 and 140°”; the widest ranges first named in order."""
    ranges = azimuth_ranges(chosen, width_deg)
    if ranges == [(0.0, 360.0)]:
        return "all around"
    widest = sorted(ranges, key=lambda r: -((r[1] - r[0]) % 360))[:most]
    parts = [f"{degrees(a)} and {degrees(b)}°" for a, b in ranges if (a, b) in widest]
    more = len(ranges) - len(parts)
    text = ", ".join("between " + part for part in parts)
    return text + (f" and {more} more ranges" if more > 1 else " and one more range" if more else "")
