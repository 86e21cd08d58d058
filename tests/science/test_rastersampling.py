"""Looking rasters up around sites: the right cells in any reference system, never more than a window at once."""

import numpy as np
import pyproj
import pytest
from stillwater.siting.geometry.fresnel import first_zone
from stillwater.siting.ground import rastersampling
from stillwater.siting.ground.polargrid import choose_grid
from stillwater.siting.ground.rasters import Raster
from stillwater.siting.ground.rastersampling import RasterSampler
from stillwater.siting.signals import wavelength_m

L1 = wavelength_m("GPS L1")
ANGLES = np.arange(5.0, 21.0)
GEOD = pyproj.Geod(ellps="WGS84")
WRONG_CELLS_TOLERANCE = 2e-3  # part of the spots that lie on a cell's edge to a few centimetres
CELL_TOLERANCE = 1e-3


def grid_of(height, cell):
    return choose_grid(first_zone(height, ANGLES, L1), cell, 72)


def numbered(rows, cols):
    """Make an array whose values tell the cell."""
    return np.arange(rows * cols, dtype=np.int32).reshape(rows, cols)


def by_geodesic(raster, lon, lat, grid):
    """Find row and column of each spot through geodesics and the raster's own geotransform."""
    east, north = (np.asarray(part, float) for part in grid.east_north())
    spot_lon, spot_lat, _ = GEOD.fwd(np.full(east.shape, lon), np.full(east.shape, lat),
                                     np.degrees(np.arctan2(east, north)), np.hypot(east, north))
    x, y = pyproj.Transformer.from_crs("EPSG:4326", raster.crs, always_xy=True).transform(spot_lon, spot_lat)
    column, row = raster.pixel_of(x, y)
    return np.floor(row).astype(int), np.floor(column).astype(int)


def assert_right_cells(raster, values, valid, row, column, array, no_data=0):
    rows, cols = array.shape
    inside = (row >= 0) & (column >= 0) & (row < rows) & (column < cols)
    wanted = np.where(inside, array[row.clip(0, rows - 1), column.clip(0, cols - 1)], no_data)
    assert np.mean(values != wanted) < WRONG_CELLS_TOLERANCE
    assert np.mean(valid != inside) < WRONG_CELLS_TOLERANCE


# CRS, longitude, latitude, side of a cell in the CRS's units
PLACES = {
    "UTM": ("EPSG:32633", 15.0, 44.97, 2.0),
    "edge of a UTM zone": ("EPSG:32633", 17.95, 60.0, 2.0),
    "geographic": ("EPSG:4326", 14.2, 45.3, 2e-5),
    "geographic at 65° N": ("EPSG:4326", -22.0, 65.0, 3e-5),
    "Web Mercator at 65° N": ("EPSG:3857", -22.0, 65.0, 5.0),
    "polar stereographic": ("EPSG:3031", 33.0, -89.0, 2.0),
    "geographic at 89° S": ("EPSG:4326", 33.0, -89.0, 2e-4),
}


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("height", [3.0, 60.0])
def test_spots_take_the_cell_that_geodesics_find(place, height, write_raster):
    crs, lon, lat, cell = PLACES[place]
    x, y = pyproj.Transformer.from_crs("EPSG:4326", crs, always_xy=True).transform(lon, lat)
    array = numbered(900, 1100)
    raster = write_raster(array, cell=cell, corner=(x - 500.3 * cell, y + 480.7 * cell), crs=crs)
    grid = grid_of(height, 2.0)
    sampler = RasterSampler(raster, np.array([lon]), np.array([lat]), grid.edges_m[-1])
    values, valid = sampler.sample_grid(0, grid)
    assert_right_cells(raster, values, valid, *by_geodesic(raster, lon, lat, grid), array)
    plain, plain_valid = sampler.sample(0, *grid.east_north())
    assert np.mean(plain != values) < WRONG_CELLS_TOLERANCE
    assert np.mean(plain_valid != valid) < WRONG_CELLS_TOLERANCE


def test_a_rotated_raster_is_looked_up_along_its_own_rows(write_raster, middle_lonlat):
    array = numbered(400, 400)
    turned = (500_000.0 - 600, 1.6, 1.2, 4_980_000.0 + 100, 1.2, -1.6)
    raster = write_raster(array, affine=turned)
    lon, lat = middle_lonlat
    grid = grid_of(5.0, 2.0)
    sampler = RasterSampler(raster, lon, lat, grid.edges_m[-1])
    values, valid = sampler.sample_grid(0, grid)
    assert valid.any()
    assert_right_cells(raster, values, valid, *by_geodesic(raster, lon[0], lat[0], grid), array)
    assert sampler.cell_m(0) == pytest.approx(2.0 / 0.9996, rel=CELL_TOLERANCE)


