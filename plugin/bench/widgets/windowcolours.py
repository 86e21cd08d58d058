"""The colours that a window really has: themes by style sheet leave others in its palette."""
from __future__ import annotations

from qgis.PyQt.QtGui import QColor, QPalette
from qgis.PyQt.QtWidgets import QLabel, QWidget

from ....siting.charts.palette import NIGHT_BLUE, PAPER, Shades

DARK_BELOW = 128
"""Lightness of the ground, of 255, below which a window is dark."""
OWN_ROLE = QPalette.ColorRole.BrightText
"""Under which a label keeps a colour of its own; no style sheet takes that one over."""


def ground_of(widget: QWidget) -> QColor:
    """Return the colour behind a widget: that of the nearest around it which is not transparent."""
    while widget is not None:
        colour = widget.palette().color(QPalette.ColorRole.Window)
        if colour.alpha() == 255:
            return colour
        widget = widget.parentWidget()
    return QColor(PAPER)


def ink_of(label: QLabel) -> QColor:
    """Return the colour of a label's words; style sheets give words to labels only."""
    label.ensurePolished()
    return label.palette().color(QPalette.ColorRole.WindowText)


def mixed(one: QColor, other: QColor, part: float) -> QColor:
    """Mix two colours; `part` of 1 is the other."""
    return QColor(*(round(a + (b - a) * part) for a, b in zip(one.getRgb()[:3], other.getRgb()[:3])))


def soften(label: QLabel, part: float) -> None:
    """Write a label's words in so much of its ink, the rest ground."""
    colours = QPalette(label.palette())
    colours.setColor(OWN_ROLE, mixed(ground_of(label), ink_of(label), part))
    label.setPalette(colours)
    label.setForegroundRole(OWN_ROLE)


def shades_of(label: QLabel) -> Shades:
    """Choose a chart's colours to match a window's; in a light window only the ground differs from paper."""
    paper, ink = ground_of(label), ink_of(label)
    if paper.lightness() >= DARK_BELOW:
        return Shades(paper=paper.name())
    if ink.lightness() < DARK_BELOW:
        # dark words on a ground that is not light: as on paper, with greys that stand apart from it
        pale, light, shade, ring = (mixed(paper, QColor(PAPER), part).name() for part in (0.3, 0.5, 0.15, 0.45))
        return Shades(ink.name(), ink.name(), pale, paper.name(), ink.name(), light, shade, ring)
    soft, pale, light, shade, ring = (mixed(paper, ink, part).name() for part in (0.8, 0.2, 0.3, 0.12, 0.45))
    return Shades(ink.name(), soft, pale, paper.name(), NIGHT_BLUE, light, shade, ring)
