"""Write the scene's files: rasters, the geoid and the vector layers."""
from __future__ import annotations

from pathlib import Path

import numpy as np
import scene_candidates as sites
import scene_features as features
import scene_frame as frame
import scene_terrain as terrain
from osgeo import gdal, ogr

NO_HEIGHT = -9999.0
GEOID_WEST, GEOID_NORTH, GEOID_CELL, GEOID_COUNT = -39.3, 45.3, 0.01, 60  # EPSG:4326 [degrees]
TILES = ["TILED=YES", "BLOCKXSIZE=256", "BLOCKYSIZE=256"]


# eight parameters: all that a GeoTIFF holds
def write_raster(path: Path, bands: np.ndarray, geotransform: tuple, epsg: int, kind: int, options: list,  # noqa: PLR0913
                 dress=None, overviews=()) -> None:
    """Write a GeoTIFF.

    Parameters
    ----------
    path : Path
    bands : ndarray, shape (bands, rows, columns)
    geotransform : tuple
    epsg : int
    kind : int
        GDAL data type.
    options : list of str
        GeoTIFF creation options.
    dress : callable, optional
        Called with the data set before it is written, to set names, colours and units.
    overviews : sequence of int
        Factors of the overviews built into the file.
    """
    count, rows, cols = bands.shape
    memory = gdal.GetDriverByName("MEM").Create("", cols, rows, count, kind)
    memory.SetGeoTransform(geotransform)
    memory.SetProjection(frame.spatial_reference(epsg).ExportToWkt())
    for number in range(count):
        memory.GetRasterBand(number + 1).WriteArray(bands[number])
    if dress is not None:
        dress(memory)
    for stale in (path, path.with_name(path.name + ".aux.xml")):
        stale.unlink(missing_ok=True)
    written = gdal.GetDriverByName("GTiff").CreateCopy(str(path), memory, options=options)
    if overviews:
        written.BuildOverviews("AVERAGE", list(overviews))
    written.FlushCache()


def write_elevation(path: Path, height: np.ndarray) -> None:
    """Write the surface model [m above mean sea level]."""
    def dress(data):
        band = data.GetRasterBand(1)
        band.SetNoDataValue(NO_HEIGHT)
        band.SetUnitType("metre")
        band.SetDescription("elevation above mean sea level [m]")

    write_raster(path, height[None], frame.geotransform(), frame.EPSG, gdal.GDT_Float32,
                 TILES + ["COMPRESS=DEFLATE", "PREDICTOR=2", "ZLEVEL=9"], dress)


def write_land_cover(path: Path, cover: np.ndarray) -> None:
    """Write the land cover with names and colours of its classes."""
    def dress(data):
        band = data.GetRasterBand(1)
        table = gdal.ColorTable()
        names = [""] * (max(features.CLASSES) + 1)
        for number, (name, colour) in features.CLASSES.items():
            table.SetColorEntry(number, colour + (255,))
            names[number] = name
        band.SetColorTable(table)
        band.SetCategoryNames(names)
        band.SetDescription("land cover")
        band.SetNoDataValue(0)

    write_raster(path, cover[None], frame.geotransform(), frame.EPSG, gdal.GDT_Byte,
                 TILES + ["COMPRESS=DEFLATE", "ZLEVEL=9"], dress)


def write_aerial(path: Path, picture: np.ndarray) -> None:
    """Write the picture with overviews."""
    def dress(data):
        for number, meaning in enumerate((gdal.GCI_RedBand, gdal.GCI_GreenBand, gdal.GCI_BlueBand), start=1):
            data.GetRasterBand(number).SetColorInterpretation(meaning)

    write_raster(path, picture, frame.geotransform(frame.EXTENT / picture.shape[1]), frame.EPSG, gdal.GDT_Byte,
                 TILES + ["COMPRESS=JPEG", "PHOTOMETRIC=YCBCR", "JPEG_QUALITY=84"], dress, (2, 4, 8, 16))


