"""NaN and infinity are refused by name, whichever number of whichever algorithm they are given for."""

import math

import pytest
from qgis.core import (
    QgsFeature, QgsGeometry, QgsPointXY, QgsProcessingContext, QgsProcessingException, QgsProcessingFeedback,
    QgsProcessingParameterNumber, QgsProject, QgsVectorLayer,
)
from stillwater.processing_algs.provider import ALGORITHMS

SQUARE = "POLYGON((499000 4979000, 501000 4979000, 501000 4981000, 499000 4981000, 499000 4979000))"
LINE = "LINESTRING(499000 4980000, 501000 4980000)"
NEEDED = {"waterfromshore": {"SIDE": "left", "REACH": 300}, "shorecandidates": {"SPACING": 100}}
IN_PAIRS = {"HEIGHT_MIN": {"HEIGHT_MAX": 9.0}, "HEIGHT_MAX": {"HEIGHT_MIN": 3.0}}


def layer(kind, wkt):
    made = QgsVectorLayer(f"{kind}?crs=EPSG:32633", kind, "memory")
    feature = QgsFeature()
    feature.setGeometry(QgsGeometry.fromWkt(wkt) if wkt else QgsGeometry.fromPointXY(QgsPointXY(500_000, 4_980_000)))
    made.dataProvider().addFeature(feature)
    return made


def cases():
    found = []
    for kind in ALGORITHMS:
        one = kind()
        one.initAlgorithm({})
        for definition in one.parameterDefinitions():
            if isinstance(definition, QgsProcessingParameterNumber) and (
                    definition.dataType() == QgsProcessingParameterNumber.Type.Double):
                found.append((kind, definition.name()))
    return found


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
@pytest.mark.parametrize("kind, name", cases(), ids=lambda one: getattr(one, "ID", one))
def test_a_number_that_is_none_is_refused_by_name(kind, name, value):
    algorithm = kind().create()
    layers = {"INPUT": layer("Point", ""), "WATER": layer("Polygon", SQUARE), "SHORE": layer("LineString", LINE)}
    parameters = {one.name(): layers[one.name()] for one in algorithm.parameterDefinitions() if one.name() in layers}
    parameters.update({one.name(): "TEMPORARY_OUTPUT" for one in algorithm.parameterDefinitions()
                       if one.isDestination()})
    parameters.update(NEEDED.get(kind.ID, {}))
    parameters.update(IN_PAIRS.get(name, {}))
    parameters[name] = value
    context = QgsProcessingContext()
    context.setProject(QgsProject.instance())
    ok, message = algorithm.checkParameterValues(parameters, context)
    if not ok:
        assert name in message or algorithm.parameterDefinition(name).description() in message
        return
    with pytest.raises(QgsProcessingException) as caught:
        algorithm.processAlgorithm(parameters, context, QgsProcessingFeedback())
    assert name in str(caught.value), caught.value
