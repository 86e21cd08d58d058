"""Make the QML styles of the outputs.

Run ``/usr/bin/python3 plugin/styles/make_styles.py [FOLDER]`` on the oldest QGIS that is
supported: a newer QGIS reads an older style, not always the other way round. Two runs give the same bytes. Aliases
come from the columns of the algorithms, colours from `siting.charts.palette`, so that a map, a legend and a
ranking page agree.
"""
from __future__ import annotations

import html
import os
import sys
import uuid
from pathlib import Path

from checkout import package, palette
from interval_style import style_intervals
from move_style import move_layers
from qgis.core import (
    QgsApplication,
    QgsCategorizedSymbolRenderer,
    QgsFeatureRequest,
    QgsFillSymbol,
    QgsGraduatedSymbolRenderer,
    QgsLinePatternFillSymbolLayer,
    QgsLineSymbol,
    QgsMapLayer,
    QgsMarkerLineSymbolLayer,
    QgsMarkerSymbol,
    QgsPalLayerSettings,
    QgsProperty,
    QgsReadWriteContext,
    QgsRendererCategory,
    QgsRendererRange,
    QgsRuleBasedRenderer,
    QgsSimpleFillSymbolLayer,
    QgsSimpleLineSymbolLayer,
    QgsSimpleMarkerSymbolLayer,
    QgsSingleSymbolRenderer,
    QgsTextBufferSettings,
    QgsTextFormat,
    QgsVectorLayer,
    QgsVectorLayerSimpleLabeling,
)
from qgis.PyQt.QtGui import QColor, QFont
from qgis.PyQt.QtXml import QDomDocument
from shore_style import style_shore_candidates, style_water
from skyline_style import style_skyline

INK, PAPER = palette.MAP_INK, palette.PAPER
SECTOR_ALPHA = 150
LABELS_FROM_SCALE = 5000
FOOTPRINT_LINES = [*zip(palette.FOOTPRINTS, (0.18, 0.20, 0.22, 0.24))]
"""Colour and width [mm], lowest angle first."""
ARC_DASHES = {"GPS": "", "GLONASS": "0.8;0.6", "Galileo": "2;1", "BeiDou": "2.6;0.6;0.6;0.6",
              "QZSS": "1.6;0.6;0.6;0.6;0.6;0.6"}
"""Dashes and gaps [mm], so that systems differ to every eye and in grey."""
# bending is told where heights are: for soil moisture the precision is a phase's
PRECISION = ("format_number(\"height_cm\", CASE WHEN \"height_cm\" < 9.95 THEN 1 ELSE 0 END) || "
             "CASE WHEN \"bend_cm\" IS NULL THEN '°' ELSE ' cm' END")
KEPT = {"renderer-v2", "labeling", "blendMode", "featureBlendMode", "layerOpacity", "aliases", "previewExpression",
        "mapTip", "layerGeometryType"}


def layer_of(columns, geometry: str) -> QgsVectorLayer:
    """Make an empty layer with the fields and aliases of an output."""
    layer = QgsVectorLayer(f"{geometry}?crs=EPSG:32624" if geometry != "None" else "None", "output", "memory")
    layer.dataProvider().addAttributes(package("processing_algs.layers.fields").fields_of(columns).toList())
    layer.updateFields()
    for index, column in enumerate(columns):
        layer.setFieldAlias(index, column.alias)
    return layer


def text_format(size: float, buffer_mm: float) -> QgsTextFormat:
    """Return dark text with a light buffer, readable on any imagery."""
    text = QgsTextFormat()
    text.setFont(QFont("Sans Serif"))
    text.setSize(size)
    text.setColor(QColor(INK))
    buffer = QgsTextBufferSettings()
    buffer.setEnabled(True)
    buffer.setSize(buffer_mm)
    buffer.setColor(QColor(*palette.channels(PAPER), 225))
    text.setBuffer(buffer)
    return text


