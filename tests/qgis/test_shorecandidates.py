"""The algorithm `shorecandidates`: spacing, setback and facing by geodesics, roofs, rules, wrong inputs, the sample."""

import numpy as np
import pytest
from pyproj import Geod, Transformer
from qgis.core import QgsGeometry, QgsPointXY, QgsVectorLayer, QgsWkbTypes
from scenes import MIDDLE_Y, SAMPLE, SHORE_X, UTM, Feedback, column, layer, points, polygons, raster, refusal, rows, run

pytestmark = pytest.mark.usefixtures("provider")

GEOD = Geod(ellps="WGS84")
FIELDS = ["site", "face_deg", "ground_m", "kind", "access_m"]
NORTH = [(SHORE_X, MIDDLE_Y - 500.0), (SHORE_X, MIDDLE_Y + 500.0)]
SCALE = 0.9996
"""Scale of UTM on its central meridian, where the shore lies (Snyder 1987, USGS Professional Paper 1395)."""
ROOF = f"POLYGON(({SHORE_X} {MIDDLE_Y},{SHORE_X + 60} {MIDDLE_Y},{SHORE_X + 60} {MIDDLE_Y + 20},"\
       f"{SHORE_X} {MIDDLE_Y + 20},{SHORE_X} {MIDDLE_Y}))"


def lines(*shapes, **options):
    """Make a layer of lines from lists of (x, y)."""
    texts = ["LINESTRING(" + ",".join(f"{x!r} {y!r}" for x, y in np.array(s, float).tolist()) + ")" for s in shapes]
    return layer("LineString", texts, name="coastline", **options)


def candidates(feedback=None, **parameters):
    """Run it and give its layer."""
    return run("shorecandidates", feedback, **{"SPACING": 50.0, "OFFSET": 5.0, **parameters})["OUTPUT"]


def lonlat(made):
    """Return longitudes and latitudes of a layer's points."""
    xy = np.array([[f.geometry().asPoint().x(), f.geometry().asPoint().y()] for f in made.getFeatures()])
    return Transformer.from_crs(made.crs().authid(), "EPSG:4326", always_xy=True).transform(*xy.T)


def turned(a, b):
    """Return the difference of azimuths [°]."""
    return (np.asarray(a) - np.asarray(b) + 180.0) % 360.0 - 180.0


def test_points_stand_at_the_spacing_behind_the_shore_and_face_the_water():
    for side, azimuth, sign in (("left", 270.0, 1), ("right", 90.0, -1)):
        made = candidates(SHORE=lines(NORTH), SIDE=side)
        table = rows(made)
        assert [field.name() for field in made.fields()] == FIELDS and made.wkbType() == QgsWkbTypes.Type.Point
        assert [row["site"] for row in table] == [f"s{k:04d}" for k in range(1, 22)]
        assert {row["kind"] for row in table} == {"shore"} and np.isnan(column(table, "ground_m")).all()
        assert np.abs(turned(column(table, "face_deg"), azimuth)).max() < 1e-3
        lon, lat = lonlat(made)
        assert np.allclose(GEOD.inv(lon[:-1], lat[:-1], lon[1:], lat[1:])[2], 50.0, atol=1e-3)
        x = [f.geometry().asPoint().x() - SHORE_X for f in made.getFeatures()]
        assert np.allclose(x, sign * 5.0 * SCALE, atol=1e-3)


@pytest.mark.parametrize("crs, lat0", [("EPSG:4326", 0.0), ("EPSG:4326", 70.0), ("EPSG:3857", 70.0)])
def test_azimuth_spacing_and_setback_are_true_in_any_crs(crs, lat0):
    way = GEOD.npts(10.0, lat0, *GEOD.fwd(10.0, lat0, 30.0, 2000.0)[:2], 9, initial_idx=0, terminus_idx=0)
    x, y = Transformer.from_crs("EPSG:4326", crs, always_xy=True).transform(*np.array(way).T)
    made = candidates(SHORE=lines(np.stack([x, y], -1), crs=crs), SIDE="left", SPACING=100.0, OFFSET=20.0)
    assert made.crs().authid() == crs and made.featureCount() == 21
    lon, lat = lonlat(made)
    assert np.allclose(GEOD.inv(lon[:-1], lat[:-1], lon[1:], lat[1:])[2], 100.0, atol=0.02)
    feet = np.array([GEOD.fwd(10.0, lat0, 30.0, d)[:2] for d in np.arange(0, 2001, 100.0)])
    back, _, dist = GEOD.inv(*feet.T, lon, lat)
    assert np.allclose(dist, 20.0, atol=0.02)
    faces = column(rows(made), "face_deg")
    assert np.abs(turned(faces, -60.0)).max() < 0.1 and np.abs(turned(back + 180.0, faces)).max() < 0.1


