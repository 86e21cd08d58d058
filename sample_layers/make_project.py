"""Make ``sample_project.qgs``, a QGIS project that shows the sample scene.

Run ``QT_QPA_PLATFORM=offscreen python3 sample_layers/make_project.py`` with the Python that QGIS uses, after
``make_scene.py``. With a second argument (a PNG file) the map is rendered there too.
"""
from __future__ import annotations

import sys
from pathlib import Path

import scene_features
import scene_frame
from osgeo import gdal
from qgis.core import (
    QgsApplication,
    QgsCategorizedSymbolRenderer,
    QgsCoordinateReferenceSystem,
    QgsFillSymbol,
    QgsGraduatedSymbolRenderer,
    QgsLinePatternFillSymbolLayer,
    QgsLineSymbol,
    QgsMapRendererParallelJob,
    QgsMapSettings,
    QgsMarkerSymbol,
    QgsPalettedRasterRenderer,
    QgsPalLayerSettings,
    QgsProject,
    QgsRasterLayer,
    QgsRectangle,
    QgsReferencedRectangle,
    QgsRendererCategory,
    QgsRendererRange,
    QgsSettings,
    QgsSingleSymbolRenderer,
    QgsTextBufferSettings,
    QgsTextFormat,
    QgsVectorLayer,
    QgsVectorLayerSimpleLabeling,
)
from qgis.PyQt.QtCore import QSize
from qgis.PyQt.QtGui import QColor, QFont

FOLDER = Path(__file__).resolve().parent
sys.path.append(str(FOLDER.parent))
from siting.charts import palette  # noqa: E402  (after its folder is on the path)

INK, SITE, AVOID = map(palette.rgba, (palette.SAMPLE_INK, palette.SAMPLE_SITE, palette.SAMPLE_AVOID))
MARKERS = {"sea level": ("circle", SITE, "Candidate, sea level"),
           "lake level": ("triangle", SITE, "Candidate, lake level"),
           "snow depth": ("square", SITE, "Candidate, snow depth")}
SHARES = [(0.0, 0.3, 3.6), (0.3, 0.6, 2.4), (0.6, 1.0, 1.3)]  # from, to, spacing of the hatch [mm]


def raster(name: str, title: str) -> QgsRasterLayer:
    """Open a raster of the scene."""
    layer = QgsRasterLayer(str(FOLDER / name), title)
    if not layer.isValid():
        raise SystemExit(f"{name} cannot be read; run make_scene.py first.")
    return layer


def vector(name: str, title: str) -> QgsVectorLayer:
    """Open a layer of the scene's GeoPackage."""
    layer = QgsVectorLayer(f"{FOLDER / 'coast.gpkg'}|layername={name}", title, "ogr")
    if not layer.isValid():
        raise SystemExit(f"coast.gpkg has no layer {name}; run make_scene.py first.")
    return layer


def style_land_cover(layer: QgsRasterLayer) -> None:
    """Colour and name the classes."""
    classes = [QgsPalettedRasterRenderer.Class(number, QColor(*colour), f"{number} {name}")
               for number, (name, colour) in scene_features.CLASSES.items()]
    layer.setRenderer(QgsPalettedRasterRenderer(layer.dataProvider(), 1, classes))


def hatch(spacing: float) -> QgsFillSymbol:
    """Return an outlined fill of slanting lines `spacing` millimetres apart."""
    symbol = QgsFillSymbol.createSimple({"style": "no", "outline_color": AVOID, "outline_width": "0.3"})
    lines = QgsLinePatternFillSymbolLayer()
    lines.setLineAngle(45)
    lines.setDistance(spacing)
    lines.setSubSymbol(QgsLineSymbol.createSimple(
        {"line_color": palette.rgba(palette.SAMPLE_AVOID, 210), "line_width": "0.25"}))
    symbol.appendSymbolLayer(lines)
    return symbol


def style_avoid(layer: QgsVectorLayer) -> None:
    """Hatch more densely what is occupied longer."""
    renderer = QgsGraduatedSymbolRenderer("share")
    for low, high, spacing in SHARES:
        title = f"spoiled {low:.0%} to {high:.0%} of the time"
        renderer.addClassRange(QgsRendererRange(low, high, hatch(spacing), title))
    layer.setRenderer(renderer)


