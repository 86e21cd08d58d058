"""The look of skylines, for `make_styles`."""
from __future__ import annotations

from checkout import palette
from qgis.core import QgsFillSymbol, QgsGraduatedSymbolRenderer, QgsRendererRange, QgsVectorLayer

LIMITS = [(-90.0, 1.0, "skyline below 1°"), (1.0, 5.0, "1 to 5°"), (5.0, 10.0, "5 to 10°"),
          (10.0, 20.0, "10 to 20°"), (20.0, 90.0, "20° and more")]
ALPHA = 95


def style_skyline(layer: QgsVectorLayer, ramp: tuple[str, ...]) -> None:
    """Darken wedges with the angle that they shut out; the outer arc, where the skyline stands, bears the outline."""
    renderer = QgsGraduatedSymbolRenderer("el_deg")
    for (low, high, title), colour in zip(LIMITS, ramp[::-1]):
        renderer.addClassRange(QgsRendererRange(low, high, QgsFillSymbol.createSimple({
            "color": palette.rgba(colour, ALPHA), "outline_color": palette.rgba(palette.MAP_INK, 140),
            "outline_width": "0.12"}), title))
    layer.setRenderer(renderer)
    layer.setDisplayExpression("\"site\" || ', ' || round(\"az_deg\", 1) || '°'")
    layer.setMapTipTemplate(
        "<b>[% \"site\" %]</b>, azimuth [% round(\"az_deg\", 1) %]°<br>"
        "[% CASE WHEN \"el_deg\" IS NULL THEN 'nothing is known in this direction' ELSE 'skyline at ' || "
        "format_number(\"el_deg\", 1) || '°, formed ' || round(\"dist_m\") || ' m out' END %]")
