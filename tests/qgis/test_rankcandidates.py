"""The algorithm `rankcandidates`: its rows and their order, and its page."""

import html
import re
import warnings
from types import SimpleNamespace

import numpy as np
import pytest
from qgis.core import QgsVectorLayer, QgsWkbTypes
from scenes import SEA_POLYGON, Feedback, column, offshore, points, polygons, refusal, rows, run
from stillwater.siting.words.ranklog import parting_figure

pytestmark = pytest.mark.usefixtures("provider")

OWN_FIELDS = ["site", "rank", "score", "verdict", "limit_by", "advice", "quality", "az_span", "el_from", "el_to",
              "h_low_m", "h_high_m", "res_m", "height_cm", "arc_cm", "noise_cm", "bend_cm", "busy", "arcs_day", "gap_h",
              "int_max_s", "int_rec_s", "tide_err_m", "rank_lo", "rank_hi", "p_best"]
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
    assert [r["site"] for r in table] == ["water", "a little off", "on the shore", "set back", "inland"]
    scores, errors = column(table, "score"), column(table, "height_cm")
    # nothing saturates: each is parted from the next, at 100 as at 0
    assert (np.diff(scores) < -0.5).all() and (np.diff(errors) > 0.05).all() and 95 < scores[0] < 100 and scores[-1] > 0
    assert [r["verdict"] for r in table] == ["suitable"] * 3 + ["marginal", "unsuitable"]
    assert table[0]["limit_by"] == "" and "before the water" in table[4]["limit_by"]


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


@pytest.mark.parametrize("purpose, usual", [("sea level", 5.0), ("lake level", 2.0)])
def test_the_score_is_the_desirability_of_the_precision(coast, purpose, usual):
    """1/(1 + (error/wanted)²): a half where it is just met; verdicts turn at once and twice what is wanted."""
    given = dict(INPUT=offshore(-6), PURPOSE=purpose, **coast)
    row, = rows(run("rankcandidates", **given)["OUTPUT"])
    error = row["height_cm"]
    assert 0.2 < error < usual and row["score"] == pytest.approx(100 / (1 + (error / usual)**2), rel=1e-9)
    for wanted, verdict in ((1.001 * error, "suitable"), (0.999 * error, "marginal"), (0.501 * error, "marginal"),
                            (0.499 * error, "unsuitable")):
        again, = rows(run("rankcandidates", PRECISION=wanted, **given)["OUTPUT"])
        assert (again["verdict"], again["height_cm"]) == (verdict, error)
        assert again["score"] == pytest.approx(100 / (1 + (error / wanted)**2), rel=1e-9)


def test_a_value_made_of_more_arcs_is_more_precise(coast):
    errors = [rows(run("rankcandidates", INPUT=offshore(), CADENCE=hours, **coast)["OUTPUT"])[0]["height_cm"]
              for hours in (1, 3, 12)]
    # as many arcs more, as the cadence is longer: the standard error falls by the root
    assert errors[0] / errors[1] == pytest.approx(3**0.5, rel=0.25)
    assert errors[1] / errors[2] == pytest.approx(2.0, rel=0.15)


@pytest.mark.parametrize("gone", ["QUALITY_WORST", "QUALITY_WEIGHT", "SPAN_BEST", "ARCS_WORST", "GAP_BEST",
                                  "SAMPLING_WEIGHT", "MAX_LOSS"])
def test_what_no_longer_decides_is_refused_by_name(coast, gone):
    text = refusal("rankcandidates", INPUT=offshore(), **{gone: 1.0}, **coast)
    assert f"Unknown parameter {gone}." in text and "PRECISION" in text


@pytest.mark.parametrize("wrong", [{"BEST": 0}, {"BEST": 2.5}, {"APART": -1}, {"APART": float("inf")}])
def test_wrong_figures_of_the_best_are_refused(coast, wrong):
    text = refusal("rankcandidates", INPUT=offshore(), OUTPUT_BEST="TEMPORARY_OUTPUT", **wrong, **coast)
    assert next(iter(wrong)) in text


def test_where_nothing_is_ranked_the_best_are_none(coast):
    feedback = Feedback()
    found = run("rankcandidates", feedback, INPUT=points((600000, 4982000), (500300, 4982000)), SITE_FIELD="name",
                ANTENNA_HEIGHT=5, OUTPUT_BEST="TEMPORARY_OUTPUT", **coast)
    assert [row["site"] for row in rows(found["OUTPUT_BEST"])] == ["site 2"]
    assert "1 of the best stand at least 100 m apart (ranks 1), fewer than the 3 asked for" in feedback.log


