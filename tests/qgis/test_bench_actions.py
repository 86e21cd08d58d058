"""Actions of the bench that run algorithms: layers, sheet, a better position; stopped, closed and cleared meanwhile."""

from dataclasses import replace

import pytest
from bench_parts_scene import bench_on_shore, click, inland, place, take_away, wait, window_on
from bench_scene import CRS, PIER, looked, pump
from qgis.core import QgsApplication, QgsPointXY, QgsVectorLayer
from qgis.gui import QgsBrowserGuiModel
from qgis.PyQt import sip
from qgis.PyQt.QtCore import QCoreApplication, QEvent
from qgis.PyQt.QtWidgets import QApplication
from scenes import MIDDLE_Y, SHORE_X, rows, run

pytest_plugins = ["bench_parts_fixtures"]


def test_send_to_layers_loads_two_styled_layers_of_one_site(scene):
    place(scene, PIER)
    click(scene.bar.pin)
    before = set(scene.project.mapLayers())
    click(scene.bar.layers.button)
    assert scene.bar.layers.button.text() == "Stop" and scene.ears.texts("busy")[-1] == "Making the layers … 0 %"
    wait(scene)
    assert scene.bar.layers.button.text() == "Send to layers" and not scene.ears.texts("error")
    added = {layer.name(): layer for key, layer in scene.project.mapLayers().items() if key not in before}
    assert set(added) == {"Footprints", "Sectors"}
    for layer in added.values():
        assert {feature["site"] for feature in layer.getFeatures()} == {"Spot 1"}
    # plain symbols are what QGIS gives; ours are rules and classes
    assert added["Sectors"].renderer().type() != "singleSymbol"
    tree = scene.project.layerTreeRoot()
    groups = [tree.findLayer(layer.id()).parent().name() for layer in added.values()]
    assert any(name.startswith("Reflection footprints, ") for name in groups)
    assert any(name.startswith("Surface quality by azimuth, ") for name in groups)
    assert added["Footprints"].crs() == CRS


def test_send_to_layers_can_be_stopped(scene):
    place(scene, PIER)
    before = set(scene.project.mapLayers())
    click(scene.bar.layers.button)
    click(scene.bar.layers.button)
    assert not scene.bar.is_running() and scene.bar.layers.button.text() == "Send to layers"
    pump(1500)
    assert set(scene.project.mapLayers()) == before and not scene.ears.texts("error")


def test_what_an_algorithm_refuses_is_said(scene):
    from stillwater.plugin.bench.model.running import Runner
    runner, told = Runner(scene.project), []
    runner.start("improveposition", {"RADIUS": -1, "OUTPUT": "TEMPORARY_OUTPUT"}, told.append, told.append)
    assert "INPUT" in told[0] and not runner.is_running()
    runner.start("nonsense", {}, told.append, told.append)
    assert "does not know" in told[1]
    place(scene, PIER)
    scene.bench.set_settings(replace(scene.bench.settings, LEVEL_LOW=2.0, LEVEL_HIGH=-2.0))
    looked(scene.bench)
    scene.bar.better.start()
    wait(scene)
    assert "LEVEL_LOW" in scene.ears.texts("error")[-1] and "Traceback" not in scene.ears.texts("error")[-1]
    runner.close()


def test_the_site_sheet_opens_filled_in(scene, qgis_iface, monkeypatch):
    browser = QgsBrowserGuiModel()
    # the stand-in for the window has no browser, which the dialog's layer widgets ask for
    monkeypatch.setattr(qgis_iface, "browserModel", lambda: browser, raising=False)
    place(scene, PIER)
    click(scene.bar.pin)
    click(scene.bar.sheet)
    dialog, = scene.bar._dialogs
    assert dialog.isVisible() and not dialog.isModal()
    given = dialog.createProcessingParameters()
    assert given["ANTENNA_HEIGHT"] == 4.5 and given["SITE_FIELD"] == "name" and given["LEVEL_HIGH"] == 1.1
    assert given["DEM"] in (scene.bench.settings.DEM, scene.project.mapLayer(scene.bench.settings.DEM).source())
    layer = QgsVectorLayer(str(given["INPUT"]), "place", "ogr")
    feature, = layer.getFeatures()
    assert feature["name"] == "Spot 1" and feature.geometry().asPoint() == PIER
    assert not scene.project.mapLayersByName("place")
    scene.bar._dialogs.clear()
    # while Qt still lives, or the interpreter falls over it at its end
    sip.delete(dialog)


def test_a_better_position_is_offered_and_gone_to(shore):
    from stillwater.plugin.bench.model.running import parameters_of, place_layer
    before = inland(shore)
    start = shore.bench.place
    shore.bar.better.radius.setValue(40.0)
    expected, = rows_and_points(run("improveposition", **{
        **parameters_of(shore.bench, place_layer(start, "Bench")), "RADIUS": 40.0, "HEIGHT_MIN": 1.0,
        "HEIGHT_MAX": 5.0})["OUTPUT"])
    click(shore.bar.better.button)
    assert shore.bar.better.button.text() == "Stop" and "Searching" in shore.ears.texts("busy")[-1]
    assert shore.bench.place == start, "the window is not held up"
    wait(shore)
    row, point = expected
    text = shore.bar.better.label.text()
    assert shore.bar.better.isVisible() and shore.bar.better.button.text() == "Better position"
    assert f"Score {row['score_old']:.0f} → {row['score_new']:.0f}" in text and "to the E" in text
    assert row["score_old"] == pytest.approx(before.row.result.score)
    click(shore.bar.better.go)
    assert shore.bench.place.point == point and shore.bench.place.height_m == row["height_m"]
    assert not shore.bar.better.isVisible()
    assert looked(shore.bench).row.result.score == pytest.approx(row["score_new"], abs=1e-6)
    shore.bench.undo_stack.undo()
    assert shore.bench.place == start


