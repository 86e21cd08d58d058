"""The algorithm `footprints`: which rows it gives, and that its figures hold on the ground."""

import numpy as np
import pytest
from pyproj import Geod
from qgis.core import (
    QgsCoordinateReferenceSystem,
    QgsCoordinateTransform,
    QgsDistanceArea,
    QgsProject,
    QgsProperty,
    QgsWkbTypes,
)
from scenes import Feedback, offshore, points, polygons, raster, refusal, rows, run
from stillwater.processing_algs.algorithms.footprints import parse_angles

pytestmark = pytest.mark.usefixtures("provider")

FIELDS = ["site", "signal", "az_deg", "el_deg", "height_m", "dist_m", "length_m", "width_m", "area_m2"]
SIZE_TOLERANCE = 1e-3
"""Axes measured geodesically on the output agree with the fields to 0.1 %."""
BEARING_TOLERANCE_DEG = 0.05
POLYGON_OF_72 = np.sin(2 * np.pi / 72) / (2 * np.pi / 72)
"""Area of a regular 72-gon in its circle, which an ellipse's outline shares (elementary geometry)."""

GEOD = Geod(ellps="WGS84")


def on_the_ground(layer, feature, lon0, lat0):
    """Return distance [m] and azimuth [°] from the site to all vertices of a feature."""
    to_lonlat = QgsCoordinateTransform(
        layer.crs(), QgsCoordinateReferenceSystem("EPSG:4326"), QgsProject.instance())
    geometry = feature.geometry()
    geometry.transform(to_lonlat)
    lon, lat = np.array([[v.x(), v.y()] for v in geometry.vertices()]).T
    azimuth, _back, distance = GEOD.inv(np.full(lon.shape, lon0), np.full(lon.shape, lat0), lon, lat)
    return distance, np.mod(azimuth, 360.0)


def turn_between(one, other):
    """Return the angle between two azimuths [°]."""
    return abs((one - other + 180.0) % 360.0 - 180.0)


def test_gives_a_multipolygon_for_each_site_azimuth_and_angle():
    layer = run("footprints", INPUT=points((500300, 4982000), (500400, 4982000)), SITE_FIELD="name")["OUTPUT"]
    assert [field.name() for field in layer.fields()] == FIELDS
    assert layer.wkbType() == QgsWkbTypes.Type.MultiPolygon
    assert layer.crs().authid() == "EPSG:32624"
    table = rows(layer)
    assert len(table) == 2 * 24 * 4
    assert {(r["site"], r["az_deg"], r["el_deg"]) for r in table} == {
        (site, azimuth, angle) for site in ("site 1", "site 2") for azimuth in range(0, 360, 15)
        for angle in (6, 10, 15, 22)}
    assert {r["signal"] for r in table} == {"GPS L1"} and {r["height_m"] for r in table} == {5.0}


def test_figures_are_those_of_the_first_fresnel_zone():
    # semi-axes and distance of the excess-path contour of half a wavelength (derived), 1575.42 MHz
    row, = rows(run("footprints", INPUT=offshore(), ANTENNA_HEIGHT=10, ELEVATIONS="15", AZIMUTH_TO=15)["OUTPUT"])
    assert row["length_m"] == pytest.approx(2 * 10.5724, abs=2e-4)
    assert row["width_m"] == pytest.approx(2 * 2.7363, abs=2e-4)
    assert row["dist_m"] == pytest.approx(38.6925, abs=1e-4)
    assert row["area_m2"] == pytest.approx(np.pi * 10.5724 * 2.7363, rel=1e-4)


def test_the_signal_sets_the_size():
    wide, = rows(run("footprints", INPUT=offshore(), ELEVATIONS="10", AZIMUTH_TO=15, SIGNAL="GPS L5")["OUTPUT"])
    narrow, = rows(run("footprints", INPUT=offshore(), ELEVATIONS="10", AZIMUTH_TO=15)["OUTPUT"])
    assert wide["signal"] == "GPS L5"
    # far from the antenna's own half wavelength the width goes with the root of the wavelength
    assert wide["width_m"] / narrow["width_m"] == pytest.approx(np.sqrt(1575.42 / 1176.45), rel=0.01)


