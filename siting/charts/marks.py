"""The marks that charts are drawn with: words, lines, boxes, shapes."""
from __future__ import annotations

from collections.abc import Sequence

from .drawing import Mark
from .palette import INK

TEXT_PX = 12


def mark(tag: str, words: str = "", **given: str) -> Mark:
    """Make any element; a hyphen in an attribute's name is written as an underline.

    Examples
    --------
    >>> mark("path", d="M0 0H9", stroke_width="2").svg()
    '<path d="M0 0H9" stroke-width="2"/>'
    """
    return Mark(tag, {name.replace("_", "-"): value for name, value in given.items()}, words)


def text(x: float, y: float, words: str, anchor: str = "start", size: float = TEXT_PX, is_bold: bool = False) -> Mark:
    """Write words at a place; their base line is `y`."""
    more = {"font_weight": "bold"} if is_bold else {}
    return mark("text", words, x=f"{x:.1f}", y=f"{y:.1f}", font_size=f"{size:g}", text_anchor=anchor, fill=INK, **more)


def upright(x: float, y: float, words: str, size: float = TEXT_PX) -> Mark:
    """Write the name of a vertical axis, read from below."""
    level = text(x, y, words, "middle", size)
    return level._replace(given={**level.given, "transform": f"rotate(-90 {x:.1f} {y:.1f})"})


def line(x1: float, y1: float, x2: float, y2: float, colour: str = INK, width: float = 1.0, dash: str = "") -> Mark:
    """Draw a straight line."""
    more = {"stroke_dasharray": dash} if dash else {}
    return mark("line", x1=f"{x1:.1f}", y1=f"{y1:.1f}", x2=f"{x2:.1f}", y2=f"{y2:.1f}", stroke=colour,
                stroke_width=f"{width:g}", **more)


def box(x: float, y: float, width: float, height: float, fill: str, stroke: str = "none",
        stroke_width: float = 0.5) -> Mark:
    """Draw a rectangle."""
    return mark("rect", x=f"{x:.1f}", y=f"{y:.1f}", width=f"{max(width, 0.0):.1f}", height=f"{max(height, 0.0):.1f}",
                fill=fill, stroke=stroke, stroke_width=f"{stroke_width:g}")


def shape(points: Sequence[tuple], fill: str, stroke: str = "none", width: float = 1.0) -> Mark:
    """Draw a polygon."""
    outline = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
    return mark("polygon", points=outline, fill=fill, stroke=stroke, stroke_width=f"{width:g}")


def axes(left: float, top: float, bottom: float, right: float) -> Mark:
    """Draw a vertical axis on the left and a level one at the foot."""
    return mark("path", d=f"M{left:g} {top:g}V{bottom:g}H{right:g}", fill="none", stroke=INK)
