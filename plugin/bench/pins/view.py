"""How the table of pins looks and is handled: a rose over each column, buttons in it, keys."""
from __future__ import annotations

from typing import Callable

from qgis.PyQt.QtCore import QByteArray, QEvent, QModelIndex, QRect, QRectF, QSize, Qt, pyqtSignal
from qgis.PyQt.QtGui import QKeyEvent, QKeySequence, QPainter, QPalette, QPixmap, QResizeEvent
from qgis.PyQt.QtSvg import QSvgRenderer
from qgis.PyQt.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QToolButton,
    QWidget,
)

from ....siting.charts.palette import RAMP
from ....siting.charts.rose import small_rose
from ..widgets.windowcolours import shades_of

ROSE_PX = 76
DRAWN_PX = 104
"""Side of a rose, and the side that it is drawn with, so that its letters stay small [px]."""
LEAST_PX, MOST_PX = 104, 190
"""Width of a column [px]."""
BAR_PX = 3
"""Height of the bar over the current column [px]."""


class RoseHeader(QHeaderView):
    """Numbers of the pins, each with the rose of what was found there.

    Parameters
    ----------
    like : QLabel
        Whose colours it takes.
    """

    def __init__(self, like: QLabel, parent=None):
        super().__init__(Qt.Orientation.Horizontal, parent)
        self._like = like
        self._roses: dict[tuple, QSvgRenderer] = {}
        self.setDefaultAlignment(Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignTop)
        self.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.setMinimumSectionSize(LEAST_PX)
        self.setSectionsClickable(True)
        self.setHighlightSections(False)

    def sizeHint(self) -> QSize:
        return QSize(super().sizeHint().width(), self.fontMetrics().height() + ROSE_PX + 10)

    def paintSection(self, painter: QPainter, rect: QRect, section: int) -> None:
        painter.save()
        super().paintSection(painter, rect, section)
        painter.restore()
        if section == self.parent().currentIndex().column():
            painter.fillRect(QRect(rect.left(), rect.top(), rect.width() - 1, BAR_PX),
                             self.palette().color(QPalette.ColorRole.Highlight))
        rose = self.rose_of(section)
        if rose is not None:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            left = rect.x() + (rect.width() - ROSE_PX) / 2.0
            rose.render(painter, QRectF(left, rect.bottom() - ROSE_PX - 2.0, ROSE_PX, ROSE_PX))

    def rose_of(self, section: int) -> QSvgRenderer | None:
        """Return the rose of a column; None where nothing was found there."""
        pin = self.model().pins[section]
        row = pin.spot.row
        if row.bin_quality is None:
            return None
        shades = shades_of(self._like)
        key = (id(pin.spot), pin.name, shades)
        if key not in self._roses:
            rose = small_rose(row.bin_quality, row.bin_counts, pin.name, DRAWN_PX).recoloured(shades, RAMP)
            self._roses[key] = QSvgRenderer(QByteArray(rose.svg().encode("utf-8")), self)
        return self._roses[key]

    def forget_roses(self) -> None:
        """Draw all roses anew."""
        for rose in self._roses.values():
            rose.deleteLater()
        self._roses.clear()
        self.viewport().update()


class PinButtons(QWidget):
    """Buttons of one pin.

    Parameters
    ----------
    actions : sequence of (name, icon, text, callable)
    """

    def __init__(self, actions, parent=None):
        super().__init__(parent)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(1, 1, 1, 1)
        layout.setSpacing(2)
        for name, icon, text, tip, do in actions:
            button = QToolButton()
            button.setObjectName(name)
            button.setIcon(icon)
            button.setText(text)
            button.setAccessibleName(text)
            button.setToolTip(tip)
            button.setAutoRaise(True)
            button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            button.clicked.connect(do)
            layout.addWidget(button)
        layout.addStretch(1)


class TopLeft(QStyledItemDelegate):
    """Begins what stands in a cell at its top, so that long texts side by side begin together."""

    def initStyleOption(self, option: QStyleOptionViewItem, index: QModelIndex) -> None:
        super().initStyleOption(option, index)
        option.displayAlignment = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop
        option.decorationAlignment = Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignTop


