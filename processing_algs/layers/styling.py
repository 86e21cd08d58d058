"""How outputs open: styled, with aliases, in a group named after the run."""
from __future__ import annotations

import os
from datetime import datetime

from qgis.core import (
    QgsMapLayer,
    QgsProcessingContext,
    QgsProcessingFeedback,
    QgsProcessingLayerPostProcessorInterface,
    QgsProject,
)

from ..folders import STYLES

# QGIS keeps no reference of its own to a post-processor, and each serves one layer
_waiting: dict = {}


def run_name(title: str) -> str:
    """Name a run by its algorithm and the local time, as a person would look for it."""
    return f"{title}, {datetime.now():%Y-%m-%d %H:%M}"


def style_path(algorithm_id: str, output: str) -> str:
    """Return the QML of an output."""
    part = "" if output == "OUTPUT" else "_" + output.replace("OUTPUT_", "").lower()
    return os.path.join(STYLES, f"{algorithm_id}{part}.qml")


class _Styler(QgsProcessingLayerPostProcessorInterface):
    """Loads the style of one output layer and moves it into the run's group."""

    def __init__(self, dest_id: str, path: str, group: str):
        super().__init__()
        self._dest_id, self._path, self._group = dest_id, path, group

    def postProcessLayer(self, layer: QgsMapLayer, context: QgsProcessingContext,
                         feedback: QgsProcessingFeedback) -> None:
        _waiting.pop(self._dest_id, None)
        if os.path.exists(self._path):
            message, ok = layer.loadNamedStyle(self._path)
            if not ok:
                feedback.pushWarning(f"The style of “{layer.name()}” could not be loaded: {message}")
        layer.triggerRepaint()
        if not hasattr(QgsProcessingContext.LayerDetails, "groupName"):
            _into_group(context.project() or QgsProject.instance(), layer, self._group)


def _into_group(project, layer, name):
    """Move a layer's node into a group; tables stand below the layers that can be drawn."""
    root = project.layerTreeRoot()
    node = root.findLayer(layer.id())
    if node is None:
        return
    group = root.findGroup(name) or root.insertGroup(0, name)
    group.insertChildNode(0 if layer.isSpatial() else -1, node.clone())
    node.parent().removeChildNode(node)
    # the view hears of a change only, and a new group counts as unfolded before it is so in the view
    group.setExpanded(False)
    group.setExpanded(True)


def style_when_loaded(context: QgsProcessingContext, dest_id: str, algorithm_id: str, output: str, group: str) -> None:
    """Have an output styled and grouped if QGIS loads it after the run.

    Parameters
    ----------
    context : QgsProcessingContext
    dest_id : str
        What `parameterAsSink` gave.
    algorithm_id, output : str
        They choose the style.
    group : str
        Name of the layer group.
    """
    if not context.willLoadLayerOnCompletion(dest_id):
        return
    details = context.layerToLoadOnCompletionDetails(dest_id)
    if hasattr(details, "groupName"):
        details.groupName = group
    _waiting[dest_id] = _Styler(dest_id, style_path(algorithm_id, output), group)
    details.setPostProcessor(_waiting[dest_id])
