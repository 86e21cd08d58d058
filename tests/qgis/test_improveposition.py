"""The algorithm `improveposition`: scenes with a known best place, gains that a rank confirms, wrong inputs."""

import numpy as np
import pytest
from qgis.core import QgsCoordinateReferenceSystem, QgsCoordinateTransform, QgsGeometry, QgsProject, QgsWkbTypes
from scenes import MIDDLE_Y, SEA_POLYGON, SHORE_X, Feedback, offshore, points, polygons, raster, refusal, rows, run

pytestmark = pytest.mark.usefixtures("provider")

PLACE_M, HEIGHT_M = 2.0, 0.25
"""How near a known best place and height must be met."""
SEA = {"AZIMUTH_STEP": 10, "MIN_CLEARANCE": 0}
OWN_FIELDS = ["site", "height_m", "move_m", "move_deg", "score_old", "score_new", "cm_old", "cm_new", "verdict",
              "limit_by", "advice", "gain", "h_least_m", "near_ok_m"]


def box(west, south, east, north):
    """A rectangle in metres east of the shore and north of its middle."""
    x, y = SHORE_X + np.array([west, east]), MIDDLE_Y + np.array([south, north])
    return f"POLYGON(({x[0]} {y[0]},{x[1]} {y[0]},{x[1]} {y[1]},{x[0]} {y[1]},{x[0]} {y[0]}))"


def improved(feedback=None, **parameters):
    """Improve one site; its row, with `x` and `y` from shore and middle, and the layer."""
    layer = run("improveposition", feedback, **parameters)["OUTPUT"]
    row, = rows(layer)
    point = next(layer.getFeatures()).geometry().asPoint()
    return {**row, "x": point.x() - SHORE_X, "y": point.y() - MIDDLE_Y}, layer


def confirmed(layer, **parameters):
    """Rank the improved positions and hold the scores to what was promised."""
    parameters = {k: v for k, v in parameters.items() if k not in (
        "RADIUS", "SEARCH_AREA", "HEIGHT_MIN", "HEIGHT_MAX", "OUTPUT_MOVES", "SITE_FIELD")}
    ranked = rows(run("rankcandidates", **{
        **parameters, "INPUT": layer, "SITE_FIELD": "site", "HEIGHT_FIELD": "height_m", "TRIALS": 0})["OUTPUT"])
    scores = {row["site"]: (row["score"], row["verdict"]) for row in ranked}
    for row in rows(layer):
        score, verdict = scores[row["site"]]
        assert score == pytest.approx(row["score_new"], abs=1e-6) and verdict == row["verdict"]


def test_from_a_straight_shore_the_nearest_water_is_best():
    """Water east of x = 0: all is best on the very shore, straight across, for all of it is alike."""
    parameters = dict(INPUT=offshore(-27), WATER=polygons(SEA_POLYGON), RADIUS=40, **SEA)
    row, layer = improved(**parameters)
    assert -PLACE_M <= row["x"] <= 0.05
    assert abs(row["y"]) <= PLACE_M
    assert row["move_m"] == pytest.approx(27, abs=PLACE_M) and row["move_deg"] == pytest.approx(90, abs=5)
    assert row["score_new"] > row["score_old"] + 10 and "gains" in row["gain"]
    confirmed(layer, **parameters)


def test_out_of_reach_it_goes_as_far_as_the_radius_towards_the_water():
    parameters = dict(INPUT=offshore(-27), WATER=polygons(SEA_POLYGON), RADIUS=20, **SEA)
    row, layer = improved(**parameters)
    assert np.hypot(row["x"] + 7, row["y"]) <= PLACE_M
    # the map's metres are 0.9996 of true ones there
    assert 20 - PLACE_M <= row["move_m"] <= 20
    confirmed(layer, **parameters)


