"""The map tool of the bench: an antenna is placed, dragged and raised with mouse and keys."""
from __future__ import annotations

from qgis.core import QgsPointLocator, QgsPointXY
from qgis.gui import QgsMapCanvas, QgsMapMouseEvent, QgsMapTool, QgsSnapIndicator
from qgis.PyQt import sip
from qgis.PyQt.QtCore import QEvent, QObject, QPointF, Qt, QTimer
from qgis.PyQt.QtGui import QWheelEvent
from qgis.PyQt.QtWidgets import QApplication

from ..model.bench import Bench, in_crs
from ..widgets.links import Links
from .keys import HEIGHT_FAST_M, HEIGHT_M, action_of

GRAB_PX = 12.0
"""The antenna is grabbed within such a distance of its middle [px]."""
TURN = 120
"""What Qt counts one step of a mouse's wheel as."""
REST_MS = 400
"""Keys and turns of the wheel with shorter breaks between them are one step to undo."""


class PlaceTool(QgsMapTool):
    """Places the antenna of a bench on a map canvas.

    Keys are taken by a filter on the canvas: before shortcuts of the window, and with a mouse button down too.

    Parameters
    ----------
    canvas : QgsMapCanvas
    bench : Bench
    """

    def __init__(self, canvas: QgsMapCanvas, bench: Bench):
        super().__init__(canvas)
        self._canvas, self._bench = canvas, bench
        self._is_open = True
        self._before: QgsMapTool | None = None
        self._pressed_at: QPointF | None = None
        self._grip: QPointF | None = None
        self._is_dragging = False
        self._newest: QPointF | None = None
        self._turned = 0
        self._indicator: QgsSnapIndicator | None = None
        self._soon = QTimer(self, singleShot=True, interval=0)
        self._soon.timeout.connect(self._drag)
        self._rest = QTimer(self, singleShot=True, interval=REST_MS)
        self._rest.timeout.connect(self._settle)
        self._follow = QTimer(self, singleShot=True, interval=0)
        self._follow.timeout.connect(self._show_in_map_crs)
        self._links = Links((canvas.destinationCrsChanged, self._show_in_map_crs),
                            (canvas.mapToolSet, self._remember_tool), (bench.place_changed, self._check_crs))
        self.setCursor(Qt.CursorShape.CrossCursor)

    @property
    def HINT(self) -> str:
        """Say what mouse and keys do."""
        return self.tr(
            "Click on the map to place the antenna, drag it to move it. Height: turn the wheel over the antenna, or "
            "press + − or ↑ ↓ (arrows with Shift, Page Up, Page Down: 1 m). Alt with arrow keys: move by a pixel (with "
            "Shift: ten). Enter: place in the middle of the map. Delete: take it off. Ctrl+Z: undo. Esc: stop.")

    def close(self) -> None:
        """Give the canvas back and let go of the bench."""
        if not self._is_open:
            return
        self._is_open = False
        self._canvas.unsetMapTool(self)
        self._links.let_go()
        for timer in (self._soon, self._rest, self._follow):
            timer.stop()
        self._canvas.removeEventFilter(self)
        self._indicator = self._before = None

    def leave(self) -> None:
        """Go back to the tool before."""
        before = self._before
        if before is not None and not sip.isdeleted(before):
            self._canvas.setMapTool(before)
        else:
            self._canvas.unsetMapTool(self)

    def activate(self) -> None:
        """Take keys and mouse."""
        super().activate()
        self._canvas.installEventFilter(self)

    def deactivate(self) -> None:
        """Call off a drag, and let go of keys and mouse."""
        self._canvas.removeEventFilter(self)
        self._call_off()
        self._settle_now()
        self._indicator = None
        super().deactivate()

    def _remember_tool(self, new, old):
        if new is self and old is not self:
            self._before = old

    # -- the map's CRS ----------------------------------------------------------------------------------------------

    def _check_crs(self, place):
        # not at once: whoever tells of the place is not done with it
        if place is not None and place.crs != self._crs():
            self._follow.start()

    def _show_in_map_crs(self):
        if self._bench.place is not None and self._bench.place.crs != self._crs():
            self._let_go()
            self._bench.show_in(self._crs())

    def _crs(self):
        return self._canvas.mapSettings().destinationCrs()

    # -- pixels and places ------------------------------------------------------------------------------------------

    def _pixel(self) -> QPointF | None:
        """Return where the antenna is on the canvas."""
        place = self._bench.place
        place = None if place is None else in_crs(place, self._crs(), self._bench.project)
        if place is None:
            return None
        return self._canvas.getCoordinateTransform().transform(place.point).toQPointF()

    def _point(self, pixel: QPointF) -> QgsPointXY:
        back, _is_invertible = self._canvas.getCoordinateTransform().transform().inverted()
        return QgsPointXY(back.map(pixel))

    def _snapped(self, pixel: QPointF) -> QgsPointXY:
        """Return the map's point, or what the project's snapping catches there."""
        point = self._point(pixel)
        utils = self._canvas.snappingUtils()
        if utils is None or not utils.config().enabled():
            self._indicator = None
            return point
        match = utils.snapToMap(point)
        if self._indicator is None:
            self._indicator = QgsSnapIndicator(self._canvas)
        self._indicator.setMatch(match)
        return match.point() if match.isValid() else point

    def _is_over_antenna(self, pixel: QPointF) -> bool:
        there = self._pixel()
        if there is None:
            return False
        away = pixel - there
        return (away.x() ** 2 + away.y() ** 2) ** 0.5 <= GRAB_PX

    # -- mouse ------------------------------------------------------------------------------------------------------

    def canvasPressEvent(self, event: QgsMapMouseEvent) -> None:
        """Begin a click or a drag."""
        if event.button() != Qt.MouseButton.LeftButton:
            return
        self._settle_now()
        self._pressed_at = QPointF(event.pixelPoint())
        self._is_dragging = False
        self._grip = None
        if self._is_over_antenna(self._pressed_at):
            self._grip = self._pixel() - self._pressed_at
            self.setCursor(Qt.CursorShape.ClosedHandCursor)

    def canvasMoveEvent(self, event: QgsMapMouseEvent) -> None:
        """Drag the antenna along; only the newest position counts."""
        pixel = QPointF(event.pixelPoint())
        if self._pressed_at is None:
            if not event.buttons():
                self._hover(pixel)
            return
        far = (pixel - self._pressed_at).manhattanLength() >= QApplication.startDragDistance()
        if self._is_dragging or far:
            self._is_dragging = True
            self._newest = pixel
            if not self._soon.isActive():
                self._soon.start()

    def canvasReleaseEvent(self, event: QgsMapMouseEvent) -> None:
        """End a drag, or place the antenna; a click on it changes nothing."""
        if event.button() != Qt.MouseButton.LeftButton or self._pressed_at is None:
            return
        pixel = QPointF(event.pixelPoint())
        if self._is_dragging or self._grip is None:
            self._bench.move_to(self._target(pixel), self._crs())
        self._let_go()
        self._hover(pixel)

    def _drag(self):
        if self._is_dragging and self._newest is not None:
            self._bench.move_to(self._target(self._newest), self._crs(), True)

    def _target(self, pixel):
        return self._snapped(pixel if self._grip is None else pixel + self._grip)

    def _let_go(self):
        """Forget what mouse button is down."""
        self._soon.stop()
        self._pressed_at = self._grip = self._newest = None
        self._is_dragging = False

    def _call_off(self) -> bool:
        """Put the antenna back if it is dragged; tell whether it was."""
        was_dragging, is_pressed = self._is_dragging, self._pressed_at is not None
        self._let_go()
        if was_dragging:
            self._bench.cancel_move()
        if is_pressed:
            self.setCursor(Qt.CursorShape.CrossCursor)
        return is_pressed

    def _hover(self, pixel):
        is_over = self._is_over_antenna(pixel)
        self.setCursor(Qt.CursorShape.OpenHandCursor if is_over else Qt.CursorShape.CrossCursor)
        if is_over and self._indicator is not None:
            self._indicator.setMatch(QgsPointLocator.Match())
        elif not is_over:
            self._snapped(pixel)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Raise or lower the antenna over it or while it is dragged; zoom elsewhere."""
        if not (self._is_dragging or self._is_over_antenna(QPointF(event.position()))):
            self._turned = 0
            event.ignore()
            return
        event.accept()
        # with Shift some systems turn the wheel sideways
        self._turned += event.angleDelta().y() or event.angleDelta().x()
        steps = int(self._turned / TURN)
        self._turned -= steps * TURN
        is_fast = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        if steps:
            self.rise(steps * (HEIGHT_FAST_M if is_fast else HEIGHT_M))

    # -- keys -------------------------------------------------------------------------------------------------------

    def eventFilter(self, _watched: QObject, event: QEvent) -> bool:
        """Take the keys of the bench before the canvas and the window's shortcuts have them."""
        if event.type() not in (QEvent.Type.ShortcutOverride, QEvent.Type.KeyPress):
            return False
        act = action_of(event, self)
        if act is None:
            return False
        event.accept()
        if event.type() == QEvent.Type.KeyPress:
            act()
        return True

    @property
    def has_antenna(self) -> bool:
        """Tell whether there is an antenna."""
        return self._bench.place is not None

    def rise(self, step_m: float) -> None:
        """Raise the antenna [m]; rises soon after each other are one step to undo."""
        if not self.has_antenna:
            self._bench.set_height(self._bench.height_m + step_m)
            return
        self._bench.set_height(self._bench.height_m + step_m, True)
        self._rest_soon()

    def nudge(self, right_px: int, down_px: int) -> None:
        """Move the antenna on the screen; moves soon after each other are one step to undo."""
        there = self._pixel()
        if there is not None and not self._is_dragging:
            self._bench.move_to(self._point(there + QPointF(right_px, down_px)), self._crs(), True)
            self._rest_soon()

    def place_in_middle(self) -> None:
        """Place the antenna in the middle of the map."""
        self._bench.move_to(self._canvas.center(), self._crs())

    def clear(self) -> None:
        """Take the antenna off the map."""
        self._call_off()
        self._settle_now()
        self._bench.clear()

    def undo(self) -> None:
        """Undo the bench's last step."""
        if not self._call_off():
            self._settle_now()
            self._bench.undo()

    def redo(self) -> None:
        """Do again what was undone."""
        if not self._call_off():
            self._settle_now()
            self._bench.redo()

    def escape(self) -> None:
        """Call off a drag; without one leave the tool."""
        if not self._call_off():
            self.leave()

    def _rest_soon(self):
        # a drag is ended by the mouse
        if not self._is_dragging:
            self._rest.start()

    def _settle_now(self):
        if self._rest.isActive():
            self._settle()

    def _settle(self):
        self._rest.stop()
        place = self._bench.place
        if place is not None and not self._is_dragging:
            self._bench.move_to(place.point, place.crs)
