"""What can be done with the place that was looked at."""
from __future__ import annotations

import os

from qgis.core import QgsApplication, QgsProcessingUtils, QgsProject, QgsVectorFileWriter
from qgis.PyQt import sip
from qgis.PyQt.QtGui import QIcon
from qgis.PyQt.QtWidgets import QVBoxLayout, QWidget

from ....processing_algs.folders import ICONS
from ..model.running import PROVIDER, known, parameters_of, pin_at, place_layer
from ..widgets.flowlayout import FlowLayout
from ..widgets.voice import Voice
from ..widgets.wordbutton import WordButton
from .betterposition import BetterPosition
from .candidatesbutton import CandidatesButton
from .sendtolayers import SendToLayers


class ActionsBar(QWidget):
    """Buttons to pin the place, keep it as a candidate, send it to layers, write its sheet, and find a better one.

    Parameters
    ----------
    bench : Bench
    iface : QgisInterface
    """

    def __init__(self, bench, iface, parent=None):
        super().__init__(parent)
        self._bench, self._iface = bench, iface
        self._dialogs: list = []
        self._is_closed = False
        self.voice = Voice(bench, self)
        self.pin = WordButton("pin", QIcon(os.path.join(ICONS, "pin.svg")), self.tr("Pin"),
                              self.tr("Keep this place, to compare it with others"))
        self.candidates = CandidatesButton(bench, self.voice)
        self.layers = SendToLayers(bench, self.voice, self)
        self.sheet = WordButton("sheet", QIcon(os.path.join(ICONS, "sitesheet.svg")), self.tr("Site sheet"),
                                self.tr("Write a sheet of this place: page, print, observation mask"))
        self.better = BetterPosition(bench, iface, self.voice)
        flow, row = FlowLayout(), QWidget()
        for button in (self.pin, self.candidates, self.layers.button, self.sheet, self.better.button):
            flow.addWidget(button)
        row.setLayout(flow)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(row)
        layout.addWidget(self.better)
        self.pin.clicked.connect(self._pin)
        self.sheet.clicked.connect(self.open_sheet)
        bench.spot_changed.connect(self._follow_spot)
        for button in (self.layers.button, self.better.button):
            button.rested.connect(self._follow_rest)
        self._follow_spot(bench.spot)

    def _follow_spot(self, spot):
        """Offer what needs a full look only after one; what runs can always be stopped."""
        is_full = spot is not None and not spot.is_rough and self._bench.place is not None
        for button in (self.pin, self.candidates, self.sheet):
            button.setEnabled(is_full)
        for button in (self.layers.button, self.better.button):
            button.setEnabled(is_full or button.is_running)

    def _follow_rest(self):
        self._follow_spot(self._bench.spot)

    def is_running(self) -> bool:
        """Tell whether an algorithm is running."""
        return self.layers.errand.is_running() or self.better.errand.is_running()

    def _pin(self):
        self._bench.pin()

    def open_sheet(self) -> None:
        """Open the dialog of the site sheet, filled in."""
        try:
            import processing
        except ImportError:
            self.voice.say("error", self.tr("The plugin Processing is not enabled. Enable it, then try again."))
            return
        algorithm = QgsApplication.processingRegistry().createAlgorithmById(f"{PROVIDER}:sitesheet")
        if algorithm is None:
            self.voice.say("error", self.tr("Processing does not know the site sheet. Enable the plugin Stillwater."))
            return
        path = self._place_file()
        if not path:
            self.voice.say("error", self.tr("The folder for temporary files cannot be written to."))
            return
        dialog = processing.createAlgorithmDialog(algorithm, known(algorithm, parameters_of(self._bench, path)))
        # QGIS keeps no reference to it
        self._dialogs = [opened for opened in self._dialogs if not sip.isdeleted(opened)] + [dialog]
        dialog.show()

    def _place_file(self):
        """Write the place to a file, which a dialog takes without a layer in the project; empty where that fails."""
        pin = pin_at(self._bench)
        layer = place_layer(self._bench.place, pin.name if pin is not None else self.tr("Bench"))
        path = QgsProcessingUtils.generateTempFilename("bench.gpkg")
        options = QgsVectorFileWriter.SaveVectorOptions()
        options.driverName = "GPKG"
        result = QgsVectorFileWriter.writeAsVectorFormatV3(
            layer, path, QgsProject.instance().transformContext(), options)
        return path if result[0] == QgsVectorFileWriter.WriterError.NoError else ""

    def close_bar(self) -> None:
        """Stop what runs, wait until it has ended, and let go of bench and project; closing twice does no harm."""
        if self._is_closed:
            return
        self._is_closed = True
        self._bench.spot_changed.disconnect(self._follow_spot)
        self.layers.close()
        self.better.close_search()
        self.voice.close()
        for opened in self._dialogs:
            if not sip.isdeleted(opened):
                opened.close()
        self._dialogs = []
