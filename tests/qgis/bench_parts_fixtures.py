"""Fixtures for tests of the bench's actions and pins; a test module names this one in its `pytest_plugins`."""

import pytest
from bench_parts_scene import bench_on_shore, take_away, window_on

pytest_plugins = ["bench_fixtures"]


@pytest.fixture
def scene(bench, qgis_app):
    """Give bench, bar and panel on the sample's layers."""
    made = window_on(bench)
    yield made
    take_away(made)


@pytest.fixture
def shore(project, provider, coast, qgis_app):
    """Give bench, bar and panel on a straight shore with water to the east."""
    bench = bench_on_shore(project, coast)
    made = window_on(bench)
    yield made
    take_away(made)
    bench.close()
