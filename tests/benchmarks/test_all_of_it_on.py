"""Time a ranking with everything looked at beside assessing the plain surface, in one run; asserts no time.

A coast of fractal ground, 16 km square: candidates at the shore, three levels, 72 bins, 16 angles. The plain look
is at the land cover only; the full one also at the bed, line of sight, shadows, a skyline out to 20 km, waves and
the satellites of four constellations.
"""

import time

import numpy as np
import rasterio
from stillwater.siting.assess import assess
from stillwater.siting.candidates import Candidate, resolve
from stillwater.siting.ground.classes import parse_classes
from stillwater.siting.ground.rasters import Raster, bounded_cache
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.precision.demand import Receiver, usual_demand
from stillwater.siting.precision.worth import SkyLook
from stillwater.siting.purposes import SEA_LEVEL
from stillwater.siting.ranking.ranking import rank
from stillwater.siting.settings import Settings
from stillwater.siting.setup import Limits, Setup
from stillwater.siting.sight.looking import SightLayers
from stillwater.siting.sight.terrain import Terrain
from stillwater.siting.signals import wavelength_m
from stillwater.siting.sky.clock import read_date
from stillwater.siting.sky.nominal import NominalOrbits
from stillwater.siting.sky.sky import Sky
from stillwater.siting.sky.usable import GAP_MARGIN_S

CELLS, CELL_M, SITES = 8000, 2.0, 1000
WEST, NORTH = 480_000.0, 5_000_000.0


def fractal(rng, size, slope=-2.2):
    """Ground whose spectrum falls as a power, as natural relief does."""
    fx, fy = np.fft.fftfreq(size)[:, None], np.fft.rfftfreq(size)[None, :]
    spread = np.hypot(fx, fy)
    spread[0, 0] = np.inf
    noise = rng.normal(size=spread.shape) + 1j * rng.normal(size=spread.shape)
    ground = np.fft.irfft2(noise * spread**slope, s=(size, size))
    return (ground / ground.std()).astype(np.float32)


def write(path, values, **options):
    with rasterio.open(path, "w", driver="GTiff", width=CELLS, height=CELLS, count=1, dtype=values.dtype.name,
                       tiled=True, blockxsize=256, blockysize=256, crs="EPSG:32624",
                       transform=rasterio.Affine(CELL_M, 0, WEST, 0, -CELL_M, NORTH), **options) as file:
        file.write(values, 1)
    return str(path)


def test_a_ranking_with_all_of_it_on(tmp_path):
    rng = np.random.default_rng(21)
    ground = 60.0 * fractal(rng, CELLS)
    cover = Raster(write(tmp_path / "cover.tif", (ground < 0).astype(np.uint8), compress="deflate", zlevel=1))
    dem = Raster(write(tmp_path / "dem.tif", ground))
    # at the shore: ground of 0.5 to 4 m, 1 km from the rim
    row, col = np.nonzero((ground[500:-500:3, 500:-500:3] > 0.5) & (ground[500:-500:3, 500:-500:3] < 4))
    chosen = np.sort(rng.choice(len(row), SITES, replace=False))
    x = WEST + (col[chosen] * 3 + 500.5) * CELL_M
    y = NORTH - (row[chosen] * 3 + 500.5) * CELL_M

    def sites():
        made = [Candidate(str(i), x[i], y[i], float(6 + 6 * (i % 7) / 7), 0.0, -0.5, 0.5, 0.2) for i in range(SITES)]
        resolve(made, "EPSG:32624", "ground", False, dem)
        return made

    settings = Settings(wavelength_m("GPS L1"), tuple(float(a) for a in range(5, 21)))
    with bounded_cache():
        plain = sites()
        for one in plain:
            one.levels_m = np.array([-0.5, 0.0, 0.5])
        begin = time.perf_counter()
        for _index, _found in assess(plain, SurfaceLayers(landcover=cover, classes=parse_classes("1")), settings):
            pass
        plainly = time.perf_counter() - begin

        full = sites()
        for one in full:
            one.levels_m = np.array([-0.5, 0.0, 0.5])
        begin = time.perf_counter()
        lon, lat = np.array([(c.lon, c.lat) for c in full]).T
        terrain = Terrain(dem, lon=lon, lat=lat)
        prepared = time.perf_counter() - begin
        sky = Sky(NominalOrbits(["GPS", "GLONASS", "Galileo", "BeiDou"]), read_date("2026-06-01"), 1, 5.0, 20.0,
                  GAP_MARGIN_S)
        layers = SurfaceLayers(landcover=cover, classes=parse_classes("1"), dem=dem, dem_is_bed=True, is_sea=True)
        sight = SightLayers(dem, None, terrain, dem_shows_water=False)
        begin = time.perf_counter()
        look = SkyLook(sky, usual_demand(SEA_LEVEL), Receiver(),
                       complex(SEA_LEVEL.substance.permittivity(1575.42e6)))
        rows = rank(full, Setup(layers, settings, look, sight=sight, limits=Limits(3.0)))
        fully = time.perf_counter() - begin
    print(f"\n{SITES} candidates at a fractal shore, 72 bins x 16 angles x 3 levels, {CELLS} x {CELLS} cells of "
          f"{CELL_M:g} m: plain {SITES / plainly:.0f} a second, with all of it on {SITES / fully:.0f} a second "
          f"({fully / plainly:.1f} times as long; the terrain prepared once in {prepared:.1f} s)")
    verdicts = {row.verdict for row in rows}
    assert len(rows) == SITES and "unsuitable" in verdicts and len(verdicts) > 1
