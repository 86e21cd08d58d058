"""The algorithm `waterfromshore`: areas by geodesics, the sample coast, islands and ponds, wrong inputs, 180°."""

import re

import numpy as np
import pytest
from pyproj import Geod, Transformer
from qgis.core import QgsGeometry, QgsPointXY, QgsRectangle, QgsVectorLayer, QgsWkbTypes
from scenes import MIDDLE_Y, SAMPLE, SHORE_X, UTM, Feedback, layer, raster, refusal, rows, run

pytestmark = pytest.mark.usefixtures("provider")

GEOD = Geod(ellps="WGS84")
REACH = 300.0
SHORELINE = f"{SAMPLE}/coast.gpkg|layername=shoreline"
WORLD_MAP = "/usr/share/qgis/resources/data/world_map.gpkg|layername=countries"


def lines(*shapes, **options):
    """Make a layer of lines from lists of (x, y) or well-known texts."""
    texts = [s if isinstance(s, str) else "LINESTRING(" + ",".join(f"{x!r} {y!r}" for x, y in s) + ")" for s in shapes]
    return layer("LineString", texts, name="coastline", **options)


def water(feedback=None, **parameters):
    """Run it and give its features."""
    parameters = {"SIDE": "left", "REACH": REACH, **parameters}
    return list(run("waterfromshore", feedback, **parameters)["OUTPUT"].getFeatures())


def true_area(geometry, crs=UTM) -> float:
    """Return the geodesic area [m²] (pyproj.Geod)."""
    back = Transformer.from_crs(crs, "EPSG:4326", always_xy=True)
    total = 0.0
    for part in geometry.asGeometryCollection():
        if QgsWkbTypes.geometryType(part.wkbType()) != QgsWkbTypes.GeometryType.PolygonGeometry:
            continue
        for number, ring in enumerate(part.asPolygon()):
            lon, lat = back.transform(*np.array([[p.x(), p.y()] for p in ring]).T)
            total += (-1 if number else 1) * abs(GEOD.polygon_area_perimeter(lon, lat)[0])
    return total


def circle(x, y, radius, clockwise=False, number=360):
    """Return a closed ring."""
    angle = np.linspace(0, 2 * np.pi, number + 1)
    points = [(float(x + radius * np.cos(a)), float(y + radius * np.sin(a))) for a in angle[:-1]]
    points.append(points[0])
    return points[::-1] if clockwise else points


def north_going(x=SHORE_X):
    """A straight shore of 1000 m to the north, water to the left: west."""
    return [(x, MIDDLE_Y - 500.0), (x, MIDDLE_Y + 500.0)]


def test_the_water_of_a_straight_shore_is_a_band_with_round_ends_on_the_given_side():
    for side, sign in (("left", -1), ("right", 1)):
        feature, = water(SHORE=lines(north_going()), SIDE=side)
        length = 1000.0 / 0.9996
        # a rectangle and two quarter discs, on the ground
        assert true_area(feature.geometry()) == pytest.approx(length * REACH + np.pi * REACH**2 / 2, rel=1e-3)
        assert feature["kind"] == "open" and feature["length_m"] == pytest.approx(length, rel=1e-4)
        assert feature.geometry().wkbType() == QgsWkbTypes.Type.MultiPolygon and feature.geometry().isGeosValid()
        x = [v.x() - SHORE_X for v in feature.geometry().vertices()]
        assert min(np.array(x) * sign) > -1e-3 and max(np.array(x) * sign) == pytest.approx(REACH * 0.9996, rel=1e-4)


@pytest.mark.parametrize("crs, lat", [("EPSG:4326", 0.0), ("EPSG:4326", 70.0), ("EPSG:3857", 70.0)])
def test_the_reach_is_true_metres_at_any_latitude_and_in_any_crs(crs, lat):
    lon, lat_end, _ = GEOD.fwd(10.0, lat, 30.0, 1000.0)
    x, y = Transformer.from_crs("EPSG:4326", crs, always_xy=True).transform([10.0, lon], [lat, lat_end])
    feature, = water(SHORE=lines(list(zip(x, y)), crs=crs))
    assert true_area(feature.geometry(), crs) == pytest.approx(1000.0 * REACH + np.pi * REACH**2 / 2, rel=1e-3)
    assert feature["length_m"] == pytest.approx(1000.0, abs=0.01)


