"""The algorithm `horizon`: wedges out to the skyline, wrong inputs, Cancel, any CRS, 180°, the sample scene."""

import numpy as np
import pytest
from pyproj import Geod, Transformer
from qgis.core import QgsDistanceArea, QgsProject, QgsVectorLayer, QgsWkbTypes
from scenes import (
    MIDDLE_Y,
    SAMPLE,
    SHORE_X,
    Feedback,
    column,
    points,
    polygons,
    raster,
    refusal,
    rows,
    run,
)

pytestmark = pytest.mark.usefixtures("provider")

FIELDS = ["site", "az_deg", "el_deg", "dist_m"]
GEOD = Geod(ellps="WGS84")
EARTH_M = 4 / 3 * 6_371_000.0
SITE = (SHORE_X, MIDDLE_Y)
MAP_SCALE = 0.9996


def elevation(height, dist):
    """Return the elevation angle of a height over the antenna [m] at a distance [m]."""
    return np.degrees(np.arctan((height - dist**2 / (2 * EARTH_M)) / dist))


@pytest.fixture(scope="module")
def wall(tmp_path_factory):
    """Give a flat DEM around the site, 4 km square, with a wall 80 m high 1000 m east."""
    heights = np.zeros((400, 400), np.float32)
    heights[:, 300] = 80.0
    return raster(tmp_path_factory.mktemp("wall") / "wall.tif", heights, SHORE_X - 2000, MIDDLE_Y + 2000, 10.0)


def horizon(feedback=None, source=None, **parameters):
    """Run over one site."""
    parameters = {"MAX_DISTANCE": 1900.0, "ANTENNA_HEIGHT": 5.0, **parameters}
    return run("horizon", feedback, INPUT=source or points(SITE), **parameters)["OUTPUT"]


def test_wedges_reach_out_to_the_wall_and_tell_its_angle(wall):
    feedback = Feedback()
    layer = horizon(feedback, DEM=wall)
    assert [field.name() for field in layer.fields()] == FIELDS and layer.wkbType() == QgsWkbTypes.Type.MultiPolygon
    table = rows(layer)
    assert [row["az_deg"] for row in table] == list(np.arange(2.5, 360, 5))
    for feature in layer.getFeatures():
        azimuth, dist = feature["az_deg"], 1005.0 / MAP_SCALE / np.sin(np.radians(feature["az_deg"]))
        assert feature.geometry().isGeosValid()
        if 40 < azimuth < 140:
            assert feature["el_deg"] == pytest.approx(elevation(75.0, dist), abs=0.03)
            assert feature["dist_m"] == pytest.approx(dist, abs=8.0)
        if 180 < azimuth < 360:
            assert feature["el_deg"] < 0.0
        area = np.pi * feature["dist_m"] ** 2 * 5 / 360 * MAP_SCALE**2
        assert feature.geometry().area() == pytest.approx(area, rel=0.002)
    assert feedback.warnings == [] and "names no unit" in feedback.log
    assert feedback.progress == sorted(feedback.progress)


@pytest.mark.parametrize("crs", ["EPSG:4326", "EPSG:3857"])
def test_any_crs_gives_the_same_angles_and_true_wedges(wall, crs):
    reference = rows(horizon(DEM=wall))
    x, y = Transformer.from_crs("EPSG:32624", crs, always_xy=True).transform(*SITE)
    lon, lat = Transformer.from_crs("EPSG:32624", "EPSG:4326", always_xy=True).transform(*SITE)
    layer = horizon(DEM=wall, source=points((x, y), crs=crs))
    assert layer.crs().authid() == crs
    np.testing.assert_allclose(column(rows(layer), "el_deg"), column(reference, "el_deg"), atol=0.001)
    back = Transformer.from_crs(crs, "EPSG:4326", always_xy=True)
    for feature in layer.getFeatures():
        far = back.transform(*np.array([[v.x(), v.y()] for v in feature.geometry().vertices()]).T)
        _azimuth, _back, dist = GEOD.inv(np.full(len(far[0]), lon), np.full(len(far[0]), lat), *far)
        assert dist.max() == pytest.approx(feature["dist_m"], rel=1e-3) and dist.min() < 0.01


def test_heights_from_ground_and_datum_lift_the_antenna(wall, tmp_path):
    high = raster(tmp_path / "high.tif", np.full((400, 400), -410.0, np.float32), SHORE_X - 2000, MIDDLE_Y + 2000, 10.0)
    below = rows(horizon(DEM=high, HEIGHT_REFERENCE="ground"))
    assert column(below, "el_deg").max() < 0.0
    datum = column(rows(horizon(DEM=wall, HEIGHT_REFERENCE="datum", ANTENNA_HEIGHT=60.0)), "el_deg")
    assert datum[18] == pytest.approx(elevation(20.0, 1006.0), abs=0.02)


