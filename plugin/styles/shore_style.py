"""The look of shore candidates and of water from a shoreline, for `make_styles`."""
from __future__ import annotations

from checkout import palette
from qgis.core import (
    QgsCategorizedSymbolRenderer,
    QgsFillSymbol,
    QgsMarkerSymbol,
    QgsPalLayerSettings,
    QgsProperty,
    QgsRendererCategory,
    QgsSimpleMarkerSymbolLayer,
    QgsSymbolLayer,
    QgsTextFormat,
    QgsVectorLayer,
    QgsVectorLayerSimpleLabeling,
)

INK, PAPER = palette.MAP_INK, palette.PAPER
LOOKS = [("shore", "circle", -1, "on the shore"), ("edge", "square", 2, "on the edge of a roof or pier"),
         ("corner", "diamond", -2, "at the corner of a roof or pier")]
LABELS_FROM_SCALE = 3000


def style_shore_candidates(layer: QgsVectorLayer, ramp: tuple[str, ...], text: QgsTextFormat) -> None:
    """Give each kind a shape, and each point a small arrow towards the water; close up, its name."""
    categories = []
    for value, shape, shade, title in LOOKS:
        symbol = QgsMarkerSymbol.createSimple(
            {"name": "arrow", "color": PAPER, "size": "4.0", "outline_color": PAPER, "outline_width": "0.9"})
        symbol.appendSymbolLayer(QgsSimpleMarkerSymbolLayer.create(
            {"name": "arrow", "color": INK, "size": "4.0", "outline_color": INK, "outline_width": "0.2"}))
        for arrow in (symbol.symbolLayer(0), symbol.symbolLayer(1)):
            # the arrow's foot stands on the point, and the offset turns with it
            arrow.setVerticalAnchorPoint(arrow.VerticalAnchorPoint.Bottom)
            arrow.setDataDefinedProperty(QgsSymbolLayer.Property.PropertyAngle, QgsProperty.fromField("face_deg"))
        symbol.appendSymbolLayer(QgsSimpleMarkerSymbolLayer.create(
            {"name": shape, "color": ramp[shade], "size": "2.2", "outline_color": INK, "outline_width": "0.3"}))
        categories.append(QgsRendererCategory(value, symbol, title))
    layer.setRenderer(QgsCategorizedSymbolRenderer("kind", categories))
    labels = QgsPalLayerSettings()
    labels.fieldName = "site"
    labels.setFormat(text)
    labels.placement = QgsPalLayerSettings.Placement.OrderedPositionsAroundPoint
    labels.dist = 1.2
    labels.scaleVisibility, labels.minimumScale, labels.maximumScale = True, LABELS_FROM_SCALE, 0
    layer.setLabeling(QgsVectorLayerSimpleLabeling(labels))
    layer.setLabelsEnabled(True)
    layer.setDisplayExpression("\"site\" || ', facing ' || round(\"face_deg\") || '°'")
    layer.setMapTipTemplate(
        "<b>[% \"site\" %]</b> ([% \"kind\" %]), facing [% round(\"face_deg\") %]°"
        "[% coalesce('<br>ground at ' || format_number(\"ground_m\", 1) || ' m', '') %]"
        "[% coalesce('<br>' || round(\"access_m\") || ' m to access', '') %]")


def style_water(layer: QgsVectorLayer) -> None:
    """Draw water pale enough for imagery to show through; a dashed rim where it ends at the reach."""
    looks = [("open", "dash", "open water, ends at the reach"), ("ring", "solid", "closed by shore all round")]
    layer.setRenderer(QgsCategorizedSymbolRenderer("kind", [
        QgsRendererCategory(value, QgsFillSymbol.createSimple({
            "color": palette.rgba(palette.SHALLOW, 80), "outline_color": palette.rgba(palette.DEEP, 220),
            "outline_width": "0.4", "outline_style": line}), title) for value, line, title in looks]))
    layer.setDisplayExpression("\"kind\" || ' water, ' || round(\"length_m\") || ' m of shore'")
    layer.setMapTipTemplate("<b>[% \"kind\" %] water</b><br>[% round(\"length_m\") %] m of shore on its rim")
