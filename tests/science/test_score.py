"""Desirabilities, scores and verdicts, at their edges too, and what an analyst is told to aim for."""

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

COST = Criterion("own:cost", "cost", " EUR", 20_000.0, 5_000.0)
ROAD = Criterion("own:road", "road", " m", 0.0, 100.0, 2.0)
ROUNDING = 1e-9


@pytest.mark.parametrize("criterion, values, wanted", [
    (ROAD, [-5, 0, 50, 100, 300], [0, 0, 0.5, 1, 1]),
    (COST, [30_000, 20_000, 12_500, 5_000, 0], [0, 0, 0.5, 1, 1]),
    (ROAD, [np.nan], [0])])
def test_desirability_rises_linearly_between_its_limits_and_the_worse_may_be_greater(criterion, values, wanted):
    assert criterion.desirability(values) == pytest.approx(wanted, abs=ROUNDING)


def test_a_precision_just_met_is_worth_a_half_and_none_is_worth_all_or_nothing():
    assert precision_desirability(5.0, 5.0) == 0.5
    rising = precision_desirability(np.geomspace(0.01, 1000.0, 50), 5.0)
    assert (np.diff(rising) < 0).all() and rising.min() > 0 and rising.max() < 1
    assert precision_desirability(np.nan, 5.0) == 0


def test_the_score_is_the_weighted_geometric_mean():
    # Derringer & Suich 1980, Journal of Quality Technology 12: D = (d1·d2…)^(1/k), weighted (from memory)
    assert score(5.0, 5.0).score == pytest.approx(50.0)
    assert score(5.0, 5.0, [5_000], [COST]).score == pytest.approx(100 * np.sqrt(0.5))
    assert score(5.0, 5.0, [12_500, 25.0], [COST, ROAD]).score == pytest.approx(100 * (0.5 * 0.5 * 0.25**2)**0.25)
    many = total_scores(np.array([5.0, 10.0]), 5.0, np.array([[5_000, 100.0], [12_500, 25.0]]), [COST, ROAD])
    assert many == pytest.approx([score(5.0, 5.0, [5_000, 100], [COST, ROAD]).score,
                                  score(10.0, 5.0, [12_500, 25], [COST, ROAD]).score])


def test_no_arc_a_broken_limit_and_an_own_property_without_worth_condemn():
    assert score(3.0, 5.0, has_arcs=False).verdict == UNSUITABLE
    broken = score(3.0, 5.0, is_limit_broken=True)
    assert broken.verdict == UNSUITABLE and broken.score == 0.0
    condemned = score(3.0, 5.0, [30_000], [COST])
    assert condemned.verdict == UNSUITABLE and condemned.score == 0.0
    # an own property that is merely poor lowers the score, not the verdict
    assert score(3.0, 5.0, [19_000], [COST]).verdict == SUITABLE


@pytest.mark.parametrize("times, desirability", [(0.0, 1.0), (0.5, 0.8), (1.0, 0.5), (2.0, 0.2), (3.0, 0.1)])
def test_the_desirability_of_a_precision_is_that_of_its_square(times, desirability):
    """1/(1 + t²) by hand."""
    assert precision_desirability(4.0 * times, 4.0) == pytest.approx(desirability)
    assert score(4.0 * times, 4.0).score == pytest.approx(100.0 * desirability)


def test_the_whole_is_scipys_weighted_geometric_mean():
    rng = np.random.default_rng(3)
    error, road, cost = rng.uniform(1, 9, 20), rng.uniform(1, 99, 20), rng.uniform(5_100, 19_900, 20)
    for weight in (None, np.array([0.5, 2.0])):
        found = total_scores(error, 5.0, np.stack([road, cost], axis=-1), [ROAD, COST], weight)
        weights = [1.0, *(weight if weight is not None else (2.0, 1.0))]
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
    (0.5, SUITABLE), (4.999, SUITABLE), (5.0, SUITABLE), (5.0001, MARGINAL), (9.9999, MARGINAL), (10.0, MARGINAL),
    (10.0001, UNSUITABLE), (np.inf, UNSUITABLE)])
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
    usual = Criterion("road", "road", " m", 0.0, 100.0)
    assert usual.weight == 1.0
    assert score(5.0, 5.0, [50.0], [usual]).score == pytest.approx(50.0)
    assert score(5.0, 5.0, [100.0], [usual]).score == pytest.approx(100.0 * np.sqrt(0.5))
