"""Fixtures for tests inside QGIS."""

import pytest


@pytest.fixture(scope="module")
def provider(qgis_processing):
    """Register Stillwater's provider for one test module and take it away again."""
    from qgis.core import QgsApplication
    from stillwater import classFactory

    plugin = classFactory(None)
    plugin.initProcessing()
    yield QgsApplication.processingRegistry().providerById("stillwater")
    plugin.unload()
