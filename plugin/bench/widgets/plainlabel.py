"""A label for words that are not the program's own."""
from __future__ import annotations

from qgis.PyQt.QtCore import Qt
from qgis.PyQt.QtWidgets import QLabel


def plain_label(name: str = "", wraps: bool = True) -> QLabel:
    """Make a label that takes its text as it is, without markup; it can be selected.

    Parameters
    ----------
    name : str
        Of the object.
    wraps : bool
        Whether long lines go on below.
    """
    made = QLabel()
    made.setObjectName(name)
    made.setTextFormat(Qt.TextFormat.PlainText)
    made.setWordWrap(wraps)
    made.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
    return made
