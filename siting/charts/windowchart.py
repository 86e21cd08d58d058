"""A chart of the window of usable elevation angles by azimuth, with the skyline."""
from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from ..arrays import Array
from ..windows import Windows
from ..words.wording import azimuth_words, degrees
from .drawing import WIDTH, Drawing, Mark
from .marks import TEXT_PX, axes, box, line, mark, text, upright
from .palette import DARK, INK, LIGHT, PALE, PAPER, SHADE, SOFT
from .placing import LETTER, NARROW_PX, flowing, tick_step

HEIGHT = 300
LEFT, RIGHT, TOP, BOTTOM = 54.0, WIDTH - 12.0, 34.0, 236.0
NARROW_LEFT, NARROW_HIGH = 46.0, 140.0
"""Where the plot of a narrow chart begins, and how high it is [px]."""
MOST = 1.8
"""How much higher than the highest angle looked at the chart reaches at most, for the skyline."""
NAMES = {0: "N", 90: "E", 180: "S", 270: "W", 360: "N"}


@dataclass(frozen=True)
class Outlook:
    """What is usable in each direction, and what stands there.

    Attributes
    ----------
    windows : Windows
        Of shape (bins,); the first bin begins at north.
    counts : ndarray of bool, shape (bins,)
        Bins that do not count are drawn pale.
    elevation_deg : ndarray, shape (angles,)
        The angles looked at, rising [°].
    skyline_deg : ndarray, shape (bins,), or None
        Elevation angle of the skyline [°], not finite where it is too low to matter; None where none is known.
    """

    windows: Windows
    counts: Array
    elevation_deg: Array
    skyline_deg: Array | None

    @property
    def has_line(self) -> bool:
        """Whether there is a skyline to draw."""
        return self.skyline_deg is not None and bool(np.isfinite(self.skyline_deg).any())

    @property
    def peak_deg(self) -> float:
        """How high the skyline stands at most [°]; 0 where there is none to draw."""
        return float(np.max(self.skyline_deg[np.isfinite(self.skyline_deg)])) if self.has_line else 0.0


class _Plot(NamedTuple):
    """Where the plot lies [px], the angle at its top [°], the distance of ticks [°] and the height of words [px]."""

    left: float
    right: float
    top: float
    bottom: float
    top_deg: float
    step_deg: float
    size: float

    def x_of(self, azimuth: float) -> float:
        """Return the place of an azimuth [°]."""
        return self.left + (self.right - self.left) * azimuth / 360.0

    def y_of(self, elevation: float) -> float:
        """Return the place of an elevation angle [°], within the plot."""
        return self.bottom + (self.top - self.bottom) * np.clip(elevation, 0.0, self.top_deg) / self.top_deg


def window_chart(chart_id: str, title: str, outlook: Outlook, width: int = WIDTH) -> Drawing:
    """Draw each azimuth bin's window as a bar, and the skyline as a line.

    Parameters
    ----------
    chart_id, title : str
    outlook : Outlook
    width : int
        [px]; below `WIDTH` the chart is laid out for a dock, down to `siting.charts.placing.NARROW`.

    Returns
    -------
    Drawing
    """
    plot, key = _laid_out(outlook, width)
    height = int(plot.bottom + HEIGHT - BOTTOM)
    marks = [*_grid(plot), *_hills(plot, outlook), *_bars(plot, outlook), *_limits(plot, outlook),
             *_skyline(plot, outlook), *_axes(plot, width, height), *key]
    return Drawing(chart_id, width, height, title, _described(outlook), tuple(marks))


def _laid_out(outlook: Outlook, width: int) -> tuple[_Plot, list[Mark]]:
    """Choose where the plot lies, and draw the key over it."""
    highest = float(outlook.elevation_deg[-1])
    if outlook.has_line:
        # a cliff may not squeeze the windows: what stands higher leaves the chart, and the key says so
        highest = max(highest, min(outlook.peak_deg, MOST * highest))
    is_narrow = width < WIDTH
    step = tick_step(highest, 4 if is_narrow else 6)
    top_deg = step * np.ceil(highest / step)
    if not is_narrow:
        return _Plot(LEFT, width - 12.0, TOP, BOTTOM, top_deg, step, TEXT_PX), _key(outlook)
    key, last = flowing(_key_items(outlook), 6.0, width - 12.0, 12.0)
    top = last + 18.0
    return _Plot(NARROW_LEFT, width - 12.0, top, top + NARROW_HIGH, top_deg, step, NARROW_PX), key


def _grid(plot: _Plot) -> list[Mark]:
    """Draw lines at round elevation angles, ticks at round azimuths, and their words."""
    marks, bottom = [], plot.bottom
    for tick in np.arange(0.0, plot.top_deg + plot.step_deg / 2.0, plot.step_deg):
        marks += [line(plot.left, plot.y_of(tick), plot.right, plot.y_of(tick), PALE),
                  text(plot.left - 6, plot.y_of(tick) + 4, f"{tick:g}", "end", plot.size)]
    for tick in range(0, 361, _azimuth_step(plot.right - plot.left)):
        x, anchor = plot.x_of(tick), "middle" if tick < 360 else "end"
        marks += [line(x, bottom, x, bottom + 4), text(x, bottom + 17, f"{tick}", anchor, plot.size)]
        if tick in NAMES:
            marks.append(text(x, bottom + 31, NAMES[tick], anchor, plot.size, is_bold=True))
    return marks


