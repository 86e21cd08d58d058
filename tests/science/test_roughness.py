"""Roughness: the coherent loss, its limits, and Rayleigh's criterion."""

import numpy as np
import pytest
from stillwater.siting.errors import InputError
from stillwater.siting.reflection.roughness import (
    coherent_loss_db,
    greatest_angle_deg,
    ground_rms_m,
    phase_roughness,
    rayleigh_height_m,
    scaled_bessel_i0,
    wave_rms_m,
)
from stillwater.siting.signals import wavelength_m

L1 = wavelength_m("GPS L1")
ANGLES = np.array([5.0, 10.0, 20.0])


def ament_db(rms_m, elevation_deg):
    """Compute Ament's loss, 20 log10 exp(2g²) [dB], the limit for small g (Ament 1953; copied)."""
    g = phase_roughness(rms_m, elevation_deg, L1)
    return 20.0 * np.log10(np.e) * 2.0 * g**2


def test_half_a_metre_of_waves_costs_what_theory_says():
    """Figures derived beforehand from Miller, Brown & Vegh 1984 and Ament 1953 (both from memory)."""
    rms = wave_rms_m(0.5)
    assert rms == 0.125
    assert np.abs(coherent_loss_db(rms, ANGLES, L1) - [2.10, 6.77, 13.66]).max() < 0.006
    assert np.abs(ament_db(rms, ANGLES) - [2.25, 8.92, 34.6]).max() < 0.03


def test_the_loss_is_that_of_averaging_over_sea_waves():
    """The formula averages exp(j 2kσ' sin e) over waves: here the average is done by quadrature.

    Heights η = H sin φ, H of Gauss's law with variance 2σ², φ even over the circle, so that the
    variance of η is σ² (the model of Miller, Brown & Vegh).
    """
    nodes, weights = np.polynomial.hermite_e.hermegauss(80)
    phase = (np.arange(400) + 0.5) * 2 * np.pi / 400
    for rms, elevation in ((0.02, 8.0), (0.125, 5.0), (0.125, 20.0), (0.3, 10.0)):
        height = np.sqrt(2.0) * rms * nodes[:, None] * np.sin(phase)
        field = np.cos(4 * np.pi * height * np.sin(np.radians(elevation)) / L1).mean(axis=1) @ weights
        field /= weights.sum()
        assert coherent_loss_db(rms, elevation, L1) == pytest.approx(-20 * np.log10(field), abs=1e-4)


def test_small_waves_cost_what_ament_says():
    assert np.allclose(coherent_loss_db(0.004, ANGLES, L1), ament_db(0.004, ANGLES), rtol=2e-3, atol=0)


def test_the_scaled_bessel_function_agrees_with_scipy():
    special = pytest.importorskip("scipy.special")
    x = np.concatenate([[0.0], np.logspace(-8, 6, 3000), np.linspace(3.7, 3.8, 101)])
    assert np.abs(scaled_bessel_i0(x) / special.ive(0, x) - 1).max() < 5e-7


def test_a_huge_roughness_costs_much_but_is_a_number():
    loss = coherent_loss_db([1.0, 100.0, 1e6], 90.0, L1)
    assert np.isfinite(loss).all() and (np.diff(loss) > 0).all()
    # exp(-x) I0(x) tends to 1/sqrt(2πx): Abramowitz & Stegun 9.7.1
    assert loss[2] == pytest.approx(10 * np.log10(4 * np.pi * (2 * np.pi * 1e6 / L1)**2), abs=1e-4)


def test_a_smooth_surface_loses_nothing_and_an_unknown_one_stays_unknown():
    assert coherent_loss_db(0.0, ANGLES, L1).tolist() == [0.0, 0.0, 0.0]
    assert coherent_loss_db([[0.1], [np.nan]], ANGLES, L1).shape == (2, 3)
    assert np.isnan(coherent_loss_db(np.nan, 10.0, L1)) and np.isnan(wave_rms_m(np.nan))
    assert np.isnan(greatest_angle_deg(np.nan, 10.0, L1)) and np.isnan(ground_rms_m(np.nan, 0.1))


@pytest.mark.parametrize("limit", [0.5, 3.0, 10.0, 20.0])
def test_the_greatest_angle_is_where_the_loss_reaches_the_limit(limit):
    rms = np.array([0.05, 0.125, 0.25, 1.0])
    angle = greatest_angle_deg(rms, limit, L1)
    reached = angle < 90
    assert reached[1:3].all()
    assert np.allclose(coherent_loss_db(rms, angle, L1)[reached], limit, rtol=0, atol=1e-5)
    assert (coherent_loss_db(rms, 90.0, L1)[~reached] <= limit).all()


def test_the_greatest_angle_where_the_limit_is_never_reached():
    assert greatest_angle_deg([0.0, 0.001], 10.0, L1).tolist() == [90.0, 90.0]
    assert greatest_angle_deg([[0.1], [0.2]], [5.0, 10.0, 15.0], L1).shape == (2, 3)


def test_the_ground_is_rough_without_the_noise_of_the_model():
    assert ground_rms_m([0.5, 0.1, 0.05, 0.0], [0.3, 0.1, 0.1, 0.0]) == pytest.approx([0.4, 0.0, 0.0, 0.0])


def test_rayleighs_limit():
    """λ/(8 sin e): any text on rough surfaces, e.g. Beckmann & Spizzichino 1963 (from memory)."""
    assert rayleigh_height_m([5.0, 10.0], L1) == pytest.approx([0.273, 0.137], abs=5e-4)


@pytest.mark.parametrize("function, arguments, said", [
    (wave_rms_m, ([0.5, -0.2],), r"significant wave height cannot be negative, but is -0.2 m"),
    (coherent_loss_db, (-0.1, 10.0, L1), "rms height of the surface cannot be negative"),
    (coherent_loss_db, (0.1, 10.0, 0.0), "wavelength must be above zero"),
    (ground_rms_m, (-0.1, 0.1), "rms height of the ground cannot be negative"),
    (ground_rms_m, (0.1, -0.1), "noise of the elevation model cannot be negative"),
    (greatest_angle_deg, (0.1, 0.0, L1), "greatest loss must be above zero, but is 0 dB"),
    (greatest_angle_deg, (0.1, np.nan, L1), "greatest loss must be above zero, but is nan dB"),
    (rayleigh_height_m, (0.0, L1), "elevation angle must be above zero"),
])
def test_impossible_figures_are_refused(function, arguments, said):
    with pytest.raises(InputError, match=said):
        function(*arguments)
