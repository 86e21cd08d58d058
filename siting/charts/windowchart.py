"""A chart of the window of usable elevation angles by azimuth, with the skyline."""
from __future__ import annotations

import numpy as np

from ..windows import Windows
from ..words.wording import azimuth_words, degrees
from .drawing import (
    LETTER,
    NARROW_PX,
    TEXT_PX,
    WIDTH,
    box,
    document,
    flowing,
    line,
    text,
    tick_step,
    upright,
)
from .palette import DARK, INK, LIGHT, PALE, PAPER, SHADE, SOFT

HEIGHT = 300
LEFT, RIGHT, TOP, BOTTOM = 54.0, WIDTH - 12.0, 34.0, 236.0
NARROW_LEFT, NARROW_HIGH = 46.0, 140.0
"""Where the plot of a narrow chart begins, and how high it is [px]."""
MOST = 1.8
"""How much higher than the highest angle looked at the chart reaches at most, for the skyline."""
NAMES = {0: "N", 90: "E", 180: "S", 270: "W", 360: "N"}


def window_svg(chart_id: str, title: str, windows: Windows, counts: np.ndarray, elevation_deg: np.ndarray,
               skyline_deg: np.ndarray | None, width: int = WIDTH) -> str:
    """Draw each azimuth bin's window as a bar, and the skyline as a line.

    Parameters
    ----------
    chart_id, title : str
    windows : Windows
        Of shape (bins,); the first bin begins at north.
    counts : ndarray of bool, shape (bins,)
        Bins that do not count are drawn pale.
    elevation_deg : ndarray, shape (angles,)
        The angles looked at, rising [°].
    skyline_deg : ndarray, shape (bins,), or None
        Elevation angle of the skyline [°], not finite where it is too low to matter; None where none is known.
    width : int
        [px]; below `WIDTH` the chart is laid out for a dock, down to `siting.charts.drawing.NARROW`.

    Returns
    -------
    str
        An SVG element.
    """
    bins, angle = len(counts), np.asarray(elevation_deg, float)
    has_line = skyline_deg is not None and bool(np.isfinite(skyline_deg).any())
    highest, peak = float(angle[-1]), 0.0
    if has_line:
        # a cliff may not squeeze the windows: what stands higher leaves the chart, and the key says so
        peak = float(np.max(skyline_deg[np.isfinite(skyline_deg)]))
        highest = max(highest, min(peak, MOST * highest))
    step = tick_step(highest, 6 if width >= WIDTH else 4)
    top_deg = step * np.ceil(highest / step)

    is_narrow = width < WIDTH
    size = NARROW_PX if is_narrow else TEXT_PX
    left, right, top, bottom = NARROW_LEFT if is_narrow else LEFT, width - 12.0, TOP, BOTTOM
    key = _key(has_line, skyline_deg is not None, angle, peak)
    if is_narrow:
        key, last = flowing(_key_items(has_line, skyline_deg is not None, angle, peak), 6.0, right, 12.0)
        top, bottom = last + 18.0, last + 18.0 + NARROW_HIGH
    height = int(bottom + HEIGHT - BOTTOM)

    def x_of(azimuth):
        return left + (right - left) * azimuth / 360.0

    def y_of(elevation):
        return bottom + (top - bottom) * np.clip(elevation, 0.0, top_deg) / top_deg

    parts = []
    for tick in np.arange(0.0, top_deg + step / 2.0, step):
        parts += [line(left, y_of(tick), right, y_of(tick), PALE),
                  text(left - 6, y_of(tick) + 4, f"{tick:g}", "end", size)]
    for tick in range(0, 361, _azimuth_step(right - left)):
        parts.append(line(x_of(tick), bottom, x_of(tick), bottom + 4))
        parts.append(text(x_of(tick), bottom + 17, f"{tick}", "middle" if tick < 360 else "end", size))
        if tick in NAMES:
            parts.append(text(x_of(tick), bottom + 31, NAMES[tick], "middle" if tick < 360 else "end", size,
                              more=' font-weight="bold"'))
    each = (right - left) / bins
    if has_line:
        for i in np.flatnonzero(np.isfinite(skyline_deg) & (skyline_deg > 0)):
            parts.append(box(x_of(360.0 * i / bins), y_of(skyline_deg[i]), each, bottom - y_of(skyline_deg[i]),
                             SHADE))
    for i in np.flatnonzero(windows.first >= 0):
        low, high = y_of(angle[windows.first[i]]), y_of(angle[windows.last[i]])
        parts.append(box(x_of(360.0 * i / bins), high, each, low - high, DARK if counts[i] else LIGHT, PAPER))
    for limit in (angle[0], angle[-1]):
        parts.append(line(left, y_of(limit), right, y_of(limit), SOFT, 1.0, "5 4"))
    if has_line:
        edges = np.arange(bins + 1) * 360.0 / bins
        corners = []
        for i in np.arange(bins):
            is_drawn = np.isfinite(skyline_deg[i]) and skyline_deg[i] <= top_deg
            drawn = y_of(skyline_deg[i]) if is_drawn else None
            if drawn is None:
                corners.append("")
                continue
            lead = "L" if corners and corners[-1] else "M"
            corners.append(f"{lead}{x_of(edges[i]):.1f} {drawn:.1f}H{x_of(edges[i + 1]):.1f}")
        for colour, thick in ((PAPER, 4.0), (INK, 1.8)):
            parts.append(f'<path d="{"".join(corners)}" fill="none" stroke="{colour}" stroke-width="{thick:g}"/>')
    parts.append(f'<path d="M{left:g} {top:g}V{bottom:g}H{right:g}" fill="none" stroke="{INK}"/>')
    parts.append(upright(12 if is_narrow else 16, (top + bottom) / 2.0, "elevation angle [°]", size))
    named = "azimuth from true north [°]" if is_narrow else "azimuth, clockwise from true north [°]"
    parts.append(text((left + right) / 2.0, height - 8, named, "middle", size))
    return document(chart_id, height, title, _described(windows, counts, angle, skyline_deg), parts + key, width)


