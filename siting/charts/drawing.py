"""What all charts are: a drawing of marks that knows its size, what it shows, its words and its colours."""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from html import escape
from typing import NamedTuple

from .palette import PAPER, Shades

WIDTH = 720
"""Width of every chart [px]: printed 180 mm wide its words are 9 points high."""
FONT = "DejaVu Sans, Noto Sans, sans-serif"
COLOURED = ("fill", "stroke")
"""Attributes of a mark that hold its colours."""


class Words(NamedTuple):
    """Words of a drawing, for who sets them otherwise than SVG does.

    Attributes
    ----------
    words : str
    x, y : float
        Where they begin, have their middle or end by `anchor`, and their base line [px].
    size : float
        Height of the letters [px].
    anchor : str
        ``start``, ``middle`` or ``end``.
    is_bold, is_upright : bool
        The latter: read from below.
    """

    words: str
    x: float
    y: float
    size: float
    anchor: str
    is_bold: bool
    is_upright: bool


class Mark(NamedTuple):
    """One element of a drawing: its tag, its attributes in the order they are written, and its words if it is text."""

    tag: str
    given: dict[str, str]
    words: str = ""

    def svg(self) -> str:
        """Write the element; words are escaped."""
        given = "".join(f' {name}="{value}"' for name, value in self.given.items())
        end = f">{escape(self.words)}</text>" if self.tag == "text" else "/>"
        return f"<{self.tag}{given}{end}"

    def recoloured(self, other: dict[str, str]) -> Mark:
        """Return it with other colours instead of some."""
        return self._replace(given={name: other.get(value, value) if name in COLOURED else value
                                    for name, value in self.given.items()})


@dataclass(frozen=True)
class Drawing:
    """A chart.

    Attributes
    ----------
    chart_id : str
        Begins the ids in it: unique on its page; letters, digits and hyphens. Empty: it has no ids.
    width, height : int
        [px]
    title, description : str
        What it is, and what it shows, for those who cannot see it; empty: the title says it all.
    marks : tuple of Mark
        The lowest first.
    paper : str
        Colour of the ground; empty: transparent.
    font : str
        Families of the words; empty: those of the page.
    """

    chart_id: str
    width: int
    height: int
    title: str
    description: str
    marks: tuple[Mark, ...]
    paper: str = PAPER
    font: str = FONT

    @property
    def words(self) -> list[Words]:
        """Its words, in the order in which they are drawn."""
        return [Words(mark.words, float(mark.given["x"]), float(mark.given["y"]), float(mark.given["font-size"]),
                      mark.given["text-anchor"], mark.given.get("font-weight") == "bold", "transform" in mark.given)
                for mark in self.marks if mark.tag == "text"]

    def without_words(self) -> Drawing:
        """Return it without its words."""
        return replace(self, marks=tuple(mark for mark in self.marks if mark.tag != "text"))

    def recoloured(self, shades: Shades, keep: Sequence[str] = ()) -> Drawing:
        """Return it in other colours, for a dark window.

        Parameters
        ----------
        shades : Shades
        keep : sequence of str
            Colours that stay, for they tell something: those of a ramp.

        Examples
        --------
        >>> line = Mark("line", {"stroke": Shades().ink})
        >>> Drawing("", 9, 9, "", "", (line,)).recoloured(Shades(ink="white")).marks[0].svg()
        '<line stroke="white"/>'
        """
        other = {old: new for old, new in zip(Shades(), shades) if old not in keep}
        return replace(self, paper=other.get(self.paper, self.paper),
                       marks=tuple(mark.recoloured(other) for mark in self.marks))

    def svg(self, between: str = "") -> str:
        """Write it as an SVG element with its alternative text; title, description and words are escaped.

        Parameters
        ----------
        between : str
            What parts its elements: a line break where people read it.
        """
        name, title, description = self.chart_id, escape(self.title), escape(self.description)
        label = f'aria-labelledby="{name}-t {name}-d"' if name else f'aria-label="{title}"'
        font = f' font-family="{self.font}"' if self.font else ""
        parts = [f'<svg xmlns="http://www.w3.org/2000/svg" width="{self.width}" height="{self.height}" '
                 f'viewBox="0 0 {self.width} {self.height}" role="img" {label}{font}>',
                 f'<title id="{name}-t">{title}</title>' if name else f"<title>{title}</title>"]
        if description:
            parts.append(f'<desc id="{name}-d">{description}</desc>' if name else f"<desc>{description}</desc>")
        if self.paper:
            parts.append(f'<rect width="{self.width}" height="{self.height}" fill="{self.paper}"/>')
        return between.join([*parts, *(mark.svg() for mark in self.marks), "</svg>"])
