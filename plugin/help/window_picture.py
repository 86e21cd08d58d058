"""Photograph the QGIS window with the sample project and the three outputs, loaded as the toolbox loads them.

`make_pictures.sh` runs this inside QGIS (``qgis --code``). Each algorithm runs from its real dialog, so that styles
and groups come about as they do for a user.
"""
from __future__ import annotations

import os

import processing
from qgis.core import Qgis, QgsMessageLog, QgsProject, QgsRectangle
from qgis.PyQt.QtCore import QTimer
from qgis.PyQt.QtWidgets import QApplication, QDialog, QDockWidget
from qgis.utils import iface
from window_run import begin, fail, leave, open_sample

PICTURE = os.environ["STILLWATER_PICTURE"]
SIZE = (1600, 1000)
VIEW = QgsRectangle(498700, 4982080, 500900, 4983560)
SITES = {
    "SITE_FIELD": "name", "HEIGHT_FIELD": "height_m", "HEIGHT_REFERENCE": "ground", "SURFACE_FIELD": "level_m",
    "LOW_FIELD": "low_m", "HIGH_FIELD": "high_m", "DEM_WATER": "bed", "TARGET_CLASSES": "1-2", "AVOID_FIELD": "share",
    "AVOID_NAME": "name",
}
LAYERS = {"INPUT": "Candidates", "DEM": "Elevation [m]", "LANDCOVER": "Land cover", "AVOID": "Avoid"}
HIDDEN = ("Candidates", "Avoid", "Water at mean level", "Buildings")
RUNS = ("surfacequality", "footprints", "rankcandidates")
# a dialog must outlive its run, or the task in its thread loses its context
dialogs: list = []


def known_parameters(dialog: QDialog) -> dict:
    """Give those of the parameters above that a dialog's algorithm knows."""
    known = {p.name() for p in dialog.algorithm().parameterDefinitions()}
    layers = {name: QgsProject.instance().mapLayersByName(title)[0] for name, title in LAYERS.items()}
    return {name: value for name, value in {**SITES, **layers}.items() if name in known}


def run_next(waiting: list) -> None:
    """Run the next algorithm from its dialog, then the others; at last take the picture."""
    if not waiting:
        QTimer.singleShot(500, arrange)
        return
    dialog = processing.createAlgorithmDialog(f"stillwater:{waiting[0]}", {})
    dialogs.append(dialog)
    dialog.setParameters(known_parameters(dialog))
    dialog.show()

    def finished(successful, _results):
        dialog.close()
        if not successful:
            fail(f"{waiting[0]} failed")
        QTimer.singleShot(300, lambda: run_next(waiting[1:]))

    dialog.algorithmFinished.connect(finished)
    dialog.runAlgorithm()


def arrange() -> None:
    """Put the window in order: what is not needed closed, the outputs in view."""
    window, root = iface.mainWindow(), QgsProject.instance().layerTreeRoot()
    for title in HIDDEN:
        root.findLayer(QgsProject.instance().mapLayersByName(title)[0].id()).setItemVisibilityChecked(False)
    for node in root.findLayers():
        node.setExpanded(False)
    for group in root.findGroups():
        group.setExpanded(True)
        for node in group.findLayers():
            node.setExpanded(True)
    for dock in window.findChildren(QDockWidget):
        dock.setVisible(dock.objectName() in ("Layers", "ProcessingToolbox"))
    show_toolbox(window.findChild(QDockWidget, "ProcessingToolbox"))
    window.resizeDocks([window.findChild(QDockWidget, "Layers"), window.findChild(QDockWidget, "ProcessingToolbox")],
                       [330, 270], 1)
    iface.messageBar().clearWidgets()
    canvas = iface.mapCanvas()
    canvas.mapCanvasRefreshed.connect(lambda: QTimer.singleShot(800, shoot))
    canvas.setExtent(VIEW)
    canvas.refresh()


def show_toolbox(toolbox: QDockWidget | None) -> None:
    """Show Stillwater's algorithms in the toolbox."""
    if toolbox is None:
        return
    toolbox.searchBox.setText("stillwater")
    QApplication.processEvents()
    toolbox.algorithmTree.expandAll()


def shoot() -> None:
    """Save the picture and leave."""
    iface.messageBar().clearWidgets()
    QApplication.processEvents()
    if not os.path.exists(PICTURE):
        iface.mainWindow().grab().save(PICTURE)
        leave()


def start() -> None:
    """Open the project and begin."""
    iface.mainWindow().resize(*SIZE)
    QgsMessageLog.logMessage("taking the picture", "Stillwater", Qgis.MessageLevel.Info)
    open_sample()
    QgsProject.instance().mapLayersByName("Candidates")[0].setSubsetString("\"purpose\" = 'sea level'")
    run_next(list(RUNS))


begin(start)
