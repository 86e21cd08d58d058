"""A sketch of the antenna over its levels, to scale in height."""
from __future__ import annotations

from .drawing import apart, box, document, line, shape, text, tick_step, upright
from .palette import DARK, INK, PALE, SOFT, WASH

HEIGHT = 280
TOP, BOTTOM = 40.0, 244.0
LEFT, RIGHT = 64.0, 350.0
MAST, MEASURE, LABELS = 120.0, 250.0, 368.0


def levels_svg(chart_id: str, title: str, over_zero_m: float, low_m: float, high_m: float, words: tuple,
               needed_m: float) -> str:
    """Draw the antenna, the zero level and the ordinary highest and lowest level.

    Parameters
    ----------
    chart_id, title : str
    over_zero_m : float
        Height of the antenna over the zero level [m].
    low_m, high_m : float
        Lowest and highest level relative to the zero level [m].
    words : (highest, zero, lowest)
        What the levels are called.
    needed_m : float
        Least height over the highest level [m]; 0 where none is asked for.

    Returns
    -------
    str
        An SVG element.
    """
    levels = [(high_m, words[0])] if high_m != 0 else []
    levels.append((0.0, words[1]))
    if low_m != 0:
        levels.append((low_m, words[2]))
    lowest = min(level for level, _word in levels)
    highest = max(level for level, _word in levels)
    span = max(over_zero_m - lowest, 1e-3)
    bottom_m, top_m = lowest - 0.12 * span, over_zero_m

    def y_of(level):
        return BOTTOM + (TOP - BOTTOM) * (level - bottom_m) / (top_m - bottom_m)

    parts = [box(LEFT, y_of(highest), RIGHT - LEFT, BOTTOM - y_of(highest), WASH),
             box(LEFT, y_of(lowest), RIGHT - LEFT, BOTTOM - y_of(lowest), PALE)]
    step = tick_step(top_m - bottom_m, 6)
    tick = step * -int(-bottom_m // step)
    while tick <= top_m + 1e-9:
        parts += [line(LEFT - 4, y_of(tick), LEFT, y_of(tick)),
                  text(LEFT - 8, y_of(tick) + 4, f"{tick:g}".replace("-", "−"), "end")]
        tick = round(tick + step, 9)
    parts += [line(LEFT, TOP, LEFT, BOTTOM), upright(16, (TOP + BOTTOM) / 2.0, "height over the zero level [m]"),
              line(MAST, TOP + 4, MAST, BOTTOM, INK, 3.0),
              shape([(MAST - 16, TOP), (MAST + 16, TOP), (MAST + 10, TOP - 9), (MAST - 10, TOP - 9)], INK)]
    wanted = [TOP] + [y_of(level) for level, _word in levels]
    said = [f"antenna, {over_zero_m:.2f} m"] + [
        f"{word}, {level:+.2f} m: {over_zero_m - level:.2f} m below the antenna".replace("-", "−")
        if level != 0 else f"{word}, 0 m: {over_zero_m:.2f} m below the antenna" for level, word in levels]
    for number, (at, place, words_here) in enumerate(zip(wanted, apart(wanted, 17.0), said)):
        dash = "" if number == 0 else ("6 4" if levels[number - 1][0] != 0 else "")
        parts += [line(MAST + 18 if number == 0 else LEFT, at, RIGHT, at, SOFT if number == 0 else DARK,
                       0.8 if number == 0 else 1.8, "2 3" if number == 0 else dash),
                  line(RIGHT, at, LABELS - 6, place, SOFT, 0.8), text(LABELS, place + 4, words_here, size=11.5)]
    clearance = over_zero_m - highest
    middle = (TOP + y_of(highest)) / 2.0
    foot = y_of(highest)
    parts += [line(MEASURE, TOP + 6, MEASURE, foot - 6),
              shape([(MEASURE, TOP), (MEASURE - 4, TOP + 9), (MEASURE + 4, TOP + 9)], INK),
              shape([(MEASURE, foot), (MEASURE - 4, foot - 9), (MEASURE + 4, foot - 9)], INK),
              text(MEASURE - 8, middle - 2, "clearance", "end"),
              text(MEASURE - 8, middle + 13, f"{clearance:.2f} m", "end", more=' font-weight="bold"')]
    if needed_m > 0:
        parts.append(text(MEASURE + 8, middle + 13, f"asked: {needed_m:g} m"))
    parts.append(text(LEFT, HEIGHT - 14, "Heights to scale, widths not."))
    return document(chart_id, HEIGHT, title, f"{'; '.join(said)}. Clearance {clearance:.2f} m.", parts)
