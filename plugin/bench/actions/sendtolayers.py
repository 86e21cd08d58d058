"""Sending what is seen around the antenna into the project, as layers."""
from __future__ import annotations

from qgis.core import QgsApplication
from qgis.PyQt.QtCore import QObject

from ..model.running import parameters_of, pin_at, place_layer, to_project
from ..widgets.links import Links
from .errand import Errand
from .runbutton import RunButton

ALGORITHMS = ("surfacequality", "footprints")
"""What is run, one after the other; what is loaded last lies on top."""


class SendToLayers(QObject):
    """Runs the algorithms whose outputs lie on the map for the bench's place, and loads these.

    Parameters
    ----------
    bench : Bench
    voice : Voice
    """

    def __init__(self, bench, voice, parent=None):
        super().__init__(parent)
        self._bench, self._voice = bench, voice
        self.button = RunButton("layers", QgsApplication.getThemeIcon("/mActionAddLayer.svg"),
                                self.tr("Send to layers"),
                                self.tr("Add footprints and the quality by direction around the antenna to the "
                                        "project, as temporary layers"))
        self.errand = Errand(bench, voice, self.button, self._progress_text, self)
        self._parameters, self._waiting, self._name = {}, [], ""
        self._links = Links((self.errand.start_wanted, self.start), (self.errand.stop_wanted, self.stop),
                            (bench.project.cleared, self.stop))

    def start(self) -> None:
        """Begin with the first algorithm."""
        pin = pin_at(self._bench)
        self._name = pin.name if pin is not None else self.tr("Bench")
        self._parameters = parameters_of(self._bench, place_layer(self._bench.place, self._name))
        self._waiting = list(ALGORITHMS)
        self._run_next()

    def _run_next(self):
        algorithm = self._waiting.pop(0)
        self.errand.run(algorithm, {**self._parameters, "OUTPUT": to_project(self._bench.project)}, self._take,
                        self._fail)

    def _progress_text(self, percent):
        return self.tr("Making the layers … {} %").format(
            round((percent + 100.0 * (len(ALGORITHMS) - len(self._waiting) - 1)) / len(ALGORITHMS)))

    def _take(self, run):
        if not run.load():
            self._fail("\n".join(run.feedback.errors))
        elif self._waiting:
            self._run_next()
        else:
            self.stop()
            self._voice.say("hint", self.tr("Footprints and directions of “{}” were added to the project.").format(
                self._name))

    def _fail(self, text):
        self.stop()
        self._voice.say("error", text)

    def stop(self) -> None:
        """Stop; layers that are there already stay."""
        self.errand.cancel()
        self._parameters, self._waiting = {}, []
        self.errand.rest()

    def close(self) -> None:
        """Stop, wait, and let go of the project."""
        self.stop()
        self.errand.close()
        self._links.let_go()
