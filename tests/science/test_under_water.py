"""Whether an antenna is under water is decided once: by a ranking, by trust in it and by what-if alike."""
from dataclasses import replace

import numpy as np
import pytest
from stillwater.siting.ranking.draws import Doubt, drawn
from stillwater.siting.ranking.whatif import Change

HIGH_M = 1.5


class Fixed:
    """Random numbers that are told: the antenna's error in standard deviations, and no other."""

    def __init__(self, height):
        self.height = height

    def normal(self, _mean, _spread, number):
        return np.array([self.height] + [0.0] * (number - 1))


@pytest.mark.parametrize("over_m, is_drowned", [
    (-0.1, True), (0.0, True), (0.0003, True), (0.0006, False), (0.005, False), (0.02, False),
])
def test_ranking_trust_and_what_if_agree(over_m, is_drowned, candidate):
    """Heights count to the millimetre, so half of one parts the drowned from the others."""
    resolved = candidate(HIGH_M + over_m, low_m=-1.0, high_m=HIGH_M)
    tall = candidate(6.0, low_m=-1.0, high_m=HIGH_M)
    lower = HIGH_M + over_m - 6.0
    by_trust = drawn(tall, Doubt(height_m=1.0), Fixed(lower))
    by_change = Change("lower", lower).of(tall)
    for one in (resolved, by_trust, by_change, tall.at(HIGH_M + over_m, -1.0, HIGH_M)):
        assert one.drowned == is_drowned
        assert ("surface" in one.problem) == is_drowned
    if not is_drowned:
        for one in (by_trust, by_change):
            assert np.allclose(one.levels_m, resolved.levels_m) and np.array_equal(one.heights_m, resolved.heights_m)
    assert not tall.drowned and tall.problem == ""


@pytest.mark.parametrize("depth, said", [(0.5, "0.50 m under the surface"), (0.0, "at the surface")])
def test_how_deep_is_said(depth, said, candidate):
    one = candidate(HIGH_M - depth, low_m=0.0, high_m=HIGH_M)
    assert said in one.problem and "(+1.50 m)" in one.problem


def test_what_cannot_be_is_a_problem_and_no_error(candidate):
    one = candidate(6.0, low_m=-1.0, high_m=HIGH_M)
    assert "exchange them" in one.at(6.0, 2.0, 1.0).problem
    assert "must be above 0" in one.at(-0.5, -3.0, -2.0).problem
    assert "too far apart" in one.at(6.0, -100.0, 1.0).problem
    assert "not a number" in one.at(6.0, np.nan, 1.0).problem
    assert not any(one.at(*values).drowned for values in ((6.0, 2.0, 1.0), (-0.5, -3.0, -2.0)))


def test_all_levels_lower_stays_one_level_where_there_was_one(candidate):
    one = candidate(6.0, low_m=0.75, high_m=0.75)
    changed = Change("lower", low_m=-0.25, high_m=-0.25).of(one)
    assert (changed.low_m, changed.high_m) == (0.5, 0.5) and changed.levels_m.tolist() == [0.5]


def test_less_snow_never_lies_below_bare_ground(candidate):
    one = replace(candidate(3.0, low_m=0.0, high_m=0.1))
    assert Change("less", high_m=-0.25).of(one).levels_m.tolist() == [0.0]