@pytest.mark.parametrize("crs, x, y, lon, lat", [
    ("EPSG:3857", 1113194.9079, 9552548.9, None, None),
    ("EPSG:4326", 10.0, 65.0, 10.0, 65.0),
    ("EPSG:4326", 20.0, -89.0, 20.0, -89.0),
    ("EPSG:4326", 179.99, 10.0, 179.99, 10.0),
    ("EPSG:4326", 179.9999, 10.0, 179.9999, 10.0),
    ("EPSG:32660", 833000.0, 1100000.0, None, None),
    ("EPSG:3031", 30000.0, 100000.0, None, None),
])
def test_axes_and_bearings_hold_on_the_ground_in_any_crs(crs, x, y, lon, lat):
    if lon is None:
        place = QgsCoordinateTransform(QgsCoordinateReferenceSystem(crs), QgsCoordinateReferenceSystem("EPSG:4326"),
                                       QgsProject.instance()).transform(x, y)
        lon, lat = place.x(), place.y()
    layer = run("footprints", INPUT=points((x, y), crs=crs), ANTENNA_HEIGHT=100, AZIMUTH_STEP=30)["OUTPUT"]
    features = list(layer.getFeatures())
    assert len(features) == 12 * 4
    for feature in features:
        assert feature.geometry().isGeosValid()
        distance, azimuth = on_the_ground(layer, feature, lon, lat)
        far = np.argmax(distance)
        assert distance[far] == pytest.approx(feature["dist_m"] + feature["length_m"] / 2, rel=SIZE_TOLERANCE)
        assert distance.min() == pytest.approx(feature["dist_m"] - feature["length_m"] / 2, rel=SIZE_TOLERANCE)
        assert turn_between(azimuth[far], feature["az_deg"]) < BEARING_TOLERANCE_DEG
        across = distance * np.sin(np.radians(azimuth - feature["az_deg"]))
        assert 2 * np.abs(across).max() == pytest.approx(feature["width_m"], rel=SIZE_TOLERANCE)


def test_in_web_mercator_at_60_degrees_map_units_are_half_a_metre():
    layer = run("footprints", INPUT=points((0.0, 8399737.9), crs="EPSG:3857"), ELEVATIONS="10", AZIMUTH_TO=15)["OUTPUT"]
    feature, = layer.getFeatures()
    assert feature.geometry().boundingBox().height() / feature["length_m"] == pytest.approx(2.0, rel=0.005)


def areas_and_parts(layer):
    """Return geodesic area over `area_m2`, and the parts' boxes, of each feature."""
    measure = QgsDistanceArea()
    measure.setSourceCrs(layer.crs(), QgsProject.instance().transformContext())
    measure.setEllipsoid("EPSG:7030")
    found = []
    for feature in layer.getFeatures():
        geometry = feature.geometry()
        assert geometry.isGeosValid()
        boxes = [part.boundingBox() for part in geometry.asGeometryCollection()]
        found.append((measure.measureArea(geometry) / feature["area_m2"], boxes))
    return found


@pytest.mark.parametrize("crs, x, y, half_world", [
    ("EPSG:4326", 179.9999, 10.0, 180.0), ("EPSG:4326", -179.9999, -40.0, 180.0),
    ("EPSG:3857", 20037500.0, 5.0e6, 20037508.342789244),
])
def test_across_180_degrees_a_footprint_is_split_and_not_smeared(crs, x, y, half_world):
    layer = run("footprints", INPUT=points((x, y), crs=crs), ANTENNA_HEIGHT=100, ELEVATIONS="5, 10")["OUTPUT"]
    split = 0
    for ratio, boxes in areas_and_parts(layer):
        assert ratio == pytest.approx(POLYGON_OF_72, rel=1e-3)
        for box in boxes:
            assert box.width() < half_world / 100
            assert -half_world * (1 + 1e-9) <= box.xMinimum() and box.xMaximum() <= half_world * (1 + 1e-9)
        if len(boxes) == 2:
            split += 1
            assert {box.center().x() > 0 for box in boxes} == {True, False}
    assert split >= 2


def test_beside_a_pole_footprints_stay_whole_and_one_around_it_is_told():
    layer = run("footprints", INPUT=points((0.0, 89.9995), crs="EPSG:4326"), ANTENNA_HEIGHT=1)["OUTPUT"]
    for ratio, _boxes in areas_and_parts(layer):
        assert ratio == pytest.approx(POLYGON_OF_72, rel=1e-3)
    feedback = Feedback()
    layer = run("footprints", feedback, INPUT=points((0.0, 89.9995), crs="EPSG:4326"), ELEVATIONS="5")["OUTPUT"]
    assert layer.featureCount() == 0
    assert "“1” cannot be drawn" in feedback.log and "pole" in feedback.log and "Reproject" in feedback.log


