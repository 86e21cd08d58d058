"""Fixtures for tests of the bench on the map; a test module names this one in its `pytest_plugins`."""

import pytest
from bench_hands import Hands
from bench_scene import CRS, PIER, looked, pump
from qgis.core import QgsRectangle
from qgis.gui import QgsMapCanvas

pytest_plugins = ["bench_fixtures"]


@pytest.fixture
def canvas(qgis_app):
    """Give a map around the pier head."""
    canvas = QgsMapCanvas()
    canvas.resize(640, 520)
    canvas.setDestinationCrs(CRS)
    canvas.show()
    canvas.setExtent(QgsRectangle(PIER.x() - 260, PIER.y() - 210, PIER.x() + 260, PIER.y() + 210))
    pump(50)
    yield canvas
    canvas.close()
    canvas.deleteLater()
    pump(20)


@pytest.fixture
def item(canvas, bench):
    """Give what draws that bench on that map."""
    from stillwater.plugin.bench.map.item import SpotItem
    item = SpotItem(canvas, bench)
    yield item
    item.close()


@pytest.fixture
def tool(canvas, bench):
    """Give the tool, in use."""
    from stillwater.plugin.bench.map.tool import PlaceTool
    tool = PlaceTool(canvas, bench)
    canvas.setMapTool(tool)
    yield tool
    tool.close()


@pytest.fixture
def hands(canvas, tool):
    """Give hands on that map, with the tool in use."""
    return Hands(canvas)


@pytest.fixture
def on_pier(bench, hands):
    """Put the antenna on the pier head and look from it."""
    bench.move_to(PIER, CRS)
    looked(bench)
    return hands.pixel(PIER)
