"""The colours of charts, pages, prints, maps and windows, each once.

What tells a figure differs in lightness, so that grey prints and colour-blind readers lose nothing: quality runs over
steps of Cividis, and red is never set against green alone; where hues part kinds of equal worth, a dash or a shape
parts them too.
"""
from __future__ import annotations

from string import Template
from typing import NamedTuple

# five steps of Cividis (Nuñez, Anderton & Renslow 2018), dark to light: made for colour-blind readers
RAMP = ("#00204d", "#414d6b", "#7d7c78", "#beaf6f", "#ffea46")
"""Quality from 0 to 1, in equal steps."""
# finer steps of Cividis, its yellow left out for want of contrast on paper
CURVES = ("#00204d", "#2b446e", "#575c6d", "#707173", "#8f8a70", "#a8974f")
"""Lines of a chart side by side; a dash for each besides."""

INK, SOFT, PALE, PAPER = "#1c2430", "#4a5564", "#d5dae0", "#ffffff"
"""Words and lines, softer ones, grids and rules, and the ground."""
DARK, LIGHT = RAMP[1], "#cbd0d8"
"""What counts, and what does not: far apart in grey too."""
SHADE, RING = "#e6e9ed", "#9aa4b0"
"""What lies behind, and rings of a rose."""
WASH = "#eef1f4"
"""The palest ground that still stands out from paper: heads of tables, water that comes and goes."""
WEDGE = "#d8e0ea"
"""The key's stand-in for ground that lies pale over a map."""
PRINTED_HEAD = "#e4e8ec"
"""Heads of printed tables: a shade darker than `WASH`, which paper loses."""
RULE, TRACK = "#b9c0c9", "#dfe4e9"
"""Rules below headings, and what bars run along."""
LINK = "#1f4e8c"
"""Links of a page: dark enough to read, blue as readers expect."""

MAP_INK = "#141a22"
"""Outlines and words on maps: darker than `INK`, for imagery lies below."""
# of its own, light to dark, that neither water, fields nor the colours of quality hide
FOOTPRINTS = ("#ffe9f6", "#ffb0dd", "#ee6cb8", "#a8206f")
"""Outlines of footprints, lowest angle first."""
ZONE = "#8a1a5c"
"""Footprints where only one colour is used: dark as the last of `FOOTPRINTS`, for thinner lines."""
# of Okabe and Ito (2008), made for colour-blind readers
VERMILION, SKY_BLUE, BLUISH_GREEN, YELLOW = "#d55e00", "#56b4e9", "#009e73", "#f0e442"
SYSTEMS = {"GPS": VERMILION, "GLONASS": SKY_BLUE, "Galileo": BLUISH_GREEN, "BeiDou": YELLOW, "QZSS": PAPER}
"""Satellite systems; a dash for each besides."""
MOVE = VERMILION
"""Arrows of moves: orange, as nothing else on the map."""
SMOKE = "#3c424c"
"""Smoked glass over ground that no satellite crosses."""
SHALLOW, DEEP = SKY_BLUE, "#003c6e"
"""Water that was closed from a shoreline, pale over imagery, and its rim."""

MARKER, REFUSED = "#fee838", "#e6ebf0"
"""The antenna that is dragged over the map, and where it cannot stand: as light, without colour."""
NIGHT_BLUE = "#a9bfe6"
"""What counts, on the ground of a dark window."""

SLATE, SNOW, MIST = "#1d2b38", "#f4f6f8", "#b9c5d0"
"""The sample map's ground, dark as the sea is, and on it words and lines, and quieter words."""
SAMPLE_INK, SAMPLE_SITE, SAMPLE_AVOID = "#14181e", "#ffd64f", "#ffaa5a"
"""On the sample map's image: outlines and words, sites, and hatches of areas to avoid."""
SAMPLE_WATER, SAMPLE_BUILDING = "#96e1ff", "#fafafa"
"""Outlines on it."""


class Shades(NamedTuple):
    """The colours of a chart, such as ``"#1c2430"``; its marks with a meaning of their own keep theirs.

    Attributes
    ----------
    ink, soft, pale, paper : str
        Words and lines, softer ones, the palest, and the ground.
    dark, light : str
        What counts, and what does not.
    shade, ring : str
        What lies behind, and rings of a rose.
    """

    ink: str = INK
    soft: str = SOFT
    pale: str = PALE
    paper: str = PAPER
    dark: str = DARK
    light: str = LIGHT
    shade: str = SHADE
    ring: str = RING


def quality_colour(quality: float) -> str:
    """Return the colour of a quality 0 to 1.

    Examples
    --------
    >>> quality_colour(0.0), quality_colour(0.2), quality_colour(1.0)
    ('#00204d', '#414d6b', '#ffea46')
    """
    return RAMP[int(min(max(quality * len(RAMP), 0), len(RAMP) - 1))]


def channels(colour: str) -> tuple[int, int, int]:
    """Return red, green and blue of a colour, 0 to 255.

    Examples
    --------
    >>> channels("#d55e00")
    (213, 94, 0)
    """
    red, green, blue = (int(colour[at:at + 2], 16) for at in (1, 3, 5))
    return red, green, blue


def rgba(colour: str, opacity: int = 255) -> str:
    """Write a colour as symbols of maps take it, with an opacity of 255.

    Examples
    --------
    >>> rgba("#141a22", 80)
    '20,26,34,80'
    """
    return ",".join(map(str, (*channels(colour), opacity)))


def styled(css: str) -> str:
    """Write the colours into a style sheet that names them, such as ``$ink``.

    Raises
    ------
    KeyError
        If it names a colour that no page has.

    Examples
    --------
    >>> styled("p{color:$soft}")
    'p{color:#4a5564}'
    """
    return Template(css).substitute(ink=INK, soft=SOFT, pale=PALE, paper=PAPER, dark=DARK, wash=WASH, rule=RULE,
                                    track=TRACK, link=LINK)
