"""Footprints on tilted planes: against path lengths, minimised and contoured numerically."""

import numpy as np
import pytest
from stillwater.siting.geometry.fresnel import first_zone, outline
from stillwater.siting.ground.tiltedzone import tilted_zone
from stillwater.siting.signals import wavelength_m

L1 = wavelength_m("GPS L1")
CENTIMETRE = 0.005  # the distances are told to two digits
DEGREE_DIGIT = 0.005
SOLVED = 1e-6  # of a metre, by Newton's steps on the path length
EXACT = 1e-9


def path_m(height, slopes, azimuth_deg, elevation_deg, east, north):
    """Length of the path by a point of the plane, but for a constant: antenna to point, less the way to the source."""
    azimuth, elevation = np.radians(azimuth_deg), np.radians(elevation_deg)
    up = slopes[0] * east + slopes[1] * north
    ahead = (east * np.sin(azimuth) + north * np.cos(azimuth)) * np.cos(elevation) + up * np.sin(elevation)
    return np.sqrt(east**2 + north**2 + (height - up) ** 2) - ahead


def shortest(height, slopes, azimuth_deg, elevation_deg):
    """Find the point of the plane with the shortest path: grids drawn closer and closer around the best point."""
    best, half = np.zeros(2), 4000.0
    while half > SOLVED / 10:
        offset = np.linspace(-half, half, 41)
        east, north = best[0] + offset[:, None], best[1] + offset[None, :]
        path = path_m(height, slopes, azimuth_deg, elevation_deg, east, north)
        i, j = np.unravel_index(np.argmin(path), path.shape)
        best, half = np.array([east[i, 0], north[0, j]]), half / 4.0
    return best


def slopes_of(tilt_deg, downhill_deg):
    fall, azimuth = np.tan(np.radians(tilt_deg)), np.radians(downhill_deg)
    return -fall * np.sin(azimuth), -fall * np.cos(azimuth)


# derived here and found by brute force below: 5 m, 10°, ground tilted by 5°
DISTANCES = {"level": (0.0, 0.0, 28.36, 0.0), "falling towards the satellite": (5.0, 0.0, 18.08, 0.0),
             "rising towards the satellite": (5.0, 180.0, 57.15, 0.0), "across": (5.0, 90.0, 28.37, 1.75)}


@pytest.mark.parametrize("lie", DISTANCES)
@pytest.mark.parametrize("azimuth", [0.0, 77.0, 301.0])
def test_the_reflection_point_moves_with_the_tilt(lie, azimuth):
    tilt, downhill, distance, turn = DISTANCES[lie]
    zone = tilted_zone(5.0, *slopes_of(tilt, azimuth + downhill), azimuth, 10.0, L1)
    east, north = zone.reflection_m
    assert np.hypot(east, north) == pytest.approx(distance, abs=CENTIMETRE)
    off = (np.degrees(np.arctan2(east, north)) - azimuth + 180.0) % 360.0 - 180.0
    assert abs(off) == pytest.approx(turn, abs=DEGREE_DIGIT)


@pytest.mark.parametrize("lie", DISTANCES)
def test_the_reflection_point_has_the_shortest_path(lie):
    tilt, downhill, distance, _turn = DISTANCES[lie]
    slopes = slopes_of(tilt, 40.0 + downhill)
    found = shortest(5.0, slopes, 40.0, 10.0)
    assert np.hypot(*found) == pytest.approx(distance, abs=CENTIMETRE)
    # a path is flat around its minimum: double precision finds the place to about the root of its own
    assert tilted_zone(5.0, *slopes, 40.0, 10.0, L1).reflection_m == pytest.approx(found, abs=1e-4)


