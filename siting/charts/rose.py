"""A rose of quality by azimuth as SVG: north up, clockwise, readable in grey."""
from __future__ import annotations

from html import escape

import numpy as np

from .palette import INK, RING, quality_colour


def rose_svg(quality: np.ndarray, counts: np.ndarray, title: str, size: int = 200) -> str:
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
    str
        An SVG element.
    """
    middle = size / 2.0
    marks = rose_marks(quality, counts, middle, middle, size / 2.0 - 18.0)
    return (f'<svg xmlns="http://www.w3.org/2000/svg" width="{size}" height="{size}" '
            f'viewBox="0 0 {size} {size}" role="img" aria-label="{escape(title)}">'
            f"<title>{escape(title)}</title>{''.join(marks)}</svg>")


def rose_marks(quality: np.ndarray, counts: np.ndarray, x: float, y: float, radius: float) -> list[str]:
    """Draw a rose around a place, as parts of a greater drawing.

    Parameters
    ----------
    quality, counts : ndarray, shape (bins,)
        See `rose_svg`.
    x, y, radius : float
        Its middle, and the length of quality 1 [px].

    Returns
    -------
    list of str
        SVG elements.
    """
    edges = np.radians(np.arange(len(quality) + 1) * 360.0 / len(quality))
    parts = []
    for ring in (0.25, 0.5, 0.75, 1.0):
        parts.append(f'<circle cx="{x:g}" cy="{y:g}" r="{ring * radius:.1f}" fill="none" '
                     f'stroke="{RING}" stroke-width="{1 if ring == 1 else 0.5}"/>')
    for i in np.flatnonzero(quality > 0):
        r = radius * float(quality[i])
        x1, y1 = x + r * np.sin(edges[i]), y - r * np.cos(edges[i])
        x2, y2 = x + r * np.sin(edges[i + 1]), y - r * np.cos(edges[i + 1])
        # dashed too: in grey a pale dark colour looks like a light one
        pale = "" if counts[i] else ' fill-opacity="0.15" stroke-dasharray="2 1.5"'
        thick, dark = (0.3, 0.6) if counts[i] else (0.8, 1.0)
        parts.append(f'<path d="M{x:g} {y:g}L{x1:.1f} {y1:.1f}A{r:.1f} {r:.1f} 0 0 1 {x2:.1f} {y2:.1f}Z" '
                     f'fill="{quality_colour(float(quality[i]))}"{pale} stroke="{INK}" '
                     f'stroke-width="{thick:g}" stroke-opacity="{dark:g}"/>')
    reach = radius + 10.0
    for text, at, base in (("N", x, y - radius - 5), ("E", x + reach, y + 4), ("S", x, y + radius + 14),
                           ("W", x - reach, y + 4)):
        parts.append(f'<text x="{at:g}" y="{base:g}" text-anchor="middle" font-size="12" fill="{INK}">{text}</text>')
    return parts
