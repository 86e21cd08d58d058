"""Models that ship with the plugin."""
from __future__ import annotations

import os

from qgis.core import Qgis, QgsMessageLog, QgsProcessingModelAlgorithm
from qgis.PyQt.QtGui import QIcon

from ..folders import ICONS, MODELS

TITLES = {"shoretosheet": "From a shoreline to site sheets"}
"""What the models are shown as; their file's name is their id."""
SUMMARIES = {"shoretosheet": "Candidates along a shoreline, their ranking, better positions for the best, and a site "
                             "sheet for each, in one run."}
"""Their tooltips in the toolbox."""


class ShippedModel(QgsProcessingModelAlgorithm):
    """A model with a title of its own beside its id."""

    def displayName(self) -> str:
        return TITLES[self.name()]

    def groupId(self) -> str:
        # as the algorithms of the same group have it, or the toolbox shows the group twice
        return self.group().lower().replace(" ", "")

    def icon(self) -> QIcon:
        return QIcon(self.svgIconPath())

    def svgIconPath(self) -> str:
        return os.path.join(ICONS, "stillwater.svg")

    def shortDescription(self) -> str:
        return SUMMARIES[self.name()]


def shipped_ids() -> list[str]:
    """Return the ids of all models."""
    return list(TITLES)


def shipped_models() -> list[ShippedModel]:
    """Load all models; one that this QGIS cannot read is left out and named in the message log."""
    found = []
    for name in TITLES:
        model, path = ShippedModel(), os.path.join(MODELS, f"{name}.model3")
        if model.fromFile(path):
            found.append(model)
        else:
            QgsMessageLog.logMessage(f"The model {path} cannot be read.", "Stillwater", Qgis.MessageLevel.Warning)
    return found