def no_window_symbol() -> QgsFillSymbol:
    """Return a hatch without fill, light and dark side by side: to be seen on any imagery, in grey as in colour."""
    line = QgsLineSymbol.createSimple({"line_color": palette.rgba(PAPER, 185), "line_width": "0.16"})
    line.appendSymbolLayer(QgsSimpleLineSymbolLayer.create(
        {"line_color": palette.rgba(INK, 120), "line_width": "0.16", "offset": "0.16"}))
    lines = QgsLinePatternFillSymbolLayer()
    lines.setLineAngle(45)
    lines.setDistance(1.8)
    lines.setSubSymbol(line)
    symbol = QgsFillSymbol.createSimple({})
    symbol.changeSymbolLayer(0, lines)
    return symbol


def style_sectors(layer: QgsVectorLayer, ramp: tuple[str, ...]) -> None:
    """Colour sectors by quality in equal steps; those of quality 0 have no window."""
    renderer = QgsGraduatedSymbolRenderer("quality")
    renderer.addClassRange(QgsRendererRange(0.0, 0.0, no_window_symbol(), "no window of good angles"))
    for step, colour in enumerate(ramp):
        low, high = step / len(ramp), (step + 1) / len(ramp)
        symbol = QgsFillSymbol.createSimple({
            "color": palette.rgba(colour, SECTOR_ALPHA), "outline_color": palette.rgba(INK, 80),
            "outline_width": "0.08"})
        renderer.addClassRange(QgsRendererRange(low, high, symbol, f"quality {low:g} to {high:g}"))
    # where sites are neighbours, good sectors lie above bad ones
    renderer.setOrderBy(QgsFeatureRequest.OrderBy([QgsFeatureRequest.OrderByClause("quality", True)]))
    renderer.setOrderByEnabled(True)
    layer.setRenderer(renderer)
    layer.setDisplayExpression("\"site\" || ', ' || round(\"az_deg\", 1) || '°'")
    layer.setMapTipTemplate(
        "<b>[% \"site\" %]</b>, azimuth [% round(\"az_deg\", 1) %]°<br>"
        "[% CASE WHEN \"el_from\" IS NULL THEN 'no window of good elevation angles' ELSE 'good from ' || "
        "round(\"el_from\", 1) || ' to ' || round(\"el_to\", 1) || '°, quality ' || format_number(\"quality\", 2) || "
        "', ground from ' || round(\"near_m\") || ' to ' || round(\"far_m\") || ' m' || CASE WHEN \"busy\" > 0 THEN "
        "', spoiled ' || round(100 * \"busy\") || ' % of the time' ELSE '' END END %]<br>"
        "<i>[% coalesce(\"reason\", '') %]</i>")


def style_footprints(layer: QgsVectorLayer) -> None:
    """Draw outlines whose look follows the angle's place in the range of this very layer, never the angle itself."""
    place = ("coalesce((\"el_deg\" - minimum(\"el_deg\")) / "
             "nullif(maximum(\"el_deg\") - minimum(\"el_deg\"), 0), 0)")
    titles = ["lowest angles (farthest out)", "lower", "higher", "highest angles (nearest)"]
    root = QgsRuleBasedRenderer.Rule(None)
    steps = len(FOOTPRINT_LINES)
    for step, (colour, width) in enumerate(FOOTPRINT_LINES):
        # a dark rim keeps the pale lines visible on snow, sand and the legend's white
        symbol = QgsFillSymbol.createSimple(
            {"style": "no", "outline_color": palette.rgba(INK, 75), "outline_width": f"{width + 0.12:.2f}"})
        symbol.appendSymbolLayer(QgsSimpleFillSymbolLayer.create(
            {"style": "no", "outline_color": colour, "outline_width": str(width)}))
        low, high = step / steps, (step + 1) / steps
        bounds = [f"{place} >= {low:g}"] if step else []
        bounds += [f"{place} < {high:g}"] if step < steps - 1 else []
        rule = QgsRuleBasedRenderer.Rule(symbol, 0, 0, " AND ".join(bounds), titles[step])
        rule.setRuleKey(f"{{{uuid.uuid5(uuid.NAMESPACE_URL, f'stillwater footprints {step}')}}}")
        root.appendChild(rule)
    root.setRuleKey(f"{{{uuid.uuid5(uuid.NAMESPACE_URL, 'stillwater footprints')}}}")
    layer.setRenderer(QgsRuleBasedRenderer(root))
    # close up, the angles stand on the ellipses of one azimuth
    one = "coalesce(minimum(\"az_deg\", filter:=\"az_deg\" >= 135), maximum(\"az_deg\"))"
    labels = QgsPalLayerSettings()
    labels.fieldName = "round(\"el_deg\", 1) || '°'"
    labels.isExpression = True
    labels.setFormat(text_format(7, 0.6))
    labels.placement = QgsPalLayerSettings.Placement.OverPoint
    labels.scaleVisibility, labels.minimumScale, labels.maximumScale = True, LABELS_FROM_SCALE, 0
    properties = labels.dataDefinedProperties()
    properties.setProperty(QgsPalLayerSettings.Property.Show, QgsProperty.fromExpression(f"\"az_deg\" = {one}"))
    labels.setDataDefinedProperties(properties)
    layer.setLabeling(QgsVectorLayerSimpleLabeling(labels))
    layer.setLabelsEnabled(True)
    layer.setDisplayExpression(
        "\"site\" || ', ' || round(\"az_deg\", 1) || '° azimuth, ' || round(\"el_deg\", 1) || '° elevation'")
    layer.setMapTipTemplate(
        "<b>[% \"site\" %]</b>, [% \"signal\" %]<br>azimuth [% round(\"az_deg\", 1) %]°, elevation angle "
        "[% round(\"el_deg\", 1) %]°<br>first Fresnel zone [% round(\"length_m\", 1) %] m × "
        "[% round(\"width_m\", 1) %] m, centre [% round(\"dist_m\", 1) %] m out")


