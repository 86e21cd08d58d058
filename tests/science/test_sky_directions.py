"""Azimuth and elevation angle against two general-purpose libraries, skyfield and pymap3d.

Both libraries are given our Earth-fixed positions, so that only the step from there to the sky is compared. Over one
day, at every half minute, from the equator to 89°.
"""
import numpy as np
import pymap3d
import pytest
from skyfield.api import load, wgs84
from skyfield.toposlib import ITRSPosition
from skyfield.units import Distance
from stillwater.siting.sky.clock import read_date
from stillwater.siting.sky.directions import axes, directions, place_m
from stillwater.siting.sky.nominal import NominalOrbits
from stillwater.siting.sky.sky import Sky

SKYFIELD_TOLERANCE_DEG = 0.001
PYMAP3D_TOLERANCE_DEG = 0.01
START = read_date("2026-06-01")
PLACES = [(0.0, 0.0), (-39.0, 45.0), (170.0, -35.0), (-180.0, 60.0), (25.0, 89.0)]


@pytest.fixture(scope="module")
def sky():
    return Sky(NominalOrbits(["GPS", "GLONASS", "Galileo", "BeiDou"]), START, 1, 5.0, 25.0)


def apart_deg(azimuth, sine, azimuth2, sine2):
    """Angle on the sphere between two sets of directions."""
    ours, theirs = (np.stack([np.sqrt(1 - s**2) * np.sin(np.radians(a)), np.sqrt(1 - s**2) * np.cos(np.radians(a)), s])
                    for a, s in ((azimuth, sine), (azimuth2, sine2)))
    return np.degrees(2 * np.arcsin(np.linalg.norm(ours - theirs, axis=0) / 2))


@pytest.mark.parametrize("lon, lat", PLACES)
def test_directions_agree_with_skyfield(sky, lon, lat):
    times = load.timescale(builtin=True).utc(2026, 6, 1)
    for one in sky.positions_m[::7, ::40]:
        azimuth, sine = directions(one, lon, lat)
        altitudes, azimuths = [], []
        for at in one[::6]:
            alt, az, _distance = (ITRSPosition(Distance(m=at)) - wgs84.latlon(lat, lon)).at(times).altaz()
            altitudes.append(alt.degrees)
            azimuths.append(az.degrees)
        elevation = np.degrees(np.arcsin(sine[::6]))
        assert np.abs(elevation - altitudes).max() < SKYFIELD_TOLERANCE_DEG
        assert apart_deg(azimuth[::6], sine[::6], np.array(azimuths), np.sin(np.radians(altitudes))
                         ).max() < SKYFIELD_TOLERANCE_DEG


@pytest.mark.parametrize("lon, lat", PLACES)
def test_what_a_site_sees_agrees_with_pymap3d(sky, lon, lat):
    """The shared cells too: each sample that a site is given, over the whole day."""
    view = sky.view(lon, lat)
    assert len(view.sine) > 1000
    at = sky.positions_m[view.satellite, view.moment]
    azimuth, elevation, _range = pymap3d.ecef2aer(*at.T, lat, lon, 0.0)
    ours = np.degrees(np.arcsin(view.sine.astype(float)))
    assert np.abs(ours - elevation).max() < PYMAP3D_TOLERANCE_DEG
    turn = (view.azimuth_deg.astype(float) - azimuth + 180.0) % 360.0 - 180.0
    assert np.abs(turn).max() < PYMAP3D_TOLERANCE_DEG


@pytest.mark.parametrize("lon, lat", [(-39.0, 45.0), (-38.96, 45.04), (-39.049, 44.951), (10.01, 84.98)])
def test_places_in_one_cell_get_their_own_sky(sky, lon, lat):
    view = sky.view(lon, lat)
    azimuth, sine = directions(sky.positions_m[view.satellite, view.moment], lon, lat)
    assert np.degrees(np.abs(np.arcsin(view.sine.astype(float)) - np.arcsin(sine))).max() < SKYFIELD_TOLERANCE_DEG
    turn = (view.azimuth_deg - azimuth + 180.0) % 360.0 - 180.0
    assert np.abs(turn).max() < SKYFIELD_TOLERANCE_DEG


def test_a_site_is_given_every_sample_between_the_limits(sky):
    for lon, lat in ((-39.04, 45.03), (179.99, 10.0), (0.0, 90.0), (12.0, -88.0), (-0.001, 40.001)):
        view = sky.view(lon, lat)
        given = set(zip(view.satellite.tolist(), view.moment.tolist()))
        _azimuth, sine = directions(sky.positions_m, lon, lat)
        low, high = np.sin(np.radians([5.0002, 24.9998]))
        inside = np.argwhere((sine > low) & (sine < high))
        assert len(inside) > 5000
        assert given.issuperset(map(tuple, inside.tolist()))


def test_places_agree_with_pymap3d():
    lon, lat = np.array([0.0, -39.0, 100.0, 180.0]), np.array([0.0, 45.0, -89.0, 60.0])
    height = np.array([0.0, 50.0, 2800.0, -30.0])
    assert np.allclose(place_m(lon, lat, height), np.stack(pymap3d.geodetic2ecef(lat, lon, height), axis=-1), atol=1e-6)


def test_at_the_pole_azimuth_counts_from_the_given_meridian():
    east, north, up = axes(30.0, 90.0)
    assert np.allclose(up, [0, 0, 1]) and np.allclose(north, [-np.cos(np.pi / 6), -0.5, 0.0])
    assert np.allclose(np.cross(east, north), up)
