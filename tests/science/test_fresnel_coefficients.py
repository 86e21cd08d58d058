"""Fresnel's coefficients: against a handbook's table of sea reflection, and facts of optics."""

import numpy as np
import pytest
from stillwater.siting.errors import InputError
from stillwater.siting.reflection.coefficients import decibels, fresnel

# Goldhirsh & Vogel, Handbook of Propagation Effects for Vehicular and Personal Mobile Satellite
# Systems, sea reflection at 1.5 GHz: e [°]; H, V and circular co-polar [dB] (read)
HANDBOOK = np.array([
    (1, -0.03, -2.86, -1.34), (3, -0.09, -9.05, -3.57), (5, -0.15, -16.01, -5.39), (6, -0.18, -17.41, -6.19),
    (8, -0.24, -13.95, -7.64), (10, -0.30, -10.81, -8.92), (12, -0.36, -8.81, -10.09)])
HANDBOOK_EPSILON = 80 - 48j  # a fit to the table, which does not state its own
WARM_SEA = 71 - 60j
TABLE_TOLERANCE_DB = 0.01

SURFACES = [1.573, 3.184 - 0.0004j, 10 - 1.9j, 25 - 4j, 82.6 - 9.6j, 73.4 - 56j, 1000 - 1e6j]


def by_column(epsilon):
    """Compute the handbook's columns H, V and co-polar [dB]."""
    found = fresnel(epsilon, HANDBOOK[:, 0])
    return np.stack([decibels(found.horizontal), decibels(found.vertical), decibels(found.co_polar)], axis=1)


def test_the_handbook_table_of_sea_reflection_is_reproduced():
    assert np.abs(by_column(HANDBOOK_EPSILON) - HANDBOOK[:, 1:]).max() < TABLE_TOLERANCE_DB


def test_the_handbook_table_is_missed_with_the_wrong_water():
    assert np.abs(by_column(WARM_SEA)[:, 1] - HANDBOOK[:, 2]).max() > 1.0


@pytest.mark.parametrize("epsilon", [1.573, 3.184, 10.0, 80.0])
def test_a_lossless_plane_returns_nothing_vertical_at_brewsters_angle(epsilon):
    """tan of the angle from the vertical is sqrt(ε): common knowledge of optics."""
    grazing = np.degrees(np.arctan(1.0 / np.sqrt(epsilon)))
    assert abs(fresnel(epsilon, grazing).vertical) < 1e-12
    assert np.abs(fresnel(epsilon, grazing + np.array([-1, 1])).vertical).min() > 1e-3


@pytest.mark.parametrize("epsilon", SURFACES)
def test_no_plane_returns_more_than_falls_on_it(epsilon):
    found = fresnel(epsilon, np.linspace(0.0, 90.0, 901))
    assert np.abs(found).max() <= 1 + 1e-12
    power = np.abs(found.co_polar)**2 + np.abs(found.cross_polar)**2
    assert np.allclose(power, (np.abs(found.horizontal)**2 + np.abs(found.vertical)**2) / 2, atol=1e-12)


@pytest.mark.parametrize("epsilon", SURFACES)
def test_straight_down_the_sense_of_rotation_turns(epsilon):
    """At normal incidence |R| = |(n - 1)/(n + 1)|, n the refractive index, all of it cross-polar."""
    n = np.sqrt(complex(epsilon))
    found = fresnel(epsilon, 90.0)
    assert abs(found.co_polar) < 1e-12
    assert abs(found.cross_polar - (n - 1) / (n + 1)) < 1e-9


@pytest.mark.parametrize("epsilon", SURFACES)
def test_at_grazing_all_comes_back_turned_by_half_a_wave(epsilon):
    assert np.allclose([fresnel(epsilon, 0.0).co_polar, fresnel(epsilon, 0.0).horizontal], -1)
    assert fresnel(epsilon, 0.0).cross_polar == 0


@pytest.mark.parametrize("epsilon", SURFACES)
def test_boundary_conditions_hold(epsilon):
    """Tangential E and H are continuous: solved as 2 × 2 linear systems for both polarisations.

    Incident field 1; horizontal: 1 + r = t, (1 - r) sin e = q t; vertical, in the magnetic field:
    1 + r = t, (1 - r) sin e = q t / ε.
    """
    for degrees in (2.0, 17.0, 60.0):
        sin_e = np.sin(np.radians(degrees))
        q = np.sqrt(complex(epsilon) - np.cos(np.radians(degrees))**2)
        for found, slope in zip(fresnel(epsilon, degrees), (q, q / epsilon)):
            r, _ = np.linalg.solve([[1, -1], [-sin_e, -slope]], [-1, -sin_e])
            assert abs(found - r) < 1e-9


def test_angles_outside_the_sky_give_nan_and_shapes_broadcast():
    found = fresnel([[80 - 48j], [3.18]], [-1.0, 10.0, 91.0])
    assert found.co_polar.shape == (2, 3)
    assert np.array_equal(np.isnan(found.co_polar), [[True, False, True]] * 2)


@pytest.mark.parametrize("epsilon", [80 + 48j, 0.5, -3 - 1j, np.nan, [80 - 48j, complex("nan")]])
def test_an_impossible_or_conjugate_permittivity_is_refused(epsilon):
    with pytest.raises(InputError, match="written ε' - jε''"):
        fresnel(epsilon, 10.0)


def test_decibels_of_fields():
    assert decibels([1, -1j, 0.1, 0]).tolist() == pytest.approx([0, 0, -20, -np.inf])
