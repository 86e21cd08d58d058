"""The rose of quality by azimuth with its key, as a chart of its own."""
from __future__ import annotations

import numpy as np

from ..arrays import Array
from ..words.wording import degrees
from .drawing import WIDTH, Drawing, Mark
from .marks import box, mark, text
from .palette import INK, PAPER, RAMP
from .placing import NARROW_PX
from .rose import rose_marks

HEIGHT = 330
MIDDLE, RADIUS = (178.0, 168.0), 134.0
KEY = 392.0
BESIDE, KEY_PX = 400, 178.0
"""Width from which a narrow chart has its key beside the rose, and how wide that is [px]."""


def rose_chart(chart_id: str, title: str, quality: Array, counts: Array, width: int = WIDTH) -> Drawing:
    """Draw the quality of each direction, and say what length, colour and paleness mean.

    Parameters
    ----------
    chart_id, title : str
    quality : ndarray, shape (bins,)
        0 to 1; the first bin begins at north.
    counts : ndarray of bool, shape (bins,)
    width : int
        [px]; below `WIDTH` the chart is laid out for a dock, down to `siting.charts.placing.NARROW`.

    Returns
    -------
    Drawing
    """
    if width < WIDTH:
        marks, height = _narrow(quality, counts, float(width))
    else:
        marks, height = _wide(quality, counts), HEIGHT
    return Drawing(chart_id, width, height, title, _described(quality, counts), tuple(marks))


def _wide(quality, counts) -> list[Mark]:
    """Lay the rose out with its key beside it."""
    marks = rose_marks(quality, counts, *MIDDLE, RADIUS)
    for ring in (0.25, 0.5, 0.75, 1.0):
        x, y = MIDDLE[0] + ring * RADIUS * np.sin(np.pi / 4), MIDDLE[1] - ring * RADIUS * np.cos(np.pi / 4)
        marks += [box(x - 1, y - 10, 25, 12, PAPER), text(x, y, f"{ring:g}", size=10)]
    marks.append(text(KEY, 92, "Quality of a direction, 0 to 1", is_bold=True))
    for step, fill in enumerate(RAMP):
        y = 106 + 22 * step
        marks += [box(KEY, y, 26, 16, fill, INK),
                  text(KEY + 36, y + 12, f"{step / len(RAMP):g} to {(step + 1) / len(RAMP):g}")]
    return marks + [_pale(KEY, 226, 26, 16), text(KEY + 36, 238, "pale, dashed: does not count"),
                    text(KEY, 268, "The length of a wedge is its quality too."),
                    text(KEY, 286, "North is up, azimuths run clockwise.")]


def _pale(x: float, y: float, width: int, height: int) -> Mark:
    """Draw what stands in the key for a wedge that does not count."""
    return mark("rect", x=f"{x:g}", y=f"{y:g}", width=f"{width}", height=f"{height}", fill=RAMP[1],
                fill_opacity="0.15", stroke=INK, stroke_width="0.8", stroke_dasharray="2 1.5")


def _narrow(quality, counts, width) -> tuple[list[Mark], int]:
    """Lay the rose out with its key below it, or beside it where there is room; its marks and height [px]."""
    is_beside = width >= BESIDE
    radius = min(100.0, (width - (KEY_PX if is_beside else 0.0)) / 2.0 - 26.0)
    x, y = (radius + 26.0 if is_beside else width / 2.0), radius + 20.0
    marks = rose_marks(quality, counts, x, y, radius)
    for ring in (0.5, 1.0):
        at = x + ring * radius * np.sin(np.pi / 4), y - ring * radius * np.cos(np.pi / 4)
        marks += [box(at[0] - 1, at[1] - 10, 19 if ring < 1 else 10, 12, PAPER), text(*at, f"{ring:g}", size=10)]
    left = width - KEY_PX if is_beside else 6.0
    top = y - 38.0 if is_beside else y + radius + 42.0
    marks.append(text(left, top, "Quality of a direction", size=NARROW_PX, is_bold=True))
    each = min(40.0, (width - left - 10.0) / len(RAMP))
    for step, fill in enumerate(RAMP):
        marks += [box(left + each * step, top + 8, each, 14, fill, INK),
                  text(left + each * step, top + 35, f"{step / len(RAMP):g}", "middle" if step else "start", NARROW_PX)]
    marks += [text(left + each * len(RAMP), top + 35, "1", "middle", NARROW_PX),
              _pale(left, top + 46, 24, 13), text(left + 30, top + 57, "does not count", size=NARROW_PX),
              text(left, top + 76, "The length shows it too.", size=NARROW_PX)]
    return marks, int(max(top + 84.0, y + radius + 22.0))


def _described(quality, counts) -> str:
    """Say in words what the chart shows."""
    if not counts.any():
        return f"None of {len(counts)} directions counts."
    best = int(np.argmax(np.where(counts, quality, -1.0)))
    width = 360.0 / len(counts)
    return (f"{int(counts.sum())} of {len(counts)} directions count, with a mean quality of "
            f"{float(np.mean(quality[counts])):.2f}; the best is at azimuth {degrees((best + 0.5) * width)}° "
            f"with {quality[best]:.2f}.")
