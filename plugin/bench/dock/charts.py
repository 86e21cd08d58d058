"""The charts of what was found: the same as on a site sheet, laid out for a dock."""
from __future__ import annotations

import numpy as np
from qgis.PyQt.QtWidgets import QVBoxLayout, QWidget

from ....siting.charts.palette import RAMP
from ....siting.charts.passchart import Passes, passes_chart
from ....siting.charts.rosechart import rose_chart
from ....siting.charts.windowchart import Outlook, window_chart
from ....siting.live.looker import Spot
from ....siting.sky.sky import Sky
from ..widgets.chartview import ChartView
from ..widgets.foldbox import FoldBox


class ChartsPanel(QWidget):
    """Rose, window of elevation angles, and passes; each can be folded away."""

    def __init__(self, parent=None):
        super().__init__(parent)
        self.rose, self.window, self.passes = ChartView(RAMP), ChartView(), ChartView()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        self._boxes = {}
        for name, title, view in (("rose", self.tr("Good directions"), self.rose),
                                  ("window", self.tr("Elevation angles"), self.window),
                                  ("passes", self.tr("Passes of the day"), self.passes)):
            box = FoldBox(name, title, self)
            inner = QVBoxLayout(box)
            inner.setContentsMargins(2, 2, 2, 2)
            inner.addWidget(view)
            layout.addWidget(box)
            self._boxes[name] = box
        self.hide()

    def show_spot(self, spot: Spot | None, sky: Sky | None) -> None:
        """Show what was found at a place; of a glance the rose alone, the others go pale until the full look.

        Parameters
        ----------
        spot : siting.live.looker.Spot or None
        sky : siting.sky.sky.Sky or None
            The one that was looked at.
        """
        has_charts = spot is not None and spot.assessment is not None
        if has_charts:
            self._show_rose(spot.row)
            if spot.is_rough:
                self.window.set_old(True)
                self.passes.set_old(True)
            else:
                self._show_window(spot)
                self._show_passes(spot.row, sky)
        if has_charts == self.isHidden():
            self.setVisible(has_charts)

    def _show_rose(self, row):
        title = self.tr("Quality by azimuth")
        self.rose.show_chart(lambda width: rose_chart("bench-rose", title, row.bin_quality, row.bin_counts, width))

    def _show_window(self, spot):
        title, seen, counts = self.tr("Usable elevation angles by azimuth"), spot.assessment, spot.row.bin_counts
        outlook = Outlook(seen.windows, counts, np.array(seen.settings.elevation_deg), seen.skyline_deg)
        self.window.show_chart(lambda width: window_chart("bench-window", title, outlook, width))

    def _show_passes(self, row, sky):
        has_passes = row.sky is not None and sky is not None
        if has_passes:
            title, found = self.tr("Usable passes through the day"), Passes.of(row.sky, sky)
            self.passes.show_chart(lambda width: passes_chart("bench-passes", title, found, width))
        self._boxes["passes"].setVisible(has_passes)