def test_where_the_shore_turns_its_outer_corner_is_best():
    """Land is the quadrant south-west of (0, 60), and all south of 30 m: most directions are free at its corner. Their
    number alone is scored, in bins fine enough to tell a metre."""
    water = polygons("POLYGON((500000 4982030,501000 4982030,501000 4984000,499000 4984000,499000 4982060,"
                     "500000 4982060,500000 4982030))")
    parameters = dict(INPUT=offshore(-10), WATER=water, RADIUS=80, **{**SEA, "AZIMUTH_STEP": 2})
    row, layer = improved(**parameters)
    assert np.hypot(row["x"], row["y"] - 60) <= PLACE_M
    confirmed(layer, **parameters)


@pytest.fixture
def roof(tmp_path):
    """A roof of 12 m on land, 60 m by 40 m, with open water from its north and east edges on."""
    cells = np.full((1000, 1000), -8.0, np.float32)
    cells[500:, :500] = 1.0
    cells[500:520, 470:500] = 12.0  # x -60 to 0, y -40 to 0
    dem = raster(tmp_path / "roof.tif", cells)
    classes = np.where(cells < 0, 80, 10).astype(np.uint8)
    return dict(DEM=dem, DEM_WATER="bed", HEIGHT_REFERENCE="ground", ANTENNA_HEIGHT=2.0, TARGET_CLASSES="80",
                LANDCOVER=raster(tmp_path / "classes.tif", classes), MAX_DISTANCE=900, MIN_ELEVATION=4, **SEA)


def test_on_a_roof_the_corner_to_the_water_is_best(roof):
    area = polygons(box(-60, -40, 0, 0))
    row, layer = improved(INPUT=points((SHORE_X - 35, MIDDLE_Y - 25)), SEARCH_AREA=area, **roof)
    assert np.hypot(row["x"], row["y"]) <= PLACE_M
    assert row["height_m"] == 2.0 and row["score_new"] > row["score_old"]
    confirmed(layer, **roof)


@pytest.mark.parametrize("crs", ["EPSG:4326", "EPSG:3857"])
def test_the_area_may_be_in_another_crs_and_holds_the_result(roof, crs):
    shape = QgsGeometry.fromWkt(box(-50, -30, -6, -4))
    to_other = QgsCoordinateTransform(QgsCoordinateReferenceSystem("EPSG:32624"), QgsCoordinateReferenceSystem(crs),
                                      QgsProject.instance())
    other = QgsGeometry(shape)
    other.transform(to_other)
    far = QgsGeometry.fromWkt(box(-400, -300, -300, -200))
    far.transform(to_other)
    row, layer = improved(INPUT=points((SHORE_X - 35, MIDDLE_Y - 25)),
                          SEARCH_AREA=polygons(far.asWkt(12), other.asWkt(12), crs=crs), **roof)
    moved = next(layer.getFeatures()).geometry()
    moved.transform(to_other)
    assert other.contains(moved)
    assert np.hypot(row["x"] + 6, row["y"] + 4) <= PLACE_M
    confirmed(layer, **roof)


def test_the_height_that_clears_the_clearance_is_the_least(coast):
    """Common practice, no source: 3 m between antenna and highest water; here 4 m over a highest level of 1.5 m."""
    parameters = dict(INPUT=offshore(300), ANTENNA_HEIGHT=3, LEVEL_HIGH=1.5, LEVEL_LOW=-1, RADIUS=0.5, AZIMUTH_STEP=10,
                      MIN_CLEARANCE=4, HEIGHT_MIN=2, HEIGHT_MAX=9, **coast)
    row, layer = improved(**parameters)
    assert row["h_least_m"] == pytest.approx(5.5, abs=HEIGHT_M) and row["h_least_m"] >= 5.5
    # open water all around: every height from there on is worth nearly the same
    assert 5.5 <= row["height_m"] <= 9 and row["move_m"] == 0
    assert row["score_old"] == 0 and 96 < row["score_new"] < 97
    assert "clearance" in row["gain"] and row["near_ok_m"] == 0
    confirmed(layer, **parameters)


