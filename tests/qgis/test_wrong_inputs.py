"""Wrong inputs end in a message that names the layer or feature and says what to do, or in a reasoned row."""

import numpy as np
import pytest
from qgis.core import QgsProperty
from scenes import SEA_POLYGON, Feedback, coast_cells, layer, offshore, points, polygons, raster, refusal, rows, run

pytestmark = pytest.mark.usefixtures("provider")

SURFACE = ("surfacequality", "rankcandidates")
ALL = ("footprints", *SURFACE)
NOT_A_NUMBER = float("nan")


def with_surface(algorithm, coast) -> dict:
    """Return the parameters that an algorithm needs besides INPUT."""
    return {} if algorithm == "footprints" else dict(coast)


@pytest.mark.parametrize("algorithm", ALL)
def test_candidates_without_a_crs_are_refused(algorithm, coast):
    text = refusal(algorithm, INPUT=points((1, 2), crs="", name="my sites"), **with_surface(algorithm, coast))
    assert "INPUT “my sites”" in text and "coordinate reference system" in text and "Assign" in text


@pytest.mark.parametrize("algorithm", ALL)
def test_no_candidates_are_refused(algorithm, coast):
    text = refusal(algorithm, INPUT=points(name="my sites"), **with_surface(algorithm, coast))
    assert "INPUT “my sites” has no features" in text


@pytest.mark.parametrize("algorithm", ALL)
def test_an_unknown_parameter_is_refused_by_name(algorithm, coast):
    text = refusal(algorithm, INPUT=offshore(), ANTENA_HEIGHT=3, **with_surface(algorithm, coast))
    assert "Unknown parameter ANTENA_HEIGHT" in text and "ANTENNA_HEIGHT" in text


@pytest.mark.parametrize("value, words", [
    (0, "above 0"), (-3, "above 0"), (NOT_A_NUMBER, "not a number"), ("abc", "ANTENNA_HEIGHT cannot be “abc”"),
    (float("inf"), "ANTENNA_HEIGHT"), ("", "ANTENNA_HEIGHT is missing"),
    (QgsProperty.fromExpression("'high'"), "not a number"), (QgsProperty.fromExpression("1 +"), "not a number")])
def test_a_height_for_all_that_is_none_is_refused(value, words, coast):
    assert words in refusal("surfacequality", INPUT=offshore(), ANTENNA_HEIGHT=value, **coast)


@pytest.mark.parametrize("kind, value, words", [
    ("double", 0.0, "above 0"), ("double", -1.0, "above 0"), ("double", NOT_A_NUMBER, "not a number"),
    ("string(10)", "high", "not a number"), ("string(10)", "4,5", "not a number")])
def test_a_bad_height_of_one_candidate_is_a_reasoned_row(kind, value, words, coast):
    sites = points((500300, 4982000), (500400, 4982000), fields=f"name:string(10)|h:{kind}",
                   rows=[["bad", value], ["good", 4 if kind == "double" else "4"]])
    feedback = Feedback()
    table = {r["site"]: r for r in rows(
        run("rankcandidates", feedback, INPUT=sites, SITE_FIELD="name", HEIGHT_FIELD="h", **coast)["OUTPUT"])}
    assert table["good"]["rank"] == 1 and table["good"]["h_low_m"] == 4.0
    assert table["bad"]["rank"] is None and words in table["bad"]["limit_by"]
    assert "“bad”" in feedback.log and words in feedback.log


@pytest.mark.parametrize("kind, shape", [
    ("PointZ", "POINT Z(500300 4982000 99)"), ("PointZM", "POINT ZM(500300 4982000 99 7)"),
    ("PointM", "POINT M(500300 4982000 99)"), ("MultiPointZ", "MULTIPOINT Z((500300 4982000 99))")])
def test_points_with_z_or_m_are_taken_by_their_place(kind, shape, coast):
    for algorithm in SURFACE:
        assert rows(run(algorithm, INPUT=points(shape, kind=kind), **coast)["OUTPUT"])[0]["quality"] > 0.99


def test_geometries_that_hold_no_place_are_reasoned_rows(coast):
    sites = points("MULTIPOINT((500300 4982000),(500400 4982000))", None, "MULTIPOINT EMPTY", kind="MultiPoint",
                   rows=[["two"], ["none"], ["empty"]])
    table = {r["site"]: r for r in rows(run("rankcandidates", INPUT=sites, SITE_FIELD="name", **coast)["OUTPUT"])}
    assert set(table) == {"two 1.1", "two 1.2", "none", "empty"}
    assert table["none"]["limit_by"] == table["empty"]["limit_by"] == "it has no geometry"


