"""Pins and actions of the bench: clicked as a user does, with what they leave in project and bench."""

from dataclasses import replace
from types import SimpleNamespace

import pytest
from bench_scene import bench_on, looked, pump
from qgis.core import (
    QgsApplication,
    QgsCoordinateReferenceSystem,
    QgsPointXY,
    QgsProject,
    QgsRasterLayer,
    QgsVectorLayer,
)
from qgis.gui import QgsBrowserGuiModel, QgsMapCanvas
from qgis.PyQt import sip
from qgis.PyQt.QtCore import QCoreApplication, QEvent, Qt
from qgis.PyQt.QtTest import QTest
from qgis.PyQt.QtWidgets import QApplication, QFileDialog, QLineEdit, QMainWindow, QToolButton, QVBoxLayout, QWidget
from scenes import MIDDLE_Y, SHORE_X, UTM, rows, run

CRS = QgsCoordinateReferenceSystem(UTM)
PIER, COVE, PROMENADE = QgsPointXY(499485, 4982419), QgsPointXY(501140, 4982934), QgsPointXY(499345, 4982827)
LEFT, KEY, CTRL = Qt.MouseButton.LeftButton, Qt.Key, Qt.KeyboardModifier.ControlModifier
FREE = Qt.KeyboardModifier.NoModifier
FIELDS = "name:string(60)|height_m:double|level_m:double|low_m:double|high_m:double"


class Ears:
    """Keeps what a bench says."""

    def __init__(self, bench):
        self.said = []
        bench.said.connect(lambda kind, text: self.said.append((kind, text)))

    def texts(self, kind):
        return [text for one, text in self.said if one == kind]


@pytest.fixture
def project():
    project = QgsProject.instance()
    project.clear()
    yield project
    project.clear()


def window_on(bench):
    """Show bar and panel in a window beside a canvas."""
    from stillwater.plugin.bench.actionsbar import ActionsBar
    from stillwater.plugin.bench.pinspanel import PinsPanel
    canvas, window, page = QgsMapCanvas(), QMainWindow(), QWidget()
    canvas.setDestinationCrs(CRS)
    iface = SimpleNamespace(mapCanvas=lambda: canvas, mainWindow=lambda: window)
    layout = QVBoxLayout(page)
    bar, panel = ActionsBar(bench, iface, page), PinsPanel(bench, iface, page)
    for one in (bar, panel):
        layout.addWidget(one)
    layout.addStretch(1)
    window.setCentralWidget(page)
    window.resize(480, 900)
    window.show()
    QApplication.processEvents()
    return SimpleNamespace(bench=bench, project=bench.project, bar=bar, panel=panel, window=window, canvas=canvas,
                           ears=Ears(bench))


def close(scene):
    scene.bar.close_bar()
    scene.panel.close_panel()
    sip.delete(scene.window)
    sip.delete(scene.canvas)


@pytest.fixture
def scene(project, provider, qgis_app):
    """Give bench, bar and panel on the sample's layers."""
    bench = bench_on(project)
    bench.set_height(4.5)
    made = window_on(bench)
    yield made
    close(made)
    bench.close()
    assert not [task for task in QgsApplication.taskManager().tasks() if task.isActive()]


@pytest.fixture
def shore(project, provider, coast, qgis_app):
    """Give bench, bar and panel on a straight shore with water to the east."""
    from stillwater.plugin.bench.bench import Bench
    cover = QgsRasterLayer(coast["LANDCOVER"], "Land cover")
    project.addMapLayer(cover)
    bench = Bench(project)
    bench.set_settings(replace(bench.settings, LANDCOVER=cover.id(), TARGET_CLASSES="80"))
    made = window_on(bench)
    yield made
    close(made)
    bench.close()


def place(scene, point, height_m=4.5):
    scene.bench.set_height(height_m)
    scene.bench.move_to(point, CRS)
    return looked(scene.bench)


def click(widget):
    assert widget.isEnabled() and widget.isVisible()
    QTest.mouseClick(widget, LEFT)
    QApplication.processEvents()


