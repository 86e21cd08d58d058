"""The pinned positions, side by side."""
from __future__ import annotations

from html import escape

from qgis.core import QgsApplication
from qgis.PyQt.QtCore import QEvent
from qgis.PyQt.QtWidgets import QLabel, QVBoxLayout

from ..widgets.foldbox import FoldBox
from ..widgets.links import Links
from ..widgets.verdictmark import VerdictMark
from .table import PinsTable
from .view import PinButtons, PinsView, pixmap_of

SIGN_PX = 14


class PinsPanel(FoldBox):
    """Compares the pins; goes to one, renames it, takes it away.

    Parameters
    ----------
    bench : Bench
    iface : QgisInterface
    """

    def __init__(self, bench, iface, parent=None):
        super().__init__("pins", "", parent)
        self.setTitle(self.tr("Pins"))
        self._bench, self._iface = bench, iface
        self.empty = QLabel(self.tr("Pin a position to compare it with others."))
        self.empty.setWordWrap(True)
        self._mark = VerdictMark(self)
        self._mark.hide()
        self._signs: dict = {}
        self.table = PinsTable(bench, self._sign_of, self)
        self.view = PinsView(self.table, self.empty, self._buttons_of)
        self.view.setAccessibleName(self.tr("Pins"))
        self.view.remove_wanted.connect(self._remove)
        self.view.copy_wanted.connect(self.copy)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(2, 2, 2, 2)
        layout.addWidget(self.empty)
        layout.addWidget(self.view)
        self._links = Links((bench.pins_changed, self._follow), (bench.settings_changed, self._follow))
        self._follow()

    def _follow(self, *_changed):
        column = self.view.currentIndex().column()
        self.table.refresh()
        has_pins = bool(self.table.pins)
        self.empty.setVisible(not has_pins)
        self.view.setVisible(has_pins)
        if column >= 0 and not self.view.currentIndex().isValid():
            self.view.show_column(column)

    def _sign_of(self, verdict):
        if verdict not in self._signs:
            self._mark.show_verdict(verdict)
            self._signs[verdict] = pixmap_of(self._mark, SIGN_PX)
        return self._signs[verdict]

    def _buttons_of(self, pin):
        name = escape(pin.name)
        return PinButtons((
            ("go", QgsApplication.getThemeIcon("/mActionPanTo.svg"), self.tr("Go there"),
             self.tr("<p>Put the antenna on pin {}</p>").format(f"“{name}”"), lambda: self._go(pin)),
            ("rename", QgsApplication.getThemeIcon("/mActionToggleEditing.svg"), self.tr("Rename"),
             self.tr("<p>Rename pin {}</p>").format(f"“{name}”"), lambda: self.view.rename(self._column_of(pin))),
            ("remove", QgsApplication.getThemeIcon("/mActionDeleteSelected.svg"), self.tr("Remove"),
             self.tr("<p>Remove pin {} (Del)</p>").format(f"“{name}”"), lambda: self._remove(self._column_of(pin)))))

    def _column_of(self, pin):
        # pins hold arrays, which cannot be compared for equality
        return next((i for i, other in enumerate(self._bench.pins) if other is pin), -1)

    def _go(self, pin):
        self._bench.go_to(pin.place, self._iface.mapCanvas().mapSettings().destinationCrs())

    def _remove(self, column):
        if 0 <= column < len(self._bench.pins):
            self.view.show_column(column)
            self._bench.unpin(column)
            self.view.setFocus()

    def copy(self) -> None:
        """Copy the table as tab-separated text."""
        QgsApplication.clipboard().setText(self.table.as_text())

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() in (QEvent.Type.PaletteChange, QEvent.Type.StyleChange) and hasattr(self, "_signs"):
            self._signs.clear()
            self.view.horizontalHeader().forget_roses()

    def close_panel(self) -> None:
        """Let go of the bench; closing twice does no harm."""
        self._links.let_go()