def test_a_slow_receiver_sets_the_best_height(coast):
    """The longest interval that resolves a height goes as its inverse, so the height up to which every arc is resolved
    follows from one rank with a fast receiver; arcs fall out beyond it, but N = 2 h W/λ needs the height."""
    parameters = dict(AZIMUTH_STEP=10, MIN_CLEARANCE=0, MIN_CYCLES=8, **coast)
    at_40, = rows(run("rankcandidates", INPUT=offshore(300), ANTENNA_HEIGHT=40, TRIALS=0, **parameters)["OUTPUT"])
    parameters["INTERVAL"] = 20
    fastest = 40 * at_40["int_max_s"] / 20.0
    # 8 oscillations over the whole window of 5 to 20°
    slowest = 8 * (299_792_458.0 / 1575.42e6) / (2 * (np.sin(np.radians(20)) - np.sin(np.radians(5))))
    assert 2 < slowest < fastest < 20
    row, layer = improved(INPUT=offshore(300), ANTENNA_HEIGHT=40, HEIGHT_MIN=1, HEIGHT_MAX=41, RADIUS=0.5, **parameters)
    assert slowest - HEIGHT_M <= row["height_m"] <= fastest + HEIGHT_M
    assert row["h_least_m"] == pytest.approx(slowest, abs=HEIGHT_M)
    assert row["score_new"] > row["score_old"] + 10 and row["cm_new"] < row["cm_old"] / 2
    assert row["gain"].startswith(f"{row['cm_old']:.0f} → {row['cm_new']:.2g} cm; ")
    confirmed(layer, INPUT=offshore(300), **parameters)


def test_what_is_best_already_stays(coast):
    row, layer = improved(INPUT=offshore(300), RADIUS=30, AZIMUTH_STEP=10, **coast)
    assert (row["move_m"], row["move_deg"], row["gain"]) == (0, None, "no gain found")
    assert row["score_new"] == row["score_old"] > 96 and row["cm_new"] == row["cm_old"] < 1
    assert row["near_ok_m"] == 0 and row["h_least_m"] is None
    assert (row["x"], row["y"]) == (300, 0)


def test_no_antenna_is_moved_into_the_water(coast):
    """In the water the score would be better still; the shore is as far as it goes."""
    row, layer = improved(INPUT=offshore(-6), RADIUS=40, **SEA, **coast)
    assert -PLACE_M <= row["x"] <= 0
    confirmed(layer, **SEA, **coast)


def test_several_sites_with_fields_lines_and_a_site_without_geometry(coast):
    sites = points((SHORE_X - 25, MIDDLE_Y), None, (SHORE_X + 300, MIDDLE_Y), (SHORE_X - 20, MIDDLE_Y + 200),
                   fields="name:string(20)|height_m:double", rows=[["a", 5], ["b", 5], ["c", 5], ["d", None]])
    parameters = dict(SITE_FIELD="name", HEIGHT_FIELD="height_m", RADIUS=30, **SEA, **coast)
    result = run("improveposition", INPUT=sites, OUTPUT_MOVES="TEMPORARY_OUTPUT", **parameters)
    layer, moves = result["OUTPUT"], result["OUTPUT_MOVES"]
    assert [f.name() for f in layer.fields()] == ["name", "height_m_i", *OWN_FIELDS]
    table = {row["site"]: row for row in rows(layer)}
    assert list(table) == ["a", "b", "c", "d"]
    assert table["b"]["verdict"] == "not assessed" and "no geometry" in table["b"]["limit_by"]
    assert table["b"]["move_m"] is None and table["b"]["score_old"] is None
    assert table["d"]["height_m"] == 5 and table["c"]["move_m"] == 0
    drawn = {f["site"]: f for f in moves.getFeatures()}
    assert set(drawn) == {"a", "d"} and [f.name() for f in moves.fields()] == [
        "site", "move_m", "score_old", "score_new"]
    assert QgsWkbTypes.geometryType(moves.wkbType()) == QgsWkbTypes.GeometryType.LineGeometry
    ends = drawn["a"].geometry().asMultiPolyline()[0]
    place = {f["site"]: f.geometry().asPoint() for f in layer.getFeatures() if f.hasGeometry()}
    assert ends[0].x() == SHORE_X - 25 and ends[-1] == place["a"]
    # the map's metres are 0.9996 of true ones on the central meridian
    assert drawn["a"].geometry().length() / 0.9996 == pytest.approx(table["a"]["move_m"], abs=0.01)
    ranked = {r["site"]: r for r in rows(run("rankcandidates", **{
        **{k: v for k, v in parameters.items() if k != "RADIUS"}, "INPUT": layer, "SITE_FIELD": "site",
        "HEIGHT_FIELD": "height_m", "TRIALS": 0})["OUTPUT"])}
    for name in "acd":
        assert ranked[name]["score"] == pytest.approx(table[name]["score_new"], abs=1e-6)


