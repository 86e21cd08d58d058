"""The algorithm `samplinginterval`, held to common practice, to a library's own angles and to the arcs' figures."""

import numpy as np
import pymap3d
import pytest
from qgis.core import (
    QgsProcessingModelAlgorithm,
    QgsProcessingModelChildAlgorithm,
    QgsProcessingModelChildParameterSource,
    QgsProcessingModelOutput,
    QgsProcessingModelParameter,
    QgsProcessingParameterFeatureSource,
    QgsWkbTypes,
)
from scenes import Feedback, column, points, raster, refusal, rows, run
from stillwater.siting.sky.clock import read_date
from stillwater.siting.sky.nominal import NominalOrbits

pytestmark = pytest.mark.usefixtures("provider")

FIELDS = ["name", "site", "height_m", "int_max_s", "int_rec_s", "h_30s_m", "h_15s_m", "h_5s_m", "h_1s_m", "tide_err_m"]
L1_M = 299_792_458.0 / 1575.42e6
"""Wavelength of GPS L1 (IS-GPS-200)."""
TIDE_RATE = np.pi * 2.0 / 44_700.0
"""A semidiurnal tide of 2 m at mid-tide [m/s]."""


def site(lon=-39.0, lat=45.0, crs="EPSG:4326", **options):
    return points((lon, lat), crs=crs, **options)


def look(feedback=None, **parameters):
    """Run over one site, at first over GPS only, and return its row."""
    row, = rows(run("samplinginterval", feedback, **{
        "INPUT": site(), "CONSTELLATIONS": ["GPS"], "ANTENNA_HEIGHT": 10, **parameters})["OUTPUT"])
    return row


def test_at_40_degrees_half_a_minute_resolves_10_to_14_metres_and_15_seconds_twice_that():
    """Common practice, no source: below 10 m a sample each 30 s will do, and 15 s is better."""
    row = look(INPUT=site(lat=40.0), MAX_ELEVATION=25)
    assert 10 <= row["h_30s_m"] <= 14
    assert [row[name] / row["h_30s_m"] for name in ("h_15s_m", "h_5s_m", "h_1s_m")] == pytest.approx(
        [2, 6, 30], rel=1e-4)
    assert look(INPUT=site(lat=40.0), MAX_ELEVATION=25, ANTENNA_HEIGHT=row["h_30s_m"])["int_max_s"] == pytest.approx(
        30.0, rel=1e-4)


def test_the_interval_is_what_a_library_s_elevation_angles_ask_for():
    """The fastest change of sin e from 5 to 20°, by pymap3d and differences of one second."""
    orbits, start, step = NominalOrbits(["GPS"]), read_date("2026-06-01"), 10.0
    fastest = 0.0
    for index in range(len(orbits.names)):
        times = start + np.arange(0.0, 86_401.0, step)
        sine = np.array([np.sin(np.radians(pymap3d.ecef2aer(*orbits.one_position_m(index, times + shift).T, 45.0, -39.0,
                                                            0.0)[1])) for shift in (-0.5, 0.5)])
        elevation = np.degrees(np.arcsin(sine.mean(axis=0)))
        inside = (elevation >= 5) & (elevation <= 20)
        fastest = max(fastest, np.abs(sine[1] - sine[0])[inside].max())
    assert look()["int_max_s"] == pytest.approx(L1_M / (4 * 10 * fastest), rel=2e-3)


def test_the_interval_is_the_least_of_the_arcs():
    arcs = rows(run("skyarcs", INPUT=site(), CONSTELLATIONS=["GPS", "BeiDou"], ANTENNA_HEIGHT=10)["OUTPUT"])
    row = look(CONSTELLATIONS=["GPS", "BeiDou"])
    assert row["int_max_s"] == pytest.approx(column(arcs, "int_max_s").min(), rel=1e-6)


@pytest.mark.parametrize("height, recommended", [(3, 60), (6, 30), (10, 15), (20, 10), (100, 2), (1000, 0.2)])
def test_the_recommended_interval_leaves_a_margin(height, recommended):
    row = look(ANTENNA_HEIGHT=height)
    assert row["int_rec_s"] == recommended and recommended * 1.5 <= row["int_max_s"]


