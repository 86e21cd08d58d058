"""The dock of the bench: it shows what was found as the ranking has it, says in place what is wrong, and fits."""

from dataclasses import replace

import pytest
from bench_dock_scene import NOWHERE, SHUT_COVE, settle, take_away, window_with_dock
from bench_scene import CRS, PIER, looked, pump
from qgis.core import QgsCoordinateReferenceSystem, QgsPointXY, QgsProject
from qgis.PyQt.QtWidgets import QApplication, QDialog, QMessageBox
from scenes import UTM, points, rows, run
from stillwater.siting.words.wording import precision_text

pytest_plugins = ["bench_dock_fixtures"]
WAIT_MS = 700
"""Longer than anything in the dock waits."""


def no_box_is_open():
    return not [one for one in QApplication.topLevelWidgets()
                if isinstance(one, (QMessageBox, QDialog)) and one.isVisible()]


# -- what was found --------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("point, verdict", [(PIER, "suitable"), (SHUT_COVE, "unsuitable")])
def test_the_dock_says_what_the_ranking_says(shown, bench, point, verdict):
    bench.move_to(point, CRS)
    looked(bench)
    layers = {name: QgsProject.instance().mapLayer(getattr(bench.settings, name)).source()
              for name in ("DEM", "LANDCOVER", "AVOID")}
    found = run("rankcandidates", INPUT=points((point.x(), point.y())), ANTENNA_HEIGHT=4.5,
                **{**bench.settings.parameters(), **layers})
    row, = rows(found["OUTPUT"])
    seen, figures = shown.verdict, {key: label.text() for key, label in shown.verdict.figures.items()}
    assert seen.word.text() == row["verdict"] == verdict
    assert seen.precision.text() == f"{precision_text(row['height_cm'])} cm every 3 h; 5 cm wanted"
    assert seen.missing.text() == "Not looked at: waves (no wave height is given)."
    assert seen.score.text() == f"score {row['score']:.0f} of 100"
    assert seen.advice.text() == row["advice"][:1].upper() + row["advice"][1:] + "."
    assert seen.limit.text() == (f"Limited by {row['limit_by']}." if row["limit_by"] else "Limited by nothing.")
    assert figures["arcs"] == f"{row['arcs_day']:.0f}" and figures["span"] == f"{row['az_span']:.0f}°"
    assert figures["low"] == f"{row['h_low_m']:.2f} m" and figures["high"] == f"{row['h_high_m']:.2f} m"
    if row["int_rec_s"]:
        assert seen.interval.text().startswith(
            f"Log every {row['int_rec_s']:g} s; at most {row['int_max_s']:.2g} s resolve")
        assert figures["arc"] == f"{precision_text(row['arc_cm'])} cm"
        assert figures["gap"] == f"{row['gap_h']:.1f} h"
        assert figures["angles"] == f"{row['el_from']:g} to {row['el_to']:g}°"
    else:
        assert seen.interval.text() == "No usable arc, so no interval can be recommended."
    assert shown.strip.isHidden() and shown.hint.isHidden()


def test_the_charts_are_the_sheets_own_and_can_be_read_aloud(shown, bench):
    assert shown.charts.isHidden()
    bench.move_to(PIER, CRS)
    spot = looked(bench)
    settle()
    rose, window, passes = shown.charts.rose, shown.charts.window, shown.charts.passes
    assert f"{int(spot.row.bin_counts.sum())} of 72 directions count" in rose.accessibleDescription()
    assert rose.accessibleName() == "Quality by azimuth" and rose.accessibleDescription() in rose.toolTip()
    assert "Directions count" in window.accessibleDescription()
    assert passes.accessibleDescription().startswith(f"{spot.row.sky.arcs_day:.0f} usable arcs: ")
    for view in (rose, window, passes):
        image = view.grab().toImage()
        seen = {image.pixel(x, y) for x in range(0, image.width(), 2) for y in range(0, image.height(), 2)}
        assert view.isVisible() and view.height() > 150 and len(seen) > 20, "something is drawn"
    bench.clear()
    settle()
    assert shown.charts.isHidden() and shown.verdict.hint.isVisible()


def test_a_glance_is_marked_and_only_its_rose_is_new(shown, bench):
    bench.move_to(PIER, CRS)
    looked(bench)
    settle()
    before = (shown.charts.rose.svg, shown.charts.window.svg, shown.charts.passes.svg)
    bench.move_to(QgsPointXY(PIER.x() + 1, PIER.y() + 2), CRS, True)
    settle()
    assert bench.spot.is_rough
    assert shown.verdict.word.text().startswith("≈ ") and shown.verdict.score.text().startswith("score ≈ ")
    assert shown.charts.rose.svg != before[0]
    assert (shown.charts.window.svg, shown.charts.passes.svg) == before[1:]
    assert shown.charts.window._is_old and shown.charts.passes._is_old
    looked(bench)
    settle()
    assert not shown.verdict.word.text().startswith("≈") and not shown.charts.window._is_old
    assert shown.charts.window.svg != before[1]


