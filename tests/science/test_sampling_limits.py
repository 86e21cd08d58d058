"""Intervals and rates at their edges, by hand from 2 h sin e/λ oscillations and two samples for each."""
import numpy as np
import pytest
from stillwater.siting.sky.arcs import Arcs
from stillwater.siting.sky.sampling import (
    INTERVALS_S,
    greatest_height_m,
    greatest_level_rate,
    longest_interval_s,
    pattern_rate,
    recommended_s,
    tide_shift_m,
)

L1 = 299_792_458.0 / 1575.42e6


def arcs_of(*parts):
    """Make arcs of lists of (sin e, d sin e/dt)."""
    start = np.cumsum([0, *(len(one) for one in parts)])
    sine, rate = np.array([vertex for one in parts for vertex in one]).T
    return Arcs(np.arange(len(parts)), start, 30.0 * np.arange(len(sine)), sine, np.zeros(len(sine)), rate)


def test_each_arc_has_the_interval_of_its_fastest_vertex():
    arcs = arcs_of([(0.1, 1e-4), (0.2, 2e-4), (0.3, 1e-4)], [(0.3, -5e-5), (0.2, -4e-5)])
    assert longest_interval_s(arcs, 10.0, L1) == pytest.approx([L1 / (4 * 10 * 2e-4), L1 / (4 * 10 * 5e-5)])
    # with a level that rises or sinks by 1 mm/s: 10 m × 2e-4 + 0.2 × 1e-3, against 10 m × 5e-5 + 0.3 × 1e-3
    for level_rate in (1e-3, -1e-3):
        assert longest_interval_s(arcs, 10.0, L1, level_rate) == pytest.approx([L1 / (4 * 2.2e-3), L1 / (4 * 8e-4)])
        assert pattern_rate(arcs.rate, arcs.sine, 10.0, level_rate)[1] == pytest.approx(2.2e-3)


def test_the_greatest_height_is_that_of_the_arc_that_allows_least():
    arcs = arcs_of([(0.1, 1e-4), (0.2, 2e-4)], [(0.5, -5e-5), (0.4, -4e-5)])
    # λ/(4 · 10 s) = 4.757 mm/s, over the fastest rate 2e-4 /s
    assert greatest_height_m(arcs, 10.0, L1) == pytest.approx(L1 / 40.0 / 2e-4)
    # the level takes 5 mm/s × sin e: of the first 1 mm/s at 2e-4 /s, of the second 2.5 mm/s at 5e-5 /s
    assert greatest_height_m(arcs, 10.0, L1, 5e-3) == pytest.approx((L1 / 40.0 - 1e-3) / 2e-4)
    assert greatest_height_m(arcs, 10.0, L1, -5e-3) == greatest_height_m(arcs, 10.0, L1, 5e-3)
    # a level so fast that no height is resolved at all
    assert greatest_height_m(arcs, 10.0, L1, 0.1) == 0.0


def test_an_arc_that_stands_still_resolves_any_height():
    assert greatest_height_m(arcs_of([(0.3, 0.0)], [(0.2, 1e-4)]), 10.0, L1) == pytest.approx(L1 / 40.0 / 1e-4)


@pytest.mark.parametrize("low, high", [(-1.0, 1.0), (0.0, 2.0), (-3.0, -2.5)])
def test_a_tide_moves_fastest_at_its_middle(low, high):
    """A sine of 12 h 25 min between two levels: its greatest slope is 2π/T times half the range."""
    assert greatest_level_rate(low, high) == pytest.approx(2.0 * np.pi / (12 * 3600 + 25 * 60) * (high - low) / 2.0)


def test_receivers_log_at_the_usual_intervals():
    """20 Hz to a minute; 1, 5, 10, 15, 30 and 60 s are those of archives of RINEX files (from memory)."""
    assert tuple(sorted(INTERVALS_S)) == INTERVALS_S and {1, 5, 10, 15, 30, 60} <= set(INTERVALS_S)
    assert INTERVALS_S[0] == 1 / 20 and {1 / 10, 1 / 5, 1 / 2, 2} <= set(INTERVALS_S) and len(INTERVALS_S) == 11
    for one, shorter in zip(INTERVALS_S[1:], INTERVALS_S):
        assert recommended_s(1.5 * one) == one and recommended_s(1.5 * one * (1 - 1e-6)) == shorter
    assert recommended_s(0.0) is None and recommended_s(1e9) == 60.0


def test_the_shift_is_that_of_the_worst_arc_either_way():
    mean, width, lasts = np.array([0.2, 0.3, 0.25]), np.array([0.1, 0.2, 0.05]), np.array([1000.0, 4000.0, 800.0])
    # 1 mm/s × mean × duration/width: 2, 6 and 4 m
    found = tide_shift_m(mean, width, lasts, np.array([True, False, True]), -1e-3)
    assert found == pytest.approx((4.0, 6.0))
    assert tide_shift_m(mean, width, lasts, np.array([False] * 3), 1e-3) == pytest.approx((0.0, 6.0))
    assert tide_shift_m(mean, width, lasts, np.array([True] * 3), 0.0) == (0.0, 0.0)
    nothing = np.zeros(0)
    assert tide_shift_m(nothing, nothing, nothing, nothing.astype(bool), 1e-3) == (0.0, 0.0)
    # of no change at all the shift is vast, but a number
    assert np.isfinite(tide_shift_m(np.array([0.2]), np.zeros(1), np.array([9.0]), np.array([True]), 1e-3).rising)