def style_candidates(layer: QgsVectorLayer, ramp: tuple[str, ...]) -> None:
    """Give each verdict a shape and a lightness, and write rank and name."""
    looks = [
        ("suitable", "circle", ramp[-1], 4.0, 0, "suitable"),
        ("marginal", "diamond", ramp[-2], 4.0, 0, "marginal"),
        ("unsuitable", "cross_fill", ramp[0], 3.4, 45, "unsuitable"),
        ("not assessed", "square", palette.rgba(PAPER, 60), 2.8, 0, "not assessed"),
    ]
    categories = []
    for value, shape, colour, size, angle, title in looks:
        common = {"name": shape, "angle": str(angle)}
        symbol = QgsMarkerSymbol.createSimple(
            {**common, "color": PAPER, "size": str(size), "outline_color": PAPER, "outline_width": "1.1"})
        symbol.appendSymbolLayer(QgsSimpleMarkerSymbolLayer.create(
            {**common, "color": colour, "size": str(size), "outline_color": INK, "outline_width": "0.35"}))
        categories.append(QgsRendererCategory(value, symbol, title))
    renderer = QgsCategorizedSymbolRenderer("verdict", categories)
    # the best on top
    renderer.setOrderBy(QgsFeatureRequest.OrderBy([QgsFeatureRequest.OrderByClause("rank", False, True)]))
    renderer.setOrderByEnabled(True)
    layer.setRenderer(renderer)
    labels = QgsPalLayerSettings()
    labels.fieldName = "coalesce(\"rank\" || '  ', '') || \"site\""
    labels.isExpression = True
    labels.setFormat(text_format(9, 0.8))
    labels.placement = QgsPalLayerSettings.Placement.OrderedPositionsAroundPoint
    labels.offsetType = QgsPalLayerSettings.OffsetType.FromSymbolBounds
    labels.dist = 0.3
    properties = labels.dataDefinedProperties()
    properties.setProperty(QgsPalLayerSettings.Property.Bold, QgsProperty.fromExpression("\"verdict\" = 'suitable'"))
    properties.setProperty(QgsPalLayerSettings.Property.Priority,
                           QgsProperty.fromExpression("greatest(0, 10 - coalesce(\"rank\", 10) / 2)"))
    labels.setDataDefinedProperties(properties)
    layer.setLabeling(QgsVectorLayerSimpleLabeling(labels))
    layer.setLabelsEnabled(True)
    layer.setDisplayExpression("coalesce(\"rank\" || '. ', '') || \"site\"")
    layer.setMapTipTemplate(
        "<b>[% coalesce(\"rank\" || '. ', '') || \"site\" %]</b>: [% \"verdict\" %]"
        "[% coalesce(', score ' || round(\"score\"), '') %]"
        "[% CASE WHEN \"arcs_day\" > 0 THEN ', ' || " + PRECISION + " ELSE '' END %]<br>[% \"advice\" %]<br>"
        "<i>[% CASE WHEN coalesce(\"limit_by\", '') <> '' THEN 'limited by ' || \"limit_by\" ELSE '' END %]</i>")