def test_each_verdict_has_a_sign_of_its_own(shown):
    from stillwater.siting.verdict.score import MARGINAL, NOT_ASSESSED, SUITABLE, UNSUITABLE
    mark, seen = shown.verdict.mark, []
    mark.resize(40, 40)
    for verdict in (SUITABLE, MARGINAL, UNSUITABLE, NOT_ASSESSED):
        mark.show_verdict(verdict)
        image = mark.grab().toImage()
        seen.append([image.pixelColor(x, y).lightness() < 128 for x in range(40) for y in range(40)])
    assert all(one != other for i, one in enumerate(seen) for other in seen[:i])
    assert sum(seen[0]) > sum(seen[1]) > sum(seen[2]), "the better, the fuller"


# -- messages --------------------------------------------------------------------------------------------------------

def test_without_layers_the_dock_says_what_to_choose(empty, qgis_app):
    window, dock, _iface = window_with_dock(empty)
    assert dock.hint.isVisible() and "land cover, water polygons or an elevation model" in dock.hint.label.text()
    assert dock.hint.accessibleName().startswith("Hint: ")
    empty.move_to(PIER, CRS)
    looked(empty)
    settle()
    assert dock.strip.kind == "error" and dock.strip.isVisible() and dock.strip.label.text()
    assert no_box_is_open()
    take_away(window, dock)


@pytest.mark.parametrize("point, changes, words", [
    (NOWHERE, {}, "no data"),
    (PIER, {"LEVEL_HIGH": 30.0}, "under the surface"),
    (PIER, {"LEVEL_LOW": 2.0, "LEVEL_HIGH": 1.0}, "LEVEL_LOW"),
], ids=["beside all rasters", "under water", "levels the wrong way round"])
def test_what_is_wrong_is_said_in_place(shown, bench, point, changes, words):
    bench.set_settings(replace(bench.settings, **changes))
    bench.move_to(point, CRS)
    looked(bench)
    settle()
    told = shown.strip.label.text()
    assert shown.strip.isVisible() and shown.strip.kind == "error" and words.lower() in told.lower(), told
    assert shown.strip.accessibleName() == f"Error: {told}" and shown.strip.label.wordWrap()
    assert not shown.strip.icon.pixmap().isNull()
    assert no_box_is_open() and "Traceback" not in told
    assert shown.verdict.hint.isHidden(), "it is placed already"
    bench.set_settings(replace(bench.settings, LEVEL_LOW=-1.1, LEVEL_HIGH=1.1))
    bench.move_to(PIER, CRS)
    looked(bench)
    settle()
    assert shown.strip.isHidden()


def test_a_map_in_degrees_is_remarked(shown, bench):
    assert shown.hint.isHidden()
    shown._canvas.setDestinationCrs(QgsCoordinateReferenceSystem("EPSG:4326"))
    settle()
    assert shown.hint.isVisible() and "true metres" in shown.hint.label.text() and shown.hint.kind == "hint"
    shown._canvas.setDestinationCrs(QgsCoordinateReferenceSystem(UTM))
    settle()
    assert shown.hint.isHidden()


def test_kinds_of_messages_differ_in_shape(shown):
    signs = []
    for kind in ("busy", "hint", "warning", "error"):
        shown.strip.say(kind, "words")
        settle()
        image = shown.strip.icon.grab().toImage()
        signs.append([image.pixelColor(x, y).lightness() < 200 for x in range(image.width())
                      for y in range(image.height())])
        assert shown.strip.bar.isVisible() is (kind == "busy")
    assert all(one != other for i, one in enumerate(signs) for other in signs[:i])
    shown.strip.say("", "")
    settle()
    assert shown.strip.isHidden()


def test_work_that_takes_long_is_announced(shown, bench, monkeypatch):
    monkeypatch.setattr(bench.engine, "is_busy", lambda: True)
    bench.said.emit("busy", "Reading the layers …")
    assert shown.strip.isHidden(), "what is done at once is not"
    pump(WAIT_MS)
    assert shown.strip.isVisible() and shown.strip.accessibleName() == "Working: Reading the layers …"
    bench.said.emit("", "")
    assert shown.strip.isHidden()
