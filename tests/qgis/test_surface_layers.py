"""The layers that tell where the surface is, as real ones are: with holes, other CRS, odd cells, invalid rings."""

import numpy as np
import pytest
from osgeo import gdal
from qgis.core import QgsPalettedRasterRenderer, QgsRasterLayer
from qgis.PyQt.QtGui import QColor
from scenes import (
    LAND,
    LAND_POLYGON,
    MIDDLE_Y,
    SEA,
    SEA_POLYGON,
    SHORE_X,
    Feedback,
    coast_cells,
    column,
    offshore,
    points,
    polygons,
    raster,
    rows,
    run,
)

pytestmark = pytest.mark.usefixtures("provider")

EVERY = {"AZIMUTH_STEP": 10}


def figures(feedback=None, site=-20.0, name="usable", **parameters):
    """Return one column of the sectors around a candidate near the shore."""
    table = rows(run("surfacequality", feedback or Feedback(), INPUT=offshore(site), **EVERY, **parameters)["OUTPUT"])
    return column(table, name)


def test_a_hole_in_the_land_cover_is_unknown_and_not_target(tmp_path):
    cells = coast_cells()
    cells[470:530, 530:560] = 255  # 60 to 120 m out, straight east
    holed = raster(tmp_path / "holed.tif", cells, nodata=255)
    table = rows(run("surfacequality", INPUT=offshore(10), LANDCOVER=holed, TARGET_CLASSES="80", **EVERY)["OUTPUT"])
    east, = (r for r in table if r["az_deg"] == 85)
    assert east["unknown"] > 0.1
    assert east["target"] + east["unknown"] == pytest.approx(1.0, abs=0.01)
    assert east["usable"] == pytest.approx(east["target"], abs=1e-6)
    assert "no data" in east["reason"]


def test_water_polygons_close_a_hole_in_the_land_cover(tmp_path):
    cells = coast_cells()
    cells[:, 500:800] = 255
    holed = raster(tmp_path / "holed.tif", cells, nodata=255)
    water = polygons(SEA_POLYGON)
    assert figures(LANDCOVER=holed, TARGET_CLASSES="80", WATER=water, site=50, name="unknown").max() == 0
    assert figures(LANDCOVER=holed, TARGET_CLASSES="80", WATER=water) == pytest.approx(
        figures(WATER=water), abs=0.02)


@pytest.mark.parametrize("crs", ["EPSG:4326", "EPSG:3857", "EPSG:3035", "EPSG:32623"])
def test_land_cover_in_another_crs_gives_the_same(coast, tmp_path, crs):
    warped = str(tmp_path / "warped.tif")
    gdal.Warp(warped, coast["LANDCOVER"], dstSRS=crs, resampleAlg="near", dstNodata=255)
    assert figures(LANDCOVER=warped, TARGET_CLASSES="80") == pytest.approx(figures(**coast), abs=0.03)


def test_a_rotated_raster_gives_the_same(coast, tmp_path):
    turn, cell = np.radians(30), 1.0
    origin = (SHORE_X - 500, MIDDLE_Y + 100)
    column_, row = np.meshgrid(np.arange(1000) + 0.5, np.arange(1000) + 0.5)
    x = origin[0] + cell * (np.cos(turn) * column_ + np.sin(turn) * row)
    cells = np.where(x < SHORE_X, LAND, SEA).astype(np.uint8)
    rotated = raster(tmp_path / "rotated.tif", cells, transform=(
        origin[0], cell * np.cos(turn), cell * np.sin(turn), origin[1], cell * np.sin(turn), -cell * np.cos(turn)))
    assert figures(LANDCOVER=rotated, TARGET_CLASSES="80") == pytest.approx(figures(**coast), abs=0.03)


