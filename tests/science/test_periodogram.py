"""The periodogram against astropy's, and the leakage against retrievals outside its table."""

import numpy as np
import pytest
from stillwater.siting.precision.leakage import FALLS, HIGH_PART, LOW_PART, leakage, table
from stillwater.siting.precision.periodogram import detrended, peak_cycles, peak_of, power

astropy_timeseries = pytest.importorskip("astropy.timeseries")


def test_power_is_that_of_astropys_lomb_scargle():
    """astropy.timeseries.LombScargle, without a fitted mean: by how much the sum of squares falls."""
    rng = np.random.default_rng(1)
    x = np.sort(rng.uniform(0.08, 0.35, 150))
    y = np.cos(2 * np.pi * 55 * x + 0.3) + rng.normal(0, 0.5, (3, 150))
    cycles = np.linspace(20.0, 100.0, 300)
    mine = power(x, y, cycles)
    for row, one in zip(mine, y):
        told = astropy_timeseries.LombScargle(x, one, fit_mean=False, center_data=False).power(
            cycles, normalization="psd", method="slow")
        np.testing.assert_allclose(row, 2.0 * told, rtol=1e-8, atol=1e-9)


def test_detrending_takes_a_parabola_off_and_nothing_else():
    x = np.sort(np.random.default_rng(2).uniform(0.1, 0.4, 80))
    parabola = 3.0 - 7.0 * x + 40.0 * x**2
    assert np.abs(detrended(x, parabola)).max() < 1e-10
    wave = np.cos(2 * np.pi * 60 * x)
    # the rest is orthogonal to parabolas, as numpy's own fit says
    fitted = np.polyval(np.polyfit(x, wave + parabola, 2), x)
    np.testing.assert_allclose(detrended(x, wave + parabola), wave + parabola - fitted, atol=1e-9)


def test_the_peak_is_found_between_the_frequencies_looked_at():
    x = np.linspace(0.0, 1.0, 400)
    cycles = np.arange(5.0, 20.0, 0.1)
    found = peak_cycles(x, np.cos(2 * np.pi * np.array([[11.037], [14.96]]) * x + 1.0), cycles)
    assert found.cycles == pytest.approx([11.037, 14.96], abs=0.01)
    assert (found.over_background > 5).all()
    edge = peak_of(cycles, np.linspace(0, 1, len(cycles)))
    assert edge.cycles == pytest.approx(cycles[-1])


@pytest.mark.parametrize("number", [2.0, 3.0, 4.5, 6.0, 9.0])
@pytest.mark.parametrize("fall", [0.0, 2.0, 4.0])
def test_leakage_is_what_noise_free_arcs_show(number, fall):
    """Arcs at heights around the number of oscillations and at random phases, retrieved with astropy's periodogram,
    with a sampling that the table does not hold."""
    rng = np.random.default_rng(int(10 * number + fall))
    # as a receiver samples: evenly but for the bend of the track
    place = (np.arange(240) + 0.5) / 240
    place = place + 0.02 * place * (1.0 - place)
    amplitude = np.exp(-fall * place)
    middle = float(np.sum(amplitude * place) / amplitude.sum())
    errors, turns = [], []
    for _ in range(80):
        true, turn = number + rng.uniform(-0.5, 0.5), rng.uniform(0, 2 * np.pi)
        y = amplitude * np.cos(2 * np.pi * true * place + turn)
        y = y - np.polyval(np.polyfit(place, y, 2), place)
        cycles = np.arange(LOW_PART * true, HIGH_PART * true, 0.03)
        told = astropy_timeseries.LombScargle(place, y, fit_mean=False, center_data=False).power(
            cycles, method="slow")
        errors.append(cycles[np.argmax(told)] - true)
        wave = np.exp(-2j * np.pi * true * place)
        turns.append(np.angle((y @ wave) * np.exp(-1j * turn)))
    simulated = np.sqrt(np.mean(np.square(errors)))
    told, phase = leakage(number, middle), leakage(number, middle, "phase_rad")
    assert told == pytest.approx(simulated, rel=0.35, abs=0.006)
    assert phase == pytest.approx(np.sqrt(np.mean(np.square(turns))), rel=0.35, abs=0.01)


def test_leakage_falls_with_the_oscillations_and_rises_with_the_slope_of_the_amplitude():
    steep = leakage(5.0, np.linspace(0.5, 0.2, 7))
    assert (np.diff(steep) > 0).all()
    many = leakage(np.array([3.0, 6.0, 12.0, 24.0, 48.0]), 0.35)
    assert (np.diff(many) < 0).all()
    assert len(table().middle) == 2 * len(FALLS) - 1 and (np.diff(table().middle) > 0).all()
