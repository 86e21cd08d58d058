"""What is no number is refused by name, whichever number of whichever algorithm it is given for.

QGIS lets NaN pass everywhere, reads any text as 0 where a number is optional, takes the default where an expression
gives nothing, and rounds what should be whole.
"""

import math

import pytest
from qgis.core import (
    NULL,
    QgsFeature,
    QgsGeometry,
    QgsPointXY,
    QgsProcessingContext,
    QgsProcessingException,
    QgsProcessingFeedback,
    QgsProcessingParameterNumber,
    QgsProject,
    QgsProperty,
    QgsVectorLayer,
)
from scenes import Feedback
from stillwater.processing_algs.provider import ALGORITHMS
from stillwater.processing_algs.reading.given import Given
from stillwater.processing_algs.reading.look import read_asked
from stillwater.processing_algs.reading.owncriteria import read_own_rows
from stillwater.siting.errors import InputError

SQUARE = "POLYGON((499000 4979000, 501000 4979000, 501000 4981000, 499000 4981000, 499000 4979000))"
LINE = "LINESTRING(499000 4980000, 501000 4980000)"
NEEDED = {"waterfromshore": {"SIDE": "left", "REACH": 300}, "shorecandidates": {"SPACING": 100}}
BY_CANDIDATE = ("ANTENNA_HEIGHT", "SURFACE_LEVEL", "LEVEL_LOW", "LEVEL_HIGH", "WAVE_HEIGHT")
"""Numbers whose expression is asked for each candidate: the candidates are named, not the parameter."""
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
        found += [(kind, definition.name()) for definition in one.parameterDefinitions()
                  if isinstance(definition, QgsProcessingParameterNumber)]
    return found


WRONG = [math.nan, math.inf, -math.inf, "nan", "Infinity", "7,5", "high", QgsProperty.fromExpression("NULL"),
         QgsProperty.fromExpression("1 +"), QgsProperty.fromExpression("'high'")]


@pytest.mark.parametrize(
    "value", WRONG, ids=lambda one: one.asExpression() if isinstance(one, QgsProperty) else str(one))
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
    told = "a number" if name in BY_CANDIDATE and isinstance(value, QgsProperty) else name
    assert told in str(caught.value), caught.value


def test_every_algorithm_with_numbers_is_tried():
    assert {kind.ID for kind, _name in cases()} == {kind.ID for kind in ALGORITHMS}
    assert {"DAYS", "TRIALS", "SEED", "PRECISION", "WEIGHT_SD"} <= {name for _kind, name in cases()}


def ranking():
    kind = next(one for one in ALGORITHMS if one.ID == "rankcandidates")
    return kind().create()


def given(algorithm, parameters, feedback=None):
    return Given(algorithm, parameters, QgsProcessingContext(), feedback or Feedback())


def demand_and_receiver(feedback=None, **parameters):
    return read_asked(given(ranking(), {"PURPOSE": "lake level", **parameters}, feedback))


def test_what_is_empty_is_usual_for_the_purpose():
    """The contract's defaults: 2 cm and 24 h for a lake, 5 cm an arc; 49 dB-Hz, 0.1 dB, 1 s."""
    feedback = Feedback()
    for empty in ({}, {"PRECISION": None, "CADENCE": NULL, "CN0": None}):
        demand, receiver = demand_and_receiver(feedback, **empty)
        assert (demand.precision, demand.cadence_h, demand.arc_error, demand.is_phase) == (2.0, 24.0, 5.0, False)
        assert (receiver.cn0_dbhz, receiver.step_db, receiver.interval_s) == (49.0, 0.1, 1.0)
    assert "a common geodetic antenna with choke rings" in feedback.log
    assert demand_and_receiver(PURPOSE="soil moisture")[0].is_phase


@pytest.mark.parametrize("name, within, outside", [
    ("PRECISION", (0.01, 1000), (0, -1, 1000.1)), ("CADENCE", (0.1, 168), (0.09, -3, 168.1)),
    ("ARC_ERROR", (0, 1000), (-0.1, 1000.1)), ("CN0", (20, 70), (19.9, 70.1)), ("SNR_STEP", (0, 10), (-0.1, 10.1)),
    ("INTERVAL", (0.001, 3600), (0, -1, 3600.1))])
def test_what_is_out_of_its_range_is_refused_with_the_range(name, within, outside):
    for value in within:
        assert demand_and_receiver(**{name: value})
        assert demand_and_receiver(**{name: str(value)}) and demand_and_receiver(**{name: QgsProperty.fromValue(value)})
    for value in outside:
        with pytest.raises(InputError, match=rf"^{name} is .*at least .* and at most .*"):
            demand_and_receiver(**{name: value})


def test_an_antenna_of_a_users_own_serves_and_is_told(tmp_path):
    path = tmp_path / "own.csv"
    path.write_text("elevation;rhcp_db;lhcp_db\n-30;-20;-25\n0;-10;-20\n30;-4;-18\n60;-1;-17\n90;0;-16\n")
    feedback = Feedback()
    _demand, receiver = demand_and_receiver(feedback, ANTENNA_PATTERN=str(path))
    assert receiver.pattern.co_polar(0.0) == pytest.approx(10**-0.5) and "Antenna: own.csv." in feedback.log
    with pytest.raises(InputError, match="“own.csv”.*MAX_ELEVATION.*from -50 .*below -30°"):
        demand_and_receiver(ANTENNA_PATTERN=str(path), MAX_ELEVATION=50)
    with pytest.raises(InputError, match="ANTENNA_PATTERN “no.csv” is no file"):
        demand_and_receiver(ANTENNA_PATTERN=str(tmp_path / "no.csv"))


@pytest.mark.parametrize("value, told", [(1.5, "whole"), ("2.5", "whole"), (0, "at least 1"), (-1, "at least 1"),
                                         (2**31, "at most"), (1e300, "at most")])
def test_what_should_be_whole_is_not_rounded(value, told):
    with pytest.raises(InputError, match=f"^DAYS is .*{told}"):
        given(ranking(), {"DAYS": value}).whole("DAYS", 1)


def test_numbers_are_read_as_they_stand():
    algorithm = ranking()
    for value in (3, 3.0, "3", " 3.0 ", QgsProperty.fromExpression("1 + 2"), QgsProperty.fromValue(3)):
        assert given(algorithm, {"CN0": value}).real("CN0") == 3.0
        assert given(algorithm, {"DAYS": value}).whole("DAYS", 1) == 3


@pytest.mark.parametrize("row", [("cost", "nan", "0", "1"), ("cost", "10", "inf", "1"), ("cost", "10", "0", "nan"),
                                 ("cost", "10", "0", "inf"), ("cost", "10", "0", "-inf")])
def test_own_criteria_that_are_no_numbers_are_refused(row):
    with pytest.raises(InputError, match=r"OWN_CRITERIA, row 1 \(cost\).*finite"):
        read_own_rows(given(ranking(), {"OWN_CRITERIA": list(row)}))
