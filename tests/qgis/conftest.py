"""Fixtures for tests inside QGIS."""

import sys
from pathlib import Path

import pytest

# pytest's importlib mode puts no test folder on the path; tests import the module `scenes` from here
sys.path.insert(0, str(Path(__file__).resolve().parent))


@pytest.fixture(scope="session", autouse=True)
def layer_tree_view(qgis_iface):
    """Give the interface a real tree of layers: QGIS 3.44 hands it to C++, which a mock makes abort."""
    from qgis.core import QgsLayerTreeModel, QgsProject
    from qgis.gui import QgsLayerTreeView
    view = QgsLayerTreeView()
    view.setModel(QgsLayerTreeModel(QgsProject.instance().layerTreeRoot(), view))
    qgis_iface.layerTreeView = lambda: view
    return view


@pytest.fixture(scope="module")
def provider(qgis_processing):
    """Register Stillwater's provider for one test module and take it away again."""
    from qgis.core import QgsApplication
    from stillwater import classFactory

    plugin = classFactory(None)
    plugin.initProcessing()
    yield QgsApplication.processingRegistry().providerById("stillwater")
    plugin.unload()


@pytest.fixture(scope="session")
def coast(tmp_path_factory):
    """Give the parameters that name the coast's land cover, 2 m cells."""
    import scenes
    path = scenes.raster(tmp_path_factory.mktemp("coast") / "coast.tif", scenes.coast_cells())
    return {"LANDCOVER": path, "TARGET_CLASSES": "80"}
