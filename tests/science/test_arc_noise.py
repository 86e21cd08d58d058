"""Noise of a height from one arc, against closed forms and against least squares by another way."""

import numpy as np
import pytest
from stillwater.siting.precision.demand import Receiver
from stillwater.siting.precision.noise import DIFFUSE_PART, PER_DB, height_noise_m, pattern, phase_noise_deg, sums_of
from stillwater.siting.precision.pattern import COMMON
from stillwater.siting.reflection.coefficients import fresnel
from stillwater.siting.signals import wavelength_m

L1 = wavelength_m("GPS L1")


def even_arc(low_deg, high_deg, number):
    return np.linspace(np.sin(np.radians(low_deg)), np.sin(np.radians(high_deg)), number)


@pytest.mark.parametrize("low, high, number, ratio, millimetres", [
    (5, 15, 90, 0.3, 13.5), (5, 15, 90, 1.0, 45.1), (5, 25, 150, 0.3, 5.4), (5, 10, 45, 0.3, 37.6),
    (5, 7, 20, 0.3, 138)])
def test_constant_amplitude_gives_the_closed_form(low, high, number, ratio, millimetres):
    """Least squares in a Monte Carlo of 1000 draws, worked out apart from this project; and the Cramér-Rao bound of a
    frequency, after Rife & Boorstyn 1974, IEEE Transactions on Information Theory 20, 591-598 (from memory)."""
    x = even_arc(low, high, number)
    found = 1000.0 * float(height_noise_m(sums_of(x, 1.0, ratio**2, np.ones(number)), L1))
    assert found == pytest.approx(millimetres, rel=0.02)
    bound = 1000.0 * L1 / (4 * np.pi * np.ptp(x)) * np.sqrt(24.0 / number) * ratio
    # the bound is for many samples: N points of a span scatter a little more or less than the span
    assert found == pytest.approx(bound, rel=2.5 / number)


def simulated_errors(x, height, amplitude, spread, draws, rng):
    """Heights at the greatest power of a plain periodogram, minus the truth [m]."""
    phase = 4 * np.pi * height / L1 * x
    found = []
    grid = height + np.linspace(-0.25, 0.25, 801) * L1 / (2 * np.ptp(x))
    waves = 4 * np.pi / L1 * np.outer(x, grid)
    cosine, sine = np.cos(waves), np.sin(waves)
    for _ in range(draws):
        turn = rng.uniform(0, 2 * np.pi)
        y = amplitude * np.cos(phase + turn) + spread * rng.normal(size=len(x))
        found.append(grid[np.argmax((y @ cosine)**2 + (y @ sine)**2)] - height)
    return np.array(found)


def test_falling_amplitudes_need_the_weighted_mean():
    """An amplitude that falls to a twentieth over the window: the weighted mean tells the scatter of a periodogram's
    peak within 15 %; a mean without weights would be off by more than 30 %."""
    rng = np.random.default_rng(11)
    x = even_arc(5, 20, 240)
    amplitude, spread = np.exp(-3.0 * (x - x[0]) / np.ptp(x)), 0.1 * np.ones(len(x))
    predicted = float(height_noise_m(sums_of(x, amplitude, spread**2, np.ones(len(x))), L1))
    simulated = simulated_errors(x, 9.0, amplitude, spread, 600, rng).std()
    assert predicted == pytest.approx(simulated, rel=0.15)
    lever = x - x.mean()
    wrong = L1 / (4 * np.pi) * np.sqrt(2 * np.sum(spread**2 * lever**2)) / np.sum(amplitude * lever**2)
    assert abs(wrong / simulated - 1) > 0.3


def test_the_phase_at_a_known_height_scatters_as_least_squares_says():
    rng = np.random.default_rng(2)
    x = even_arc(5, 20, 200)
    amplitude = np.exp(-2.0 * (x - x[0]) / np.ptp(x))
    wave = np.exp(-4j * np.pi * 2.0 / L1 * x)
    told = []
    for _ in range(1500):
        y = amplitude * np.cos(4 * np.pi * 2.0 / L1 * x + 0.7) + 0.1 * rng.normal(size=len(x))
        told.append(np.degrees(np.angle(y @ wave)))
    predicted = float(phase_noise_deg(sums_of(x, amplitude, 0.01, np.ones(len(x)))))
    assert predicted == pytest.approx(np.std(told), rel=0.06)


def test_the_pattern_is_made_of_gain_reflection_roughness_and_share():
    """Goldhirsh & Vogel's table of sea reflection at 1.5 GHz: -8.92 dB at 10° for circular, co-polar; gains -8 and
    -18 dB of a choke-ring antenna at +10 and -10° (from memory)."""
    sea = fresnel(80 - 48j, [10.0])
    co, cross = np.abs(sea.co_polar), np.abs(sea.cross_polar)
    clean = Receiver(cn0_dbhz=50.0, step_db=0.0, scatter_db=0.0)
    found = pattern(clean, [10.0], co, 0.0)
    assert 20 * np.log10(found.amplitude) == pytest.approx(50.0 - 18.0 - 8.92, abs=0.01)
    assert found.variance == pytest.approx(0.5)
    rough = pattern(clean, [10.0], co, 0.0, 0.6, 0.9)
    assert rough.amplitude == pytest.approx(found.amplitude * 0.54)
    assert rough.variance == pytest.approx(0.5 + DIFFUSE_PART * found.amplitude**2 * (1 - 0.36) / 2)
    assert pattern(clean, [10.0], co, cross).amplitude > found.amplitude


def test_the_receivers_step_and_scatter_are_parts_of_the_direct_amplitude():
    """A uniform error of a step has the variance step²/12; a decibel is ln(10)/20 of the amplitude (both by
    definition)."""
    coarse = pattern(Receiver(cn0_dbhz=46.0, step_db=1.0, scatter_db=0.3), [30.0], 0.0, 0.0)
    direct = 10 ** (46.0 / 20) * 10 ** (-4.0 / 20)
    assert coarse.variance == pytest.approx(0.5 + direct**2 * PER_DB**2 * (0.09 + 1.0 / 12.0))


def test_the_built_in_antenna_is_the_one_written_down():
    """A choke-ring antenna, co-polar gain relative to the zenith, from memory."""
    assert 20 * np.log10(COMMON.co_polar([90, 60, 30, 10, 0, -10, -20, -30, -90])) == pytest.approx(
        [0, -1, -4, -8, -12.5, -18, -23, -27, -32])
    assert 20 * np.log10(COMMON.cross_polar([-10, -45])) == pytest.approx([-38, -38])


def test_no_pattern_no_height():
    assert np.isinf(height_noise_m(sums_of(even_arc(5, 20, 9), 0.0, 1.0, np.ones(9)), L1))
