"""Time from the mouse to the painted picture while an antenna is dragged over 1 m rasters with terrain on.

Printed; nothing asserts a time.
"""

import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from osgeo import gdal
from qgis.core import QgsCoordinateReferenceSystem, QgsPointXY, QgsProject, QgsRasterLayer, QgsRectangle, QgsVectorLayer
from qgis.gui import QgsMapCanvas
from qgis.PyQt.QtWidgets import QApplication

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "qgis"))

SAMPLE = Path(__file__).resolve().parents[2] / "sample_layers"
POSITIONS = 200
PIER = (499485.0, 4982419.0)


@pytest.fixture
def layers(tmp_path):
    """Give the sample's rasters with 1 m cells, and the areas to avoid, in the project."""
    project = QgsProject.instance()
    project.clear()
    made = []
    for name, how in (("elevation", "bilinear"), ("landcover", "near")):
        path = str(tmp_path / f"{name}.tif")
        gdal.Translate(path, str(SAMPLE / f"{name}.tif"), xRes=1.0, yRes=1.0, resampleAlg=how,
                       creationOptions=["TILED=YES", "COMPRESS=DEFLATE"])
        made.append(QgsRasterLayer(path, name))
    made.append(QgsVectorLayer(f"{SAMPLE}/coast.gpkg|layername=avoid", "avoid", "ogr"))
    project.addMapLayers(made)
    yield made
    project.clear()


def test_dragging_along_the_pier(layers, qgis_iface, qgis_processing):
    from bench_hands import Hands
    from bench_scene import TIDE, looked
    from stillwater.plugin.bench.dock.dock import BenchDock
    from stillwater.plugin.bench.map.item import SpotItem
    from stillwater.plugin.bench.map.tool import PlaceTool
    from stillwater.plugin.bench.model.bench import Bench
    dem, cover, avoid = layers
    canvas = QgsMapCanvas()
    canvas.resize(1000, 800)
    canvas.setDestinationCrs(QgsCoordinateReferenceSystem("EPSG:32624"))
    canvas.show()
    canvas.setExtent(QgsRectangle(PIER[0] - 250, PIER[1] - 200, PIER[0] + 250, PIER[1] + 200))
    bench = Bench(QgsProject.instance())
    bench.set_settings(replace(bench.settings, DEM=dem.id(), DEM_WATER="bed", LANDCOVER=cover.id(),
                               TARGET_CLASSES="1-2", AVOID=avoid.id(), AVOID_FIELD="share", AVOID_NAME="name", **TIDE))
    bench.set_height(7.0)
    painted = []

    class Watched(SpotItem):
        """Tells for which place it was painted last."""

        def paint(self, *given):
            super().paint(*given)
            if bench.spot is not None and bench.place is not None:
                painted.append((bench.place.point, bench.spot.candidate.x == bench.place.point.x()))

    item, tool = Watched(canvas, bench), PlaceTool(canvas, bench)
    dock = BenchDock(bench, qgis_iface)
    dock.resize(380, 900)
    dock.show()
    canvas.setMapTool(tool)
    hands, start = Hands(canvas), QgsPointXY(*PIER)
    hands.click(hands.pixel(start))
    looked(bench)
    begin = time.perf_counter()
    full = bench.engine._looker.look(bench.engine._candidate())
    whole = time.perf_counter() - begin
    assert full.row.verdict == bench.spot.row.verdict
    hands.press(hands.pixel(start))
    # far enough to be a drag
    hands.move(hands.pixel(QgsPointXY(PIER[0] + 20.0, PIER[1])))
    spent, right = [], 0
    for step in range(POSITIONS):
        turn = 2.0 * np.pi * step / POSITIONS
        to = QgsPointXY(PIER[0] + 60.0 * np.sin(turn), PIER[1] + 40.0 * np.sin(2.0 * turn))
        event = hands.event(hands.pixel(to))
        begin = time.perf_counter()
        QApplication.sendEvent(canvas.viewport(), event)
        painted.clear()
        while not painted and time.perf_counter() - begin < 1.0:
            QApplication.processEvents()
        # the dock's part of the picture, if it is not painted yet
        QApplication.processEvents()
        spent.append(1000.0 * (time.perf_counter() - begin))
        right += bool(painted) and painted[-1][1] and painted[-1][0].distance(to) < 1.0
    hands.release(hands.pixel(to))
    looked(bench)
    print(f"\nfrom mouse event to painted picture over {POSITIONS} positions of a drag, 1 m rasters, terrain: median "
          f"{np.median(spent):.0f} ms, 95th percentile {np.percentile(spent, 95):.0f} ms, most {max(spent):.0f} ms; "
          f"a full look {1000 * whole:.0f} ms, in a task of its own")
    for part in (tool, item):
        part.close()
    dock.close_bench()
    dock.close()
    bench.close()
    canvas.close()
    assert right == POSITIONS, "each position was looked at and painted before the next"
