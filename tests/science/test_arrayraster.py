"""A raster in memory gives what rasterio and GDAL read from a GeoTIFF of the same cells, to the last digit."""

import numpy as np
import pytest
from pyproj import CRS
from stillwater.siting.assess import assess
from stillwater.siting.errors import InputError
from stillwater.siting.geometry.fresnel import first_zone
from stillwater.siting.geometry.localframe import crs_from_text
from stillwater.siting.ground.arrayraster import ArrayRaster
from stillwater.siting.ground.checks import check_dem_unit, check_raster
from stillwater.siting.ground.classes import parse_classes
from stillwater.siting.ground.inflow import Inflow
from stillwater.siting.ground.polargrid import choose_grid
from stillwater.siting.ground.rasters import HeldRaster, Raster
from stillwater.siting.ground.rastersampling import RasterSampler
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.settings import Settings
from stillwater.siting.sight.looking import SightLayers
from stillwater.siting.sight.terrain import Terrain
from stillwater.siting.sight.tiles import Tiles
from stillwater.siting.signals import wavelength_m

UTM, EAST, NORTH = "EPSG:32633", 500_000.0, 4_980_000.0
L1 = wavelength_m("GPS L1")
ROWS, COLS = 70, 90
AFFINES = {
    "north up": (EAST - 93.0, 2.0, 0.0, NORTH + 71.0, 0.0, -2.0),
    "north down": (EAST - 93.0, 2.0, 0.0, NORTH - 71.0, 0.0, 2.0),
    "turned by 36.87°": (EAST - 120.0, 1.6, 1.2, NORTH + 5.0, 1.2, -1.6),
    "oblong cells": (EAST - 93.0, 2.0, 0.0, NORTH + 50.0, 0.0, -1.25),
}
BOXES = [(0, ROWS, 0, COLS), (3, 17, 5, 60), (ROWS - 1, ROWS, COLS - 1, COLS), (-5, 3, COLS - 2, COLS + 9),
         (0, 5, COLS, COLS + 3), (-9, -2, 0, 5)]


def cells_of(kind):
    """Make cells of a kind, some of them without data: the array and its value for those."""
    rng = np.random.default_rng(11)
    holes = rng.random((ROWS, COLS)) < 0.1
    if kind == "classes":
        cells, nodata = rng.integers(0, 9, (ROWS, COLS)).astype(np.uint8), 255
    elif kind == "whole":
        cells, nodata = rng.integers(-300, 300, (ROWS, COLS)).astype(np.int16), -32768
    else:
        cells, nodata = rng.normal(0.0, 3.0, (ROWS, COLS)).astype(kind), -9999.0
        cells[2, 3], cells[4, 5] = np.nan, np.inf
    cells[holes] = nodata
    return cells, nodata


KINDS = ["classes", "whole", "float32", "float64"]


@pytest.fixture(params=KINDS)
def pair(request, write_raster):
    """Give a function that makes a GeoTIFF and an array of the same cells."""
    def make(affine=AFFINES["north up"], with_nodata=True):
        cells, nodata = cells_of(request.param)
        nodata = nodata if with_nodata else None
        return write_raster(cells, affine=affine, nodata=nodata), ArrayRaster(cells, affine, UTM, nodata)
    return make


def assert_same(one, other):
    """Hold two windows to the same cells of the same type at the same place."""
    assert one.values.dtype == other.values.dtype and one[2:] == other[2:]
    np.testing.assert_array_equal(one.values, other.values)
    np.testing.assert_array_equal(one.valid, other.valid)


@pytest.mark.parametrize("with_nodata", [True, False])
@pytest.mark.parametrize("box", BOXES)
@pytest.mark.parametrize("thinning", [1, 3])
def test_windows_are_those_of_the_file(pair, box, thinning, with_nodata):
    file, array = pair(with_nodata=with_nodata)
    assert_same(file.read(*box, thinning), array.read(*box, thinning))


