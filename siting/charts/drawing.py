"""What all charts share: the document with its alternative text, words, lines and the places of labels."""
from __future__ import annotations

import re
from html import escape
from typing import Callable, Sequence

import numpy as np

from .palette import INK, PAPER, Shades

WIDTH = 720
"""Width of every chart [px]: printed 180 mm wide its words are 9 points high."""
FONT = "DejaVu Sans, Noto Sans, sans-serif"
TEXT_PX = 12
NARROW, NARROW_PX = 220, 11
"""Least width at which charts can be laid out, and the height of the words where they are narrower than `WIDTH`
[px]."""
LETTER = 0.62
"""Width of a letter of the widest common sans-serif, in heights of the words (from memory)."""


def recoloured(svg: str, shades: Shades, keep: Sequence[str] = ()) -> str:
    """Give a chart other colours, for a dark window.

    Parameters
    ----------
    svg : str
        As drawn by the functions of this package.
    shades : Shades
    keep : sequence of str
        Colours that stay, for they tell something: those of a ramp.

    Returns
    -------
    str

    Examples
    --------
    >>> recoloured('<line stroke="#1c2430"/>', Shades(ink="#ffffff"))
    '<line stroke="#ffffff"/>'
    """
    other = {old: new for old, new in zip(Shades(), shades) if old not in keep}
    return re.sub(r'"(#[0-9a-f]{6})"', lambda found: f'"{other.get(found[1], found[1])}"', svg)


def flowing(items: Sequence[tuple[Callable, str]], left: float, right: float, y: float,
            row: float = 17.0) -> tuple[list, float]:
    """Set the items of a key one after the other, in as many rows as they need.

    Parameters
    ----------
    items : sequence of (mark, words)
        `mark(x, y)` returns the parts of a mark 24 px wide whose middle is at height `y`.
    left, right, y : float
        Where the first begins, where each must end, and the middle of the first row [px].
    row : float
        Distance of the rows [px].

    Returns
    -------
    parts : list of str
    y : float
        Middle of the last row [px].
    """
    parts, x = [], left
    for mark, words in items:
        length = 30.0 + LETTER * NARROW_PX * len(words)
        if x > left and x + length > right:
            x, y = left, y + row
        parts += [*mark(x, y), text(x + 30.0, y + 4.0, words, size=NARROW_PX)]
        x += length + 12.0
    return parts, y


def document(chart_id: str, height: int, title: str, description: str, parts: Sequence[str],
             width: int = WIDTH, has_paper: bool = True) -> str:
    """Put parts together to an SVG element with its alternative text.

    Parameters
    ----------
    chart_id : str
        Unique on the page; letters, digits and hyphens.
    height, width : int
        [px]
    title, description : str
        What it is, and what it shows; both are escaped.
    parts : sequence of str
        SVG elements.
    has_paper : bool
        Draw a white ground.

    Returns
    -------
    str
    """
    paper = f'<rect width="{width}" height="{height}" fill="{PAPER}"/>' if has_paper else ""
    return (f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" '
            f'viewBox="0 0 {width} {height}" role="img" aria-labelledby="{chart_id}-t {chart_id}-d" '
            f'font-family="{FONT}"><title id="{chart_id}-t">{escape(title)}</title>'
            f'<desc id="{chart_id}-d">{escape(description)}</desc>{paper}{"".join(parts)}</svg>')


def text(x: float, y: float, words: str, anchor: str = "start", size: float = TEXT_PX, more: str = "") -> str:
    """Write words at a place; their base line is `y`."""
    return (f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" text-anchor="{anchor}" fill="{INK}"{more}>'
            f"{escape(words)}</text>")


def line(x1: float, y1: float, x2: float, y2: float, colour: str = INK, width: float = 1.0, dash: str = "") -> str:
    """Draw a straight line."""
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return (f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{colour}" '
            f'stroke-width="{width:g}"{dashes}/>')


def box(x: float, y: float, width: float, height: float, fill: str, stroke: str = "none",
        stroke_width: float = 0.5) -> str:
    """Draw a rectangle."""
    return (f'<rect x="{x:.1f}" y="{y:.1f}" width="{max(width, 0.0):.1f}" height="{max(height, 0.0):.1f}" '
            f'fill="{fill}" stroke="{stroke}" stroke-width="{stroke_width:g}"/>')


def shape(points: Sequence[tuple], fill: str, stroke: str = "none", width: float = 1.0) -> str:
    """Draw a polygon."""
    outline = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
    return f'<polygon points="{outline}" fill="{fill}" stroke="{stroke}" stroke-width="{width:g}"/>'


def upright(x: float, y: float, words: str, size: float = TEXT_PX) -> str:
    """Write the name of a vertical axis, read from below."""
    return text(x, y, words, "middle", size, f' transform="rotate(-90 {x:.1f} {y:.1f})"')


def tick_step(span: float, most: int) -> float:
    """Choose a round distance of ticks (1, 2 or 5 times a power of ten) so that at most `most` fit into a span.

    Examples
    --------
    >>> tick_step(20.0, 5), tick_step(1.3, 4), tick_step(90.0, 5)
    (5.0, 0.5, 20.0)
    """
    power = 10.0 ** np.floor(np.log10(span / most))
    return float(next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power * most >= span * (1.0 - 1e-9)))


def apart(wanted: Sequence[float], least: float) -> np.ndarray:
    """Move positions apart where they would be nearer than `least`, keeping their order and their middle.

    Examples
    --------
    >>> apart([10.0, 11.0, 40.0], 9.0).tolist()
    [6.0, 15.0, 40.0]
    """
    order = np.argsort(wanted, kind="stable")
    groups: list[list] = []
    for place in np.asarray(wanted, float)[order]:
        groups.append([place, 1])  # middle, number
        while len(groups) > 1 and (groups[-1][0] - groups[-2][0]
                                   < least * (groups[-1][1] + groups[-2][1]) / 2.0 - 1e-9):
            (one, n), (other, m) = groups[-2], groups.pop()
            groups[-1] = [(one * n + other * m) / (n + m), n + m]
    placed = np.concatenate([middle + least * (np.arange(n) - (n - 1) / 2.0) for middle, n in groups])
    result = np.empty_like(placed)
    result[order] = placed
    return result
