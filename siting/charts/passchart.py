"""A chart of the usable passes through a day: a lane for each satellite system, a mark for each arc."""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..arrays import Array, Numbers
from ..precision.worth import SkyWorth
from ..sky.clock import DAY_S
from ..sky.sky import Sky
from .drawing import WIDTH, Drawing, Mark
from .marks import TEXT_PX, axes, line, shape, text
from .palette import DARK, INK, PALE, PAPER
from .placing import LETTER, NARROW_PX, flowing

LEFT, RIGHT, TOP, LANE = 84.0, WIDTH - 70.0, 34.0, 38.0
SIZE, APART = 4.6, 7.5
NARROW_LEFT, NARROW_RIGHT = 64.0, 40.0
"""Space left and right of the plot of a narrow chart [px]."""
RISING, SETTING = "rising arc (its middle)", "setting arc"


class Passes(NamedTuple):
    """What the chart shows: the usable arcs of the worst day looked at.

    Attributes
    ----------
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
    """

    hour: Array
    is_rising: Array
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


def passes_chart(chart_id: str, title: str, passes: Passes, width: int = WIDTH) -> Drawing:
    """Draw usable arcs by system and hour.

    Parameters
    ----------
    chart_id, title : str
    passes : Passes
    width : int
        [px]; below `WIDTH` the chart is laid out for a dock, down to `siting.charts.placing.NARROW`.

    Returns
    -------
    Drawing
    """
    is_narrow = width < WIDTH
    size = NARROW_PX if is_narrow else TEXT_PX
    left, right, top = (NARROW_LEFT, width - NARROW_RIGHT, TOP) if is_narrow else (LEFT, RIGHT, TOP)
    key = [_mark(left + 8, 14, True), text(left + 20, 18, RISING),
           _mark(left + 188, 14, False), text(left + 200, 18, SETTING)]
    below = [f"time of day [h UTC]{passes.clock}"]
    if is_narrow:
        key, last = flowing([(lambda x, y: [_mark(x + 12, y, True)], RISING),
                             (lambda x, y: [_mark(x + 12, y, False)], SETTING)], 6.0, float(width), 12.0)
        top = last + 28.0
        if LETTER * size * len(below[0]) > width - 8:
            below = ["time of day [h UTC]", passes.clock.lstrip(", ")]
    plot = _Plot(left, right, top, top + LANE * max(len(passes.systems), 1), size, 8 if is_narrow else 12)
    height = int(plot.bottom + 54 + 15 * (len(below) - 1))
    middle = width / 2.0 if is_narrow else (left + right) / 2.0
    marks = [*_hours(plot, passes.first_hour), *_lanes(plot, passes), axes(left, top, plot.bottom, right),
             *(text(middle, height - 10 - 15 * row, words, "middle", size)
               for row, words in enumerate(reversed(below))), *key]
    return Drawing(chart_id, width, height, title, _described(passes), tuple(marks))


class _Plot(NamedTuple):
    """Where the lanes lie, how high words are, and how far right of the lanes “arcs” stands [px]."""

    left: float
    right: float
    top: float
    bottom: float
    size: float
    beside: float

    def x_of(self, hours: Numbers) -> Numbers:
        """Return the place of hours from the start of the day looked at."""
        return self.left + (self.right - self.left) * hours / 24.0


def _hours(plot: _Plot, first_hour: float) -> list[Mark]:
    """Draw the grid of hours and what stands at its edges."""
    marks = []
    for tick in range(0, 25, _hour_step(plot.right - plot.left, first_hour)):
        x, at = plot.x_of(tick), (first_hour + tick) % 24.0
        label = "24" if tick == 24 and first_hour == 0 else f"{at:.4g}"
        marks += [line(x, plot.top, x, plot.bottom, PALE), text(x, plot.bottom + 17, label, "middle", plot.size)]
    return marks + [text(plot.right + plot.beside, plot.top - 8, "arcs", size=plot.size)]


def _lanes(plot: _Plot, passes: Passes) -> list[Mark]:
    """Draw the lane of each system with its arcs and their number."""
    marks = []
    of = np.asarray(passes.system, dtype=object)
    for row, name in enumerate(passes.systems):
        middle, foot = plot.top + LANE * (row + 0.5), plot.top + LANE * (row + 1)
        mine = of == name
        marks += [line(plot.left, foot, plot.right, foot, PALE),
                  text(plot.left - 10, middle + 4, name, "end", plot.size),
                  text(plot.right + 12, middle + 4, f"{int(mine.sum())}", size=plot.size, is_bold=True)]
        # rising ones above, setting ones below, so that fewer overlap
        for at, rising in zip(plot.x_of(passes.hour[mine]), passes.is_rising[mine]):
            marks.append(_mark(at, middle + (-APART if rising else APART), rising))
    return marks


def _described(passes: Passes) -> str:
    """Say in words what the chart shows."""
    of = np.asarray(passes.system, dtype=object)
    each = ", ".join(f"{name} {int((of == name).sum())}" for name in passes.systems)
    return (f"{len(passes.hour)} usable arcs: {each}; {int(np.sum(passes.is_rising))} rise and "
            f"{int(np.sum(~passes.is_rising))} set.")


def _hour_step(length: float, first_hour: float) -> int:
    """Choose the distance of ticks [h] so that their numbers stay apart on an axis so long [px]."""
    longest = max(len(f"{(first_hour + tick) % 24.0:.4g}") for tick in range(0, 24, 3))
    return next((step for step in (3, 6) if length * step / 24.0 >= LETTER * NARROW_PX * longest + 8.0), 12)


def _mark(x: float, y: float, rising: bool) -> Mark:
    if rising:
        return shape([(x - SIZE, y + SIZE), (x + SIZE, y + SIZE), (x, y - SIZE)], DARK, PAPER, 0.6)
    return shape([(x - SIZE, y - SIZE), (x + SIZE, y - SIZE), (x, y + SIZE)], PAPER, INK, 1.1)
