"""Layers of candidates: which of the project serve, how a new one is made, and how a place is added."""
from __future__ import annotations

import os

from qgis.core import (
    QgsCoordinateReferenceSystem,
    QgsFeature,
    QgsGeometry,
    QgsMapLayer,
    QgsMarkerSymbol,
    QgsPalLayerSettings,
    QgsProject,
    QgsProviderRegistry,
    QgsSingleSymbolRenderer,
    QgsVectorDataProvider,
    QgsVectorFileWriter,
    QgsVectorLayer,
    QgsVectorLayerSimpleLabeling,
    QgsVectorLayerUtils,
    QgsWkbTypes,
)

from ....processing_algs.layers.fields import Column, fields_of
from ....siting.charts.palette import INK, PAPER
from ....siting.errors import InputError
from ....siting.live.looker import Spot
from ..model.bench import AntennaPlace, in_crs
from ..model.settings import BenchSettings

COLUMNS = [
    Column("name", "text", "Name"), Column("height_m", "number", "Antenna height [m]"),
    Column("level_m", "number", "Zero level of the water [m]"), Column("low_m", "number", "Lowest level [m]"),
    Column("high_m", "number", "Highest level [m]"), Column("purpose", "text", "What is to be measured"),
    Column("height_cm", "number", "Precision of a value [cm; soil moisture: °]"),
    Column("score", "number", "Score (0 to 100)"), Column("verdict", "text", "Verdict"),
    Column("limit_by", "text", "Limited by"), Column("advice", "text", "Advice"),
    Column("int_rec_s", "number", "Recommended interval [s]"),
]
NEEDED = {"name": False, "height_m": True, "level_m": True, "low_m": True, "high_m": True}
"""Fields without which a layer does not serve, and whether they must be numbers."""
TABLE = "candidates"


def serves(layer: QgsMapLayer) -> bool:
    """Tell whether a layer of the project has points, and the fields that an algorithm needs to find the same."""
    if not isinstance(layer, QgsVectorLayer) or not layer.isValid():
        return False
    if layer.geometryType() != QgsWkbTypes.GeometryType.PointGeometry:
        return False
    fields = layer.fields()
    found = {name: fields.lookupField(name) for name in NEEDED}
    return all(index >= 0 and fields.at(index).isNumeric() == NEEDED[name] for name, index in found.items())


def layers_that_serve(project: QgsProject) -> list[QgsVectorLayer]:
    """List the layers of the project to which a place can be added, by name."""
    serving = [layer for layer in project.mapLayers().values() if serves(layer)]
    return sorted(serving, key=lambda layer: layer.name().lower())


def new_layer(crs: QgsCoordinateReferenceSystem, title: str) -> QgsVectorLayer:
    """Make a temporary layer of candidates, styled; it is not in the project yet."""
    layer = QgsVectorLayer("Point", title, "memory")
    layer.setCrs(crs)
    layer.dataProvider().addAttributes(fields_of(COLUMNS).toList())
    layer.updateFields()
    return _dressed(layer)


def new_file_layer(path: str, crs: QgsCoordinateReferenceSystem, title: str, project: QgsProject) -> QgsVectorLayer:
    """Make a layer of candidates in a GeoPackage, styled; a file that exists gets one table more.

    Raises
    ------
    InputError
        If it cannot be written.
    """
    options = QgsVectorFileWriter.SaveVectorOptions()
    options.driverName = "GPKG"
    options.layerName = _free_table(path)
    if os.path.exists(path):
        options.actionOnExistingFile = QgsVectorFileWriter.ActionOnExistingFile.CreateOrOverwriteLayer
    writer = QgsVectorFileWriter.create(path, fields_of(COLUMNS), QgsWkbTypes.Type.Point, crs,
                                        project.transformContext(), options)
    problem = "" if writer.hasError() == QgsVectorFileWriter.WriterError.NoError else writer.errorMessage()
    # what was written is on the disk only when the writer has gone
    del writer
    layer = QgsVectorLayer(f"{path}|layername={options.layerName}", title, "ogr")
    if problem or not layer.isValid():
        raise InputError(f"“{path}” cannot be written: {problem or 'it holds no layer afterwards'}. Choose another "
                         "file or folder.")
    return _dressed(layer)


