"""Scores and verdicts at their edges, and what an analyst is told to aim for."""
import numpy as np
import pytest
from scipy import stats
from stillwater.siting.verdict.score import (
    MARGINAL,
    SUITABLE,
    UNSUITABLE,
    Criterion,
    precision_desirability,
    score,
    total_scores,
)

ROAD = Criterion("road", "road", " m", 0.0, 100.0)
COST = Criterion("cost", "cost", " EUR", 20_000.0, 5_000.0, 3.0)


@pytest.mark.parametrize("times, desirability", [(0.0, 1.0), (0.5, 0.8), (1.0, 0.5), (2.0, 0.2), (3.0, 0.1)])
def test_the_desirability_of_a_precision_is_that_of_its_square(times, desirability):
    """1/(1 + t²) by hand."""
    assert precision_desirability(4.0 * times, 4.0) == pytest.approx(desirability)
    assert score(4.0 * times, 4.0).score == pytest.approx(100.0 * desirability)


def test_the_whole_is_scipys_weighted_geometric_mean():
    rng = np.random.default_rng(3)
    error, road, cost = rng.uniform(1, 9, 20), rng.uniform(1, 99, 20), rng.uniform(5_100, 19_900, 20)
    found = total_scores(error, 5.0, np.stack([road, cost], axis=-1), [ROAD, COST])
    for weight in (None, np.array([0.5, 2.0])):
        found = total_scores(error, 5.0, np.stack([road, cost], axis=-1), [ROAD, COST], weight)
        weights = [1.0, *(weight if weight is not None else (1.0, 3.0))]
        for index in range(20):
            parts = [1 / (1 + (error[index] / 5)**2), road[index] / 100, (20_000 - cost[index]) / 15_000]
            assert found[index] == pytest.approx(100.0 * stats.gmean(parts, weights=weights))
            if weight is None:
                one = score(error[index], 5.0, [road[index], cost[index]], [ROAD, COST])
                assert one.score == pytest.approx(found[index]) and one.desirability == pytest.approx(parts)


def test_without_own_criteria_weights_mean_nothing():
    assert total_scores(np.array([5.0]), 5.0, np.zeros((1, 0)), [], np.zeros(0)).tolist() == [50.0]


def test_an_own_property_without_worth_leaves_nothing():
    assert total_scores(np.array([1.0, 1.0]), 5.0, np.array([[0.0], [np.nan]]), [ROAD]).tolist() == [0.0, 0.0]
    for value, verdict in ((0.0, UNSUITABLE), (0.01, SUITABLE), (np.nan, UNSUITABLE)):
        assert score(1.0, 5.0, [value], [ROAD]).verdict == verdict


@pytest.mark.parametrize("error, verdict", [
    (4.999, SUITABLE), (5.0, SUITABLE), (5.0001, MARGINAL), (9.9999, MARGINAL), (10.0, MARGINAL), (10.0001, UNSUITABLE),
    (np.inf, UNSUITABLE)])
def test_up_to_twice_what_is_wanted_is_marginal(error, verdict):
    one = score(error, 5.0)
    assert one.verdict == verdict and one.precision == error
    assert score(error, 5.0, has_arcs=False).verdict == UNSUITABLE
    assert score(error, 5.0, is_limit_broken=True).verdict == UNSUITABLE
    assert score(error, 5.0, is_limit_broken=True).score == 0.0


def test_what_must_be_is_told_whichever_way_is_better():
    assert ROAD.need(0.0) == "worth nothing up to 0 m" and ROAD.need(0.5) == "full marks from 100 m"
    assert COST.need(0.0) == "worth nothing from 20000 EUR on" and COST.need(1.0) == "full marks up to 5000 EUR"


def test_a_criterion_has_the_weight_of_the_precision_unless_told_otherwise():
    assert ROAD.weight == 1.0
    assert score(5.0, 5.0, [50.0], [ROAD]).score == pytest.approx(50.0)
    assert score(5.0, 5.0, [100.0], [ROAD]).score == pytest.approx(100.0 * np.sqrt(0.5))