@pytest.mark.parametrize("lon", [-20.0, -0.0001, 0.0001])
def test_longitudes_from_0_to_360_are_understood(lon, write_raster):
    array = numbered(500, 500)
    west = lon % 360.0 - 0.005
    raster = write_raster(array, cell=2e-5, corner=(west, 45.005), crs="EPSG:4326")
    grid = grid_of(4.0, 2.0)
    values, valid = RasterSampler(raster, np.array([lon]), np.array([45.0]), 150.0).sample_grid(0, grid)
    east, north = grid.east_north()
    assert valid[np.hypot(east, north) < 90].all() if lon != -0.0001 else valid.any()
    assert values[valid].min() > 0


@pytest.mark.parametrize("lon, first", [(179.9999, -180.0), (-179.9999, -180.0), (0.0001, 0.0), (359.9999, 0.0)])
@pytest.mark.parametrize("strip_cells", [8_000_000, 2_000])
def test_a_raster_of_the_whole_world_goes_on_across_its_seam(lon, first, strip_cells, write_raster, monkeypatch):
    monkeypatch.setattr(rastersampling, "STRIP_CELLS", strip_cells)
    cols = 36_000
    array = np.broadcast_to(np.arange(cols, dtype=np.int32), (8, cols)).copy()
    raster = write_raster(array, cell=0.01, corner=(first, 0.04), crs="EPSG:4326", compress="deflate")
    grid = grid_of(60.0, 10.0)
    signed = (lon + 180) % 360 - 180
    values, valid = RasterSampler(raster, np.array([signed]), np.array([0.0]), grid.edges_m[-1]).sample_grid(0, grid)
    assert valid.all()
    east, _north = grid.east_north()
    metres = 6_378_137.0 * np.radians(0.01)  # a cell on the equator of WGS 84 (semi-major axis from memory)
    wanted = np.floor((lon - first) / 0.01 + east / metres).astype(int) % cols
    assert np.mean(values != wanted) < WRONG_CELLS_TOLERANCE
    assert len(np.unique(values)) == 2


def test_outside_the_raster_and_on_cells_without_data_nothing_is_valid(write_raster, middle_lonlat):
    array = np.ones((100, 100), np.uint8)
    array[:50] = 255
    raster = write_raster(array, cell=1.0, nodata=255)  # ±50 m around the site, the north without data
    grid = grid_of(5.0, 1.0)
    sampler = RasterSampler(raster, *middle_lonlat, grid.edges_m[-1])
    values, valid = sampler.sample_grid(0, grid)
    east, north = grid.east_north()
    held = (np.abs(east) < 49.9) & (north < -0.1) & (north > -49.9)
    out = (np.abs(east) > 50.1) | (np.abs(north) > 50.1) | (north > 0.1)
    assert valid[held].all() and (values[held] == 1).all()
    assert not valid[out].any()


def test_a_site_beyond_the_raster_reads_nothing(write_raster, middle_lonlat):
    raster = write_raster(np.ones((10, 10), np.uint8), corner=(700_000.0, 4_980_000.0))
    grid = grid_of(5.0, 1.0)
    _values, valid = RasterSampler(raster, *middle_lonlat, grid.edges_m[-1]).sample_grid(0, grid)
    assert valid.shape == (len(grid.radius_m), grid.rays) and not valid.any()


def test_a_site_without_a_position_reads_nothing(write_raster):
    raster = write_raster(np.ones((10, 10), np.uint8))
    sampler = RasterSampler(raster, np.array([np.nan]), np.array([np.nan]), 50.0)
    _values, valid = sampler.sample_grid(0, grid_of(5.0, 1.0))
    assert not valid.any() and np.isnan(sampler.cell_m(0))
    assert sampler.surroundings(0, 1.0)[0].size == 0


@pytest.mark.parametrize("crs, lon, lat, cell, wanted", [
    ("EPSG:32633", 15.0, 44.97, 2.0, 2.0 / 0.9996),  # scale factor of UTM (from memory)
    ("EPSG:3857", 10.0, 60.0, 2.0, 1.0),  # 1/cos 60° (derived here, on a sphere: 0.5 %)
    ("EPSG:4326", 10.0, 0.0, 1e-5, 1.1057),  # a degree of latitude on the equator is 110.57 km (from memory)
])
def test_the_smaller_side_of_a_cell_is_measured_on_the_ground(crs, lon, lat, cell, wanted, write_raster):
    x, y = pyproj.Transformer.from_crs("EPSG:4326", crs, always_xy=True).transform(lon, lat)
    raster = write_raster(np.ones((10, 10), np.uint8), cell=cell, corner=(x, y), crs=crs)
    assert RasterSampler(raster, np.array([lon]), np.array([lat]), 5.0).cell_m(0) == pytest.approx(wanted, rel=5e-3)


