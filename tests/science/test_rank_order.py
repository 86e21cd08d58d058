"""The order of rank, and its edges: rounding, infinite errors, nobody; beside scipy's own ranks."""
from itertools import product

import numpy as np
import pytest
from scipy import stats
from stillwater.siting.ranking.order import rank_key, shared_ranks


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


def test_among_equal_scores_ranks_are_scipys_of_the_errors():
    error = np.random.default_rng(2).choice([1.0, 2.0, 2.5, 7.0, np.inf], 80)
    ranks = shared_ranks(np.full(80, 12.0), error, np.zeros(80))
    assert ranks.rank.tolist() == stats.rankdata(error, "min").tolist()
    assert ranks.last.tolist() == stats.rankdata(error, "max").tolist()


def test_among_different_scores_ranks_are_scipys_of_the_scores():
    score = np.random.default_rng(3).choice([0.0, 3.0, 30.0, 99.0], 80)
    ranks = shared_ranks(score, np.ones(80), np.zeros(80))
    assert ranks.rank.tolist() == stats.rankdata(-score, "min").tolist()
    assert (ranks.tied == [np.sum(score == one) for one in score]).all()


@pytest.mark.parametrize("apart, are_same", [(0.0, True), (5e-7, True), (2e-6, False), (0.1, False)])
def test_a_millionth_parts_neither_scores_nor_errors(apart, are_same):
    for score, error in (([50.0, 50.0 + apart], [1.0, 1.0]), ([50.0, 50.0], [1.0 + apart, 1.0])):
        ranks = shared_ranks(score, error, [0, 0]).rank.tolist()
        assert ranks == ([1, 1] if are_same else [2, 1])


def test_a_missing_error_comes_after_every_number_but_with_infinity():
    assert shared_ranks([9, 9, 9], [np.nan, 1e9, 2.0], [0] * 3).rank.tolist() == [3, 2, 1]
    assert shared_ranks([9, 9, 9], [np.nan, np.inf, 2.0], [0] * 3).rank.tolist() == [2, 2, 1]


def test_groups_stand_in_a_row_whatever_the_scores():
    """Kept, broken, not assessed: the best of a later group stands behind the worst of an earlier one."""
    ranks = shared_ranks([1, 99, 1, 99, np.nan, np.nan], [9, 1, 9, 1, 1, 2], [0, 0, 1, 1, 0, 1])
    assert ranks.rank.tolist() == [2, 1, 4, 3, 5, 6]
    assert shared_ranks([np.nan, 0.0], [1.0, 9.0], [False, True]).rank.tolist() == [2, 1]
    # equal scores on both sides of a group are two ranks
    assert shared_ranks([5, 5], [1, 1], [False, True]).rank.tolist() == [1, 2]


def test_the_key_orders_as_the_ranks_do():
    some = list(product((0.0, 1.0, 80.0), (0.5, 3.0, np.inf), (False, True)))
    ranks = shared_ranks(*(np.array(part) for part in zip(*some))).rank
    order = sorted(range(len(some)), key=lambda i: rank_key(*some[i]), reverse=True)
    assert (np.diff(ranks[order]) > 0).all()
    assert rank_key(80.0, 3.0, False) > rank_key(80.0, 3.1, False) > rank_key(80.0, np.inf, False) > (
        rank_key(79.0, 0.1, False)) > rank_key(99.0, 0.1, True)
    assert rank_key(50.0, 3.0, False) == rank_key(50.0 + 3e-7, 3.0 - 3e-7, False)


def test_nobody_one_alone_and_everyone_infinite():
    empty = shared_ranks([], [], [])
    assert empty.rank.tolist() == empty.last.tolist() == []
    for one in ([50.0], [np.nan]):
        alone = shared_ranks(one, [np.nan], [True])
        assert (alone.rank.tolist(), alone.last.tolist(), alone.tied.tolist()) == ([1], [1], [1])
    assert shared_ranks([0.0, 0.0], [np.inf, np.inf], [True, True]).rank.tolist() == [1, 1]
