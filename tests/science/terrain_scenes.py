"""Elevation models for the tests of the skyline: fractal ground, and files around a site."""

import numpy as np
from osgeo import gdal, osr
from pyproj import Transformer

UTM = "EPSG:32624"
EAST, NORTH = 500_000.0, 4_982_000.0
"""A place on the central meridian, where map north is true north and a metre measures 0.9996 on the map."""
MAP_SCALE = 0.9996


def lonlat(x=EAST, y=NORTH, crs=UTM):
    """Return longitude and latitude of map coordinates."""
    return Transformer.from_crs(crs, "EPSG:4326", always_xy=True).transform(x, y)


def fractal(cells: int, seed: int, relief_m: float, roughness: float = 2.2) -> np.ndarray:
    """Make ground whose spectrum falls with a power of the wavenumber, from `relief_m` below 0 to as much above."""
    rng = np.random.default_rng(seed)
    wave = np.hypot(np.fft.fftfreq(cells)[:, None], np.fft.rfftfreq(cells))
    wave[0, 0] = 1.0
    spectrum = np.fft.rfft2(rng.normal(size=(cells, cells))) * wave ** (-roughness)
    spectrum[0, 0] = 0.0
    ground = np.fft.irfft2(spectrum, s=(cells, cells))
    return (relief_m * ground / np.abs(ground).max()).astype(np.float32)


def tif(path, heights, cell=10.0, west=None, north=None, crs=UTM, nodata=None, options=(), unit=None) -> str:
    """Write a GeoTIFF, centred on the place unless told otherwise."""
    heights = np.asarray(heights, np.float32)
    rows, cols = heights.shape
    west = EAST - cols / 2 * cell if west is None else west
    north = NORTH + rows / 2 * cell if north is None else north
    file = gdal.GetDriverByName("GTiff").Create(str(path), cols, rows, 1, gdal.GDT_Float32, list(options))
    file.SetGeoTransform((west, cell, 0.0, north, 0.0, -cell))
    reference = osr.SpatialReference()
    reference.SetFromUserInput(crs)
    file.SetProjection(reference.ExportToWkt())
    band = file.GetRasterBand(1)
    if nodata is not None:
        band.SetNoDataValue(nodata)
    if unit:
        band.SetUnitType(unit)
    band.WriteArray(heights)
    band = file = None
    return str(path)


def add_overviews(path: str, factors, resampling="AVERAGE") -> None:
    """Add overviews to a file."""
    file = gdal.Open(str(path), gdal.GA_Update)
    file.BuildOverviews(resampling, list(factors))
    file = None