class Recorder:
    """Stands before a raster's source and records the windows that are read."""

    def __init__(self, source):
        self.source, self.cells = source, []

    def block(self, row0, row1, col0, col1):
        self.cells.append((row1 - row0) * (col1 - col0))
        return self.source.block(row0, row1, col0, col1)


def test_only_a_window_around_the_site_is_read(write_raster, middle_lonlat):
    raster = write_raster(np.ones((4000, 4000), np.uint8), cell=1.0, tiled=True, compress="deflate")
    raster._source = recorder = Recorder(raster._source)
    grid = grid_of(5.0, 1.0)
    RasterSampler(raster, *middle_lonlat, grid.edges_m[-1]).sample_grid(0, grid)
    reach = grid.edges_m[-1]
    assert recorder.cells and sum(recorder.cells) < (2 * reach + 4) ** 2 < 0.01 * 4000**2


@pytest.mark.parametrize("strip_cells", [50_000, 3_000, 10])
def test_a_window_too_large_to_hold_is_read_in_strips_with_the_same_result(
        strip_cells, write_raster, middle_lonlat, monkeypatch):
    rng = np.random.default_rng(2)
    raster = write_raster(rng.integers(0, 200, (500, 500)).astype(np.uint8), cell=0.5, nodata=7)
    grid = grid_of(5.0, 0.5)
    sampler = RasterSampler(raster, *middle_lonlat, grid.edges_m[-1])
    values, valid = sampler.sample_grid(0, grid)
    monkeypatch.setattr(rastersampling, "STRIP_CELLS", strip_cells)
    raster._source = recorder = Recorder(raster._source)
    for again in (sampler.sample_grid(0, grid), sampler.sample(0, *grid.east_north())):
        assert np.mean(again[0] != values) < WRONG_CELLS_TOLERANCE
        assert np.mean(again[1] != valid) < WRONG_CELLS_TOLERANCE
    assert len(recorder.cells) > 3
    assert max(recorder.cells) <= max(strip_cells, 500)  # at least a row


def test_fine_cells_are_not_shifted_by_strips_or_thinning(write_raster, middle_lonlat):
    """A straight edge seen through cells of 5 cm lies where it lies."""
    array = np.zeros((4200, 4200), np.uint8)
    array[:, 2100:] = 1  # east of the site
    raster = write_raster(array, cell=0.05, compress="deflate")
    grid = grid_of(5.0, 0.05)
    values, valid = RasterSampler(raster, *middle_lonlat, grid.edges_m[-1]).sample_grid(0, grid)
    east, _north = grid.east_north()
    far_enough = np.abs(east) > 0.06
    assert np.array_equal(values[valid & far_enough] == 1, east[valid & far_enough] > 0)


def test_the_surroundings_are_thinned_and_never_many_cells(write_raster, middle_lonlat):
    raster = write_raster(numbered(3000, 3000), cell=0.5)
    sampler = RasterSampler(raster, *middle_lonlat, 600.0)
    values, valid = sampler.surroundings(0, 600.0 / 150.0)
    assert valid.all() and 600**2 < values.size < 1000**2 < 2400**2


def test_a_smooth_surface_is_interpolated_between_cell_centres(write_raster, middle_lonlat):
    # a plane: what is interpolated bilinearly is exact
    row, col = np.mgrid[0:6, 0:6]
    raster = write_raster((10.0 * row + col).astype(np.float32), cell=100.0)
    value, valid = RasterSampler(raster, *middle_lonlat, 1.0).between_cells(0)
    assert valid and value == pytest.approx(10.0 * 2.5 + 2.5, abs=1e-3)
    at_the_rim = Raster(raster.path)
    lon, lat = pyproj.Transformer.from_crs("EPSG:32633", "EPSG:4326", always_xy=True).transform(
        500_000.0 - 290.0, 4_980_000.0 + 290.0)
    value, valid = RasterSampler(at_the_rim, np.array([lon]), np.array([lat]), 1.0).between_cells(0)
    assert valid and value == pytest.approx(0.0, abs=1e-3)
