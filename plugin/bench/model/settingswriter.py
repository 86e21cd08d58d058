"""Giving the bench what is edited in the forms, when no more comes for a while."""
from __future__ import annotations

from dataclasses import replace
from typing import Any

from qgis.PyQt.QtCore import QObject, QTimer

REST_MS = 300
"""An edit that has not gone on for so long is taken."""


class SettingsWriter(QObject):
    """Collects edits of all forms.

    Parameters
    ----------
    bench : Bench
    """

    def __init__(self, bench, parent=None):
        super().__init__(parent)
        self._bench, self._pending = bench, {}
        self._rest = QTimer(self, singleShot=True, interval=REST_MS)
        self._rest.timeout.connect(self.flush)
        bench.settings_changed.connect(self.forget)

    def put(self, at_once: bool = False, **changes: Any) -> None:
        """Take values of `BenchSettings`; at once, or when no more comes for a while."""
        self._pending.update(changes)
        if at_once:
            self.flush()
        else:
            self._rest.start()

    def flush(self) -> None:
        """Give the bench what is waiting."""
        self._rest.stop()
        changes, self._pending = self._pending, {}
        if changes:
            self._bench.set_settings(replace(self._bench.settings, **changes))

    def forget(self, *_settings: object) -> None:
        """Drop what is waiting: others have changed the settings, and the forms show that."""
        self._rest.stop()
        self._pending = {}

    def close(self) -> None:
        """Stop waiting and let go of the bench."""
        self.forget()
        self._bench.settings_changed.disconnect(self.forget)