def test_digitising_noise_hardly_turns_the_direction():
    rng = np.random.default_rng(5)
    y = np.arange(-500, 501, 5.0)
    noisy = np.stack([SHORE_X + rng.normal(0, 1.0, len(y)), MIDDLE_Y + y], -1)
    raw = np.degrees(np.arctan2(*np.diff(noisy, axis=0).T))
    faces = column(rows(candidates(SHORE=lines(noisy), SIDE="left", OFFSET=10.0)), "face_deg")
    assert len(faces) > 15 and np.std(raw) > 10.0
    assert np.std(turned(faces, 270.0)) < 0.25 * np.std(raw)


def test_pieces_are_walked_as_one_line_and_a_ring_is_divided_evenly():
    pieces = [[(SHORE_X, MIDDLE_Y + y), (SHORE_X, MIDDLE_Y + y + 99.8)] for y in (0, 300, 100, 200)]
    assert candidates(SHORE=lines(*pieces), SIDE="left", SPACING=99.0).featureCount() == 5
    angle = np.radians(np.arange(0, 361, 2.0))
    ring = np.stack([SHORE_X + 100 * np.cos(angle), MIDDLE_Y + 100 * np.sin(angle)], -1)
    ring[-1] = ring[0]
    made = candidates(SHORE=lines(ring), SIDE="left", SPACING=30.0, OFFSET=10.0)  # a pond
    assert made.featureCount() == 21
    for feature in made.getFeatures():
        point = feature.geometry().asPoint()
        dx, dy = SHORE_X - point.x(), MIDDLE_Y - point.y()
        assert np.hypot(dx, dy) == pytest.approx(110.0, abs=0.05)
        assert abs(turned(np.degrees(np.arctan2(dx, dy)), feature["face_deg"])) < 1.0


def test_points_across_a_narrow_spit_are_dropped_and_counted():
    west = [(SHORE_X, MIDDLE_Y), (SHORE_X, MIDDLE_Y + 400)]
    east = [(SHORE_X + 12, MIDDLE_Y + 400), (SHORE_X + 12, MIDDLE_Y)]
    assert candidates(SHORE=lines(west, east), SIDE="left", OFFSET=2.0).featureCount() == 18
    text = refusal("shorecandidates", SHORE=lines(west, east), SIDE="left", SPACING=50, OFFSET=20)
    assert "No candidate is left: 18 dropped as in water or behind other water (OFFSET)" in text
    feedback = Feedback()
    far = [(SHORE_X - 2000, MIDDLE_Y), (SHORE_X - 2000, MIDDLE_Y + 400)]
    assert candidates(feedback, SHORE=lines(west, east, far), SIDE="left", OFFSET=20.0).featureCount() == 9
    assert "9 candidates are left; 18 dropped as in water" in feedback.log


def test_roof_corners_face_along_the_bisector_and_edges_face_out():
    made = candidates(SHORE=polygons(ROOF), CORNERS=True, SPACING=20.0, OFFSET=1.0)
    found = {}
    for feature in made.getFeatures():
        point = feature.geometry().asPoint()
        found[round(point.x() - SHORE_X, 1), round(point.y() - MIDDLE_Y, 1)] = (feature["kind"], feature["face_deg"])
    corners = {place: face for place, (kind, face) in found.items() if kind == "corner"}
    assert sorted(corners) == [(1, 1), (1, 19), (59, 1), (59, 19)]  # a metre from both edges
    for place, azimuth in {(1, 1): 225, (1, 19): 315, (59, 1): 135, (59, 19): 45}.items():
        assert abs(turned(corners[place], azimuth)) < 0.01
    edges = {place: face for place, (kind, face) in found.items() if kind == "edge"}
    # the long sides hold three, the short ones of 20 m on the map and 20.008 m on the ground one
    assert sorted(edges) == [(1, 10), (10, 1), (10, 19), (30, 1), (30, 19), (50, 1), (50, 19), (59, 10)]
    assert abs(turned(edges[30, 1], 180)) < 0.01 and abs(turned(edges[59, 10], 90)) < 0.01


def test_reflex_corners_and_courtyards_get_no_corner_and_a_round_tank_only_edges():
    x, y = SHORE_X, MIDDLE_Y
    ell = f"POLYGON(({x} {y},{x + 60} {y},{x + 60} {y + 20},{x + 20} {y + 20},{x + 20} {y + 60},{x} {y + 60}," \
          f"{x} {y})," \
          f"({x + 5} {y + 5},{x + 15} {y + 5},{x + 15} {y + 15},{x + 5} {y + 15},{x + 5} {y + 5}))"
    kinds = [row["kind"] for row in rows(candidates(SHORE=polygons(ell), CORNERS=True, SPACING=200.0, OFFSET=1.0))]
    assert kinds == ["corner"] * 5
    tank = QgsGeometry.fromPointXY(QgsPointXY(x, y)).buffer(20.0, 40).asWkt()
    table = rows(candidates(SHORE=polygons(tank), CORNERS=True, SPACING=20.0, OFFSET=1.0))
    assert {row["kind"] for row in table} == {"edge"} and len(table) == 6


