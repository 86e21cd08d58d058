"""A rose of quality by azimuth as SVG: north up, clockwise, readable in grey."""
from __future__ import annotations

import numpy as np

from ..arrays import Array
from .drawing import Drawing, Mark
from .marks import mark
from .palette import INK, RING, quality_colour


def small_rose(quality: Array, counts: Array, title: str, size: int = 200) -> Drawing:
    """Draw the quality of each azimuth bin as a wedge whose length and colour are its quality.

    Parameters
    ----------
    quality : ndarray, shape (bins,)
        0 to 1; the first bin begins at north.
    counts : ndarray of bool, shape (bins,)
        Bins that do not count are drawn pale, with a dashed edge.
    title : str
        Alternative text.
    size : int
        Width and height [px].

    Returns
    -------
    Drawing
        On a transparent ground, with the words of the page that it stands on.
    """
    middle = size / 2.0
    marks = rose_marks(quality, counts, middle, middle, size / 2.0 - 18.0)
    return Drawing("", size, size, title, "", tuple(marks), paper="", font="")


def rose_marks(quality: Array, counts: Array, x: float, y: float, radius: float) -> list[Mark]:
    """Draw a rose around a place, as marks of a greater drawing.

    Parameters
    ----------
    quality, counts : ndarray, shape (bins,)
        See `small_rose`.
    x, y, radius : float
        Its middle, and the length of quality 1 [px].

    Returns
    -------
    list of Mark
    """
    edges = np.radians(np.arange(len(quality) + 1) * 360.0 / len(quality))
    marks = []
    for ring in (0.25, 0.5, 0.75, 1.0):
        marks.append(mark("circle", cx=f"{x:g}", cy=f"{y:g}", r=f"{ring * radius:.1f}", fill="none", stroke=RING,
                          stroke_width="1" if ring == 1 else "0.5"))
    for i in np.flatnonzero(quality > 0):
        r = radius * float(quality[i])
        x1, y1 = x + r * np.sin(edges[i]), y - r * np.cos(edges[i])
        x2, y2 = x + r * np.sin(edges[i + 1]), y - r * np.cos(edges[i + 1])
        # dashed too: in grey a pale dark colour looks like a light one
        pale = {} if counts[i] else {"fill_opacity": "0.15", "stroke_dasharray": "2 1.5"}
        thick, dark = (0.3, 0.6) if counts[i] else (0.8, 1.0)
        marks.append(mark("path", d=f"M{x:g} {y:g}L{x1:.1f} {y1:.1f}A{r:.1f} {r:.1f} 0 0 1 {x2:.1f} {y2:.1f}Z",
                          fill=quality_colour(float(quality[i])), **pale, stroke=INK, stroke_width=f"{thick:g}",
                          stroke_opacity=f"{dark:g}"))
    reach = radius + 10.0
    for name, at, base in (("N", x, y - radius - 5), ("E", x + reach, y + 4), ("S", x, y + radius + 14),
                           ("W", x - reach, y + 4)):
        marks.append(mark("text", name, x=f"{at:g}", y=f"{base:g}", text_anchor="middle", font_size="12", fill=INK))
    return marks
