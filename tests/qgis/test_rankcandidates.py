"""The algorithm `rankcandidates`: its rows and their order, and its page."""

import html
import re

import numpy as np
import pytest
from qgis.core import QgsVectorLayer, QgsWkbTypes
from scenes import SEA_POLYGON, Feedback, column, offshore, points, polygons, rows, run

pytestmark = pytest.mark.usefixtures("provider")

OWN_FIELDS = ["site", "rank", "score", "verdict", "limit_by", "advice", "quality", "az_span", "el_from", "el_to",
              "h_low_m", "h_high_m", "res_m",
              "arcs_day", "gap_h", "int_max_s", "int_rec_s", "tide_err_m", "rank_lo", "rank_hi", "p_best"]
WAVELENGTH_M = 299_792_458.0 / 1575.42e6


def test_passes_the_fields_of_input_and_adds_its_own(coast):
    sites = points((500300, 4982000), fields="fid:integer|name:string(20)|owner:string(20)|built:double",
                   rows=[[7, "pier", "port", 1.5]])
    layer = run("rankcandidates", INPUT=sites, SITE_FIELD="name", **coast)["OUTPUT"]
    assert [field.name() for field in layer.fields()] == ["name", "owner", "built", *OWN_FIELDS]
    assert layer.wkbType() == QgsWkbTypes.Type.Point
    assert layer.crs().authid() == "EPSG:32624"
    row, = rows(layer)
    assert (row["name"], row["owner"], row["built"], row["site"]) == ("pier", "port", 1.5, "pier")
    feature, = layer.getFeatures()
    assert feature.geometry().asPoint().x() == 500300


def test_fields_that_clash_are_renamed_whatever_their_case(coast):
    names = ["Site", "RANK", "rank_in", "Limit_By", "limit_by_i", "az_span", "untouched"]
    sites = points((500300, 4982000), fields="|".join(f"{n}:string(20)" for n in names), rows=[names])
    feedback = Feedback()
    layer = run("rankcandidates", feedback, INPUT=sites, **coast)["OUTPUT"]
    found = [field.name() for field in layer.fields()]
    assert found == ["Site_in", "RANK_in2", "rank_in", "Limit_By_2", "limit_by_i", "az_span_in", "untouched",
                     *OWN_FIELDS]
    assert len({name.lower() for name in found}) == len(found)
    assert max(map(len, found)) <= 10
    row, = rows(layer)
    assert [row[name] for name in found[:7]] == names, "each renamed field keeps its own values"
    for name in ("Site", "RANK", "Limit_By", "az_span"):
        assert f"“{name}”" in feedback.log


def test_the_best_stands_first(coast):
    # from far inland to open water; order of input is mixed on purpose
    east = {"inland": -90, "water": 300, "set back": -16, "on the shore": 1, "a little off": 40}
    sites = points(*[(500000 + x, 4982000) for x in east.values()], rows=[[n] for n in east])
    table = rows(run("rankcandidates", INPUT=sites, SITE_FIELD="name", **coast)["OUTPUT"])
    assert [r["rank"] for r in table] == [1, 2, 3, 4, 5]
    order = [r["site"] for r in table]
    assert order.index("inland") == 4
    assert order.index("on the shore") < order.index("set back")
    scores = [r["score"] for r in table]
    assert scores == sorted(scores, reverse=True) and scores[0] == 100 and scores[-1] == 0
    assert {r["site"]: r["verdict"] for r in table}["inland"] == "unsuitable"
    assert table[0]["verdict"] == "suitable" and table[0]["limit_by"] == ""


