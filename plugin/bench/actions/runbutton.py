"""A button that starts something, and stops it while it runs."""
from __future__ import annotations

from qgis.core import QgsApplication
from qgis.PyQt.QtCore import Qt, pyqtSignal
from qgis.PyQt.QtGui import QIcon
from qgis.PyQt.QtWidgets import QToolButton


class RunButton(QToolButton):
    """An icon with words; turns into “Stop” while what it started runs.

    Parameters
    ----------
    name : str
        Of the object.
    icon : QIcon
    text, tip : str

    Signals
    -------
    rested()
        It offers to start again.
    """

    rested = pyqtSignal()

    def __init__(self, name: str, icon: QIcon, text: str, tip: str, parent=None):
        super().__init__(parent)
        self.setObjectName(name)
        self._own = (icon, text, tip)
        self.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.is_running = False
        self._show(*self._own)

    def set_running(self, is_running: bool) -> None:
        """Offer to stop, or to start."""
        self.is_running = is_running
        if is_running:
            self._show(QgsApplication.getThemeIcon("/mActionStop.svg"), self.tr("Stop"),
                       self.tr("Stop “{}”").format(self._own[1]))
        else:
            self._show(*self._own)
            self.rested.emit()

    def _show(self, icon, text, tip):
        self.setIcon(icon)
        self.setText(text)
        self.setToolTip(tip)
