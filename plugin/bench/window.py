"""The bench in the QGIS window: its dock, its tool, what it draws, its menu entry; all taken away again on closing."""
from __future__ import annotations

import os

from qgis.core import QgsApplication, QgsProject
from qgis.PyQt.QtCore import QLocale, QObject, QSettings, QSignalBlocker, Qt, QTranslator
from qgis.PyQt.QtGui import QIcon
from qgis.PyQt.QtWidgets import QAction

from ...processing_algs.folders import ICONS, PLUGIN
from .dock.dock import BenchDock
from .map.item import SpotItem
from .map.tool import PlaceTool
from .model.bench import Bench

MENU = "&Stillwater"


class BenchWindow(QObject):
    """Puts the bench into the window.

    Parameters
    ----------
    iface : QgisInterface
    """

    def __init__(self, iface):
        super().__init__(iface.mainWindow())
        self.iface, self._translator = iface, _translator(self)
        canvas = iface.mapCanvas()
        self.bench = Bench(QgsProject.instance(), self)
        self.item = SpotItem(canvas, self.bench)
        self.tool = PlaceTool(canvas, self.bench)
        icon = QIcon(os.path.join(ICONS, "bench.svg"))
        self.action = QAction(icon, self.tr("Stillwater bench"), iface.mainWindow())
        self.action.setObjectName("StillwaterBenchAction")
        self.action.setCheckable(True)
        self.action.setToolTip(self.tr("Place an antenna on the map, and see at once what it would be worth"))
        self.place_action = QAction(icon, self.tr("Place an antenna"), iface.mainWindow())
        self.place_action.setObjectName("StillwaterPlaceAction")
        self.place_action.setCheckable(True)
        self.tool.setAction(self.place_action)
        self.dock = BenchDock(self.bench, iface, iface.mainWindow())
        self.dock.set_place_action(self.place_action)
        self.place_action.toggled.connect(self._take_tool)
        self.action.toggled.connect(self.dock.setUserVisible)
        self.dock.visibilityChanged.connect(self._follow_visibility)
        iface.addDockWidget(Qt.DockWidgetArea.RightDockWidgetArea, self.dock)
        self.dock.hide()
        iface.addToolBarIcon(self.action)
        iface.addPluginToMenu(MENU, self.action)

    def _take_tool(self, is_wanted):
        canvas = self.iface.mapCanvas()
        if is_wanted and canvas.mapTool() is not self.tool:
            canvas.setMapTool(self.tool)
            canvas.setFocus()
        elif not is_wanted and canvas.mapTool() is self.tool:
            self.tool.leave()

    def _follow_visibility(self, is_visible):
        """Show the button pressed while the dock is open; a dock behind another tab is open."""
        with QSignalBlocker(self.action):
            self.action.setChecked(self.dock.isUserVisible() if is_visible else not self.dock.isHidden())
        self.item.setVisible(not self.dock.isHidden())

    def close(self) -> None:
        """Take everything away."""
        if self.iface.mapCanvas().mapTool() is self.tool:
            self.iface.mapCanvas().unsetMapTool(self.tool)
        self.tool.close()
        self.item.close()
        self.dock.close_bench()
        self.bench.close()
        self.iface.removeDockWidget(self.dock)
        self.dock.deleteLater()
        self.iface.removePluginMenu(MENU, self.action)
        self.iface.removeToolBarIcon(self.action)
        for action in (self.action, self.place_action):
            action.deleteLater()
        if self._translator is not None:
            QgsApplication.instance().removeTranslator(self._translator)
        self.deleteLater()


def _translator(parent) -> QTranslator | None:
    """Install the texts of the user's language, if there are any."""
    settings = QSettings()
    chosen = settings.value("locale/userLocale", "", str) if settings.value(
        "locale/overrideFlag", False, bool) else QLocale.system().name()
    path = os.path.join(PLUGIN, "i18n", f"stillwater_{(chosen or 'en')[:2]}.qm")
    if not os.path.exists(path):
        return None
    made = QTranslator(parent)
    if not made.load(path):
        return None
    QgsApplication.instance().installTranslator(made)
    return made