def style_candidates(layer: QgsVectorLayer) -> None:
    """Give each purpose its marker and write the names beside them."""
    categories = []
    for purpose, (shape, colour, title) in MARKERS.items():
        symbol = QgsMarkerSymbol.createSimple({"name": shape, "color": colour, "size": "2.8",
                                               "outline_color": INK, "outline_width": "0.4"})
        categories.append(QgsRendererCategory(purpose, symbol, title))
    layer.setRenderer(QgsCategorizedSymbolRenderer("purpose", categories))
    text = QgsTextFormat()
    text.setFont(QFont("Sans Serif"))
    text.setSize(8.5)
    text.setColor(QColor(palette.SAMPLE_INK))
    halo = QgsTextBufferSettings()
    halo.setEnabled(True)
    halo.setSize(0.9)
    halo.setColor(QColor(*palette.channels(palette.PAPER), 230))
    text.setBuffer(halo)
    labels = QgsPalLayerSettings()
    labels.fieldName = "name"
    labels.setFormat(text)
    labels.placement = QgsPalLayerSettings.Placement.OrderedPositionsAroundPoint
    labels.dist = 1.0
    layer.setLabeling(QgsVectorLayerSimpleLabeling(labels))
    layer.setLabelsEnabled(True)


def render(project: QgsProject, extent: QgsRectangle, target: Path) -> None:
    """Draw the visible layers to a PNG file."""
    settings = QgsMapSettings()
    root = project.layerTreeRoot()
    settings.setLayers([layer for layer in root.layerOrder() if root.findLayer(layer.id()).itemVisibilityChecked()])
    settings.setDestinationCrs(project.crs())
    settings.setExtent(extent)
    settings.setOutputSize(QSize(1400, 1400))
    settings.setOutputDpi(110)
    job = QgsMapRendererParallelJob(settings)
    job.start()
    job.waitForFinished()
    job.renderedImage().save(str(target))


def main(arguments: list[str]) -> None:
    """Build and save the project."""
    gdal.SetConfigOption("GDAL_PAM_ENABLED", "NO")  # no statistics files beside the rasters
    settings = QgsSettings()
    settings.setValue("qgis/walForSqlite3", False)  # leaves the GeoPackage's bytes alone
    settings.setValue("projects/anonymize_saved_projects", True, QgsSettings.Section.Core)
    project = QgsProject.instance()
    project.setCrs(QgsCoordinateReferenceSystem(f"EPSG:{scene_frame.EPSG}"))
    project.setTitle("Vellmouth, an invented coast")
    about = project.metadata()
    about.setAuthor("")
    project.setMetadata(about)
    geoid, height = raster("geoid.tif", "Geoid undulation [m]"), raster("elevation.tif", "Elevation [m]")
    cover, aerial = raster("landcover.tif", "Land cover"), raster("aerial.tif", "Aerial image")
    water, shore = vector("water", "Water at mean level"), vector("shoreline", "Shoreline")
    avoid, buildings = vector("avoid", "Avoid"), vector("buildings", "Buildings")
    candidates = vector("candidates", "Candidates")
    style_land_cover(cover)
    water.setRenderer(QgsSingleSymbolRenderer(QgsFillSymbol.createSimple(
        {"style": "no", "outline_color": palette.rgba(palette.SAMPLE_WATER), "outline_width": "0.35"})))
    shore.setRenderer(QgsSingleSymbolRenderer(QgsLineSymbol.createSimple(
        {"line_color": palette.rgba(palette.PAPER), "line_width": "0.4"})))
    buildings.setRenderer(QgsSingleSymbolRenderer(QgsFillSymbol.createSimple(
        {"style": "no", "outline_color": palette.rgba(palette.SAMPLE_BUILDING, 190), "outline_width": "0.2"})))
    style_avoid(avoid)
    style_candidates(candidates)
    root = project.layerTreeRoot()
    for layer, shown in [(candidates, True), (avoid, True), (buildings, True), (water, True), (shore, False),
                         (cover, False), (height, False), (geoid, False), (aerial, True)]:
        project.addMapLayer(layer, False)
        node = root.addLayer(layer)
        node.setItemVisibilityChecked(shown)
        node.setExpanded(layer in (candidates, avoid))
    west, north = scene_frame.EAST0, scene_frame.NORTH0 + scene_frame.EXTENT
    extent = QgsRectangle(west, north - scene_frame.EXTENT, west + scene_frame.EXTENT, north)
    project.viewSettings().setDefaultViewExtent(QgsReferencedRectangle(extent, project.crs()))
    target = FOLDER / "sample_project.qgs"
    target.unlink(missing_ok=True)  # or QGIS keeps the old one beside it
    if not project.write(str(target)):
        raise SystemExit(f"The project could not be written: {project.error()}")
    if arguments:
        render(project, extent, Path(arguments[0]))
    project.clear()


if __name__ == "__main__":
    application = QgsApplication([], True)
    application.initQgis()
    main(sys.argv[1:])
    application.exitQgis()
