"""The inputs of the bench's dock: what is chosen is what is looked with, both ways and without loops."""

from dataclasses import asdict

import pytest
from bench_dock_scene import pick, press, settle, take_away, window_with_dock
from bench_scene import CRS, PIER, looked, pump, sample_layers
from qgis.core import QgsProject, QgsVectorLayer
from qgis.PyQt.QtCore import QPoint, QPointF, Qt
from qgis.PyQt.QtGui import QWheelEvent
from qgis.PyQt.QtTest import QTest
from qgis.PyQt.QtWidgets import QAction, QApplication
from stillwater.plugin.bench.model.settings import BenchSettings

pytest_plugins = ["bench_dock_fixtures"]
WAIT_MS = 700
"""Longer than any edit waits before it is taken."""


class Ears:
    """Keeps the settings that a bench is given."""

    def __init__(self, bench):
        self.heard = []
        bench.settings_changed.connect(self.heard.append)


# -- inputs --------------------------------------------------------------------------------------------------------

def test_layers_chosen_in_the_boxes_are_the_ones_looked_at(empty, qgis_app):
    ids = sample_layers(empty.project)
    window, dock, _iface = window_with_dock(empty)
    ears = Ears(empty)
    pick(dock.layers.layers["DEM"], "Elevation")
    pick(dock.layers.choices["DEM_WATER"], "the bed")
    pick(dock.layers.layers["LANDCOVER"], "Land cover")
    QTest.keyClicks(dock.layers.classes, "1-2")
    pick(dock.layers.layers["AVOID"], "Avoid")
    pick(dock.layers.fields["AVOID_FIELD"], "share")
    pick(dock.layers.fields["AVOID_NAME"], "name")
    pick(dock.controls.reference, "above the ground")
    for name, keys in (("LEVEL_LOW", "-1.1"), ("LEVEL_HIGH", "1.1")):
        box = dock.purpose.numbers.boxes[name]
        box.setFocus()
        box.selectAll()
        QTest.keyClicks(box, keys)
        QTest.keyClick(box, Qt.Key.Key_Return)
    assert {name: getattr(empty.settings, name) for name in ids} == ids
    assert [one for one, then in zip(ears.heard, ears.heard[1:]) if one == then] == []
    assert dock.hint.isHidden()
    take_away(window, dock)


def test_settings_from_elsewhere_are_shown_and_not_written_back(shown, bench):
    layers = QgsProject.instance().mapLayers()
    polygons = QgsVectorLayer("Polygon?crs=EPSG:32624&field=high:double&field=kind:string", "Walls", "memory")
    QgsProject.instance().addMapLayer(polygons)
    ears = Ears(bench)
    chosen = BenchSettings(
        PURPOSE="snow depth", HEIGHT_REFERENCE="ellipsoid", SURFACE_LEVEL=12.345, LEVEL_LOW=-0.25, LEVEL_HIGH=2.5,
        WAVE_HEIGHT=0.3, SIGNAL="Galileo E5a", CONSTELLATIONS=["GPS", "QZSS"], ORBITS="/no/such/file.sp3",
        DATE="2027-03-28T02:30:00", DAYS=7, INTERVAL=0.05, MIN_ELEVATION=4.5, MAX_ELEVATION=33.0,
        DEM=bench.settings.DEM, DEM_WATER="surface", LANDCOVER=bench.settings.LANDCOVER, TARGET_CLASSES="80, 90-95",
        WATER=polygons.id(), WATER_IS="land", BARRIERS=polygons.id(), BARRIER_HEIGHT="high",
        GEOID=bench.settings.DEM)
    bench.set_settings(chosen)
    pump(WAIT_MS)
    assert ears.heard == [chosen] and bench.settings == chosen
    layers, purpose, sky = shown.layers, shown.purpose, shown.sky
    seen = {name: "" if box.currentLayer() is None else box.currentLayer().id()
            for name, box in layers.layers.items()}
    seen.update({name: box.currentField() for name, box in layers.fields.items()})
    seen.update({name: box.currentData() for name, box in layers.choices.items()})
    seen.update({name: box.value() for form in (purpose, sky) for name, box in form.numbers.boxes.items()})
    seen.update(
        TARGET_CLASSES=layers.classes.text(), PURPOSE=purpose.purpose.currentData(), SIGNAL=sky.signal.currentData(),
        HEIGHT_REFERENCE=shown.controls.reference.currentData(), ORBITS=sky.orbits.filePath(), DAYS=sky.days.value(),
        CONSTELLATIONS=[name for name, box in sky.systems.items() if box.isChecked()],
        DATE=sky.date.dateTime().toString("yyyy-MM-ddTHH:mm:ss"))
    assert seen == asdict(chosen)
    assert layers.layers["GEOID"].isVisibleTo(layers) and not layers.fields["AVOID_FIELD"].isVisibleTo(layers)