def test_a_position_off_the_earth_is_a_reasoned_row(coast):
    sites = points((-31.5, 95.0), (-39.0, 44.99), crs="EPSG:4326")
    table = {r["site"]: r for r in rows(run("rankcandidates", INPUT=sites, **coast)["OUTPUT"])}
    assert table["1"]["verdict"] == "not assessed" and "coordinate reference system" in table["1"]["limit_by"]
    assert table["2"]["rank"] == 1


def test_lines_and_polygons_are_no_candidates(coast):
    lines = layer("LineString", ["LINESTRING(500300 4982000,500400 4982000)"], name="quays")
    assert "INPUT" in refusal("surfacequality", INPUT=lines, **coast)


@pytest.mark.parametrize("parameters, words", [
    ({"ELEVATION_STEP": 0}, "ELEVATION_STEP is 0"),
    ({"ELEVATION_STEP": -1}, "ELEVATION_STEP cannot be “-1”"),
    ({"MIN_ELEVATION": 30}, "MIN_ELEVATION (30°) must be less than MAX_ELEVATION (20°)"),
    ({"MIN_ELEVATION": 20}, "MIN_ELEVATION (20°) must be less than MAX_ELEVATION (20°)"),
    ({"MIN_ELEVATION": 0}, "MIN_ELEVATION is 0°"),
    ({"MAX_ELEVATION": 91}, "MAX_ELEVATION cannot be “91”"),
    ({"ELEVATION_STEP": 0.0001}, "Choose a greater step"),
    ({"AZIMUTH_STEP": 0}, "AZIMUTH_STEP is 0°"),
    ({"AZIMUTH_STEP": 7}, "360 must be a multiple of it"),
    ({"AZIMUTH_STEP": 400}, "AZIMUTH_STEP cannot be “400”"),
    ({"MIN_SHARE": 0}, "MIN_SHARE is 0"),
    ({"MIN_SHARE": 2}, "MIN_SHARE cannot be “2”"),
    ({"LEVEL_LOW": 1, "LEVEL_HIGH": -1}, "LEVEL_LOW (1 m) lies above LEVEL_HIGH (-1 m)"),
    ({"LEVEL_LOW": NOT_A_NUMBER}, "LEVEL_LOW"),
    ({"LEVEL_LOW": -1100}, "levels are given in metres"),
    ({"SURFACE_LEVEL": NOT_A_NUMBER}, "SURFACE_LEVEL is nan"),
    ({"HEIGHT_FIELD": "elevation"}, "no field “elevation”"),
    ({"SITE_FIELD": "title"}, "no field “title”"),
    ({"HEIGHT_REFERENCE": "roof"}, "surface, ground, datum, ellipsoid"),
    ({"SIGNAL": "GPS L9"}, "GPS L5"),
    ({"PURPOSE": "tides"}, "sea level, lake level"),
])
@pytest.mark.parametrize("algorithm", SURFACE)
def test_a_bad_setting_is_refused_by_name(algorithm, parameters, words, coast):
    assert words in refusal(algorithm, INPUT=offshore(), **parameters, **coast)


@pytest.mark.parametrize("parameters, words", [
    ({"PRECISION": 0}, "PRECISION is 0; it must be at least 0.001 and at most 1000"),
    ({"PRECISION": NOT_A_NUMBER}, "PRECISION is nan"), ({"PRECISION": "7,5"}, "PRECISION “7,5” is no number"),
    ({"CADENCE": 200}, "CADENCE is 200; it must be at least 0.1 and at most 168"),
    ({"WEIGHT_SD": NOT_A_NUMBER}, "WEIGHT_SD is nan"), ({"TRIALS": "many"}, "TRIALS “many” is no number"),
    ({"QUALITY_WORST": 0.6}, "Unknown parameter QUALITY_WORST"), ({"MIN_CYCLES": -1}, "MIN_CYCLES cannot be “-1”")])
def test_what_a_score_is_made_of_is_refused_by_name(parameters, words, coast):
    assert words in refusal("rankcandidates", INPUT=offshore(), **parameters, **coast)


