"""Where an output goes and where the inputs come from, so that no run overwrites what it reads."""
from __future__ import annotations

import os
from typing import Any, NamedTuple, Protocol

from qgis.core import (
    QgsDataSourceUri,
    QgsMapLayer,
    QgsProcessingAlgorithm,
    QgsProcessingContext,
    QgsProcessingFeatureSourceDefinition,
    QgsProcessingOutputLayerDefinition,
    QgsProcessingUtils,
    QgsProperty,
)


class InputPlace(NamedTuple):
    """The file, and the table in it (None: not told), that a parameter reads."""

    parameter: str
    path: str
    table: str | None


def destination_of(value: Any, context: QgsProcessingContext) -> tuple[str, str | None]:
    """Return the file and table that an output parameter names.

    Returns
    -------
    path : str
        Empty where it is no file.
    table : str or None
        None where the whole file is written anew.
    """
    if isinstance(value, QgsProcessingOutputLayerDefinition):
        value = value.sink
    text = _text_of(value, context)
    if text.startswith("ogr:"):
        uri = QgsDataSourceUri(text[4:])
        return uri.database(), uri.table()
    return text, None


class Inputs(Protocol):
    """What was given to an algorithm, such as a `Given`."""

    algorithm: QgsProcessingAlgorithm
    parameters: dict
    context: QgsProcessingContext


def files_of_inputs(given: Inputs) -> list[InputPlace]:
    """List the files that the layers given to an algorithm are read from."""
    places = []
    for definition in given.algorithm.parameterDefinitions():
        value = given.parameters.get(definition.name())
        if definition.isDestination() or definition.type() not in ("source", "raster") or value in (None, ""):
            continue
        if isinstance(value, QgsProcessingFeatureSourceDefinition):
            value = value.source
        if not isinstance(value, QgsMapLayer):
            text = _text_of(value, given.context)
            value = QgsProcessingUtils.mapLayerFromString(text, given.context, False) or text
        path, *options = (value.source() if isinstance(value, QgsMapLayer) else value).split("|")
        table = next((o.partition("=")[2] for o in options if o.startswith("layername=")), None)
        places.append(InputPlace(definition.name(), path, table))
    return places


def same_place(path: str, table: str | None, other: InputPlace) -> bool:
    """Tell whether writing to a file (or a table of it) destroys what another parameter reads."""
    if not os.path.exists(path) or not os.path.exists(other.path) or not os.path.samefile(path, other.path):
        return False
    return table is None or table == other.table


def _text_of(value, context) -> str:
    if isinstance(value, QgsProperty):
        value = value.valueAsString(context.expressionContext(), "")[0]
    return value if isinstance(value, str) else ""
