"""The demo's map: the scene with candidates and sectors, and two sites close up with their footprints."""
from __future__ import annotations

import sys
from pathlib import Path

from qgis.core import (
    QgsFillSymbol,
    QgsLayoutExporter,
    QgsLayoutItem,
    QgsLayoutItemLabel,
    QgsLayoutItemLegend,
    QgsLayoutItemMap,
    QgsLayoutItemMapOverview,
    QgsLayoutItemPage,
    QgsLayoutItemScaleBar,
    QgsLayoutMeasurement,
    QgsLayoutPoint,
    QgsLayoutSize,
    QgsLegendRenderer,
    QgsLegendStyle,
    QgsPrintLayout,
    QgsProject,
    QgsRasterLayer,
    QgsRectangle,
    QgsTextFormat,
    QgsUnitTypes,
    QgsVectorLayer,
)
from qgis.PyQt.QtCore import QRectF
from qgis.PyQt.QtGui import QColor, QFont

sys.path.append(str(Path(__file__).resolve().parents[1]))
from siting.charts.palette import MIST, SLATE, SNOW

DPI = 150
PAGE_MM = (380.0, 272.0)
MAIN_MM = QRectF(8, 8, 256, 256)
COLUMN_MM = (272.0, 100.0)   # left edge and width
SCENE = QgsRectangle(498500, 4981500, 501500, 4984500)
CLOSE_UPS = [  # title, middle [m], top and height [mm]
    ("Pier head: open water nearly all round", (499485, 4982419), 46.0, 90.0),
    ("Promenade: a car park before the water", (499345, 4982815), 142.5, 60.0),
]
CLOSE_UP_SCALE = 3400.0
TITLES = {
    "candidates": "Candidates, with rank",
    "sectors": "Sectors, by quality",
    "footprints": "Footprints, by angle",
}


def text_format(size: float, colour: str, bold: bool = False) -> QgsTextFormat:
    """Return plain text of a size in points."""
    text = QgsTextFormat()
    font = QFont("Sans Serif")
    font.setBold(bold)
    text.setFont(font)
    text.setSize(size)
    text.setColor(QColor(colour))
    return text


def place(item: QgsLayoutItem, layout: QgsPrintLayout, x: float, y: float, width: float, height: float) -> None:
    """Put an item on the page [mm]."""
    layout.addLayoutItem(item)
    item.attemptMove(QgsLayoutPoint(x, y, QgsUnitTypes.LayoutUnit.LayoutMillimeters))
    item.attemptResize(QgsLayoutSize(width, height, QgsUnitTypes.LayoutUnit.LayoutMillimeters))


def write(layout: QgsPrintLayout, text: str, x: float, y: float, width: float, height: float,
          look: QgsTextFormat) -> None:
    """Write a text on the page."""
    label = QgsLayoutItemLabel(layout)
    label.setText(text)
    if hasattr(label, "setTextFormat"):
        label.setTextFormat(look)
    else:
        font = look.font()
        font.setPointSizeF(look.size())
        label.setFont(font)
        label.setFontColor(look.color())
    label.setMarginX(0)
    label.setMarginY(0)
    place(label, layout, x, y, width, height)


def add_map(layout: QgsPrintLayout, layers: list, extent: QgsRectangle, x: float, y: float, width: float,
            height: float) -> QgsLayoutItemMap:
    """Put a map of some layers, the topmost first, on the page."""
    item = QgsLayoutItemMap(layout)
    item.setCrs(layers[-1].crs())
    item.setKeepLayerSet(True)
    item.setLayers(layers)
    item.setRect(0, 0, width, height)
    item.setExtent(extent)
    place(item, layout, x, y, width, height)
    item.setFrameEnabled(True)
    item.setFrameStrokeColor(QColor(SNOW))
    item.setFrameStrokeWidth(QgsLayoutMeasurement(0.3, QgsUnitTypes.LayoutUnit.LayoutMillimeters))
    return item


def add_scale_bar(layout: QgsPrintLayout, linked: QgsLayoutItemMap, segment_m: float, x: float, y: float) -> None:
    """Put a scale bar of two segments on the page."""
    bar = QgsLayoutItemScaleBar(layout)
    bar.setStyle("Line Ticks Middle")
    bar.setLinkedMap(linked)
    bar.setUnits(QgsUnitTypes.DistanceUnit.DistanceMeters)
    bar.setUnitLabel("m")
    bar.setNumberOfSegmentsLeft(0)
    bar.setNumberOfSegments(2)
    bar.setUnitsPerSegment(segment_m)
    bar.setHeight(2.0)
    bar.setTextFormat(text_format(8, SNOW))
    symbol = bar.lineSymbol().clone()
    symbol.setColor(QColor(SNOW))
    bar.setLineSymbol(symbol)
    place(bar, layout, x, y, 40, 10)
    bar.update()


def add_frame(main: QgsLayoutItemMap, shown: QgsLayoutItemMap) -> None:
    """Outline on the main map what a close-up shows."""
    overview = QgsLayoutItemMapOverview(shown.displayName(), main)
    overview.setLinkedMap(shown)
    overview.setFrameSymbol(QgsFillSymbol.createSimple(
        {"style": "no", "outline_color": SNOW, "outline_width": "0.35"}))
    main.overviews().addOverview(overview)


