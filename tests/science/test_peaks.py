"""Peaks of periodograms at and between their frequencies, and the leakage table at its ends."""
import numpy as np
import pytest
from stillwater.siting.precision.leakage import (
    FIRST_CYCLES,
    LAST_CYCLES,
    STEP_CYCLES,
    leakage,
    table,
)
from stillwater.siting.precision.periodogram import detrended, peak_cycles, peak_of, power

CYCLES = np.arange(10.0, 20.0, 0.5)


@pytest.mark.parametrize("top", [12.1, 14.9, 15.24, 15.26, 17.0])
def test_the_vertex_of_a_parabola_is_found_exactly(top):
    powers = 100.0 - (CYCLES - top)**2
    found = peak_of(CYCLES, powers)
    assert found.cycles == pytest.approx(top) and found.power == powers.max()
    assert found.over_background == pytest.approx(powers.max() / powers.mean())


def test_at_either_end_the_greatest_power_stays_where_it_is():
    for powers, end in ((CYCLES, CYCLES[-1]), (-CYCLES + 30.0, CYCLES[0])):
        assert peak_of(CYCLES, powers).cycles == end


def test_next_to_an_end_a_peak_is_still_one():
    for top in (CYCLES[1] + 0.1, CYCLES[-2] - 0.1):
        assert peak_of(CYCLES, 9.0 - (CYCLES - top)**2).cycles == pytest.approx(top)


def test_many_series_have_each_their_own_peak():
    tops = np.array([[11.2, 13.3], [16.6, 18.1]])
    found = peak_of(CYCLES, 100.0 - (CYCLES - tops[..., None])**2)
    assert found.cycles == pytest.approx(tops) and found.power.shape == found.over_background.shape == (2, 2)


def test_flat_power_has_no_vertex():
    found = peak_of(CYCLES, np.full(len(CYCLES), 3.0))
    assert found.cycles in CYCLES and found.over_background == 1.0
    assert peak_of(CYCLES, np.zeros(len(CYCLES))).over_background == 0.0


def test_the_vertex_lies_within_half_a_step_of_the_greatest_power():
    powers = np.zeros(len(CYCLES))
    powers[7], powers[8] = 5.0, 5.0 - 1e-9
    assert peak_of(CYCLES, powers).cycles == pytest.approx(CYCLES[7] + 0.25, abs=1e-6)


def test_power_is_what_numpys_least_squares_takes_off():
    rng = np.random.default_rng(8)
    x, y = rng.uniform(0.1, 0.4, 60), rng.normal(size=(2, 60))
    found = power(x, y, CYCLES)
    for column, cycles in enumerate(CYCLES):
        basis = np.stack([np.cos(2 * np.pi * cycles * x), np.sin(2 * np.pi * cycles * x)], axis=-1)
        for row in range(2):
            left = np.linalg.lstsq(basis, y[row], rcond=None)[1][0]
            assert found[row, column] == pytest.approx(np.sum(y[row]**2) - left)


@pytest.mark.parametrize("order", [0, 1, 2, 3])
def test_polynomials_up_to_the_order_go_and_the_next_stays(order):
    x = np.random.default_rng(order).uniform(0.1, 0.4, 50)
    for degree in range(5):
        left = np.abs(detrended(x, x**degree, order)).max()
        assert (left < 1e-10) == (degree <= order)
    y = np.sin(40.0 * x)
    assert detrended(x, y, order) == pytest.approx(y - np.polyval(np.polyfit(x, y, order), x), abs=1e-9)


def test_series_without_any_span_lose_their_mean():
    assert np.abs(detrended(np.full(6, 0.3), np.full(6, 7.0))).max() < 1e-9


def test_by_default_a_parabola_goes_before_the_peak_is_looked_for():
    x = np.linspace(0.0, 1.0, 300)
    wave = np.cos(2 * np.pi * 14.2 * x)
    assert peak_cycles(x, wave + 5000.0 * x**2, CYCLES).cycles == pytest.approx(14.2, abs=0.05)
    assert abs(peak_cycles(x, wave + 5000.0 * x**2, CYCLES, 0).cycles - 14.2) > 1.0


def test_the_table_runs_from_one_oscillation_to_twelve():
    known = table()
    assert known.cycles[0] == pytest.approx(1.0) and known.cycles[-1] == pytest.approx(12.0)
    assert (FIRST_CYCLES, LAST_CYCLES) == (1.0, 12.0) and np.diff(known.cycles) == pytest.approx(STEP_CYCLES)
    assert known.turns.shape == known.phase_rad.shape == (len(known.cycles), len(known.middle))
    assert (known.turns > 0).all() and (known.phase_rad > 0).all()
    # a fall by exp(-f x) has its middle at 1/f - 1/(e^f - 1) (integrated by hand); the steepest is e^-6
    fall = np.array([6.0, 4.0, 3.0, 2.0, 1.0])
    assert known.middle[:5] == pytest.approx(1.0 / fall - 1.0 / np.expm1(fall), abs=1e-3) and known.middle[5] == 0.5
    # what rises leaks as what falls: the table is its own mirror image
    assert known.middle == pytest.approx(1.0 - known.middle[::-1])
    assert known.turns == pytest.approx(known.turns[:, ::-1]) and known.phase_rad == pytest.approx(
        known.phase_rad[:, ::-1])


@pytest.mark.parametrize("of", ["turns", "phase_rad"])
def test_looked_up_at_its_entries_the_table_is_told_and_between_them_straight_lines(of):
    known, rng = table(), np.random.default_rng(12)
    values = getattr(known, of)
    rows, columns = rng.integers(0, len(known.cycles), 40), rng.integers(0, len(known.middle), 40)
    rows[:4], columns[:4] = [0, -1, 0, -1], [0, 0, -1, -1]
    assert leakage(known.cycles[rows], known.middle[columns], of) == pytest.approx(values[rows, columns])
    # numpy's own interpolation, first along the shapes, then along the oscillations
    cycles, middle = rng.uniform(1.0, 12.0, 40), rng.uniform(known.middle[0], known.middle[-1], 40)
    told = [np.interp(c, known.cycles, [np.interp(m, known.middle, row) for row in values])
            for c, m in zip(cycles, middle)]
    assert leakage(cycles, middle, of) == pytest.approx(told)


def test_beyond_the_table_leakage_falls_with_the_square_and_below_it_stays():
    for middle in (0.2, 0.5, 0.7):
        last = leakage(12.0, middle)
        assert leakage(24.0, middle) == pytest.approx(last / 4.0) and leakage(36.0, middle) == pytest.approx(last / 9.0)
        assert leakage(0.3, middle) == pytest.approx(leakage(1.0, middle))
    known = table()
    assert leakage(5.0, 0.0) == pytest.approx(leakage(5.0, known.middle[0]))
    assert leakage(5.0, 1.0) == pytest.approx(leakage(5.0, known.middle[-1]))
    assert leakage(np.array([3.0, 4.0]), 0.5).shape == (2,)
