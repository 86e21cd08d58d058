"""The first Fresnel zone on a plane: against a table, path lengths, and ITU-R P.526."""

import numpy as np
import pytest
from stillwater.siting.geometry.fresnel import Ellipse, first_zone, half_width_rad, outline, path_excess_m
from stillwater.siting.signals import wavelength_m

L1 = wavelength_m("GPS L1")
L1_MHZ = 1575.42
TABLE_TOLERANCE_M = 1e-4
EXCESS_TOLERANCE_WAVES = 1e-7
CONTOUR_TOLERANCE_M = 1e-3
P526_TOLERANCE = 0.005  # its constant 550 is rounded
P526_LIMIT_TOLERANCE = 0.01
ELLIPSE_EQUATION_TOLERANCE = 1e-6

# h [m], e [°] at 1575.42 MHz: semi-major, semi-minor axis, site to centre [m].
# Derived here and verified numerically (the path excess is λ/2 all around).
TABLE = [
    (2, 5, 27.0510, 2.3577, 35.3382),
    (2, 25, 2.3078, 0.9753, 4.7718),
    (10, 15, 10.5724, 2.7363, 38.6925),
    (100, 5, 170.0005, 14.8165, 1155.4833),
]
SCENES = [(0.5, 3.0), (2.0, 5.0), (5.0, 12.0), (10.0, 15.0), (37.0, 25.0), (100.0, 5.0), (3.0, 70.0)]


@pytest.mark.parametrize("height, elevation, a, b, centre", TABLE)
def test_axes_and_distance_agree_with_the_table(height, elevation, a, b, centre):
    zone = first_zone(height, elevation, L1)
    assert np.allclose(zone, [a, b, centre], rtol=0, atol=TABLE_TOLERANCE_M)


@pytest.mark.parametrize("height, elevation", SCENES)
def test_every_point_of_the_outline_is_half_a_wave_longer_than_the_specular_path(height, elevation):
    azimuth = 217.0
    east, north = np.moveaxis(outline(first_zone(height, elevation, L1), azimuth, 360), -1, 0)
    # the path from a far source, written out here and not taken from the code under test
    e, az = np.radians(elevation), np.radians(azimuth)
    to_satellite = np.array([np.sin(az) * np.cos(e), np.cos(az) * np.cos(e), np.sin(e)])
    points = np.stack([east, north, np.zeros_like(east)], axis=-1)
    antenna = np.array([0.0, 0.0, height])
    reflected = np.linalg.norm(points - antenna, axis=-1) - points @ to_satellite
    specular = height / np.sin(e) * to_satellite - antenna
    shortest = np.linalg.norm(specular - antenna) - specular @ to_satellite
    assert np.abs((reflected - shortest) / (L1 / 2) - 1).max() < EXCESS_TOLERANCE_WAVES
    assert np.abs(path_excess_m(height, elevation, azimuth, east, north) - (reflected - shortest)).max() < 1e-9


@pytest.mark.parametrize("height, elevation", SCENES)
def test_axes_agree_with_a_brute_force_contour_of_path_length(height, elevation):
    """Bisect the path length along rays from the specular point: no formula of the ellipse is used."""
    e = np.radians(elevation)
    specular = height / np.tan(e)
    turn = np.radians(np.arange(0.0, 360.0, 0.5))

    def excess(radius):
        along, across = specular + radius * np.cos(turn), radius * np.sin(turn)
        return np.sqrt(along**2 + across**2 + height**2) - along * np.cos(e) - height * np.sin(e)

    low, high = np.zeros_like(turn), np.full_like(turn, 1e5)
    for _ in range(80):
        middle = (low + high) / 2
        inside = excess(middle) < L1 / 2
        low, high = np.where(inside, middle, low), np.where(inside, high, middle)
    along, across = specular + low * np.cos(turn), low * np.sin(turn)
    zone = first_zone(height, elevation, L1)
    assert along.max() == pytest.approx(float(zone.far_m), abs=CONTOUR_TOLERANCE_M)
    assert along.min() == pytest.approx(float(zone.near_m), abs=CONTOUR_TOLERANCE_M)
    on_ellipse = ((along - zone.centre_m) / zone.semi_major_m) ** 2 + (across / zone.semi_minor_m) ** 2
    assert np.abs(on_ellipse - 1).max() < ELLIPSE_EQUATION_TOLERANCE


def p526_radius_m(d1_km, d2_km, mhz):
    """Radius of the first Fresnel ellipsoid, ITU-R P.526-8, section 2 (read in the published text)."""
    return 550.0 * np.sqrt(d1_km * d2_km / ((d1_km + d2_km) * mhz))


@pytest.mark.parametrize("height, elevation", [(50.0, 20.0), (100.0, 25.0), (300.0, 30.0), (1000.0, 15.0)])
def test_the_minor_axis_is_the_radius_of_the_fresnel_ellipsoid_of_itu_r_p526(height, elevation):
    to_antenna_km = height / np.sin(np.radians(elevation)) / 1000.0
    satellite_km = 2.2e4  # far enough for a source at infinity
    radius = p526_radius_m(to_antenna_km, satellite_km, L1_MHZ)
    wave = np.sqrt(L1 * to_antenna_km * 1000.0)
    assert radius == pytest.approx(wave, rel=P526_TOLERANCE)
    # the plane cuts the ellipsoid beyond its focus: b tends to the radius from above
    b = float(first_zone(height, elevation, L1).semi_minor_m)
    assert radius == pytest.approx(b, rel=P526_LIMIT_TOLERANCE)