def _bar(plot: _Plot, outlook: Outlook, number: int) -> tuple[float, float]:
    """Return where a bin begins, and how wide it is [px]."""
    bins = len(outlook.counts)
    return plot.x_of(360.0 * number / bins), (plot.right - plot.left) / bins


def _hills(plot: _Plot, outlook: Outlook) -> list[Mark]:
    """Shade what lies below the skyline."""
    if not outlook.has_line:
        return []
    marks, skyline = [], outlook.skyline_deg
    for i in np.flatnonzero(np.isfinite(skyline) & (skyline > 0)):
        x, wide = _bar(plot, outlook, i)
        marks.append(box(x, plot.y_of(skyline[i]), wide, plot.bottom - plot.y_of(skyline[i]), SHADE))
    return marks


def _bars(plot: _Plot, outlook: Outlook) -> list[Mark]:
    """Draw the windows."""
    marks, windows, angle = [], outlook.windows, np.asarray(outlook.elevation_deg, float)
    for i in np.flatnonzero(windows.first >= 0):
        low, high = plot.y_of(angle[windows.first[i]]), plot.y_of(angle[windows.last[i]])
        x, wide = _bar(plot, outlook, i)
        marks.append(box(x, high, wide, low - high, DARK if outlook.counts[i] else LIGHT, PAPER))
    return marks


def _limits(plot: _Plot, outlook: Outlook) -> list[Mark]:
    """Draw the limits looked at."""
    heights = [plot.y_of(outlook.elevation_deg[end]) for end in (0, -1)]
    return [line(plot.left, y, plot.right, y, SOFT, 1.0, "5 4") for y in heights]


def _skyline(plot: _Plot, outlook: Outlook) -> list[Mark]:
    """Draw the skyline on a light seam, broken where it is too low to matter or leaves the chart."""
    if not outlook.has_line:
        return []
    bins, corners = len(outlook.counts), []
    edges = np.arange(bins + 1) * 360.0 / bins
    for i, angle in enumerate(outlook.skyline_deg):
        if not (np.isfinite(angle) and angle <= plot.top_deg):
            corners.append("")
            continue
        lead = "L" if corners and corners[-1] else "M"
        corners.append(f"{lead}{plot.x_of(edges[i]):.1f} {plot.y_of(angle):.1f}H{plot.x_of(edges[i + 1]):.1f}")
    return [mark("path", d="".join(corners), fill="none", stroke=colour, stroke_width=thick)
            for colour, thick in ((PAPER, "4"), (INK, "1.8"))]


def _axes(plot: _Plot, width: int, height: int) -> list[Mark]:
    """Draw the axes and write their names."""
    is_narrow = width < WIDTH
    named = "azimuth from true north [°]" if is_narrow else "azimuth, clockwise from true north [°]"
    return [axes(plot.left, plot.top, plot.bottom, plot.right),
            upright(12 if is_narrow else 16, (plot.top + plot.bottom) / 2.0, "elevation angle [°]", plot.size),
            text((plot.left + plot.right) / 2.0, height - 8, named, "middle", plot.size)]


def _azimuth_step(length) -> int:
    """Choose the distance of ticks [°] so that their numbers stay apart on an axis so long [px]."""
    # the last number ends at the axis' end, the one before stands in the middle of its tick
    least = 1.5 * 3 * LETTER * NARROW_PX + 8.0
    return next((step for step in (30, 45) if length * step / 360.0 >= least), 90)


def _key(outlook: Outlook) -> list[Mark]:
    marks = [box(LEFT, 9, 14, 11, DARK), text(LEFT + 20, 19, "window that counts"),
             box(LEFT + 158, 9, 14, 11, LIGHT), text(LEFT + 178, 19, "too short to count"),
             line(LEFT + 314, 14.5, LEFT + 338, 14.5, SOFT, 1.0, "5 4"), text(LEFT + 344, 19, "limits looked at")]
    if outlook.has_line:
        marks += [box(LEFT + 466, 14.5, 24, 7, SHADE), line(LEFT + 466, 14.5, LEFT + 490, 14.5, INK, 1.8),
                  text(LEFT + 496, 19, f"skyline, up to {outlook.peak_deg:.0f}°")]
    else:
        marks.append(text(LEFT + 466, 19, _no_line(outlook)))
    return marks


def _key_items(outlook: Outlook) -> list:
    """Give the items of the key for a narrow chart."""
    items = [(lambda x, y: [box(x + 5, y - 5.5, 14, 11, DARK)], "window that counts"),
             (lambda x, y: [box(x + 5, y - 5.5, 14, 11, LIGHT)], "too short to count"),
             (lambda x, y: [line(x, y, x + 24, y, SOFT, 1.0, "5 4")], "limits looked at")]
    if outlook.has_line:
        items.append((lambda x, y: [box(x, y, 24, 6, SHADE), line(x, y, x + 24, y, INK, 1.8)],
                      f"skyline, up to {outlook.peak_deg:.0f}°"))
    else:
        items.append((lambda x, y: [], _no_line(outlook)))
    return items


def _no_line(outlook: Outlook) -> str:
    if outlook.skyline_deg is None:
        return "no skyline known"
    return f"skyline nowhere above {degrees(outlook.elevation_deg[0] - 1.0)}°"


def _described(outlook: Outlook) -> str:
    """Say in words what the chart shows."""
    windows, counts, skyline_deg = outlook.windows, outlook.counts, outlook.skyline_deg
    angle = np.asarray(outlook.elevation_deg, float)
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
