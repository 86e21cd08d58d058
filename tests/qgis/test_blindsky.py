"""The algorithm `blindsky`: sky without satellites, held to the satellites' own tracks and to spherical geometry."""

import numpy as np
import pymap3d
import pytest
from pyproj import Geod, Transformer
from qgis.core import QgsDistanceArea, QgsGeometry, QgsProject, QgsSpatialIndex, QgsWkbTypes
from scenes import Feedback, column, points, refusal, rows, run

pytestmark = pytest.mark.usefixtures("provider")

FIELDS = ["site", "az_deg", "el_from", "el_to"]
GEOD = Geod(ellps="WGS84")
LON, LAT, HEIGHT = -39.0, 45.0, 10.0
X, Y = 500_000.0, float(Transformer.from_crs("EPSG:4326", "EPSG:32624", always_xy=True).transform(LON, LAT)[1])
EDGE_DEG = 0.05
"""Height of a cell of sky: how exactly the edge of an empty range is found."""


def blind(x=X, y=Y, crs="EPSG:32624", feedback=None, **parameters):
    """Run over one site, at first over GPS only."""
    parameters = {"INPUT": points((x, y), crs=crs), "ANTENNA_HEIGHT": HEIGHT, "CONSTELLATIONS": ["GPS"], **parameters}
    return run("blindsky", feedback, **parameters)["OUTPUT"]


def distance_m(elevation_deg):
    """Return h/tan e."""
    return HEIGHT / np.tan(np.radians(elevation_deg))


def sector(azimuth, width, el_from, el_to):
    """Draw a ring sector on the map, in UTM's true north at the central meridian."""
    turn = np.radians(np.linspace(azimuth - width / 2, azimuth + width / 2, 9))
    near, far = distance_m(el_to), distance_m(el_from)
    ring = [(X + r * np.sin(t), Y + r * np.cos(t)) for r, ts in ((near, turn), (far, turn[::-1])) for t in ts]
    return QgsGeometry.fromWkt("POLYGON((" + ",".join(f"{x:.6f} {y:.6f}" for x, y in ring + ring[:1]) + "))")


@pytest.mark.parametrize("crs", ["EPSG:4326", "EPSG:3857", "EPSG:32624"])
def test_polygons_reach_from_h_over_tan_of_the_higher_angle_to_that_of_the_lower(crs):
    x, y = Transformer.from_crs("EPSG:4326", crs, always_xy=True).transform(LON, LAT)
    layer = blind(x, y, crs)
    assert [field.name() for field in layer.fields()] == FIELDS
    assert layer.wkbType() == QgsWkbTypes.Type.MultiPolygon and layer.crs().authid() == crs
    back = Transformer.from_crs(crs, "EPSG:4326", always_xy=True)
    features = list(layer.getFeatures())
    assert len(features) > 20
    for feature in features:
        assert feature.geometry().isGeosValid() and feature["site"] == "1"
        assert feature["az_deg"] % 5 == 2.5 and 5 <= feature["el_from"] <= feature["el_to"] - 1 <= 19
        lon, lat = back.transform(*np.array([[v.x(), v.y()] for v in feature.geometry().vertices()]).T)
        azimuth, _back, distance = GEOD.inv(np.full(len(lon), LON), np.full(len(lat), LAT), lon, lat)
        assert distance.min() == pytest.approx(distance_m(feature["el_to"]), rel=1e-3)
        assert distance.max() == pytest.approx(distance_m(feature["el_from"]), rel=1e-3)
        assert np.abs((azimuth - feature["az_deg"] + 180) % 360 - 180).max() == pytest.approx(2.5, abs=0.02)


@pytest.mark.parametrize("systems", [["GPS"], ["GPS", "GLONASS", "Galileo", "BeiDou"]])
def test_no_track_of_a_satellite_enters_a_mask_and_each_mask_ends_at_a_track_or_a_limit(systems):
    masks = blind(CONSTELLATIONS=systems)
    tracks = run("skyarcs", INPUT=points((X, Y)), ANTENNA_HEIGHT=HEIGHT, CONSTELLATIONS=systems)["OUTPUT"]
    features = {f.id(): f.geometry() for f in tracks.getFeatures()}
    index = QgsSpatialIndex(tracks.getFeatures())

    def crossed(area):
        return any(features[i].intersects(area) for i in index.intersects(area.boundingBox()))

    table = rows(masks)
    assert len(table) > 10
    for row in table:
        assert not crossed(sector(row["az_deg"], 4.96, row["el_from"] + EDGE_DEG, row["el_to"] - EDGE_DEG))
        if row["el_from"] > 5:
            assert crossed(sector(row["az_deg"], 5.02, row["el_from"] - 1.5 * EDGE_DEG, row["el_from"]))
        if row["el_to"] < 20:
            assert crossed(sector(row["az_deg"], 5.02, row["el_to"], row["el_to"] + 1.5 * EDGE_DEG))


