"""A button that starts something, and stops it while it runs."""
from __future__ import annotations

from qgis.core import QgsApplication
from qgis.PyQt.QtCore import pyqtSignal
from qgis.PyQt.QtGui import QIcon

from ..widgets.wordbutton import WordButton


class RunButton(WordButton):
    """Turns into “Stop” while what it started runs; made as any `WordButton`, of all four.

    Signals
    -------
    rested()
        It offers to start again.
    """

    rested = pyqtSignal()

    def __init__(self, name: str, icon: QIcon, text: str, tip: str, parent=None):
        super().__init__(name, icon, text, tip, parent)
        self._own = (icon, text, tip)
        self.is_running = False

    def set_running(self, is_running: bool) -> None:
        """Offer to stop, or to start."""
        self.is_running = is_running
        if is_running:
            self.dress(QgsApplication.getThemeIcon("/mActionStop.svg"), self.tr("Stop"),
                       self.tr("Stop “{}”").format(self._own[1]))
        else:
            self.dress(*self._own)
            self.rested.emit()
