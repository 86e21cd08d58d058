"""The pins of the bench, side by side: compared, renamed, gone to, taken away, copied."""

from dataclasses import replace

from bench_parts_scene import button, cell, choose, click, pin_two, place
from bench_scene import PIER, looked
from qgis.core import QgsCoordinateReferenceSystem, QgsPointXY
from qgis.PyQt.QtCore import Qt
from qgis.PyQt.QtTest import QTest
from qgis.PyQt.QtWidgets import QApplication, QLineEdit
from scenes import rows
from stillwater.siting.words.wording import precision_text

pytest_plugins = ["bench_parts_fixtures"]
KEY, CTRL = Qt.Key, Qt.KeyboardModifier.ControlModifier


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
    assert cell(scene, "arcs", 0).endswith(f"{first.spot.row.sky.arcs_day:.0f}")
    told = [f"{precision_text(pin.spot.row.result.precision)} cm" for pin in (first, second)]
    assert [cell(scene, "precision", i) for i in (0, 1)] == [f"★ {told[0]}", told[1]]
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
