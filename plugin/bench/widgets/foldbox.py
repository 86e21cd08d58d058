"""A box that can be folded away, and stays so."""
from __future__ import annotations

from qgis.gui import QgsCollapsibleGroupBox

GROUP = "stillwaterBench"
"""Where the window's settings keep what is folded."""


class FoldBox(QgsCollapsibleGroupBox):
    """A box with a title; the user's settings remember whether it is folded.

    Parameters
    ----------
    name : str
        Under which it is remembered.
    title : str
    """

    def __init__(self, name: str, title: str, parent=None):
        super().__init__(title, parent)
        self.setObjectName(name)
        self.setSettingGroup(GROUP)