def test_what_was_chosen_is_remembered_with_the_project(shown, bench, tmp_path):
    path = str(tmp_path / "bench.qgs")
    pick(shown.purpose.purpose, "lake level")
    chosen = bench.settings
    assert QgsProject.instance().write(path)
    QgsProject.instance().clear()
    settle()
    assert shown.purpose.purpose.currentData() == "sea level" and shown.layers.layers["DEM"].currentLayer() is None
    assert not shown.hint.isHidden()
    assert QgsProject.instance().read(path)
    settle()
    assert bench.settings == chosen and shown.purpose.purpose.currentData() == "lake level"
    assert shown.layers.layers["DEM"].currentLayer().name() == "Elevation"
    assert shown.layers.fields["AVOID_NAME"].currentField() == "name"


def test_a_layer_that_is_removed_leaves_its_box_empty(shown, bench):
    bench.move_to(PIER, CRS)
    looked(bench)
    QgsProject.instance().removeMapLayer(bench.settings.DEM)
    looked(bench)
    assert bench.settings.DEM == "" and shown.layers.layers["DEM"].currentLayer() is None
    assert bench.settings.LANDCOVER and shown.layers.layers["LANDCOVER"].currentLayer().name() == "Land cover"
    assert not shown.layers.choices["DEM_WATER"].isVisibleTo(shown.layers)


def test_fields_that_another_layer_lacks_are_let_go(shown, bench):
    other = QgsVectorLayer("Polygon?crs=EPSG:32624&field=name:string", "Other", "memory")
    QgsProject.instance().addMapLayer(other)
    box = shown.layers.layers["AVOID"]
    box.setFocus()
    QTest.keyClicks(box, "Other")
    assert box.currentLayer() is other
    assert (other.id(), "", "name") == (bench.settings.AVOID, bench.settings.AVOID_FIELD, bench.settings.AVOID_NAME)


def test_typing_is_taken_when_it_rests_and_not_letter_by_letter(shown, bench):
    ears = Ears(bench)
    shown.layers.classes.setFocus()
    shown.layers.classes.selectAll()
    QTest.keyClicks(shown.layers.classes, "80, 90-95")
    assert ears.heard == []
    pump(WAIT_MS)
    assert [one.TARGET_CLASSES for one in ears.heard] == ["80, 90-95"]
    assert shown.layers.classes.text() == "80, 90-95"