@pytest.mark.parametrize("affine", AFFINES.values(), ids=AFFINES)
def test_it_lies_where_the_file_lies(pair, affine):
    file, array = pair(affine)
    assert array.shape == file.shape and array.affine == pytest.approx(file.affine, abs=1e-9)
    assert CRS.from_user_input(array.crs) == CRS.from_wkt(file.crs)
    assert array.overviews == file.overviews == () and array.unit == file.unit == ""
    x, y = EAST + np.linspace(-200, 200, 41), NORTH + np.linspace(150, -150, 41)
    for wanted, found in zip(file.pixel_of(x, y), array.pixel_of(x, y)):
        np.testing.assert_array_equal(found, wanted)
    assert_same(file.thin_overview(20), array.thin_overview(20))


@pytest.mark.parametrize("affine", AFFINES.values(), ids=AFFINES)
def test_spots_around_a_site_take_the_same_cells(pair, affine, middle_lonlat):
    grid = choose_grid(first_zone(5.0, np.arange(5.0, 21.0), L1), 2.0, 72)
    file, array = (RasterSampler(one, *middle_lonlat, grid.edges_m[-1]) for one in pair(affine))
    assert file.cell_m(0) == array.cell_m(0)
    for wanted, found in ((file.sample_grid(0, grid), array.sample_grid(0, grid)),
                          (file.surroundings(0, 1.0), array.surroundings(0, 1.0))):
        assert wanted[1].any() and not wanted[1].all()
        for one, other in zip(wanted, found):
            np.testing.assert_array_equal(one, other)
    assert str(file.between_cells(0)) == str(array.between_cells(0))


def test_the_skyline_its_tiles_and_the_inflow_are_the_same(write_raster, middle_lonlat):
    cells, nodata = cells_of("float32")
    file, array = write_raster(cells, affine=AFFINES["north up"], nodata=nodata), ArrayRaster(
        cells, AFFINES["north up"], UTM, nodata)
    bins = np.arange(2.5, 360.0, 5.0)
    lines = [Terrain(one, max_distance_m=300.0, lon=middle_lonlat[0], lat=middle_lonlat[1]).skyline(0, 1.0, bins)
             for one in (file, array)]
    assert np.isfinite(lines[0].el_deg).all()
    for wanted, found in zip(*lines):
        np.testing.assert_array_equal(found, wanted)
    row, col = np.mgrid[-2:ROWS + 2, -2:COLS + 2]
    np.testing.assert_array_equal(Tiles(array).values(row, col), Tiles(file).values(row, col))
    np.testing.assert_array_equal(Inflow(array).spill_m(col, row), Inflow(file).spill_m(col, row))


def test_a_site_is_assessed_to_the_same_shares(write_raster, candidate, middle_lonlat):
    """An island of 15 m in the sea: land in the cover, dry in the bed, and a skyline."""
    bed = np.full((200, 200), -5.0, np.float32)
    bed[60:90, 120:150] = 15.0
    cover = np.where(bed > 0, 7, 80).astype(np.uint8)
    affine = (EAST - 200.0, 2.0, 0.0, NORTH + 200.0, 0.0, -2.0)
    made = []
    for open_raster in (lambda name, *one: write_raster(*one, affine=affine, name=name),
                        lambda name, *one: ArrayRaster(*one, affine, UTM)):
        dem, classes = open_raster("dem.tif", bed), open_raster("cover.tif", cover)
        layers = SurfaceLayers(landcover=classes, classes=parse_classes("80"), dem=dem, dem_is_bed=True)
        sight = SightLayers(dem, None, Terrain(dem, lon=middle_lonlat[0], lat=middle_lonlat[1]), False)
        (_index, found), = assess([candidate(5.0)], layers, Settings(L1, (5.0, 8.0, 12.0)), sight=sight)
        made.append(found)
    file, array = made
    assert file.share.min() < 0.1 and file.share.max() > 0.9 and np.isfinite(file.skyline_deg).any()
    np.testing.assert_array_equal(array.share, file.share)
    np.testing.assert_array_equal(array.skyline_deg, file.skyline_deg)


