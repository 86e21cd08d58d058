"""Fixtures of the science tests: small rasters on disk and in memory, a place on a plain grid, polygons as rings."""

from functools import lru_cache

import numpy as np
import pytest
from stillwater.siting.candidates import Candidate, resolve
from stillwater.siting.geometry.localframe import LocalFrame, to_lonlat
from stillwater.siting.ground.arrayraster import ArrayRaster
from stillwater.siting.ground.polygons import PolygonLayer, Ring
from stillwater.siting.ground.rasters import Raster
from stillwater.siting.precision.demand import Receiver, usual_demand
from stillwater.siting.precision.worth import SkyLook
from stillwater.siting.purposes import SEA_LEVEL
from stillwater.siting.sky.clock import read_date
from stillwater.siting.sky.nominal import NominalOrbits
from stillwater.siting.sky.sky import Sky
from stillwater.siting.sky.usable import GAP_MARGIN_S

UTM = "EPSG:32633"
"""A projected CRS in which most scenes lie."""
MIDDLE = (500_000.0, 4_980_000.0)
"""A site on the central meridian of that zone, where grid north is true north."""
SCALE = 0.9996
"""Scale factor of UTM on the central meridian (Snyder 1987, USGS Professional Paper 1395; from memory)."""


def geotransform(rows, cols, cell, corner=None):
    """Return GDAL's geotransform of square cells [CRS units] from an upper left corner; without one around `MIDDLE`."""
    west, north = (MIDDLE[0] - cols * cell / 2.0, MIDDLE[1] + rows * cell / 2.0) if corner is None else corner
    return west, cell, 0.0, north, 0.0, -cell


@pytest.fixture
def write_raster(tmp_path):
    """Give a function that writes an array as a GeoTIFF and opens it.

    `cell` is the side of a cell [CRS units] and `corner` the upper left corner; without a corner
    the array lies centred on `MIDDLE`. `affine` (a, b, c, d, e, f of GDAL) overrides both.
    """
    rasterio = pytest.importorskip("rasterio")

    def write(values, cell=1.0, corner=None, crs=UTM, nodata=None, name="raster.tif", affine=None,
              scale=None, offset=None, opened=True, **options):
        values = np.asarray(values)
        bands = values if values.ndim == 3 else values[None]
        rows, cols = bands.shape[1:]
        if affine is None:
            affine = geotransform(rows, cols, cell, corner)
        path = tmp_path / name
        with rasterio.open(path, "w", driver="GTiff", width=cols, height=rows, count=len(bands),
                           dtype=bands.dtype.name, crs=crs, nodata=nodata,
                           transform=rasterio.Affine.from_gdal(*affine), **options) as file:
            file.write(bands)
            if scale is not None:
                file.scales, file.offsets = [scale] * len(bands), [offset or 0.0] * len(bands)
        return Raster(path) if opened else path
    return write


@pytest.fixture
def array_raster():
    """Give a function that makes a raster in memory of an array, placed as `write_raster` places its files."""
    def make(values, cell=1.0, corner=None, crs=UTM, affine=None, **options):
        values = np.asarray(values)
        return ArrayRaster(values, affine or geotransform(*values.shape, cell, corner), crs, **options)
    return make


@pytest.fixture
def middle_lonlat():
    """Give longitude and latitude of `MIDDLE`, each as an array of one."""
    return to_lonlat([MIDDLE[0]], [MIDDLE[1]], UTM)


@pytest.fixture
def candidate():
    """Give a function that makes a resolved candidate, by default on `MIDDLE`."""
    def make(height_m, x=MIDDLE[0], y=MIDDLE[1], crs=UTM, reference="surface", zero_is_ground=False,
             dem=None, geoid=None, name="site", **levels):
        one = Candidate(name, x, y, height_m, **levels)
        resolve([one], crs, reference, zero_is_ground, dem, geoid)
        return one
    return make


@pytest.fixture
def local_rings():
    """Give a function that turns rings in true metres around `MIDDLE` into a polygon layer.

    Each polygon is (outline, holes, group), its rings lists of (east, north) [m].
    """
    def make(*polygons, groups=1, crs=UTM, name="polygons", reach=2000.0):
        frame = LocalFrame(*to_lonlat([MIDDLE[0]], [MIDDLE[1]], UTM), crs, reach)
        rings = []
        for outline, holes, group in polygons:
            for number, ring in enumerate([outline, *holes]):
                xy = np.stack(frame.place(0, *np.asarray(ring, float).T), axis=-1)
                rings.append(Ring(xy, number > 0, group))
        return PolygonLayer(rings, crs, name, groups)
    return make


@lru_cache(maxsize=4)
def _sky(systems, days):
    return Sky(NominalOrbits(systems), read_date("2026-06-01"), days, 5.0, 20.0, GAP_MARGIN_S)


@pytest.fixture
def look_at():
    """Give a function that makes what the sky is looked at for: nominal orbits, 5 to 20°, GPS L1."""
    def make(systems=("GPS", "GLONASS", "Galileo", "BeiDou"), purpose=SEA_LEVEL, days=1, demand=None, **receiver):
        return SkyLook(_sky(tuple(systems), days), demand or usual_demand(purpose), Receiver(**receiver),
                       complex(purpose.substance.permittivity(1575.42e6)), purpose.is_tidal)
    return make


@pytest.fixture
def look(look_at):
    """Give the usual look at the sky for sea level."""
    return look_at()