def write_geoid(path: Path) -> None:
    """Write the invented geoid undulation [m] in geographic coordinates."""
    centre = (np.arange(GEOID_COUNT) + 0.5) * GEOID_CELL
    mid_lat = np.cos(np.radians(GEOID_NORTH - GEOID_COUNT * GEOID_CELL / 2))
    east = (centre + GEOID_WEST + 39.0) * 111320 * mid_lat
    north = (GEOID_NORTH - centre - 45.0) * 111130
    values = np.round(sites.undulation(east[None, :], north[:, None]), 3).astype("float32")

    def dress(data):
        band = data.GetRasterBand(1)
        band.SetUnitType("metre")
        band.SetDescription("height of mean sea level above the WGS 84 ellipsoid [m]")

    write_raster(path, values[None], (GEOID_WEST, GEOID_CELL, 0.0, GEOID_NORTH, 0.0, -GEOID_CELL), 4326,
                 gdal.GDT_Float32, ["COMPRESS=DEFLATE"], dress)


def geoid_at(path: Path, east: float, north: float) -> float:
    """Return the undulation at map coordinates from the written file, bilinear [m]."""
    place = ogr.Geometry(ogr.wkbPoint)
    place.AddPoint_2D(east, north)
    place.AssignSpatialReference(frame.spatial_reference())
    place.TransformTo(frame.spatial_reference(4326))
    values = gdal.Open(str(path)).ReadAsArray()
    col = (place.GetX() - GEOID_WEST) / GEOID_CELL - 0.5
    row = (GEOID_NORTH - place.GetY()) / GEOID_CELL - 0.5
    c, r = int(col), int(row)
    dc, dr = col - c, row - r
    window = values[r:r + 2, c:c + 2]
    return float(np.array([1 - dr, dr]) @ window @ np.array([1 - dc, dc]))


def sea_polygons(height: np.ndarray, sea: np.ndarray) -> list[ogr.Geometry]:
    """Trace the sea at its mean level, in scene metres; low ground that it does not reach is left out."""
    count = height.shape[0]
    memory = gdal.GetDriverByName("MEM").Create("", count, count, 1, gdal.GDT_Float32)
    memory.SetGeoTransform((0.0, frame.CELL, 0.0, frame.EXTENT, 0.0, -frame.CELL))
    memory.GetRasterBand(1).WriteArray(height)
    source = ogr.GetDriverByName("Memory").CreateDataSource("")
    layer = source.CreateLayer("traced", None, ogr.wkbMultiPolygon)
    for name in ("low", "high"):
        layer.CreateField(ogr.FieldDefn(name, ogr.OFTReal))
    gdal.ContourGenerateEx(memory.GetRasterBand(1), layer, options=[
        "POLYGONIZE=YES", "FIXED_LEVELS=0", "ELEV_FIELD_MIN=0", "ELEV_FIELD_MAX=1"])
    found = []
    for feature in layer:
        if feature["high"] > 0.001:
            continue
        for part in feature.GetGeometryRef():
            inner = part.PointOnSurface()
            row, col = int((frame.EXTENT - inner.GetY()) / frame.CELL), int(inner.GetX() / frame.CELL)
            if part.GetArea() > 20000 and sea[row, col]:
                found.append(part.SimplifyPreserveTopology(0.5))
    return found


def shore_lines(shape: ogr.Geometry) -> list[list[tuple[float, float]]]:
    """Cut a polygon's rings at the frame of the scene; water lies to the left of each line."""
    lines = []
    for number in range(shape.GetGeometryCount()):
        points = np.array(shape.GetGeometryRef(number).GetPoints())[:, :2]
        turn = np.sum(points[:-1, 0] * points[1:, 1] - points[1:, 0] * points[:-1, 1])
        if (turn > 0) != (number == 0):
            points = points[::-1]
        on_frame = ((points < 0.01) | (points > frame.EXTENT - 0.01)).any(axis=1)
        if not on_frame.any():
            lines.append([tuple(p) for p in points])
            continue
        first = int(np.argmax(on_frame))
        points = np.roll(points[:-1], -first, axis=0)
        on_frame = ((points < 0.01) | (points > frame.EXTENT - 0.01)).any(axis=1)
        points, on_frame = np.vstack([points, points[:1]]), np.r_[on_frame, on_frame[:1]]
        line = [tuple(points[0])]
        for place, outside in zip(points[1:], on_frame[1:]):
            line.append(tuple(place))
            if outside:
                if len(line) > 2:
                    lines.append(line)
                line = [tuple(place)]
    return lines


