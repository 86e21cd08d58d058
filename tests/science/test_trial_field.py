"""The reflected field against closed forms and against a plain sum over the ground."""

import numpy as np
import pytest
from scipy.optimize import minimize_scalar
from scipy.special import fresnel
from stillwater.siting.geometry.fresnel import path_excess_m
from stillwater.siting.signals import wavelength_m
from stillwater.siting.trial.field import Density, reflected

L1 = wavelength_m("GPS L1")
FINE = Density(curves=160, points=200)


def everywhere(east, north, azimuth_deg, slope):
    return np.ones(east.shape)


def beyond(facing_deg, distance_m):
    """Give the worth of a half-plane that begins at a straight edge."""
    sine, cosine = np.sin(np.radians(facing_deg)), np.cos(np.radians(facing_deg))
    return lambda east, north, azimuth_deg, slope: (east * sine + north * cosine >= distance_m).astype(float)


def half_plane(height, elevation, facing_deg, distance_m):
    """Return the field of a half-plane in closed form, for a satellite in the north.

    Kirchhoff's integral by Fresnel's (Born & Wolf, Principles of Optics, 8.7.3, from memory): with the least excess
    path δ along the edge, v = 2 √(δ/λ), signed; SciPy has C and S.
    """
    turn = np.radians(facing_deg)

    def excess(along):
        return float(path_excess_m(height, elevation, 0.0, distance_m * np.sin(turn) + along * np.cos(turn),
                                   distance_m * np.cos(turn) - along * np.sin(turn)))

    specular = height / np.tan(np.radians(elevation))
    near = -specular * np.sin(turn)
    least = minimize_scalar(excess, bounds=(near - 400, near + 400), method="bounded", options={"xatol": 1e-9}).fun
    sign = 1.0 if specular * np.cos(turn) >= distance_m else -1.0
    sine, cosine = fresnel(sign * 2.0 * np.sqrt(max(least, 0.0) / L1))
    return (1 + 1j) / 2 * (0.5 - 0.5j + cosine - 1j * sine)


def random_half_planes(number):
    """Draw heights, angles and edges that pass within some 1.5 zones of the specular point."""
    rng = np.random.default_rng(1)
    for _ in range(number):
        height, elevation, facing = rng.uniform(3, 30), rng.uniform(5, 20), rng.uniform(0, 360)
        sine = np.sin(np.radians(elevation))
        zone = 1.5 * np.sqrt(L1 * height / sine)
        width = np.hypot(zone / sine * np.cos(np.radians(facing)), zone * np.sin(np.radians(facing)))
        specular = height * np.sqrt(1 / sine**2 - 1) * np.cos(np.radians(facing))
        yield height, elevation, facing, specular + rng.uniform(-1, 1) * width


@pytest.mark.parametrize("density, rms, most", [(FINE, 0.01, 0.02), (Density(), 0.02, 0.04)])
def test_a_half_plane_is_that_of_fresnels_integrals(density, rms, most):
    errors = [reflected(height, elevation, 0.0, L1, beyond(facing, distance), density)[0]
              - half_plane(height, elevation, facing, distance)
              for height, elevation, facing, distance in random_half_planes(60)]
    assert np.sqrt(np.mean(np.abs(errors)**2)) < rms
    assert np.abs(errors).max() < most


def test_the_half_plane_checks_can_fail():
    height, elevation = 8.0, 10.0
    specular = height / np.tan(np.radians(elevation))
    told = half_plane(height, elevation, 0.0, specular)
    assert told == pytest.approx(0.5, abs=0.01)
    assert abs(reflected(height, elevation, 0.0, L1, beyond(0.0, specular + 2.0), FINE)[0] - told) > 0.1


def plain_sum(height, elevation, azimuth, worth, waves=14.0):
    """Sum Kirchhoff's integral up over a grid of metres on the ground, with a taper of its own (Gaussian)."""
    sine, cosine = np.sin(np.radians(elevation)), np.cos(np.radians(elevation))
    excess = waves * L1
    minor = np.sqrt(2 * excess * height / sine + (excess / sine)**2)
    centre = height * cosine / sine + excess * cosine / sine**2
    along = np.linspace(centre - minor / sine, centre + minor / sine, 8000)
    total = 0.0
    for across in np.array_split(np.linspace(-minor, minor, 1600), 16):
        u, v = along[None, :], across[:, None]
        distance = np.sqrt(u**2 + v**2 + height**2)
        over = distance - u * cosine - height * sine
        turn = np.radians(azimuth)
        value = worth(u * np.sin(turn) + v * np.cos(turn), u * np.cos(turn) - v * np.sin(turn), azimuth, 0.0)
        taper = np.exp(-(over / (0.4 * excess))**2)
        total += np.sum(value * taper * np.exp(-2j * np.pi * over / L1) / distance * (sine + height / distance) / 2)
    return 1j / L1 * total * (along[1] - along[0]) * 2 * minor / 1599


def corner(east, north, azimuth_deg, slope):
    return ((north >= 14.0) & (east >= -1.5)).astype(float)


@pytest.mark.parametrize("height, elevation, azimuth, worth", [
    (3.0, 8.0, 30.0, everywhere), (3.0, 8.0, 10.0, corner), (5.0, 15.0, 5.0, corner), (2.5, 8.0, 0.0, corner)])
def test_it_is_what_a_plain_sum_over_the_ground_gives(height, elevation, azimuth, worth):
    told = plain_sum(height, elevation, azimuth, worth)
    assert abs(told) > 0.2
    assert abs(reflected(height, elevation, azimuth, L1, worth, FINE)[0] - told) < 0.02


def test_a_full_plane_gives_one_from_any_direction():
    found = reflected([2.0, 8.0, 20.0, 60.0], [5.0, 10.0, 20.0, 40.0], [0.0, 90.0, 200.0, 359.0], L1, everywhere)
    np.testing.assert_allclose(found, 1.0, atol=0.01)
    np.testing.assert_array_equal(reflected(8.0, 10.0, 0.0, L1, lambda east, *_: np.zeros(east.shape)), 0.0)


def test_it_converges():
    cases = list(random_half_planes(40))

    def rms(density):
        return np.sqrt(np.mean([abs(reflected(h, e, 0.0, L1, beyond(f, d), density)[0]
                                    - reflected(h, e, 0.0, L1, beyond(f, d), Density(curves=400, points=500))[0])**2
                                for h, e, f, d in cases]))

    coarse, usual, fine = rms(Density(curves=32, points=24)), rms(Density()), rms(FINE)
    assert coarse > 2.0 * usual and usual > 1.5 * fine and fine < 0.006


def test_the_points_of_a_curve_have_the_same_excess_path():
    """By the path length itself (`siting.geometry.fresnel.path_excess_m`, checked against ITU-R P.526)."""
    seen = []

    def keep(east, north, azimuth_deg, slope):
        seen.append((east, north))
        return np.ones(east.shape)

    reflected(6.0, 9.0, 77.0, L1, keep, Density(curves=20, points=16))
    excess = path_excess_m(6.0, 9.0, 77.0, *seen[0])[0] / L1
    np.testing.assert_allclose(excess, np.repeat(excess[:, :1], 16, axis=1), atol=1e-9)
    np.testing.assert_allclose(excess[:, 0], 6.0 * ((np.arange(20) + 0.5) / 20)**2, atol=1e-9)