def test_the_sample_shoreline_gives_back_the_sample_s_sea_and_lake():
    features = water(SHORE=SHORELINE, REACH=2500.0)
    assert [f["kind"] for f in features] == ["open", "ring"]
    extent = QgsRectangle(498500, 4981500, 501500, 4984500)
    ours = QgsGeometry.unaryUnion([f.geometry() for f in features]).clipped(extent)
    sample = QgsVectorLayer(f"{SAMPLE}/coast.gpkg|layername=water", "water", "ogr")
    theirs = QgsGeometry.unaryUnion([f.geometry() for f in sample.getFeatures()])
    assert ours.symDifference(theirs).area() < 1.0 and ours.area() > 4e6
    # beyond the extent the sea is whole: its only holes are islands, and its rim lies at the reach or on land
    holes = [QgsGeometry.fromPolygonXY([ring]) for ring in features[0].geometry().asMultiPolygon()[0][1:]]
    assert holes and all(extent.contains(hole.boundingBox()) for hole in holes)
    coast = QgsVectorLayer(SHORELINE, "shoreline", "ogr")
    shore = QgsGeometry.unaryUnion([f.geometry() for f in coast.getFeatures()])
    far = [v for v in features[0].geometry().vertices() if v.y() < 4_981_000]
    dist = [QgsGeometry.fromPointXY(QgsPointXY(v.x(), v.y())).distance(shore) for v in far]
    assert len(dist) > 20 and dist == pytest.approx([2500.0 * 0.9996] * len(dist), rel=2e-3)


def test_pieces_out_of_order_and_gaps_within_snap_make_the_same_water():
    pieces = [[(SHORE_X, MIDDLE_Y + y), (SHORE_X, MIDDLE_Y + y + 99.5)] for y in range(-500, 500, 100)]
    feature, = water(SHORE=lines(*(pieces[::2] + pieces[1::2])))
    whole, = water(SHORE=lines(north_going()))
    assert feature.geometry().symDifference(whole.geometry()).area() < 1e-3 * whole.geometry().area()


def test_a_ring_is_a_pond_or_an_island_by_its_direction():
    feature, = water(SHORE=lines(circle(SHORE_X, MIDDLE_Y, 1000.0)))
    assert feature["kind"] == "ring"  # closed by shore, though wider than the reach
    assert true_area(feature.geometry()) == pytest.approx(np.pi * (1000.0 / 0.9996) ** 2, rel=1e-3)
    assert feature["length_m"] == pytest.approx(2 * np.pi * 1000.0 / 0.9996, rel=1e-3)
    feature, = water(SHORE=lines(circle(SHORE_X, MIDDLE_Y, 100.0, clockwise=True)))
    assert feature["kind"] == "open"
    radius = 100.0 / 0.9996
    assert true_area(feature.geometry()) == pytest.approx(np.pi * ((radius + REACH) ** 2 - radius**2), rel=1e-3)


def test_an_island_before_the_shore_becomes_a_hole_and_a_pond_behind_it_water():
    island, pond = circle(SHORE_X - 100, MIDDLE_Y, 50.0, clockwise=True), circle(SHORE_X + 100, MIDDLE_Y, 50.0)
    features = water(SHORE=lines(north_going(), island, pond))
    disc = np.pi * (50.0 / 0.9996) ** 2
    shapes = {f["kind"]: f.geometry() for f in features}
    assert len(features) == 2 and true_area(shapes["ring"]) == pytest.approx(disc, rel=1e-3)
    hole = QgsGeometry.fromPolygonXY([shapes["open"].asMultiPolygon()[0][1]])
    assert true_area(hole) == pytest.approx(disc, rel=1e-3)
    assert hole.contains(QgsGeometry.fromPointXY(QgsPointXY(SHORE_X - 100, MIDDLE_Y)))
    assert shapes["open"].boundingBox().xMaximum() < SHORE_X + 1e-3  # nothing around the pond


def test_a_strait_is_closed_by_its_other_shore_and_land_beyond_stays_land():
    other = [(SHORE_X - 100, MIDDLE_Y + 500.0), (SHORE_X - 100, MIDDLE_Y - 500.0)]
    feature, = water(SHORE=lines(north_going(), other))
    box = feature.geometry().boundingBox()
    assert (box.xMinimum(), box.xMaximum()) == pytest.approx((SHORE_X - 100, SHORE_X), abs=0.01)