def test_an_antenna_under_water_is_raised(coast):
    parameters = dict(INPUT=offshore(300), ANTENNA_HEIGHT=1, LEVEL_HIGH=2, RADIUS=1, AZIMUTH_STEP=10, **coast)
    row, layer = improved(HEIGHT_MIN=1, HEIGHT_MAX=8, **parameters)
    # 3 m over the highest level are asked for
    assert row["score_old"] is None and row["h_least_m"] == pytest.approx(5, abs=HEIGHT_M)
    assert 5 <= row["height_m"] <= 8 and row["score_new"] > 96
    confirmed(layer, **parameters)


@pytest.mark.parametrize("parameters, words", [
    ({"RADIUS": 0}, "RADIUS is 0 m; it must be above 0"),
    ({"RADIUS": -5}, "RADIUS is -5 m; it must be above 0"),
    ({"HEIGHT_MIN": 8, "HEIGHT_MAX": 3}, "HEIGHT_MIN (8 m) lies above HEIGHT_MAX (3 m)"),
    ({"HEIGHT_MIN": 8}, "HEIGHT_MAX is missing"),
    ({"HEIGHT_MAX": 8}, "HEIGHT_MIN is missing"),
    ({"RADUIS": 8}, "Unknown parameter RADUIS"),
])
def test_wrong_limits_are_refused(coast, parameters, words):
    assert words in refusal("improveposition", INPUT=offshore(-10), **parameters, **coast)


def test_areas_without_a_valid_place_are_refused(coast):
    in_water, far, none = (polygons(*shapes, name="plots") for shapes in (
        (box(20, -20, 60, 20),), (box(-90_000, 0, -89_000, 900),), (None,)))
    for area, words in ((in_water, "holds no valid place"), (far, "holds no valid place"), (none, "has no polygon")):
        text = refusal("improveposition", INPUT=offshore(-10), SEARCH_AREA=area, AZIMUTH_STEP=30, **coast)
        assert "SEARCH_AREA “plots”" in text and words in text


def test_where_one_of_the_sites_has_no_valid_place_the_log_names_it(coast):
    sites = points((SHORE_X - 10, MIDDLE_Y), (SHORE_X + 55, MIDDLE_Y), rows=[["land"], ["wet"]])
    feedback = Feedback()
    area = polygons(box(-30, -10, -1, 10), box(30, -10, 50, 10))
    table = {r["site"]: r for r in rows(run("improveposition", feedback, INPUT=sites, SITE_FIELD="name",
                                            SEARCH_AREA=area, **SEA, **coast)["OUTPUT"])}
    assert "“wet”" in "\n".join(feedback.warnings) and "“land”" not in "\n".join(feedback.warnings)
    assert table["wet"]["move_m"] == 0 and table["land"]["move_m"] > 0


def test_cancel_leaves_nothing(coast, tmp_path):
    target, moves = tmp_path / "o.gpkg", tmp_path / "m.gpkg"
    feedback = Feedback(cancel_at=40)
    assert run("improveposition", feedback, INPUT=offshore(-20), OUTPUT=str(target), OUTPUT_MOVES=str(moves),
               **coast) in ({}, {"OUTPUT": None})
    assert not target.exists() and not moves.exists() and "Cancelled" in feedback.log
    assert feedback.progress == sorted(feedback.progress) and max(feedback.progress) < 60


def test_progress_rises_to_its_end(coast):
    feedback = Feedback()
    run("improveposition", feedback, INPUT=points((SHORE_X - 9, MIDDLE_Y), (SHORE_X - 8, MIDDLE_Y)), RADIUS=9,
        AZIMUTH_STEP=30, **coast)
    assert feedback.progress == sorted(feedback.progress) and len(set(feedback.progress)) > 8