def test_polygons_of_water_and_of_land_face_each_other():
    inside = candidates(SHORE=polygons(ROOF), SIDE="inside", SPACING=40.0, OFFSET=5.0)
    outside = candidates(SHORE=polygons(ROOF), SIDE="outside", SPACING=40.0, OFFSET=5.0)
    roof = QgsGeometry.fromWkt(ROOF)
    assert not any(roof.contains(f.geometry()) for f in inside.getFeatures())
    assert all(roof.contains(f.geometry()) for f in outside.getFeatures())
    assert {row["kind"] for row in rows(inside)} == {"shore"} and inside.featureCount() == outside.featureCount() == 4


def test_ground_and_slope_come_from_the_dem_and_missing_data_is_told(tmp_path):
    heights = np.tile(np.arange(1000, dtype=np.float32) * 0.2, (1000, 1))  # a rise of 1 in 10 to the east
    dem = raster(tmp_path / "dem.tif", heights)
    table = rows(candidates(SHORE=lines(NORTH), SIDE="left", OFFSET=11.0, DEM=dem))
    assert column(table, "ground_m") == pytest.approx(505 * 0.2, abs=1e-3)
    slope = float(np.degrees(np.arctan(0.1 * SCALE)))
    assert len(rows(candidates(SHORE=lines(NORTH), SIDE="left", DEM=dem, MAX_SLOPE=slope + 0.01))) == 21
    text = refusal("shorecandidates", SHORE=lines(NORTH), SIDE="left", DEM=dem, MAX_SLOPE=slope - 0.01)
    assert "21 dropped as steeper than MAX_SLOPE" in text
    heights[:500] = -9999.0  # the north half
    feedback = Feedback()
    holed = raster(tmp_path / "holed.tif", heights, nodata=-9999.0)
    ground = column(rows(candidates(feedback, SHORE=lines(NORTH), SIDE="left", DEM=holed, MAX_SLOPE=80.0)), "ground_m")
    assert np.count_nonzero(np.isnan(ground)) in (10, 11) and len(ground) == 21
    assert "ground_m is NULL" in feedback.log and "is not known" in feedback.log


def test_rules_keep_out_and_access_drop_and_are_counted():
    keep_out = polygons(f"POLYGON(({SHORE_X - 50} {MIDDLE_Y},{SHORE_X + 50} {MIDDLE_Y},{SHORE_X + 50} {MIDDLE_Y + 900},"
                        f"{SHORE_X - 50} {MIDDLE_Y + 900},{SHORE_X - 50} {MIDDLE_Y}))")
    mast = (SHORE_X + 105.0 * SCALE, MIDDLE_Y - 500.0)
    lon, lat = Transformer.from_crs(UTM, "EPSG:4326", always_xy=True).transform(*mast)
    feedback = Feedback()
    made = candidates(feedback, SHORE=lines(NORTH), SIDE="left", KEEP_OUT=keep_out, MAX_ACCESS=300.0,
                      ACCESS=points((lon, lat), crs="EPSG:4326"))
    ways = GEOD.inv(*lonlat(made), [lon] * made.featureCount(), [lat] * made.featureCount())[2]
    assert column(rows(made), "access_m") == pytest.approx(ways, abs=0.01)
    assert made.featureCount() == 6 and max(ways) <= 300.0 and "11 dropped as inside KEEP_OUT" in feedback.log
    assert "4 dropped as farther than MAX_ACCESS" in feedback.log
    text = refusal("shorecandidates", SHORE=lines(NORTH), SIDE="left", KEEP_OUT=keep_out, MAX_ACCESS=10.0,
                   ACCESS=points(mast))
    assert "No candidate is left" in text and "10 dropped as farther than MAX_ACCESS" in text
    road = layer("LineString", [f"LINESTRING({SHORE_X + 85} {MIDDLE_Y - 5000},{SHORE_X + 85} {MIDDLE_Y + 5000})"])
    assert column(rows(candidates(SHORE=lines(NORTH), SIDE="left", ACCESS=road)), "access_m") == pytest.approx(
        85 / SCALE - 5.0, abs=0.01)
    assert set(column(rows(candidates(SHORE=lines(NORTH[::-1]), SIDE="right", ACCESS=keep_out)), "access_m")) >= {0.0}


