"""The bench's dock: controls, messages, verdict, charts and inputs."""
from __future__ import annotations

from qgis.gui import QgsCollapsibleGroupBox, QgsDockWidget
from qgis.PyQt.QtCore import QEvent, Qt, QTimer
from qgis.PyQt.QtWidgets import QAction, QFrame, QScrollArea, QVBoxLayout, QWidget

from ..actions.bar import ActionsBar
from ..model.parameters import ParameterTexts
from ..model.settingswriter import SettingsWriter
from ..pins.panel import PinsPanel
from ..widgets.links import Links
from ..widgets.messagestrip import MessageStrip
from .charts import ChartsPanel
from .firsthint import FirstHint
from .formsection import Desk
from .layersform import LayersForm
from .placecontrols import PlaceControls
from .settingsform import PurposeForm, SkyForm
from .verdict import VerdictView

BUSY_AFTER_MS = 250
"""What is done sooner is not announced: a strip that flickers tells nothing."""


class BenchDock(QgsDockWidget):
    """Shows what the bench found, and takes what it looks with.

    Parameters
    ----------
    bench : Bench
    iface : QgisInterface
    parent : QWidget, optional
    parts : tuple of two types, optional
        Actions below the verdict and pins below the charts: each is made of (bench, iface, parent).
    """

    def __init__(self, bench, iface, parent=None, parts=(ActionsBar, PinsPanel)):
        super().__init__(parent)
        self.setObjectName("StillwaterBench")
        self.setWindowTitle(self.tr("Stillwater bench"))
        self.setAllowedAreas(Qt.DockWidgetArea.LeftDockWidgetArea | Qt.DockWidgetArea.RightDockWidgetArea)
        self._bench, self._canvas = bench, iface.mapCanvas()
        actions, pins = parts
        body, page = QWidget(), QWidget()
        self.writer = SettingsWriter(bench, self)
        desk = Desk(bench, self.writer, ParameterTexts())
        self.controls = PlaceControls(desk)
        self.strip, self.hint = MessageStrip(), MessageStrip()
        self.first = FirstHint(iface)
        self.verdict, self.charts = VerdictView(), ChartsPanel()
        self.actions, self.pins = actions(bench, iface, page), pins(bench, iface, page)
        self.layers, self.purpose, self.sky = LayersForm(desk), PurposeForm(desk), SkyForm(desk)
        self._lay_out(body, page)
        self._busy = QTimer(self, singleShot=True, interval=BUSY_AFTER_MS)
        self._busy.timeout.connect(self._say_busy)
        self._busy_text = ""
        self._links = Links((bench.spot_changed, self._show_spot), (bench.said, self._say),
                            (bench.settings_changed, self._show_hint), (bench.place_changed, self._show_hint),
                            (self._canvas.destinationCrsChanged, self._show_hint))
        self._show_hint()
        self._show_spot(bench.spot)

    def _lay_out(self, body, page):
        inner = QVBoxLayout(page)
        inner.setContentsMargins(4, 4, 4, 4)
        for part in (self.first, self.verdict, self.actions, self.charts, self.pins, self.layers, self.purpose,
                    self.sky):
            inner.addWidget(part)
        inner.addStretch(1)
        self.scroll = QScrollArea()
        self.scroll.setFrameShape(QFrame.Shape.NoFrame)
        self.scroll.setWidgetResizable(True)
        self.scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        # always there, so that charts need not change their width when it comes or goes
        self.scroll.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOn)
        self.scroll.setWidget(page)
        outer = QVBoxLayout(body)
        outer.setContentsMargins(4, 4, 0, 0)
        top = QVBoxLayout()
        top.setContentsMargins(4, 2, 8, 2)
        for part in (self.controls, self.strip, self.hint):
            top.addWidget(part)
        outer.addLayout(top)
        outer.addWidget(self.scroll, 1)
        self.setWidget(body)

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange:
            # boxes that are folded have a style sheet of their own, and keep the old colours until it is set anew
            for box in self.findChildren(QgsCollapsibleGroupBox):
                box.setStyleSheet(box.styleSheet())

    def set_place_action(self, action: QAction) -> None:
        """Take the action that switches the map tool."""
        self.controls.set_place_action(action)

    def _show_spot(self, spot):
        self.verdict.show_spot(spot, self._bench.place is not None)
        self.charts.show_spot(spot, self._bench.engine.sky())

    def _say(self, kind, text):
        if kind == "busy":
            self._busy_text = text
            if not self._busy.isActive():
                self._busy.start()
            return
        self._busy.stop()
        self.strip.say(kind, text)

    def _say_busy(self):
        self.strip.say("busy", self._busy_text)

    def _show_hint(self, *_changed):
        """Say what is missing, or what need not worry."""
        settings, place = self._bench.settings, self._bench.place
        crs = self._canvas.mapSettings().destinationCrs() if place is None else place.crs
        hints = []
        if not (settings.LANDCOVER or settings.WATER or settings.DEM):
            hints.append(self.tr("Choose at least land cover, water polygons or an elevation model, below under "
                                 "“Layers”."))
        if crs.isGeographic():
            hints.append(self.tr("The map is in degrees. Distances and heights of the bench are still true metres."))
        self.hint.say("hint" if hints else "", "\n".join(hints))

    def close_bench(self) -> None:
        """Let go of bench and map; the dock shows nothing new from then on."""
        self._busy.stop()
        self._links.let_go()
        self.writer.close()
        self.controls.close_controls()
        for form in (self.layers, self.purpose, self.sky):
            form.close_form()
        for part, name in ((self.actions, "close_bar"), (self.pins, "close_panel")):
            if hasattr(part, name):
                getattr(part, name)()
