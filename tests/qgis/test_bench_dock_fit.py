"""The dock of the bench fits: narrow, with large words, light and dark; the first hint, and an end without a trace."""

import os
import re
from pathlib import Path
from types import SimpleNamespace

import pytest
from bench_dock_scene import settle, take_away, window_with_dock
from bench_scene import CRS, PIER, looked
from qgis.core import QgsProject, QgsSettings
from qgis.gui import QgsMapLayerComboBox
from qgis.PyQt import sip
from qgis.PyQt.QtCore import Qt
from qgis.PyQt.QtGui import QColor, QFont, QFontMetricsF, QPalette
from qgis.PyQt.QtTest import QTest
from qgis.PyQt.QtWidgets import QAbstractButton, QApplication, QComboBox, QFileDialog, QLabel

pytest_plugins = ["bench_dock_fixtures"]
NARROW, USUAL_PX = 260, 13
"""Width of the dock, and height of a window's words in most systems [px]."""


@pytest.fixture(params=[1.0, 1.25], ids=["100 %", "125 %"])
def narrow(request, bench, qgis_app):
    """Give a narrow dock with a full look, in words of two sizes."""
    before = QApplication.font()
    font = QFont(before)
    font.setPixelSize(round(request.param * USUAL_PX))
    QApplication.setFont(font)
    window, dock, _iface = window_with_dock(bench, NARROW)
    bench.move_to(PIER, CRS)
    looked(bench)
    dock.hint.say("hint", "Choose at least land cover, water polygons or an elevation model, below under “Layers”.")
    dock.strip.say("warning", "A rather long warning that a reading of layers may end with, in some words.")
    settle()
    yield dock
    take_away(window, dock)
    QApplication.setFont(before)


def cut_short(widget) -> bool:
    """Tell whether a label or button has less room than its words need."""
    if isinstance(widget, QLabel) and widget.wordWrap():
        return (widget.heightForWidth(widget.width()) > widget.height()
                or widget.minimumSizeHint().width() > widget.width())
    if isinstance(widget, QComboBox):
        longest = max(widget.fontMetrics().horizontalAdvance(widget.itemText(i)) for i in range(widget.count()))
        return longest > widget.width() - 26
    return widget.sizeHint().width() > widget.width() or widget.sizeHint().height() > widget.height()


def test_in_a_narrow_dock_no_word_is_cut_short(narrow):
    assert narrow.width() <= NARROW + 2
    page = narrow.scroll.widget()
    assert page.minimumSizeHint().width() <= narrow.scroll.viewport().width()
    assert page.width() == narrow.scroll.viewport().width()
    seen = [one for kind in (QLabel, QAbstractButton, QComboBox) for one in narrow.widget().findChildren(kind)
            if one.isVisibleTo(narrow) and (isinstance(one, QComboBox) or one.text())
            and not isinstance(one, QgsMapLayerComboBox)]
    assert len(seen) > 40
    short = [(type(one).__name__, one.currentText() if isinstance(one, QComboBox) else one.text(), one.size(),
              one.sizeHint()) for one in seen if cut_short(one)]
    assert not short


def test_words_of_the_charts_stay_within_them_and_apart_in_the_font_used(narrow):
    for view in (narrow.charts.rose, narrow.charts.window, narrow.charts.passes):
        assert view._size.width() <= view.width() and view.height() >= view._size.height()
        wide = float(re.search(r'viewBox="0 0 (\d+)', view.svg)[1])
        scale, placed = view._size.width() / wide, []
        for given, words in re.findall(r"<text ([^>]*)>([^<]*)</text>", view.svg):
            at = dict(re.findall(r'([\w-]+)="([^"]*)"', given))
            assert 10 * scale >= 9.5, "words can be read"
            if "transform" in at:
                continue
            font = QFont("DejaVu Sans")
            font.setPixelSize(int(float(at["font-size"])))
            font.setBold("font-weight" in at)
            x, y, size = float(at["x"]), float(at["y"]), float(at["font-size"])
            long = QFontMetricsF(font).horizontalAdvance(words)
            left = x - {"middle": long / 2, "end": long}.get(at["text-anchor"], 0.0)
            assert left >= 0 and left + long <= wide, words
            for others, (start, end, base) in placed:
                assert left >= end or left + long <= start or abs(y - base) >= size, (words, others)
            placed.append((words, (left, left + long, y)))
        assert len(placed) > 8


def test_a_dark_window_gets_dark_charts_at_once_and_a_light_one_light(shown, bench):
    bench.move_to(PIER, CRS)
    looked(bench)
    settle()
    before = QApplication.palette()
    light = [view.svg for view in (shown.charts.rose, shown.charts.window, shown.charts.passes)]
    dark = QPalette(before)
    for role, colour in ((QPalette.ColorRole.Window, "#20242a"), (QPalette.ColorRole.WindowText, "#e8e8e8")):
        dark.setColor(role, QColor(colour))
    QApplication.setPalette(dark)
    settle()
    for view, was in zip((shown.charts.rose, shown.charts.window, shown.charts.passes), light):
        assert 'fill="#20242a"' in view.svg and 'fill="#e8e8e8"' in view.svg and "#1c2430" not in view.svg
        assert "#ffea46" in view.svg or view is not shown.charts.rose, "the ramp stays"
        image = view.grab().toImage()
        assert image.pixelColor(1, 1) == QColor("#20242a")
        assert view.svg != was
    QApplication.setPalette(before)
    settle()
    assert [view.svg for view in (shown.charts.rose, shown.charts.window, shown.charts.passes)] == light


