"""Make the models that ship with the plugin.

Run ``QT_HASH_SEED=0 /usr/bin/python3 plugin/models/make_models.py [FOLDER]`` on the oldest QGIS that is supported: a
newer one reads an older model, not always the other way round. Two runs give the same bytes, with that seed.
"""
from __future__ import annotations

import sys
from dataclasses import dataclass, field
from pathlib import Path

from qgis.core import (
    QgsApplication,
    QgsProcessing,
    QgsProcessingModelAlgorithm,
    QgsProcessingModelChildAlgorithm,
    QgsProcessingModelChildParameterSource,
    QgsProcessingModelOutput,
    QgsProcessingModelParameter,
    QgsProcessingParameterEnum,
    QgsProcessingParameterFeatureSource,
    QgsProcessingParameterField,
    QgsProcessingParameterMultipleLayers,
    QgsProcessingParameterNumber,
    QgsProcessingParameterRasterLayer,
    QgsProcessingParameterString,
)
from qgis.PyQt.QtCore import QPointF

Source = QgsProcessingModelChildParameterSource
DOUBLE, INTEGER = QgsProcessingParameterNumber.Type.Double, QgsProcessingParameterNumber.Type.Integer
POLYGONS = [QgsProcessing.SourceType.TypeVectorPolygon]
NAME = "shoretosheet"


def number(name: str, text: str, default: float | None, low: float | None = None,
           kind: QgsProcessingParameterNumber.Type = DOUBLE, optional: bool = False) -> QgsProcessingParameterNumber:
    """Define a number of a model."""
    limits = {} if low is None else {"minValue": low}
    return QgsProcessingParameterNumber(name, text, kind, default, optional, **limits)


PARAMETERS = [
    QgsProcessingParameterFeatureSource("SHORE", "Shoreline", [QgsProcessing.SourceType.TypeVectorLine,
                                                               QgsProcessing.SourceType.TypeVectorPolygon]),
    QgsProcessingParameterEnum("SIDE", "The water is on the side",
                               ["left", "right", "lower ground", "inside", "outside"], False, "left", False, True),
    number("SPACING", "Spacing of the candidates [m]", 50.0, 0.0),
    number("OFFSET", "Set back from the shore [m]", 5.0, 0.0),
    QgsProcessingParameterRasterLayer("DEM", "Elevation model (DEM)"),
    QgsProcessingParameterEnum("DEM_WATER", "Over water the DEM shows", ["surface", "bed"], False, "surface", False,
                               True),
    QgsProcessingParameterRasterLayer("LANDCOVER", "Land cover", None, True),
    QgsProcessingParameterString("TARGET_CLASSES", "Land-cover classes that are the surface", "", False, True),
    QgsProcessingParameterFeatureSource("WATER", "Polygons of the surface", POLYGONS, None, True),
    QgsProcessingParameterFeatureSource("AVOID", "Areas to avoid", POLYGONS, None, True),
    QgsProcessingParameterField("AVOID_FIELD", "Share of the time that they spoil", None, "AVOID",
                                QgsProcessingParameterField.DataType.Numeric, False, True),
    QgsProcessingParameterField("AVOID_NAME", "Name of the areas to avoid", None, "AVOID",
                                QgsProcessingParameterField.DataType.Any, False, True),
    number("ANTENNA_HEIGHT", "Antenna height above the ground [m]", 3.0, 0.0),
    number("HEIGHT_MIN", "Least antenna height [m]", 2.0, 0.0),
    number("HEIGHT_MAX", "Greatest antenna height [m]", 6.0, 0.0),
    number("SURFACE_LEVEL", "Zero level of the water [m]", 0.0),
    number("LEVEL_LOW", "Lowest level [m]", 0.0), number("LEVEL_HIGH", "Highest level [m]", 0.0),
    number("WAVE_HEIGHT", "Significant wave height [m]", 0.0, 0.0),
    number("PRECISION", "Precision wanted [cm]", None, optional=True),
    number("CADENCE", "A value every so many hours [h]", None, optional=True),
    number("INTERVAL", "Shortest interval that the receiver can log [s]", 1.0),
    number("RADIUS", "Search radius [m]", 25.0, 0.0),
    number("BEST", "Candidates to improve and to print", 3, 1, INTEGER),
    number("APART", "Least distance between them [m]", 100.0, 0.0),
    QgsProcessingParameterMultipleLayers("IMAGERY", "Imagery below the maps", QgsProcessing.SourceType.TypeRaster,
                                         None, True),
]
SURFACE = ("DEM", "DEM_WATER", "LANDCOVER", "TARGET_CLASSES", "WATER", "AVOID", "AVOID_FIELD", "AVOID_NAME",
           "SURFACE_LEVEL", "LEVEL_LOW", "LEVEL_HIGH", "WAVE_HEIGHT")
ASKED = ("PRECISION", "CADENCE", "INTERVAL")
RANKED = (*SURFACE, *ASKED, "ANTENNA_HEIGHT")


OWN_HELP = {
    "ANTENNA_HEIGHT": "Height of the antenna above the ground or roof that the DEM shows, for the first ranking; the "
                      "search tries others.",
    "BEST": "So many of the best candidates are moved, raised and printed; a site sheet takes some pages each.",
    "APART": "What stands nearer to a better candidate is left out, so that neighbours on one stretch of shore do not "
             "fill the list.",
    "DEM": "Elevation in metres; heights are measured from its ground.",
}