def test_figures_agree_with_the_sectors(coast):
    sites = points((500005, 4982000), rows=[["a"]])
    row, = rows(run("rankcandidates", INPUT=sites, SITE_FIELD="name", LEVEL_LOW=-1, LEVEL_HIGH=1.5, **coast)["OUTPUT"])
    sectors = rows(run("surfacequality", INPUT=sites, LEVEL_LOW=-1, LEVEL_HIGH=1.5, **coast)["OUTPUT"])
    width = np.sin(np.radians(column(sectors, "el_to"))) - np.sin(np.radians(column(sectors, "el_from")))
    # N = 2 h W/λ at the least height, and λ/(2 W)
    counts = (2 * 3.5 * width / WAVELENGTH_M >= 3) & (WAVELENGTH_M / (2 * width) <= 1)
    assert 0 < counts.sum() < 72
    assert row["az_span"] == 5 * counts.sum()
    assert row["quality"] == pytest.approx(column(sectors, "quality")[counts].mean(), abs=1e-6)
    assert row["el_from"] == column(sectors, "el_from")[counts].min()
    assert row["el_to"] == column(sectors, "el_to")[counts].max()
    assert (row["h_low_m"], row["h_high_m"]) == (6.0, 3.5)
    assert row["res_m"] == pytest.approx(WAVELENGTH_M / (2 * np.nanmax(width)), rel=1e-6)


def test_the_score_is_the_geometric_mean_of_desirabilities(coast):
    """Derringer and Suich 1980; quality from 0.1 to 0.6, azimuth span from 15 to 90°, arcs a day from 4 to 24, gap from
    12 to 3 h, and the longest interval over the receiver's from 1 to 2."""
    parameters = dict(INPUT=offshore(-6), AZIMUTH_STEP=5, MIN_SHARE=0.9, **coast)
    row, = rows(run("rankcandidates", **parameters)["OUTPUT"])
    wish = np.clip([(row["quality"] - 0.1) / 0.5, (row["az_span"] - 15) / 75, (row["arcs_day"] - 4) / 20,
                    (12 - row["gap_h"]) / 9, row["int_max_s"] - 1], 0, 1)
    assert row["score"] == pytest.approx(100 * wish.prod() ** 0.2, abs=1e-6)
    chosen = dict(QUALITY_WEIGHT=3, QUALITY_BEST=0.95, SPAN_BEST=300, ARCS_WORST=20, ARCS_BEST=400, ARCS_WEIGHT=0.5,
                  GAP_WORST=2.5, GAP_BEST=0.1, GAP_WEIGHT=2, SAMPLING_WORST=0.5, SAMPLING_BEST=5, INTERVAL=20)
    weighted, = rows(run("rankcandidates", **chosen, **parameters)["OUTPUT"])
    wish = np.clip([(row["quality"] - 0.1) / 0.85, (row["az_span"] - 15) / 285, (row["arcs_day"] - 20) / 380,
                    (2.5 - row["gap_h"]) / 2.4, (row["int_max_s"] / 20 - 0.5) / 4.5], 0, 1)
    assert 0 < wish.min() and wish.max() < 1
    assert weighted["score"] == pytest.approx(100 * (wish[0] ** 3 * wish[1] * wish[2] ** 0.5 * wish[3] ** 2 * wish[4]
                                                     ) ** (1 / 7.5), abs=1e-6)


def test_a_site_set_back_from_the_shore_is_unsuitable():
    """Common practice, no source: such a site is good from 5 to 7° at best."""
    row, = rows(run("rankcandidates", INPUT=offshore(-15), ANTENNA_HEIGHT=3.5, WATER=polygons(SEA_POLYGON),
                    ELEVATION_STEP=0.1, AZIMUTH_STEP=4)["OUTPUT"])
    assert row["verdict"] == "unsuitable" and row["score"] == 0
    assert "2.5 oscillations (3 needed)" in row["limit_by"]
    assert "usable only from 5 to 8.9°" in row["advice"] and "land" in row["advice"]


def test_soil_moisture_needs_no_separation(coast):
    parameters = dict(INPUT=offshore(500), MIN_ELEVATION=5, MAX_ELEVATION=7, **coast)
    tight, = rows(run("rankcandidates", ANTENNA_HEIGHT=30, **parameters)["OUTPUT"])
    assert tight["verdict"] == "unsuitable" and "apart" in tight["limit_by"]
    soil, = rows(run("rankcandidates", ANTENNA_HEIGHT=30, PURPOSE="soil moisture", **parameters)["OUTPUT"])
    assert soil["az_span"] == 360


