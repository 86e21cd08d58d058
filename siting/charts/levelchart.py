"""A sketch of the antenna over its levels, to scale in height."""
from __future__ import annotations

from dataclasses import dataclass
from typing import Callable

from .drawing import WIDTH, Drawing
from .marks import box, line, shape, text, upright
from .palette import DARK, INK, PALE, SOFT, WASH
from .placing import apart, tick_step

HEIGHT = 280
TOP, BOTTOM = 40.0, 244.0
LEFT, RIGHT = 64.0, 350.0
MAST, MEASURE, LABELS = 120.0, 250.0, 368.0


@dataclass(frozen=True)
class Levels:
    """An antenna over what moves below it.

    Attributes
    ----------
    over_zero_m : float
        Height of the antenna over the zero level [m].
    low_m, high_m : float
        Lowest and highest level relative to the zero level [m].
    names : (highest, zero, lowest)
        What the levels are called.
    needed_m : float
        Least height over the highest level [m]; 0 where none is asked for.
    """

    over_zero_m: float
    low_m: float
    high_m: float
    names: tuple
    needed_m: float

    @property
    def drawn(self) -> list[tuple[float, str]]:
        """Levels [m] and their names, from above; the zero level once."""
        highest, zero, lowest = self.names
        return [*([(self.high_m, highest)] if self.high_m != 0 else []), (0.0, zero),
                *([(self.low_m, lowest)] if self.low_m != 0 else [])]

    @property
    def clearance_m(self) -> float:
        """Height of the antenna over the highest level drawn [m]."""
        return self.over_zero_m - max(level for level, _name in self.drawn)

    @property
    def said(self) -> list[str]:
        """The antenna and each level in words, from above."""
        return [f"antenna, {self.over_zero_m:.2f} m"] + [
            f"{name}, {level:+.2f} m: {self.over_zero_m - level:.2f} m below the antenna".replace("-", "−")
            if level != 0 else f"{name}, 0 m: {self.over_zero_m:.2f} m below the antenna"
            for level, name in self.drawn]


def levels_chart(chart_id: str, title: str, levels: Levels) -> Drawing:
    """Draw the antenna, the zero level and the ordinary highest and lowest level.

    Parameters
    ----------
    chart_id, title : str
    levels : Levels

    Returns
    -------
    Drawing
    """
    heights = [level for level, _name in levels.drawn]
    span = max(levels.over_zero_m - min(heights), 1e-3)
    foot_m, head_m = min(heights) - 0.12 * span, levels.over_zero_m

    def y_of(level):
        return BOTTOM + (TOP - BOTTOM) * (level - foot_m) / (head_m - foot_m)

    marks = [box(LEFT, y_of(level), RIGHT - LEFT, BOTTOM - y_of(level), fill)
             for level, fill in ((max(heights), WASH), (min(heights), PALE))]
    marks += [*_scale(foot_m, head_m, y_of), *_antenna(), *_named(levels, y_of),
              *_clearance(levels, y_of(max(heights))), text(LEFT, HEIGHT - 14, "Heights to scale, widths not.")]
    told = f"{'; '.join(levels.said)}. Clearance {levels.clearance_m:.2f} m."
    return Drawing(chart_id, WIDTH, HEIGHT, title, told, tuple(marks))


def _scale(foot_m: float, head_m: float, y_of: Callable) -> list:
    """Draw the axis of heights."""
    marks = []
    step = tick_step(head_m - foot_m, 6)
    tick = step * -int(-foot_m // step)
    while tick <= head_m + 1e-9:
        marks += [line(LEFT - 4, y_of(tick), LEFT, y_of(tick)),
                  text(LEFT - 8, y_of(tick) + 4, f"{tick:g}".replace("-", "−"), "end")]
        tick = round(tick + step, 9)
    return marks + [line(LEFT, TOP, LEFT, BOTTOM), upright(16, (TOP + BOTTOM) / 2.0, "height over the zero level [m]")]


def _antenna() -> list:
    return [line(MAST, TOP + 4, MAST, BOTTOM, INK, 3.0),
            shape([(MAST - 16, TOP), (MAST + 16, TOP), (MAST + 10, TOP - 9), (MAST - 10, TOP - 9)], INK)]


def _named(levels: Levels, y_of: Callable) -> list:
    """Draw a line from the antenna and from each level to its words, which stand apart."""
    marks = []
    wanted = [TOP] + [y_of(level) for level, _name in levels.drawn]
    for number, (at, place, words) in enumerate(zip(wanted, apart(wanted, 17.0), levels.said)):
        if number == 0:
            marks.append(line(MAST + 18, at, RIGHT, at, SOFT, 0.8, "2 3"))
        else:
            marks.append(line(LEFT, at, RIGHT, at, DARK, 1.8, "6 4" if levels.drawn[number - 1][0] != 0 else ""))
        marks += [line(RIGHT, at, LABELS - 6, place, SOFT, 0.8), text(LABELS, place + 4, words, size=11.5)]
    return marks


def _clearance(levels: Levels, foot: float) -> list:
    """Measure from the antenna down to the highest level, which lies at height `foot` [px]."""
    middle = (TOP + foot) / 2.0
    marks = [line(MEASURE, TOP + 6, MEASURE, foot - 6),
             shape([(MEASURE, TOP), (MEASURE - 4, TOP + 9), (MEASURE + 4, TOP + 9)], INK),
             shape([(MEASURE, foot), (MEASURE - 4, foot - 9), (MEASURE + 4, foot - 9)], INK),
             text(MEASURE - 8, middle - 2, "clearance", "end"),
             text(MEASURE - 8, middle + 13, f"{levels.clearance_m:.2f} m", "end", is_bold=True)]
    if levels.needed_m > 0:
        marks.append(text(MEASURE + 8, middle + 13, f"asked: {levels.needed_m:g} m"))
    return marks