def test_a_tide_asks_for_shorter_intervals_and_shifts_single_arcs():
    levels = {"LEVEL_LOW": -1, "LEVEL_HIGH": 1}
    feedback = Feedback()
    sea, lake, still = look(feedback, **levels), look(PURPOSE="lake level", **levels), look(ANTENNA_HEIGHT=11)
    assert sea["height_m"] == lake["height_m"] == still["height_m"] == 11
    assert {n: lake[n] for n in FIELDS[3:]} == {n: still[n] for n in FIELDS[3:]} and lake["tide_err_m"] == 0
    assert sea["int_max_s"] < lake["int_max_s"] and sea["h_30s_m"] < lake["h_30s_m"]
    # at the fastest arc's own end the surface's part is at most its rate times sin 20°
    slowest = L1_M / (4 * (L1_M / (4 * lake["int_max_s"]) + TIDE_RATE * np.sin(np.radians(20))))
    assert slowest <= sea["int_max_s"]
    arcs = rows(run("skyarcs", INPUT=site(), CONSTELLATIONS=["GPS"], ANTENNA_HEIGHT=10)["OUTPUT"])
    low, high = (np.sin(np.radians(column(arcs, name))) for name in ("el_from", "el_to"))
    shift = TIDE_RATE * (low + high) / 2 * column(arcs, "minutes") * 60 / (high - low)
    counted = 2 * 11 * (high - low) / L1_M >= 3
    assert sea["tide_err_m"] == pytest.approx(shift[counted].max(), rel=2e-3)
    assert f"by up to {sea['tide_err_m']:.2f} m" in feedback.log and "Rising and setting arcs err" in feedback.log


def test_a_tide_of_one_metre_an_hour_shifts_an_arc_by_some_decimetres():
    """At 10° it is 0.40 m on the fastest arcs and more on slower ones (derived: ḣ tan e/ė at 1.2e-4 /s)."""
    half = 44_700.0 / np.pi / 3600.0 / 2
    limits = {"MIN_ELEVATION": 9, "MAX_ELEVATION": 11}
    row = look(LEVEL_HIGH=half, LEVEL_LOW=-half, ANTENNA_HEIGHT=50, **limits)
    double = look(LEVEL_HIGH=2 * half, LEVEL_LOW=-2 * half, ANTENNA_HEIGHT=50 - half, **limits)
    assert row["tide_err_m"] > 0.40 and row["height_m"] == double["height_m"]
    assert double["tide_err_m"] == pytest.approx(2 * row["tide_err_m"], rel=1e-6)


def test_fields_of_the_input_come_first_and_a_clash_is_renamed():
    assert list(look()) == FIELDS
    feedback = Feedback()
    sites = points((500300, 4982000), fields="fid:integer|height_m:double", rows=[[7, 3.5]])
    layer = run("samplinginterval", feedback, INPUT=sites, HEIGHT_FIELD="height_m", CONSTELLATIONS=["GPS"])["OUTPUT"]
    row, = rows(layer)
    assert list(row) == ["height_m_i", *FIELDS[1:]] and row["height_m_i"] == row["height_m"] == 3.5
    assert "“height_m” of INPUT clashes" in feedback.log
    assert layer.wkbType() == QgsWkbTypes.Type.Point and max(len(name) for name in row) <= 10


def test_a_receiver_that_is_too_slow_is_told_with_the_sites():
    sites = points((500300, 4982000), (500400, 4982000), fields="name:string(9)|h:double",
                   rows=[["pier", 5], ["cliff", 400]])
    feedback = Feedback()
    table = rows(run("samplinginterval", feedback, INPUT=sites, SITE_FIELD="name", HEIGHT_FIELD="h")["OUTPUT"])
    assert table[1]["int_max_s"] < 1 < table[0]["int_max_s"]
    told = "\n".join(feedback.warnings)
    assert "INTERVAL is 1 s: 1 of 2 candidates cannot be resolved with this receiver" in told
    assert f"“cliff” ({table[1]['int_max_s']:.3g} s)" in told and "“pier”" not in told
    feedback = Feedback()
    run("samplinginterval", feedback, INPUT=sites, SITE_FIELD="name", HEIGHT_FIELD="h", INTERVAL=0.1)
    assert "cannot be resolved" not in feedback.log


def test_where_no_usual_interval_will_do_none_is_recommended():
    feedback = Feedback()
    row = look(feedback, ANTENNA_HEIGHT=9000)
    assert row["int_rec_s"] is None and row["int_max_s"] < 0.075
    assert "none is recommended: “1”" in feedback.log


def test_candidates_that_cannot_be_looked_at_keep_their_rows():
    sites = points((500300, 4982000), None, (500400, 4982000), (500500, 4982000),
                   fields="name:string(9)|h:double|hi:double",
                   rows=[["good", 5, 0], ["empty", 5, 0], ["sunk", -1, 0], ["drowned", 2, 3]])
    feedback = Feedback()
    table = rows(run("samplinginterval", feedback, INPUT=sites, SITE_FIELD="name", HEIGHT_FIELD="h", HIGH_FIELD="hi",
                     CONSTELLATIONS=["GPS"])["OUTPUT"])
    assert [r["site"] for r in table] == ["good", "empty", "sunk", "drowned"]
    assert table[0]["int_max_s"] > 1
    for row in table[1:]:
        assert all(row[name] is None for name in FIELDS[2:]) and f"“{row['site']}” is not assessed" in feedback.log
    assert "3 of 4 candidates" in feedback.log


