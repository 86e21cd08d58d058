"""Actions and pins of the bench in a window, and the hands that use them, for tests."""

from dataclasses import replace
from types import SimpleNamespace

from bench_scene import CRS, PIER, looked, pump
from qgis.core import QgsPointXY, QgsRasterLayer
from qgis.gui import QgsMapCanvas
from qgis.PyQt import sip
from qgis.PyQt.QtCore import Qt
from qgis.PyQt.QtTest import QTest
from qgis.PyQt.QtWidgets import QApplication, QMainWindow, QToolButton, QVBoxLayout, QWidget
from scenes import MIDDLE_Y, SHORE_X

PROMENADE = QgsPointXY(499345, 4982827)
LEFT, FREE = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier


class Ears:
    """Keeps what a bench says."""

    def __init__(self, bench):
        self.said = []
        bench.said.connect(lambda kind, text: self.said.append((kind, text)))

    def texts(self, kind):
        return [text for one, text in self.said if one == kind]


def bench_on_shore(project, coast):
    """Make a bench that looks at a straight shore with water to the east."""
    from stillwater.plugin.bench.model.bench import Bench
    cover = QgsRasterLayer(coast["LANDCOVER"], "Land cover")
    project.addMapLayer(cover)
    bench = Bench(project)
    bench.set_settings(replace(bench.settings, LANDCOVER=cover.id(), TARGET_CLASSES="80"))
    return bench


def window_on(bench):
    """Show bar and panel in a window beside a canvas."""
    from stillwater.plugin.bench.actions.bar import ActionsBar
    from stillwater.plugin.bench.pins.panel import PinsPanel
    canvas, window, page = QgsMapCanvas(), QMainWindow(), QWidget()
    canvas.setDestinationCrs(CRS)
    iface = SimpleNamespace(mapCanvas=lambda: canvas, mainWindow=lambda: window)
    layout = QVBoxLayout(page)
    bar, panel = ActionsBar(bench, iface, page), PinsPanel(bench, iface, page)
    for one in (bar, panel):
        layout.addWidget(one)
    layout.addStretch(1)
    window.setCentralWidget(page)
    window.resize(480, 900)
    window.show()
    QApplication.processEvents()
    return SimpleNamespace(bench=bench, project=bench.project, bar=bar, panel=panel, window=window, canvas=canvas,
                           ears=Ears(bench))


def take_away(scene):
    scene.bar.close_bar()
    scene.panel.close_panel()
    sip.delete(scene.window)
    sip.delete(scene.canvas)


def place(scene, point, height_m=4.5):
    scene.bench.set_height(height_m)
    scene.bench.move_to(point, CRS)
    return looked(scene.bench)


def click(widget):
    assert widget.isEnabled() and widget.isVisible()
    QTest.mouseClick(widget, LEFT)
    QApplication.processEvents()


def wait(scene, most_ms=60_000):
    """Wait for the algorithms of the bar."""
    for _ in range(most_ms // 20):
        pump(20)
        if not scene.bar.is_running():
            return
    raise AssertionError("the algorithm is still running")


def button(scene, column, name):
    model, view = scene.panel.table, scene.panel.view
    return view.indexWidget(model.index(model.row_of("buttons"), column)).findChild(QToolButton, name)


def cell(scene, key, column):
    model = scene.panel.table
    return model.data(model.index(model.row_of(key), column), Qt.ItemDataRole.DisplayRole)


def choose(scene, text):
    """Open the menu of candidates and choose by its words."""
    menu = scene.bar.candidates.menu()
    menu.popup(scene.window.mapToGlobal(scene.window.rect().center()))
    QApplication.processEvents()
    action, = [one for one in menu.actions() if one.text() == text]
    QTest.mouseClick(menu, LEFT, FREE, menu.actionGeometry(action).center())
    QApplication.processEvents()


def pin_two(scene):
    """Pin the pier head, then a promenade that is worth less."""
    place(scene, PIER)
    click(scene.bar.pin)
    place(scene, PROMENADE, 3.0)
    click(scene.bar.pin)
    return scene.bench.pins


def inland(scene, distance_m=30.0):
    scene.bench.set_height(3.0)
    scene.bench.move_to(QgsPointXY(SHORE_X - distance_m, MIDDLE_Y), CRS)
    return looked(scene.bench)
