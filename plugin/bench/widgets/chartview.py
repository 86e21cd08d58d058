"""Showing a chart of `siting.charts` in a window: as wide as there is room, in the colours of the window."""
from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape
from typing import Callable

from qgis.PyQt.QtCore import QByteArray, QEvent, QRectF, QSize, Qt
from qgis.PyQt.QtGui import QFontInfo, QPainter
from qgis.PyQt.QtSvg import QSvgRenderer
from qgis.PyQt.QtWidgets import QLabel, QSizePolicy, QStyle, QStyleOptionFocusRect

from ....siting.charts.drawing import WIDTH, Drawing
from ....siting.charts.placing import NARROW
from .windowcolours import shades_of

FONT_PX = 12.0
"""Height of the window's words at which charts are drawn as they are [px]; with larger words they grow too."""
OLD_OPACITY = 0.4
"""How much of a chart is seen that shows what was found before."""


class ChartView(QLabel):
    """A chart that is laid out anew for each width, stays sharp on any screen, and can be read aloud.

    It is a label, so that it has a label's ink.

    Parameters
    ----------
    keep : sequence of str
        Colours that stay in a dark window, see `siting.charts.drawing.Drawing.recoloured`.
    """

    def __init__(self, keep: Sequence[str] = (), parent=None):
        super().__init__(parent)
        self._keep, self._draw, self._drawn_for, self._is_old = tuple(keep), None, None, False
        self.svg, self._size = "", QSize()
        self._renderer = QSvgRenderer(self)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)

    def show_chart(self, draw: Callable[[int], Drawing] | None) -> None:
        """Show a chart.

        Parameters
        ----------
        draw : callable or None
            Returns the chart for a width [px]; None: nothing.
        """
        self._draw, self._drawn_for, self._is_old = draw, None, False
        if self.isVisible():
            self._lay_out()

    def set_old(self, is_old: bool) -> None:
        """Show it pale, for it tells of the place before."""
        if is_old != self._is_old:
            self._is_old = is_old
            self.update()

    def _lay_out(self) -> None:
        if self._draw is None or self.width() <= 0:
            return
        scale = max(QFontInfo(self.font()).pixelSize() / FONT_PX, 0.75)
        width = int(max(NARROW, min(WIDTH, self.width() / scale)))
        shades = shades_of(self)
        if self._drawn_for == (width, shades, scale):
            return
        self._drawn_for = (width, shades, scale)
        drawing = self._draw(width).recoloured(shades, self._keep)
        self.svg = drawing.svg()
        self._renderer.load(QByteArray(self.svg.encode("utf-8")))
        self._name_it(drawing)
        size = QSize(drawing.width, drawing.height) * scale
        if size.width() > self.width():
            size.scale(self.width(), size.height(), Qt.AspectRatioMode.KeepAspectRatio)
        if size != self._size:
            self._size = size
            self.setFixedHeight(math.ceil(size.height()))
        self.update()

    def _name_it(self, drawing: Drawing) -> None:
        """Tell screen readers and the mouse what the chart itself says of it."""
        self.setAccessibleName(drawing.title)
        self.setAccessibleDescription(drawing.description)
        self.setToolTip(f"<p>{escape(drawing.description)}</p>")

    def minimumSizeHint(self):
        return QSize(120, max(self._size.height(), 0))

    def sizeHint(self):
        return QSize(NARROW, max(self._size.height(), 0))

    def paintEvent(self, _event):
        if self._draw is None or not self._renderer.isValid():
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setOpacity(OLD_OPACITY if self._is_old else 1.0)
        left = (self.width() - self._size.width()) / 2.0
        self._renderer.render(painter, QRectF(left, 0.0, self._size.width(), self._size.height()))
        if self.hasFocus():
            option = QStyleOptionFocusRect()
            option.initFrom(self)
            self.style().drawPrimitive(QStyle.PrimitiveElement.PE_FrameFocusRect, option, painter, self)
        painter.end()

    def resizeEvent(self, event):
        super().resizeEvent(event)
        if self.isVisible():
            self._lay_out()

    def showEvent(self, event):
        super().showEvent(event)
        self._lay_out()

    def changeEvent(self, event):
        super().changeEvent(event)
        if event.type() in (QEvent.Type.PaletteChange, QEvent.Type.FontChange, QEvent.Type.StyleChange) \
                and self.isVisible():
            self._lay_out()
