"""Rules that take candidates out: areas kept free, the way to a road or mast, the slope."""
from __future__ import annotations

import numpy as np
from qgis.core import QgsFeatureRequest, QgsGeometry, QgsPoint, QgsRectangle, QgsWkbTypes

from ...siting.errors import InputError
from ...siting.geometry.localframe import from_lonlat
from ...siting.shore.plane import ShorePlane, dense_lonlat
from ...siting.shore.segments import Segments
from .candidates import source_of, wkt_of
from .shorelines import UNCHECKED, pulse_of, vertices_of


def inside_polygons(source, name, lon, lat, feedback) -> np.ndarray:
    """Tell which points [°] lie in or on a polygon of a source; invalid polygons are repaired and counted."""
    x, y = from_lonlat(lon, lat, wkt_of(source.sourceCrs()))
    inside, repaired, pulse = np.zeros(len(x), bool), 0, pulse_of(feedback)
    on_map = np.isfinite(x) & np.isfinite(y)
    if not on_map.any():
        return inside
    # the points lie in the layer's own coordinates, so its features may be filtered by their box
    box = QgsRectangle(x[on_map].min(), y[on_map].min(), x[on_map].max(), y[on_map].max())
    box.grow(max(box.width(), box.height(), 1e-6) * 1e-6)
    for feature in source.getFeatures(QgsFeatureRequest().setFilterRect(box), UNCHECKED):
        pulse()
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
        feedback.pushWarning(f"{name} “{source.sourceName()}”: {repaired} invalid polygon(s) were repaired for this "
                             "run; the layer is unchanged.")
    return inside


def kept_out(algorithm, parameters, context, feedback, lon, lat) -> np.ndarray:
    """Tell which points lie in KEEP_OUT.

    Raises
    ------
    InputError
        If it holds no polygons.
    """
    source = source_of(algorithm, parameters, "KEEP_OUT", context)
    if QgsWkbTypes.geometryType(source.wkbType()) not in (
            QgsWkbTypes.GeometryType.PolygonGeometry, QgsWkbTypes.GeometryType.UnknownGeometry):
        raise InputError(f"KEEP_OUT “{source.sourceName()}” holds no polygons. Give a polygon layer.")
    return inside_polygons(source, "KEEP_OUT", lon, lat, feedback)


def access_m(algorithm, parameters, context, feedback, plane: ShorePlane, lon, lat) -> np.ndarray:
    """Return the distance of each point to the nearest thing in ACCESS [m]; 0 inside a polygon.

    Raises
    ------
    InputError
        If the layer holds nothing.
    """
    source = source_of(algorithm, parameters, "ACCESS", context)
    crs, drawn, pulse = wkt_of(source.sourceCrs()), [], pulse_of(feedback)
    for feature in source.getFeatures(QgsFeatureRequest(), UNCHECKED):
        pulse()
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
        pulse()
        dist[k] = things.distance(xy)[0]
    inside = inside_polygons(source, "ACCESS", lon, lat, feedback)
    return np.where(inside, 0.0, dist)
