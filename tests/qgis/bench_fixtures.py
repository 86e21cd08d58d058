"""Fixtures that all tests of the bench share; a test module names this one in its `pytest_plugins`."""

import pytest
from bench_scene import bench_on


@pytest.fixture
def project():
    """Give an empty project, before and after, and settings in which the hint of the first time was dismissed."""
    from qgis.core import QgsProject, QgsSettings
    project = QgsProject.instance()
    project.clear()
    settings = QgsSettings()
    settings.setValue("stillwater/bench/seen", True)
    yield project
    settings.remove("stillwater/bench/seen")
    project.clear()


@pytest.fixture
def all_has_ended():
    """See to it that nothing runs any more when a test is over and what it used is closed."""
    from qgis.core import QgsApplication
    yield
    assert not [task.description() for task in QgsApplication.taskManager().tasks() if task.isActive()]


@pytest.fixture
def bench(all_has_ended, project, provider):
    """Give a bench that looks at the sample's layers."""
    from stillwater.plugin.bench.model.bench import SHAPES
    bench = bench_on(project)
    bench.set_height(4.5)
    yield bench
    bench.show_shapes(set(SHAPES))
    bench.close()
