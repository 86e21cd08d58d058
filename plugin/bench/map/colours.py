"""Colours and lines of what is drawn on the map: dark lines on a light seam, readable over water, land and in grey."""
from __future__ import annotations

from qgis.PyQt.QtCore import Qt
from qgis.PyQt.QtGui import QBrush, QColor, QPen

from ....siting.charts.palette import PAPER, quality_colour

SECTOR_ALPHA, PALE_ALPHA = 175, 45
"""Of sectors that count, and of others; of 255."""
DASHES = (4.0, 3.0)
"""Lengths of dash and gap [px]."""


def tint(name: str, alpha: int = 255) -> QColor:
    """Return a colour with an opacity of 255."""
    made = QColor(name)
    made.setAlpha(alpha)
    return made


def line_pen(name: str, width: float, alpha: int = 255, is_dashed: bool = False) -> QPen:
    """Return a pen.

    Parameters
    ----------
    name : str
        Colour.
    width : float
        [logical px]
    alpha : int
        Opacity, of 255.
    is_dashed : bool
    """
    pen = QPen(tint(name, alpha), width)
    pen.setJoinStyle(Qt.PenJoinStyle.BevelJoin)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    if is_dashed:
        pen.setDashPattern([length / width for length in DASHES])
    return pen


def seam(width: float, alpha: int = 190) -> QPen:
    """Return the light pen that a dark line lies on."""
    return line_pen(PAPER, width, alpha)


def no_pen() -> QPen:
    """Return a pen that draws nothing."""
    return QPen(Qt.PenStyle.NoPen)


def sector_fill(quality: float, counts: bool) -> QBrush:
    """Return the fill of a sector; colours are those of the roses."""
    return QBrush(tint(quality_colour(quality), SECTOR_ALPHA if counts else PALE_ALPHA))


def is_dark(name: str) -> bool:
    """Tell whether light lines stand out from a colour."""
    return QColor(name).lightnessF() < 0.5
