"""Labels beside points."""
from __future__ import annotations

from qgis.core import QgsPalLayerSettings, QgsTextFormat, QgsVectorLayer, QgsVectorLayerSimpleLabeling


def label_beside(layer: QgsVectorLayer, expression: str, text: QgsTextFormat) -> None:
    """Write what an expression says beside each point, where there is room."""
    labels = QgsPalLayerSettings()
    labels.fieldName = expression
    labels.isExpression = True
    labels.setFormat(text)
    labels.placement = QgsPalLayerSettings.Placement.OrderedPositionsAroundPoint
    labels.offsetType = QgsPalLayerSettings.OffsetType.FromSymbolBounds
    labels.dist = 0.3
    layer.setLabeling(QgsVectorLayerSimpleLabeling(labels))
    layer.setLabelsEnabled(True)
