"""The bench in the window: opened, used by mouse and keys, and taken away without a trace."""

import gc
from dataclasses import replace

import pytest
from bench_scene import CRS, PIER, looked, pump, sample_layers
from qgis.core import QgsApplication, QgsProject, QgsRectangle
from qgis.PyQt.QtCore import QPoint, Qt
from qgis.PyQt.QtTest import QTest
from qgis.PyQt.QtWidgets import QAction, QApplication, QDialog, QDockWidget, QMessageBox


@pytest.fixture
def window(qgis_iface, qgis_processing):
    """Load the plugin as QGIS does; give what it put into the window."""
    from stillwater import classFactory
    QgsProject.instance().clear()
    canvas = qgis_iface.mapCanvas()
    qgis_iface.mainWindow().resize(1400, 900)
    qgis_iface.mainWindow().show()
    pump(50)
    canvas.setDestinationCrs(CRS)
    canvas.setExtent(QgsRectangle(PIER.x() - 225, PIER.y() - 175, PIER.x() + 225, PIER.y() + 175))
    plugin = classFactory(qgis_iface)
    plugin.initGui()
    yield plugin.window
    plugin.unload()
    QgsProject.instance().clear()
    QApplication.processEvents()


def pixel(canvas, point) -> QPoint:
    found = canvas.getCoordinateTransform().transform(point)
    return QPoint(round(found.x()), round(found.y()))


def use_sample(bench):
    bench.set_settings(replace(bench.settings, **sample_layers(QgsProject.instance())))


def test_the_button_opens_the_dock_and_closes_it(window):
    assert window.dock.isHidden()
    window.action.trigger()
    assert not window.dock.isHidden()
    window.action.trigger()
    assert window.dock.isHidden()
    window.action.trigger()
    window.dock.close()
    assert not window.action.isChecked(), "closed by its own button"


def test_from_a_click_to_a_verdict_in_the_dock(window, qgis_iface):
    canvas, bench = qgis_iface.mapCanvas(), window.bench
    window.action.trigger()
    use_sample(bench)
    bench.set_height(4.5)
    window.place_action.trigger()
    assert canvas.mapTool() is window.tool
    QTest.mouseClick(canvas.viewport(), Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, pixel(canvas, PIER))
    assert bench.place.point.distance(PIER) < 1.0
    assert looked(bench).row.verdict == "suitable"
    window.dock.show()
    pump(50)
    assert not [one for one in QApplication.topLevelWidgets() if isinstance(one, (QMessageBox, QDialog))
                and one.isVisible()]
    QTest.keyClick(canvas.viewport(), Qt.Key.Key_Escape)
    QApplication.processEvents()
    assert canvas.mapTool() is not window.tool and not window.place_action.isChecked()
    assert bench.place is not None, "leaving the tool leaves the antenna"


def test_a_hidden_dock_draws_nothing_on_the_map(window):
    window.action.trigger()
    use_sample(window.bench)
    window.bench.move_to(PIER, CRS)
    looked(window.bench)
    assert window.item.isVisible()
    window.action.trigger()
    assert not window.item.isVisible()


@pytest.mark.parametrize("moment", ["idle", "looking", "tool in hand", "making layers", "searching"])
def test_unloading_leaves_nothing(qgis_iface, qgis_processing, moment):
    from stillwater import classFactory
    project, canvas, main = QgsProject.instance(), qgis_iface.mapCanvas(), qgis_iface.mainWindow()
    project.clear()
    canvas.setDestinationCrs(CRS)
    QApplication.processEvents()
    tool_before = canvas.mapTool()

    def counts():
        QApplication.sendPostedEvents(None, 52)  # QEvent.DeferredDelete
        QApplication.processEvents()
        gc.collect()
        return (len(canvas.scene().items()), len([one for one in main.findChildren(QDockWidget)
                                                  if "Stillwater" in one.objectName()]),
                len([one for one in main.findChildren(QAction) if one.objectName().startswith("Stillwater")]),
                len(project.mapLayers()))

    before = counts()
    plugin = classFactory(qgis_iface)
    plugin.initGui()
    bench = plugin.window.bench
    plugin.window.action.trigger()
    use_sample(bench)
    bench.move_to(PIER, CRS)
    if moment == "looking":
        assert bench.engine.is_busy()
    else:
        looked(bench)
        bench.pin()
    if moment == "tool in hand":
        plugin.window.place_action.trigger()
        assert canvas.mapTool() is plugin.window.tool
    part = {"making layers": "layers", "searching": "better"}.get(moment)
    if part is not None:
        getattr(plugin.window.dock.actions, part).button.click()
        pump(20)
        assert plugin.window.dock.actions.is_running()
    plugin.unload()
    assert canvas.mapTool() is tool_before or canvas.mapTool() is None
    assert not [task for task in QgsApplication.taskManager().tasks() if task.isActive()
                and task.description().startswith("Stillwater")]
    pump(300)
    project.clear()
    assert counts() == before
    assert QgsApplication.processingRegistry().providerById("stillwater") is None


def test_it_can_be_loaded_again(qgis_iface, qgis_processing):
    from stillwater import classFactory
    for _ in range(2):
        plugin = classFactory(qgis_iface)
        plugin.initGui()
        plugin.window.action.trigger()
        assert not plugin.window.dock.isHidden()
        plugin.unload()
        QApplication.processEvents()