class PinsView(QTableView):
    """The table, as high as its rows are, so that only the page around it scrolls up and down.

    Parameters
    ----------
    model : PinsTable
    like : QLabel
        Whose colours it takes.
    buttons_of : callable
        Returns the `PinButtons` of a pin.

    Signals
    -------
    remove_wanted(int), copy_wanted()
        By the keyboard; the column.
    """

    remove_wanted = pyqtSignal(int)
    copy_wanted = pyqtSignal()

    def __init__(self, model, like: QLabel, buttons_of: Callable, parent=None):
        super().__init__(parent)
        self._buttons_of = buttons_of
        self.setModel(model)
        self.setItemDelegate(TopLeft(self))
        self.setHorizontalHeader(RoseHeader(like, self))
        self.horizontalHeader().sectionPressed.connect(self.show_column)
        rows = self.verticalHeader()
        rows.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        rows.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
        rows.setMinimumSectionSize(16)
        rows.setHighlightSections(False)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        # a bar over the column tells which is the current one; a block of colour would drown what is to be read
        self.setSelectionMode(QAbstractItemView.SelectionMode.NoSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.DoubleClicked | QAbstractItemView.EditTrigger.EditKeyPressed)
        self.setTabKeyNavigation(False)
        self.setCornerButtonEnabled(False)
        self.setWordWrap(True)
        self.setTextElideMode(Qt.TextElideMode.ElideRight)
        self.setAlternatingRowColors(True)
        model.modelReset.connect(self._build)
        model.dataChanged.connect(self._fit)
        self._build()

    def _build(self):
        self.horizontalHeader().forget_roses()
        model = self.model()
        row = model.row_of("buttons")
        for column, pin in enumerate(model.pins):
            self.setIndexWidget(model.index(row, column), self._buttons_of(pin))
        self._fit()

    def _fit(self, *_changed):
        """Share the width among the columns, and take as much height as the rows need."""
        model = self.model()
        if not model.pins:
            return
        room = self.width() - self.verticalHeader().sizeHint().width() - 2 * self.frameWidth()
        width = min(max(room // len(model.pins), LEAST_PX), MOST_PX)
        for column in range(len(model.pins)):
            self.setColumnWidth(column, width)
        self.resizeRowsToContents()
        row = model.row_of("buttons")
        buttons = self.indexWidget(model.index(row, 0))
        if buttons is not None:
            self.setRowHeight(row, buttons.sizeHint().height())
        bar = self.horizontalScrollBar().sizeHint().height() if width * len(model.pins) > room else 0
        self.setFixedHeight(self.horizontalHeader().sizeHint().height() + self.verticalHeader().length() + bar
                            + 2 * self.frameWidth())

    def currentChanged(self, current: QModelIndex, previous: QModelIndex) -> None:
        super().currentChanged(current, previous)
        self.horizontalHeader().viewport().update()

    def show_column(self, column: int) -> None:
        """Make a column the current one, and bring it into view."""
        model = self.model()
        if model.pins:
            self.setCurrentIndex(model.index(model.row_of("name"), max(0, min(column, len(model.pins) - 1))))

    def rename(self, column: int) -> None:
        """Have the name of a column edited."""
        index = self.model().index(self.model().row_of("name"), column)
        self.setCurrentIndex(index)
        self.edit(index)

    def minimumSizeHint(self) -> QSize:
        return QSize(160, super().minimumSizeHint().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self._fit()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() in (QEvent.Type.PaletteChange, QEvent.Type.FontChange, QEvent.Type.StyleChange):
            self._fit()

    @staticmethod
    def _is_own(event):
        return event.matches(QKeySequence.StandardKey.Copy) or (
            event.key() == Qt.Key.Key_Delete and event.modifiers() == Qt.KeyboardModifier.NoModifier)

    def event(self, event: QEvent) -> bool:
        # or the main window takes these keys for features of a layer
        if event.type() == QEvent.Type.ShortcutOverride and self._is_own(event):
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.matches(QKeySequence.StandardKey.Copy):
            self.copy_wanted.emit()
        elif self._is_own(event):
            if self.currentIndex().isValid():
                self.remove_wanted.emit(self.currentIndex().column())
        else:
            super().keyPressEvent(event)


def pixmap_of(label: QLabel, side: int) -> QPixmap:
    """Paint a label without its ground."""
    ratio = label.devicePixelRatioF()
    made = QPixmap(round(side * ratio), round(side * ratio))
    made.setDevicePixelRatio(ratio)
    made.fill(Qt.GlobalColor.transparent)
    label.resize(side, side)
    painter = QPainter(made)
    label.render(painter, QRect(0, 0, side, side).topLeft(), flags=QWidget.RenderFlag.DrawChildren)
    painter.end()
    return made
