"""The Processing provider."""
from __future__ import annotations

import os

from qgis.core import QgsProcessingProvider
from qgis.PyQt.QtGui import QIcon

from .blindsky import BlindSkyAlgorithm
from .footprints import FootprintsAlgorithm
from .horizon import HorizonAlgorithm
from .rankcandidates import RankCandidatesAlgorithm
from .samplinginterval import SamplingIntervalAlgorithm
from .skyarcs import SkyArcsAlgorithm
from .surfacequality import SurfaceQualityAlgorithm

ICON_FOLDER = os.path.join(os.path.dirname(os.path.dirname(__file__)), "plugin", "icons")
ALGORITHMS = (FootprintsAlgorithm, SurfaceQualityAlgorithm, RankCandidatesAlgorithm, SkyArcsAlgorithm,
              BlindSkyAlgorithm, SamplingIntervalAlgorithm, HorizonAlgorithm)


class StillwaterProvider(QgsProcessingProvider):
    """Holds the algorithms of Stillwater."""

    def id(self):
        return "stillwater"

    def name(self):
        return "Stillwater"

    def longName(self):
        return "Stillwater: siting of GNSS reflectometry antennas"

    def icon(self):
        return QIcon(self.svgIconPath())

    def svgIconPath(self):
        return os.path.join(ICON_FOLDER, "stillwater.svg")

    def loadAlgorithms(self):
        for algorithm in ALGORITHMS:
            self.addAlgorithm(algorithm())