def test_the_minor_axis_tends_to_the_radius_of_itu_r_p526_as_the_antenna_rises():
    # 10 m and 15°: 2.7115 against 2.7363 (derived here from the formula of ITU-R P.526, section 2)
    wave = np.sqrt(L1 * 10.0 / np.sin(np.radians(15.0)))
    assert wave == pytest.approx(2.7115, abs=TABLE_TOLERANCE_M)
    height = np.array([1.0, 10.0, 100.0, 1000.0, 10000.0])
    ratio = first_zone(height, 15.0, L1).semi_minor_m / np.sqrt(L1 * height / np.sin(np.radians(15.0)))
    assert np.all(np.diff(ratio) < 0) and ratio[-1] > 1
    assert ratio[-1] == pytest.approx(1.0, abs=1e-4)


def test_shapes_broadcast_over_heights_angles_and_wavelengths():
    zone = first_zone(np.ones((4, 1, 1)), np.array([5.0, 10.0, 20.0])[:, None], np.array([0.19, 0.24]))
    assert zone.area_m2.shape == (4, 3, 2)
    assert np.allclose(zone.area_m2, np.pi * zone.semi_major_m * zone.semi_minor_m)


@pytest.mark.parametrize("height, elevation", [(0, 10), (-1, 10), (np.nan, 10), (5, 0), (5, -3), (5, 91), (5, np.nan)])
def test_what_makes_no_reflection_is_nan_and_never_a_number(height, elevation):
    assert np.isnan(first_zone([height], [elevation], L1)).all()


def test_straight_overhead_the_zone_is_a_circle_under_the_antenna():
    zone = first_zone(5.0, 90.0, L1)
    # path there and back 2·sqrt: sqrt(h² + b²) = h + λ/2 (derived here)
    assert float(zone.semi_minor_m) == pytest.approx(np.sqrt((5.0 + L1 / 2) ** 2 - 25.0), abs=TABLE_TOLERANCE_M)
    assert float(zone.semi_major_m) == pytest.approx(float(zone.semi_minor_m), rel=1e-9)
    assert float(zone.centre_m) == pytest.approx(0.0, abs=1e-9)
    inside, outside = half_width_rad(zone, [float(zone.semi_minor_m) - 1e-6, float(zone.semi_minor_m) + 1e-6])
    assert inside == pytest.approx(np.pi) and outside == 0.0


@pytest.mark.parametrize("azimuth, east, north", [(0, 0, 1), (90, 1, 0), (180, 0, -1), (270, -1, 0)])
def test_azimuth_runs_clockwise_from_north(azimuth, east, north):
    zone = first_zone(10.0, 15.0, L1)
    centre = outline(zone, azimuth, 360)[:-1].mean(axis=0)
    assert np.allclose(centre, np.array([east, north]) * zone.centre_m, atol=1e-6)


def test_rings_are_closed_and_run_counter_clockwise():
    rings = outline(first_zone(np.array([2.0, 50.0])[:, None], 12.0, L1), np.array([10.0, 200.0, 350.0]))
    assert rings.shape == (2, 3, 73, 2)
    assert np.array_equal(rings[..., 0, :], rings[..., -1, :])
    x, y = rings[..., 0], rings[..., 1]
    doubled = np.sum(x[..., :-1] * y[..., 1:] - x[..., 1:] * y[..., :-1], axis=-1)
    assert np.all(doubled > 0)


@pytest.mark.parametrize("height, elevation", [*SCENES, (3.0, 89.9), (0.05, 40.0)])
def test_the_half_width_is_where_a_circle_meets_the_outline(height, elevation):
    zone = first_zone(height, elevation, L1)
    near, far = float(zone.near_m), float(zone.far_m)
    radius = np.linspace(max(near, -near if near < 0 else 0.0), far, 52)[1:-1]
    theta = half_width_rad(zone, radius)
    assert np.all((theta > 0) & (theta < np.pi))
    along, across = radius * np.cos(theta), radius * np.sin(theta)
    level = ((along - zone.centre_m) / zone.semi_major_m) ** 2 + (across / zone.semi_minor_m) ** 2
    assert np.abs(level - 1.0).max() < ELLIPSE_EQUATION_TOLERANCE


def test_circles_that_miss_the_ellipse_or_lie_inside_it_have_no_edge():
    zone = first_zone(10.0, 15.0, L1)
    assert np.all(half_width_rad(zone, [float(zone.near_m) - 0.01, float(zone.far_m) + 0.01]) == 0)
    # 1 m at 3°: the site stands inside its own footprint
    around = first_zone(0.1, 3.0, L1)
    assert float(around.near_m) < 0
    assert half_width_rad(around, -float(around.near_m) / 2) == pytest.approx(np.pi)


def test_arcs_of_all_rings_add_up_to_the_area():
    zones = first_zone(np.array([2.0, 20.0, 0.1]), np.array([5.0, 60.0, 3.0]), L1)
    for i in range(3):
        one = Ellipse(*(part[i] for part in zones))
        radius = np.linspace(0.0, float(one.far_m), 400_001)
        middle = (radius[1:] + radius[:-1]) / 2
        area = np.sum(2.0 * half_width_rad(one, middle) * middle) * (radius[1] - radius[0])
        assert area == pytest.approx(float(one.area_m2), rel=1e-4)
