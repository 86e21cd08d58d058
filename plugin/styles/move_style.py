"""The styles of improved positions and of the moves to them."""
from __future__ import annotations

from typing import Callable

from checkout import palette
from labels import label_beside
from qgis.core import (
    QgsCategorizedSymbolRenderer,
    QgsLineSymbol,
    QgsMarkerLineSymbolLayer,
    QgsMarkerSymbol,
    QgsRendererCategory,
    QgsSimpleLineSymbolLayer,
    QgsSimpleMarkerSymbolLayer,
    QgsSingleSymbolRenderer,
    QgsTextFormat,
    QgsVectorLayer,
)

INK, PAPER, ARROW = palette.MAP_INK, palette.PAPER, palette.MOVE


def style_improved(layer: QgsVectorLayer, ramp: tuple[str, ...], text: QgsTextFormat) -> None:
    """Give each verdict a shape and a lightness, and write the name and what the score becomes."""
    looks = [
        ("suitable", "star", ramp[-1], 5.0, 0, "suitable"),
        ("marginal", "diamond", ramp[-2], 4.0, 0, "marginal"),
        ("unsuitable", "cross_fill", ramp[0], 3.4, 45, "unsuitable"),
        ("not assessed", "square", palette.rgba(PAPER, 60), 2.8, 0, "not assessed"),
    ]
    categories = []
    for value, shape, colour, size, angle, title in looks:
        common = {"name": shape, "angle": str(angle), "size": str(size)}
        symbol = QgsMarkerSymbol.createSimple(
            {**common, "color": PAPER, "outline_color": PAPER, "outline_width": "1.1"})
        symbol.appendSymbolLayer(QgsSimpleMarkerSymbolLayer.create(
            {**common, "color": colour, "outline_color": INK, "outline_width": "0.35"}))
        categories.append(QgsRendererCategory(value, symbol, title))
    layer.setRenderer(QgsCategorizedSymbolRenderer("verdict", categories))
    label_beside(layer, (
        "\"site\" || CASE WHEN \"move_m\" > 0 OR \"score_new\" > coalesce(\"score_old\", -1) THEN '  ' || "
        "coalesce(round(\"score_old\") || ' → ', '') || round(\"score_new\") ELSE '' END"), text)
    layer.setDisplayExpression("\"site\" || coalesce(', moved ' || round(\"move_m\", 1) || ' m', '')")
    layer.setMapTipTemplate(
        "<b>[% \"site\" %]</b>: [% \"verdict\" %][% coalesce(', score ' || round(\"score_new\"), '') %]"
        "[% coalesce(' (was ' || round(\"score_old\") || ')', '') %]<br>"
        "[% coalesce('antenna at ' || round(\"height_m\", 2) || ' m', '') %]"
        "[% CASE WHEN \"move_m\" > 0 THEN ', ' || round(\"move_m\", 1) || ' m towards ' || round(\"move_deg\") || '°' "
        "ELSE '' END %]<br>[% coalesce(\"gain\", '') %]<br>"
        "[% coalesce('least suitable height where it was: ' || round(\"h_least_m\", 2) || ' m<br>', '') %]"
        "<i>[% \"advice\" %]</i>")


def style_moves(layer: QgsVectorLayer) -> None:
    """Draw an arrow from where a site was to where it should be, a ring at its beginning."""
    symbol = QgsLineSymbol.createSimple({"line_color": palette.rgba(INK, 190), "line_width": "0.9", "capstyle": "flat"})
    symbol.appendSymbolLayer(QgsSimpleLineSymbolLayer.create(
        {"line_color": ARROW, "line_width": "0.5", "capstyle": "flat"}))
    for placement, look in ((QgsMarkerLineSymbolLayer.Placement.FirstVertex,
                             {"name": "circle", "color": PAPER, "size": "2.2"}),
                            (QgsMarkerLineSymbolLayer.Placement.CentralPoint,
                             {"name": "filled_arrowhead", "color": ARROW, "size": "3"})):
        markers = QgsMarkerLineSymbolLayer(True)
        markers.setPlacement(placement)
        markers.setSubSymbol(QgsMarkerSymbol.createSimple({**look, "outline_color": INK, "outline_width": "0.3"}))
        symbol.appendSymbolLayer(markers)
    layer.setRenderer(QgsSingleSymbolRenderer(symbol))
    layer.setDisplayExpression("\"site\" || ', ' || round(\"move_m\", 1) || ' m'")
    layer.setMapTipTemplate(
        "<b>[% \"site\" %]</b>: [% round(\"move_m\", 1) %] m, score "
        "[% coalesce(round(\"score_old\") || ' → ', '') || round(\"score_new\") %]")


def move_layers(package: Callable, layer_of: Callable, ramp: tuple[str, ...],
                text: QgsTextFormat) -> dict[str, QgsVectorLayer]:
    """Return the styled layers of `improveposition` by the file names of their styles."""
    columns = package("processing_algs.algorithms.improveposition")
    improved, moves = layer_of(columns.COLUMNS, "Point"), layer_of(columns.MOVE_COLUMNS, "MultiLineString")
    style_improved(improved, ramp, text)
    style_moves(moves)
    return {"improveposition.qml": improved, "improveposition_moves.qml": moves}