def test_the_step_of_footprints_must_be_positive():
    assert "AZIMUTH_STEP is 0" in refusal("footprints", INPUT=offshore(), AZIMUTH_STEP=0)


def test_levels_out_of_order_for_one_candidate_are_a_reasoned_row(coast):
    sites = points((500300, 4982000), (500400, 4982000), fields="lo:double|hi:double", rows=[[1, 0], [0, 1]])
    table = {r["site"]: r for r in rows(
        run("rankcandidates", INPUT=sites, LOW_FIELD="lo", HIGH_FIELD="hi", **coast)["OUTPUT"])}
    assert "lies above the highest" in table["1"]["limit_by"] and table["2"]["rank"] == 1


@pytest.mark.parametrize("classes, words", [
    ("", "TARGET_CLASSES is empty"), ("water", "“water” is no class number"), ("80-", "“80-”"),
    ("90-80", "runs backwards"), ("80 90", "commas"), ("7", "matches no cell of LANDCOVER")])
def test_target_classes_that_are_no_list_or_match_nothing_are_refused(classes, words, coast):
    text = refusal("surfacequality", INPUT=offshore(), LANDCOVER=coast["LANDCOVER"], TARGET_CLASSES=classes)
    assert words in text
    if classes == "7":
        assert "classes found there: 80" in text


def test_classes_that_lie_only_elsewhere_are_a_finding(coast):
    feedback = Feedback()
    row, = rows(run("rankcandidates", feedback, INPUT=offshore(-500), **coast)["OUTPUT"])
    assert row["verdict"] == "unsuitable"
    assert "TARGET_CLASSES “80” matches no cell" in "\n".join(feedback.warnings)


def test_classes_without_land_cover_are_refused(coast):
    assert "without LANDCOVER" in refusal("surfacequality", INPUT=offshore(), TARGET_CLASSES="80",
                                          WATER=polygons(SEA_POLYGON))


def test_nothing_that_tells_the_surface_is_refused():
    for parameters in ({}, {"AVOID": polygons(SEA_POLYGON)}):
        assert "Neither LANDCOVER nor WATER nor DEM" in refusal("surfacequality", INPUT=offshore(), **parameters)


@pytest.mark.parametrize("share", [1.5, -0.1, NOT_A_NUMBER])
def test_a_share_outside_0_to_1_is_refused_with_its_feature(share, coast):
    areas = polygons(SEA_POLYGON, SEA_POLYGON, rows=[["berth", 0.5], ["fairway", share]], name="spoiled")
    text = refusal("surfacequality", INPUT=offshore(), AVOID=areas, AVOID_FIELD="share", **coast)
    assert "AVOID “spoiled”, feature 2" in text and "from 0 to 1" in text


def test_a_share_that_is_text_is_refused(coast):
    areas = polygons(SEA_POLYGON, name="spoiled")
    assert "from 0 to 1" in refusal("surfacequality", INPUT=offshore(), AVOID=areas, AVOID_FIELD="name", **coast)


@pytest.mark.parametrize("name", ["WATER", "AVOID"])
def test_lines_and_points_are_no_areas(name, coast):
    lines = layer("LineString", ["LINESTRING(500300 4982000,500400 4982000)"], name="shoreline")
    for given in (lines, points((500300, 4982000), name="shoreline")):
        text = refusal("surfacequality", INPUT=offshore(), **{name: given}, **coast)
        assert f"{name} “shoreline” holds no polygons" in text


def test_areas_without_a_crs_are_refused(coast):
    text = refusal("surfacequality", INPUT=offshore(), WATER=polygons(SEA_POLYGON, crs="", name="bays"), **coast)
    assert "WATER “bays”" in text and "coordinate reference system" in text


def test_a_raster_that_covers_no_candidate_is_refused_with_its_extent(coast):
    text = refusal("surfacequality", INPUT=points((600000, 4982000)), **coast)
    assert "LANDCOVER “coast”" in text and "499000 to 501000 east" in text and "covers" in text


def test_a_raster_that_covers_one_candidate_serves_that_one(coast):
    sites = points((600000, 4982000), (500300, 4982000))
    table = rows(run("surfacequality", INPUT=sites, **coast)["OUTPUT"])
    far = [r for r in table if r["site"] == "1"]
    assert all(r["unknown"] > 0.999 and r["usable"] == 0 and "no data" in r["reason"] for r in far)
    assert all(r["usable"] > 0.99 for r in table if r["site"] == "2")