@pytest.mark.parametrize("first, end, step, expected", [
    (0, 360, 90, [0, 90, 180, 270]),
    (10, 50, 20, [10, 30]),
    (10, 51, 20, [10, 30, 50]),
    (350, 20, 10, [350, 0, 10]),
    (0, 350, 360, [0]),
    (-10, 10, 10, [350, 0]),
])
def test_azimuths_run_by_step_and_end_before_the_last(first, end, step, expected):
    table = rows(run("footprints", INPUT=offshore(), ELEVATIONS="10", AZIMUTH_FROM=first, AZIMUTH_TO=end,
                     AZIMUTH_STEP=step)["OUTPUT"])
    assert [r["az_deg"] for r in table] == expected


def test_an_empty_range_of_azimuths_is_refused():
    assert "AZIMUTH_FROM" in refusal("footprints", INPUT=offshore(), AZIMUTH_FROM=20, AZIMUTH_TO=20)


@pytest.mark.parametrize("text", ["0", "91", "-3", "abc", "5..10", "nan", " , "])
def test_a_bad_list_of_angles_is_refused(text):
    assert "ELEVATIONS" in refusal("footprints", INPUT=offshore(), ELEVATIONS=text)


def test_angles_may_stand_in_any_order_and_overhead():
    table = rows(run("footprints", INPUT=offshore(), ELEVATIONS="90; 5 10, 10", AZIMUTH_TO=15)["OUTPUT"])
    assert [r["el_deg"] for r in table] == [90, 5, 10]
    assert table[0]["length_m"] == pytest.approx(table[0]["width_m"])


@pytest.mark.parametrize("text, angles, is_told", [
    ("6, 10, 15, 22", [6, 10, 15, 22], False), ("6;10;15;22", [6, 10, 15, 22], False), ("7", [7], False),
    ("6 10\t15", [6, 10, 15], False), ("7.5, 10", [7.5, 10], False), ("7.5,10", [7.5, 10], False),
    ("7.5,10 12", [7.5, 10, 12], False), ("7,5; 10", [7.5, 10], True), ("7,5; 10,25; 12", [7.5, 10.25, 12], True),
    ("7,5 10", [7.5, 10], True), ("7,5, 10,5", [7.5, 10.5], True), ("7,5", [7, 5], True),
    ("6,10,15,22", [6, 10, 15, 22], True), ("6,10,15; 22", [6, 10, 15, 22], True)])
def test_a_comma_that_may_be_a_decimal_one_is_told(text, angles, is_told):
    """A comma before a blank parts; one within a number is a decimal comma where semicolons or blanks part."""
    found, note = parse_angles(text)
    assert found.tolist() == angles and bool(note) == is_told
    if is_told:
        assert f"“{text}” is understood as {', '.join(f'{one:g}°' for one in angles)}. Write" in note


def test_the_log_says_how_angles_were_understood():
    feedback = Feedback()
    table = rows(run("footprints", feedback, INPUT=offshore(), ELEVATIONS="7,5", AZIMUTH_TO=15)["OUTPUT"])
    assert [r["el_deg"] for r in table] == [7, 5] and "understood as 7°, 5°" in "".join(feedback.warnings)


def heights(**parameters):
    """Return the height of each site."""
    table = rows(run("footprints", ELEVATIONS="10", AZIMUTH_TO=15, **parameters)["OUTPUT"])
    return [r["height_m"] for r in table]


def test_height_comes_from_a_field_and_falls_back_where_it_is_null():
    sites = points((500300, 4982000), (500400, 4982000), fields="h:double", rows=[[7.5], [None]])
    assert heights(INPUT=sites, HEIGHT_FIELD="h", ANTENNA_HEIGHT=3) == [7.5, 3.0]


def test_height_can_be_data_defined():
    sites = points((500300, 4982000), (500400, 4982000), fields="h:double", rows=[[7.5], [2.0]])
    assert heights(INPUT=sites, ANTENNA_HEIGHT=QgsProperty.fromExpression('"h" + 1')) == [8.5, 3.0]
    assert heights(INPUT=sites, ANTENNA_HEIGHT=QgsProperty.fromField("h")) == [7.5, 2.0]


