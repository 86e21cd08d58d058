"""Fixtures for tests of the bench's actions and pins; a test module names this one in its `pytest_plugins`."""

from dataclasses import replace

import pytest
from bench_parts_scene import take_away, window_on
from bench_scene import bench_on
from qgis.core import QgsApplication, QgsProject, QgsRasterLayer


@pytest.fixture
def parts_project():
    """Give an empty project, before and after."""
    project = QgsProject.instance()
    project.clear()
    yield project
    project.clear()


@pytest.fixture
def scene(parts_project, provider, qgis_app):
    """Give bench, bar and panel on the sample's layers."""
    bench = bench_on(parts_project)
    bench.set_height(4.5)
    made = window_on(bench)
    yield made
    take_away(made)
    bench.close()
    assert not [task for task in QgsApplication.taskManager().tasks() if task.isActive()]


@pytest.fixture
def shore(parts_project, provider, coast, qgis_app):
    """Give bench, bar and panel on a straight shore with water to the east."""
    from stillwater.plugin.bench.model.bench import Bench
    cover = QgsRasterLayer(coast["LANDCOVER"], "Land cover")
    parts_project.addMapLayer(cover)
    bench = Bench(parts_project)
    bench.set_settings(replace(bench.settings, LANDCOVER=cover.id(), TARGET_CLASSES="80"))
    made = window_on(bench)
    yield made
    take_away(made)
    bench.close()
