"""A button that says in words what it does."""
from __future__ import annotations

from qgis.PyQt.QtCore import Qt
from qgis.PyQt.QtGui import QIcon
from qgis.PyQt.QtWidgets import QToolButton


class WordButton(QToolButton):
    """An icon with words beside it; keys reach it too.

    Parameters
    ----------
    name : str
        Of the object.
    icon : QIcon
    text, tip : str
    """

    def __init__(self, name: str, icon: QIcon, text: str = "", tip: str = "", parent=None):
        super().__init__(parent)
        self.setObjectName(name)
        self.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.dress(icon, text, tip)

    def dress(self, icon: QIcon, text: str, tip: str) -> None:
        """Show another icon, other words and another tip."""
        self.setIcon(icon)
        self.setText(text)
        self.setToolTip(tip)
