"""Ten thousand candidates of different heights at three levels over a raster of 20 000 × 20 000 cells.

Prints sites a second; asserts only the peak memory, in a process of its own.
"""

import subprocess
import sys
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
MOST_MEGABYTES = 1500
CELLS, BLOCK = 20_000, 2_000

RUN = """
import importlib.util, resource, sys, time
import numpy as np
root, raster = sys.argv[1:3]
spec = importlib.util.spec_from_file_location("stillwater", root + "/__init__.py", submodule_search_locations=[root])
sys.modules["stillwater"] = package = importlib.util.module_from_spec(spec)
spec.loader.exec_module(package)
from stillwater.siting.setup import Setup
from stillwater.siting.purposes import SEA_LEVEL
from stillwater.siting.settings import Settings
from stillwater.siting.candidates import Candidate, resolve
from stillwater.siting.ground.classes import parse_classes
from stillwater.siting.ground.rasters import Raster, bounded_cache
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.precision.demand import Receiver, usual_demand
from stillwater.siting.precision.worth import SkyLook
from stillwater.siting.ranking.ranking import rank
from stillwater.siting.signals import wavelength_m
from stillwater.siting.sky.clock import read_date
from stillwater.siting.sky.nominal import NominalOrbits
from stillwater.siting.sky.sky import Sky
from stillwater.siting.sky.usable import GAP_MARGIN_S
rng = np.random.default_rng(11)
sites = [Candidate(str(i), 480e3 + rng.uniform(500, 39500), 4960e3 + rng.uniform(500, 39500),
                   rng.uniform(3, 30), 0.0, -0.25, 0.25) for i in range(10_000)]
begin = time.perf_counter()
resolve(sites, "EPSG:32624", "surface", False)
layers = SurfaceLayers(landcover=Raster(raster), classes=parse_classes("1"))
settings = Settings(wavelength_m("GPS L1"), tuple(float(a) for a in range(5, 21)))
sky = Sky(NominalOrbits(["GPS", "GLONASS", "Galileo", "BeiDou"]), read_date("2026-06-01"), 1, 5.0, 20.0, GAP_MARGIN_S)
look = SkyLook(sky, usual_demand(SEA_LEVEL), Receiver(), complex(SEA_LEVEL.substance.permittivity(1575.42e6)))
with bounded_cache():
    rows = rank(sites, Setup(layers, settings, look))
spent = time.perf_counter() - begin
levels = {len(s.levels_m) for s in sites}
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
print(len(rows), sorted(levels), f"{len(rows) / spent:.1f}", f"{peak:.0f}")
"""


def write_big_raster(path):
    """Repeat a block of patches over a tiled GeoTIFF."""
    import rasterio
    from rasterio.windows import Window
    rng = np.random.default_rng(12)
    place = np.arange(BLOCK) / BLOCK
    block = sum(np.outer(np.cos(2 * np.pi * round(u) * place + p), np.cos(2 * np.pi * round(v) * place + q))
                for u, v, p, q in zip(*rng.normal(0, 30, (2, 10)), *rng.uniform(0, 6.3, (2, 10))))
    block = (block > 0).astype(np.uint8)
    with rasterio.open(path, "w", driver="GTiff", width=CELLS, height=CELLS, count=1, dtype="uint8", tiled=True,
                       compress="deflate", zlevel=1, crs="EPSG:32624",
                       transform=rasterio.Affine(2, 0, 480e3, 0, -2, 5000e3)) as file:
        for row in range(0, CELLS, BLOCK):
            for col in range(0, CELLS, BLOCK):
                file.write(block, 1, window=Window(col, row, BLOCK, BLOCK))


def test_ten_thousand_candidates_over_a_large_raster(tmp_path):
    raster = tmp_path / "large.tif"
    write_big_raster(raster)
    done = subprocess.run([sys.executable, "-W", "ignore", "-c", RUN, str(ROOT), str(raster)],
                          capture_output=True, text=True, check=False)
    raster.unlink()
    assert done.returncode == 0, done.stderr
    number, levels, rate, peak = done.stdout.replace("[", "").replace("]", "").split()
    print(f"\n10 000 candidates, 3 levels, 72 bins x 16 angles, every height another, {CELLS} x {CELLS} cells: "
          f"{rate} sites a second, peak memory {peak} MB")
    assert (number, levels) == ("10000", "3")
    assert float(peak) < MOST_MEGABYTES
