"""Fixtures for tests of the bench's dock; a test module names this one in its `pytest_plugins`."""

import pytest

pytest_plugins = ["bench_fixtures"]


@pytest.fixture
def empty(project, provider):
    """Give a bench without layers."""
    from stillwater.plugin.bench.model.bench import Bench
    bench = Bench(project)
    yield bench
    bench.close()


@pytest.fixture
def shown(bench, qgis_app):
    """Give the dock of that bench, shown in a window."""
    from bench_dock_scene import take_away, window_with_dock
    window, dock, _iface = window_with_dock(bench)
    yield dock
    take_away(window, dock)
