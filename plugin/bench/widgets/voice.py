"""Saying what is being done, without swallowing what was said before."""
from __future__ import annotations

from qgis.PyQt.QtCore import QObject


class Voice(QObject):
    """Speaks through `Bench.said`: when all work is done, what the bench had said before is said again.

    Parameters
    ----------
    bench : Bench
    """

    def __init__(self, bench, parent=None):
        super().__init__(parent)
        self._bench = bench
        self._heard, self._is_speaking = ("", ""), False
        self._work: dict[str, str] = {}
        bench.said.connect(self._hear)

    def _hear(self, kind, text):
        if not self._is_speaking and kind != "busy":
            self._heard = (kind, text)

    def say(self, kind: str, text: str) -> None:
        """Say something that stays until something else is said."""
        self._is_speaking = True
        self._bench.said.emit(kind, text)
        self._is_speaking = False

    def work(self, who: str, text: str) -> None:
        """Say what is being done."""
        if self._work.get(who) != text:
            self._work[who] = text
            self.say("busy", text)

    def rest(self, who: str) -> None:
        """Say no more of what was being done."""
        if self._work.pop(who, None) is None:
            return
        if self._work:
            self.say("busy", next(iter(self._work.values())))
        else:
            self.say(*self._heard)

    def close(self) -> None:
        """Let go of the bench."""
        self._bench.said.disconnect(self._hear)