def test_the_checks_of_layers_say_the_same(write_raster, middle_lonlat):
    cells, _nodata = cells_of("classes")
    far_off = (EAST + 50_000.0, 2.0, 0.0, NORTH, 0.0, -2.0)
    said = []
    for one in (write_raster(cells, affine=far_off), ArrayRaster(cells, far_off, UTM, name="raster.tif")):
        with pytest.raises(InputError) as told:
            check_raster(one, "LANDCOVER", *middle_lonlat, np.array([100.0]), 1.0, parse_classes("5"))
        said.append(str(told.value))
    assert said[0] == said[1] and "has no data around any" in said[0]


def test_unit_and_names_of_classes_are_kept():
    array = ArrayRaster(np.zeros((2, 2)), AFFINES["north up"], UTM, unit="foot", category_names={3: "reed"}, name="bed")
    with pytest.raises(InputError, match="DEM “bed” holds heights in “foot”"):
        check_dem_unit(array, "DEM")
    again = array.reopened()
    assert again.category_names == {3: "reed"} and (again.unit, again.name) == ("foot", "bed")
    again.category_names[4] = "sand"
    assert array.category_names == {3: "reed"}, "what is reopened is its own"


@pytest.mark.parametrize("crs", [UTM, CRS.from_epsg(32633).to_wkt()], ids=["code", "WKT"])
def test_reopened_and_held_it_gives_the_same_windows(crs):
    cells, nodata = cells_of("float32")
    array = ArrayRaster(cells, AFFINES["north up"], crs, nodata)
    assert crs_from_text(array.crs) == CRS.from_epsg(32633)
    for other in (array.reopened(), HeldRaster(array), array.reopened().reopened()):
        assert isinstance(other, Raster) and other is not array
        for box in BOXES:
            assert_same(array.read(*box), other.read(*box))


def test_cells_stay_as_they_were_given():
    cells = np.zeros((4, 5), np.float32)
    array = ArrayRaster(cells, AFFINES["north up"], UTM)
    cells[:] = 9.0
    window = array.read(0, 4, 0, 5)
    assert not window.values.any()
    window.values[:], window.valid[:] = 7.0, False
    assert not array.read(0, 4, 0, 5).values.any() and array.read(0, 4, 0, 5).valid.all()


@pytest.mark.parametrize("cells", [np.zeros(3), np.zeros((2, 2, 2)), np.zeros((0, 4)), [["a", "b"]], [[1j]]])
def test_what_is_no_table_of_numbers_is_refused(cells):
    with pytest.raises(InputError, match="“bed” needs a table of numbers"):
        ArrayRaster(cells, AFFINES["north up"], UTM, name="bed")


@pytest.mark.parametrize("affine, match", [
    ((1.0, 2.0), "six finite numbers"), ((0, 1, 0, np.nan, 0, 1), "six finite numbers"),
    ((0.0, 1.0, 0.0, 0.0, 0.0, 1.0), "not georeferenced"), ((5.0, 1.0, 2.0, 5.0, 2.0, 4.0), "not georeferenced")])
def test_a_geotransform_that_is_none_is_refused(affine, match):
    with pytest.raises(InputError, match=match):
        ArrayRaster(np.zeros((2, 2)), affine, UTM)


def test_without_a_reference_system_it_is_refused():
    with pytest.raises(InputError, match="“array” has no coordinate reference system"):
        ArrayRaster(np.zeros((2, 2)), AFFINES["north up"], "")


def test_there_is_no_overview_to_open():
    with pytest.raises(InputError, match="“array” is an array and has no overviews; number 0"):
        ArrayRaster(np.zeros((2, 2)), AFFINES["north up"], UTM).overview(0)
