"""Photograph each map style through QGIS's preview modes: grey, and three simulated kinds of colour blindness.

``STILLWATER_PICTURES=FOLDER plugin/help/in_window.sh plugin/help/colour_vision_picture.py`` leaves one sheet for each
style in FOLDER: as it is, grey, protanope, deuteranope, tritanope.
"""
from __future__ import annotations

import os

import processing
from qgis.core import QgsProject, QgsRectangle, QgsVectorLayer
from qgis.gui import QgsPreviewEffect
from qgis.PyQt.QtCore import QTimer
from qgis.PyQt.QtGui import QImage, QPainter
from qgis.PyQt.QtWidgets import QApplication, QDockWidget
from qgis.utils import iface
from window_run import SAMPLES, begin, guarded, leave, open_sample

FOLDER = os.environ["STILLWATER_PICTURES"]
MODES = ("", "PreviewGrayscale", "PreviewProtanope", "PreviewDeuteranope", "PreviewTritanope")
PANEL = (520, 400)
SITES = {"INPUT": f"{SAMPLES}/coast.gpkg|layername=candidates|subset=name='Breakwater head'", "SITE_FIELD": "name",
         "HEIGHT_FIELD": "height_m", "HEIGHT_REFERENCE": "ground", "DEM": f"{SAMPLES}/elevation.tif"}
ALL = {**SITES, "INPUT": f"{SAMPLES}/coast.gpkg|layername=candidates|subset=purpose='sea level'"}
SURFACE = {"DEM_WATER": "bed", "LOW_FIELD": "low_m", "HIGH_FIELD": "high_m", "LANDCOVER": f"{SAMPLES}/landcover.tif",
           "TARGET_CLASSES": "1-2", "AVOID": f"{SAMPLES}/coast.gpkg|layername=avoid", "AVOID_FIELD": "share",
           "AVOID_NAME": "name"}
SHORE = {"SHORE": f"{SAMPLES}/coast.gpkg|layername=shoreline|subset=kind='sea'"}
RUNS = (
    ("footprints", SITES), ("surfacequality", {**SITES, **SURFACE}),
    ("rankcandidates", {**ALL, **SURFACE, "TRIALS": 0}),
    ("skyarcs", SITES), ("blindsky", SITES), ("samplinginterval", ALL), ("horizon", SITES), ("waterfromshore", SHORE),
    ("shorecandidates", {**SHORE, "SPACING": 150.0}),
    ("improveposition", {**ALL, **SURFACE, "RADIUS": 25.0, "OUTPUT_MOVES": "TEMPORARY_OUTPUT"}))


def take(waiting: list) -> None:
    """Run the next algorithm and photograph its outputs, then the others."""
    if not waiting:
        leave()
        return
    name, parameters = waiting[0]
    before = set(QgsProject.instance().mapLayers())
    processing.runAndLoadResults(f"stillwater:{name}", {**parameters, "OUTPUT": "TEMPORARY_OUTPUT"})
    made = [layer for key, layer in QgsProject.instance().mapLayers().items() if key not in before]
    show(name, [layer for layer in made if isinstance(layer, QgsVectorLayer)], waiting[1:])


def show(name: str, layers: list[QgsVectorLayer], waiting: list) -> None:
    """Show some layers over the image, alone."""
    for node in QgsProject.instance().layerTreeRoot().findLayers():
        node.setItemVisibilityChecked(node.layer() in layers or node.name().startswith("Aerial"))
    canvas, extent = iface.mapCanvas(), QgsRectangle()
    for layer in layers:
        extent.combineExtentWith(canvas.mapSettings().layerExtentToOutputExtent(layer, layer.extent()))
    extent.scale(1.1)
    canvas.setExtent(extent)
    canvas.refresh()
    QTimer.singleShot(2500, lambda: guarded(lambda: photograph(name, waiting)))


def photograph(name: str, waiting: list) -> None:
    """Save the map in each mode, side by side."""
    canvas = iface.mapCanvas()
    canvas.waitWhileRendering()
    sheet = QImage(PANEL[0] * len(MODES), PANEL[1], QImage.Format.Format_RGB32)
    painter = QPainter(sheet)
    for number, mode in enumerate(MODES):
        canvas.setPreviewModeEnabled(bool(mode))
        if mode:
            canvas.setPreviewMode(getattr(QgsPreviewEffect.PreviewMode, mode))
        QApplication.processEvents()
        picture = canvas.grab().toImage()
        scaled = picture.scaledToHeight(PANEL[1])
        painter.drawImage(number * PANEL[0], 0, scaled, max((scaled.width() - PANEL[0]) // 2, 0), 0, PANEL[0], PANEL[1])
    painter.end()
    canvas.setPreviewModeEnabled(False)
    sheet.save(os.path.join(FOLDER, f"colours_{name}.png"))
    take(waiting)


def start() -> None:
    """Open the project and begin."""
    iface.mainWindow().resize(1500, 950)
    open_sample()
    for dock in iface.mainWindow().findChildren(QDockWidget):
        dock.hide()
    take(list(RUNS))


begin(start)
