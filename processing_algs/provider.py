"""The Processing provider."""
from __future__ import annotations

import os

from qgis.core import QgsApplication, QgsProcessingProvider
from qgis.PyQt.QtGui import QIcon

from .algorithms.blindsky import BlindSkyAlgorithm
from .algorithms.footprints import FootprintsAlgorithm
from .algorithms.horizon import HorizonAlgorithm
from .algorithms.improveposition import ImprovePositionAlgorithm
from .algorithms.rankcandidates import RankCandidatesAlgorithm
from .algorithms.samplinginterval import SamplingIntervalAlgorithm
from .algorithms.shorecandidates import ShoreCandidatesAlgorithm
from .algorithms.sitesheet import SiteSheetAlgorithm
from .algorithms.skyarcs import SkyArcsAlgorithm
from .algorithms.surfacequality import SurfaceQualityAlgorithm
from .algorithms.waterfromshore import WaterFromShoreAlgorithm
from .folders import ICONS
from .layers.models import shipped_ids, shipped_models

ALGORITHMS = (FootprintsAlgorithm, SurfaceQualityAlgorithm, RankCandidatesAlgorithm, SkyArcsAlgorithm,
              BlindSkyAlgorithm, SamplingIntervalAlgorithm, HorizonAlgorithm, WaterFromShoreAlgorithm,
              ShoreCandidatesAlgorithm, SiteSheetAlgorithm,
              ImprovePositionAlgorithm)


class StillwaterProvider(QgsProcessingProvider):
    """Holds the algorithms of Stillwater."""

    def id(self) -> str:
        return "stillwater"

    def name(self) -> str:
        return "Stillwater"

    def longName(self) -> str:
        return "Stillwater: siting of GNSS reflectometry antennas"

    def icon(self) -> QIcon:
        return QIcon(self.svgIconPath())

    def svgIconPath(self) -> str:
        return os.path.join(ICONS, "stillwater.svg")

    def loadAlgorithms(self) -> None:
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
