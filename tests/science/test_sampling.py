"""Intervals against the sampling theorem done by hand and facts of the trade."""
import numpy as np
import pytest
from stillwater.siting.signals import wavelength_m
from stillwater.siting.sky.arcs import Arcs, arcs_over
from stillwater.siting.sky.clock import read_date
from stillwater.siting.sky.nominal import NominalOrbits
from stillwater.siting.sky.sampling import (
    greatest_height_m,
    greatest_level_rate,
    longest_interval_s,
    recommended_s,
    tide_shift_m,
)
from stillwater.siting.sky.sky import Sky

L1 = wavelength_m("GPS L1")


@pytest.fixture(scope="module")
def gps_at_40_north():
    return arcs_over(Sky(NominalOrbits(["GPS"]), read_date("2026-06-01"), 1, 5.0, 25.0), 0.0, 40.0)


def test_at_40_north_thirty_seconds_resolve_ten_to_fourteen_metres(gps_at_40_north):
    """Common practice, no source: 30 s will do below 10 m, 15 s is better."""
    at_30, at_15 = (greatest_height_m(gps_at_40_north, interval, L1) for interval in (30.0, 15.0))
    assert 10.0 <= at_30 <= 14.0
    assert at_15 == pytest.approx(2 * at_30)


def test_the_fastest_rate_of_gps_at_40_north(gps_at_40_north):
    """1.21e-4 /s between 5 and 25° was worked out apart from this code, in a simulation of its own."""
    assert np.abs(gps_at_40_north.rate).max() == pytest.approx(1.21e-4, rel=0.01)


def test_interval_and_height_are_each_other_s_inverse(gps_at_40_north):
    height = greatest_height_m(gps_at_40_north, 10.0, L1, 1e-4)
    assert longest_interval_s(gps_at_40_north, height, L1, 1e-4).min() == pytest.approx(10.0, rel=1e-6)


def test_two_samples_an_oscillation_are_what_the_interval_leaves(gps_at_40_north):
    """Counted: with the interval found, the phase 4π h sin e/λ turns by at most half an oscillation, π, a sample."""
    height = 20.0
    interval = longest_interval_s(gps_at_40_north, height, L1)
    phase = 4 * np.pi * height * gps_at_40_north.sine.astype(float) / L1
    for i in range(0, len(interval), 7):
        part = slice(gps_at_40_north.start[i], gps_at_40_north.start[i + 1])
        turned = np.abs(np.diff(phase[part]) / np.diff(gps_at_40_north.time_s[part])) * interval[i]
        assert turned.max() <= np.pi * 1.01
        assert turned.max() >= np.pi * 0.97


def arc(sine, rate, duration=600.0):
    number = len(sine)
    return Arcs(np.array([0]), np.array([0, number]), np.linspace(0, duration, number),
                np.array(sine), np.zeros(number), np.full(number, rate))


def test_a_moving_surface_shortens_the_interval():
    """λ/(4 |h ds/dt + ḣ sin e|) by hand: 10 m, 1e-4 /s, 1 m an hour, sin e = 0.5:
    0.19029 / (4 × (1e-3 + 1.389e-4)) = 41.77 s."""
    one = arc([0.4, 0.5], 1e-4)
    assert longest_interval_s(one, 10.0, L1)[0] == pytest.approx(47.57, abs=0.01)
    assert longest_interval_s(one, 10.0, L1, 1 / 3600)[0] == pytest.approx(41.77, abs=0.01)
    # whichever way it moves, and whether the satellite climbs or sinks
    assert longest_interval_s(arc([0.5, 0.4], -1e-4), 10.0, L1, -1 / 3600)[0] == pytest.approx(41.77, abs=0.01)


def test_a_semidiurnal_tide_moves_fastest_at_mid_tide():
    """A cosine between −1 and +1 m with the principal lunar period, 12.42 h: its slope by finite differences."""
    period = 12.42 * 3600
    time = np.linspace(0, period, 100_001)
    level = np.cos(2 * np.pi * time / period)
    assert greatest_level_rate(-1.0, 1.0) == pytest.approx(np.abs(np.gradient(level, time)).max(), rel=1e-3)


@pytest.mark.parametrize("longest, recommended", [(45.0, 30.0), (44.9, 15.0), (1.5, 1.0), (1.49, 0.5), (0.075, 0.05),
                                                  (0.07, None), (1000.0, 60.0)])
def test_the_recommended_interval_leaves_a_margin_of_one_and_a_half(longest, recommended):
    assert recommended_s(longest) == recommended


def test_a_moving_surface_shifts_rising_and_setting_arcs():
    """h + ḣ tan e/ė: 1 m an hour at 10° is 0.40 m where d(sin e)/dt is 1.21e-4 /s and 1.6 m where it is 3e-5 /s."""
    sine = np.sin(np.radians(10.0))
    for rate, shift in ((1.21e-4, 0.40), (3e-5, 1.6)):
        found = tide_shift_m(np.array([sine, sine]), np.array([rate * 600, rate * 600]), np.array([600.0, 600.0]),
                             np.array([True, False]), 1 / 3600)
        assert found.rising == pytest.approx(shift, rel=0.01)
        assert found.setting == found.rising
    none = tide_shift_m(np.array([sine]), np.array([0.1]), np.array([600.0]), np.array([True]), 1 / 3600)
    assert none.setting == 0.0


def test_the_shift_is_what_a_fit_of_the_pattern_finds():
    """Simulated: a tone in sin e over a surface that sinks, fitted for one height by least squares of its phase."""
    rate, level_rate, height = 1e-4, 1 / 3600, 8.0
    time = np.linspace(-600.0, 600.0, 241)
    sine = 0.2 + rate * time
    phase = 4 * np.pi / L1 * (height + level_rate * time) * sine
    slope = np.polyfit(sine, phase, 1)[0] * L1 / (4 * np.pi)
    found = tide_shift_m(np.array([0.2]), np.array([np.ptp(sine)]), np.array([1200.0]), np.array([True]), level_rate)
    assert slope - height == pytest.approx(found.rising, rel=0.01)
    # the setting arc errs to the other side
    phase = 4 * np.pi / L1 * (height + level_rate * time) * sine[::-1]
    slope = np.polyfit(sine[::-1], phase, 1)[0] * L1 / (4 * np.pi)
    assert slope - height == pytest.approx(-found.rising, rel=0.01)


def test_no_arcs_resolve_nothing():
    empty = Arcs(np.zeros(0, int), np.zeros(1, int), *(np.zeros(0) for _ in range(4)))
    assert np.isnan(greatest_height_m(empty, 30.0, L1))
    assert len(longest_interval_s(empty, 5.0, L1)) == 0