def test_tab_walks_through_the_dock_from_top_to_bottom(shown):
    shown.activateWindow()
    shown.controls.height.setFocus()
    seen = []
    for _ in range(80):
        widget = QApplication.focusWidget()
        if widget is None or not shown.isAncestorOf(widget):
            break
        if widget.objectName():
            seen.append(widget.objectName())
        QTest.keyClick(widget, Qt.Key.Key_Tab)
    wanted = ["height", "HEIGHT_REFERENCE", "DEM", "LANDCOVER", "TARGET_CLASSES", "AVOID", "PURPOSE", "LEVEL_LOW",
              "LEVEL_HIGH", "SIGNAL", "DAYS", "MAX_ELEVATION"]
    assert [name for name in seen if name in wanted][:len(wanted)] == wanted


# -- the first time ----------------------------------------------------------------------------------------------------

@pytest.fixture
def first(empty, qgis_app):
    """Give a dock that is opened for the first time."""
    QgsSettings().remove("stillwater/bench/seen")
    window, dock, iface = window_with_dock(empty)
    yield SimpleNamespace(dock=dock, hint=dock.first, opened=iface.opened, bench=empty)
    take_away(window, dock)


def test_the_first_hint_tells_how_and_never_comes_back_once_dismissed(first):
    assert first.hint.isVisible()
    for words in ("Click to place", "drag to move", "wheel", "Esc"):
        assert words in first.hint.how.text()
    QTest.mouseClick(first.hint.dismiss, Qt.MouseButton.LeftButton)
    assert first.hint.isHidden()
    window, dock, _iface = window_with_dock(first.bench)
    assert dock.first.isHidden()
    take_away(window, dock)


def test_the_sample_is_opened_as_a_copy(first, tmp_path, monkeypatch):
    asked = []
    monkeypatch.setattr(QFileDialog, "getExistingDirectory",
                        staticmethod(lambda *given: asked.append(given) or str(tmp_path)))
    QTest.mouseClick(first.hint.open, Qt.MouseButton.LeftButton)
    path = Path(first.opened[0])
    assert len(asked) == 1 and path == tmp_path / "stillwater_sample" / "sample_project.qgs"
    names = {one.name for one in path.parent.iterdir()}
    assert {"elevation.tif", "landcover.tif", "coast.gpkg"} <= names
    assert not [name for name in names if name.endswith((".py", ".sh"))]
    assert all(os.access(one, os.W_OK) for one in path.parent.iterdir())
    assert QgsProject.instance().read(str(path))
    assert all(str(path.parent) in layer.source() for layer in QgsProject.instance().mapLayers().values())
    assert first.hint.isHidden() and QgsSettings().value("stillwater/bench/seen", False, bool) is True
    first.hint.show()
    QTest.mouseClick(first.hint.open, Qt.MouseButton.LeftButton)
    assert first.opened[1] == str(tmp_path / "stillwater_sample_2" / "sample_project.qgs"), "nothing is overwritten"


def test_a_copy_that_fails_is_told_in_place(first, tmp_path, monkeypatch):
    blocked = tmp_path / "a file"
    blocked.write_text("")
    monkeypatch.setattr(QFileDialog, "getExistingDirectory", staticmethod(lambda *_given: str(blocked)))
    QTest.mouseClick(first.hint.open, Qt.MouseButton.LeftButton)
    assert first.opened == [] and first.hint.problem.isVisible() and "could not be copied" in first.hint.problem.text()
    monkeypatch.setattr(QFileDialog, "getExistingDirectory", staticmethod(lambda *_given: ""))
    QTest.mouseClick(first.hint.open, Qt.MouseButton.LeftButton)
    assert first.opened == [] and first.hint.isVisible()


# -- the end -----------------------------------------------------------------------------------------------------------

def test_a_closed_dock_lets_go_of_the_bench(bench, qgis_app):
    signals = ("place_changed", "spot_changed", "said", "settings_changed", "shown_changed", "pins_changed")

    def listeners():
        return {name: bench.receivers(getattr(bench, name)) for name in signals}

    before = listeners()
    window, dock, _iface = window_with_dock(bench)
    assert listeners() != before
    bench.move_to(PIER, CRS)
    take_away(window, dock)
    assert listeners() == before and sip.isdeleted(dock)
    assert looked(bench).row.verdict == "suitable"


def test_what_is_folded_away_is_remembered(bench, qgis_app):
    window, dock, _iface = window_with_dock(bench)
    assert dock.objectName() == "StillwaterBench" and dock.windowTitle() == "Stillwater bench"
    dock.sky.setCollapsed(True)
    settle()
    take_away(window, dock)
    window, dock, _iface = window_with_dock(bench)
    assert dock.sky.isCollapsed() and not dock.purpose.isCollapsed()
    dock.sky.setCollapsed(False)
    take_away(window, dock)
