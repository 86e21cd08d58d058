"""Desirabilities and their geometric mean: Derringer & Suich 1980 (from memory), figures by hand."""

import numpy as np
import pytest
from stillwater.siting.verdict.score import AZ_SPAN, QUALITY, Criterion, rank_order, score

BOTH = [QUALITY, AZ_SPAN]


def test_desirabilities_rise_linearly_between_their_limits():
    assert QUALITY.desirability([0.0, 0.1, 0.35, 0.6, 1.0]) == pytest.approx([0, 0, 0.5, 1, 1])
    assert AZ_SPAN.desirability([15, 52.5, 90, 360]) == pytest.approx([0, 0.5, 1, 1])
    falling = Criterion("gap_h", "gap", " h", 12.0, 3.0)
    assert falling.desirability([12, 7.5, 3, np.nan]) == pytest.approx([0, 0.5, 1, 0])


def test_the_score_is_the_weighted_geometric_mean():
    one = score([0.35, 90.0], BOTH)
    assert one.score == pytest.approx(100 * np.sqrt(0.5))
    heavy = score([0.35, 90.0], [QUALITY._replace(weight=3.0), AZ_SPAN])
    assert heavy.score == pytest.approx(100 * 0.5 ** 0.75)
    assert one.limiting == 0


@pytest.mark.parametrize("values, verdict", [
    ((0.6, 90.0), "suitable"), ((0.28, 90.0), "suitable"), ((0.27, 90.0), "marginal"), ((0.1, 90.0), "unsuitable"),
    ((0.6, 15.0), "unsuitable"), ((0.6, 37.0), "marginal"), ((0.6, 43.0), "suitable")])
def test_verdicts_follow_score_and_least_desirability(values, verdict):
    assert score(values, BOTH).verdict == verdict


def test_a_high_score_with_one_poor_property_is_marginal():
    one = score([0.6, 15 + 0.29 * 75], [QUALITY._replace(weight=9.0), AZ_SPAN])
    assert one.score > 60 and one.verdict == "marginal"


def test_a_broken_limit_makes_unsuitable_whatever_the_score():
    one = score([0.6, 90.0], BOTH, limit_broken=True)
    assert one.score == pytest.approx(100) and one.verdict == "unsuitable"


def test_scores_of_zero_are_ordered_by_fewest_zeros_then_by_the_rest():
    rows = [score(v, BOTH) for v in ((0.0, 0.0), (0.3, 0.0), (0.5, 0.0), (0.2, 20.0))]
    assert rank_order([*rows, None], BOTH) == [3, 2, 1, 0, 4]


def test_nothing_limits_where_all_is_desirable():
    assert score([0.7, 120.0], BOTH).limiting == -1