def test_sky_and_signal_are_taken(shown, bench):
    QTest.mouseClick(shown.sky.systems["GLONASS"], Qt.MouseButton.LeftButton,
                     pos=QPoint(8, shown.sky.systems["GLONASS"].height() // 2))
    press(shown.sky.days, Qt.Key.Key_Up, 2)
    press(shown.sky.date, Qt.Key.Key_Up)
    pick(shown.sky.signal, "GPS L5")
    pump(WAIT_MS)
    assert bench.settings.CONSTELLATIONS == ["GPS", "Galileo", "BeiDou"]
    assert (bench.settings.DAYS, bench.settings.SIGNAL, bench.settings.DATE) == (3, "GPS L5", "2027-06-01T00:00:00")


def test_the_last_satellite_system_stays(shown, bench):
    for name in ("GLONASS", "Galileo", "BeiDou", "GPS"):
        shown.sky.systems[name].click()
    pump(WAIT_MS)
    assert bench.settings.CONSTELLATIONS == ["GPS"] and shown.sky.systems["GPS"].isChecked()


def test_labels_and_help_are_those_of_the_algorithm(shown, provider):
    algorithm = provider.algorithm("rankcandidates")
    for form in (shown.layers, shown.purpose, shown.sky):
        for name, row in form._rows.items():
            label = row.layout().itemAt(0).widget()
            definition = algorithm.parameterDefinition(name)
            assert label.text() == definition.description()
            assert definition.help()[:30].replace("'", "&#x27;") in label.toolTip()
            assert form._rows[name].layout().itemAt(1).widget().accessibleName() == definition.description()


def test_the_wheel_over_a_box_moves_the_page_and_not_the_value(shown, bench):
    box = shown.purpose.purpose
    shown.layers.classes.setFocus()
    before = bench.settings
    at = QPointF(box.rect().center())
    QApplication.sendEvent(box, QWheelEvent(
        at, QPointF(box.mapToGlobal(box.rect().center())), QPoint(0, -120), QPoint(0, -120), Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False))
    pump(WAIT_MS)
    assert bench.settings == before and box.currentData() == "sea level"


# -- placing -------------------------------------------------------------------------------------------------------

def test_the_box_sets_the_height_and_a_series_is_one_step_to_undo(shown, bench):
    bench.move_to(PIER, CRS)
    looked(bench)
    assert shown.controls.height.value() == 4.5
    press(shown.controls.height, Qt.Key.Key_Up, 3)
    assert bench.place.height_m == pytest.approx(4.8) and bench.spot.is_rough
    pump(WAIT_MS)
    assert not looked(bench).is_rough and bench.undo_stack.count() == 2
    QTest.mouseClick(shown.controls.undo, Qt.MouseButton.LeftButton)
    assert bench.place.height_m == 4.5 and shown.controls.height.value() == 4.5
    QTest.mouseClick(shown.controls.redo, Qt.MouseButton.LeftButton)
    assert shown.controls.height.value() == pytest.approx(4.8)
    assert bench.undo_stack.count() == 2 and not shown.controls.redo.isEnabled()
    assert "Ctrl+Z" in shown.controls.undo.toolTip() and "Ctrl+Y" in shown.controls.redo.toolTip()


def test_a_height_undone_while_it_waits_is_not_set_again(shown, bench):
    bench.move_to(PIER, CRS)
    looked(bench)
    press(shown.controls.height, Qt.Key.Key_Up)
    bench.cancel_move()
    pump(WAIT_MS)
    assert bench.place.height_m == 4.5 and bench.undo_stack.count() == 1 and shown.controls.height.value() == 4.5


def test_the_button_and_the_action_of_the_map_tool_follow_each_other(shown):
    action = QAction("Place an antenna")
    action.setCheckable(True)
    assert not shown.controls.place.isEnabled()
    shown.set_place_action(action)
    QTest.mouseClick(shown.controls.place, Qt.MouseButton.LeftButton)
    assert action.isChecked()
    action.setChecked(False)
    assert not shown.controls.place.isChecked() and shown.controls.place.text() == "Place"


def test_what_the_map_shows_is_chosen_in_the_menu(shown, bench):
    assert all(action.isChecked() for action in shown.controls.shapes.values())
    shown.controls.shapes["passes"].trigger()
    assert bench.shown == {"sectors", "footprints", "skyline"}
    bench.show_shapes({"passes"})
    assert [name for name, one in shown.controls.shapes.items() if one.isChecked()] == ["passes"]
    bench.show_shapes({"sectors", "footprints", "skyline", "passes"})
