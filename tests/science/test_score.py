"""Desirabilities, verdicts and the order of rank."""

import numpy as np
import pytest
from stillwater.siting.verdict.score import (
    AZ_SPAN, MARGINAL, QUALITY, SUITABLE, UNSUITABLE, Criterion, rank_order, score,
)

BOTH = [QUALITY, AZ_SPAN]
GAP = Criterion("gap", "gap", " h", 12.0, 3.0)
ROUNDING = 1e-9


@pytest.mark.parametrize("criterion, values, wanted", [
    (QUALITY, [0.0, 0.1, 0.35, 0.6, 1.0], [0, 0, 0.5, 1, 1]),
    (AZ_SPAN, [0, 15, 52.5, 90, 360], [0, 0, 0.5, 1, 1]),
    (GAP, [20, 12, 7.5, 3, 0], [0, 0, 0.5, 1, 1]),
    (QUALITY, [np.nan], [0]),
])
def test_desirability_rises_linearly_between_its_limits_and_the_worse_may_be_greater(criterion, values, wanted):
    assert criterion.desirability(values) == pytest.approx(wanted, abs=ROUNDING)


def test_the_score_is_the_weighted_geometric_mean():
    # Derringer & Suich 1980, Journal of Quality Technology 12: D = (d1·d2…)^(1/k), weighted (from memory)
    assert score([0.35, 52.5], BOTH).score == pytest.approx(50.0)
    assert score([0.35, 90.0], BOTH).score == pytest.approx(100 * np.sqrt(0.5))
    heavy = [QUALITY._replace(weight=3.0), AZ_SPAN]
    assert score([0.35, 90.0], heavy).score == pytest.approx(100 * 0.5 ** 0.75)
    assert score([0.6, 90.0], BOTH).score == pytest.approx(100.0)


def test_one_property_without_worth_condemns_the_whole():
    one = score([0.05, 360.0], BOTH)
    assert one.score == 0.0 and one.verdict == UNSUITABLE and one.limiting == 0


def of(quality_wish, span_wish):
    """Make values that have given desirabilities."""
    return [0.1 + 0.5 * quality_wish, 15.0 + 75.0 * span_wish]


@pytest.mark.parametrize("wishes, verdict", [
    ((1.0, 1.0), SUITABLE), ((0.6, 0.6), SUITABLE), ((0.599, 0.599), MARGINAL), ((0.36, 1.0), SUITABLE),
    ((0.29, 1.0), MARGINAL), ((1.0, 0.361), SUITABLE), ((1.0, 0.001), MARGINAL), ((1.0, 0.0), UNSUITABLE)])
def test_suitable_is_60_or_more_with_every_desirability_at_least_0_3(wishes, verdict):
    assert score(of(*wishes), BOTH).verdict == verdict


def test_a_desirability_below_0_3_is_never_suitable_whatever_the_score():
    one = score([0.1 + 0.5 * 0.29, 90.0, 3.0, 3.0], [*BOTH, GAP, GAP])
    assert one.score > 60 and one.verdict == MARGINAL


def test_a_broken_limit_makes_unsuitable_but_leaves_the_score():
    one = score([0.6, 90.0], BOTH, limit_broken=True)
    assert one.verdict == UNSUITABLE and one.score == pytest.approx(100.0)


def test_what_limits_is_the_greatest_loss_by_weight():
    assert score(of(0.5, 0.6), BOTH).limiting == 0
    assert score(of(0.5, 0.6), [QUALITY, AZ_SPAN._replace(weight=3.0)]).limiting == 1
    assert score(of(1.0, 1.0), BOTH).limiting == -1


def test_rank_is_by_score_then_fewest_zeros_then_the_other_desirabilities():
    scores = [score(of(*wishes), BOTH) for wishes in (
        (0.0, 0.0), (0.5, 0.5), (0.0, 0.2), (0.9, 0.9), (0.7, 0.0))]
    assert rank_order([*scores, None], BOTH) == [3, 1, 4, 2, 0, 5]


def test_equal_candidates_keep_their_order():
    same = score(of(0.5, 0.5), BOTH)
    assert rank_order([same, same, same], BOTH) == [0, 1, 2]


def test_a_broken_limit_ranks_behind_every_other_that_was_assessed():
    scores = [score(of(0.9, 0.9), BOTH, True), score(of(0.0, 0.0), BOTH), None, score(of(0.2, 0.2), BOTH)]
    assert rank_order(scores, BOTH, [True, False, False, False]) == [3, 1, 0, 2]
