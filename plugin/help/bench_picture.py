"""Photograph the bench in the QGIS window: light and dark, wide and narrow, and through simulated colour blindness.

`make_bench_pictures.sh` runs this inside QGIS (``qgis --code``), once for each theme.
"""
from __future__ import annotations

import os
from dataclasses import replace
from typing import Any, Callable

from qgis.core import QgsApplication, QgsCoordinateReferenceSystem, QgsPointXY, QgsProject, QgsRectangle
from qgis.gui import QgsPreviewEffect
from qgis.PyQt.QtCore import Qt, QTimer
from qgis.PyQt.QtWidgets import QApplication, QDockWidget
from qgis.utils import iface, plugins
from window_run import begin, fail, guarded, leave, open_sample

FOLDER, THEME = (os.environ[f"STILLWATER_{name}"] for name in ("PICTURES", "THEME"))
SIZE = (1600, 1000)
PLACE, HEIGHT_M = QgsPointXY(499485, 4982419), 4.5
VIEW = QgsRectangle(499270, 4982240, 499730, 4982600)
WIDE, NARROW = 470, 285
WAIT_MS = 1000
LAYERS = {"DEM": "Elevation [m]", "LANDCOVER": "Land cover", "AVOID": "Avoid"}
PREVIEWS = ("PreviewGrayscale", "PreviewProtanope", "PreviewDeuteranope", "PreviewTritanope")


def prepare() -> None:
    """Open the project, and put an antenna on the pier head."""
    if THEME == "dark":
        QgsApplication.setUITheme("Night Mapping")
    window = iface.mainWindow()
    window.resize(*SIZE)
    open_sample()
    project = QgsProject.instance()
    layers = {name: project.mapLayersByName(title)[0].id() for name, title in LAYERS.items()}
    bench_window = plugins["stillwater"].window
    bench_window.action.setChecked(True)
    bench = bench_window.bench
    bench.set_settings(replace(
        bench.settings, **layers, DEM_WATER="bed", TARGET_CLASSES="1-2", AVOID_FIELD="share", AVOID_NAME="name",
        HEIGHT_REFERENCE="ground", LEVEL_LOW=-1.1, LEVEL_HIGH=1.1))
    for dock in window.findChildren(QDockWidget):
        dock.setVisible(dock.objectName() in ("Layers", "StillwaterBench"))
    iface.messageBar().clearWidgets()
    iface.mapCanvas().setExtent(VIEW)
    bench.set_height(HEIGHT_M)
    crs = QgsCoordinateReferenceSystem("EPSG:32624")
    bench.move_to(QgsPointXY(499764, 4982692), crs)
    wait_for(bench, lambda: second(bench_window, crs))


def second(bench_window: Any, crs: QgsCoordinateReferenceSystem) -> None:
    """Pin the first place, and go to the one that is shown."""
    bench_window.bench.pin("Warehouse corner")
    bench_window.bench.move_to(PLACE, crs)
    wait_for(bench_window.bench, lambda: steps(bench_window))


def wait_for(bench: Any, then: Callable[[], None], tries: int = 200) -> None:
    """Go on when the full look has come."""
    if tries == 0:
        fail("the bench is still looking")
    if bench.engine.is_busy():
        QTimer.singleShot(100, lambda: wait_for(bench, then, tries - 1))
    else:
        QTimer.singleShot(700, then)


def steps(bench_window: Any) -> None:
    """Take one picture after the other."""
    todo = [lambda: shoot(f"bench_{THEME}", bench_window, WIDE),
            lambda: shoot(f"bench_{THEME}_narrow", bench_window, NARROW)]
    if THEME == "light":
        todo += [lambda one=one: preview(one) for one in PREVIEWS]
    todo.append(leave)

    def following():
        guarded(todo.pop(0))
        if todo:
            QTimer.singleShot(3 * WAIT_MS, following)

    following()


def shoot(name: str, bench_window: Any, width: int) -> None:
    """Save a picture of the window with the dock so wide."""
    window = iface.mainWindow()
    layers = window.findChild(QDockWidget, "Layers")
    window.resizeDocks([layers, bench_window.dock], [210, width], Qt.Orientation.Horizontal)
    iface.messageBar().clearWidgets()
    # until the map is drawn at its new size
    QTimer.singleShot(WAIT_MS // 2, iface.mapCanvas().refresh)
    QTimer.singleShot(2 * WAIT_MS, lambda: window.grab().save(os.path.join(FOLDER, f"{name}.png")))


def preview(mode: str) -> None:
    """Save the map as a reader sees it who cannot tell some colours apart."""
    canvas = iface.mapCanvas()
    canvas.setPreviewModeEnabled(True)
    canvas.setPreviewMode(getattr(QgsPreviewEffect.PreviewMode, mode))
    QApplication.processEvents()
    canvas.grab().save(os.path.join(FOLDER, f"map_{mode[len('Preview'):].lower()}.png"))
    canvas.setPreviewModeEnabled(False)


begin(prepare)