def style_arcs(layer: QgsVectorLayer) -> None:
    """Give each system a colour and a dash; an arrow in the middle points onwards in time."""
    categories = []
    for system, dash in ARC_DASHES.items():
        colour = palette.SYSTEMS[system]
        symbol = QgsLineSymbol.createSimple(
            {"line_color": palette.rgba(INK, 150), "line_width": "0.55", "capstyle": "flat"})
        symbol.appendSymbolLayer(QgsSimpleLineSymbolLayer.create(
            {"line_color": colour, "line_width": "0.35", "capstyle": "flat",
             "use_custom_dash": "1" if dash else "0", "customdash": dash or "5;2", "customdash_unit": "MM"}))
        arrows = QgsMarkerLineSymbolLayer(True)
        arrows.setPlacement(QgsMarkerLineSymbolLayer.Placement.CentralPoint)
        arrows.setSubSymbol(QgsMarkerSymbol.createSimple(
            {"name": "filled_arrowhead", "color": colour, "size": "2.4", "outline_color": INK,
             "outline_width": "0.2"}))
        symbol.appendSymbolLayer(arrows)
        categories.append(QgsRendererCategory(system, symbol, system))
    layer.setRenderer(QgsCategorizedSymbolRenderer("system", categories))
    layer.setDisplayExpression("\"site\" || ', ' || \"satellite\" || ', ' || \"t_start\"")
    layer.setMapTipTemplate(
        "<b>[% \"site\" %]</b>, [% \"satellite\" %] ([% \"system\" %]), "
        "[% CASE WHEN \"rising\" THEN 'rising' ELSE 'setting' END %]<br>[% \"t_start\" %] to [% \"t_end\" %], "
        "[% round(\"minutes\") %] min<br>azimuth [% round(\"az_start\", 1) %] to [% round(\"az_end\", 1) %]°, "
        "elevation angle [% round(\"el_from\", 1) %] to [% round(\"el_to\", 1) %]°<br>"
        "resolves the site's height when logged every [% round(\"int_max_s\", 1) %] s or oftener")


def style_blind_sky(layer: QgsVectorLayer) -> None:
    """Cover the ground like smoked glass, barred the other way than sectors without a window."""
    line = QgsLineSymbol.createSimple({"line_color": palette.rgba(PAPER, 190), "line_width": "0.2"})
    lines = QgsLinePatternFillSymbolLayer()
    lines.setLineAngle(135)
    lines.setDistance(1.2)
    lines.setSubSymbol(line)
    symbol = QgsFillSymbol.createSimple({
        "color": palette.rgba(palette.SMOKE, 150), "outline_color": palette.rgba(PAPER, 150), "outline_width": "0.15"})
    symbol.appendSymbolLayer(lines)
    layer.setRenderer(QgsSingleSymbolRenderer(symbol))
    layer.setDisplayExpression("\"site\" || ', ' || round(\"az_deg\", 1) || '°'")
    layer.setMapTipTemplate(
        "<b>[% \"site\" %]</b>, azimuth [% round(\"az_deg\", 1) %]°<br>no satellite from "
        "[% round(\"el_from\", 1) %] to [% round(\"el_to\", 1) %]°")


def qml_of(layer: QgsVectorLayer) -> str:
    """Write what these styles set and nothing else, so that loading leaves all other settings alone."""
    wanted = QgsMapLayer.StyleCategory
    document = QDomDocument()
    error = layer.exportNamedStyle(
        document, QgsReadWriteContext(),
        wanted.Symbology | wanted.Labeling | wanted.Fields | wanted.MapTips | wanted.LayerConfiguration)
    if error:
        raise SystemExit(f"QGIS could not export the style: {error}")
    root = document.documentElement()
    kept = [xml_of(child, 1) for child in children(root) if child.tagName() in KEPT]
    return (f"<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>\n<qgis{attributes(root)}>\n"
            + "".join(kept) + "</qgis>\n")


