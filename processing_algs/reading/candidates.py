"""Reading what a user gives: candidates, heights, polygons, rasters."""
from __future__ import annotations

import math
import re
from collections import Counter

import numpy as np
from qgis.core import (
    NULL,
    QgsCoordinateReferenceSystem,
    QgsCoordinateTransform,
    QgsCsException,
    QgsFeatureRequest,
    QgsGeometry,
    QgsPalettedRasterRenderer,
    QgsProcessingFeatureSource,
    QgsProcessingParameters,
    QgsRectangle,
    QgsWkbTypes,
)

from ...siting.candidates import Candidate
from ...siting.errors import AllUnfitError, Cancelled, InputError
from ...siting.ground.polygons import PolygonLayer
from ...siting.ground.rasters import Raster
from ..layers.geometries import rings_of
from .given import finite
from .owncriteria import own_values, read_own_rows


def wkt_of(crs) -> str:
    """Write a QGIS CRS as WKT that the science reads."""
    return crs.toWkt(QgsCoordinateReferenceSystem.WktVariant.WKT_PREFERRED)


def source_of(algorithm, parameters, name, context):
    """Open a vector source and refuse one without a CRS.

    Raises
    ------
    InputError
    """
    source = algorithm.parameterAsSource(parameters, name, context)
    if source is None:
        raise InputError(f"{name} “{parameters.get(name)}” cannot be opened. Check the layer or path.")
    if not source.sourceCrs().isValid():
        raise InputError(
            f"{name} “{source.sourceName()}” has no coordinate reference system. Assign it one first.")
    return source


class Numbers:
    """A number for each feature: from a field where there is one, else from a parameter.

    Text that is no number, NaN and infinity become NaN, so that the candidate is named and not guessed.
    """

    def __init__(self, algorithm, parameters, context, source, number, field):
        self._property = None
        if QgsProcessingParameters.isDynamic(parameters, number):
            self._property = parameters[number]
            self._context = algorithm.createExpressionContext(parameters, context, source)
        self._default = math.nan if self._property else finite(algorithm, parameters, number, context)
        self._index = field_index(algorithm, parameters, field, context, source) if field else -1

    @property
    def common(self) -> float | None:
        """The number that serves every feature; None where it may differ between them."""
        return self._default if self._property is None and self._index < 0 else None

    def of(self, feature) -> float:
        """Return the number of a feature."""
        value = feature.attribute(self._index) if self._index >= 0 else None
        if value is None or value == NULL:
            if self._property is None:
                return self._default
            self._context.setFeature(feature)
            value, ok = self._property.value(self._context, None)
            if not ok or value is None or value == NULL:
                return math.nan
        try:
            number = float(value)
        except (TypeError, ValueError):
            return math.nan
        return number if math.isfinite(number) else math.nan


def field_index(algorithm, parameters, name, context, source) -> int:
    """Return the index of the field a parameter names; -1 where it is not given.

    Raises
    ------
    InputError
        If the layer has no such field.
    """
    # newer QGIS has a new name for it, 3.22 only the old one
    read = getattr(algorithm, "parameterAsStrings", None) or algorithm.parameterAsFields
    chosen = read(parameters, name, context)
    if not chosen or not chosen[0]:
        return -1
    index = source.fields().lookupField(chosen[0])
    if index < 0:
        raise InputError(
            f"{name}: layer “{source.sourceName()}” has no field “{chosen[0]}”. It has: "
            f"{', '.join(f.name() for f in source.fields())}.")
    return index


