"""The rose of quality by azimuth with its key, as a chart of its own."""
from __future__ import annotations

import numpy as np

from ..verdict.rose import RAMP, rose_marks
from ..verdict.wording import degrees
from .drawing import INK, box, document, text

HEIGHT = 330
MIDDLE, RADIUS = (178.0, 168.0), 134.0
KEY = 392.0


def rose_chart(chart_id: str, title: str, quality: np.ndarray, counts: np.ndarray) -> str:
    """Draw the quality of each direction, and say what length, colour and paleness mean.

    Parameters
    ----------
    chart_id, title : str
    quality : ndarray, shape (bins,)
        0 to 1; the first bin begins at north.
    counts : ndarray of bool, shape (bins,)

    Returns
    -------
    str
        An SVG element.
    """
    parts = rose_marks(quality, counts, *MIDDLE, RADIUS)
    for ring in (0.25, 0.5, 0.75, 1.0):
        x, y = MIDDLE[0] + ring * RADIUS * np.sin(np.pi / 4), MIDDLE[1] - ring * RADIUS * np.cos(np.pi / 4)
        parts += [box(x - 1, y - 10, 25, 12, "#ffffff"), text(x, y, f"{ring:g}", size=10)]
    parts.append(text(KEY, 92, "Quality of a direction, 0 to 1", more=' font-weight="bold"'))
    for step, fill in enumerate(RAMP):
        y = 106 + 22 * step
        parts += [box(KEY, y, 26, 16, fill, INK),
                  text(KEY + 36, y + 12, f"{step / len(RAMP):g} to {(step + 1) / len(RAMP):g}")]
    parts += [f'<rect x="{KEY:g}" y="226" width="26" height="16" fill="{RAMP[1]}" fill-opacity="0.15" '
              f'stroke="{INK}" stroke-width="0.8" stroke-dasharray="2 1.5"/>',
              text(KEY + 36, 238, "pale, dashed: does not count"),
              text(KEY, 268, "The length of a wedge is its quality too."),
              text(KEY, 286, "North is up, azimuths run clockwise.")]
    if counts.any():
        best = int(np.argmax(np.where(counts, quality, -1.0)))
        width = 360.0 / len(counts)
        said = (f"{int(counts.sum())} of {len(counts)} directions count, with a mean quality of "
                f"{float(np.mean(quality[counts])):.2f}; the best is at azimuth {degrees((best + 0.5) * width)}° "
                f"with {quality[best]:.2f}.")
    else:
        said = f"None of {len(counts)} directions counts."
    return document(chart_id, HEIGHT, title, said, parts)