def children(element) -> list:
    """List the elements in an element."""
    nodes = element.childNodes()
    return [nodes.at(i).toElement() for i in range(nodes.count()) if nodes.at(i).isElement()]


def attributes(element) -> str:
    """Write attributes in the order of their names: Qt's own order changes from run to run."""
    nodes = element.attributes()
    pairs = sorted((nodes.item(i).nodeName(), nodes.item(i).nodeValue()) for i in range(nodes.count()))
    return "".join(f' {name}="{html.escape(value)}"' for name, value in pairs)


def xml_of(element, depth: int) -> str:
    """Write an element without what is empty or there for QGIS before 3.22."""
    inner = [child for child in children(element) if not needless(child)]
    tag, space = element.tagName(), " " * depth
    if inner:
        body = "\n" + "".join(xml_of(child, depth + 1) for child in inner) + space
    else:
        body = html.escape(element.text(), quote=False)
    return f"{space}<{tag}{attributes(element)}" + (f">{body}</{tag}>\n" if body else "/>\n")


def needless(element) -> bool:
    """Tell the second way of writing properties, callouts (not used), and property collections that are empty."""
    if element.tagName() in ("prop", "callout"):
        return True
    if element.tagName() not in ("data_defined_properties", "dd_properties"):
        return False
    options = element.elementsByTagName("Option")
    return all(options.at(i).toElement().attribute("name") != "properties" or not children(options.at(i).toElement())
               for i in range(options.count()))


def styles() -> dict[str, str]:
    """Return the text of each style by its file name."""
    footprints = package("processing_algs.algorithms.footprints")
    quality = package("processing_algs.algorithms.surfacequality")
    candidates = package("processing_algs.algorithms.rankcandidates")
    arcs = package("processing_algs.algorithms.skyarcs")
    blind = package("processing_algs.algorithms.blindsky")
    intervals = package("processing_algs.algorithms.samplinginterval")
    horizon = package("processing_algs.algorithms.horizon")
    water = package("processing_algs.algorithms.waterfromshore")
    shore = package("processing_algs.algorithms.shorecandidates")
    ramp = palette.RAMP
    layers = {
        "footprints.qml": layer_of(footprints.COLUMNS, "Polygon"),
        "surfacequality.qml": layer_of(quality.COLUMNS, "Polygon"),
        "surfacequality_detail.qml": layer_of(quality.DETAIL_COLUMNS, "None"),
        "rankcandidates.qml": layer_of(candidates.COLUMNS, "Point"),
        "rankcandidates_best.qml": layer_of(candidates.COLUMNS, "Point"),
        "skyarcs.qml": layer_of(arcs.COLUMNS, "LineString"),
        "blindsky.qml": layer_of(blind.COLUMNS, "Polygon"),
        "samplinginterval.qml": layer_of(intervals.COLUMNS, "Point"),
        "horizon.qml": layer_of(horizon.COLUMNS, "Polygon"),
        "waterfromshore.qml": layer_of(water.COLUMNS, "Polygon"),
        "shorecandidates.qml": layer_of(shore.COLUMNS, "Point"),
    }
    style_footprints(layers["footprints.qml"])
    style_sectors(layers["surfacequality.qml"], ramp)
    for name in ("rankcandidates.qml", "rankcandidates_best.qml"):
        style_candidates(layers[name], ramp)
    style_arcs(layers["skyarcs.qml"])
    style_blind_sky(layers["blindsky.qml"])
    style_intervals(layers["samplinginterval.qml"], ramp, text_format(9, 0.8))
    style_skyline(layers["horizon.qml"], ramp)
    style_water(layers["waterfromshore.qml"])
    style_shore_candidates(layers["shorecandidates.qml"], ramp, text_format(8, 0.7))
    layers.update(move_layers(package, layer_of, ramp, text_format(9, 0.8)))
    return {name: qml_of(layer) for name, layer in layers.items()}


def main(arguments: list[str]) -> None:
    """Write the styles beside this script or into a folder."""
    folder = Path(arguments[0]) if arguments else Path(__file__).resolve().parent
    for name, text in styles().items():
        (folder / name).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    application = QgsApplication([], True)
    application.initQgis()
    main(sys.argv[1:])
    application.exitQgis()
