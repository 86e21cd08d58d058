"""Choosing what is measured, by which signals and when."""
from __future__ import annotations

from qgis.gui import QgsFileWidget
from qgis.PyQt.QtCore import QDateTime, QSignalBlocker, Qt
from qgis.PyQt.QtWidgets import QCheckBox, QDateTimeEdit, QGridLayout, QSpinBox, QWidget

from ....siting.signals import SIGNALS
from ....siting.sky.orbits import SYSTEMS
from ..model.settings import BenchSettings
from ..widgets.numberbox import NumberBox
from .formsection import Desk, FormSection, choice_box, show_choice, show_number

DATE_FORM = "yyyy-MM-ddTHH:mm:ss"
MOST_DAYS = 400


class NumberBoxes:
    """Boxes for numbers of the settings, added to a form.

    Parameters
    ----------
    form : FormSection
    digits : dict of str to (int, float) or (int, float, str)
        Decimals, step and what stands there instead of 0, by name.
    """

    def __init__(self, form: FormSection, digits: dict):
        _bench, writer, texts = form.desk
        self.boxes = {name: NumberBox(texts.definition(name), *how) for name, how in digits.items()}
        for name, box in self.boxes.items():
            box.valueChanged.connect(lambda value, name=name: writer.put(**{name: float(value)}))
            box.editingFinished.connect(writer.flush)
            form.add(name, box)

    def load(self, settings: BenchSettings) -> None:
        """Show the settings' numbers."""
        for name, box in self.boxes.items():
            show_number(box, getattr(settings, name))


class PurposeForm(FormSection):
    """Purpose, precision wanted, levels and waves.

    Parameters
    ----------
    desk : Desk
    """

    def __init__(self, desk: Desk, parent=None):
        super().__init__("purpose", desk, parent)
        self.setTitle(self.tr("Purpose and levels"))
        self.purpose = choice_box("PURPOSE", {
            "sea level": self.tr("sea level"), "lake level": self.tr("lake level"),
            "snow depth": self.tr("snow depth"), "soil moisture": self.tr("soil moisture")}, desk.writer)
        self.add("PURPOSE", self.purpose)
        usual = self.tr("usual")
        self.numbers = NumberBoxes(self, {
            "PRECISION": (2, 0.5, usual), "CADENCE": (2, 1.0, usual),
            **dict.fromkeys(("SURFACE_LEVEL", "LEVEL_LOW", "LEVEL_HIGH", "WAVE_HEIGHT"), (3, 0.1))})
        self.follow_bench()

    def load(self, settings: BenchSettings) -> None:
        """Show settings."""
        show_choice(self.purpose, settings.PURPOSE)
        self.numbers.load(settings)


class SkyForm(FormSection):
    """Signal, satellites, time and elevation angles.

    Parameters
    ----------
    desk : Desk
    """

    def __init__(self, desk: Desk, parent=None):
        super().__init__("sky", desk, parent)
        self.setTitle(self.tr("Signal and sky"))
        writer, texts = desk.writer, desk.texts
        self.signal = choice_box("SIGNAL", {signal: signal for signal in SIGNALS}, writer)
        self.add("SIGNAL", self.signal)
        self.add("CONSTELLATIONS", self._system_boxes())
        self.orbits = QgsFileWidget()
        self.orbits.setStorageMode(QgsFileWidget.StorageMode.GetFile)
        self.orbits.setDialogTitle(texts.label("ORBITS"))
        self.orbits.fileChanged.connect(lambda path: writer.put(ORBITS=path.strip()))
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
        self.numbers = NumberBoxes(self, {"INTERVAL": (3, 1.0), "MIN_ELEVATION": (2, 1.0), "MAX_ELEVATION": (2, 1.0)})
        self.follow_bench()

    def _system_boxes(self):
        group, self.systems = QWidget(), {}
        grid = QGridLayout(group)
        grid.setContentsMargins(0, 0, 0, 0)
        for place, name in enumerate(SYSTEMS):
            box = QCheckBox(name)
            box.setToolTip(self.desk.texts.tip("CONSTELLATIONS"))
            box.clicked.connect(lambda _on, box=box: self._take_systems(box))
            grid.addWidget(box, *divmod(place, 2))
            self.systems[name] = box
        return group

    def _take_systems(self, box):
        chosen = [name for name, checkbox in self.systems.items() if checkbox.isChecked()]
        if not chosen:
            # without any there is no sky to look at
            box.setChecked(True)
            return
        self.desk.writer.put(CONSTELLATIONS=chosen)

    def load(self, settings: BenchSettings) -> None:
        """Show settings."""
        show_choice(self.signal, settings.SIGNAL)
        for name, box in self.systems.items():
            box.setChecked(name in settings.CONSTELLATIONS)
        if self.orbits.filePath() != settings.ORBITS:
            with QSignalBlocker(self.orbits):
                self.orbits.setFilePath(settings.ORBITS)
        moment = QDateTime.fromString(settings.DATE[:19] + "Z", Qt.DateFormat.ISODate)
        if moment.isValid() and moment != self.date.dateTime():
            with QSignalBlocker(self.date):
                self.date.setDateTime(moment)
        show_number(self.days, settings.DAYS)
        self.numbers.load(settings)