def _azimuth_step(length) -> int:
    """Choose the distance of ticks [°] so that their numbers stay apart on an axis so long [px]."""
    # the last number ends at the axis' end, the one before stands in the middle of its tick
    least = 1.5 * 3 * LETTER * NARROW_PX + 8.0
    return next((step for step in (30, 45) if length * step / 360.0 >= least), 90)


def _key(has_line, is_known, angle, peak) -> list:
    parts = [box(LEFT, 9, 14, 11, DARK), text(LEFT + 20, 19, "window that counts"),
             box(LEFT + 158, 9, 14, 11, LIGHT), text(LEFT + 178, 19, "too short to count"),
             line(LEFT + 314, 14.5, LEFT + 338, 14.5, SOFT, 1.0, "5 4"), text(LEFT + 344, 19, "limits looked at")]
    if has_line:
        parts += [box(LEFT + 466, 14.5, 24, 7, SHADE), line(LEFT + 466, 14.5, LEFT + 490, 14.5, INK, 1.8),
                  text(LEFT + 496, 19, f"skyline, up to {peak:.0f}°")]
    else:
        parts.append(text(LEFT + 466, 19, _no_line(is_known, angle)))
    return parts


def _key_items(has_line, is_known, angle, peak) -> list:
    """Give the items of the key for a narrow chart."""
    items = [(lambda x, y: [box(x + 5, y - 5.5, 14, 11, DARK)], "window that counts"),
             (lambda x, y: [box(x + 5, y - 5.5, 14, 11, LIGHT)], "too short to count"),
             (lambda x, y: [line(x, y, x + 24, y, SOFT, 1.0, "5 4")], "limits looked at")]
    if has_line:
        items.append((lambda x, y: [box(x, y, 24, 6, SHADE), line(x, y, x + 24, y, INK, 1.8)],
                      f"skyline, up to {peak:.0f}°"))
    else:
        items.append((lambda x, y: [], _no_line(is_known, angle)))
    return items


def _no_line(is_known, angle) -> str:
    return f"skyline nowhere above {degrees(angle[0] - 1.0)}°" if is_known else "no skyline known"


def _described(windows, counts, angle, skyline_deg) -> str:
    """Say in words what the chart shows."""
    if not counts.any():
        said = "No direction counts."
    else:
        low, high = angle[windows.first[counts].min()], angle[windows.last[counts].max()]
        where = azimuth_words(counts, 360.0 / len(counts), 6)
        said = f"Directions count {where}; their windows lie from {degrees(low)} to {degrees(high)}°."
    if skyline_deg is None:
        return said + " No skyline is known."
    seen = np.isfinite(skyline_deg)
    if not seen.any():
        return f"{said} The skyline stands nowhere above {degrees(angle[0] - 1.0)}°."
    at = int(np.argmax(np.where(seen, skyline_deg, -np.inf)))
    return (f"{said} The skyline is highest at azimuth {degrees((at + 0.5) * 360.0 / len(counts))}°, "
            f"{skyline_deg[at]:.1f}°.")
