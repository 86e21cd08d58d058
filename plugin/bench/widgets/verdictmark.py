"""The sign of a verdict: told apart by its shape, and by how full it is."""
from __future__ import annotations

from qgis.PyQt.QtCore import QPointF, QRectF, QSize, Qt
from qgis.PyQt.QtGui import QPainter, QPaintEvent, QPen, QPolygonF
from qgis.PyQt.QtWidgets import QLabel, QSizePolicy

from ....siting.verdict.score import MARGINAL, SUITABLE, UNSUITABLE
from .windowcolours import ground_of, ink_of


class VerdictMark(QLabel):
    """A full disc with a tick, a half-full diamond, an empty square with a cross, or a dotted ring."""

    def __init__(self, parent=None):
        super().__init__(parent)
        self._verdict = ""
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def show_verdict(self, verdict: str) -> None:
        """Show the sign of a verdict of `siting.verdict.score`."""
        if verdict != self._verdict:
            self._verdict = verdict
            self.update()

    def sizeHint(self) -> QSize:
        side = int(2.2 * self.fontMetrics().height())
        return QSize(side, side)

    def paintEvent(self, _event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        side = min(self.width(), self.height())
        painter.scale(side / 32.0, side / 32.0)
        ink, ground = ink_of(self), ground_of(self)
        painter.setPen(QPen(ink, 2.4))
        draw = {SUITABLE: _disc, MARGINAL: _diamond, UNSUITABLE: _square}.get(self._verdict, _ring)
        draw(painter, ink, ground)
        painter.end()


def _disc(painter, ink, ground):
    painter.setBrush(ink)
    painter.drawEllipse(QRectF(3, 3, 26, 26))
    painter.setPen(QPen(ground, 3.4, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap, Qt.PenJoinStyle.RoundJoin))
    painter.drawPolyline(QPolygonF([QPointF(9.5, 16.5), QPointF(14.2, 21.5), QPointF(22.5, 11)]))


def _diamond(painter, ink, _ground):
    top, right, bottom, left = QPointF(16, 2.5), QPointF(29.5, 16), QPointF(16, 29.5), QPointF(2.5, 16)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawPolygon(QPolygonF([top, right, bottom, left]))
    painter.setBrush(ink)
    painter.drawPolygon(QPolygonF([right, bottom, left]))


def _square(painter, _ink, _ground):
    painter.drawRect(QRectF(4, 4, 24, 24))
    painter.drawLine(QPointF(10, 10), QPointF(22, 22))
    painter.drawLine(QPointF(22, 10), QPointF(10, 22))


def _ring(painter, ink, _ground):
    painter.setPen(QPen(ink, 2.4, Qt.PenStyle.DotLine))
    painter.drawEllipse(QRectF(4, 4, 24, 24))
