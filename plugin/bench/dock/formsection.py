"""A section of inputs that can be folded away; its words are those of the algorithms' parameters."""
from __future__ import annotations

from qgis.PyQt.QtCore import QEvent, QObject, Qt
from qgis.PyQt.QtWidgets import (
    QAbstractSpinBox,
    QComboBox,
    QDateTimeEdit,
    QHBoxLayout,
    QLabel,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from ..model.parameters import ParameterTexts
from ..widgets.foldbox import FoldBox

NUMBER_LETTERS = 10
"""Width of a box for a number with its arrows, so that they stand in one line."""


class WheelGuard(QObject):
    """Keeps the wheel, which moves the page, from changing what it passes over."""

    def eventFilter(self, watched, event):
        if event.type() == QEvent.Type.Wheel and not watched.hasFocus():
            event.ignore()
            return True
        return False


def guard_wheel(field) -> None:
    """Have a field change by the wheel only while it is being edited."""
    field.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
    field.installEventFilter(WheelGuard(field))


class FormSection(FoldBox):
    """A form in a box.

    Parameters
    ----------
    name : str
        Under which it is remembered whether it is folded.
    title : str
    texts : ParameterTexts
    """

    def __init__(self, name: str, title: str, texts: ParameterTexts, parent=None):
        super().__init__(name, title, parent)
        self.texts = texts
        self._rows: dict[str, QWidget] = {}
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(6, 6, 6, 6)

    def add(self, name: str, field) -> None:
        """Add an input, labelled and explained as the parameter is.

        Parameters
        ----------
        name : str
            Of the parameter.
        field : QWidget
        """
        label = QLabel(self.texts.label(name))
        label.setWordWrap(True)
        label.setBuddy(field)
        label.setToolTip(self.texts.tip(name))
        field.setObjectName(name)
        field.setAccessibleName(self.texts.label(name))
        field.setToolTip(self.texts.tip(name))
        if isinstance(field, (QComboBox, QAbstractSpinBox)):
            guard_wheel(field)
        if isinstance(field, QComboBox):
            # a long name of a layer may not make the dock wide
            field.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
            field.setMinimumContentsLength(8)
            field.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._rows[name] = row = QWidget()
        # numbers stand beside their words, what may be long below them
        is_number = isinstance(field, QAbstractSpinBox) and not isinstance(field, QDateTimeEdit)
        layout = QHBoxLayout(row) if is_number else QVBoxLayout(row)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(6 if is_number else 2)
        layout.addWidget(label, 1 if is_number else 0)
        if is_number:
            field.setMinimumWidth(field.fontMetrics().horizontalAdvance("0") * NUMBER_LETTERS)
        layout.addWidget(field)
        self._layout.addWidget(row)

    def show_row(self, name: str, is_shown: bool) -> None:
        """Show or hide an input with its label."""
        self._rows[name].setVisible(is_shown)


def fill(combo: QComboBox, words: dict) -> QComboBox:
    """Offer static values under their plain words."""
    for value, word in words.items():
        combo.addItem(word, value)
    return combo


def choose(combo: QComboBox, value: str) -> None:
    """Show a static value as chosen, without a signal of the user's."""
    combo.setCurrentIndex(combo.findData(value))