def _free_table(path: str) -> str:
    """Return a name that no table of a GeoPackage has."""
    taken, number = set(), 1
    if os.path.exists(path):
        found = QgsProviderRegistry.instance().providerMetadata("ogr").querySublayers(path)
        taken = {layer.name() for layer in found}
    while (TABLE if number == 1 else f"{TABLE}_{number}") in taken:
        number += 1
    return TABLE if number == 1 else f"{TABLE}_{number}"


def _dressed(layer):
    """Give a layer its aliases, a mark and labels."""
    for column in COLUMNS:
        layer.setFieldAlias(layer.fields().lookupField(column.name), column.alias)
    layer.setRenderer(QgsSingleSymbolRenderer(QgsMarkerSymbol.createSimple({
        "name": "triangle", "size": "3.2", "color": PAPER, "outline_color": INK, "outline_width": "0.5"})))
    labels = QgsPalLayerSettings()
    labels.fieldName = "name"
    form = labels.format()
    form.setSize(9)
    buffer = form.buffer()
    buffer.setEnabled(True)
    buffer.setSize(0.8)
    form.setBuffer(buffer)
    labels.setFormat(form)
    layer.setLabeling(QgsVectorLayerSimpleLabeling(labels))
    layer.setLabelsEnabled(True)
    return layer


def names_in(layer: QgsVectorLayer) -> set:
    """Return the names that a layer of candidates holds."""
    return {str(value) for value in layer.uniqueValues(layer.fields().lookupField("name"))}


def values_of(name: str, place: AntennaPlace, spot: Spot, settings: BenchSettings) -> dict:
    """Return what a layer of candidates keeps of a place, by field."""
    row = spot.row
    return {"name": name, "height_m": place.height_m, "level_m": settings.SURFACE_LEVEL, "low_m": settings.LEVEL_LOW,
            "high_m": settings.LEVEL_HIGH, "purpose": settings.PURPOSE,
            "height_cm": None if row.result is None else row.result.precision,
            "score": None if row.result is None else row.result.score, "verdict": row.verdict,
            "limit_by": row.limit_by, "advice": row.advice,
            "int_rec_s": None if row.sky is None else row.sky.int_rec_s}


def add_place(layer: QgsVectorLayer, place: AntennaPlace, values: dict, project: QgsProject, step: str) -> None:
    """Add a place to a layer: as a step to undo while it is edited, else at once.

    Parameters
    ----------
    layer : QgsVectorLayer
    place : AntennaPlace
        In any CRS.
    values : dict
        By field; fields that the layer does not have are left out.
    project : QgsProject
    step : str
        What the step to undo is called.

    Raises
    ------
    InputError
        If that cannot be done; it names the layer.
    """
    title = layer.name()
    if not layer.crs().isValid():
        raise InputError(f"Layer “{title}” has no coordinate reference system. Set it, then add the place again.")
    moved = in_crs(place, layer.crs(), project)
    if moved is None:
        raise InputError(f"The place cannot be expressed in the coordinate reference system of layer “{title}”.")
    provider = layer.dataProvider()
    can_add = bool(provider.capabilities() & QgsVectorDataProvider.Capability.AddFeatures)
    if layer.readOnly() or not can_add:
        raise InputError(f"Layer “{title}” is read-only. Choose another layer.")
    feature = _feature(layer, moved.point, values)
    if layer.isEditable():
        layer.beginEditCommand(step)
        if not layer.addFeature(feature):
            layer.destroyEditCommand()
            raise InputError(f"Layer “{title}” did not take the place.")
        layer.endEditCommand()
    else:
        is_added, _features = provider.addFeatures([feature])
        if not is_added:
            why = "; ".join(provider.errors()) or provider.lastError() or "no reason was given"
            provider.clearErrors()
            raise InputError(f"Layer “{title}” did not take the place: {why}.")
        layer.updateExtents()
    layer.triggerRepaint()


def _feature(layer, point, values):
    fields = layer.fields()
    feature = QgsFeature(fields)
    feature.setGeometry(QgsGeometry.fromPointXY(point))
    for name, value in values.items():
        index = fields.lookupField(name)
        if index < 0 or value is None:
            continue
        longest = fields.at(index).length()
        is_cut = isinstance(value, str) and 0 < longest < len(value)
        feature.setAttribute(index, value[:longest] if is_cut else value)
    # multipoints, heights: as the layer has them
    return QgsVectorLayerUtils.makeFeatureCompatible(feature, layer)[0]
