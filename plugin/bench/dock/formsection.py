"""A section of inputs that can be folded away; its words are those of the algorithms' parameters."""
from __future__ import annotations

from typing import NamedTuple

from qgis.PyQt.QtCore import QEvent, QObject, QSignalBlocker, Qt
from qgis.PyQt.QtWidgets import (
    QAbstractSpinBox,
    QComboBox,
    QDateTimeEdit,
    QDoubleSpinBox,
    QHBoxLayout,
    QLabel,
    QSizePolicy,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from ..model.bench import Bench
from ..model.parameters import ParameterTexts
from ..model.settings import BenchSettings
from ..model.settingswriter import SettingsWriter
from ..widgets.foldbox import FoldBox
from ..widgets.links import Links

NUMBER_LETTERS = 10
"""Width of a box for a number with its arrows, so that they stand in one line."""


class Desk(NamedTuple):
    """What all forms work with."""

    bench: Bench
    writer: SettingsWriter
    texts: ParameterTexts


class WheelGuard(QObject):
    """Keeps the wheel, which moves the page, from changing what it passes over."""

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Wheel and not watched.hasFocus():
            event.ignore()
            return True
        return False


def describe(field: QWidget, name: str, texts: ParameterTexts) -> None:
    """Name and explain an input as a parameter is; the wheel changes it only while it is being edited."""
    field.setObjectName(name)
    field.setAccessibleName(texts.label(name))
    field.setToolTip(texts.tip(name))
    if isinstance(field, (QComboBox, QAbstractSpinBox)):
        field.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        field.installEventFilter(WheelGuard(field))


class FormSection(FoldBox):
    """A form in a box; its title is given by who makes one.

    Parameters
    ----------
    name : str
        Under which it is remembered whether it is folded.
    desk : Desk
    """

    def __init__(self, name: str, desk: Desk, parent=None):
        super().__init__(name, "", parent)
        self.desk = desk
        self._rows: dict[str, QWidget] = {}
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(6, 6, 6, 6)
        self._links = Links()

    def follow_bench(self) -> None:
        """Show the bench's settings, now and whenever they change."""
        self._links = Links((self.desk.bench.settings_changed, self.load))
        self.load(self.desk.bench.settings)

    def load(self, settings: BenchSettings) -> None:
        """Show settings; each form has its own way."""
        raise NotImplementedError

    def close_form(self) -> None:
        """Let go of the bench; closing twice does no harm."""
        self._links.let_go()

    def add(self, name: str, field: QWidget) -> None:
        """Add an input, labelled and explained as the parameter is.

        Parameters
        ----------
        name : str
            Of the parameter.
        field : QWidget
        """
        label = QLabel(self.desk.texts.label(name))
        label.setWordWrap(True)
        label.setBuddy(field)
        label.setToolTip(self.desk.texts.tip(name))
        describe(field, name, self.desk.texts)
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


def choice_box(name: str, words: dict, writer: SettingsWriter) -> QComboBox:
    """Make a box that offers the static values of a setting under their plain words."""
    box = QComboBox()
    for value, word in words.items():
        box.addItem(word, value)
    box.activated.connect(lambda _index: writer.put(True, **{name: box.currentData()}))
    return box


def show_choice(box: QComboBox, value: str) -> None:
    """Show a static value as chosen, without a signal of the user's."""
    box.setCurrentIndex(box.findData(value))


def show_number(box: QSpinBox | QDoubleSpinBox, value: float) -> None:
    """Show a number that somebody else has chosen."""
    if box.value() != value:
        with QSignalBlocker(box):
            box.setValue(value)
