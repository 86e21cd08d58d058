"""Searching a better position near the antenna, and offering it in place."""
from __future__ import annotations

import os

from qgis.core import NULL
from qgis.PyQt.QtGui import QIcon
from qgis.PyQt.QtWidgets import (
    QDoubleSpinBox,
    QFormLayout,
    QFrame,
    QHBoxLayout,
    QMenu,
    QPushButton,
    QToolButton,
    QVBoxLayout,
    QWidget,
    QWidgetAction,
)

from ....processing_algs.folders import ICONS
from ....processing_algs.reading.searcharea import RADIUS_M
from ....siting.report.sheet import number
from ..model.bench import LEAST_HEIGHT_M, MOST_HEIGHT_M, AntennaPlace
from ..model.running import parameters_of, place_layer
from ..model.words import sentence
from ..widgets.links import Links
from ..widgets.plainlabel import plain_label
from .errand import Errand
from .runbutton import RunButton

HIGHER_M = 2.0
"""So much higher and lower the antenna may get, where nothing else is chosen [m]."""
FARTHEST_M = 1000.0
"""Positions farther away are another site [m]."""
STILL_M = 0.05
"""A place that moves by less is the same [m]."""


class BetterPosition(QFrame):
    """A strip that offers the better position, once one is found; `button` starts the search, its arrow sets limits.

    Parameters
    ----------
    bench : Bench
    iface : QgisInterface
    voice : Voice
    """

    def __init__(self, bench, iface, voice, parent=None):
        super().__init__(parent)
        self._bench, self._iface, self._voice = bench, iface, voice
        self.setObjectName("offer")
        self.setFrameShape(QFrame.Shape.StyledPanel)
        self._from = self._to = None
        self.button = RunButton("better", QIcon(os.path.join(ICONS, "improveposition.svg")),
                                self.tr("Better position"),
                                self.tr("Search near the antenna for a place and a height with a higher score; the "
                                        "arrow sets how far"))
        self.button.setPopupMode(QToolButton.ToolButtonPopupMode.MenuButtonPopup)
        self.button.setMenu(self._limits_menu())
        self.errand = Errand(bench, voice, self.button, self._progress_text, self)
        self.label, self.gain = plain_label(), plain_label()
        self.go, self.leave = QPushButton(self.tr("Go there")), QPushButton(self.tr("Leave it"))
        self.go.setToolTip(self.tr("Move the antenna there, and set its height; can be undone"))
        self.leave.setToolTip(self.tr("Leave the antenna where it is"))
        self.go.clicked.connect(self._go)
        self.leave.clicked.connect(self.withdraw)
        layout, row = QVBoxLayout(self), QHBoxLayout()
        layout.setContentsMargins(6, 4, 6, 6)
        for button in (self.go, self.leave):
            row.addWidget(button)
        row.addStretch(1)
        layout.addWidget(self.label)
        layout.addWidget(self.gain)
        layout.addLayout(row)
        self.hide()
        self._links = Links((self.errand.start_wanted, self.start), (self.errand.stop_wanted, self.withdraw),
                            (bench.place_changed, self._follow_place), (bench.settings_changed, self.withdraw),
                            (bench.project.cleared, self.withdraw))

    def _limits_menu(self):
        self.radius, self.higher = QDoubleSpinBox(), QDoubleSpinBox()
        for box, most, value, least in ((self.radius, FARTHEST_M, RADIUS_M, 1.0), (self.higher, 50.0, HIGHER_M, 0.0)):
            box.setDecimals(1)
            box.setRange(least, most)
            box.setSuffix(self.tr(" m"))
            box.setValue(value)
        self.radius.setObjectName("radius")
        self.higher.setObjectName("higher")
        page, menu = QWidget(), QMenu(self)
        form = QFormLayout(page)
        form.addRow(self.tr("Up to so far away"), self.radius)
        form.addRow(self.tr("Up to so much higher or lower"), self.higher)
        action = QWidgetAction(menu)
        action.setDefaultWidget(page)
        menu.addAction(action)
        return menu

    def start(self) -> None:
        """Search from where the antenna stands."""
        self.withdraw()
        place, spread = self._bench.place, self.higher.value()
        self._from = place
        parameters = {
            **parameters_of(self._bench, place_layer(place, self.tr("Bench"))), "RADIUS": self.radius.value(),
            "HEIGHT_MIN": max(place.height_m - spread, LEAST_HEIGHT_M),
            "HEIGHT_MAX": min(place.height_m + spread, MOST_HEIGHT_M), "OUTPUT": "TEMPORARY_OUTPUT"}
        self.errand.run("improveposition", parameters, self._take, self._fail)

    def _progress_text(self, percent):
        return self.tr("Searching a better position … {} %").format(round(percent))

    def _fail(self, text):
        self.errand.rest()
        self._voice.say("error", text)

    def _take(self, run):
        self.errand.rest()
        layer = run.layer("OUTPUT")
        found = None if layer is None else next(layer.getFeatures(), None)
        if found is None:
            self._voice.say("error", self.tr("The search ended without a result."))
            return
        height, move = found["height_m"], _value(found["move_m"]) or 0.0
        if height == self._from.height_m and move < STILL_M:
            self._voice.say("hint", self.tr("No better position was found within {} m.").format(
                f"{self.radius.value():g}"))
            return
        point = found.geometry().asPoint() if move > 0 else self._from.point
        self._to = AntennaPlace(point, self._from.crs, height)
        self.label.setText(self._words(found, move, height))
        self.gain.setText(sentence(_value(found["gain"]) or ""))
        self.gain.setVisible(bool(self.gain.text()))
        self.show()

    def _words(self, found, move, height):
        winds = (self.tr("N"), self.tr("NE"), self.tr("E"), self.tr("SE"), self.tr("S"), self.tr("SW"), self.tr("W"),
                 self.tr("NW"))
        scores = [number(_value(found[name]), ".0f") for name in ("score_old", "score_new")]
        where = self.tr("here") if move < STILL_M else self.tr("{} m to the {}").format(
            number(move, ".0f" if move >= 10 else ".1f"), winds[round(found["move_deg"] / 45.0) % 8])
        return self.tr("Score {} → {}, {}, antenna at {} m").format(*scores, where, f"{height:g}")

    def _go(self):
        place = self._to
        self.withdraw()
        self._bench.go_to(place, self._iface.mapCanvas().mapSettings().destinationCrs())

    def _follow_place(self, place):
        if place != self._from:
            self.withdraw()

    def withdraw(self, *_changed: object) -> None:
        """Stop searching, and offer nothing any more."""
        if self.errand.is_running():
            self.errand.cancel()
            self.errand.rest()
        self._from = self._to = None
        self.hide()

    def close_search(self) -> None:
        """Stop, wait, and let go of bench and project."""
        self.withdraw()
        self._links.let_go()
        self.errand.close()


def _value(value):
    return None if value is None or value == NULL else value