def test_the_sample_s_own_water_agrees_with_where_points_stand_and_face():
    made = candidates(SHORE=f"{SAMPLE}/coast.gpkg|layername=shoreline", SIDE="left", DEM=f"{SAMPLE}/elevation.tif")
    sample = QgsVectorLayer(f"{SAMPLE}/coast.gpkg|layername=water", "water", "ogr")
    water = QgsGeometry.unaryUnion([f.geometry() for f in sample.getFeatures()])
    faced = 0
    for feature in made.getFeatures():
        point, azimuth = feature.geometry().asPoint(), np.radians(feature["face_deg"])
        assert not water.contains(feature.geometry())
        ahead = QgsPointXY(point.x() + 8 * np.sin(azimuth), point.y() + 8 * np.cos(azimuth))
        faced += water.contains(QgsGeometry.fromPointXY(ahead))
    assert made.featureCount() > 190 and faced > 0.97 * made.featureCount()
    lower = candidates(SHORE=f"{SAMPLE}/coast.gpkg|layername=shoreline", SIDE="lower ground",
                       DEM=f"{SAMPLE}/elevation.tif")
    assert column(rows(lower), "face_deg") == pytest.approx(column(rows(made), "face_deg"))


def test_wrong_inputs_are_refused_and_say_what_to_do(tmp_path):
    shore = lines(NORTH)

    def said(**parameters):
        return refusal("shorecandidates", **{"SHORE": shore, "SIDE": "left", **parameters})

    assert "SPACING" in said(SPACING=0) and "SPACING" in said(SPACING=-3)
    assert "longer than the coast" in said(SPACING=1001) and "1000.4 m" in said(SPACING=1001)
    assert "more than 1000000" in said(SPACING=1e-6)
    assert "OFFSET is -1 m" in said(OFFSET=-1)
    assert "has no lines" in said(SHORE=lines()) and "has no lines" in said(SHORE=layer("LineString", [None]))
    assert "needs DEM" in said(SIDE="lower ground")
    assert "MAX_ACCESS is given without ACCESS" in said(MAX_ACCESS=5)
    assert "MAX_SLOPE is given without DEM" in said(MAX_SLOPE=5)
    assert "choose “inside”" in said(SHORE=polygons(ROOF)) and "choose “left”" in said(SIDE="outside")
    assert "CORNERS needs polygons" in said(CORNERS=True)
    assert "ACCESS “candidates” holds nothing" in said(ACCESS=points())
    assert "holds no polygons" in said(KEEP_OUT=points((SHORE_X, MIDDLE_Y)))
    bow = [(SHORE_X, MIDDLE_Y), (SHORE_X + 100, MIDDLE_Y + 100), (SHORE_X + 100, MIDDLE_Y), (SHORE_X, MIDDLE_Y + 100)]
    assert "feature 1 crosses itself" in said(SHORE=lines(bow))
    crossed = f"POLYGON(({', '.join(f'{x} {y}' for x, y in [*bow, bow[0]])}))"
    assert "feature 1: its polygon is not valid" in said(SHORE=polygons(crossed), SIDE="inside")
    away = raster(tmp_path / "away.tif", np.zeros((10, 10), np.float32), SHORE_X + 50_000)
    assert "tells for no line" in said(SIDE="lower ground", DEM=away)
    assert "off the polygon" in said(SHORE=polygons(ROOF), CORNERS=True, SPACING=100, OFFSET=40)


@pytest.mark.parametrize("at", [1.0, 30.0, 85.0])
def test_cancel_leaves_nothing_behind(tmp_path, at):
    feedback, path = Feedback(cancel_at=at), tmp_path / "candidates.gpkg"
    assert run("shorecandidates", feedback, SHORE=f"{SAMPLE}/coast.gpkg|layername=shoreline", SIDE="left", SPACING=20,
               OUTPUT=str(path)) == {}
    assert "Cancelled" in feedback.log and not path.exists()
    assert feedback.progress == sorted(feedback.progress)


def test_across_180_degrees_the_row_goes_on(tmp_path):
    lat = -17.0
    ends = GEOD.fwd([180.0] * 2, [lat] * 2, [90.0, 270.0], [500.1, 500.1])
    made = candidates(SHORE=lines(np.stack(ends[:2], -1), crs="EPSG:4326"), SIDE="left", SPACING=100.0)
    lon, lat = lonlat(made)
    assert made.featureCount() == 11 and np.all(np.abs(lon) <= 180.0) and np.ptp(lon) > 359.0
    assert np.allclose(GEOD.inv(lon[:-1], lat[:-1], lon[1:], lat[1:])[2], 100.0, atol=0.02)
    path = tmp_path / "candidates.shp"
    candidates(SHORE=lines(NORTH), SIDE="left", OUTPUT=str(path))
    shape = QgsVectorLayer(str(path), "shape", "ogr")
    assert [f.name() for f in shape.fields()] == FIELDS and shape.featureCount() == 21
