"""The frame of the scene: grid, reference system, drawing and noise.

Scene coordinates are metres east and north of the south-west corner; ``to_map`` moves them to EPSG:32624.
"""
from __future__ import annotations

from collections.abc import Sequence
from typing import Union

import numpy as np
from osgeo import gdal, ogr, osr
from scipy import ndimage

gdal.UseExceptions()
ogr.UseExceptions()
osr.UseExceptions()

EPSG = 32624
EAST0, NORTH0 = 498500.0, 4981500.0  # south-west corner; open ocean near 45 N 39 W
EXTENT = 3000.0
CELL = 2.0
SEED = 40871
Points = Union[Sequence[tuple[float, float]], np.ndarray]
"""Corners or bends in scene metres."""


def spatial_reference(epsg: int = EPSG) -> osr.SpatialReference:
    """Return the spatial reference with east before north."""
    srs = osr.SpatialReference()
    srs.ImportFromEPSG(epsg)
    srs.SetAxisMappingStrategy(osr.OAMS_TRADITIONAL_GIS_ORDER)
    return srs


def to_map(east: float | np.ndarray, north: float | np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Move scene metres to map coordinates."""
    return np.asarray(east) + EAST0, np.asarray(north) + NORTH0


def geotransform(cell: float = CELL) -> tuple:
    """Return the north-up geotransform in map coordinates for cells of `cell` metres."""
    return (EAST0, cell, 0.0, NORTH0 + EXTENT, 0.0, -cell)


def axes(cell: float = CELL) -> tuple[np.ndarray, np.ndarray]:
    """Return the cell centres as a row of eastings and a column of northings [m]."""
    centre = (np.arange(round(EXTENT / cell), dtype="float32") + 0.5) * cell
    return centre[None, :], (EXTENT - centre)[:, None]


def rounded(points: Points, times: int = 3) -> list[tuple[float, float]]:
    """Round a closed ring of corners by cutting them (Chaikin 1974), `times` over."""
    ring = np.asarray(points, dtype=float)
    for _ in range(times):
        after = np.roll(ring, -1, axis=0)
        ring = np.stack([0.75 * ring + 0.25 * after, 0.25 * ring + 0.75 * after], axis=1).reshape(-1, 2)
    return [tuple(p) for p in ring]


def polygon(points: Points) -> ogr.Geometry:
    """Make a polygon in scene metres from one ring of corners."""
    ring = ogr.Geometry(ogr.wkbLinearRing)
    for east, north in points:
        ring.AddPoint_2D(float(east), float(north))
    ring.CloseRings()
    shape = ogr.Geometry(ogr.wkbPolygon)
    shape.AddGeometry(ring)
    return shape


def box(west: float, south: float, east: float, north: float, turn: float = 0.0) -> ogr.Geometry:
    """Make a rectangle, turned by `turn` degrees clockwise about its middle."""
    mid = np.array([(west + east) / 2, (south + north) / 2])
    corners = np.array([(west, south), (east, south), (east, north), (west, north)]) - mid
    c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    return polygon(corners @ np.array([[c, -s], [s, c]]) + mid)


def ellipse(east: float, north: float, half_e: float, half_n: float, corners: int = 72) -> ogr.Geometry:
    """Make an axis-parallel ellipse."""
    angle = np.linspace(0, 2 * np.pi, corners, endpoint=False)
    return polygon(np.c_[east + half_e * np.cos(angle), north + half_n * np.sin(angle)])


def strip(points: Points, width: float) -> ogr.Geometry:
    """Make a band of `width` metres along a line."""
    line = ogr.Geometry(ogr.wkbLineString)
    for east, north in points:
        line.AddPoint_2D(float(east), float(north))
    return line.Buffer(width / 2, 4)


def burn(shapes: Sequence[ogr.Geometry], cell: float = CELL, values: Sequence[float] | None = None,
         dtype: int = gdal.GDT_Float32) -> np.ndarray:
    """Draw polygons given in scene metres on the grid; cells whose centre is inside take the value.

    Parameters
    ----------
    shapes : list of ogr.Geometry
    cell : float
        Cell size [m].
    values : list of float, optional
        One for each polygon, later ones on top; 1 where left out.

    Returns
    -------
    ndarray
        0 where nothing was drawn.
    """
    count = round(EXTENT / cell)
    target = gdal.GetDriverByName("MEM").Create("", count, count, 1, dtype)
    target.SetGeoTransform((0.0, cell, 0.0, EXTENT, 0.0, -cell))
    target.SetProjection(spatial_reference().ExportToWkt())
    source = ogr.GetDriverByName("Memory").CreateDataSource("")
    layer = source.CreateLayer("shapes", spatial_reference(), ogr.wkbPolygon)
    layer.CreateField(ogr.FieldDefn("value", ogr.OFTReal))
    for number, shape in enumerate(shapes):
        feature = ogr.Feature(layer.GetLayerDefn())
        feature["value"] = float(1 if values is None else values[number])
        feature.SetGeometry(shape)
        layer.CreateFeature(feature)
    gdal.RasterizeLayer(target, [1], layer, options=["ATTRIBUTE=value"])
    return target.ReadAsArray()


def drawn(shapes: Sequence[ogr.Geometry], cell: float = CELL) -> np.ndarray:
    """Return where any of the polygons lies, as booleans on the grid."""
    return burn(shapes, cell) > 0


def noise(scale: float, key: int, cell: float = CELL) -> np.ndarray:
    """Return smooth noise of unit variance with features about `scale` metres across."""
    rng = np.random.default_rng([SEED, key])
    count = round(EXTENT / cell)
    coarse = int(np.ceil(EXTENT / scale)) + 4
    rough = rng.standard_normal((coarse, coarse))
    fine = ndimage.zoom(rough, (count * 1.02 + 8) / (coarse - 3), order=3)
    fine = fine[4:count + 4, 4:count + 4].astype("float32")
    return (fine - fine.mean()) / fine.std()


def ramp(values: float | np.ndarray, start: float, end: float) -> np.ndarray:
    """Return a smooth step from 0 at `start` to 1 at `end`; `start` may be the greater."""
    t = np.clip((np.asarray(values, dtype="float32") - start) / (end - start), 0, 1)
    return t * t * (3 - 2 * t)