def test_lower_ground_turns_each_line_for_itself(tmp_path):
    heights = np.full((1000, 1000), 5.0, np.float32)
    heights[:, :500] = -3.0  # the west lies lower
    dem = raster(tmp_path / "dem.tif", heights)
    pieces = [[(SHORE_X, MIDDLE_Y), (SHORE_X, MIDDLE_Y + 500)], [(SHORE_X, MIDDLE_Y), (SHORE_X, MIDDLE_Y - 500)]]
    feature, = water(SHORE=lines(*pieces), SIDE="lower ground", DEM=dem)
    whole, = water(SHORE=lines(north_going()))
    assert feature.geometry().symDifference(whole.geometry()).area() < 1.0
    assert "run against each other" in refusal("waterfromshore", SHORE=lines(*pieces), SIDE="left", REACH=REACH)
    assert "needs DEM" in refusal("waterfromshore", SHORE=lines(*pieces), SIDE="lower ground")
    level = raster(tmp_path / "level.tif", np.full((1000, 1000), 5.0, np.float32))
    assert "tells for no line" in refusal("waterfromshore", SHORE=lines(*pieces), SIDE="lower ground", DEM=level)
    feedback = Feedback()
    heights[:500] = -9999.0
    holed = raster(tmp_path / "holed.tif", heights, nodata=-9999.0)
    far = [(SHORE_X, MIDDLE_Y + 700), (SHORE_X, MIDDLE_Y + 900)]
    feature, = water(feedback, SHORE=lines(pieces[1], far), SIDE="lower ground", DEM=holed)
    assert "Feature(s) 2: the DEM has no data on both sides" in feedback.log
    assert feature["length_m"] == pytest.approx(500.2, abs=0.01)


def test_rings_that_do_not_close_are_named():
    feedback = Feedback()
    gap = circle(SHORE_X, MIDDLE_Y, 200.0)[:-1]
    feature, = water(feedback, SHORE=lines(gap))  # the last 3.5 m are missing
    text, = feedback.warnings
    assert "the ends of feature 1 do not meet but end 3.49 m apart" in text and "-38.99" in text
    assert feature["kind"] == "ring"
    feedback = Feedback()
    features = water(feedback, SHORE=lines(circle(SHORE_X, MIDDLE_Y, 200.0)[:-10]))
    assert "feature 1 look like a ring that does not close: the ends lie 34.9 m apart" in feedback.warnings[0]
    assert {f["kind"] for f in features} == {"open"}


def test_a_line_drawn_twice_is_left_out_and_one_the_wrong_way_round_is_told():
    feedback = Feedback()
    feature, = water(feedback, SHORE=lines(north_going(), north_going()[::-1]))
    assert "feature 2 is the same line as feature 1" in feedback.log and feature["length_m"] == pytest.approx(1000.4)
    feedback = Feedback()
    wrong = north_going(SHORE_X - 100.0)  # this has water to its west too: land between contradicts
    water(feedback, SHORE=lines(north_going(), wrong))
    assert "contradict each other" in feedback.log


def test_across_180_degrees_the_water_is_split():
    lat = -17.0
    east, west = GEOD.fwd([180.0] * 2, [lat] * 2, [90.0, 270.0], [500.0, 500.0])[0]
    feature, = water(SHORE=lines([(float(east), lat), (float(west), lat)], crs="EPSG:4326"))
    geometry = feature.geometry()
    assert geometry.isGeosValid() and len(geometry.asGeometryCollection()) == 2
    assert all(part.boundingBox().width() < 0.1 for part in geometry.asGeometryCollection())
    assert true_area(geometry, "EPSG:4326") == pytest.approx(1000 * REACH + np.pi * REACH**2 / 2, rel=1e-3)
    # drawn in two pieces that end at the cut of the map, with an island on it
    ring = GEOD.fwd([180.0] * 37, [lat - 0.001] * 37, np.arange(37) * 10.0, [40.0] * 37)
    island = list(zip(np.round(ring[0], 9).tolist(), np.round(ring[1], 9).tolist()))
    island[-1] = island[0]
    feature, = water(SHORE=lines([(float(east), lat), (-180.0, lat)], [(180.0, lat), (float(west), lat)], island,
                                 crs="EPSG:4326"))
    outer = 1000 * REACH + np.pi * REACH**2 / 2
    assert feature.geometry().isGeosValid()
    assert not feature.geometry().contains(QgsGeometry.fromPointXY(QgsPointXY(179.9999, lat - 0.001)))
    assert feature["length_m"] == pytest.approx(1000 + 2 * np.pi * 40, rel=2e-3)
    assert true_area(feature.geometry(), "EPSG:4326") > outer - np.pi * 40**2