def test_barriers_alone_give_rows_without_angle_where_nothing_stands(wall):
    feedback = Feedback()
    house = polygons(f"POLYGON(({SHORE_X + 50} {MIDDLE_Y - 30},{SHORE_X + 80} {MIDDLE_Y - 30},{SHORE_X + 80} "
                     f"{MIDDLE_Y + 30},{SHORE_X + 50} {MIDDLE_Y + 30},{SHORE_X + 50} {MIDDLE_Y - 30}))",
                     rows=[["house", 12.0]])
    layer = horizon(feedback, BARRIERS=house, BARRIER_HEIGHT="share", SURFACE_LEVEL=3.0)
    table = rows(layer)
    assert len(table) == 72
    east = next(row for row in table if row["az_deg"] == 92.5)
    assert east["dist_m"] == pytest.approx(50 / MAP_SCALE / np.cos(np.radians(2.5)), abs=0.02)
    assert east["el_deg"] == pytest.approx(elevation(7.0, east["dist_m"]), abs=0.001)
    west = next(row for row in table if row["az_deg"] == 272.5)
    assert west["el_deg"] is None and west["dist_m"] is None
    assert "nothing is known of the skyline in" in feedback.log
    assert sum(feature.hasGeometry() for feature in layer.getFeatures()) == sum(r["el_deg"] is not None for r in table)


def test_the_wider_model_serves_where_the_dem_ends(wall, tmp_path):
    feedback = Feedback()
    wide = np.zeros((300, 300), np.float32)
    wide[:, 200] = 500.0      # 5 km east
    wide[:, 145] = 900.0      # under the DEM: must not count
    far = raster(tmp_path / "wide.tif", wide, SHORE_X - 15_000, MIDDLE_Y + 15_000, 100.0)
    table = rows(horizon(feedback, DEM=wall, DEM_FAR=far, MAX_DISTANCE=12_000.0))
    east, west = table[18], table[54]
    assert east["el_deg"] == pytest.approx(elevation(495.0, 5052.0), abs=0.05) and east["dist_m"] > 4900
    assert west["el_deg"] < 0.1
    assert feedback.warnings == []


def test_a_dem_that_ends_too_soon_is_told_by_azimuth(wall):
    feedback = Feedback()
    horizon(feedback, source=points((SHORE_X + 500, MIDDLE_Y)), DEM=wall, MAX_DISTANCE=2200.0)
    text = next(text for text in feedback.warnings if "before MAX_DISTANCE" in text)
    assert "“1”" in text and "2200 m" in text
    # the rim is 1500 m east, so nearer than 2200 m from 43 to 137°; 2000 m north and south, to 25°; 2500 m west
    assert "45 to 135° (from 1500 m on)" in text and "155 to 205° (from 2000 m on)" in text and "335 to 25°" in text


def test_sites_without_data_and_antennas_below_ground_are_named(wall, tmp_path):
    heights = np.full((400, 400), 20.0, np.float32)
    heights[200:210, 200:210] = -9999.0
    holed = raster(tmp_path / "holed.tif", heights, SHORE_X - 2000, MIDDLE_Y + 2000, 10.0, nodata=-9999.0)
    feedback = Feedback()
    source = points((SHORE_X + 20, MIDDLE_Y - 20), (SHORE_X + 500, MIDDLE_Y))
    table = rows(horizon(feedback, source=source, DEM=holed))
    assert "no data at the very site of “1”" in feedback.log
    assert "“2” is not assessed: the antenna is 15.00 m below the ground that the elevation model shows" in feedback.log
    assert {row["site"] for row in table} == {"1"} and table[0]["el_deg"] > 0
    feedback = Feedback()
    table = rows(horizon(feedback, source=source, DEM=holed, HEIGHT_REFERENCE="ground"))
    assert "“1” is not assessed: the DEM has no data at the site" in feedback.log
    assert {row["site"] for row in table} == {"2"}
    assert "None of the 1 candidates" in refusal("horizon", INPUT=points((SHORE_X + 500, MIDDLE_Y)), DEM=holed)


def test_a_dem_in_feet_is_refused(wall, tmp_path):
    from osgeo import gdal
    path = raster(tmp_path / "feet.tif", np.zeros((100, 100), np.float32), SHORE_X - 500, MIDDLE_Y + 500, 10.0)
    dataset = gdal.Open(path, gdal.GA_Update)
    dataset.GetRasterBand(1).SetUnitType("US survey foot")
    dataset = None
    text = refusal("horizon", INPUT=points(SITE), DEM=path)
    assert "feet.tif" in text or "feet" in text
    assert "US survey foot" in text and "metres" in text
    vertical = raster(tmp_path / "vertical.tif", np.zeros((100, 100), np.float32), SHORE_X - 500, MIDDLE_Y + 500, 10.0,
                      crs="EPSG:32624+6360")
    assert "US survey foot" in refusal("horizon", INPUT=points(SITE), DEM=wall, DEM_FAR=vertical)


