"""The Processing provider."""
from __future__ import annotations

import os

from qgis.core import QgsApplication, QgsProcessingProvider
from qgis.PyQt.QtGui import QIcon

from .blindsky import BlindSkyAlgorithm
from .footprints import FootprintsAlgorithm
from .horizon import HorizonAlgorithm
from .improveposition import ImprovePositionAlgorithm
from .models import shipped_ids, shipped_models
from .rankcandidates import RankCandidatesAlgorithm
from .samplinginterval import SamplingIntervalAlgorithm
from .shorecandidates import ShoreCandidatesAlgorithm
from .sitesheet import SiteSheetAlgorithm
from .skyarcs import SkyArcsAlgorithm
from .surfacequality import SurfaceQualityAlgorithm
from .waterfromshore import WaterFromShoreAlgorithm

ICON_FOLDER = os.path.join(os.path.dirname(os.path.dirname(__file__)), "plugin", "icons")
ALGORITHMS = (FootprintsAlgorithm, SurfaceQualityAlgorithm, RankCandidatesAlgorithm, SkyArcsAlgorithm,
              BlindSkyAlgorithm, SamplingIntervalAlgorithm, HorizonAlgorithm, WaterFromShoreAlgorithm,
              ShoreCandidatesAlgorithm, SiteSheetAlgorithm,
              ImprovePositionAlgorithm)


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
        registry = QgsApplication.processingRegistry()
        if registry.providerById(self.id()) is not None:
            self._add_models(self.id())
        else:
            # the steps of a model are looked up in the registry, which learns of this provider only after this
            registry.providerAdded.connect(self._add_models)

    def _add_models(self, identifier):
        if identifier != self.id():
            return
        if self.algorithm(shipped_ids()[0]) is not None:
            return
        for model in shipped_models():
            self.addAlgorithm(model)
        self.algorithmsLoaded.emit()
