"""Mouse and keys on a canvas with a bench."""

from bench_scene import pump
from qgis.core import QgsApplication, QgsPointXY
from qgis.PyQt.QtCore import QEvent, QPoint, QPointF, Qt
from qgis.PyQt.QtGui import QImage, QMouseEvent, QPainter, QWheelEvent
from qgis.PyQt.QtTest import QTest

LEFT, NONE = Qt.MouseButton.LeftButton, Qt.MouseButton.NoButton
SHIFT, CTRL, ALT = (Qt.KeyboardModifier.ShiftModifier, Qt.KeyboardModifier.ControlModifier,
                    Qt.KeyboardModifier.AltModifier)
FREE = Qt.KeyboardModifier.NoModifier
KEY = Qt.Key


class Hands:
    """Mouse and keys on a canvas."""

    def __init__(self, canvas):
        self.canvas = canvas

    def pixel(self, point):
        at = self.canvas.getCoordinateTransform().transform(point)
        return QPoint(round(at.x()), round(at.y()))

    def point(self, pixel):
        return self.canvas.getCoordinateTransform().toMapCoordinates(pixel)

    def event(self, pixel, buttons=LEFT):
        at = QPointF(pixel)
        return QMouseEvent(QEvent.Type.MouseMove, at, QPointF(self.canvas.viewport().mapToGlobal(pixel)), NONE, buttons,
                           FREE)

    def press(self, pixel):
        QTest.mousePress(self.canvas.viewport(), LEFT, FREE, pixel)

    def move(self, pixel, buttons=LEFT):
        # QTest moves the pointer, and forgets that a button is down
        QgsApplication.sendEvent(self.canvas.viewport(), self.event(pixel, buttons))
        pump(20)

    def release(self, pixel):
        QTest.mouseRelease(self.canvas.viewport(), LEFT, FREE, pixel)

    def click(self, pixel):
        QTest.mouseClick(self.canvas.viewport(), LEFT, FREE, pixel)

    def wheel(self, pixel, angle=120, held=FREE):
        event = QWheelEvent(QPointF(pixel), QPointF(self.canvas.viewport().mapToGlobal(pixel)), QPoint(0, 0),
                            QPoint(0, angle), NONE, held, Qt.ScrollPhase.NoScrollPhase, False)
        QgsApplication.sendEvent(self.canvas.viewport(), event)

    def key(self, key, held=FREE):
        QTest.keyClick(self.canvas, key, held)


def rest():
    """Wait until rises and nudges are one step to undo."""
    from stillwater.plugin.bench.map.tool import REST_MS
    pump(REST_MS + 150)


def near(point, other, hands):
    """Tell whether two points of the map lie within a pixel."""
    return point.distance(other) <= hands.canvas.mapUnitsPerPixel()


def painted(item, canvas, margin=0):
    """Paint the item alone."""
    picture = QImage(canvas.width() + 2 * margin, canvas.height() + 2 * margin, QImage.Format.Format_ARGB32)
    picture.fill(0)
    painter = QPainter(picture)
    painter.translate(margin, margin)
    item.paint(painter)
    painter.end()
    return picture


def painted_nothing(canvas):
    picture = QImage(canvas.width(), canvas.height(), QImage.Format.Format_ARGB32)
    picture.fill(0)
    return picture


def alpha(picture, pixel):
    return picture.pixelColor(pixel).alpha()


def middle_of_a_good_sector(spot):
    """Give a point between footprints and passes: far out, in a direction that counts."""
    good = max((i for i in range(len(spot.shapes.quality)) if spot.shapes.counts[i]),
               key=lambda i: spot.shapes.quality[i])
    ring = spot.shapes.sectors[good]
    return QgsPointXY(*ring.mean(axis=0))