def add_legend(layout: QgsPrintLayout, layers: list[QgsVectorLayer], linked: QgsLayoutItemMap, y: float) -> None:
    """Put the legend of some layers into the right-hand column."""
    legend = QgsLayoutItemLegend(layout)
    legend.setLinkedMap(linked)
    legend.setAutoUpdateModel(False)
    root = legend.model().rootGroup()
    root.clear()
    for layer in layers:
        node = root.addLayer(layer)
        QgsLegendRenderer.setNodeLegendStyle(node, QgsLegendStyle.Style.Subgroup)
        node.setCustomProperty("legend/title-label", TITLES[layer.name()])
        legend.model().refreshLayerLegend(node)
    for style, look in ((QgsLegendStyle.Style.Subgroup, text_format(9, SNOW, True)),
                        (QgsLegendStyle.Style.SymbolLabel, text_format(8, SNOW))):
        entry = QgsLegendStyle(legend.style(style))
        if hasattr(entry, "setTextFormat"):
            entry.setTextFormat(look)
        else:
            font = look.font()
            font.setPointSizeF(look.size())
            entry.setFont(font)
        legend.setStyle(style, entry)
    if not hasattr(QgsLegendStyle, "setTextFormat"):
        legend.setFontColor(QColor(SNOW))
    legend.setColumnCount(2)
    legend.setSplitLayer(False)
    legend.setColumnSpace(6)
    legend.setSymbolHeight(3.2)
    legend.setSymbolWidth(6.5)
    legend.setBoxSpace(0)
    legend.setBackgroundEnabled(False)
    legend.rstyle(QgsLegendStyle.Style.Symbol).setMargin(QgsLegendStyle.Side.Top, 0.9)
    legend.rstyle(QgsLegendStyle.Style.Subgroup).setMargin(QgsLegendStyle.Side.Top, 2.4)
    place(legend, layout, COLUMN_MM[0], y, COLUMN_MM[1], 70)
    legend.adjustBoxSize()


def paint_page(layout: QgsPrintLayout) -> None:
    """Give the page its size and a dark ground, on which the colours show as they do over water."""
    page = layout.pageCollection().page(0)
    page.setPageSize(QgsLayoutSize(*PAGE_MM, QgsUnitTypes.LayoutUnit.LayoutMillimeters))
    ground = QgsFillSymbol.createSimple({"color": SLATE, "outline_style": "no"})
    if hasattr(QgsLayoutItemPage, "setPageStyleSymbol"):
        page.setPageStyleSymbol(ground)
    else:
        layout.pageCollection().setPageStyleSymbol(ground)


def export_map(project: QgsProject, layers: list[QgsVectorLayer], aerial: Path, target: Path) -> None:
    """Draw the map to a PNG file.

    Parameters
    ----------
    project : QgsProject
        An empty one; layers are added to it.
    layers : list of QgsVectorLayer
        Styled footprints, sectors and candidates.
    aerial : Path
        The image below them.
    target : Path
        The PNG file.
    """
    image = QgsRasterLayer(str(aerial), "aerial")
    for layer in [*layers, image]:
        project.addMapLayer(layer, False)
    project.setCrs(image.crs())
    footprints, sectors, candidates = layers
    layout = QgsPrintLayout(project)
    layout.initializeDefaults()
    layout.renderContext().setDpi(DPI)
    paint_page(layout)
    left, width = COLUMN_MM
    main = add_map(layout, [candidates, sectors, image], SCENE,
                   MAIN_MM.x(), MAIN_MM.y(), MAIN_MM.width(), MAIN_MM.height())
    write(layout, "Which of fifteen sites\nwill work?", left, 8, width, 17, text_format(19, SNOW, True))
    write(layout, "GNSS reflectometry of sea level, lake level and snow depth at\n"
                  "Vellmouth, an invented coast. A sector covers the ground that its\ndirection can use.",
          left, 26, width, 12, text_format(8.5, MIST))
    for title, (east, north), top, height in CLOSE_UPS:
        half = [CLOSE_UP_SCALE * size / 2000.0 for size in (width, height)]
        extent = QgsRectangle(east - half[0], north - half[1], east + half[0], north + half[1])
        write(layout, title, left, top - 4.8, width, 4.5, text_format(9, SNOW, True))
        shown = add_map(layout, [candidates, footprints, sectors, image], extent, left, top, width, height)
        shown.setId(title)
        add_scale_bar(layout, shown, 25, left + 2, top + height - 10)
        add_frame(main, shown)
    add_legend(layout, [candidates, footprints, sectors], shown, 207)
    add_scale_bar(layout, main, 250, MAIN_MM.left() + 3, MAIN_MM.bottom() - 11)
    write(layout, "N\n▲", MAIN_MM.right() - 9, MAIN_MM.top() + 4, 8, 14, text_format(14, SNOW, True))
    write(layout, "GPS L1, elevation angles from 5 to 20°, worst level of tide, lake or snow.\n"
                  "Geometry on layers, no survey; not for navigation.", left, 257.5, width, 7, text_format(6.5, MIST))
    picture = QgsLayoutExporter(layout).renderPageToImage(0, dpi=DPI)
    if picture.isNull() or not picture.save(str(target)):
        raise SystemExit(f"demo: the map could not be drawn to {target}.")
