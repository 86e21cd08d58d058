"""The bench on the sample layers, for tests."""

from dataclasses import replace

from qgis.core import QgsCoordinateReferenceSystem, QgsPointXY, QgsProject, QgsRasterLayer, QgsVectorLayer
from qgis.PyQt.QtCore import QEventLoop, QTimer
from scenes import SAMPLE, UTM

CRS, LONLAT = QgsCoordinateReferenceSystem(UTM), QgsCoordinateReferenceSystem("EPSG:4326")
PIER, COVE = QgsPointXY(499485, 4982419), QgsPointXY(501140, 4982934)
TIDE = {"LEVEL_LOW": -1.1, "LEVEL_HIGH": 1.1}


def sample_layers(project: QgsProject) -> dict:
    """Add the sample's layers to a project; the bench's settings that name them."""
    dem = QgsRasterLayer(f"{SAMPLE}/elevation.tif", "Elevation")
    cover = QgsRasterLayer(f"{SAMPLE}/landcover.tif", "Land cover")
    avoid = QgsVectorLayer(f"{SAMPLE}/coast.gpkg|layername=avoid", "Avoid", "ogr")
    project.addMapLayers([dem, cover, avoid])
    return {"DEM": dem.id(), "DEM_WATER": "bed", "LANDCOVER": cover.id(), "TARGET_CLASSES": "1-2", "AVOID": avoid.id(),
            "AVOID_FIELD": "share", "AVOID_NAME": "name", "HEIGHT_REFERENCE": "ground", **TIDE}


def bench_on(project: QgsProject):
    """Make a bench that looks at the sample's layers."""
    from stillwater.plugin.bench.model.bench import Bench
    bench = Bench(project)
    bench.set_settings(replace(bench.settings, **sample_layers(project)))
    return bench


def pump(ms: int) -> None:
    """Let events pass for a while."""
    loop = QEventLoop()
    QTimer.singleShot(ms, loop.quit)
    loop.exec()


def looked(bench, most_ms: int = 30_000):
    """Wait for the full look; what was found."""
    for _ in range(most_ms // 20):
        pump(20)
        if not bench.engine.is_busy():
            return bench.spot
    raise AssertionError("the bench is still looking")