def moved(shape: ogr.Geometry) -> ogr.Geometry:
    """Return a geometry moved from scene metres to map coordinates, to the centimetre."""
    kept = shape.Clone()
    kept.FlattenTo2D()
    for part in ([kept] if kept.GetGeometryCount() == 0 else list(kept)):
        for ring in ([part] if part.GetGeometryCount() == 0 else list(part)):
            for number in range(ring.GetPointCount()):
                east, north = frame.to_map(*ring.GetPoint(number)[:2])
                ring.SetPoint_2D(number, round(float(east), 2), round(float(north), 2))
    return kept


def write_vectors(path: Path, height: np.ndarray, masks: dict, geoid: Path) -> None:
    """Write the GeoPackage with water, shoreline, avoid, buildings and candidates."""
    path.unlink(missing_ok=True)
    gdal.SetConfigOption("OGR_CURRENT_DATE", "2026-01-01T00:00:00.000Z")  # the same bytes on every run
    package = ogr.GetDriverByName("GPKG").CreateDataSource(str(path))

    def add(name, kind, fields, rows):
        layer = package.CreateLayer(name, frame.spatial_reference(), kind)
        for field, kind_of in fields.items():
            layer.CreateField(ogr.FieldDefn(field, kind_of))
        layer.StartTransaction()
        for shape, values in rows:
            feature = ogr.Feature(layer.GetLayerDefn())
            for field, value in zip(fields, values):
                feature[field] = value
            feature.SetGeometry(moved(shape))
            layer.CreateFeature(feature)
        layer.CommitTransaction()

    text, real = ogr.OFTString, ogr.OFTReal
    works = [shape for shape, _ in terrain.harbour_works()]
    lake = terrain.lake_shape().Difference(works[-1])
    sea = sea_polygons(height, ~masks["land"] & ~masks["works"])
    add("water", ogr.wkbPolygon, {"kind": text, "name": text},
        [(shape, ("sea", "Vellmouth Roads" if number == 0 else "sea")) for number, shape in enumerate(sea)]
        + [(lake, ("lake", "Sallow Tarn"))])
    shores = []
    for kind, shape in [("sea", shape) for shape in sea] + [("lake", lake)]:
        for points in shore_lines(shape):
            line = ogr.Geometry(ogr.wkbLineString)
            for point in points:
                line.AddPoint_2D(*point)
            shores.append((line, (kind,)))
    add("shoreline", ogr.wkbLineString, {"kind": text}, shores)
    add("avoid", ogr.wkbPolygon, {"name": text, "share": real},
        [(shape, (name, share)) for name, share, shape in features.AVOID])
    add("buildings", ogr.wkbPolygon, {"name": text, "height_m": real},
        [(shape, (name, tall)) for shape, tall, name in features.buildings()])

    rows = []
    for site in sites.CANDIDATES:
        point = ogr.Geometry(ogr.wkbPoint)
        point.AddPoint_2D(site.east, site.north)
        ground = float(height[sites.cell_of(site)])
        place = map(float, frame.to_map(site.east, site.north))
        values = sites.attributes(site, round(ground, 2), geoid_at(geoid, *place))
        rows.append((point, tuple(values.values())))
    add("candidates", ogr.wkbPoint, {"name": text, "purpose": text, "height_m": real, "level_m": real, "low_m": real,
                                     "high_m": real, "ellip_m": real, "lesson": text}, rows)
