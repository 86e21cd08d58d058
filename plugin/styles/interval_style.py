"""The style of recommended intervals."""
from __future__ import annotations

import uuid

from checkout import palette
from labels import label_beside
from qgis.core import (
    QgsMarkerSymbol,
    QgsRuleBasedRenderer,
    QgsSimpleMarkerSymbolLayer,
    QgsVectorLayer,
)

INK, PAPER = palette.MAP_INK, palette.PAPER


def style_intervals(layer: QgsVectorLayer, ramp: tuple[str, ...], text) -> None:
    """Make a site the lighter the longer its recommended interval is, and write the interval."""
    looks = [
        ("\"int_rec_s\" >= 30", "circle", ramp[4], 3.6, 0, "30 s or longer will do"),
        ("\"int_rec_s\" >= 5 AND \"int_rec_s\" < 30", "circle", ramp[3], 3.6, 0, "5 to 15 s"),
        ("\"int_rec_s\" >= 1 AND \"int_rec_s\" < 5", "circle", ramp[2], 3.6, 0, "1 to 2 s"),
        ("\"int_rec_s\" < 1", "circle", ramp[1], 3.6, 0, "shorter than 1 s"),
        ("\"int_max_s\" IS NOT NULL AND \"int_rec_s\" IS NULL", "cross_fill", ramp[0], 3.4, 45,
         "no usual interval will do"),
        ("\"int_max_s\" IS NULL", "square", palette.rgba(PAPER, 60), 2.8, 0, "no arcs, or not assessed"),
    ]
    root = QgsRuleBasedRenderer.Rule(None)
    for number, (expression, shape, colour, size, angle, title) in enumerate(looks):
        common = {"name": shape, "angle": str(angle)}
        symbol = QgsMarkerSymbol.createSimple(
            {**common, "color": PAPER, "size": str(size), "outline_color": PAPER, "outline_width": "1.1"})
        symbol.appendSymbolLayer(QgsSimpleMarkerSymbolLayer.create(
            {**common, "color": colour, "size": str(size), "outline_color": INK, "outline_width": "0.35"}))
        rule = QgsRuleBasedRenderer.Rule(symbol, 0, 0, expression, title)
        rule.setRuleKey(f"{{{uuid.uuid5(uuid.NAMESPACE_URL, f'stillwater intervals {number}')}}}")
        root.appendChild(rule)
    root.setRuleKey(f"{{{uuid.uuid5(uuid.NAMESPACE_URL, 'stillwater intervals')}}}")
    layer.setRenderer(QgsRuleBasedRenderer(root))
    label_beside(layer, "\"site\" || coalesce('  ' || \"int_rec_s\" || ' s', '')", text)
    layer.setDisplayExpression("\"site\" || coalesce(', ' || \"int_rec_s\" || ' s', '')")
    layer.setMapTipTemplate(
        "<b>[% \"site\" %]</b>[% coalesce(', ' || round(\"height_m\", 1) || ' m over the lowest level', '') %]<br>"
        "[% CASE WHEN \"int_max_s\" IS NULL THEN 'no arcs, or not assessed' ELSE 'resolved when logged every ' || "
        "format_number(\"int_max_s\", 1) || ' s or oftener, ' || coalesce('recommended ' || \"int_rec_s\" || ' s', "
        "'no usual interval leaves a margin') END %]")
