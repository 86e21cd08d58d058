"""Desirabilities, verdicts and the order of rank."""

import numpy as np
import pytest
from stillwater.siting.ranking.order import rank_key, shared_ranks
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


@pytest.mark.parametrize("error, verdict", [
    (0.5, SUITABLE), (5.0, SUITABLE), (5.001, MARGINAL), (10.0, MARGINAL), (10.01, UNSUITABLE)])
def test_the_verdict_is_that_of_the_precision(error, verdict):
    assert score(error, 5.0).verdict == verdict


def test_no_arc_a_broken_limit_and_an_own_property_without_worth_condemn():
    assert score(3.0, 5.0, has_arcs=False).verdict == UNSUITABLE
    broken = score(3.0, 5.0, is_limit_broken=True)
    assert broken.verdict == UNSUITABLE and broken.score == 0.0
    condemned = score(3.0, 5.0, [30_000], [COST])
    assert condemned.verdict == UNSUITABLE and condemned.score == 0.0
    # an own property that is merely poor lowers the score, not the verdict
    assert score(3.0, 5.0, [19_000], [COST]).verdict == SUITABLE


def test_rank_is_by_score_then_by_error_and_equals_share_it():
    ranks = shared_ranks([50, 70, 70, 0, 0, np.nan, 50], [5, 3, 3, 9, 8, 1, 4], [0, 0, 0, 0, 0, 0, 0])
    assert ranks.rank.tolist() == [4, 1, 1, 6, 5, 7, 3]
    assert ranks.tied.tolist() == [1, 2, 2, 1, 1, 1, 1] and ranks.last.tolist() == [4, 2, 2, 6, 5, 7, 3]


def test_a_broken_limit_ranks_behind_every_other_that_was_assessed():
    ranks = shared_ranks([0, 3, 90, np.nan], [2, 30, 1, np.nan], [True, False, False, False])
    assert ranks.rank.tolist() == [3, 2, 1, 4]


def test_rounding_makes_no_difference_and_the_order_of_the_input_never_decides():
    rng = np.random.default_rng(3)
    values = rng.choice([10.0, 20.0, 20.0 + 3e-7, 30.0], 200)
    error, broken = np.round(50.0 - values, 3), rng.random(200) < 0.2
    ranks = shared_ranks(values, error, broken)
    for _ in range(5):
        mixed = rng.permutation(200)
        again = shared_ranks(values[mixed], error[mixed], broken[mixed])
        assert (again.rank == ranks.rank[mixed]).all() and (again.last == ranks.last[mixed]).all()
    # 20 and 20 + 3e-7 are one, so there are three ranks each with and without a broken limit
    assert len(set(ranks.rank.tolist())) == 6


def test_places_of_a_search_are_ordered_as_a_rank_does():
    rng = np.random.default_rng(8)
    values, error, broken = rng.choice([0, 5, 5, 60, 80.0], 60), rng.choice([2.0, 3.0], 60), rng.random(60) < 0.3
    ranks = shared_ranks(values, error, broken).rank
    keys = [rank_key(*one) for one in zip(values, error, broken.tolist())]
    better = np.array([[a > b for b in keys] for a in keys])
    assert (better == (ranks[:, None] < ranks[None, :])).all()


def test_everyone_infinite_or_nobody_at_all_is_ranked_too():
    assert shared_ranks([0.0, 0.0], [np.inf, np.inf], [True, True]).rank.tolist() == [1, 1]
    assert shared_ranks([], [], []).rank.tolist() == []
