"""Rules that take candidates out: areas kept free, the way to a road or mast, the slope."""
from __future__ import annotations

import numpy as np
from qgis.core import QgsFeatureRequest, QgsGeometry, QgsPoint, QgsRectangle, QgsWkbTypes

from ...siting.arrays import Array
from ...siting.errors import InputError
from ...siting.geometry.localframe import from_lonlat
from ...siting.shore.plane import ShorePlane, dense_lonlat
from ...siting.shore.segments import Segments
from .given import Given
from .shorelines import vertices_of
from .sources import UNCHECKED, wkt_of


def inside_polygons(given: Given, name: str, lon: Array, lat: Array) -> Array:
    """Tell which points [°] lie in or on a polygon of a parameter; invalid polygons are repaired and counted."""
    source = given.source(name)
    x, y = from_lonlat(lon, lat, wkt_of(source.sourceCrs()))
    inside, repaired = np.zeros(len(x), bool), 0
    on_map = np.isfinite(x) & np.isfinite(y)
    if not on_map.any():
        return inside
    # the points lie in the layer's own coordinates, so its features may be filtered by their box
    box = QgsRectangle(x[on_map].min(), y[on_map].min(), x[on_map].max(), y[on_map].max())
    box.grow(max(box.width(), box.height(), 1e-6) * 1e-6)
    for feature in source.getFeatures(QgsFeatureRequest().setFilterRect(box), UNCHECKED):
        given.stop_if_cancelled()
        geometry = feature.geometry()
        if QgsWkbTypes.geometryType(geometry.wkbType()) != QgsWkbTypes.GeometryType.PolygonGeometry:
            continue
        if not geometry.isGeosValid():
            geometry, repaired = geometry.makeValid(), repaired + 1
        own = geometry.boundingBox()
        near = np.flatnonzero(on_map & ~inside & (x >= own.xMinimum()) & (x <= own.xMaximum())
                              & (y >= own.yMinimum()) & (y <= own.yMaximum()))
        if not len(near):
            continue
        engine = QgsGeometry.createGeometryEngine(geometry.constGet())
        engine.prepareGeometry()
        for k in near.tolist():
            inside[k] = engine.intersects(QgsPoint(float(x[k]), float(y[k])))
    if repaired:
        given.warn(f"{name} “{source.sourceName()}”: {repaired} invalid polygon(s) were repaired for this "
                             "run; the layer is unchanged.")
    return inside


def kept_out(given: Given, lon: Array, lat: Array) -> Array:
    """Tell which points lie in KEEP_OUT.

    Raises
    ------
    InputError
        If it holds no polygons.
    """
    source = given.source("KEEP_OUT")
    if QgsWkbTypes.geometryType(source.wkbType()) not in (
            QgsWkbTypes.GeometryType.PolygonGeometry, QgsWkbTypes.GeometryType.UnknownGeometry):
        raise InputError(f"KEEP_OUT “{source.sourceName()}” holds no polygons. Give a polygon layer.")
    return inside_polygons(given, "KEEP_OUT", lon, lat)


def access_m(given: Given, plane: ShorePlane, lon: Array, lat: Array) -> Array:
    """Return the distance of each point to the nearest thing in ACCESS [m]; 0 inside a polygon.

    Raises
    ------
    InputError
        If the layer holds nothing.
    """
    source = given.source("ACCESS")
    crs, drawn = wkt_of(source.sourceCrs()), []
    for feature in source.getFeatures(QgsFeatureRequest(), UNCHECKED):
        given.stop_if_cancelled()
        if feature.geometry().isNull():
            continue
        for xy in vertices_of(feature.geometry()):
            line = plane.project(*dense_lonlat(xy[:, 0], xy[:, 1], crs))
            if np.isfinite(line).all():
                drawn.append(line)
    if not drawn:
        raise InputError(f"ACCESS “{source.sourceName()}” holds nothing that can be reached. Give a layer with roads "
                         "or masts, or leave it out.")
    things = Segments.of_lines(drawn)
    dist = np.zeros(len(lon))
    for k, xy in enumerate(plane.project(lon, lat)):
        given.stop_if_cancelled()
        dist[k] = things.distance(xy)[0]
    inside = inside_polygons(given, "ACCESS", lon, lat)
    return np.where(inside, 0.0, dist)
