"""A chart of the usable passes through a day: a lane for each satellite system, a mark for each arc."""
from __future__ import annotations

from typing import NamedTuple, Sequence

import numpy as np

from ..precision.worth import SkyWorth
from ..sky.clock import DAY_S
from ..sky.sky import Sky
from .drawing import LETTER, NARROW_PX, TEXT_PX, WIDTH, document, flowing, line, shape, text
from .palette import DARK, INK, PALE, PAPER

LEFT, RIGHT, TOP, LANE = 84.0, WIDTH - 70.0, 34.0, 38.0
SIZE, APART = 4.6, 7.5
NARROW_LEFT, NARROW_RIGHT = 64.0, 40.0
"""Space left and right of the plot of a narrow chart [px]."""


class Passes(NamedTuple):
    """What the chart shows, in the order of `passes_svg`: the usable arcs of the worst day looked at."""

    hour: np.ndarray
    is_rising: np.ndarray
    system: list
    systems: list
    first_hour: float
    clock: str

    @classmethod
    def of(cls, worth: SkyWorth, sky: Sky) -> Passes:
        """Choose them from what a sky is worth over a site."""
        day = int(np.argmin(worth.per_day))
        mine = (worth.middle_s // DAY_S).astype(int) == day
        named = list(sky.orbits.systems)
        return cls(worth.middle_s[mine] / 3600.0 - 24.0 * day, worth.is_rising[mine],
                   [named[i] for i in worth.satellite[mine]], list(dict.fromkeys(named)),
                   (sky.start_s + day * DAY_S) % DAY_S / 3600.0,
                   ", indicative: nominal orbits" if sky.orbits.is_nominal else "")


def passes_svg(chart_id: str, title: str, hour: np.ndarray, is_rising: np.ndarray, system: Sequence[str],
               systems: Sequence[str], first_hour: float, clock: str, width: int = WIDTH) -> str:
    """Draw usable arcs by system and hour.

    Parameters
    ----------
    chart_id, title : str
    hour : ndarray, shape (arcs,)
        Middle of each arc, from the start of the day looked at [h].
    is_rising : ndarray of bool, shape (arcs,)
    system : sequence of str
        System of each arc.
    systems : sequence of str
        All systems looked at: a lane for each, from above.
    first_hour : float
        UTC hour at which the day looked at begins [h].
    clock : str
        What the times are worth, written below the axis.
    width : int
        [px]; below `WIDTH` the chart is laid out for a dock, down to `siting.charts.drawing.NARROW`.

    Returns
    -------
    str
        An SVG element.
    """
    is_narrow = width < WIDTH
    size = NARROW_PX if is_narrow else TEXT_PX
    left, right, top = (NARROW_LEFT, width - NARROW_RIGHT, TOP) if is_narrow else (LEFT, RIGHT, TOP)
    key = [_mark(left + 8, 14, True), text(left + 20, 18, "rising arc (its middle)"),
           _mark(left + 188, 14, False), text(left + 200, 18, "setting arc")]
    below = [f"time of day [h UTC]{clock}"]
    if is_narrow:
        key, last = flowing([(lambda x, y: [_mark(x + 12, y, True)], "rising arc (its middle)"),
                             (lambda x, y: [_mark(x + 12, y, False)], "setting arc")], 6.0, float(width), 12.0)
        top = last + 28.0
        below = below if LETTER * size * len(below[0]) <= width - 8 else ["time of day [h UTC]", clock.lstrip(", ")]
    bottom = top + LANE * max(len(systems), 1)
    height = int(bottom + 54 + 15 * (len(below) - 1))
    system = np.asarray(system, dtype=object)

    def x_of(hours):
        return left + (right - left) * hours / 24.0

    parts = []
    for tick in range(0, 25, _hour_step(right - left, first_hour)):
        at = (first_hour + tick) % 24.0
        label = "24" if tick == 24 and first_hour == 0 else f"{at:.4g}"
        parts += [line(x_of(tick), top, x_of(tick), bottom, PALE),
                  text(x_of(tick), bottom + 17, label, "middle", size)]
    parts.append(text(right + (8 if is_narrow else 12), top - 8, "arcs", size=size))
    for row, name in enumerate(systems):
        middle = top + LANE * (row + 0.5)
        mine = system == name
        parts += [line(left, top + LANE * (row + 1), right, top + LANE * (row + 1), PALE),
                  text(left - 10, middle + 4, name, "end", size),
                  text(right + 12, middle + 4, f"{int(mine.sum())}", size=size, more=' font-weight="bold"')]
        # rising ones above, setting ones below, so that fewer overlap
        for at, rising in zip(x_of(hour[mine]), is_rising[mine]):
            parts.append(_mark(at, middle + (-APART if rising else APART), rising))
    parts.append(f'<path d="M{left:g} {top:g}V{bottom:g}H{right:g}" fill="none" stroke="{INK}"/>')
    middle = width / 2.0 if is_narrow else (left + right) / 2.0
    for row, words in enumerate(reversed(below)):
        parts.append(text(middle, height - 10 - 15 * row, words, "middle", size))
    parts += key
    each = ", ".join(f"{name} {int((system == name).sum())}" for name in systems)
    said = f"{len(hour)} usable arcs: {each}; {int(np.sum(is_rising))} rise and {int(np.sum(~is_rising))} set."
    return document(chart_id, height, title, said, parts, width)


def _hour_step(length: float, first_hour: float) -> int:
    """Choose the distance of ticks [h] so that their numbers stay apart on an axis so long [px]."""
    longest = max(len(f"{(first_hour + tick) % 24.0:.4g}") for tick in range(0, 24, 3))
    return next((step for step in (3, 6) if length * step / 24.0 >= LETTER * NARROW_PX * longest + 8.0), 12)


def _mark(x: float, y: float, rising: bool) -> str:
    if rising:
        return shape([(x - SIZE, y + SIZE), (x + SIZE, y + SIZE), (x, y - SIZE)], DARK, PAPER, 0.6)
    return shape([(x - SIZE, y - SIZE), (x + SIZE, y - SIZE), (x, y + SIZE)], PAPER, INK, 1.1)