def wait(scene, most_ms=60_000):
    """Wait for the algorithms of the bar."""
    for _ in range(most_ms // 20):
        pump(20)
        if not scene.bar.is_running():
            return
    raise AssertionError("the algorithm is still running")


def button(scene, column, name):
    model, view = scene.panel.table, scene.panel.view
    return view.indexWidget(model.index(model.row_of("buttons"), column)).findChild(QToolButton, name)


def cell(scene, key, column):
    model = scene.panel.table
    return model.data(model.index(model.row_of(key), column), Qt.ItemDataRole.DisplayRole)


def choose(scene, text):
    """Open the menu of candidates and choose by its words."""
    menu = scene.bar.candidates.menu()
    menu.popup(scene.window.mapToGlobal(scene.window.rect().center()))
    QApplication.processEvents()
    action, = [one for one in menu.actions() if one.text() == text]
    QTest.mouseClick(menu, LEFT, FREE, menu.actionGeometry(action).center())
    QApplication.processEvents()


def pin_two(scene):
    """Pin the pier head, then a promenade that is worth less."""
    place(scene, PIER)
    click(scene.bar.pin)
    place(scene, PROMENADE, 3.0)
    click(scene.bar.pin)
    return scene.bench.pins


# -- pins -----------------------------------------------------------------------------------------------------------


def test_without_pins_the_panel_says_what_to_do(scene):
    assert scene.panel.empty.isVisible() and not scene.panel.view.isVisible()
    assert "Pin a position" in scene.panel.empty.text()
    assert not scene.bar.pin.isEnabled() and not scene.bar.candidates.isEnabled()


def test_two_pins_are_compared_and_the_better_is_marked(scene):
    first, second = pin_two(scene)
    assert scene.panel.view.isVisible() and not scene.panel.empty.isVisible()
    assert scene.panel.table.columnCount() == 2
    assert first.spot.row.result.score > second.spot.row.result.score
    assert cell(scene, "score", 0) == f"★ {first.spot.row.result.score:.0f}"
    assert cell(scene, "score", 1) == f"{second.spot.row.result.score:.0f}"
    model = scene.panel.table
    fonts = [model.data(model.index(model.row_of("score"), i), Qt.ItemDataRole.FontRole) for i in (0, 1)]
    assert fonts[0].bold() and fonts[1] is None
    assert cell(scene, "height", 0) == "4.50 m" and cell(scene, "height", 1) == "3.00 m"
    assert cell(scene, "low", 0) == f"{first.spot.row.h_low_m:.2f} m"
    assert cell(scene, "arcs", 0).endswith(str(first.spot.row.sky.arcs_day))
    spoken = model.data(model.index(model.row_of("score"), 0), Qt.ItemDataRole.AccessibleTextRole)
    assert "Spot 1" in spoken and "best" in spoken
    assert not model.data(model.index(model.row_of("verdict"), 0), Qt.ItemDataRole.DecorationRole).isNull()
    assert model.row_of("settings") == model.row_of("PURPOSE") == -1
    # the gap is better the shorter it is
    gaps = [pin.spot.row.sky.gap_h for pin in scene.bench.pins]
    best = 0 if gaps[0] < gaps[1] else 1
    assert cell(scene, "gap", best).startswith("★") != cell(scene, "gap", 1 - best).startswith("★")


def test_alike_values_are_not_marked(scene):
    place(scene, PIER)
    click(scene.bar.pin)
    assert not cell(scene, "score", 0).startswith("★"), "a single pin has nothing to be better than"
    click(scene.bar.pin)
    assert [cell(scene, "score", i).startswith("★") for i in (0, 1)] == [False, False]


def test_pins_found_with_other_settings_say_so(scene):
    place(scene, PIER)
    click(scene.bar.pin)
    scene.bench.set_settings(replace(scene.bench.settings, SIGNAL="GPS L5", LEVEL_HIGH=1.0))
    assert cell(scene, "settings", 0) == "other settings"
    looked(scene.bench)
    click(scene.bar.pin)
    assert [cell(scene, "settings", i) for i in (0, 1)] == ["other settings", "these settings"]
    assert [cell(scene, "SIGNAL", i) for i in (0, 1)] == ["GPS L1", "GPS L5"]
    model = scene.panel.table
    tip = model.data(model.index(model.row_of("settings"), 0), Qt.ItemDataRole.ToolTipRole)
    assert "SIGNAL" in tip and "LEVEL_HIGH" in tip and "PURPOSE" not in tip


def test_a_pin_that_could_not_be_assessed_stands_beside_others_and_can_be_kept(scene):
    place(scene, PIER)
    click(scene.bar.pin)
    spot = place(scene, QgsPointXY(PIER.x() + 60, PIER.y() - 60), 0.5)
    assert spot.row.result is None, "under water"
    click(scene.bar.pin)
    assert cell(scene, "verdict", 1) == "not assessed" and cell(scene, "score", 1) == "–"
    assert cell(scene, "score", 0).startswith("★") and cell(scene, "limit", 1).startswith(spot.row.limit_by[:1].upper())
    assert scene.panel.view.horizontalHeader().rose_of(1) is None
    choose(scene, "New temporary layer")
    row, = rows(scene.project.mapLayersByName("Candidates")[0])
    assert row["verdict"] == "not assessed" and row["score"] is None and row["int_rec_s"] is None


def test_a_pin_is_renamed_in_place(scene):
    pin_two(scene)
    click(button(scene, 1, "rename"))
    editor = scene.panel.view.viewport().findChild(QLineEdit)
    editor.selectAll()
    QTest.keyClicks(editor, "Quay <b>&")
    QTest.keyClick(editor, KEY.Key_Return)
    QApplication.processEvents()
    assert scene.bench.pins[1].name == "Quay <b>&" and cell(scene, "name", 1) == "Quay <b>&"
    model = scene.panel.table
    tip = model.headerData(1, Qt.Orientation.Horizontal, Qt.ItemDataRole.ToolTipRole)
    assert "Quay &lt;b&gt;&amp;" in tip, "tool tips are rich text"
    assert scene.panel.view.horizontalHeader().rose_of(1).isValid()
    # without a name it keeps the one it has
    assert not model.setData(model.index(model.row_of("name"), 1), "  ")
    assert scene.bench.pins[1].name == "Quay <b>&"


def test_a_pin_is_taken_away_by_its_button_and_by_the_keyboard(scene):
    first, second = pin_two(scene)
    click(scene.bar.pin)
    click(button(scene, 2, "remove"))
    assert len(scene.bench.pins) == 2
    view = scene.panel.view
    view.show_column(0)
    view.setFocus()
    QTest.keyClick(view, KEY.Key_Delete)
    QApplication.processEvents()
    assert scene.bench.pins[0] is second and len(scene.bench.pins) == 1
    QTest.keyClick(view, KEY.Key_Delete)
    QApplication.processEvents()
    assert not scene.bench.pins and scene.panel.empty.isVisible()


def test_the_button_goes_back_to_the_pin(scene):
    first, _second = pin_two(scene)
    scene.canvas.setDestinationCrs(QgsCoordinateReferenceSystem("EPSG:3857"))
    click(button(scene, 0, "go"))
    assert scene.bench.place.crs.authid() == "EPSG:3857" and scene.bench.place.height_m == 4.5
    assert looked(scene.bench).row.verdict == first.spot.row.verdict
    scene.bench.undo_stack.undo()
    assert scene.bench.place.height_m == 3.0


def test_ctrl_c_copies_the_table_with_tabs_between(scene):
    pin_two(scene)
    view = scene.panel.view
    view.show_column(0)
    view.setFocus()
    QTest.keyClick(view, KEY.Key_C, CTRL)
    lines = [line.split("\t") for line in QApplication.clipboard().text().split("\n")]
    assert {len(line) for line in lines} == {3} and lines[0] == ["", "1", "2"]
    assert lines[1] == ["Name", "Spot 1", "Spot 2"]
    table = {line[0]: line[1:] for line in lines}
    assert table["Verdict"][0] == "suitable" and "★" not in "".join(table["Score"])


def test_many_pins_scroll_sideways_alone(scene):
    place(scene, PIER)
    for _ in range(6):
        click(scene.bar.pin)
    view = scene.panel.view
    assert view.horizontalScrollBar().maximum() > 0 and view.verticalScrollBar().maximum() == 0
    last = view.visualRect(scene.panel.table.index(scene.panel.table.rowCount() - 1, 0))
    assert last.bottom() <= view.viewport().height()


# -- candidates -----------------------------------------------------------------------------------------------------


def test_a_new_temporary_layer_gives_the_ranking_the_same_figures(scene):
    spot = place(scene, PIER)
    choose(scene, "New temporary layer")
    layer, = scene.project.mapLayersByName("Candidates")
    row, = rows(layer)
    assert (row["name"], row["height_m"], row["low_m"], row["high_m"]) == ("Spot 1", 4.5, -1.1, 1.1)
    assert row["purpose"] == "sea level" and row["verdict"] == "suitable"
    assert row["score"] == spot.row.result.score and row["int_rec_s"] == spot.row.sky.int_rec_s
    assert layer.labelsEnabled() and layer.crs() == CRS
    # the button alone adds to the same layer from now on, under another name
    place(scene, COVE, 4.3)
    click(scene.bar.candidates)
    assert [one["name"] for one in rows(layer)] == ["Spot 1", "Spot 2"]
    ranked = rows(run("rankcandidates", **{
        **scene.bench.settings.parameters(), "INPUT": layer, "SITE_FIELD": "name", "HEIGHT_FIELD": "height_m",
        "LOW_FIELD": "low_m", "HIGH_FIELD": "high_m", "SURFACE_FIELD": "level_m"})["OUTPUT"])
    found = {one["site"]: one for one in ranked}
    for name, seen in (("Spot 1", spot), ("Spot 2", scene.bench.spot)):
        assert found[name]["score"] == pytest.approx(seen.row.result.score, abs=1e-9)
        assert (found[name]["verdict"], found[name]["limit_by"], found[name]["arcs_day"]) == (
            seen.row.verdict, seen.row.limit_by, seen.row.sky.arcs_day)
        assert found[name]["h_low_m"] == pytest.approx(seen.row.h_low_m, abs=1e-9)


def existing(scene, crs=UTM, kind="Point", name="Sites <b>&"):
    layer = QgsVectorLayer(f"{kind}?crs={crs}&" + "&".join(f"field={one}" for one in FIELDS.split("|")), name,
                           "memory")
    scene.project.addMapLayer(layer)
    return layer


def test_a_layer_of_the_project_in_degrees_takes_the_place(scene):
    layer = existing(scene, "EPSG:4326", "MultiPoint")
    place(scene, PIER)
    click(scene.bar.pin)
    choose(scene, "Sites <b>&&")
    feature, = layer.getFeatures()
    # EPSG:32624 and EPSG:4326 by PROJ's own conversion, checked against the sample's place on its coast
    point = feature.geometry().asMultiPoint()[0]
    assert point.x() == pytest.approx(-39.0065, abs=1e-3) and point.y() == pytest.approx(44.9937, abs=1e-2)
    assert feature["name"] == "Spot 1" and feature["high_m"] == 1.1
    assert "Sites <b>&" in scene.ears.texts("hint")[-1]
    assert "<b>" not in scene.bar.candidates.toolTip()


def test_layers_without_the_fields_are_not_offered(scene):
    scene.project.addMapLayer(QgsVectorLayer("Point?crs=EPSG:32624&field=name:string", "Wells", "memory"))
    scene.project.addMapLayer(QgsVectorLayer(
        "Point?crs=EPSG:32624&field=name:string&field=height_m:string&field=level_m:double&field=low_m:double"
        "&field=high_m:double", "Words", "memory"))
    existing(scene, kind="Polygon", name="Plots")
    place(scene, PIER)
    menu = scene.bar.candidates.menu()
    menu.popup(scene.window.pos())
    texts = [one.text() for one in menu.actions()]
    menu.close()
    assert texts == ["", "New temporary layer", "New GeoPackage layer …"]


def test_in_edit_mode_it_is_a_step_that_can_be_undone(scene):
    layer = existing(scene, name="Sites")
    layer.startEditing()
    place(scene, PIER)
    choose(scene, "Sites")
    assert layer.featureCount() == 1 and layer.undoStack().count() == 1
    layer.undoStack().undo()
    assert layer.featureCount() == 0
    layer.undoStack().redo()
    assert layer.commitChanges() and layer.featureCount() == 1


def test_a_read_only_layer_is_told_and_nothing_is_added(scene):
    layer = existing(scene, name="Sites")
    layer.setReadOnly(True)
    place(scene, PIER)
    choose(scene, "Sites")
    assert layer.featureCount() == 0 and "“Sites” is read-only" in scene.ears.texts("error")[-1]


def test_a_layer_without_crs_is_told(scene):
    layer = existing(scene, name="Sites")
    layer.setCrs(QgsCoordinateReferenceSystem())
    place(scene, PIER)
    choose(scene, "Sites")
    assert layer.featureCount() == 0 and "no coordinate reference system" in scene.ears.texts("error")[-1]


def test_a_new_geopackage_layer_leaves_the_other_tables_alone(scene, tmp_path, monkeypatch):
    path = tmp_path / "mine.gpkg"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_args, **_options: (str(path)[:-5], ""))
    place(scene, PIER)
    for _ in range(2):
        choose(scene, "New GeoPackage layer …")
    for title, table in (("Candidates", "candidates"), ("Candidates 2", "candidates_2")):
        layer, = scene.project.mapLayersByName(title)
        assert layer.source() == f"{path}|layername={table}"
        row, = rows(layer)
        assert row["verdict"] == "suitable" and row["score"] == scene.bench.spot.row.result.score
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_args, **_options: (
        str(tmp_path / "no folder" / "mine.gpkg"), ""))
    choose(scene, "New GeoPackage layer …")
    assert "cannot be written" in scene.ears.texts("error")[-1]
    assert len(scene.project.mapLayersByName("Candidates 3")) == 0