def test_height_is_counted_from_surface_ground_datum_and_ellipsoid(tmp_path):
    dem = np.full((100, 100), 2.0, np.float32)
    dem[48:52, 48:52] = 12.0  # a roof below the antenna
    layers = {
        "INPUT": points((500100, 4981900)),
        "DEM": raster(tmp_path / "dem.tif", dem, west=500000, north=4982000),
        "GEOID": raster(tmp_path / "geoid.tif", np.full((9, 9), 50.0, np.float32), west=495000, north=4987000,
                        cell=1000),
        "SURFACE_LEVEL": 0.5, "ANTENNA_HEIGHT": 4.0}
    assert heights(**layers, HEIGHT_REFERENCE="surface") == [4.0]
    assert heights(**layers, HEIGHT_REFERENCE="ground") == [pytest.approx(12 + 4 - 0.5)]
    assert heights(**layers, HEIGHT_REFERENCE="datum") == [pytest.approx(4 - 0.5)]
    layers["ANTENNA_HEIGHT"] = 66.0
    assert heights(**layers, HEIGHT_REFERENCE="ellipsoid") == [pytest.approx(66 - 50 - 0.5)]


def test_a_geoid_is_read_between_its_cells_even_in_another_crs(tmp_path):
    # a plane of 1 m per degree of longitude: bilinear reading is exact, the nearest cell is not
    lon = -39.5 + 0.1 * (np.arange(12) + 0.5)
    geoid = raster(tmp_path / "geoid.tif", np.tile(50 + lon + 39, (12, 1)).astype(np.float32), west=-39.5, north=45.6,
                   cell=0.1, crs="EPSG:4326")
    height, = heights(INPUT=points((-39.123, 45.0), crs="EPSG:4326"), HEIGHT_REFERENCE="ellipsoid", GEOID=geoid,
                      ANTENNA_HEIGHT=60)
    assert height == pytest.approx(60 - (50 - 0.123), abs=1e-3)


def test_sites_are_named_and_doubles_told_apart():
    sites = points((500300, 4982000), (500400, 4982000), (500500, 4982000),
                   rows=[["pier"], ["pier"], [None]])
    table = rows(run("footprints", INPUT=sites, SITE_FIELD="name", ELEVATIONS="10", AZIMUTH_TO=15)["OUTPUT"])
    assert [r["site"] for r in table] == ["pier 1", "pier 2", "3"]
    taken = points((500300, 4982000), (500400, 4982000), (500500, 4982000), rows=[["pier"], ["pier"], ["pier 1"]])
    table = rows(run("footprints", INPUT=taken, SITE_FIELD="name", ELEVATIONS="10", AZIMUTH_TO=15)["OUTPUT"])
    assert [r["site"] for r in table] == ["pier 1 1", "pier 2", "pier 1 3"]


def test_multipoints_are_taken_apart():
    sites = points("MULTIPOINT((500300 4982000),(500400 4982000))", kind="MultiPoint")
    table = rows(run("footprints", INPUT=sites, SITE_FIELD="name", ELEVATIONS="10", AZIMUTH_TO=15)["OUTPUT"])
    assert [r["site"] for r in table] == ["site 1 1.1", "site 1 1.2"]


def test_a_candidate_that_cannot_be_assessed_is_named_and_counted():
    sites = points(None, (500400, 4982000), (500500, 4982000), fields="h:double", rows=[[5], [0], [5]])
    feedback = Feedback()
    layer = run("footprints", feedback, INPUT=sites, HEIGHT_FIELD="h", ELEVATIONS="10", AZIMUTH_TO=15)["OUTPUT"]
    assert [r["site"] for r in rows(layer)] == ["3"]
    assert "“1”" in feedback.log and "no geometry" in feedback.log
    assert "“2”" in feedback.log and "above 0" in feedback.log
    assert "2 of 3 candidates" in feedback.log


def test_polygons_are_no_candidates():
    quays = polygons("POLYGON((500000 4981000,501000 4981000,501000 4983000,500000 4981000))")
    text = refusal("footprints", INPUT=quays)
    assert "INPUT" in text and "point" in text
