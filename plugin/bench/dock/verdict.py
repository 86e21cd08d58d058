"""The verdict in words and figures: what a place is worth, and why."""
from __future__ import annotations

import math

from qgis.PyQt.QtCore import QEvent, Qt
from qgis.PyQt.QtGui import QFontInfo, QShowEvent
from qgis.PyQt.QtWidgets import QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from ....siting.live.looker import Spot
from ....siting.report.sheet import number
from ....siting.verdict.score import MARGINAL, NOT_ASSESSED, SUITABLE, UNSUITABLE
from ....siting.words.skywording import seconds
from ....siting.words.wording import degrees, precision_text
from ..model.words import sentence
from ..widgets.plainlabel import plain_label
from ..widgets.verdictmark import VerdictMark
from ..widgets.windowcolours import soften

WORD_SIZE = 1.5
"""How much larger the verdict is written than other words."""
SOFT, ROUGH = 0.78, 0.68
"""How much of the window's ink names of figures have, and all words while the place is only glanced at."""


class VerdictView(QWidget):
    """Verdict, predicted precision, score, advice, limit, interval and key figures of a spot."""

    def __init__(self, parent=None):
        super().__init__(parent)
        self._is_rough = None
        self._words = {SUITABLE: self.tr("suitable"), MARGINAL: self.tr("marginal"),
                       UNSUITABLE: self.tr("unsuitable"), NOT_ASSESSED: self.tr("not assessed")}
        self.mark, self.word, self.score = VerdictMark(), plain_label("verdict", False), plain_label("score", False)
        self.precision = plain_label("precision")
        self.advice, self.limit, self.interval = plain_label("advice"), plain_label("limit"), plain_label("interval")
        self.missing = plain_label("missing")
        self.hint = plain_label("hint")
        self.hint.setText(self.tr("Press Place, then click on the map where the antenna could stand."))
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.hint)
        self._found = QWidget()
        inner = QVBoxLayout(self._found)
        inner.setContentsMargins(0, 0, 0, 0)
        head, words = QHBoxLayout(), QVBoxLayout()
        words.setSpacing(0)
        for label in (self.word, self.precision, self.score):
            words.addWidget(label)
        head.addWidget(self.mark, 0, Qt.AlignmentFlag.AlignTop)
        head.addLayout(words, 1)
        inner.addLayout(head)
        for label in (self.advice, self.limit, self.interval):
            inner.addWidget(label)
        inner.addLayout(self._figures_grid())
        inner.addWidget(self.missing)
        layout.addWidget(self._found)
        self._found.hide()

    def _figures_grid(self):
        grid = QGridLayout()
        grid.setColumnStretch(0, 1)
        grid.setVerticalSpacing(2)
        self.figures, self._names = {}, []
        for row, (key, name) in enumerate((
                ("arc", self.tr("Error of one arc")), ("arcs", self.tr("Usable arcs a day")),
                ("gap", self.tr("Longest gap")),
                ("span", self.tr("Azimuth span")), ("angles", self.tr("Elevation angles")),
                ("quality", self.tr("Mean quality")), ("low", self.tr("Over the lowest level")),
                ("high", self.tr("Over the highest level")))):
            title, value = plain_label("", True), plain_label(key, False)
            title.setText(name)
            value.setAccessibleName(name)
            value.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignTop)
            grid.addWidget(title, row, 0)
            grid.addWidget(value, row, 1)
            self.figures[key] = value
            self._names.append(title)
        return grid

    def show_spot(self, spot: Spot | None, has_place: bool) -> None:
        """Show what was found at a place.

        Parameters
        ----------
        spot : siting.live.looker.Spot or None
        has_place : bool
            Whether the antenna stands anywhere; if not, how to place it is told.
        """
        self.hint.setVisible(not has_place)
        if (spot is None) != self._found.isHidden():
            self._found.setVisible(spot is not None)
        if spot is None:
            return
        row, about = spot.row, "≈ " if spot.is_rough else ""
        self.mark.show_verdict(row.verdict)
        self.mark.setAccessibleName(self._words.get(row.verdict, row.verdict))
        self.word.setText(about + self._words.get(row.verdict, row.verdict))
        self._set(self.precision, self._precision_text(spot, about))
        self._set(self.score, "" if row.result is None else self.tr("score {} of 100").format(
            f"{about}{row.result.score:.0f}"))
        # why a place is not assessed is said where all that is wrong is said
        has_advice = bool(row.advice) and (row.result is not None or row.drowned)
        self._set(self.advice, f"{sentence(row.advice)}." if has_advice else "")
        self._set(self.limit, self._limit_text(row))
        self._set(self.interval, self._interval_text(row))
        self._set(self.missing, self.tr("Not looked at: {}.").format("; ".join(spot.missing)) if spot.missing else "")
        self._show_figures(spot)
        if spot.is_rough != self._is_rough:
            self._is_rough = spot.is_rough
            self.setToolTip(self.tr("Looked at roughly while the antenna moves") if spot.is_rough else "")
            self._dress()

    @staticmethod
    def _set(label, text):
        label.setText(text)
        if label.isHidden() == bool(text):
            label.setVisible(bool(text))

    def _precision_text(self, spot, about):
        if spot.row.result is None:
            return ""
        demand = spot.demand
        return self.tr("{} every {} h; {} wanted").format(
            f"{about}{precision_text(spot.row.result.precision)}{demand.unit}", f"{demand.cadence_h:g}",
            f"{demand.precision:g}{demand.unit}")

    def _limit_text(self, row):
        if row.result is None:
            return ""
        return self.tr("Limited by {}.").format(row.limit_by) if row.limit_by else self.tr("Limited by nothing.")

    def _interval_text(self, row):
        worth = row.sky
        if worth is None:
            return ""
        if not math.isfinite(worth.int_max_s):
            return self.tr("No usable arc, so no interval can be recommended.")
        if worth.int_rec_s is None:
            return self.tr("No usual interval is short enough: every usable arc is resolved only at {} s or "
                           "faster.").format(seconds(worth.int_max_s))
        return self.tr("Log every {} s; at most {} s resolve every usable arc.").format(
            f"{worth.int_rec_s:g}", seconds(worth.int_max_s))

    def _show_figures(self, spot):
        row = spot.row
        worth, texts = row.sky, dict.fromkeys(self.figures, "–")
        if worth is not None:
            texts["arcs"] = number(worth.arcs_day, ".0f")
            if worth.has_arcs:
                texts["arc"] = f"{precision_text(worth.arc_error)}{spot.demand.unit}"
                gap = number(worth.gap_h, ".1f")
                texts["gap"] = (self.tr("at least {} h") if worth.gap_is_least else self.tr("{} h")).format(gap)
        if row.az_span_deg is not None:
            texts["span"] = f"{number(row.az_span_deg, '.0f')}°"
        if row.el_from_deg is not None:
            texts["angles"] = self.tr("{} to {}°").format(degrees(row.el_from_deg), degrees(row.el_to_deg))
        if row.quality is not None:
            texts["quality"] = number(row.quality)
        for key, value in (("low", row.h_low_m), ("high", row.h_high_m)):
            if value is not None:
                texts[key] = self.tr("{} m").format(number(value))
        for key, text in texts.items():
            self.figures[key].setText(text)

    def _dress(self):
        """Write the verdict large, names of figures softer, and all of it paler while it is rough."""
        font = self.font()
        font.setBold(True)
        font.setPixelSize(round(WORD_SIZE * QFontInfo(font).pixelSize()))
        self.word.setFont(font)
        full = ROUGH if self._is_rough else 1.0
        for label in (self.word, self.precision, self.score, self.advice, self.limit, self.interval,
                      *self.figures.values()):
            soften(label, full)
        for label in (*self._names, self.hint, self.missing):
            soften(label, min(SOFT, full))

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._dress()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() in (QEvent.Type.PaletteChange, QEvent.Type.FontChange, QEvent.Type.StyleChange):
            self._dress()
