"""Values through the days, against a count in plain Python and against numpy's percentiles."""
import numpy as np
import pytest
from stillwater.siting.precision.values import errors_by_time, kept_error, spread_unseen

DAY_S = 86_400.0


def by_hand(middle, information, days, cadence_h, unseen):
    found = []
    for tick in range(days * 144):  # every ten minutes
        inside = [i for m, i in zip(middle, information) if abs(m - 600.0 * tick) <= 1800.0 * cadence_h + 1e-6]
        found.append((sum(inside) + unseen**-2.0)**-0.5)
    return found


@pytest.mark.parametrize("days", [1, 3])
@pytest.mark.parametrize("cadence_h", [0.5, 3.0, 24.0])
def test_each_value_is_made_of_the_arcs_within_half_a_cadence(days, cadence_h):
    rng = np.random.default_rng(int(10 * cadence_h + days))
    middle = rng.uniform(-6 * 3600.0, days * DAY_S + 6 * 3600.0, 60 * days)
    information = rng.uniform(0.001, 0.1, len(middle))
    found = errors_by_time(middle, information, days, cadence_h, 30.0)
    assert found == pytest.approx(by_hand(middle, information, days, cadence_h, 30.0), rel=1e-9)


def test_an_arc_at_the_very_edge_is_in_on_both_sides():
    found = errors_by_time(np.array([36_000.0]), np.array([1.0]), 1, 3.0, 30.0)
    told = np.flatnonzero(found < 2.0) * 600.0
    assert (told.min(), told.max()) == (36_000.0 - 5400.0, 36_000.0 + 5400.0)
    assert found.max() == pytest.approx(30.0)


@pytest.mark.parametrize("number", [1, 7, 20, 100, 144, 1000])
def test_95_percent_of_the_times_keep_to_the_error_told(number):
    errors = np.random.default_rng(number).permutation(np.arange(1.0, number + 1.0))
    assert kept_error(errors) == np.percentile(errors, 95, method="inverted_cdf")


def test_what_nobody_has_seen_strays_as_a_sine_between_the_levels():
    """A sine's standard deviation is its amplitude over √2; small seas and soil have a least one, by convention."""
    for low, high in ((-2.0, 2.0), (0.0, 3.0), (-5.0, -1.0)):
        sine = (high - low) / 2.0 * np.sin(np.arange(3600) * 2.0 * np.pi / 3600.0)
        assert spread_unseen(low, high) == pytest.approx(100.0 * sine.std())
    assert spread_unseen(0.0, 0.0) == spread_unseen(-0.4, 0.4) == pytest.approx(30.0)
    assert spread_unseen(-0.43, 0.43) > 30.4
    assert spread_unseen(-2.0, 2.0, is_phase=True) == 20.0