def wholly_empty(**parameters):
    """Return the azimuths, -180 to 180°, in which nothing passes from 5 to 25°."""
    table = rows(blind(MIN_ELEVATION=5, MAX_ELEVATION=25, **parameters))
    whole = column(table, "el_to") - column(table, "el_from") > 19.9
    return (column(table, "az_deg")[whole] + 180) % 360 - 180


def test_the_northern_hole_at_40_degrees_is_as_wide_as_geometry_makes_it():
    """No subpoint lies beyond the inclination of 55°: pymap3d follows each line of sight to the orbit's radius."""
    azimuth, elevation = np.meshgrid(np.arange(-90, 90, 0.05), np.arange(5, 25.01, 0.5), indexing="ij")
    site = np.array(pymap3d.geodetic2ecef(40.0, -39.0, 0.0))
    sight = np.stack(pymap3d.aer2ecef(azimuth, elevation, 1.0, 40.0, -39.0, 0.0), axis=-1) - site
    along = sight @ site
    distance = -along + np.sqrt(along**2 + 26_559_700.0**2 - site @ site)
    latitude = np.degrees(np.arcsin((site + distance[..., None] * sight)[..., 2] / 26_559_700.0))
    half = azimuth[(latitude > 55).all(axis=1), 0].max()
    assert 2 * half == pytest.approx(65, abs=0.3)
    empty = wholly_empty(x=-39.0, y=40.0, crs="EPSG:4326", AZIMUTH_STEP=1)
    whole_bins = np.arange(-np.floor(half), np.floor(half)) + 0.5
    assert set(whole_bins) <= set(empty)
    # a day's tracks leave more: 69 to 72° in a simulation on other places of the same latitude
    assert len(whole_bins) <= np.count_nonzero(np.abs(empty) < 45) <= 73


@pytest.mark.parametrize("lon, lat", [(-39.0, 45.0), (10.0, 49.0), (24.0, -30.0), (-65.0, -35.0), (148.0, -36.0)])
def test_gps_never_comes_low_towards_the_nearer_pole_and_glonass_narrows_that(lon, lat):
    """Common practice, no source: northern mid-latitudes; southern Africa, South America and Australia."""
    gps = wholly_empty(x=lon, y=lat, crs="EPSG:4326")
    glonass = wholly_empty(x=lon, y=lat, crs="EPSG:4326", CONSTELLATIONS=["GPS", "GLONASS"])
    gps, glonass = (np.abs(part if lat > 0 else 180 - np.abs(part)) for part in (gps, glonass))
    assert gps.min() == 2.5 and np.count_nonzero(gps < 45) >= 4
    assert np.count_nonzero(glonass < 45) < np.count_nonzero(gps < 45)


def test_up_to_the_zenith_a_mask_is_a_wedge_from_the_site():
    layer = blind(MIN_ELEVATION=60, MAX_ELEVATION=90, AZIMUTH_STEP=10)
    to_top = [f for f in layer.getFeatures() if f["el_to"] == 90.0]
    assert to_top
    site = QgsGeometry.fromWkt(f"POINT({X} {Y})")
    for feature in to_top:
        assert feature.geometry().isGeosValid()
        assert feature.geometry().distance(site) < 1e-6
        assert feature.geometry().area() == pytest.approx(
            np.pi * distance_m(feature["el_from"]) ** 2 / 36, rel=0.005)


def test_shorter_ranges_are_left_out():
    short, usual = rows(blind(MIN_RANGE=0)), rows(blind(MIN_RANGE=3))
    assert len(short) > len(usual) > 0
    assert (column(usual, "el_to") - column(usual, "el_from")).min() >= 3 - 1e-9
    assert [r for r in short if r["el_to"] - r["el_from"] >= 3] == usual


def test_more_days_leave_no_more_empty_sky():
    def width(table):
        return (column(table, "el_to") - column(table, "el_from")).sum()
    one, ten = rows(blind(CONSTELLATIONS=["Galileo"])), rows(blind(CONSTELLATIONS=["Galileo"], DAYS=10))
    assert width(ten) < 0.7 * width(one)


def test_a_site_without_empty_sky_is_named():
    feedback = Feedback()
    assert rows(blind(feedback=feedback, AZIMUTH_STEP=180)) == []
    assert "Nothing to mask" in feedback.log and "“1”" in feedback.log


def test_where_no_satellite_passes_at_all_everything_is_masked_and_told():
    feedback = Feedback()
    table = rows(blind(feedback=feedback, MIN_ELEVATION=89.9, MAX_ELEVATION=90, MIN_RANGE=0.05))
    assert len(table) == 72 and "No satellite passes between 89.9 and 90°" in feedback.log


