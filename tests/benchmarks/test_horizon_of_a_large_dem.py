"""Time and memory of the skyline on a 2 m DEM of 20 000 × 20 000 cells; printed, nothing asserts a time.

Three files hold the same ground: plain tiles, compressed tiles, and compressed tiles with averaged overviews. Each
skyline is that of one site in a process of its own, which tells its peak memory; beside them stands the skyline with
every cell along the rays looked at. Then many sites in one run, with a floor of 5°.
"""

import json
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
from osgeo import gdal
from stillwater.siting.ground.rasters import Raster
from stillwater.siting.sight.relief import Relief
from stillwater.siting.sight.terrain import Terrain
from stillwater.tests.science import terrain_scenes as scenes

CELLS, CELL_M, REACH_M = 20_000, 2.0, 20_000.0
AZIMUTHS = np.arange(2.5, 360.0, 5.0)
ALONE = """
import importlib.util, json, sys, time
root, path, lon, lat, height = sys.argv[1], sys.argv[2], *map(float, sys.argv[3:])
spec = importlib.util.spec_from_file_location("stillwater", root + "/__init__.py", submodule_search_locations=[root])
sys.modules["stillwater"] = importlib.util.module_from_spec(spec)
spec.loader.exec_module(sys.modules["stillwater"])
import numpy as np
from stillwater.siting.ground.rasters import Raster, bounded_cache
from stillwater.siting.sight.terrain import Terrain
peak = lambda: int(open("/proc/self/status").read().split("VmHWM:")[1].split()[0]) / 1024
before = peak()
with bounded_cache(64 << 20):
    times = [time.perf_counter()]
    terrain = Terrain(Raster(path), None, None, 20000.0, [lon], [lat])
    times.append(time.perf_counter())
    sky = terrain.skyline(0, height, np.arange(2.5, 360.0, 5.0))
    times.append(time.perf_counter())
print(json.dumps({"times": times, "before": before, "peak": peak(), "el": sky.el_deg.tolist()}))
"""


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    """Write the ground three times: fractal hills, with smaller fractal forms on them that repeat every 4 km."""
    folder = tmp_path_factory.mktemp("large")
    wide, fine = scenes.fractal(1024, 21, 400.0), scenes.fractal(2048, 22, 6.0, 1.8)
    paths = {name: folder / f"{name}.tif" for name in ("plain tiles", "compressed", "compressed, overviews")}
    tiles = ["TILED=YES", "BLOCKXSIZE=512", "BLOCKYSIZE=512", "BIGTIFF=YES"]
    plain = gdal.GetDriverByName("GTiff").Create(str(paths["plain tiles"]), CELLS, CELLS, 1, gdal.GDT_Float32, tiles)
    half = CELLS / 2 * CELL_M
    plain.SetGeoTransform((scenes.EAST - half, CELL_M, 0.0, scenes.NORTH + half, 0.0, -CELL_M))
    plain.SetProjection(_utm())
    at = np.arange(CELLS) / CELLS * 1023
    left = np.minimum(at.astype(int), 1022)
    part = (at - left).astype(np.float32)
    for top in range(0, CELLS, 500):
        rows = slice(top, top + 500)
        band = wide[left[rows]] * (1 - part[rows, None]) + wide[left[rows] + 1] * part[rows, None]
        band = band[:, left] * (1 - part) + band[:, left + 1] * part
        band += np.tile(fine[np.arange(top, top + 500) % 2048], (1, 10))[:, :CELLS]
        plain.GetRasterBand(1).WriteArray(np.round(band, 2).astype(np.float32), 0, top)
    plain = None
    packed = [*tiles, "COMPRESS=DEFLATE", "PREDICTOR=3", "ZLEVEL=1", "NUM_THREADS=2"]
    for name in ("compressed", "compressed, overviews"):
        gdal.Translate(str(paths[name]), str(paths["plain tiles"]), creationOptions=packed)
    scenes.add_overviews(paths["compressed, overviews"], [2, 4, 8, 16, 32, 64])
    yield {name: str(path) for name, path in paths.items()}
    for path in paths.values():
        path.unlink()


def _utm() -> str:
    from osgeo import osr
    reference = osr.SpatialReference()
    reference.SetFromUserInput(scenes.UTM)
    return reference.ExportToWkt()


def test_one_site_of_each_file_and_the_error_against_full_resolution(files, monkeypatch):
    lon, lat = scenes.lonlat()
    terrain = Terrain(Raster(files["plain tiles"]), None, None, REACH_M, [lon], [lat])
    height = terrain.ground(0) + 5.0
    monkeypatch.setattr(Relief, "upper", lambda self, size, col, row: np.full(np.shape(col), 1e6))
    begin = time.perf_counter()
    full = terrain.skyline(0, height, AZIMUTHS).el_deg
    spent = time.perf_counter() - begin
    monkeypatch.undo()
    print(f"\nevery cell along {len(AZIMUTHS)} rays of 20 km, plain tiles: {spent:.2f} s")
    root = str(Path(__file__).resolve().parents[2])
    for name, path in files.items():
        text = subprocess.run([sys.executable, "-c", ALONE, root, path, str(lon), str(lat), str(height)], check=True,
                              capture_output=True, text=True).stdout
        told = json.loads(text)
        start, ready, end = told["times"]
        apart = np.abs(np.array(told["el"]) - full)
        print(f"{name}: {end - start:.2f} s ({ready - start:.2f} s to prepare the file), peak {told['peak']:.0f} MB "
              f"(libraries alone {told['before']:.0f} MB), skyline {min(told['el']):.2f} to {max(told['el']):.2f}°, "
              f"off by at most {apart.max():.4f}°")
        assert apart.max() < 0.01


def test_many_sites_in_one_run_with_a_floor(files):
    rng = np.random.default_rng(9)
    x, y = scenes.EAST + rng.uniform(-3000, 3000, 300), scenes.NORTH + rng.uniform(-3000, 3000, 300)
    places = np.array([scenes.lonlat(*place) for place in zip(x, y)])
    terrain = Terrain(Raster(files["compressed, overviews"]), None, None, REACH_M, *places.T)
    heights = [terrain.ground(site) + 5.0 for site in range(len(places))]
    for floor, order in ((5.0, "first"), (5.0, "again"), (1.0, "again"), (None, "again")):
        begin = time.perf_counter()
        angles = np.array([terrain.skyline(site, heights[site], AZIMUTHS, floor).el_deg for site in range(len(places))])
        spent = (time.perf_counter() - begin) / len(places)
        print(f"\n{len(places)} sites, floor {floor}, {order}: {1e3 * spent:.1f} ms a site")
    print(f"{100 * np.mean(angles > 1.0):.0f} % of the azimuths stand above 1°, "
          f"{100 * np.mean(angles > 5.0):.0f} % above 5°")
    assert 0.05 < np.mean(angles > 1.0) < 0.95
