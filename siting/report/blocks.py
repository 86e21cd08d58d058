"""The blocks that a site sheet is made of: the same for page and print."""
from __future__ import annotations

from dataclasses import dataclass, field

from ..charts.drawing import Drawing
from ..charts.mapframe import HEIGHT, map_chart


@dataclass
class Heading:
    """A heading; level 1 is the document, 2 a site, 3 a part of it."""

    level: int
    text: str


@dataclass
class Paragraph:
    """Words; `is_small` for what is beside the point."""

    text: str
    is_small: bool = False
    is_strong: bool = False


@dataclass
class Table:
    """A table of texts.

    `widths` are parts of the page's width, `numeric` the columns set to the right; `head_column` tells whether the
    first cell of a row names it; `is_data` marks figures behind a chart.
    """

    caption: str
    head: list
    rows: list
    widths: list
    numeric: tuple = ()
    head_column: bool = True
    is_data: bool = False


@dataclass
class Chart:
    """A drawing, as wide as the page allows."""

    drawing: Drawing


@dataclass
class MapFigure:
    """A map around a site; `half_m` is half its height on the ground [m], `layers` are filled in by who draws it."""

    title: str
    description: str
    chart_id: str
    lon: float
    lat: float
    half_m: float
    sectors: object
    footprints: object
    layers: list = field(default_factory=list)

    @property
    def metres_per_px(self) -> float:
        """Its scale [m per pixel of its drawing]."""
        return 2.0 * self.half_m / HEIGHT

    def drawing(self, image: str = "") -> Drawing:
        """Draw it around an image (a data URI), or what is drawn over one."""
        return map_chart(self.chart_id, self.title, self.description, self.metres_per_px, image)


@dataclass
class Section:
    """All blocks of one site."""

    name: str
    blocks: list


@dataclass
class Sheet:
    """A whole sheet: its title, blocks before and after the sites, and a section for each site."""

    title: str
    intro: list
    sections: list[Section]
    outro: list