@pytest.mark.parametrize("crs, x, y, half_world", [
    ("EPSG:4326", 180.0, 10.0, 180.0), ("EPSG:3857", -20037480.0, 5.0e6, 20037508.342789244)])
def test_across_180_degrees_a_mask_is_split_and_keeps_its_area(crs, x, y, half_world):
    layer = blind(x, y, crs, CONSTELLATIONS=["Galileo"])
    measure = QgsDistanceArea()
    measure.setSourceCrs(layer.crs(), QgsProject.instance().transformContext())
    measure.setEllipsoid("EPSG:7030")
    split = 0
    for feature in layer.getFeatures():
        geometry = feature.geometry()
        assert geometry.isGeosValid()
        wanted = np.pi * (distance_m(feature["el_from"]) ** 2 - distance_m(feature["el_to"]) ** 2) / 72
        assert measure.measureArea(geometry) == pytest.approx(wanted, rel=0.002)
        boxes = [part.boundingBox() for part in geometry.asGeometryCollection()]
        assert all(box.width() < half_world / 100 for box in boxes)
        split += len(boxes) > 1
    assert split >= 1


def test_at_a_pole_every_direction_is_empty_above_what_the_orbits_reach_and_azimuths_are_told():
    feedback = Feedback()
    layer = blind(25.0, 90.0, "EPSG:4326", feedback, MIN_ELEVATION=40, MAX_ELEVATION=60)
    assert "At a pole: “1”" in feedback.log
    # the subpoint stays below 55° of latitude: by plane geometry 45.31° of elevation at a radius of 26 560 km
    highest = [f for f in layer.getFeatures() if f["el_to"] == 60.0]
    assert len(highest) == 72 and max(f["el_from"] for f in highest) <= 45.36
    for feature in highest:
        assert feature.geometry().isGeosValid()
        centre = feature.geometry().boundingBox().center().x()
        # azimuth 180° runs down the meridian of the longitude given
        assert abs((centre - (25.0 + 180.0 - feature["az_deg"]) + 180) % 360 - 180) < 0.01 or len(
            feature.geometry().asGeometryCollection()) == 2


@pytest.mark.parametrize("parameters, words", [
    ({"AZIMUTH_STEP": 7}, "360 must be a multiple of it"), ({"AZIMUTH_STEP": 0}, "AZIMUTH_STEP is 0°"),
    ({"MIN_RANGE": 16}, "only 15° are looked at"), ({"MIN_RANGE": -1}, "MIN_RANGE cannot be “-1”"),
    ({"SIGNAL": "GPS L1"}, "Unknown parameter SIGNAL"), ({"CONSTELLATIONS": []}, "CONSTELLATIONS"),
    ({"CONSTELLATIONS": ["QZSS"]}, "Give its real orbits in ORBITS"), ({"MIN_ELEVATION": -5}, "MIN_ELEVATION"),
    ({"MIN_ELEVATION": 90, "MAX_ELEVATION": 90}, "less than"), ({"MIN_ELEVATION": 30}, "less than MAX_ELEVATION (20°)"),
    ({"DAYS": 0}, "DAYS"), ({"DATE": "soon"}, "DATE")])
def test_a_bad_setting_is_refused_by_name(parameters, words, tmp_path):
    assert words in refusal("blindsky", INPUT=points((X, Y)), OUTPUT=str(tmp_path / "o.gpkg"), **parameters)
    assert list(tmp_path.iterdir()) == []


def test_candidates_that_cannot_be_looked_at_are_named():
    sites = points((X, Y), None, kind="Point", rows=[["good"], ["empty"]])
    feedback = Feedback()
    table = rows(run("blindsky", feedback, INPUT=sites, SITE_FIELD="name", CONSTELLATIONS=["GPS"])["OUTPUT"])
    assert {r["site"] for r in table} == {"good"}
    assert "“empty” is not assessed: it has no geometry" in feedback.log


@pytest.mark.parametrize("percent", [0, 5, 50])
def test_cancel_leaves_nothing(percent, tmp_path):
    feedback = Feedback(cancel_at=percent)
    many = points(*[(X + i, Y) for i in range(60)])
    assert run("blindsky", feedback, INPUT=many, OUTPUT=str(tmp_path / "o.shp")) == {}
    assert "Cancelled; nothing was written." in feedback.log and list(tmp_path.iterdir()) == []
    assert max(feedback.progress) < percent + 10 and feedback.progress == sorted(feedback.progress)


def test_a_shapefile_holds_the_same(tmp_path):
    path = str(tmp_path / "o.shp")
    table = rows(blind(OUTPUT=path))
    for read, wanted in zip(table, rows(blind())):
        assert list(read) == FIELDS and read["site"] == wanted["site"]
        assert [read[n] for n in FIELDS[1:]] == pytest.approx([wanted[n] for n in FIELDS[1:]])
