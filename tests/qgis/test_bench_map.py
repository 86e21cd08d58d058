"""The bench's tool on the map, by real mouse events: it places, drags and raises, and follows the map."""

import pytest
from bench_hands import (
    CTRL,
    FREE,
    KEY,
    NONE,
    SHIFT,
    Hands,
    alpha,
    middle_of_a_good_sector,
    near,
    painted,
    painted_nothing,
    rest,
)
from bench_scene import CRS, LONLAT, PIER, looked, pump
from qgis.core import (
    QgsApplication,
    QgsFeature,
    QgsGeometry,
    QgsPointXY,
    QgsRectangle,
    QgsSnappingConfig,
    QgsTolerance,
    QgsVectorLayer,
)
from qgis.gui import QgsMapCanvasSnappingUtils, QgsMapToolPan
from qgis.PyQt.QtCore import QPoint, Qt
from qgis.PyQt.QtTest import QTest
from qgis.PyQt.QtWidgets import QAction
from scenes import UTM
from stillwater.plugin.bench.map.item import SpotItem
from stillwater.plugin.bench.map.tool import PlaceTool

pytest_plugins = ["bench_hands_fixtures"]


def test_a_click_places_the_antenna(bench, hands):
    hands.click(QPoint(200, 150))
    assert near(bench.place.point, hands.point(QPoint(200, 150)), hands)
    assert bench.place.crs == CRS and bench.place.height_m == 4.5 and bench.undo_stack.count() == 1


def test_the_right_button_places_nothing(bench, hands, canvas):
    QTest.mouseClick(canvas.viewport(), Qt.MouseButton.RightButton, FREE, QPoint(200, 150))
    assert bench.place is None


def test_a_drag_moves_the_antenna_by_one_step_to_undo(bench, hands, on_pier):
    grabbed = on_pier + QPoint(6, -4)
    hands.press(grabbed)
    for step in range(1, 8):
        hands.move(grabbed + QPoint(9 * step, -5 * step))
        assert near(bench.place.point, hands.point(on_pier + QPoint(9 * step, -5 * step)), hands)
    assert bench.undo_stack.count() == 1
    hands.release(grabbed + QPoint(70, -40))
    assert near(bench.place.point, hands.point(on_pier + QPoint(70, -40)), hands)
    assert bench.undo_stack.count() == 2
    looked(bench)
    bench.undo_stack.undo()
    assert bench.place.point == PIER


def test_a_press_elsewhere_and_a_move_drag_it_there(bench, hands, on_pier):
    hands.press(QPoint(60, 60))
    assert bench.place.point == PIER
    hands.move(QPoint(100, 90))
    assert near(bench.place.point, hands.point(QPoint(100, 90)), hands)
    hands.release(QPoint(110, 90))
    assert near(bench.place.point, hands.point(QPoint(110, 90)), hands) and bench.undo_stack.count() == 2


def test_a_click_on_the_antenna_changes_nothing(bench, hands, on_pier):
    hands.click(on_pier + QPoint(5, 5))
    assert bench.place.point == PIER and bench.undo_stack.count() == 1
    hands.click(on_pier + QPoint(14, 0))
    assert bench.place.point != PIER


def test_only_the_newest_of_many_moves_counts(bench, hands, canvas, on_pier):
    places = []
    bench.place_changed.connect(places.append)
    hands.press(on_pier)
    for step in range(60):
        QgsApplication.postEvent(canvas.viewport(), hands.event(on_pier + QPoint(20 + step, 0)))
    pump(100)
    assert 1 <= len(places) <= 10
    assert near(places[-1].point, hands.point(on_pier + QPoint(79, 0)), hands)
    hands.release(on_pier + QPoint(79, 0))


def test_the_wheel_raises_over_the_antenna_and_zooms_elsewhere(bench, hands, canvas, on_pier):
    scale = canvas.scale()
    hands.wheel(on_pier)
    hands.wheel(on_pier + QPoint(8, 0))
    assert bench.place.height_m == 4.7
    hands.wheel(on_pier, -120, SHIFT)
    assert bench.place.height_m == 3.7 and canvas.scale() == scale
    assert bench.undo_stack.count() == 1
    rest()
    assert bench.undo_stack.count() == 2
    hands.wheel(on_pier, 40)
    hands.wheel(on_pier, 40)
    assert bench.place.height_m == 3.7
    hands.wheel(on_pier, 40)
    assert bench.place.height_m == 3.8
    hands.wheel(on_pier + QPoint(80, 60))
    assert bench.place.height_m == 3.8 and canvas.scale() < scale


