"""Without rasterio and shapely the plugin loads, and GDAL's own bindings give the same figures."""

import json
import os
import subprocess
import sys

import pytest
from scenes import SAMPLE, Feedback, rows, run

SETTINGS = {
    "INPUT": f"{SAMPLE}/coast.gpkg|layername=candidates", "SITE_FIELD": "name", "HEIGHT_FIELD": "ellip_m",
    "HEIGHT_REFERENCE": "ellipsoid", "GEOID": f"{SAMPLE}/geoid.tif", "DEM": f"{SAMPLE}/elevation.tif",
    "DEM_WATER": "bed", "LOW_FIELD": "low_m", "HIGH_FIELD": "high_m", "LANDCOVER": f"{SAMPLE}/landcover.tif",
    "TARGET_CLASSES": "1-2", "WATER": f"{SAMPLE}/coast.gpkg|layername=water",
    "AVOID": f"{SAMPLE}/coast.gpkg|layername=avoid", "AVOID_FIELD": "share", "AVOID_NAME": "name", "TRIALS": 3}
ABSENT = ["rasterio", "shapely", "skyfield", "jplephem", "sgp4", "scipy", "matplotlib", "fiona", "geopandas"]

# another process: this one has long imported what must be missing there
SCRIPT = """
import importlib.util, json, sys

absent, root, settings, target = json.loads(sys.argv[1])

class Absent:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] in absent:
            raise ModuleNotFoundError(f"No module named {name!r}", name=name)

sys.meta_path.insert(0, Absent())
for name in absent:
    try:
        __import__(name)
    except ImportError:
        continue
    raise SystemExit(f"{name} is still there")

from qgis.core import QgsApplication, QgsVectorLayer
application = QgsApplication([], False)
application.initQgis()
sys.path.append(QgsApplication.pkgDataPath() + "/python/plugins")
from processing.core.Processing import Processing
Processing.initialize()
import processing

spec = importlib.util.spec_from_file_location(
    "stillwater", root + "/__init__.py", submodule_search_locations=[root])
package = importlib.util.module_from_spec(spec)
sys.modules["stillwater"] = package
spec.loader.exec_module(package)
plugin = package.classFactory(None)
plugin.initProcessing()
result = processing.run("stillwater:rankcandidates", {**settings, "OUTPUT": "TEMPORARY_OUTPUT"})["OUTPUT"]
names = [field.name() for field in result.fields()]
found = [[None if value is None or (hasattr(value, "isNull") and value.isNull()) else value
          for value in feature.attributes()] for feature in result.getFeatures()]
with open(target, "w", encoding="utf-8") as file:
    json.dump([dict(zip(names, row)) for row in found], file)
plugin.unload()
"""


@pytest.fixture(scope="module")
def bare(tmp_path_factory) -> list:
    """Give the ranking that a Python without the packages makes."""
    target = tmp_path_factory.mktemp("bare") / "rows.json"
    root = str(SAMPLE.parent)
    done = subprocess.run(
        [sys.executable, "-W", "ignore", "-c", SCRIPT, json.dumps([ABSENT, root, SETTINGS, str(target)])],
        capture_output=True, text=True, timeout=120, stdin=subprocess.DEVNULL,
        env=dict(os.environ, QT_QPA_PLATFORM="offscreen"))
    assert target.exists(), done.stdout + done.stderr
    assert "Traceback" not in done.stdout + done.stderr
    return json.loads(target.read_text(encoding="utf-8"))


def test_the_ranking_is_the_same(bare, provider):
    here = rows(run("rankcandidates", Feedback(), **SETTINGS)["OUTPUT"])
    assert len(here) == len(bare) == 15
    for one, other in zip(bare, here):
        assert set(one) == set(other)
        for name, value in other.items():
            if isinstance(value, float):
                assert one[name] == pytest.approx(value, rel=1e-9, abs=1e-9), name
            else:
                assert one[name] == value, name


@pytest.mark.parametrize("absent", [["rasterio"], ["shapely"]])
def test_one_missing_package_is_enough_to_go_the_other_way(monkeypatch, absent, provider, coast):
    pytest.importorskip("rasterio")
    from scenes import offshore
    from stillwater.siting.ground import rasters

    wanted = rows(run("surfacequality", INPUT=offshore(-20), **coast)["OUTPUT"])
    for name in absent:
        monkeypatch.setitem(sys.modules, name, None)
    source = rasters.Raster(coast["LANDCOVER"])._source
    assert type(source).__name__ == ("_Gdal" if "rasterio" in absent else "_Rasterio")
    assert rows(run("surfacequality", INPUT=offshore(-20), **coast)["OUTPUT"]) == wanted