@pytest.mark.parametrize("name", ["LANDCOVER", "DEM"])
def test_a_raster_without_any_data_is_refused(name, tmp_path):
    cells = np.full((1000, 1000), 255, np.uint8) if name == "LANDCOVER" else np.full((1000, 1000), -9, np.float32)
    empty = raster(tmp_path / "empty.tif", cells, nodata=float(cells[0, 0]))
    classes = {"TARGET_CLASSES": "80"} if name == "LANDCOVER" else {}
    text = refusal("surfacequality", INPUT=offshore(), **{name: empty}, **classes)
    assert f"{name} “empty” has no data" in text


def test_a_raster_without_crs_or_georeference_is_refused(tmp_path):
    nowhere = raster(tmp_path / "nowhere.tif", coast_cells(), crs=None)
    text = refusal("surfacequality", INPUT=offshore(), LANDCOVER=nowhere, TARGET_CLASSES="80")
    assert "“nowhere”" in text and "coordinate reference system" in text
    plain = raster(tmp_path / "plain.tif", coast_cells(), transform=(0, 1, 0, 0, 0, 1))
    text = refusal("surfacequality", INPUT=offshore(), LANDCOVER=plain, TARGET_CLASSES="80")
    assert "“plain”" in text and "eoreference" in text


def test_a_damaged_or_missing_file_is_refused(tmp_path):
    # noise does not compress, so that the cut takes away cells that are asked for
    noise = np.random.default_rng(1).integers(0, 255, (1000, 1000)).astype(np.uint8)
    cut = raster(tmp_path / "cut.tif", noise)
    data = (tmp_path / "cut.tif").read_bytes()
    (tmp_path / "cut.tif").write_bytes(data[:len(data) // 3])
    text = refusal("surfacequality", INPUT=offshore(), LANDCOVER=cut, TARGET_CLASSES="80")
    assert "“cut” cannot be read" in text and "damaged" in text
    (tmp_path / "text.tif").write_text("no raster")
    for path in (tmp_path / "text.tif", tmp_path / "missing.tif"):
        text = refusal("surfacequality", INPUT=offshore(), LANDCOVER=str(path), TARGET_CLASSES="80")
        assert "LANDCOVER" in text and f"{path} not found" in text
    (tmp_path / "text.gpkg").write_text("no vector")
    assert "INPUT" in refusal("footprints", INPUT=str(tmp_path / "text.gpkg"))


@pytest.mark.parametrize("reference, needs", [("ground", "DEM"), ("ellipsoid", "GEOID")])
@pytest.mark.parametrize("algorithm", ALL)
def test_a_height_reference_says_what_it_needs(algorithm, reference, needs, coast):
    text = refusal(algorithm, INPUT=offshore(), HEIGHT_REFERENCE=reference, **with_surface(algorithm, coast))
    assert f"HEIGHT_REFERENCE is “{reference}”, which needs {needs}" in text


def test_a_geoid_of_zeros_or_elsewhere_is_refused(tmp_path, coast):
    zero = raster(tmp_path / "zero.tif", np.zeros((10, 10), np.float32), cell=200)
    parameters = {"INPUT": offshore(), "HEIGHT_REFERENCE": "ellipsoid", **coast}
    assert "GEOID “zero” is zero" in refusal("rankcandidates", GEOID=zero, **parameters)
    elsewhere = raster(tmp_path / "elsewhere.tif", np.full((10, 10), 50, np.float32), west=700000)
    assert "GEOID “elsewhere” has no data" in refusal("rankcandidates", GEOID=elsewhere, **parameters)


def test_ground_without_data_below_one_antenna_is_a_reasoned_row(tmp_path, coast):
    cells = np.full((1000, 1000), 2.0, np.float32)
    cells[:, :600] = -9999
    dem = raster(tmp_path / "dem.tif", cells, nodata=-9999)
    sites = points((500150, 4982000), (500300, 4982000))
    table = {r["site"]: r for r in rows(
        run("rankcandidates", INPUT=sites, HEIGHT_REFERENCE="ground", DEM=dem, **coast)["OUTPUT"])}
    assert "DEM has no data at the site" in table["1"]["limit_by"]
    assert table["2"]["h_low_m"] == pytest.approx(7.0)