def test_fine_cells_give_the_same_and_coarse_ones_are_told(coast, tmp_path):
    reference = figures(**coast)
    fine = raster(tmp_path / "fine.tif", coast_cells(0.25, 500), west=SHORE_X - 250, north=MIDDLE_Y + 250, cell=0.25)
    feedback = Feedback()
    assert figures(feedback, LANDCOVER=fine, TARGET_CLASSES="80") == pytest.approx(reference, abs=0.02)
    assert feedback.warnings == []
    coarse = raster(tmp_path / "coarse.tif", coast_cells(30, 2400), west=SHORE_X - 1200, north=MIDDLE_Y + 1200, cell=30)
    # the shore lies between two cells of 30 m, so the shares are the same here
    assert figures(feedback, LANDCOVER=coarse, TARGET_CLASSES="80") == pytest.approx(reference, abs=0.02)
    warning, = feedback.warnings
    assert "LANDCOVER" in warning and "30" in warning and "coarse" in warning


def test_polygons_agree_with_the_raster(coast):
    assert figures(WATER=polygons(SEA_POLYGON)) == pytest.approx(figures(**coast), abs=0.02)


def test_land_polygons_are_the_opposite_of_water():
    water = figures(WATER=polygons(SEA_POLYGON))
    land = figures(WATER=polygons(LAND_POLYGON), WATER_IS="land")
    assert land == pytest.approx(water, abs=1e-4)
    upside_down = figures(WATER=polygons(SEA_POLYGON), WATER_IS="land", site=20)
    assert upside_down == pytest.approx(1 - figures(WATER=polygons(SEA_POLYGON), site=20), abs=1e-4)


def test_an_island_in_the_water_is_land():
    # 40 m wide, 60 to 100 m out in the east
    holed = SEA_POLYGON[:-1] + ",(500360 4981980,500360 4982020,500400 4982020,500400 4981980,500360 4981980))"
    parameters = {"site": 300, "name": "target"}
    whole = figures(WATER=polygons(SEA_POLYGON), **parameters)
    with_island = figures(WATER=polygons(holed), **parameters)
    assert np.all(whole > 0.999)
    east = 8  # bin from 80 to 90°
    assert with_island[east] < 0.95
    assert with_island[26] > 0.999  # straight west


def test_a_bow_tie_is_repaired_and_the_log_says_so():
    # two triangles that meet at (500300, 4982000); the layer is invalid as it comes
    bow_tie = "POLYGON((500000 4981700,500600 4982300,500600 4981700,500000 4982300,500000 4981700))"
    feedback = Feedback()
    table = rows(run("surfacequality", feedback, INPUT=offshore(450), WATER=polygons(bow_tie, name="bays"),
                     AZIMUTH_STEP=10)["OUTPUT"])
    assert "WATER “bays”" in feedback.log and "repaired" in feedback.log
    target = column(table, "target")
    # the site stands in the middle of the eastern triangle: water all round for 100 m
    assert np.all(target > 0.99)
    outside = rows(run("surfacequality", INPUT=offshore(300), WATER=polygons(bow_tie), ANTENNA_HEIGHT=2,
                       AZIMUTH_STEP=10)["OUTPUT"])
    north, east = column(outside, "target")[0], column(outside, "target")[8]
    assert north < 0.05 and east > 0.9


def test_overlapping_water_polygons_count_once():
    other = "POLYGON((499990 4981900,500300 4981900,500300 4982100,499990 4982100,499990 4981900))"
    twice = polygons(SEA_POLYGON, other)
    values = figures(WATER=twice, site=100, name="target")
    assert values.max() <= 1.0 + 1e-6 and np.all(values > 0.999)


@pytest.mark.parametrize("sea_floor", ["empty", "flattened", "above"])
def test_a_dem_of_the_water_surface_never_overrules_water(tmp_path, coast, sea_floor):
    cells = np.full((1000, 1000), 3.0, np.float32)
    cells[:, 500:] = {"empty": -9999.0, "flattened": 0.0, "above": 1.7}[sea_floor]
    dem = raster(tmp_path / "dem.tif", cells, nodata=-9999)
    for told in (coast, {"WATER": polygons(SEA_POLYGON)}):
        for level in (-2, 1):
            feedback = Feedback()
            with_dem = figures(feedback, DEM=dem, LEVEL_LOW=level, LEVEL_HIGH=level, name="target", **told)
            without = figures(LEVEL_LOW=level, LEVEL_HIGH=level, name="target", **told)
            assert with_dem == pytest.approx(without, abs=1e-3)
            assert "drying out at low level was not checked" in feedback.log