def test_the_outline_is_half_a_wavelength_longer_than_the_shortest_path_all_around():
    rng = np.random.default_rng(4)
    height, azimuth = rng.uniform(1.0, 50.0, 300), rng.uniform(0.0, 360.0, 300)
    elevation = rng.uniform(3.0, 85.0, 300)
    slopes = slopes_of(rng.uniform(0.0, 20.0, 300), rng.uniform(0.0, 360.0, 300))
    zone = tilted_zone(height, *slopes, azimuth, elevation, L1)
    is_there = np.isfinite(zone.far_m)
    assert 200 < is_there.sum() < 300, "some of these planes are turned away"
    height, azimuth, elevation = (v[is_there, None] for v in (height, azimuth, elevation))
    slopes, zone = [s[is_there, None] for s in slopes], zone.at(is_there)
    ring = zone.outline()
    best = path_m(height, slopes, azimuth, elevation, *np.moveaxis(zone.reflection_m[:, None], -1, 0))
    excess = path_m(height, slopes, azimuth, elevation, *np.moveaxis(ring, -1, 0)) - best
    assert excess == pytest.approx(L1 / 2, abs=EXACT * 100)
    # nothing shorter anywhere near: the reflection point is the minimum
    inside = zone.centre_m[:, None] + 0.7 * (ring - zone.centre_m[:, None])
    nearer = path_m(height, slopes, azimuth, elevation, *np.moveaxis(inside, -1, 0)) - best
    assert np.all((nearer > -EXACT) & (nearer < L1 / 2))


def test_level_ground_gives_the_zone_of_level_ground():
    angles, azimuth = np.array([5.0, 10.0, 25.0, 89.0])[:, None], np.array([0.0, 33.0, 180.0, 290.0])
    flat, zone = first_zone(4.0, angles, L1), tilted_zone(4.0, 0.0, 0.0, azimuth, angles, L1)
    assert zone.outline() == pytest.approx(outline(flat, azimuth), abs=EXACT)
    for name in ("near_m", "far_m", "area_m2"):
        assert getattr(zone, name) == pytest.approx(np.broadcast_to(getattr(flat, name), (4, 4)), abs=1e-6)
    assert zone.elevation_deg == pytest.approx(np.broadcast_to(angles, (4, 4)))


def test_a_satellite_in_the_planes_zenith_gives_a_circle():
    zone = tilted_zone(5.0, 0.0, -np.tan(np.radians(10.0)), 0.0, 80.0, L1)
    assert zone.elevation_deg == pytest.approx(90.0, abs=1e-5)
    half = np.linalg.norm([zone.major_m, zone.minor_m], axis=-1)
    assert sorted(half) == pytest.approx([half.max() * np.cos(np.radians(10.0)), half.max()])
    assert np.all(np.isfinite(tilted_zone(5.0, 0.0, 0.0, 0.0, 90.0, L1).outline()))


@pytest.mark.parametrize("case", [
    dict(height_m=0.0), dict(height_m=-1.0), dict(height_m=np.nan), dict(slope_north=np.tan(np.radians(10.0))),
    dict(slope_north=np.tan(np.radians(30.0))), dict(slope_north=np.nan), dict(elevation_deg=0.0)])
def test_no_reflection_is_not_a_number(case):
    told = dict(height_m=5.0, slope_east=0.0, slope_north=0.0, azimuth_deg=0.0, elevation_deg=10.0, wavelength_m=L1)
    zone = tilted_zone(**{**told, **case})
    for part in (zone.centre_m, zone.major_m, zone.minor_m, zone.reflection_m, zone.far_m):
        assert np.all(np.isnan(part))


def test_arrays_of_any_shape_give_what_single_numbers_give():
    heights, azimuths = np.array([[2.0], [9.0]]), np.array([10.0, 100.0, 200.0])
    many = tilted_zone(heights, 0.03, -0.02, azimuths, 12.0, L1)
    assert many.centre_m.shape == (2, 3, 2) and many.far_m.shape == (2, 3)
    for i, j in np.ndindex(2, 3):
        one = tilted_zone(heights[i, 0], 0.03, -0.02, azimuths[j], 12.0, L1)
        for part, single in zip(many, one):
            assert part[i, j] == pytest.approx(single, abs=EXACT)
