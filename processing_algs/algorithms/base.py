"""What all algorithms have in common: identity, refusal of unknown parameters, errors, clean-up."""
from __future__ import annotations

import html
import os
import traceback
from collections.abc import Sequence
from typing import Callable

from qgis.core import (
    Qgis,
    QgsCoordinateReferenceSystem,
    QgsFields,
    QgsMessageLog,
    QgsProcessingAlgorithm,
    QgsProcessingContext,
    QgsProcessingException,
    QgsProcessingFeedback,
    QgsProcessingParameterDefinition,
    QgsProcessingParameterEnum,
    QgsProcessingParameterNumber,
    QgsWkbTypes,
)
from qgis.PyQt.QtCore import QCoreApplication
from qgis.PyQt.QtGui import QIcon

from ...siting.errors import Cancelled, InputError, StillwaterError
from ...siting.ground.rasters import bounded_cache
from ..folders import ICONS
from ..layers import styling
from ..layers.destinations import destination_of, files_of_inputs, same_place
from ..layers.fields import Column, fields_of, with_input_fields
from ..layers.writing import Output
from ..reading.candidates import Sites
from ..reading.given import Given


class StillwaterAlgorithm(QgsProcessingAlgorithm):
    """Base of the algorithms: subclasses set the texts, define parameters, and implement `compute`."""

    ID = TITLE = GROUP = SUMMARY = ""
    TAGS: tuple = ()
    NOTES = (
        "Geometry is computed in true metres and true north at each site, whatever the coordinate reference systems "
        "of the layers. A parameter name that is not listed here is refused.")
    CAUTION = (
        "This is geometry on the layers given, no survey. Work on masts, roofs, quays, near water and power needs "
        "the usual care; local codes, permits and licensed practice come first. Not for navigation.")

    def createInstance(self) -> StillwaterAlgorithm:
        return type(self)()

    def tr(self, text: str) -> str:
        """Translate a text."""
        return QCoreApplication.translate("Stillwater", text)

    def name(self) -> str:
        return self.ID

    def displayName(self) -> str:
        return self.tr(self.TITLE)

    def group(self) -> str:
        return self.tr(self.GROUP)

    def groupId(self) -> str:
        return self.GROUP.lower().replace(" ", "")

    def tags(self) -> list[str]:
        return ["gnss", "gps", "reflectometry", "multipath", "antenna", "site", "fresnel", *self.TAGS]

    def icon(self) -> QIcon:
        return QIcon(self.svgIconPath())

    def svgIconPath(self) -> str:
        return os.path.join(ICONS, f"{self.ID}.svg")

    def shortDescription(self) -> str:
        return self.tr(self.SUMMARY)

    def shortHelpString(self) -> str:
        rows = "".join(
            f"<p><b>{html.escape(p.description())}</b> ({p.name()}): {html.escape(self.tr(p.help()))}</p>"
            for p in self.parameterDefinitions() if p.help())
        return (f"<p>{self.tr(self.SUMMARY)}</p><p>{self.tr(self.NOTES)}</p>{rows}"
                f"<p><i>{self.tr(self.CAUTION)}</i></p>")

    def checkParameterValues(self, parameters: dict, context: QgsProcessingContext) -> tuple[bool, str]:
        known = {p.name() for p in self.parameterDefinitions()}
        unknown = sorted(set(parameters) - known)
        if unknown:
            return False, (f"Unknown parameter {', '.join(unknown)}. This algorithm knows: "
                           f"{', '.join(sorted(known))}.")
        ok, text = super().checkParameterValues(parameters, context)
        if not ok:
            text = self._refusal(parameters, context) or text
        return ok, text

    def _refusal(self, parameters, context) -> str:
        """Say which value is not acceptable and what would be; empty where QGIS's own text has to do."""
        for definition in self.parameterDefinitions():
            if definition.isDestination() or definition.name() not in parameters:
                continue
            value = parameters[definition.name()]
            if definition.checkValueIsAcceptable(value, context):
                continue
            if definition.type() in ("source", "raster"):
                return ""  # QGIS says which file or layer it did not find
            if value is None or value == "":
                return f"{definition.name()} is missing. {definition.description()}: {definition.help()}"
            text = f"{definition.name()} cannot be “{value}”. {definition.description()}: {definition.help()}"
            if isinstance(definition, QgsProcessingParameterEnum):
                text += f" Choose one of: {', '.join(definition.options())}."
            elif isinstance(definition, QgsProcessingParameterNumber):
                bounds = (("at least", definition.minimum()), ("at most", definition.maximum()))
                limits = [f"{word} {limit:g}" for word, limit in bounds if abs(limit) < 1e300]
                text += " It must be a number" + (f", {' and '.join(limits)}." if limits else ".")
            return text
        return ""

    def processAlgorithm(self, parameters: dict, context: QgsProcessingContext,
                         feedback: QgsProcessingFeedback) -> dict:
        self._outputs: list[Output] = []
        self._started = styling.run_name(self.displayName())
        try:
            with bounded_cache():
                results = self.compute(Given(self, parameters, context, feedback))
            for output in self._outputs:
                output.close()
            return results
        except Cancelled:
            self._discard(context)
            feedback.pushInfo(self.tr("Cancelled; nothing was written."))
            return {}
        except StillwaterError as error:
            self._discard(context)
            raise QgsProcessingException(str(error)) from None
        except QgsProcessingException:
            self._discard(context)
            raise
        except Exception as error:  # an error of ours: the user gets a sentence, the log the traceback
            self._discard(context)
            QgsMessageLog.logMessage(traceback.format_exc(), "Stillwater", Qgis.MessageLevel.Critical)
            raise QgsProcessingException(
                f"Stillwater stopped at an error of its own ({type(error).__name__}: {error}). Nothing was written. "
                "The traceback is in the log panel “Stillwater”; please report it.") from None

    def compute(self, given: Given) -> dict:
        """Do the work; errors meant for the user are `StillwaterError`."""
        raise QgsProcessingException(f"{self.ID} does nothing")

    def _discard(self, context):
        for output in self._outputs:
            output.discard(context)

    def open_output(self, given: Given, name: str, fields: QgsFields | Sequence[Column], wkb_type: QgsWkbTypes.Type,
                    crs: QgsCoordinateReferenceSystem) -> Output | None:
        """Open a sink, or return None where an optional output was not asked for.

        Parameters
        ----------
        given : Given
        name : str
            Of the output parameter.
        fields : QgsFields or sequence of Column
        wkb_type : QgsWkbTypes.Type
        crs : QgsCoordinateReferenceSystem

        Raises
        ------
        InputError
            If it cannot be created.
        """
        parameters, context = given.parameters, given.context
        fields = fields if isinstance(fields, QgsFields) else fields_of(fields)
        definition = self.parameterDefinition(name)
        optional = bool(definition.flags() & QgsProcessingParameterDefinition.Flag.FlagOptional)
        if optional and not parameters.get(name):
            return None
        if not parameters.get(name):
            # dialogs and qgis_process ask for it, a model may not
            raise InputError(f"{name} is missing. Say where “{definition.description()}” is to be written.")
        path, table = destination_of(parameters[name], context)
        for other in files_of_inputs(given):
            if same_place(path, table, other):
                raise InputError(f"{name} would overwrite “{path}”, which {other.parameter} is read from. "
                                 "Choose another file.")
        if wkb_type == QgsWkbTypes.Type.NoGeometry and path.lower().endswith(".shp"):
            # QGIS would write a .dbf, and then look for the .shp in vain
            raise InputError(f"{name} is a table without geometry, which is no Shapefile. Choose .gpkg or .csv.")
        is_new = not os.path.exists(path)
        try:
            sink, dest_id = self.parameterAsSink(parameters, name, context, fields, wkb_type, crs)
        except QgsProcessingException as error:
            if is_new and os.path.isfile(path):
                os.remove(path)
            raise InputError(f"{name} cannot be created: {error}. Choose another file, folder or format.") from None
        if sink is None:
            raise InputError(f"{name} cannot be created. Choose another file, folder or format.")
        output = Output(sink, dest_id, name, fields)
        self._outputs.append(output)
        styling.style_when_loaded(context, dest_id, self.ID, name, self._started)
        return output


def fields_beside_input(given: Given, sites: Sites,
                        columns: Sequence[Column]) -> tuple[QgsFields, Callable[[int], list]]:
    """Make fields for rows that keep those of INPUT, and tell in the log which were renamed or left out.

    Parameters
    ----------
    given : Given
    sites : Sites
    columns : sequence of Column
        Those that are added.

    Returns
    -------
    fields : QgsFields
    kept : callable
        Gives the attributes that a candidate brings along, by its index.
    """
    fields, indices, notes = with_input_fields(sites.source.fields(), columns)
    for note in notes:
        given.note(note)
    return fields, lambda index: [sites.features[index].attribute(i) for i in indices]
