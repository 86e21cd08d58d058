"""What a trial comes to, on errors that a person can check by hand."""

import numpy as np
import pytest
from stillwater.siting.trial.outcome import outcome, simulated_precision
from stillwater.siting.trial.simulate import Trial


def trial(error_m, peak=10.0, finds=None, names=("the water", "the quay")):
    error = np.asarray(error_m, float)
    number = len(error)
    return Trial(np.arange(number), np.zeros(number), np.full(number, 2400.0), np.zeros(number),
                 np.full(number, 5.0), np.full(number, 20.0), np.full(number, 8.0), 8.0 + error,
                 np.broadcast_to(np.asarray(peak, float), number).copy(),
                 np.zeros(number, int) if finds is None else np.asarray(finds), np.zeros(number, bool), names)


def test_shares_bias_and_scatter():
    told = outcome(trial([0.0, 0.02, 0.04, 0.06, -2.5], finds=[0, 0, 0, 0, 1]))
    assert told.arcs == 5 and told.good_part == pytest.approx(0.8) and told.bias_cm == pytest.approx(2.0)
    assert told.scatter_cm == pytest.approx(1.4826 * 2.0 * 1.0, rel=0.5)
    assert told.other_part == pytest.approx(0.2) and told.finds == "the water"
    assert told.rms_cm == pytest.approx(100 * np.sqrt((0.02**2 + 0.04**2 + 0.06**2 + 2.5**2) / 5))


def test_arcs_without_a_height_count_as_bad():
    told = outcome(trial([0.01, np.nan, np.nan, 0.02], finds=[0, -1, -1, 0]))
    assert told.good_part == 0.5 and told.none_part == 0.5
    nothing = outcome(trial([np.nan], finds=[-1]))
    assert nothing.good_part == 0 and nothing.finds == "nothing" and np.isnan(nothing.bias_cm)


def test_unclear_peaks_are_left_out_when_asked():
    one = trial([0.0, 3.0, 0.1], peak=[9.0, 3.0, np.nan])
    np.testing.assert_allclose(one.clear().error_m, [0.0], atol=1e-12)
    assert one.clear(2.0).arc.tolist() == [0, 1] and one.clear().names == one.names


def test_values_of_many_arcs_err_by_the_root_of_their_number():
    rng = np.random.default_rng(1)
    error = rng.normal(0.0, 0.05, 400)
    middle = np.arange(450.0, 86_400.0, 900.0)  # four an hour
    told = simulated_precision(trial(error), middle, 1, 4.0)
    # at the day's ends half as many: 8; 5 % of the times have no more than 9 or so
    assert 5.0 / np.sqrt(16) * 0.9 < told < 5.0 / np.sqrt(8) * 1.1


def test_a_constant_error_is_levelled_away_but_another_surface_is_not():
    middle = np.arange(450.0, 86_400.0, 900.0)
    steady = trial(np.full(50, 0.03))
    assert simulated_precision(steady, middle, 1, 4.0) < 0.1
    assert simulated_precision(steady, middle, 1, 4.0, is_levelled=False) == pytest.approx(3.0, abs=0.1)
    quay = trial(np.full(50, -2.5))
    assert simulated_precision(quay, middle, 1, 4.0) > 25.0


def test_gross_errors_are_thrown_out_of_values_as_long_as_they_are_few():
    rng = np.random.default_rng(2)
    good = rng.normal(0.0, 0.02, 70)
    middle = np.arange(450.0, 86_400.0, 450.0)
    few = simulated_precision(trial(np.concatenate([good, np.full(15, -0.7)])), middle, 1, 4.0)
    many = simulated_precision(trial(np.concatenate([good, np.full(100, -0.7)])), middle, 1, 4.0)
    assert few < 2.0 and many > 10.0
    # 3 m is more than the surface can do: thrown out however many there are
    assert simulated_precision(trial(np.concatenate([good, np.full(100, -3.0)])), middle, 1, 4.0) < 2.0


def test_without_arcs_only_the_surfaces_own_spread_is_known():
    """0.3 m at least, (HIGH - LOW)/(2√2) for a tide (contract, rule 8)."""
    assert simulated_precision(trial([0.0]), np.zeros(0), 1, 3.0) == pytest.approx(30.0)
    assert simulated_precision(trial([np.nan]), np.arange(0, 86_400.0, 900.0), 1, 3.0, (-2.0, 2.0)) == pytest.approx(
        400.0 / (2 * np.sqrt(2)))
    # arcs in the morning only: 95 % of the times know nothing
    assert simulated_precision(trial([0.0, 0.01]), np.arange(0, 7200.0, 600.0), 1, 3.0) == pytest.approx(30.0)