def test_with_a_flattened_dem_alone_the_low_ground_is_water(tmp_path, coast):
    cells = np.full((1000, 1000), 3.0, np.float32)
    cells[:, 500:] = 0.0
    feedback = Feedback()
    alone = figures(feedback, DEM=raster(tmp_path / "dem.tif", cells), name="target")
    assert alone == pytest.approx(figures(name="target", **coast), abs=0.02)
    assert "Only the DEM tells where water is" in feedback.log


def test_low_ground_that_no_water_reaches_is_not_water(tmp_path):
    cells = np.full((1000, 1000), 3.0, np.float32)
    cells[475:525, 625:675] = -2.0  # a hollow of 100 m behind dunes, the site in its middle
    dem = raster(tmp_path / "hollow.tif", cells)
    assert figures(DEM=dem, DEM_WATER="bed", site=300).max() == 0
    assert figures(DEM=dem, DEM_WATER="bed", site=300, WATER=polygons(LAND_POLYGON)).max() == 0


def test_where_areas_to_avoid_overlap_the_larger_share_counts(coast):
    areas = polygons(SEA_POLYGON, SEA_POLYGON, rows=[["ferry", 0.25], ["moorings", 0.5]])
    table = rows(run("surfacequality", INPUT=offshore(), AVOID=areas, AVOID_FIELD="share", AVOID_NAME="name",
                     **EVERY, **coast)["OUTPUT"])
    for row in table:
        assert row["target"] == pytest.approx(1.0, abs=1e-4)
        # what spoils part of the time takes time, not ground
        assert row["avoid"] == pytest.approx(0.5, abs=1e-4) and row["usable"] == pytest.approx(1.0, abs=1e-4)
        assert row["busy"] == pytest.approx(0.5) and row["reason"] == "moorings, there 50 % of the time"
    ordered_otherwise = polygons(SEA_POLYGON, SEA_POLYGON, rows=[["moorings", 0.5], ["ferry", 0.25]])
    again = rows(run("surfacequality", INPUT=offshore(), AVOID=ordered_otherwise, AVOID_FIELD="share",
                     AVOID_NAME="name", **EVERY, **coast)["OUTPUT"])
    assert again == table


def test_without_a_share_an_area_is_spoiled_always(coast):
    areas = polygons(SEA_POLYGON, rows=[["berth", None]])
    for parameters in ({}, {"AVOID_FIELD": "share"}):
        assert figures(AVOID=areas, site=300, **parameters, **coast).max() == 0


def test_an_area_to_avoid_in_another_crs_lies_where_it_should(coast):
    import processing
    from qgis.core import QgsCoordinateReferenceSystem
    there = polygons("POLYGON((500340 4981900,500440 4981900,500440 4982100,500340 4982100,500340 4981900))")
    elsewhere = processing.run("native:reprojectlayer", {
        "INPUT": there, "TARGET_CRS": QgsCoordinateReferenceSystem("EPSG:4326"),
        "OUTPUT": "TEMPORARY_OUTPUT"})["OUTPUT"]
    one = figures(AVOID=there, site=300, name="avoid", **coast)
    assert one.max() > 0.15
    assert figures(AVOID=elsewhere, site=300, name="avoid", **coast) == pytest.approx(one, abs=0.002)


@pytest.mark.parametrize("label, said", [
    ("10 open pasture", "open pasture"), ("10: pasture", "pasture"), ("pasture", "pasture"),
    ("10", "land-cover class 10"),
    ("100 pastures", "100 pastures"), ("10.5 m pasture", "10.5 m pasture")])
def test_reasons_name_land_cover_as_the_layer_s_legend_does_without_its_number(provider, coast, label, said):
    layer = QgsRasterLayer(coast["LANDCOVER"], "cover")
    layer.setRenderer(QgsPalettedRasterRenderer(layer.dataProvider(), 1, [
        QgsPalettedRasterRenderer.Class(10, QColor("green"), label)]))
    row, = rows(run("rankcandidates", INPUT=points((SHORE_X - 60, MIDDLE_Y)), LANDCOVER=layer, TARGET_CLASSES="80",
                    ANTENNA_HEIGHT=5.0)["OUTPUT"])
    assert row["limit_by"].startswith(f"{said} from ") and f"past {said} from" in row["advice"]