def test_a_site_without_arcs_keeps_its_height_and_is_named():
    feedback = Feedback()
    row = look(feedback, MIN_ELEVATION=89.9, MAX_ELEVATION=90)
    assert row["height_m"] == 10 and all(row[name] is None for name in FIELDS[3:])
    assert "No satellite passes between 89.9 and 90°" in feedback.log


def test_snow_is_measured_from_the_ground_below_the_antenna(tmp_path):
    dem = raster(tmp_path / "dem.tif", np.full((100, 100), 700.0, np.float32), cell=20)
    row = look(INPUT=points((500300, 4982000)), PURPOSE="snow depth", DEM=dem, HEIGHT_REFERENCE="datum",
               ANTENNA_HEIGHT=704, LEVEL_HIGH=2)
    assert row["height_m"] == pytest.approx(4.0) and row["tide_err_m"] == 0
    assert "needs DEM" in refusal("samplinginterval", INPUT=site(), PURPOSE="snow depth", HEIGHT_REFERENCE="datum")


def test_at_the_pole_it_runs_and_tells_of_azimuths():
    feedback = Feedback()
    assert look(feedback, INPUT=site(lat=90.0))["int_max_s"] > 0
    assert "At a pole: “1”" in feedback.log


@pytest.mark.parametrize("parameters, words", [
    ({"INTERVAL": 0}, "INTERVAL cannot be “0”"), ({"CONSTELLATIONS": []}, "CONSTELLATIONS"),
    ({"CONSTELLATIONS": ["QZSS"]}, "Give its real orbits in ORBITS"), ({"MIN_ELEVATION": -1}, "MIN_ELEVATION"),
    ({"MIN_ELEVATION": 90, "MAX_ELEVATION": 90}, "less than"), ({"MIN_ELEVATION": 30}, "less than MAX_ELEVATION (20°)"),
    ({"DAYS": 0}, "DAYS"), ({"DATE": ""}, "DATE"), ({"PURPOSE": "tides"}, "sea level, lake level"),
    ({"LEVEL_LOW": 1, "LEVEL_HIGH": -1}, "LEVEL_LOW (1 m) lies above LEVEL_HIGH (-1 m)"),
    ({"AZIMUTH_STEP": 5}, "Unknown parameter AZIMUTH_STEP"), ({"ANTENNA_HEIGHT": -1}, "None of the 1 candidates")])
def test_a_bad_setting_is_refused_by_name(parameters, words, tmp_path):
    assert words in refusal("samplinginterval", INPUT=site(), OUTPUT=str(tmp_path / "o.gpkg"), **parameters)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("percent", [0, 5, 50])
def test_cancel_leaves_nothing(percent, tmp_path):
    feedback = Feedback(cancel_at=percent)
    many = points(*[(500300 + i, 4982000) for i in range(60)])
    assert run("samplinginterval", feedback, INPUT=many, OUTPUT=str(tmp_path / "o.gpkg")) == {}
    assert "Cancelled; nothing was written." in feedback.log and list(tmp_path.iterdir()) == []
    assert max(feedback.progress) < percent + 10 and feedback.progress == sorted(feedback.progress)


def test_a_shapefile_holds_the_same(tmp_path):
    wanted = look()
    path = str(tmp_path / "o.shp")
    read = look(OUTPUT=path)
    assert list(read) == FIELDS
    assert [read[n] for n in FIELDS[2:]] == pytest.approx([wanted[n] for n in FIELDS[2:]])


def test_a_model_gives_the_same(tmp_path):
    import processing
    model = QgsProcessingModelAlgorithm("intervals", "tests")
    definition = QgsProcessingParameterFeatureSource("SITES", "Sites")
    model.addModelParameter(definition, QgsProcessingModelParameter("SITES"))
    child = QgsProcessingModelChildAlgorithm("stillwater:samplinginterval")
    child.setChildId("interval")
    for name, value in {"CONSTELLATIONS": ["GPS", "Galileo"], "ANTENNA_HEIGHT": 10, "DATE": "2026-06-01"}.items():
        child.addParameterSources(name, [QgsProcessingModelChildParameterSource.fromStaticValue(value)])
    child.addParameterSources("INPUT", [QgsProcessingModelChildParameterSource.fromModelParameter("SITES")])
    output = QgsProcessingModelOutput("Intervals", "Intervals")
    output.setChildId("interval")
    output.setChildOutputName("OUTPUT")
    child.setModelOutputs({"Intervals": output})
    model.addChildAlgorithm(child)
    model.updateDestinationParameters()
    destination, = model.destinationParameterDefinitions()
    result = processing.run(model, {"SITES": site(), destination.name(): str(tmp_path / "m.gpkg")},
                            feedback=Feedback())
    row, = rows(result[destination.name()])
    wanted = look(CONSTELLATIONS=["GPS", "Galileo"])
    assert [row[n] for n in FIELDS[2:]] == pytest.approx([wanted[n] for n in FIELDS[2:]])