def test_a_real_coast_of_openly_licensed_data_gives_the_sea_around_it():
    """Natural Earth's Iceland (public domain), as QGIS ships it: its outlines as lines, land to be left dry."""
    countries = QgsVectorLayer(WORLD_MAP, "countries", "ogr")
    name = next((f.name() for f in countries.fields() if f.name().lower() in ("name", "admin")), None)
    countries.setSubsetString(f"\"{name}\" = 'Iceland'")
    land = next(countries.getFeatures()).geometry()
    rings = [[(p.x(), p.y()) for p in polygon[0]] for polygon in land.asMultiPolygon()]
    turned = [r if sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(r, r[1:])) < 0 else r[::-1] for r in rings]
    pieces = [ring[k:k + 20] for ring in turned for k in range(0, len(ring) - 1, 19)]
    features = water(SHORE=lines(*pieces, crs="EPSG:4326"), REACH=10_000.0)
    sea = QgsGeometry.unaryUnion([f.geometry() for f in features])
    assert all(f.geometry().isGeosValid() for f in features)
    assert true_area(sea.intersection(land), "EPSG:4326") < 1e-4 * true_area(land, "EPSG:4326")
    assert true_area(sea, "EPSG:4326") > 1000e3 * 10e3


def test_wrong_inputs_are_refused_and_say_what_to_do():
    shore = lines(north_going())
    for reach in (0, -5):
        assert "REACH" in refusal("waterfromshore", SHORE=shore, REACH=reach)
    assert "SNAP" in refusal("waterfromshore", SHORE=shore, SNAP=-1)
    assert "has no lines" in refusal("waterfromshore", SHORE=lines())
    assert "has no lines" in refusal("waterfromshore", SHORE=layer("LineString", [None]))
    bow = f"LINESTRING({SHORE_X} {MIDDLE_Y},{SHORE_X + 100} {MIDDLE_Y + 100},{SHORE_X + 100} {MIDDLE_Y},"\
          f"{SHORE_X} {MIDDLE_Y + 100})"
    text = refusal("waterfromshore", SHORE=lines(north_going(SHORE_X - 5000), bow))
    lon, lat = Transformer.from_crs(UTM, "EPSG:4326", always_xy=True).transform(SHORE_X + 50, MIDDLE_Y + 50)
    assert "feature 2 crosses itself" in text
    told = [float(number) for number in re.search(r"at (\S+)°, (\S+)°", text).groups()]
    assert told == pytest.approx([lon, lat], abs=2e-6)
    across = [(SHORE_X - 50, MIDDLE_Y), (SHORE_X + 50, MIDDLE_Y)]
    assert "features 1 and 2 cross" in refusal("waterfromshore", SHORE=lines(north_going(), across))
    assert "Clip it" in refusal("waterfromshore", SHORE=lines([(0, 0), (40, 0)], crs="EPSG:4326"))


@pytest.mark.parametrize("at", [1.0, 20.0, 75.0])
def test_cancel_leaves_nothing_behind(tmp_path, at):
    feedback, path = Feedback(cancel_at=at), tmp_path / "water.gpkg"
    assert run("waterfromshore", feedback, SHORE=SHORELINE, SIDE="left", REACH=REACH, OUTPUT=str(path)) == {}
    assert "Cancelled" in feedback.log and not path.exists()


def test_fields_survive_a_shapefile(tmp_path):
    path = tmp_path / "water.shp"
    run("waterfromshore", SHORE=lines(north_going()), SIDE="left", REACH=REACH, OUTPUT=str(path))
    made = QgsVectorLayer(str(path), "water", "ogr")
    assert [f.name() for f in made.fields()] == ["kind", "length_m"] and made.crs().authid() == UTM
    assert rows(made)[0]["kind"] == "open"