def test_the_wheel_raises_while_dragging(bench, hands, on_pier):
    hands.press(on_pier)
    hands.move(on_pier + QPoint(60, 0))
    hands.wheel(on_pier + QPoint(200, 100))
    assert bench.place.height_m == 4.6
    rest()
    assert bench.undo_stack.count() == 1
    hands.release(on_pier + QPoint(60, 0))
    assert bench.place.height_m == 4.6 and bench.undo_stack.count() == 2


def test_the_middle_button_pans(bench, hands, canvas, on_pier):
    centre = canvas.center()
    QTest.mousePress(canvas.viewport(), Qt.MouseButton.MiddleButton, FREE, QPoint(300, 200))
    hands.move(QPoint(340, 220), Qt.MouseButton.MiddleButton)
    QTest.mouseRelease(canvas.viewport(), Qt.MouseButton.MiddleButton, FREE, QPoint(340, 220))
    assert canvas.center().distance(centre) > 10 and bench.place.point == PIER


def test_another_tool_taken_in_mid_drag_calls_the_drag_off(bench, hands, canvas, on_pier):
    hands.press(on_pier)
    hands.move(on_pier + QPoint(50, 20))
    pan = QgsMapToolPan(canvas)
    canvas.setMapTool(pan)
    assert bench.place.point == PIER and bench.undo_stack.count() == 1


def test_a_button_that_takes_and_leaves_the_tool_follows_it(hands, canvas, tool):
    button = QAction()
    button.setCheckable(True)
    tool.setAction(button)

    def switch(is_on):
        if is_on and canvas.mapTool() is not tool:
            canvas.setMapTool(tool)
        elif not is_on and canvas.mapTool() is tool:
            canvas.unsetMapTool(tool)
    button.toggled.connect(switch)
    button.setChecked(True)
    assert canvas.mapTool() is tool
    pan = QgsMapToolPan(canvas)
    canvas.setMapTool(pan)
    assert not button.isChecked() and canvas.mapTool() is pan
    button.setChecked(True)
    hands.key(KEY.Key_Escape)
    assert not button.isChecked() and canvas.mapTool() is pan
    button.setChecked(True)
    button.setChecked(False)
    assert canvas.mapTool() is None


def test_it_snaps_to_a_vertex_where_the_project_snaps(bench, hands, canvas, project):
    layer = QgsVectorLayer(f"LineString?crs={UTM}", "quay", "memory")
    feature = QgsFeature()
    corner = QgsPointXY(PIER.x() + 30.2, PIER.y() + 20.7)
    feature.setGeometry(QgsGeometry.fromPolylineXY([PIER, corner, QgsPointXY(PIER.x() + 200, PIER.y() + 20)]))
    layer.dataProvider().addFeature(feature)
    project.addMapLayer(layer)
    canvas.setLayers([layer])
    utils = QgsMapCanvasSnappingUtils(canvas)
    config = QgsSnappingConfig(project)
    config.setMode(QgsSnappingConfig.SnappingMode.AllLayers)
    config.setTypeFlag(QgsSnappingConfig.SnappingTypes.VertexFlag)
    config.setTolerance(12)
    config.setUnits(QgsTolerance.UnitType.Pixels)
    utils.setConfig(config)
    canvas.setSnappingUtils(utils)
    pump(50)
    beside = hands.pixel(corner) + QPoint(4, 3)
    hands.click(beside)
    assert bench.place.point.distance(corner) > 1, "snapping is not enabled"
    items = len(canvas.scene().items())
    config.setEnabled(True)
    utils.setConfig(config)
    hands.click(beside + QPoint(100, 100))
    hands.click(beside)
    assert bench.place.point == corner
    hands.press(beside)
    hands.move(beside + QPoint(60, 60))
    hands.move(beside + QPoint(1, 1))
    assert bench.place.point == corner
    hands.release(beside + QPoint(1, 1))
    hands.move(beside + QPoint(80, 80), NONE)
    project.removeMapLayer(layer)
    pump(20)
    hands.click(beside + QPoint(100, 100))
    hands.click(beside)
    assert bench.place.point.distance(corner) > 1
    canvas.unsetMapTool(canvas.mapTool())
    pump(20)
    assert len(canvas.scene().items()) == items
    canvas.setSnappingUtils(None)


