"""What the bench looks with before anybody has chosen: what the algorithm itself takes, and no number of its own."""

from dataclasses import asdict, fields, replace

import pytest
from qgis.core import (
    QgsApplication,
    QgsProcessingContext,
    QgsProcessingParameters,
    QgsProject,
)
from stillwater.plugin.bench.model.bench import Bench
from stillwater.plugin.bench.model.settings import BenchSettings

NAMES = [one.name for one in fields(BenchSettings)]
OTHER = {
    "PURPOSE": "lake level", "PRECISION": 3.0, "CADENCE": 6.0, "HEIGHT_REFERENCE": "ground", "SURFACE_LEVEL": 0.5,
    "LEVEL_LOW": -1.0, "LEVEL_HIGH": 1.0, "WAVE_HEIGHT": 0.3, "SIGNAL": "GPS L5", "CONSTELLATIONS": ["GPS"],
    "ORBITS": "/a/file.tle", "DATE": "2027-01-01T00:00:00", "DAYS": 2, "INTERVAL": 15.0, "MIN_ELEVATION": 7.0,
    "MAX_ELEVATION": 25.0, "DEM_WATER": "bed", "WATER_IS": "land"}


def read(definition, parameters):
    """Have QGIS Processing itself evaluate a parameter, as a run would."""
    context = QgsProcessingContext()
    evaluate = {
        "number": QgsProcessingParameters.parameterAsDouble, "datetime": QgsProcessingParameters.parameterAsDateTime,
        "enum": QgsProcessingParameters.parameterAsEnumStrings, "file": QgsProcessingParameters.parameterAsFile,
    }.get(definition.type(), QgsProcessingParameters.parameterAsString)
    return evaluate(definition, parameters, context)


@pytest.fixture
def algorithm(provider):
    """Give the algorithm as the registry makes it."""
    return QgsApplication.processingRegistry().createAlgorithmById("stillwater:rankcandidates")


@pytest.mark.parametrize("name", NAMES)
def test_what_nobody_has_chosen_is_what_a_run_without_it_takes(algorithm, name):
    definition, value = algorithm.parameterDefinition(name), getattr(BenchSettings(), name)
    default = definition.defaultValue()
    assert value == (type(value)() if default is None else default)
    assert read(definition, BenchSettings().parameters()) == read(definition, {})
    if name in OTHER:
        # so that the line above can tell a number of the bench's own
        assert read(definition, replace(BenchSettings(), **{name: OTHER[name]}).parameters()) != read(definition, {})


def test_only_what_has_a_default_is_handed_over(algorithm):
    has_default = {name for name in NAMES if algorithm.parameterDefinition(name).defaultValue() not in (None, "")}
    assert set(BenchSettings().parameters()) == has_default and len(has_default) > 12


def test_values_have_the_kinds_that_a_project_remembers():
    assert {type(value) for value in asdict(BenchSettings()).values()} == {str, float, int, list}
    one, other = BenchSettings(), BenchSettings()
    one.CONSTELLATIONS.append("QZSS")
    assert other.CONSTELLATIONS == BenchSettings().CONSTELLATIONS != one.CONSTELLATIONS


def test_the_antenna_begins_as_high_as_in_the_dialog(algorithm):
    project = QgsProject()
    bench = Bench(project)
    assert bench.height_m == algorithm.parameterDefinition("ANTENNA_HEIGHT").defaultValue()
    bench.close()
