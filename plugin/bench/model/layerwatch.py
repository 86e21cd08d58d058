"""Noticing that a layer that was read has changed: edited, filtered, or given other data."""
from __future__ import annotations

from qgis.PyQt import sip
from qgis.PyQt.QtCore import QObject, QTimer, pyqtSignal

CHANGE_SIGNALS = ("dataChanged", "layerModified", "subsetStringChanged", "crsChanged", "rendererChanged")
"""What a layer tells where something has changed that a look depends on (a legend names land cover)."""
REST_MS = 300
"""Changes within so short a time are one."""


class LayerWatch(QObject):
    """Watches the layers that the bench looks at.

    Signals
    -------
    changed()
    """

    changed = pyqtSignal()

    def __init__(self, project, parent=None):
        super().__init__(parent)
        self._project, self._watched = project, []
        self._rest = QTimer(self, singleShot=True, interval=REST_MS)
        self._rest.timeout.connect(self.changed)

    def watch(self, layer_ids: list[str]) -> None:
        """Watch these layers and no others."""
        self.stop()
        for layer in filter(None, (self._project.mapLayer(layer_id) for layer_id in layer_ids)):
            for name in CHANGE_SIGNALS:
                signal = getattr(layer, name, None)
                if signal is not None:
                    signal.connect(self._notice)
            self._watched.append(layer)

    def stop(self) -> None:
        """Watch nothing any more."""
        self._rest.stop()
        for layer in self._watched:
            if sip.isdeleted(layer):
                continue
            for name in CHANGE_SIGNALS:
                signal = getattr(layer, name, None)
                if signal is not None:
                    signal.disconnect(self._notice)
        self._watched = []

    def _notice(self, *_what):
        self._rest.start()
