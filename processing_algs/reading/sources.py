"""Opening the layers that a user gives: vector sources, rasters, polygons near candidates."""
from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING, Callable

import numpy as np
from qgis.core import (
    QgsCoordinateReferenceSystem,
    QgsCoordinateTransform,
    QgsCsException,
    QgsFeatureRequest,
    QgsPalettedRasterRenderer,
    QgsProcessingFeatureSource,
    QgsRectangle,
    QgsWkbTypes,
)

from ...siting.candidates import Candidate
from ...siting.errors import InputError
from ...siting.ground.polygons import PolygonLayer
from ...siting.ground.rasters import Raster
from ..layers.geometries import rings_of

if TYPE_CHECKING:
    from .given import Given

UNCHECKED = QgsProcessingFeatureSource.Flag.FlagSkipGeometryValidityChecks
"""Whatever the user's Processing settings say of invalid shapes: what is wrong with one is told, or mended, here."""


def wkt_of(crs: QgsCoordinateReferenceSystem) -> str:
    """Write a QGIS CRS as WKT that the science reads."""
    return crs.toWkt(QgsCoordinateReferenceSystem.WktVariant.WKT_PREFERRED)


def open_source(given: Given, name: str) -> QgsProcessingFeatureSource:
    """Open a vector source and refuse one without a CRS.

    Raises
    ------
    InputError
    """
    source = given.algorithm.parameterAsSource(given.parameters, name, given.context)
    if source is None:
        raise InputError(f"{name} “{given.parameters.get(name)}” cannot be opened. Check the layer or path.")
    if not source.sourceCrs().isValid():
        raise InputError(
            f"{name} “{source.sourceName()}” has no coordinate reference system. Assign it one first.")
    return source


def field_index(given: Given, name: str, source: QgsProcessingFeatureSource) -> int:
    """Return the index of the field a parameter names; -1 where it is not given.

    Raises
    ------
    InputError
        If the layer has no such field.
    """
    # newer QGIS has a new name for it, 3.22 only the old one
    read = getattr(given.algorithm, "parameterAsStrings", None) or given.algorithm.parameterAsFields
    chosen = read(given.parameters, name, given.context)
    if not chosen or not chosen[0]:
        return -1
    index = source.fields().lookupField(chosen[0])
    if index < 0:
        raise InputError(
            f"{name}: layer “{source.sourceName()}” has no field “{chosen[0]}”. It has: "
            f"{', '.join(f.name() for f in source.fields())}.")
    return index


def open_raster(given: Given, name: str) -> Raster | None:
    """Open a raster parameter; None where it is not given.

    Raises
    ------
    InputError
        If it cannot be read by GDAL or has no CRS.
    """
    if not given.is_given(name):
        return None
    layer = given.algorithm.parameterAsRasterLayer(given.parameters, name, given.context)
    if layer is None or not layer.isValid():
        raise InputError(
            f"{name} “{given.parameters.get(name)}” cannot be opened as a raster. Check the layer or path.")
    if layer.providerType() != "gdal":
        raise InputError(
            f"{name} “{layer.name()}” comes from the “{layer.providerType()}” provider, which gives pictures and no "
            "values. Export it to a GeoTIFF.")
    if not layer.crs().isValid():
        raise InputError(f"{name} “{layer.name()}” has no coordinate reference system. Assign it one first.")
    raster = Raster(layer.source(), layer.name(), crs=wkt_of(layer.crs()))
    renderer = layer.renderer()
    if isinstance(renderer, QgsPalettedRasterRenderer):
        for entry in renderer.classes():
            # legends often begin with the class's number, which is no name
            label = re.sub(rf"^{re.escape(f'{entry.value:g}')}(?![\w.])[\s:.,–-]*", "", entry.label)
            if label:
                raster.category_names.setdefault(int(entry.value), label)
    return raster


def read_polygons(given: Given, name: str, candidates: list[Candidate], reach_m: float,
                  group_of: Callable | None = None) -> tuple[PolygonLayer | None, list]:
    """Read a polygon parameter near the candidates; None where it is not given.

    Parameters
    ----------
    candidates : list of Candidate
        Resolved.
    reach_m : float
        How far from any of them polygons matter [m].
    group_of : callable, optional
        Gives the group's key of a feature; without it all are one group.

    Returns
    -------
    layer : PolygonLayer or None
    keys : list
        Key of each group.
    """
    if not given.is_given(name):
        return None, []
    source = given.source(name)
    if QgsWkbTypes.geometryType(source.wkbType()) not in (
            QgsWkbTypes.GeometryType.PolygonGeometry, QgsWkbTypes.GeometryType.UnknownGeometry):
        raise InputError(
            f"{name} “{source.sourceName()}” holds no polygons but {QgsWkbTypes.displayString(source.wkbType())}. "
            "Give a polygon layer.")
    request = QgsFeatureRequest()
    box = _box_around(candidates, reach_m, source.sourceCrs(), given.context)
    if box is not None:
        request.setFilterRect(box)
    rings, groups, repaired = [], {}, 0
    # invalid polygons are repaired here, whatever the user's Processing settings say of them
    for feature in source.getFeatures(request, UNCHECKED):
        given.stop_if_cancelled()
        geometry = feature.geometry()
        if geometry.isNull() or geometry.isEmpty():
            continue
        if not geometry.isGeosValid():
            geometry, repaired = geometry.makeValid(), repaired + 1
            if geometry.isNull():
                raise InputError(
                    f"{name} “{source.sourceName()}”, feature {feature.id()}: its polygon is invalid and cannot be "
                    "repaired. Mend it with “Fix geometries”.")
        key = group_of(feature, source) if group_of else None
        rings += rings_of(geometry, groups.setdefault(key, len(groups)))
    if repaired:
        given.warn(
            f"{name} “{source.sourceName()}”: {repaired} invalid polygon(s) were repaired for this run; the layer is "
            "unchanged. Look at them if the result surprises.")
    layer = PolygonLayer(rings, wkt_of(source.sourceCrs()), source.sourceName(), max(len(groups), 1))
    return layer, list(groups)


def _box_around(candidates, reach_m, crs, context):
    """Return the box of all candidates in a CRS with their reach around; None where that is not safe."""
    lon = np.array([c.lon for c in candidates if not c.problem])
    lat = np.array([c.lat for c in candidates if not c.problem])
    margin = reach_m * 1.1 / 110_000.0 + 0.001
    if not len(lon) or np.abs(lat).max() + margin > 85 or np.ptp(lon) > 120:
        return None
    wide = margin / math.cos(math.radians(np.abs(lat).max() + margin))
    if lon.min() - wide < -180 or lon.max() + wide > 180:
        return None
    box = QgsRectangle(lon.min() - wide, lat.min() - margin, lon.max() + wide, lat.max() + margin)
    transform = QgsCoordinateTransform(
        QgsCoordinateReferenceSystem("EPSG:4326"), crs, context.transformContext())
    try:
        return transform.transformBoundingBox(box)
    except QgsCsException:
        return None
