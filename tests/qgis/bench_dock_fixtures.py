"""Fixtures for tests of the bench's dock; a test module names this one in its `pytest_plugins`."""

import pytest


@pytest.fixture
def project():
    """Give an empty project, and settings in which the hint of the first time was dismissed."""
    from qgis.core import QgsProject, QgsSettings
    project = QgsProject.instance()
    project.clear()
    settings = QgsSettings()
    settings.setValue("stillwater/bench/seen", True)
    yield project
    settings.remove("stillwater/bench/seen")
    project.clear()


@pytest.fixture
def empty(project, provider):
    """Give a bench without layers."""
    from stillwater.plugin.bench.model.bench import Bench
    bench = Bench(project)
    yield bench
    bench.close()


@pytest.fixture
def bench(project, provider):
    """Give a bench that looks at the sample's layers."""
    from bench_scene import bench_on
    bench = bench_on(project)
    bench.set_height(4.5)
    yield bench
    bench.close()


@pytest.fixture
def shown(bench, qgis_app):
    """Give the dock of that bench, shown in a window."""
    from bench_dock_scene import take_away, window_with_dock
    window, dock, _iface = window_with_dock(bench)
    yield dock
    take_away(window, dock)
