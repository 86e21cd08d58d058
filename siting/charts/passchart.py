"""A chart of the usable passes through a day: a lane for each satellite system, a mark for each arc."""
from __future__ import annotations

from typing import Sequence

import numpy as np

from .drawing import DARK, INK, PALE, PAPER, WIDTH, document, line, shape, text

LEFT, RIGHT, TOP, LANE = 84.0, WIDTH - 70.0, 34.0, 38.0
SIZE, APART = 4.6, 7.5


def passes_svg(chart_id: str, title: str, hour: np.ndarray, is_rising: np.ndarray, system: Sequence[str],
               systems: Sequence[str], first_hour: float, clock: str) -> str:
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

    Returns
    -------
    str
        An SVG element.
    """
    bottom = TOP + LANE * max(len(systems), 1)
    height = int(bottom + 54)
    system = np.asarray(system, dtype=object)

    def x_of(hours):
        return LEFT + (RIGHT - LEFT) * hours / 24.0

    parts = []
    for tick in range(0, 25, 3):
        at = (first_hour + tick) % 24.0
        label = "24" if tick == 24 and first_hour == 0 else f"{at:.4g}"
        parts += [line(x_of(tick), TOP, x_of(tick), bottom, PALE), text(x_of(tick), bottom + 17, label, "middle")]
    parts.append(text(RIGHT + 12, TOP - 8, "arcs"))
    for row, name in enumerate(systems):
        middle = TOP + LANE * (row + 0.5)
        mine = system == name
        parts += [line(LEFT, TOP + LANE * (row + 1), RIGHT, TOP + LANE * (row + 1), PALE),
                  text(LEFT - 10, middle + 4, name, "end"),
                  text(RIGHT + 12, middle + 4, f"{int(mine.sum())}", more=' font-weight="bold"')]
        # rising ones above, setting ones below, so that fewer overlap
        for at, rising in zip(x_of(hour[mine]), is_rising[mine]):
            parts.append(_mark(at, middle + (-APART if rising else APART), rising))
    parts.append(f'<path d="M{LEFT:g} {TOP:g}V{bottom:g}H{RIGHT:g}" fill="none" stroke="{INK}"/>')
    parts.append(text((LEFT + RIGHT) / 2.0, height - 10, f"time of day [h UTC]{clock}", "middle"))
    parts += [_mark(LEFT + 8, 14, True), text(LEFT + 20, 18, "rising arc (its middle)"),
              _mark(LEFT + 188, 14, False), text(LEFT + 200, 18, "setting arc")]
    each = ", ".join(f"{name} {int((system == name).sum())}" for name in systems)
    said = f"{len(hour)} usable arcs: {each}; {int(np.sum(is_rising))} rise and {int(np.sum(~is_rising))} set."
    return document(chart_id, height, title, said, parts)


def _mark(x: float, y: float, rising: bool) -> str:
    if rising:
        return shape([(x - SIZE, y + SIZE), (x + SIZE, y + SIZE), (x, y - SIZE)], DARK, PAPER, 0.6)
    return shape([(x - SIZE, y - SIZE), (x + SIZE, y - SIZE), (x, y + SIZE)], PAPER, INK, 1.1)
