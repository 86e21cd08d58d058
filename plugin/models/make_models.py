"""Make the models that ship with the plugin.

Run ``QT_HASH_SEED=0 /usr/bin/python3 plugin/models/make_models.py [FOLDER]`` on the oldest QGIS that is supported: a
newer one reads an older model, not always the other way round. Two runs give the same bytes, with that seed.
"""
from __future__ import annotations

import sys
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


def number(name, text, default, low=None, kind=DOUBLE, optional=False):
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
        found.update({one.name(): one.help() for one in algorithm.parameterDefinitions()})
    return {**found, **OWN_HELP}


def child(identifier, algorithm, place, description, given=(), fixed=None, joined=None, outputs=None):
    """Make one step: parameters passed on, fixed ones, and those that come from another step."""
    one = QgsProcessingModelChildAlgorithm(algorithm)
    one.setChildId(identifier)
    one.setDescription(description)
    one.setPosition(QPointF(*place))
    for name in given:
        one.addParameterSources(name, [Source.fromModelParameter(name)])
    for name, value in (fixed or {}).items():
        one.addParameterSources(name, [Source.fromStaticValue(value)])
    for name, source in (joined or {}).items():
        one.addParameterSources(name, [source])
    made = {}
    for output, (name, text) in (outputs or {}).items():
        final = QgsProcessingModelOutput(name)
        final.setName(name)
        final.setDescription(text)
        final.setChildId(identifier)
        final.setChildOutputName(output)
        final.setMandatory(False)
        final.setPosition(QPointF(place[0] + 220, place[1]))
        made[name] = final
    one.setModelOutputs(made)
    return one


def shore_to_sheet() -> QgsProcessingModelAlgorithm:
    """Make the model from a bare shoreline to site sheets."""
    model = QgsProcessingModelAlgorithm(NAME, "Decision")
    model.setName(NAME)
    told = helps()
    for row, parameter in enumerate(PARAMETERS):
        component = QgsProcessingModelParameter(parameter.name())
        component.setPosition(QPointF(120, 40 + 60 * row))
        model.addModelParameter(parameter, component)
    from_step = Source.fromChildOutput
    ground = {"HEIGHT_REFERENCE": "ground", "SITE_FIELD": "site"}
    for one in (
        child("candidates", "stillwater:shorecandidates", (420, 80), "Candidates along the shore",
              ("SHORE", "SIDE", "SPACING", "OFFSET", "DEM")),
        child("rank", "stillwater:rankcandidates", (420, 240), "Rank them", (*RANKED, "BEST", "APART"),
              {**ground, "TRIALS": 0}, {"INPUT": from_step("candidates", "OUTPUT")},
              {"OUTPUT": ("RANKED", "Ranked candidates"), "OUTPUT_HTML": ("RANKING", "Ranking page")}),
        child("improve", "stillwater:improveposition", (420, 440), "Improve their positions",
              (*RANKED, "RADIUS", "HEIGHT_MIN", "HEIGHT_MAX"), ground,
              {"INPUT": from_step("rank", "OUTPUT_BEST")},
              {"OUTPUT": ("IMPROVED", "Improved positions"), "OUTPUT_MOVES": ("MOVES", "Moves")}),
        child("sheet", "stillwater:sitesheet", (420, 640), "Write site sheets", (*SURFACE, *ASKED, "IMAGERY"),
              {**ground, "HEIGHT_FIELD": "height_m"}, {"INPUT": from_step("improve", "OUTPUT")},
              {"OUTPUT_HTML": ("SHEET", "Site sheet (page)"), "OUTPUT_PDF": ("PRINT", "Site sheet (print)"),
               "OUTPUT_MASK": ("MASK", "Observation mask")}),
    ):
        model.addChildAlgorithm(one)
    model.setHelpContent({**{one.name(): told[one.name()] for one in PARAMETERS}, "ALG_DESC": (
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