def test_candidates_that_cannot_be_assessed_come_out_with_their_reason(coast):
    sites = points(None, (500300, 4982000), (500300, 4982100), (500300, 4982200), (600000, 4982000),
                   fields="name:string(20)|h:double|high:double",
                   rows=[["nowhere", 5, 0], ["good", 5, 0], ["no height", float("nan"), 0], ["under water", 1, 2],
                         ["uncovered", 5, 0]])
    feedback = Feedback()
    layer = run("rankcandidates", feedback, INPUT=sites, SITE_FIELD="name", HEIGHT_FIELD="h", HIGH_FIELD="high",
                **coast)["OUTPUT"]
    table = {r["site"]: r for r in rows(layer)}
    assert len(table) == 5 and [r["site"] for r in rows(layer)][:2] == ["good", "under water"]
    assert table["good"]["rank"] == 1
    drowned = table["under water"]
    assert drowned["verdict"] == "unsuitable" and "1.00 m under the surface" in drowned["limit_by"]
    for site, words in (("nowhere", "no geometry"), ("no height", "not a number"),
                        ("uncovered", "none of the layers given has data")):
        row = table[site]
        assert row["verdict"] == "not assessed" and row["rank"] is None and row["score"] is None
        assert words in row["limit_by"] and words in row["advice"]
        assert f"“{site}”" in feedback.log
    assert {f["site"]: f.hasGeometry() for f in layer.getFeatures()}["nowhere"] is False


def test_the_page_is_made_only_when_asked_for(coast, tmp_path):
    assert set(run("rankcandidates", INPUT=offshore(), **coast)) == {"OUTPUT"}
    page = tmp_path / "new folder" / "page.html"
    result = run("rankcandidates", INPUT=offshore(), OUTPUT_HTML=str(page), **coast)
    assert result["OUTPUT_HTML"] == str(page) and page.exists()
    assert [p.name for p in page.parent.iterdir()] == ["page.html"]


def test_the_page_stands_alone_and_escapes_names(coast, tmp_path):
    name = "<script>alert(1)</script> & \"pier\" <b>'"
    areas = polygons("POLYGON((500000 4981990,500001 4981990,500001 4982010,500000 4982010,500000 4981990))",
                     rows=[["<img src=x> berths", 1.0]])
    page = tmp_path / "page.html"
    sites = points((500003, 4982000), (500300, 4982000), rows=[[name], ["plain"]])
    run("rankcandidates", INPUT=sites, SITE_FIELD="name", AVOID=areas, AVOID_FIELD="share", AVOID_NAME="name",
        OUTPUT_HTML=str(page), **coast)
    text = page.read_text(encoding="utf-8")
    assert text.startswith("<!DOCTYPE html>") and text.rstrip().endswith("</html>")
    # the one script is the page's own, and it may fetch nothing
    assert text.count("<script") == 1 and "<img" not in text
    assert "default-src 'none'" in text and "fetch(" not in text and "XMLHttpRequest" not in text
    assert html.escape(name) in text
    # nothing is fetched: no address but the SVG namespace, no linked file
    assert set(re.findall(r"https?://[^\s\"'<]+", text)) <= {"http://www.w3.org/2000/svg"}
    assert not re.search(r"<(link|iframe|object)\b|\bsrc=|@import|url\(", text.replace(html.escape(name), ""))
    assert text.count("<svg") == 2
    for words in ("Derringer and Suich 1980", "Not for navigation", "MIN_SHARE", "0.95", "plain"):
        assert words in text


def test_the_page_tells_what_the_table_tells(coast, tmp_path):
    page = tmp_path / "page.html"
    sites = points((500300, 4982000), (500000, 4982000), rows=[["sea"], ["shore"]])
    layer = run("rankcandidates", INPUT=sites, SITE_FIELD="name", OUTPUT_HTML=str(page), **coast)["OUTPUT"]
    text = page.read_text(encoding="utf-8")
    for row in rows(layer):
        for value in (row["site"], row["verdict"], row["limit_by"], row["advice"], f"{row['score']:.0f}"):
            assert html.escape(value) in text


def test_ranks_survive_in_a_file(coast, tmp_path):
    target = tmp_path / "ranked.gpkg"
    run("rankcandidates", INPUT=points((500300, 4982000), (499995, 4982000)), OUTPUT=str(target), **coast)
    layer = QgsVectorLayer(str(target), "ranked", "ogr")
    assert [f["rank"] for f in layer.getFeatures()] == [1, 2]
    assert layer.crs().authid() == "EPSG:32624"
