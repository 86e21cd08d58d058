"""The bench's tool by real key events: heights, nudges, undo, and keys that others want too."""

import pytest
from bench_hands import ALT, CTRL, FREE, KEY, SHIFT, Hands, rest
from bench_scene import COVE, CRS, PIER, looked, pump
from qgis.gui import QgsMapToolPan
from qgis.PyQt.QtCore import QPoint
from qgis.PyQt.QtGui import QKeySequence
from qgis.PyQt.QtWidgets import QAction, QMainWindow
from stillwater.plugin.bench.map.tool import PlaceTool

pytest_plugins = ["bench_hands_fixtures"]


@pytest.mark.parametrize("key, held, rise", [
    (KEY.Key_Up, FREE, 0.1), (KEY.Key_Down, FREE, -0.1), (KEY.Key_Up, SHIFT, 1.0), (KEY.Key_PageDown, FREE, -1.0),
    (KEY.Key_PageUp, FREE, 1.0), (KEY.Key_Plus, SHIFT, 0.1), (KEY.Key_Minus, FREE, -0.1)])
def test_keys_change_the_height_and_do_not_move_the_map(bench, hands, canvas, on_pier, key, held, rise):
    extent = canvas.extent()
    hands.key(key, held)
    assert bench.place.height_m == pytest.approx(4.5 + rise, abs=1e-9)
    assert canvas.extent() == extent


def test_a_series_of_keys_is_one_step_to_undo(bench, hands, on_pier):
    for _ in range(4):
        hands.key(KEY.Key_Up)
    hands.key(KEY.Key_Right, ALT)
    hands.key(KEY.Key_Z, CTRL)
    assert bench.place.height_m == 4.5 and bench.place.point == PIER
    hands.key(KEY.Key_Y, CTRL)
    assert bench.place.height_m == 4.9 and bench.undo_stack.count() == 2


def test_the_height_can_be_chosen_before_there_is_an_antenna(bench, hands):
    hands.key(KEY.Key_Up)
    assert bench.height_m == 4.6 and bench.place is None and bench.undo_stack.count() == 0


@pytest.mark.parametrize("angle", [0.0, 40.0])
def test_alt_and_arrows_move_by_pixels_of_the_screen(bench, hands, canvas, on_pier, angle):
    canvas.setRotation(angle)
    before = hands.canvas.getCoordinateTransform().transform(PIER)
    hands.key(KEY.Key_Right, ALT)
    hands.key(KEY.Key_Up, ALT | SHIFT)
    after = hands.canvas.getCoordinateTransform().transform(bench.place.point)
    assert (after.x() - before.x(), after.y() - before.y()) == pytest.approx((1.0, -10.0), abs=0.01)
    rest()
    assert bench.undo_stack.count() == 2


@pytest.mark.parametrize("key", [KEY.Key_Return, KEY.Key_Enter, KEY.Key_Space])
def test_enter_places_in_the_middle_once(bench, hands, canvas, key):
    hands.key(key)
    assert bench.place.point == canvas.center()
    canvas.setCenter(COVE)
    hands.key(key)
    assert bench.place.point != COVE


def test_delete_takes_it_off_and_undo_brings_it_back(bench, hands, on_pier):
    hands.key(KEY.Key_Delete)
    assert bench.place is None
    hands.key(KEY.Key_Z, CTRL)
    assert bench.place.point == PIER
    hands.key(KEY.Key_Z, CTRL | SHIFT)
    assert bench.place is None
    hands.key(KEY.Key_Z, CTRL)
    hands.key(KEY.Key_Backspace)
    assert bench.place is None


def test_escape_calls_off_a_drag_and_then_leaves_to_the_tool_before(bench, canvas, project):
    before = QgsMapToolPan(canvas)
    canvas.setMapTool(before)
    tool = PlaceTool(canvas, bench)
    canvas.setMapTool(tool)
    hands = Hands(canvas)
    bench.move_to(PIER, CRS)
    looked(bench)
    at = hands.pixel(PIER)
    hands.press(at)
    hands.move(at + QPoint(50, 20))
    assert bench.place.point != PIER
    hands.key(KEY.Key_Escape)
    assert bench.place.point == PIER and canvas.mapTool() is tool and bench.undo_stack.count() == 1
    hands.move(at + QPoint(70, 20))
    hands.release(at + QPoint(70, 20))
    assert bench.place.point == PIER, "the rest of a drag that was called off moves nothing"
    hands.key(KEY.Key_Escape)
    assert canvas.mapTool() is before
    hands.key(KEY.Key_Delete)
    assert bench.place.point == PIER, "keys are free again"
    tool.close()


def test_escape_without_a_tool_before_leaves_none(hands, canvas, tool):
    hands.key(KEY.Key_Escape)
    assert canvas.mapTool() is None


def test_the_window_s_own_undo_does_not_fire_while_the_tool_is_used(bench, tool, canvas, on_pier):
    window, fired = QMainWindow(), []
    window.setCentralWidget(canvas)
    undo = QAction("Undo", window)
    undo.setShortcut(QKeySequence("Ctrl+Z"))
    undo.triggered.connect(lambda: fired.append("undo"))
    window.addAction(undo)
    window.show()
    window.activateWindow()
    canvas.setFocus()
    pump(50)
    hands = Hands(canvas)
    hands.key(KEY.Key_Z, CTRL)
    assert bench.place is None and fired == []
    canvas.unsetMapTool(tool)
    hands.key(KEY.Key_Z, CTRL)
    assert fired == ["undo"]
    window.takeCentralWidget()
    canvas.setParent(None)
    window.close()
