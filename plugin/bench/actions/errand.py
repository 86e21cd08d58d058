"""Something that a button starts, that runs for a while, and that the same button stops."""
from __future__ import annotations

from typing import Callable

from qgis.PyQt.QtCore import QObject, pyqtSignal

from ..model.running import Runner
from .runbutton import RunButton


class Errand(QObject):
    """Runs algorithms for a button, and says how far they are.

    Parameters
    ----------
    bench : Bench
    voice : Voice
    button : RunButton
    progress_text : callable
        Returns what is said of a run's progress [%].
    parent : QObject
        Whose errand it is.

    Signals
    -------
    start_wanted(), stop_wanted()
        The button was pressed while nothing ran, or while something did.
    """

    start_wanted = pyqtSignal()
    stop_wanted = pyqtSignal()

    def __init__(self, bench, voice, button: RunButton, progress_text: Callable[[float], str], parent: QObject):
        super().__init__(parent)
        self._voice, self._button, self._progress_text = voice, button, progress_text
        self._runner = Runner(bench.project, self)
        self._runner.progressed.connect(self._tell_progress)
        button.clicked.connect(self._press)

    def _press(self):
        (self.stop_wanted if self.is_running() else self.start_wanted).emit()

    def is_running(self) -> bool:
        """Tell whether an algorithm is on its way."""
        return self._runner.is_running()

    def run(self, algorithm: str, parameters: dict, on_done: Callable, on_failed: Callable) -> None:
        """Run an algorithm; see `Runner.start`."""
        self._button.set_running(True)
        self._tell_progress(0.0)
        self._runner.start(algorithm, parameters, on_done, on_failed)

    def _tell_progress(self, percent):
        self._voice.work(self._button.objectName(), self._progress_text(percent))

    def cancel(self) -> None:
        """Stop what is running; nobody is called."""
        self._runner.cancel()

    def rest(self) -> None:
        """Offer to start again, and say no more of it."""
        self._button.set_running(False)
        self._voice.rest(self._button.objectName())

    def close(self) -> None:
        """Stop, wait until nothing runs any more, and let go of the project."""
        self._runner.close()
