"""The map of a site sheet: layers around the site in true metres and true north, as a picture and for a layout."""
from __future__ import annotations

import base64

from qgis.core import (
    QgsCoordinateReferenceSystem,
    QgsFeature,
    QgsFillSymbol,
    QgsGeometry,
    QgsMapRendererCustomPainterJob,
    QgsMapSettings,
    QgsMarkerSymbol,
    QgsPointXY,
    QgsRectangle,
    QgsSimpleLineSymbolLayer,
    QgsSingleSymbolRenderer,
    QgsVectorLayer,
)
from qgis.PyQt.QtCore import QBuffer, QByteArray, QIODevice, QSize
from qgis.PyQt.QtGui import QColor, QImage, QPainter

from ...siting.charts.drawing import WIDTH
from ...siting.charts.mapframe import HEIGHT
from ...siting.charts.palette import INK, LIGHT, PAPER, SOFT, rgba
from ...siting.report.blocks import MapFigure
from ..layers.geometries import multipolygons

PICTURE_SCALE = 1.5
"""Pixels of the picture for each pixel of the chart that holds it."""
JPEG_QUALITY = 82


def site_crs(figure: MapFigure) -> QgsCoordinateReferenceSystem:
    """Return a CRS whose metres and north are true at the site: azimuthal equidistant around it."""
    return QgsCoordinateReferenceSystem.fromProj(
        f"+proj=aeqd +lat_0={figure.lat:.9f} +lon_0={figure.lon:.9f} +datum=WGS84 +units=m +no_defs +type=crs")


def map_extent(figure: MapFigure) -> QgsRectangle:
    """Return what the map shows, in the site's CRS [m]."""
    wide = figure.half_m * WIDTH / HEIGHT
    return QgsRectangle(-wide, -figure.half_m, wide, figure.half_m)


def with_own_layers(figure: MapFigure, backdrop: list) -> None:
    """Give a map its layers: antenna, footprints and sectors over the backdrop."""
    figure.layers = [_antenna(figure),
                     _shapes(figure, _polygons(figure.footprints), "footprints", rgba(PAPER, 0), 0.3),
                     _shapes(figure, _joined(figure.sectors), "sectors", rgba(PAPER, 90), 0.5), *backdrop]


def map_image(figure: MapFigure) -> str:
    """Draw the map as a JPEG data URI."""
    size = QSize(int(WIDTH * PICTURE_SCALE), int(HEIGHT * PICTURE_SCALE))
    settings = QgsMapSettings()
    settings.setLayers(figure.layers)
    settings.setDestinationCrs(site_crs(figure))
    settings.setExtent(map_extent(figure))
    settings.setOutputSize(size)
    settings.setOutputDpi(96.0 * PICTURE_SCALE)
    settings.setBackgroundColor(QColor(PAPER))
    image = QImage(size, QImage.Format.Format_RGB32)
    image.fill(QColor(PAPER))
    painter = QPainter(image)
    job = QgsMapRendererCustomPainterJob(settings, painter)
    job.renderSynchronously()
    painter.end()
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    image.save(buffer, "JPEG", JPEG_QUALITY)
    return "data:image/jpeg;base64," + base64.b64encode(bytes(data)).decode("ascii")


def water_backdrop(layer: QgsVectorLayer) -> QgsVectorLayer:
    """Return a copy of a polygon layer drawn in a pale even colour."""
    copy = layer.clone()
    copy.setRenderer(QgsSingleSymbolRenderer(QgsFillSymbol.createSimple(
        {"color": rgba(LIGHT), "outline_color": rgba(SOFT), "outline_width": "0.2"})))
    copy.setLabelsEnabled(False)
    return copy


def _layer(figure, kind, name, shapes) -> QgsVectorLayer:
    layer = QgsVectorLayer(kind, name, "memory")
    layer.setCrs(site_crs(figure))
    features = []
    for geometry in shapes:
        feature = QgsFeature()
        feature.setGeometry(geometry)
        features.append(feature)
    layer.dataProvider().addFeatures(features)
    layer.updateExtents()
    return layer


def _polygons(rings) -> list:
    return multipolygons(rings) if len(rings) else []


def _joined(rings) -> list:
    """Join sectors that touch, so that only their common edge is drawn."""
    if not len(rings):
        return []
    # edges that differ by rounding would leave slits
    slit = float(abs(rings).max()) * 1e-4
    return [QgsGeometry.unaryUnion(_polygons(rings)).buffer(slit, 2).buffer(-slit, 2)]


def _shapes(figure, shapes, name, fill, width) -> QgsVectorLayer:
    layer = _layer(figure, "MultiPolygon", name, shapes)
    symbol = QgsFillSymbol.createSimple({"color": fill, "outline_style": "no"})
    # a light line below the dark one: seen on bright and dark ground
    for colour, extra in ((PAPER, 0.5), (INK, 0.0)):
        symbol.appendSymbolLayer(QgsSimpleLineSymbolLayer(QColor(colour), width + extra))
    layer.setRenderer(QgsSingleSymbolRenderer(symbol))
    return layer


def _antenna(figure) -> QgsVectorLayer:
    layer = _layer(figure, "Point", "antenna", [QgsGeometry.fromPointXY(QgsPointXY(0.0, 0.0))])
    layer.setRenderer(QgsSingleSymbolRenderer(QgsMarkerSymbol.createSimple(
        {"name": "circle", "color": INK, "outline_color": PAPER, "outline_width": "0.5", "size": "2.8"})))
    return layer
