"""Angles, bins, windows of good angles and their quality, on cases worked out by hand."""

import numpy as np
import pytest
from scipy.integrate import trapezoid
from stillwater.siting.errors import InputError
from stillwater.siting.signals import wavelength_m
from stillwater.siting.windows import bin_count, elevation_angles, longest_windows, oscillations, separation_m

L1 = wavelength_m("GPS L1")
ROUNDING = 1e-12
SINE = {angle: np.sin(np.radians(angle)) for angle in range(5, 26)}


def one_bin(shares, angles, least=0.95):
    share = np.array(shares, float)[:, None]
    return longest_windows(share, share >= least, np.array(angles, float))


@pytest.mark.parametrize("limits, angles", [
    ((5, 8, 1), [5, 6, 7, 8]), ((5, 8, 2), [5, 7, 8]), ((5, 6, 10), [5, 6]), ((0.5, 1, 0.25), [0.5, 0.75, 1]),
    ((5, 5.3, 0.1), [5, 5.1, 5.2, 5.3]), ((89, 90, 1), [89, 90])])
def test_the_highest_angle_is_always_looked_at_and_none_twice(limits, angles):
    assert elevation_angles(*limits) == pytest.approx(angles)


@pytest.mark.parametrize("limits, said", [
    ((5, 20, 0), "ELEVATION_STEP is 0; it must be greater than 0"), ((5, 20, -1), "greater than 0"),
    ((0, 20, 1), "MIN_ELEVATION is 0°; it must be above 0°"), ((-5, 20, 1), "above 0°"),
    ((20, 5, 1), r"MIN_ELEVATION \(20°\) must be less than MAX_ELEVATION \(5°\)"), ((5, 5, 1), "must be less"),
    ((5, 91, 1), "at most 90°"), ((5, 20, 0.001), "over 2000 angles"),
    ((np.nan, 20, 1), "must be numbers"), ((5, np.inf, 1), "must be numbers")])
def test_angles_that_make_no_range_are_refused(limits, said):
    with pytest.raises(InputError, match=said):
        elevation_angles(*limits)


@pytest.mark.parametrize("step, count", [(5, 72), (0.1, 3600), (180, 2), (7.5, 48), (1 / 3, 1080)])
def test_bins_fill_the_circle(step, count):
    assert bin_count(step) == count


@pytest.mark.parametrize("step", [0, -5, 7, 360, 200, 0.01, np.nan, np.inf])
def test_bins_that_do_not_fill_the_circle_are_refused(step):
    with pytest.raises(InputError, match="AZIMUTH_STEP"):
        bin_count(step)


def test_the_window_is_the_longest_run_and_its_quality_the_formula():
    #       5     6     7     8     9     10    11
    w = one_bin([1.0, 0.5, 0.95, 0.96, 1.00, 0.98, 0.2], range(5, 12))
    assert (w.first[0], w.last[0]) == (2, 5)
    width = SINE[10] - SINE[7]
    mean = ((0.95 + 0.96) / 2 * (SINE[8] - SINE[7]) + (0.96 + 1.00) / 2 * (SINE[9] - SINE[8])
            + (1.00 + 0.98) / 2 * (SINE[10] - SINE[9])) / width
    assert w.width[0] == pytest.approx(width, abs=ROUNDING)
    assert w.share[0] == pytest.approx(mean, abs=ROUNDING)
    assert w.quality[0] == pytest.approx(width / (SINE[11] - SINE[5]) * mean, abs=ROUNDING)


def test_runs_are_measured_in_the_sine_of_the_angle():
    # 5 to 7 and 18 to 20 are both 2°, but the sine grows faster low down
    angles = [5, 6, 7, 8, 18, 19, 20]
    w = one_bin([1, 1, 1, 0, 1, 1, 1], angles)
    assert SINE[7] - SINE[5] > SINE[20] - SINE[18]
    assert (w.first[0], w.last[0]) == (0, 2)
    # 5 to 6 (0.01737) against 18 to 20 (0.03301)
    w = one_bin([1, 1, 0, 0, 1, 1, 1], angles)
    assert (w.first[0], w.last[0]) == (4, 6)


def test_of_two_runs_as_long_the_lower_is_taken():
    # angles whose sines rise evenly, so that the runs tie
    angles = np.degrees(np.arcsin(np.linspace(0.1, 0.4, 7)))
    w = one_bin([1, 1, 0, 1, 1, 0, 0], angles)
    assert (w.first[0], w.last[0]) == (0, 1)
    w = one_bin([0, 1, 1, 0, 0, 1, 1], angles)
    assert (w.first[0], w.last[0]) == (1, 2)


def test_a_single_angle_is_no_run_and_neither_is_none():
    for shares in ([1, 0, 1, 0, 1], [0, 0, 0, 0, 0]):
        w = one_bin(shares, range(5, 10))
        assert (w.first[0], w.last[0], w.width[0], w.share[0], w.quality[0]) == (-1, -1, 0, 0, 0)


def test_all_angles_wholly_good_are_quality_1():
    w = one_bin([1] * 16, range(5, 21))
    assert (w.first[0], w.last[0]) == (0, 15)
    assert w.quality[0] == pytest.approx(1.0, abs=ROUNDING)


def test_bins_are_independent():
    good = np.array([[1, 0, 1], [1, 1, 0], [0, 1, 0], [0, 0, 1]], float)
    w = longest_windows(good, good > 0.5, np.array([5.0, 6.0, 7.0, 8.0]))
    assert w.first.tolist() == [0, 1, -1] and w.last.tolist() == [1, 2, -1]


@pytest.mark.parametrize("seed", range(30))
def test_the_window_agrees_with_a_search_through_all_runs(seed):
    rng = np.random.default_rng(seed)
    angles = np.sort(rng.uniform(1, 60, 12))
    share = rng.random((12, 20))
    good = share > rng.uniform(0.1, 0.7)
    w = longest_windows(share, good, angles)
    sine = np.sin(np.radians(angles))
    for i in range(20):
        runs = [(sine[b] - sine[a], -a, a, b) for a in range(12) for b in range(a + 1, 12) if good[a:b + 1, i].all()]
        if not runs:
            assert w.first[i] == -1
            continue
        width, _minus, a, b = max(runs)
        assert (w.first[i], w.last[i]) == (a, b)
        assert w.share[i] == pytest.approx(trapezoid(share[a:b + 1, i], sine[a:b + 1]) / width)


def test_oscillations_and_separation_of_windows():
    # 0.28 m for 5 to 25°, 0.55 m for 5 to 15°, 2.7 m for 5 to 7° at L1 (derived here: λ/(2W))
    for last, metres, digits in ((25, 0.28, 2), (15, 0.55, 2), (7, 2.7, 1)):
        assert round(float(separation_m(SINE[last] - SINE[5], L1)), digits) == metres
    # a height apart by one separation is one oscillation more over the window
    width = SINE[15] - SINE[5]
    step = float(separation_m(width, L1))
    assert oscillations(5.0 + step, width, L1) - oscillations(5.0, width, L1) == pytest.approx(1.0)
    assert separation_m(0.0, L1) == np.inf and oscillations(5.0, 0.0, L1) == 0
