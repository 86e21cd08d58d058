"""The pins side by side, as a table: a column for each, a row for each figure, none of them computed anew."""
from __future__ import annotations

import math
from html import escape
from typing import Any, Callable, NamedTuple

from qgis.PyQt.QtCore import QAbstractTableModel, QModelIndex, Qt
from qgis.PyQt.QtGui import QFont

from ....siting.report.sheet import number
from ....siting.verdict.score import MARGINAL, NOT_ASSESSED, SUITABLE, UNSUITABLE
from ....siting.words.wording import degrees, precision_text
from ..model.words import sentence

BEST = "★"
"""Before the best value of a row."""
ROLE = Qt.ItemDataRole
AT_MOST, AT_LEAST = -1, 1


class Figure(NamedTuple):
    """A row of the table.

    Attributes
    ----------
    key, title : str
    text : callable
        Writes it for a pin.
    value : callable or None
        Gives the number for a pin (None: it has none) where the best can be told.
    prefer : int
        `AT_LEAST`: the more the better; `AT_MOST`: the less.
    """

    key: str
    title: str
    text: Callable
    value: Callable | None = None
    prefer: int = 0


class PinsTable(QAbstractTableModel):
    """The table.

    Parameters
    ----------
    bench : Bench
    icon_of : callable, optional
        Gives the sign of a verdict.
    """

    def __init__(self, bench, icon_of: Callable | None = None, parent=None):
        super().__init__(parent)
        self._bench, self._icon_of = bench, icon_of
        self._verdicts = {SUITABLE: self.tr("suitable"), MARGINAL: self.tr("marginal"),
                          UNSUITABLE: self.tr("unsuitable"), NOT_ASSESSED: self.tr("not assessed")}
        self._references = {"surface": self.tr("the surface"), "ground": self.tr("the ground"),
                            "datum": self.tr("the datum"), "ellipsoid": self.tr("the ellipsoid")}
        self.pins, self.figures, self._best = [], [], {}
        self.refresh()

    def refresh(self, *_changed: object) -> None:
        """Follow the bench; the table is built anew only where pins or rows come or go."""
        pins, figures = list(self._bench.pins), self._rows()
        is_same = len(pins) == len(self.pins) and all(a is b for a, b in zip(pins, self.pins)) and \
            [figure.key for figure in figures] == [figure.key for figure in self.figures]
        if not is_same:
            self.beginResetModel()
        self.pins, self.figures = pins, figures
        self._best = {figure.key: self._best_of(figure) for figure in figures}
        if not is_same:
            self.endResetModel()
        elif pins:
            self.dataChanged.emit(self.index(0, 0), self.index(len(figures) - 1, len(pins) - 1))

    def _rows(self) -> list[Figure]:
        rows = [Figure("name", self.tr("Name"), lambda pin: pin.name), Figure("buttons", "", lambda _pin: "")]
        if any(pin.settings != self._bench.settings for pin in self._bench.pins):
            rows.append(Figure("settings", self.tr("Found with"), self._settings_text))
        for key, title, words in (("PURPOSE", self.tr("Purpose"), None), ("SIGNAL", self.tr("Signal"), None),
                                  ("HEIGHT_REFERENCE", self.tr("Height from"), self._references)):
            if len({getattr(pin.settings, key) for pin in self._bench.pins}) > 1:
                rows.append(Figure(key, title, self._setting_of(key, words)))
        return rows + self._results() + self._of_the_sky() + self._in_words()

    def _results(self):
        row = _row
        return [
            Figure("verdict", self.tr("Verdict"), lambda pin: self._verdicts.get(row(pin).verdict, row(pin).verdict)),
            Figure("precision", self.tr("Precision"), self._precision_text, _precision, AT_MOST),
            Figure("score", self.tr("Score"), lambda pin: number(_score(pin), ".0f"), _score, AT_LEAST),
            Figure("height", self.tr("Height"), lambda pin: self._metres(pin.place.height_m)),
            Figure("low", self.tr("Over low level"), lambda pin: self._metres(row(pin).h_low_m)),
            Figure("high", self.tr("Over high level"), lambda pin: self._metres(row(pin).h_high_m)),
            Figure("quality", self.tr("Mean quality"), lambda pin: number(row(pin).quality),
                   lambda pin: row(pin).quality, AT_LEAST),
            Figure("span", self.tr("Azimuth span"), self._span_text, lambda pin: row(pin).az_span_deg, AT_LEAST),
            Figure("angles", self.tr("Elevations"), self._angles_text),
            Figure("separation", self.tr("Separation"), lambda pin: self._metres(row(pin).res_m),
                   lambda pin: row(pin).res_m, AT_MOST)]

    def _of_the_sky(self):
        # a longer interval is worth no more: the interval is told, not judged
        return [
            Figure("arcs", self.tr("Arcs a day"), lambda pin: number(_arcs(pin), ".0f"), _arcs, AT_LEAST),
            Figure("gap", self.tr("Longest gap"), self._gap_text, _gap_h, AT_MOST),
            Figure("interval", self.tr("Interval"), self._interval_text)]

    def _in_words(self):
        return [Figure("limit", self.tr("Limited by"), self._limit_text),
                Figure("advice", self.tr("Advice"), lambda pin: sentence(_row(pin).advice) or "–")]

    # -- words ------------------------------------------------------------------------------------------------------

    def _metres(self, value):
        return "–" if value is None else self.tr("{} m").format(number(value))

    def _setting_of(self, key, words):
        return lambda pin: (words or {}).get(getattr(pin.settings, key), getattr(pin.settings, key))

    def _settings_text(self, pin):
        return self.tr("these settings") if pin.settings == self._bench.settings else self.tr("other settings")

    def _precision_text(self, pin):
        value = _precision(pin)
        return "–" if value is None else f"{precision_text(value)}{pin.spot.demand.unit}"

    def _limit_text(self, pin):
        return sentence(_row(pin).limit_by) or self.tr("Nothing")

    def _span_text(self, pin):
        value = _row(pin).az_span_deg
        return "–" if value is None else f"{number(value, '.0f')}°"

    def _angles_text(self, pin):
        low, high = _row(pin).el_from_deg, _row(pin).el_to_deg
        return "–" if low is None else self.tr("{} to {}°").format(degrees(low), degrees(high))

    def _gap_text(self, pin):
        if _gap_h(pin) is None:
            return "–"
        text = self.tr("at least {} h") if _row(pin).sky.gap_is_least else self.tr("{} h")
        return text.format(number(_gap_h(pin), ".1f"))

    def _interval_text(self, pin):
        value = _interval_s(pin)
        return "–" if value is None else self.tr("{} s").format(f"{value:g}")

    def _best_of(self, figure) -> set:
        """Return the columns that hold the best of a row; none where all are alike as they are written."""
        if figure.value is None:
            return set()
        values = {i: figure.value(pin) for i, pin in enumerate(self.pins)}
        values = {i: value for i, value in values.items() if value is not None and math.isfinite(value)}
        if not values or len({figure.text(pin) for pin in self.pins}) < 2:
            return set()
        first = max(values, key=lambda i: figure.prefer * values[i])
        return {i for i in values if figure.text(self.pins[i]) == figure.text(self.pins[first])}

    def is_best(self, row: int, column: int) -> bool:
        """Tell whether a cell holds the best value of its row."""
        return column in self._best[self.figures[row].key]

    def row_of(self, key: str) -> int:
        """Return the row of a figure; -1 where it is not shown."""
        return next((i for i, figure in enumerate(self.figures) if figure.key == key), -1)

    def as_text(self) -> str:
        """Return the table as tab-separated text, with the titles of rows and the numbers of pins."""
        lines = [["", *(str(i + 1) for i in range(len(self.pins)))]]
        for figure in self.figures:
            if figure.title:
                lines.append([figure.title, *(figure.text(pin) for pin in self.pins)])
        return "\n".join("\t".join(" ".join(cell.split()) for cell in line) for line in lines)

    # -- QAbstractTableModel ----------------------------------------------------------------------------------------

    def rowCount(self, parent: QModelIndex = QModelIndex()) -> int:
        return 0 if parent.isValid() else len(self.figures)

    def columnCount(self, parent: QModelIndex = QModelIndex()) -> int:
        return 0 if parent.isValid() else len(self.pins)

    def flags(self, index: QModelIndex) -> Qt.ItemFlag:
        found = super().flags(index)
        if index.isValid() and self.figures[index.row()].key == "name":
            found |= Qt.ItemFlag.ItemIsEditable
        return found

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = ROLE.DisplayRole) -> Any:
        if orientation == Qt.Orientation.Horizontal and 0 <= section < len(self.pins):
            if role == ROLE.DisplayRole:
                return str(section + 1)
            if role == ROLE.ToolTipRole:
                return f"<p>{escape(self.pins[section].name)}</p>"
        elif orientation == Qt.Orientation.Vertical and role == ROLE.DisplayRole and 0 <= section < len(self.figures):
            return self.figures[section].title
        return None

    def data(self, index: QModelIndex, role: int = ROLE.DisplayRole) -> Any:
        if not index.isValid():
            return None
        figure, pin = self.figures[index.row()], self.pins[index.column()]
        is_best = self.is_best(index.row(), index.column())
        if role == ROLE.DisplayRole:
            return f"{BEST} {figure.text(pin)}" if is_best else figure.text(pin)
        if role == ROLE.EditRole:
            return figure.text(pin)
        if role == ROLE.FontRole and (is_best or figure.key == "name"):
            font = QFont()
            font.setBold(True)
            return font
        if role == ROLE.ToolTipRole and figure.title:
            return f"<p>{escape(self._described(figure, pin, is_best))}</p>"
        if role == ROLE.AccessibleTextRole and figure.title:
            return self._described(figure, pin, is_best)
        if role == ROLE.DecorationRole and figure.key == "verdict" and self._icon_of is not None:
            return self._icon_of(_row(pin).verdict)
        return None

    def _described(self, figure, pin, is_best):
        text = self.tr("{}, {}: {}").format(pin.name, figure.title, figure.text(pin))
        if figure.key == "settings" and pin.settings != self._bench.settings:
            text = self.tr("{} ({} differ from those of the bench)").format(text, ", ".join(_other_names(
                pin.settings, self._bench.settings)))
        return self.tr("{}, the best of all pins").format(text) if is_best else text

    def setData(self, index: QModelIndex, value: Any, role: int = ROLE.EditRole) -> bool:
        name = " ".join(str(value).split())
        if role != ROLE.EditRole or not name or not self.flags(index) & Qt.ItemFlag.ItemIsEditable:
            return False
        self.pins[index.column()].name = name
        self._bench.pins_changed.emit()
        return True


def _row(pin):
    return pin.spot.row


def _score(pin):
    result = pin.spot.row.result
    return None if result is None else result.score


def _precision(pin):
    result = pin.spot.row.result
    return None if result is None else result.precision


def _arcs(pin):
    sky = pin.spot.row.sky
    return None if sky is None else sky.arcs_day


def _gap_h(pin):
    sky = pin.spot.row.sky
    return None if sky is None or not len(sky.middle_s) else sky.gap_h


def _interval_s(pin):
    sky = pin.spot.row.sky
    return None if sky is None else sky.int_rec_s


def _other_names(one, other):
    return [name for name in vars(one) if getattr(one, name) != getattr(other, name)]
