"""Where the elevation models end is told of each candidate, to the cell, and belongs to its look alone."""
import numpy as np
import pytest
from stillwater.siting.assess import assess
from stillwater.siting.ground.rasters import Raster
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.settings import Settings
from stillwater.siting.sight.looking import SightLayers
from stillwater.siting.sight.terrain import Terrain
from stillwater.siting.signals import wavelength_m
from stillwater.siting.words.ends import ends_text
from stillwater.tests.science.terrain_scenes import EAST, MAP_SCALE, NORTH, UTM, lonlat, tif

FOUR = [0.0, 90.0, 180.0, 270.0]
SETTINGS = Settings(wavelength_m("GPS L1"), (5.0, 10.0, 20.0), bins=36)


def ends(path, azimuth=FOUR, reach=20_000.0, place=None):
    lon, lat = place or lonlat()
    return Terrain(Raster(path), max_distance_m=reach, lon=[lon], lat=[lat]).skyline(0, 5.0, azimuth).ends_m


@pytest.mark.parametrize("cell", [10.0, 30.0, 90.0])
@pytest.mark.parametrize("off_m", [185.0, 1234.0, 6100.0])
def test_a_models_edge_is_told_to_the_cell(tmp_path, cell, off_m):
    """The edge lies `off_m` north of the site on the map, and farther than the reach all else round."""
    size = int(45_000 / cell)
    path = tif(tmp_path / "dem.tif", np.zeros((size, size), np.float32), cell, EAST - 22_500.0, NORTH + off_m)
    found = ends(path)
    assert found[1:].tolist() == [20_000.0] * 3
    assert found[0] == pytest.approx(off_m / MAP_SCALE, abs=cell)
    askew = ends(path, [60.0, 300.0])
    assert askew == pytest.approx(2.0 * off_m / MAP_SCALE, abs=2.0 * cell)


def test_cells_without_data_end_a_model_too(tmp_path):
    heights = np.zeros((500, 500), np.float32)
    heights[:243] = -9999.0  # the site lies in the middle, 250 cells from the top
    found = ends(tif(tmp_path / "dem.tif", heights, 90.0, nodata=-9999.0))
    assert found[0] == pytest.approx(7 * 90.0 / MAP_SCALE, abs=90.0)


def test_a_hole_does_not_end_a_model(tmp_path):
    heights = np.zeros((500, 500), np.float32)
    heights[150:240] = -9999.0
    found = ends(tif(tmp_path / "dem.tif", heights, 90.0, nodata=-9999.0), reach=30_000.0)
    assert found[0] == pytest.approx(250 * 90.0 / MAP_SCALE, abs=90.0)


def looked(tmp_path, candidates, half_m=300.0):
    size = int(2 * half_m / 10.0)
    dem = Raster(tif(tmp_path / "small.tif", np.full((size, size), -3.0, np.float32), 10.0))
    lon, lat = np.array([(one.lon, one.lat) for one in candidates]).T
    sight = SightLayers(dem, None, Terrain(dem, max_distance_m=2000.0, lon=lon, lat=lat), dem_shows_water=False)
    layers = SurfaceLayers(dem=dem, dem_is_bed=True)
    return sight, lambda: [found for _index, found in assess(candidates, layers, SETTINGS, sight=sight)]


def test_each_look_carries_its_own_ends_and_looking_again_adds_none(tmp_path, candidate):
    sites = [candidate(5.0, EAST + dx, NORTH, UTM) for dx in (0.0, 200.0)]
    sight, look = looked(tmp_path, sites)
    before = vars(sight).copy()
    for _time in range(3):
        middle, east = look()
        # bins 9 and 27 look 5° off east and west
        assert middle.sight.ends_m[[9, 26]] == pytest.approx(300.0, abs=12.0)
        assert east.sight.ends_m[[9, 26]] == pytest.approx([100.0, 500.0], abs=12.0)
    assert vars(sight) == before, "nothing is left lying in the layers"


def test_where_the_models_reach_far_enough_nothing_is_told(tmp_path, candidate):
    _sight, look = looked(tmp_path, [candidate(5.0, EAST, NORTH, UTM)], half_m=2500.0)
    found, = look()
    assert found.sight.ends_m is None


def test_where_no_model_holds_anything_that_is_said():
    assert ends_text(np.array([0.0, 0.0]), 9000.0, 180.0) == "all around (no data at all)"
    assert ends_text(np.array([0.0, 9000.0]), 9000.0, 180.0) == "0 to 180° (no data at all)"
    assert ends_text(np.array([185.0, 9000.0]), 9000.0, 180.0) == "0 to 180° (from 185 m on)"
