"""Choosing what is measured, by which signals and when."""
from __future__ import annotations

from qgis.gui import QgsFileWidget
from qgis.PyQt.QtCore import QDateTime, Qt
from qgis.PyQt.QtWidgets import QCheckBox, QComboBox, QDateTimeEdit, QGridLayout, QSpinBox, QWidget

from ....siting.signals import SIGNALS
from ....siting.sky.orbits import SYSTEMS
from ..model.parameters import ParameterTexts
from ..model.settings import BenchSettings
from ..widgets.numberbox import NumberBox
from .formsection import FormSection, choose, fill

DATE_FORM = "yyyy-MM-ddTHH:mm:ss"
MOST_DAYS = 400


class Numbers:
    """Boxes for numbers of the settings, in a form.

    Parameters
    ----------
    form : FormSection
    writer : SettingsWriter
    digits : dict of str to (int, float) or (int, float, str)
        Decimals, step and what stands there instead of 0, by name.
    """

    def __init__(self, form, writer, digits: dict):
        self.boxes = {name: NumberBox(form.texts.definition(name), *how) for name, how in digits.items()}
        for name, box in self.boxes.items():
            box.valueChanged.connect(lambda value, name=name: writer.put(**{name: float(value)}))
            box.editingFinished.connect(writer.flush)

    def load(self, settings) -> None:
        """Show the settings' numbers."""
        for name, box in self.boxes.items():
            set_quietly(box, getattr(settings, name))


def set_quietly(box, value) -> None:
    """Show a number that somebody else has chosen."""
    if box.value() != value:
        was = box.blockSignals(True)
        box.setValue(value)
        box.blockSignals(was)


class PurposeForm(FormSection):
    """Purpose, precision wanted, levels and waves.

    Parameters
    ----------
    bench : Bench
    writer : SettingsWriter
    texts : ParameterTexts
    """

    def __init__(self, bench, writer, texts: ParameterTexts, parent=None):
        super().__init__("purpose", "", texts, parent)
        self.setTitle(self.tr("Purpose and levels"))
        self._bench = bench
        self.purpose = fill(QComboBox(), {"sea level": self.tr("sea level"), "lake level": self.tr("lake level"),
                                          "snow depth": self.tr("snow depth"),
                                          "soil moisture": self.tr("soil moisture")})
        self.purpose.activated.connect(lambda _index: writer.put(True, PURPOSE=self.purpose.currentData()))
        self.add("PURPOSE", self.purpose)
        usual = self.tr("usual")
        self.numbers = Numbers(self, writer, {
            "PRECISION": (2, 0.5, usual), "CADENCE": (2, 1.0, usual),
            **dict.fromkeys(("SURFACE_LEVEL", "LEVEL_LOW", "LEVEL_HIGH", "WAVE_HEIGHT"), (3, 0.1))})
        for name, box in self.numbers.boxes.items():
            self.add(name, box)
        bench.settings_changed.connect(self.load)
        self.load(bench.settings)

    def load(self, settings: BenchSettings) -> None:
        """Show settings."""
        choose(self.purpose, settings.PURPOSE)
        self.numbers.load(settings)

    def close_form(self) -> None:
        """Let go of the bench."""
        self._bench.settings_changed.disconnect(self.load)


class SkyForm(FormSection):
    """Signal, satellites, time and elevation angles.

    Parameters
    ----------
    bench : Bench
    writer : SettingsWriter
    texts : ParameterTexts
    """

    def __init__(self, bench, writer, texts: ParameterTexts, parent=None):
        super().__init__("sky", "", texts, parent)
        self.setTitle(self.tr("Signal and sky"))
        self._bench, self._writer, self._is_loading = bench, writer, False
        self.signal = fill(QComboBox(), {one: one for one in SIGNALS})
        self.signal.activated.connect(lambda _index: writer.put(True, SIGNAL=self.signal.currentData()))
        self.add("SIGNAL", self.signal)
        self.add("CONSTELLATIONS", self._system_boxes())
        self.orbits = QgsFileWidget()
        self.orbits.setStorageMode(QgsFileWidget.StorageMode.GetFile)
        self.orbits.setDialogTitle(texts.label("ORBITS"))
        self.orbits.fileChanged.connect(self._take_orbits)
        self.add("ORBITS", self.orbits)
        self.date = QDateTimeEdit()
        self.date.setTimeSpec(Qt.TimeSpec.UTC)
        self.date.setDisplayFormat("yyyy-MM-dd HH:mm")
        self.date.setCalendarPopup(True)
        self.date.dateTimeChanged.connect(lambda moment: writer.put(DATE=moment.toString(DATE_FORM)))
        self.date.editingFinished.connect(writer.flush)
        self.add("DATE", self.date)
        self.days = QSpinBox()
        self.days.setRange(int(texts.definition("DAYS").minimum()), MOST_DAYS)
        self.days.valueChanged.connect(lambda value: writer.put(DAYS=int(value)))
        self.days.editingFinished.connect(writer.flush)
        self.add("DAYS", self.days)
        self.numbers = Numbers(self, writer, {"INTERVAL": (3, 1.0), "MIN_ELEVATION": (2, 1.0),
                                              "MAX_ELEVATION": (2, 1.0)})
        for name, box in self.numbers.boxes.items():
            self.add(name, box)
        bench.settings_changed.connect(self.load)
        self.load(bench.settings)

    def _system_boxes(self):
        group, self.systems = QWidget(), {}
        grid = QGridLayout(group)
        grid.setContentsMargins(0, 0, 0, 0)
        for place, name in enumerate(SYSTEMS):
            box = QCheckBox(name)
            box.setToolTip(self.texts.tip("CONSTELLATIONS"))
            box.clicked.connect(lambda _on, box=box: self._take_systems(box))
            grid.addWidget(box, *divmod(place, 2))
            self.systems[name] = box
        return group

    def _take_systems(self, box):
        chosen = [name for name, one in self.systems.items() if one.isChecked()]
        if not chosen:
            # without any there is no sky to look at
            box.setChecked(True)
            return
        self._writer.put(CONSTELLATIONS=chosen)

    def _take_orbits(self, path):
        if not self._is_loading:
            self._writer.put(ORBITS=path.strip())

    def load(self, settings: BenchSettings) -> None:
        """Show settings."""
        choose(self.signal, settings.SIGNAL)
        for name, box in self.systems.items():
            box.setChecked(name in settings.CONSTELLATIONS)
        self._is_loading = True
        if self.orbits.filePath() != settings.ORBITS:
            self.orbits.setFilePath(settings.ORBITS)
        self._is_loading = False
        moment = QDateTime.fromString(settings.DATE[:19] + "Z", Qt.DateFormat.ISODate)
        if moment.isValid() and moment != self.date.dateTime():
            was = self.date.blockSignals(True)
            self.date.setDateTime(moment)
            self.date.blockSignals(was)
        set_quietly(self.days, settings.DAYS)
        self.numbers.load(settings)

    def close_form(self) -> None:
        """Let go of the bench."""
        self._bench.settings_changed.disconnect(self.load)