def test_a_site_set_back_from_the_shore_is_unsuitable():
    """Common practice, no source: such a site is good from 5 to 7° at best."""
    row, = rows(run("rankcandidates", INPUT=offshore(-15), ANTENNA_HEIGHT=3.5, WATER=polygons(SEA_POLYGON),
                    ELEVATION_STEP=0.1, AZIMUTH_STEP=4)["OUTPUT"])
    assert row["verdict"] == "unsuitable" and row["score"] < 5 and row["arcs_day"] == 0
    assert "land (outside the water polygons)" in row["limit_by"] and "before the water" in row["limit_by"]
    assert row["advice"].startswith("move it eastwards past land") and "nearer to the water" in row["advice"]


def test_equals_share_their_rank_and_the_log_says_what_would_part_them(coast):
    sites = points((500300, 4982000), (500300, 4982000), (500002, 4982000), (500300, 4982000),
                   rows=[["c"], ["a"], ["shore"], ["b"]])
    feedback = Feedback()
    table = rows(run("rankcandidates", feedback, INPUT=sites, SITE_FIELD="name", **coast)["OUTPUT"])
    # what is equal stands in the order of its name
    assert [(r["site"], r["rank"]) for r in table] == [("a", 1), ("b", 1), ("c", 1), ("shore", 4)]
    assert "3 of 4 candidates share their rank" in feedback.log and "equal in all" in feedback.log
    backwards = points((500300, 4982000), (500002, 4982000), (500300, 4982000), (500300, 4982000),
                       rows=[["b"], ["shore"], ["a"], ["c"]])
    again = rows(run("rankcandidates", INPUT=backwards, SITE_FIELD="name", **coast)["OUTPUT"])
    assert [(r["site"], r["rank"], r["score"]) for r in again] == [(r["site"], r["rank"], r["score"]) for r in table]


def test_the_best_that_are_taken_stand_apart(coast):
    sites = points((500300, 4982000), (500300, 4982000), (500300, 4982000), (500003, 4982000), (499994, 4982000),
                   rows=[["a"], ["b"], ["c"], ["shore"], ["back"]])
    feedback = Feedback()
    found = run("rankcandidates", feedback, INPUT=sites, SITE_FIELD="name", OUTPUT_BEST="TEMPORARY_OUTPUT", BEST=3,
                APART=50, **coast)
    assert [r["site"] for r in rows(found["OUTPUT_BEST"])] == ["a", "shore"]
    assert "2 of the best stand at least 50 m apart (ranks 1, 4), fewer than the 3 asked for" in feedback.log
    assert [f.name() for f in found["OUTPUT_BEST"].fields()] == [f.name() for f in found["OUTPUT"].fields()]
    close = run("rankcandidates", INPUT=sites, SITE_FIELD="name", OUTPUT_BEST="TEMPORARY_OUTPUT", BEST=3, APART=0,
                **coast)
    assert [r["site"] for r in rows(close["OUTPUT_BEST"])] == ["a", "b", "c"]


def test_soil_moisture_needs_no_separation(coast):
    parameters = dict(INPUT=offshore(500), MIN_ELEVATION=5, MAX_ELEVATION=7, **coast)
    tight, = rows(run("rankcandidates", ANTENNA_HEIGHT=30, **parameters)["OUTPUT"])
    assert tight["verdict"] == "unsuitable" and "apart" in tight["limit_by"]
    assert tight["arcs_day"] == 0 and tight["arc_cm"] is None
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
    for words in ("100/(1 + (precision/wanted)²)", "Not for navigation", "MIN_SHARE", "0.95", "plain"):
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


def test_a_figure_that_no_candidate_has_parts_nobody_without_a_warning():
    def row(quality, res_m):
        return SimpleNamespace(result=SimpleNamespace(precision=78.0), sky=SimpleNamespace(arcs_day=0.0, busy=0.0),
                               az_span_deg=0.0, quality=quality, res_m=res_m, h_high_m=4.0)

    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert parting_figure([row(0.0, None), row(0.0, None)]) == ""
        assert parting_figure([row(0.2, np.inf), row(0.5, np.inf)]) == "quality, from 0.2 to 0.5"