def test_wrong_inputs_are_refused_and_say_what_to_do(wall, tmp_path):
    site = points(SITE)
    assert "Give DEM, DEM_FAR or BARRIERS" in refusal("horizon", INPUT=site)
    assert "MAX_DISTANCE is 0 m" in refusal("horizon", INPUT=site, DEM=wall, MAX_DISTANCE=0)
    assert "MAX_DISTANCE" in refusal("horizon", INPUT=site, DEM=wall, MAX_DISTANCE=-5)
    assert "360" in refusal("horizon", INPUT=site, DEM=wall, AZIMUTH_STEP=7)
    away = points((SHORE_X + 90_000, MIDDLE_Y))
    text = refusal("horizon", INPUT=away, DEM=wall)
    assert "no data within 20000 m" in text and "wall" in text
    house = f"POLYGON(({SHORE_X} {MIDDLE_Y},{SHORE_X + 8} {MIDDLE_Y},{SHORE_X} {MIDDLE_Y + 8},{SHORE_X} {MIDDLE_Y}))"
    assert "needs BARRIER_HEIGHT" in refusal("horizon", INPUT=site, BARRIERS=polygons(house))
    assert "BARRIER_HEIGHT is given without BARRIERS" in refusal("horizon", INPUT=site, DEM=wall,
                                                                 BARRIER_HEIGHT="share")
    for value, told in ((None, "missing"), (-3.0, "“-3.0”")):
        areas = polygons(house, house, rows=[["fine", 4.0], ["bad", value]], name="sheds")
        text = refusal("horizon", INPUT=site, BARRIERS=areas, BARRIER_HEIGHT="share")
        assert "“sheds”, feature 2" in text and told in text and "0 or more" in text
    damaged = tmp_path / "damaged.tif"
    damaged.write_bytes(b"II*\0nothing")
    assert "damaged" in refusal("horizon", INPUT=site, DEM=str(damaged))
    assert "None of the 1 candidates" in refusal("horizon", INPUT=points(None), DEM=wall)


@pytest.mark.parametrize("at", [1.0, 20.0, 75.0])
def test_cancel_leaves_nothing_behind(wall, tmp_path, at):
    feedback = Feedback(cancel_at=at)
    path = tmp_path / "mask.gpkg"
    source = points(*[(SHORE_X + 10 * i, MIDDLE_Y) for i in range(20)])
    assert run("horizon", feedback, INPUT=source, DEM=wall, MAX_DISTANCE=1500.0, OUTPUT=str(path)) == {}
    assert "Cancelled" in feedback.log and not path.exists()


def test_across_180_degrees_wedges_are_split(tmp_path):
    heights = np.zeros((800, 800), np.float32)
    heights[:, 500] = 100.0
    lon, lat, cell = 180.0, -17.0, 0.0001
    dem = raster(tmp_path / "date.tif", heights, crs="EPSG:4326",
                 transform=(lon - 400.5 * cell, cell, 0.0, lat + 400.5 * cell, 0.0, -cell))
    layer = horizon(source=points((180.0, lat), crs="EPSG:4326"), DEM=dem, MAX_DISTANCE=4000.0)
    measure = QgsDistanceArea()
    measure.setSourceCrs(layer.crs(), QgsProject.instance().transformContext())
    measure.setEllipsoid("EPSG:7030")
    east = 0
    for feature in layer.getFeatures():
        geometry = feature.geometry()
        assert geometry.isGeosValid()
        assert all(part.boundingBox().width() < 1.0 for part in geometry.asGeometryCollection())
        assert measure.measureArea(geometry) == pytest.approx(np.pi * feature["dist_m"] ** 2 / 72, rel=0.003)
        east += 60 < feature["az_deg"] < 120 and feature["el_deg"] > 3.0
    assert east == 12


def test_the_shut_cove_lies_under_its_cliffs_and_the_pier_head_does_not():
    """The sample scene: a cove under 65 m cliffs, open in the south-south-west; a pier with open water around."""
    coast = QgsVectorLayer(f"{SAMPLE}/coast.gpkg|layername=candidates", "candidates", "ogr")
    coast.setSubsetString("\"name\" IN ('Shut cove', 'Pier head')")
    layer = run("horizon", INPUT=coast, SITE_FIELD="name", HEIGHT_FIELD="height_m", HEIGHT_REFERENCE="ground",
                DEM=f"{SAMPLE}/elevation.tif", MAX_DISTANCE=3000.0)["OUTPUT"]
    table = rows(layer)
    cove = {row["az_deg"]: row["el_deg"] for row in table if row["site"] == "Shut cove"}
    pier = [row["el_deg"] for row in table if row["site"] == "Pier head"]
    assert sum(angle > 20 for angle in cove.values()) > 50
    mouth = [azimuth for azimuth, angle in cove.items() if angle < 5]
    assert mouth and all(180 < azimuth < 235 for azimuth in mouth)
    assert np.median(pier) < 5.0


def test_a_shapefile_keeps_fields_and_rows(wall, tmp_path):
    path = tmp_path / "mask.shp"
    run("horizon", INPUT=points(SITE), DEM=wall, MAX_DISTANCE=1500.0, OUTPUT=str(path))
    layer = QgsVectorLayer(str(path), "mask", "ogr")
    assert [field.name() for field in layer.fields()] == FIELDS and layer.featureCount() == 72
    assert column(rows(layer), "el_deg")[18] == pytest.approx(elevation(75.0, 1006.4), abs=0.03)