@pytest.mark.parametrize("angle", [30.0, -75.0])
def test_on_a_rotated_map_it_stands_where_it_was_put(bench, hands, canvas, item, angle):
    canvas.setRotation(angle)
    pump(20)
    hands.click(QPoint(150, 320))
    back = canvas.getCoordinateTransform().transform(bench.place.point)
    assert (back.x(), back.y()) == pytest.approx((150, 320), abs=1.0)
    hands.press(QPoint(150, 320))
    hands.move(QPoint(250, 120))
    hands.release(QPoint(250, 120))
    back = canvas.getCoordinateTransform().transform(bench.place.point)
    assert (back.x(), back.y()) == pytest.approx((250, 120), abs=1.0)


def test_another_crs_of_the_map_is_followed_by_bench_and_picture(bench, hands, canvas, item, on_pier):
    canvas.setDestinationCrs(LONLAT)
    assert bench.place.crs == LONLAT
    assert not any(one.kind == "sectors" for one in item._shown()), "shapes of the old CRS must not be drawn"
    looked(bench)
    centre = bench.place.point
    canvas.setExtent(QgsRectangle(centre.x() - .004, centre.y() - .003, centre.x() + .004, centre.y() + .003))
    pump(20)
    assert bench.spot.row.verdict == "suitable"
    spot = middle_of_a_good_sector(bench.spot)
    assert alpha(painted(item, canvas), hands.pixel(spot)) > 100
    hands.click(QPoint(100, 100))
    assert near(bench.place.point, hands.point(QPoint(100, 100)), hands) and bench.place.crs == LONLAT


def test_a_place_of_a_former_crs_that_is_brought_back_is_shown_in_the_map_s(bench, hands, canvas, on_pier):
    hands.click(QPoint(100, 100))
    canvas.setDestinationCrs(LONLAT)
    hands.key(KEY.Key_Z, CTRL)
    pump(20)
    assert bench.place.crs == LONLAT
    assert looked(bench).row.verdict == "suitable"
    assert bench.spot.candidate.x == pytest.approx(bench.place.point.x(), rel=1e-12)


def test_a_project_cleared_and_a_layer_lost_in_mid_drag_leave_an_empty_map(bench, hands, canvas, item, project,
                                                                           on_pier):
    hands.press(on_pier)
    hands.move(on_pier + QPoint(20, 0))
    project.removeMapLayer(bench.settings.LANDCOVER)
    hands.move(on_pier + QPoint(30, 0))
    looked(bench)
    assert bench.place is not None and bench.settings.LANDCOVER == ""
    project.clear()
    hands.move(on_pier + QPoint(40, 0))
    hands.release(on_pier + QPoint(300, 0))
    bench.clear()
    pump(20)
    assert item.boundingRect().isEmpty() and painted(item, canvas) == painted_nothing(canvas)


def test_closing_leaves_nothing_on_the_canvas(bench, canvas, project):
    items, filters = len(canvas.scene().items()), canvas.mapTool()
    item, tool = SpotItem(canvas, bench), PlaceTool(canvas, bench)
    canvas.setMapTool(tool)
    hands = Hands(canvas)
    hands.click(QPoint(100, 100))
    hands.press(QPoint(100, 100))
    hands.move(QPoint(150, 150))
    assert len(canvas.scene().items()) == items + 1
    for _ in range(2):
        tool.close()
        item.close()
    pump(50)
    assert len(canvas.scene().items()) == items and canvas.mapTool() is filters
    looked(bench)
    bench.move_to(PIER, CRS)
    looked(bench)
    hands.key(KEY.Key_Delete)
    canvas.setDestinationCrs(LONLAT)
    assert bench.place.point == PIER, "neither keys nor the map reach the bench any more"


def test_the_hint_names_the_keys(tool):
    assert all(word in tool.HINT for word in ("Shift", "Alt", "Enter", "Delete", "Ctrl+Z", "Esc"))
