"""Life cycle of the plugin in QGIS, with a window or without."""
from __future__ import annotations

import os
from typing import TYPE_CHECKING

from qgis.core import QgsApplication

from ..processing_algs.provider import StillwaterProvider

if TYPE_CHECKING:
    from qgis.gui import QgisInterface

FOLDER = os.path.dirname(__file__)


class StillwaterPlugin:
    """Registers the Processing provider and the bench, and takes them away again.

    Parameters
    ----------
    iface : QgisInterface or None
        None when `qgis_process` loads the plugin.
    """

    def __init__(self, iface: QgisInterface | None):
        self.iface = iface
        self.provider = None
        self.window = None

    def initProcessing(self) -> None:
        """Register the provider once; `qgis_process` calls only this."""
        if self.provider is None:
            self.provider = StillwaterProvider()
            QgsApplication.processingRegistry().addProvider(self.provider)

    def initGui(self) -> None:
        """Set up everything that the window shows."""
        self.initProcessing()
        # without a window nothing of it is loaded
        from .bench.window import BenchWindow
        self.window = BenchWindow(self.iface)

    def unload(self) -> None:
        """Take away all that was registered."""
        if self.window is not None:
            self.window.close()
            self.window = None
        if self.provider is not None:
            QgsApplication.processingRegistry().removeProvider(self.provider)
            self.provider = None