def helps() -> dict:
    """Collect what the steps' own parameters say of themselves."""
    sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "styles"))
    from checkout import package
    found = {}
    for name, kind in (("sitesheet", "SiteSheetAlgorithm"), ("improveposition", "ImprovePositionAlgorithm"),
                       ("rankcandidates", "RankCandidatesAlgorithm"), ("shorecandidates", "ShoreCandidatesAlgorithm")):
        algorithm = getattr(package(f"processing_algs.algorithms.{name}"), kind)()
        algorithm.initAlgorithm({})
        found.update({definition.name(): definition.help() for definition in algorithm.parameterDefinitions()})
    return {**found, **OWN_HELP}


@dataclass
class Step:
    """One step of a model.

    Attributes
    ----------
    name, algorithm, description : str
    place : tuple of float
        Where it stands in the designer [px].
    given : tuple of str
        Parameters that are the model's own.
    fixed : dict
        Values of parameters that are always the same.
    joined : dict of str to str
        Parameters that another step makes: its name and output, with a dot between.
    outputs : dict of str to (str, str)
        Outputs that are the model's: their names and descriptions.
    """

    name: str
    algorithm: str
    description: str
    place: tuple
    given: tuple = ()
    fixed: dict = field(default_factory=dict)
    joined: dict = field(default_factory=dict)
    outputs: dict = field(default_factory=dict)

    def child(self) -> QgsProcessingModelChildAlgorithm:
        """Make what QGIS calls a child algorithm."""
        step = QgsProcessingModelChildAlgorithm(f"stillwater:{self.algorithm}")
        step.setChildId(self.name)
        step.setDescription(self.description)
        step.setPosition(QPointF(*self.place))
        for name in self.given:
            step.addParameterSources(name, [Source.fromModelParameter(name)])
        for name, value in self.fixed.items():
            step.addParameterSources(name, [Source.fromStaticValue(value)])
        for name, origin in self.joined.items():
            step.addParameterSources(name, [Source.fromChildOutput(*origin.split("."))])
        step.setModelOutputs(self._model_outputs())
        return step

    def _model_outputs(self) -> dict:
        made = {}
        for output, (name, text) in self.outputs.items():
            final = QgsProcessingModelOutput(name)
            final.setName(name)
            final.setDescription(text)
            final.setChildId(self.name)
            final.setChildOutputName(output)
            final.setMandatory(False)
            final.setPosition(QPointF(self.place[0] + 220, self.place[1]))
            made[name] = final
        return made


GROUND = {"HEIGHT_REFERENCE": "ground", "SITE_FIELD": "site"}
STEPS = (
    Step("candidates", "shorecandidates", "Candidates along the shore", (420, 80),
         ("SHORE", "SIDE", "SPACING", "OFFSET", "DEM")),
    Step("rank", "rankcandidates", "Rank them", (420, 240), (*RANKED, "BEST", "APART"), {**GROUND, "TRIALS": 0},
         {"INPUT": "candidates.OUTPUT"},
         {"OUTPUT": ("RANKED", "Ranked candidates"), "OUTPUT_HTML": ("RANKING", "Ranking page")}),
    Step("improve", "improveposition", "Improve their positions", (420, 440),
         (*RANKED, "RADIUS", "HEIGHT_MIN", "HEIGHT_MAX"), GROUND, {"INPUT": "rank.OUTPUT_BEST"},
         {"OUTPUT": ("IMPROVED", "Improved positions"), "OUTPUT_MOVES": ("MOVES", "Moves")}),
    Step("sheet", "sitesheet", "Write site sheets", (420, 640), (*SURFACE, *ASKED, "IMAGERY"),
         {**GROUND, "HEIGHT_FIELD": "height_m"}, {"INPUT": "improve.OUTPUT"},
         {"OUTPUT_HTML": ("SHEET", "Site sheet (page)"), "OUTPUT_PDF": ("PRINT", "Site sheet (print)"),
          "OUTPUT_MASK": ("MASK", "Observation mask")}),
)


def shore_to_sheet() -> QgsProcessingModelAlgorithm:
    """Make the model from a bare shoreline to site sheets."""
    model = QgsProcessingModelAlgorithm(NAME, "Decision")
    model.setName(NAME)
    told = helps()
    for row, parameter in enumerate(PARAMETERS):
        component = QgsProcessingModelParameter(parameter.name())
        component.setPosition(QPointF(120, 40 + 60 * row))
        model.addModelParameter(parameter, component)
    for step in STEPS:
        model.addChildAlgorithm(step.child())
    model.setHelpContent({**{definition.name(): told[definition.name()] for definition in PARAMETERS}, "ALG_DESC": (
        "From a bare shoreline to a sheet that a field crew and a reviewer can read: candidates along the shore, their "
        "ranking, the best of them moved and raised to where they work best, and a site sheet for each. Heights are "
        "above the ground that the DEM shows.")})
    return model


def main(folder: Path) -> None:
    """Write all models into a folder."""
    application = QgsApplication([], False)
    application.initQgis()
    path = folder / f"{NAME}.model3"
    if not shore_to_sheet().toFile(str(path)):
        raise OSError(f"{path} could not be written")
    application.exitQgis()


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)