def rows_and_points(layer):
    return list(zip(rows(layer), (feature.geometry().asPoint() for feature in layer.getFeatures())))


def test_an_offer_can_be_left_and_ends_with_the_next_move(shore):
    inland(shore)
    start = shore.bench.place
    shore.bar.better.higher.setValue(0.0)
    for leave in (lambda: click(shore.bar.better.leave),
                  lambda: shore.bench.move_to(QgsPointXY(SHORE_X - 25, MIDDLE_Y), CRS)):
        click(shore.bar.better.button)
        wait(shore)
        assert shore.bar.better.isVisible()
        leave()
        assert not shore.bar.better.isVisible()
        looked(shore.bench)
    assert shore.bench.place != start and shore.bench.undo_stack.count() == 2


def test_where_nothing_is_better_it_says_so(shore):
    shore.bench.move_to(QgsPointXY(SHORE_X + 300, MIDDLE_Y), CRS)
    looked(shore.bench)
    shore.bar.better.radius.setValue(10.0)
    shore.bar.better.higher.setValue(0.0)
    click(shore.bar.better.button)
    wait(shore)
    assert "No better position was found within 10 m" in shore.ears.texts("hint")[-1]
    assert not shore.bar.better.isVisible()


def test_the_search_can_be_stopped_and_what_was_said_before_is_said_again(shore):
    inland(shore)
    shore.bench.said.emit("warning", "Mind the rocks.")
    click(shore.bar.better.button)
    click(shore.bar.better.button)
    assert not shore.bar.is_running() and shore.ears.said[-1] == ("warning", "Mind the rocks.")
    pump(1500)
    assert not shore.bar.better.isVisible() and not shore.ears.texts("error")


def test_a_move_ends_the_search(shore):
    inland(shore)
    click(shore.bar.better.button)
    shore.bench.move_to(QgsPointXY(SHORE_X - 20, MIDDLE_Y), CRS)
    assert not shore.bar.is_running() and shore.bar.better.button.text() == "Better position"
    looked(shore.bench)
    assert not shore.bar.better.isVisible()


@pytest.mark.parametrize("which", ["better", "layers"])
def test_a_layer_removed_while_it_is_read_ends_the_run_in_words(shore, which):
    inland(shore)
    button = getattr(shore.bar, which).button
    before = set(shore.project.mapLayers())
    click(button)
    lost = shore.bench.settings.LANDCOVER
    shore.project.removeMapLayer(lost)
    assert not shore.bar.is_running()
    looked(shore.bench)
    pump(500)
    assert not shore.bar.better.isVisible() and not button.isEnabled()
    assert set(shore.project.mapLayers()) == before - {lost}
    errors = shore.ears.texts("error")
    assert any("LANDCOVER" in text for text in errors), "the bench's own look misses it"
    assert any("was removed" in text for text in errors) == (which == "layers")


@pytest.mark.parametrize("which", ["better", "layers"])
def test_a_project_cleared_while_it_runs_gets_nothing(shore, which):
    inland(shore)
    click(getattr(shore.bar, which).button)
    assert shore.bar.is_running()
    shore.project.clear()
    assert not shore.bar.is_running()
    pump(1500)
    assert not shore.project.mapLayers() and not shore.bar.better.isVisible()
    assert not shore.bar.pin.isEnabled() and not getattr(shore.bar, which).button.isEnabled()


@pytest.mark.parametrize("which", ["better", "layers"])
def test_closing_while_it_runs_waits_and_leaves_nothing(project, provider, coast, qgis_app, which):
    from stillwater.plugin.bench.model import running
    bench = bench_on_shore(project, coast)
    scene = window_on(bench)
    inland(scene)
    click(getattr(scene.bar, which).button)
    while which == "better" and scene.ears.texts("busy")[-1].endswith(" 0 %"):
        pump(5)
    assert scene.bar.is_running()
    take_away(scene)
    scene.bar.close_bar()  # a second time, as a plugin may that is reloaded
    bench.close()
    assert not [task for task in QgsApplication.taskManager().tasks() if task.isActive()]
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    pump(300)
    assert not running._kept and set(project.mapLayers()) == {bench.settings.LANDCOVER}
    project.clear()  # no slot of what was closed may be called


def test_the_buttons_wrap_in_a_narrow_dock(scene):
    bar = scene.bar
    bar.setParent(None)
    bar.resize(260, 10)
    bar.show()
    bar.resize(260, bar.heightForWidth(260))
    QApplication.processEvents()
    buttons = [bar.pin, bar.candidates, bar.layers.button, bar.sheet, bar.better.button]
    boxes = [one.geometry() for one in buttons]
    assert all(box.left() >= 0 and box.right() <= 260 and box.bottom() <= bar.height() for box in boxes)
    assert len({box.top() for box in boxes}) > 1
    assert not any(a.intersects(b) for i, a in enumerate(boxes) for b in boxes[i + 1:])
    bar.setParent(scene.window)