def read_candidates(algorithm, parameters, context, feedback, with_levels: bool):
    """Read INPUT.

    Parameters
    ----------
    with_levels : bool
        Whether the algorithm takes LEVEL_LOW and LEVEL_HIGH.

    Returns
    -------
    source : QgsProcessingFeatureSource
    candidates : list of Candidate
        Multipoints taken apart; those without geometry carry their problem.
    features : list of QgsFeature
        The feature of each candidate.
    points : list of QgsGeometry or None
        The point of each candidate.

    Raises
    ------
    InputError
        If there are none.
    """
    source = source_of(algorithm, parameters, "INPUT", context)
    has_zero = algorithm.parameterDefinition("SURFACE_LEVEL") is not None
    height = Numbers(algorithm, parameters, context, source, "ANTENNA_HEIGHT", "HEIGHT_FIELD")
    zero = Numbers(algorithm, parameters, context, source, "SURFACE_LEVEL", "SURFACE_FIELD") if has_zero else None
    low = Numbers(algorithm, parameters, context, source, "LEVEL_LOW", "LOW_FIELD") if with_levels else None
    high = Numbers(algorithm, parameters, context, source, "LEVEL_HIGH", "HIGH_FIELD") if with_levels else None
    has_waves = algorithm.parameterDefinition("WAVE_HEIGHT") is not None
    wave = Numbers(algorithm, parameters, context, source, "WAVE_HEIGHT", "WAVE_FIELD") if has_waves else None
    if wave is not None and wave.common is not None and wave.common < 0:
        raise InputError(f"WAVE_HEIGHT is {wave.common:g} m; it must be 0 or more.")
    if with_levels and low.common is not None and high.common is not None and low.common > high.common:
        raise InputError(
            f"LEVEL_LOW ({low.common:g} m) lies above LEVEL_HIGH ({high.common:g} m). "
            "Exchange them.")
    name_index = field_index(algorithm, parameters, "SITE_FIELD", context, source)
    own = read_own_rows(algorithm, parameters, context)
    candidates, features, points, keys = [], [], [], []
    for feature in source.getFeatures():
        if feedback.isCanceled():
            raise Cancelled("stopped by the user")
        name = feature.attribute(name_index) if name_index >= 0 else None
        name = str(feature.id()) if name is None or name == NULL or str(name).strip() == "" else str(name)
        parts = _points_of(feature)
        for number, point in enumerate(parts):
            x, y = (point.x(), point.y()) if point is not None else (math.nan, math.nan)
            candidates.append(Candidate(
                name, x, y, height.of(feature),
                zero.of(feature) if zero else 0.0,
                low.of(feature) if low else 0.0, high.of(feature) if high else 0.0,
                wave.of(feature) if wave else 0.0, own_values(own, source, feature)))
            features.append(feature)
            points.append(None if point is None else QgsGeometry.fromPointXY(point))
            keys.append(f"{feature.id()}" if len(parts) == 1 else f"{feature.id()}.{number + 1}")
    if not candidates:
        raise InputError(f"INPUT “{source.sourceName()}” has no features, so there is nothing to assess.")
    _make_names_unique(candidates, keys)
    return source, candidates, features, points


def _points_of(feature):
    geometry = feature.geometry()
    if geometry.isNull() or geometry.isEmpty():
        return [None]
    if QgsWkbTypes.geometryType(geometry.wkbType()) != QgsWkbTypes.GeometryType.PointGeometry:
        raise InputError(f"INPUT, feature {feature.id()}: it is no point. Use centroids or vertices instead.")
    return geometry.asMultiPoint() if geometry.isMultipart() else [geometry.asPoint()]


def _make_names_unique(candidates, keys):
    while True:
        count = Counter(c.name for c in candidates)
        if len(count) == len(candidates):
            return
        # a name with its id appended may be another's name already: look again
        for one, key in zip(candidates, keys):
            if count[one.name] > 1:
                one.name = key if one.name == key.partition(".")[0] else f"{one.name} {key}"


def tell_problems(candidates, feedback, most: int = 20) -> None:
    """Name in the log the candidates that cannot be assessed, and count them."""
    bad = [c for c in candidates if c.problem]
    for one in bad[:most]:
        feedback.pushWarning(f"Candidate “{one.name}” is not assessed: {one.problem}.")
    if len(bad) > most:
        feedback.pushWarning(f"… and {len(bad) - most} more.")
    if bad:
        feedback.pushWarning(f"{len(bad)} of {len(candidates)} candidates are not assessed.")
    if len(bad) == len(candidates):
        raise AllUnfitError(
            f"None of the {len(candidates)} candidates can be assessed; the first, “{bad[0].name}”: "
            f"{bad[0].problem}.", bad[0].problem)


def open_raster(algorithm, parameters, name, context) -> Raster | None:
    """Open a raster parameter; None where it is not given.

    Raises
    ------
    InputError
        If it cannot be read by GDAL or has no CRS.
    """
    if parameters.get(name) in (None, "", NULL):
        return None
    layer = algorithm.parameterAsRasterLayer(parameters, name, context)
    if layer is None or not layer.isValid():
        raise InputError(f"{name} “{parameters.get(name)}” cannot be opened as a raster. Check the layer or path.")
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


def read_polygons(algorithm, parameters, name, context, feedback, candidates, reach_m, group_of=None):
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
    if parameters.get(name) in (None, "", NULL):
        return None, []
    source = source_of(algorithm, parameters, name, context)
    if QgsWkbTypes.geometryType(source.wkbType()) not in (
            QgsWkbTypes.GeometryType.PolygonGeometry, QgsWkbTypes.GeometryType.UnknownGeometry):
        raise InputError(
            f"{name} “{source.sourceName()}” holds no polygons but {QgsWkbTypes.displayString(source.wkbType())}. "
            "Give a polygon layer.")
    request = QgsFeatureRequest()
    box = _box_around(candidates, reach_m, source.sourceCrs(), context)
    if box is not None:
        request.setFilterRect(box)
    rings, groups, repaired = [], {}, 0
    # invalid polygons are repaired here, whatever the user's Processing settings say of them
    for feature in source.getFeatures(request, QgsProcessingFeatureSource.Flag.FlagSkipGeometryValidityChecks):
        if feedback.isCanceled():
            raise Cancelled("stopped by the user")
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
        feedback.pushWarning(
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