# -- layers and sheet -----------------------------------------------------------------------------------------------


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
    from stillwater.plugin.bench.running import Runner
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


# -- a better position ----------------------------------------------------------------------------------------------


def inland(scene, distance_m=30.0):
    scene.bench.set_height(3.0)
    scene.bench.move_to(QgsPointXY(SHORE_X - distance_m, MIDDLE_Y), CRS)
    return looked(scene.bench)


def test_a_better_position_is_offered_and_gone_to(shore):
    from stillwater.plugin.bench.running import parameters_of, place_layer
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


def test_a_layer_removed_while_it_is_read_ends_the_search_in_words(shore):
    inland(shore)
    click(shore.bar.better.button)
    shore.project.removeMapLayer(shore.bench.settings.LANDCOVER)
    assert not shore.bar.is_running()
    looked(shore.bench)
    pump(200)
    assert not shore.bar.better.isVisible() and not shore.bar.better.button.isEnabled()


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
    from stillwater.plugin.bench import running
    from stillwater.plugin.bench.bench import Bench
    cover = QgsRasterLayer(coast["LANDCOVER"], "Land cover")
    project.addMapLayer(cover)
    bench = Bench(project)
    bench.set_settings(replace(bench.settings, LANDCOVER=cover.id(), TARGET_CLASSES="80"))
    scene = window_on(bench)
    inland(scene)
    click(getattr(scene.bar, which).button)
    while which == "better" and scene.ears.texts("busy")[-1].endswith(" 0 %"):
        pump(5)
    assert scene.bar.is_running()
    close(scene)
    bench.close()
    assert not [task for task in QgsApplication.taskManager().tasks() if task.isActive()]
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    pump(300)
    assert not running._kept and set(project.mapLayers()) == {cover.id()}
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
