"""Saying what a move gains."""
from __future__ import annotations

from ..ranking.rows import RankRow
from ..words.wording import azimuth_ranges, cut, degrees, precision_text


def gain_words(old: RankRow, new: RankRow, width_deg: float, is_moved: bool, unit: str = " cm") -> str:
    """Say what precision a move gains, which directions it gains and loses, and what else.

    Parameters
    ----------
    old, new : RankRow
        Before and after.
    width_deg : float
        Of a bin.
    is_moved : bool
        Whether anything changed.
    unit : str
        Of the precision, as written behind a figure.

    Returns
    -------
    str
        Such as “7.9 → 2.3 cm; gains 90 to 140°, loses 10 to 20°; quality 0.31 → 0.52”.
    """
    if not is_moved:
        return "no gain found"
    before = old.bin_counts if old.bin_counts is not None else ~new.bin_counts & False
    parts = [f"{word} {_ranges(chosen, width_deg)}" for word, chosen in
             (("gains", new.bin_counts & ~before), ("loses", before & ~new.bin_counts)) if chosen.any()]
    text = ", ".join(parts) or "the same directions"
    if old.result is not None:
        text = f"{precision_text(old.result.precision)} → {precision_text(new.result.precision)}{unit}; {text}"
    more = []
    if old.is_limit_broken and not new.is_limit_broken:
        more.append("has the clearance needed")
    if old.quality is not None and abs(new.quality - old.quality) >= 0.005:
        more.append(f"quality {old.quality:.2f} → {new.quality:.2f}")
    if old.sky is not None and new.sky is not None:
        if round(old.sky.arcs_day) != round(new.sky.arcs_day):
            more.append(f"arcs a day {old.sky.arcs_day:.0f} → {new.sky.arcs_day:.0f}")
        if old.sky.arcs_day and new.sky.arcs_day and abs(old.sky.gap_h - new.sky.gap_h) >= 0.05:
            more.append(f"longest time between arcs {old.sky.gap_h:.1f} → {new.sky.gap_h:.1f} h")
    return cut("; ".join([text, *more]))


def _ranges(chosen, width_deg) -> str:
    """Write ranges of azimuth, such as “90 to 140° and 200 to 210°”."""
    ranges = azimuth_ranges(chosen, width_deg)
    if ranges == [(0.0, 360.0)]:
        return "all directions"
    texts = [f"{degrees(a)} to {degrees(b)}°" for a, b in ranges]
    return texts[0] if len(texts) == 1 else ", ".join(texts[:-1]) + " and " + texts[-1]
