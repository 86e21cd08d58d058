"""A dock of the bench on the sample layers, with a map, for tests."""

from types import SimpleNamespace

from bench_scene import CRS
from qgis.core import QgsPointXY
from qgis.gui import QgsMapCanvas
from qgis.PyQt import sip
from qgis.PyQt.QtCore import QCoreApplication, QEvent, Qt
from qgis.PyQt.QtTest import QTest
from qgis.PyQt.QtWidgets import QApplication, QMainWindow, QWidget

SHUT_COVE, NOWHERE = QgsPointXY(500940, 4982801), QgsPointXY(520000, 4982419)


class Part(QWidget):
    """Stands in for a part of the dock that others make."""

    def __init__(self, bench, iface, parent):
        super().__init__(parent)
        self.given = (bench, iface)


def window_with_dock(bench, width=320):
    """Show a dock beside a map, as QGIS would; window, dock and interface."""
    from stillwater.plugin.bench.dock.dock import BenchDock
    canvas = QgsMapCanvas()
    canvas.setDestinationCrs(CRS)
    window = QMainWindow()
    window.setCentralWidget(canvas)
    opened = []
    iface = SimpleNamespace(mapCanvas=lambda: canvas, mainWindow=lambda: window, opened=opened,
                            addProject=lambda path: opened.append(path) or True)
    dock = BenchDock(bench, iface, window, (Part, Part))
    window.addDockWidget(Qt.DockWidgetArea.RightDockWidgetArea, dock)
    window.resize(1000, 800)
    window.show()
    window.resizeDocks([dock], [width], Qt.Orientation.Horizontal)
    settle()
    return window, dock, iface


def settle() -> None:
    """Let layouts and paint events pass."""
    for _ in range(5):
        QApplication.processEvents()


def take_away(window, dock) -> None:
    """Close a dock as the plugin does, and its window."""
    dock.close_bench()
    window.removeDockWidget(dock)
    dock.deleteLater()
    QCoreApplication.sendPostedEvents(dock, QEvent.Type.DeferredDelete)
    sip.delete(window)


def press(widget, key, times=1) -> None:
    """Press a key on a widget that has the focus."""
    widget.setFocus()
    for _ in range(times):
        QTest.keyClick(widget, key)


def pick(combo, text) -> None:
    """Choose an entry of a combo box by the keyboard."""
    row = combo.findText(text)
    assert row >= 0, [combo.itemText(i) for i in range(combo.count())]
    press(combo, Qt.Key.Key_Home)
    press(combo, Qt.Key.Key_Down, row)
    assert combo.currentText() == text
