"""What the bench draws on the map: the antenna, what lies around it, and the positions pinned; never a layer."""
from __future__ import annotations

from qgis.gui import QgsMapCanvas, QgsMapCanvasItem
from qgis.PyQt.QtCore import QLocale, QPointF, QRectF, Qt
from qgis.PyQt.QtGui import QFont, QFontMetricsF, QPainter, QPainterPath, QTransform
from qgis.PyQt.QtWidgets import QStyleOptionGraphicsItem, QWidget

from ....siting.charts.palette import INK, MARKER, PAPER, REFUSED
from ..model.bench import Bench, in_crs
from ..widgets.links import Links
from .colours import line_pen, seam, tint
from .strokes import strokes_of

RADIUS, HALO = 7.5, 12.5
"""Of the antenna's marker [px]."""
LABEL_FROM = 21.0
"""Where the height begins, from the antenna [px]."""
PIN_HEAD, PIN_UP = 9.5, 23.0
"""Radius of a pin's head, and its height over the position [px]."""


class SpotItem(QgsMapCanvasItem):
    """Draws a bench on a map canvas.

    Paths are mapped to pixels when the map's scale or rotation changes; a move of map or antenna only shifts them.

    Parameters
    ----------
    canvas : QgsMapCanvas
    bench : Bench
    """

    def __init__(self, canvas: QgsMapCanvas, bench: Bench):
        super().__init__(canvas)
        self._canvas, self._bench = canvas, bench
        self._is_open = True
        self._strokes, self._on_screen = [], []
        self._crs = None
        self._is_refused = False
        self._linear = QTransform()
        self._at: QPointF | None = None
        self._pins: list[tuple[int, QPointF]] = []
        self._bounds = QRectF()
        self._links = Links((bench.place_changed, self._take_place), (bench.spot_changed, self._take_spot),
                            (bench.pins_changed, self.updatePosition), (bench.shown_changed, self._redraw))
        self._take_spot(bench.spot)

    def close(self) -> None:
        """Let go of the bench and leave the canvas."""
        if not self._is_open:
            return
        self._is_open = False
        self._links.let_go()
        if self.scene() is not None:
            self.scene().removeItem(self)
        self._strokes, self._on_screen, self._pins, self._at = [], [], [], None

    # -- what is drawn ----------------------------------------------------------------------------------------------

    def _take_place(self, place):
        if self._strokes and (place is None or place.crs != self._crs):
            self._set_strokes([])
        self._is_refused = False
        self.updatePosition()

    def _take_spot(self, spot):
        place = self._bench.place
        shapes = None if spot is None or place is None else spot.shapes
        # nothing found yet is no refusal while it is still looked for
        is_told = spot is not None or not self._bench.engine.is_busy()
        self._is_refused = place is not None and shapes is None and is_told
        self._crs = None if place is None else place.crs
        self._set_strokes([] if shapes is None else strokes_of(shapes))
        self.updatePosition()

    def _set_strokes(self, strokes):
        self._strokes = strokes
        self._on_screen = [stroke.on_screen(self._linear) for stroke in strokes]

    def _redraw(self, *_unused):
        self.updatePosition()
        self.update()

    # -- where it is drawn ------------------------------------------------------------------------------------------

    def updatePosition(self) -> None:
        """Follow map, antenna and pins; the canvas calls it whenever its extent, size or rotation changes."""
        to_pixels = self._canvas.getCoordinateTransform().transform()
        linear = QTransform(to_pixels.m11(), to_pixels.m12(), to_pixels.m21(), to_pixels.m22(), 0.0, 0.0)
        if linear != self._linear:
            self._linear = linear
            self._on_screen = [stroke.on_screen(linear) for stroke in self._strokes]
        self._at = self._pixel_of(self._bench.place)
        found = [(i + 1, self._pixel_of(pin.place)) for i, pin in enumerate(self._bench.pins)]
        self._pins = [(number, at) for number, at in found if at is not None]
        bounds = self._bounds_now()
        if bounds != self._bounds:
            self.prepareGeometryChange()
            self._bounds = bounds
        self.update()

    def _pixel_of(self, place) -> QPointF | None:
        if place is None:
            return None
        place = in_crs(place, self._canvas.mapSettings().destinationCrs(), self._bench.project)
        return None if place is None else self.toCanvasCoordinates(place.point)

    def _bounds_now(self) -> QRectF:
        bounds = QRectF()
        for _number, at in self._pins:
            bounds |= QRectF(at.x() - PIN_HEAD - 3, at.y() - PIN_UP - PIN_HEAD - 3, 2 * PIN_HEAD + 6,
                             PIN_UP + PIN_HEAD + 9)
        if self._at is None:
            return bounds
        around = QRectF(-HALO - 3, -HALO - 3, 2 * HALO + 6, 2 * HALO + 6)
        around |= self._plate()[0].adjusted(-2, -2, 2, 2)
        for stroke in self._shown():
            around |= stroke.bounds()
        return bounds | around.translated(self._at)

    def _shown(self):
        """Give the strokes to paint; only of a place in the map's own CRS."""
        if self._crs != self._canvas.mapSettings().destinationCrs():
            return []
        return [stroke for stroke in self._on_screen if stroke.kind in self._bench.shown]

    def boundingRect(self) -> QRectF:
        """Return what is painted, in pixels of the canvas."""
        return self._bounds

    # -- painting ---------------------------------------------------------------------------------------------------

    def paint(self, painter: QPainter, _option: QStyleOptionGraphicsItem | None = None,
              _widget: QWidget | None = None) -> None:
        """Paint shapes, pins and the antenna."""
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self._at is not None:
            painter.save()
            painter.translate(self._at)
            seen = self._canvas.sceneRect().translated(-self._at)
            for stroke in self._shown():
                stroke.paint(painter, seen)
            painter.restore()
        for number, at in self._pins:
            painter.save()
            painter.translate(at)
            self._paint_pin(painter, number)
            painter.restore()
        if self._at is not None:
            painter.translate(self._at)
            self._paint_antenna(painter)

    def _paint_antenna(self, painter):
        middle = QPointF(0.0, 0.0)
        painter.setPen(line_pen(INK, 1.0, 130))
        painter.setBrush(tint(PAPER, 150))
        painter.drawEllipse(middle, HALO, HALO)
        painter.setPen(line_pen(INK, 2.0))
        painter.setBrush(tint(REFUSED if self._is_refused else MARKER))
        painter.drawEllipse(middle, RADIUS, RADIUS)
        if self._is_refused:
            cross, arm = QPainterPath(), HALO * 0.78
            for x in (-arm, arm):
                cross.moveTo(-x, -arm)
                cross.lineTo(x, arm)
            _draw_line(painter, cross, 2.2)
        else:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(tint(INK))
            painter.drawEllipse(middle, 1.8, 1.8)
        self._paint_height(painter)

    def _paint_pin(self, painter, number):
        head = QPointF(0.0, -PIN_UP)
        stalk = QPainterPath(QPointF(0.0, 0.0))
        stalk.lineTo(0.0, PIN_HEAD - PIN_UP)
        _draw_line(painter, stalk, 2.0)
        painter.setPen(line_pen(INK, 1.4))
        painter.setBrush(tint(PAPER))
        painter.drawEllipse(QPointF(0.0, 0.0), 2.8, 2.8)
        painter.setPen(seam(4.0))
        painter.drawEllipse(head, PIN_HEAD, PIN_HEAD)
        painter.setPen(line_pen(INK, 1.6))
        painter.drawEllipse(head, PIN_HEAD, PIN_HEAD)
        painter.setFont(self._font(-1))
        painter.drawText(QRectF(head.x() - 20, head.y() - 20, 40, 40), Qt.AlignmentFlag.AlignCenter, str(number))

    def _paint_height(self, painter):
        plate, font, words = self._plate()
        painter.setPen(line_pen(INK, 1.0, 110))
        painter.setBrush(tint(PAPER, 220))
        painter.drawRoundedRect(plate, 3.0, 3.0)
        painter.setPen(tint(INK))
        painter.setFont(font)
        painter.drawText(plate, Qt.AlignmentFlag.AlignCenter, words)

    def _plate(self):
        """Return where the antenna's height is written, beside the antenna, with font and words."""
        words, font = f"{QLocale().toString(float(self._bench.height_m), 'f', 2)}\u00a0m", self._font(1)
        size = QFontMetricsF(font)
        width, height = size.horizontalAdvance(words) + 10.0, size.height() + 2.0
        return QRectF(LABEL_FROM, -height / 2.0, width, height), font, words

    def _font(self, larger) -> QFont:
        font = QFont(self._canvas.font())
        font.setBold(True)
        font.setPointSizeF(max(font.pointSizeF(), 8.0) + larger)
        return font


def _draw_line(painter, path, width):
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(seam(width + 2.4, 220))
    painter.drawPath(path)
    painter.setPen(line_pen(INK, width))
    painter.drawPath(path)
