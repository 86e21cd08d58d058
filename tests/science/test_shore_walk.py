"""Walking a shore: places at true metres, smoothed directions, corners, the lower side, slope, staying on land."""

import numpy as np
import pytest
from pyproj import Geod
from stillwater.siting.shore.along import Walk
from stillwater.siting.shore.chains import Chain
from stillwater.siting.shore.plane import ShorePlane
from stillwater.siting.shore.segments import Segments
from stillwater.siting.shore.setback import along_shore, on_polygons
from stillwater.siting.shore.sides import lower_side, slopes_deg, stays_on_land

GEOD = Geod(ellps="WGS84")


@pytest.fixture
def plane(middle_lonlat):
    """Give a plane around the middle of the scenes."""
    return ShorePlane(*middle_lonlat)


def chain(*xy):
    """Make an open chain, or a ring where its ends are one."""
    xy = np.array(xy, float)
    return Chain(xy, np.zeros(len(xy) - 1, int), bool(np.array_equal(xy[0], xy[-1])))


def rectangle(width, height, clockwise=True):
    """Make a ring."""
    xy = np.array([(0, 0), (0, height), (width, height), (width, 0), (0, 0)], float)
    return chain(*(xy if clockwise else xy[::-1]))


def test_places_share_what_is_left_between_both_ends(plane):
    walk = Walk(chain((0, 0), (0, 230)), plane)
    assert walk.places(50.0) == pytest.approx([15, 65, 115, 165, 215], abs=1e-6)
    assert walk.places(230.0) == pytest.approx([0, 230], abs=1e-5)
    assert walk.places(500.0) == pytest.approx([115], abs=1e-5)
    assert np.diff(Walk(rectangle(30, 20), plane).places(30.0)) == pytest.approx([100 / 3] * 2, abs=1e-5)


def test_points_stop_at_the_ends_and_go_on_round_a_ring(plane):
    walk = Walk(chain((0, 0), (0, 100)), plane)
    assert walk.points([-5.0, 40.0, 500.0]) == pytest.approx(np.array([[0, 0], [0, 40], [0, 100]]), abs=1e-5)
    ring = Walk(rectangle(30, 20), plane)
    assert ring.points([110.0, -10.0]) == pytest.approx(np.array([[0, 10], [10, 0]]), abs=1e-5)


def test_a_fitted_direction_is_that_of_the_line_and_halves_a_corner(plane):
    walk = Walk(chain((0, 0), (0, 100), (100, 100)), plane)
    runs = walk.directions(np.array([50.0, 100.0, 150.0]), 40.0)
    angle = np.degrees(np.arctan2(runs[:, 0], runs[:, 1]))
    assert angle == pytest.approx([0, 45, 90], abs=0.01)


def test_corners_are_those_sharper_than_thirty_degrees_and_signed(plane):
    corners = Walk(rectangle(30, 20), plane).corners()
    assert corners.along_m == pytest.approx([0, 20, 50, 70], abs=1e-5) and corners.turn_deg == pytest.approx([-90] * 4)
    blunt = chain(*[(50 * np.cos(a), 50 * np.sin(a)) for a in np.radians(np.arange(0, 360, 25))], (50.0, 0.0))
    assert len(Walk(blunt, plane).corners().along_m) == 0
    # a corner rounded off by short steps is one corner
    cut = chain((0, 0), (0, 19.5), (0.15, 19.85), (0.5, 20), (30, 20), (30, 0), (0, 0))
    assert len(Walk(cut, plane).corners().along_m) == 4


def test_edges_keep_half_a_spacing_from_corners(plane):
    walk = Walk(rectangle(30, 20), plane)
    places = walk.places_on_edges(walk.corners(), 10.0)
    assert sorted(places) == pytest.approx([5, 15, 25, 35, 45, 55, 65, 75, 85, 95], abs=1e-4)


def test_a_setback_stays_on_land_unless_other_water_lies_between():
    shore = Segments.of_lines([np.array([[0, 0], [0, 100.0]]), np.array([[8, 100.0], [8, 0]])])  # a spit, 8 m wide
    foot, step = np.array([0.0, 50.0]), np.array([0.0, 1.0])
    assert stays_on_land(shore, foot, step, np.array([4.0, 50.0]))
    assert not stays_on_land(shore, foot, step, np.array([12.0, 50.0]))
    assert not stays_on_land(shore, foot, step, np.array([-4.0, 50.0]))
    # through a vertex of the other shore, which is crossed once
    bent = Segments.of_lines([np.array([[0, 0], [0, 100.0]]), np.array([[8, 100.0], [8, 50], [8, 0]])])
    assert not stays_on_land(bent, foot, step, np.array([12.0, 50.0]))


def test_candidates_stand_behind_the_shore_by_the_geodesic(plane):
    places, dropped = along_shore([chain((0, 0), (100, 100))], plane, 20.0, 7.0)
    feet = Walk(chain((0, 0), (100, 100)), plane)
    lon, lat = plane.lonlat(feet.points(feet.places(20.0)))
    azimuth, _back, dist = GEOD.inv(*plane.lonlat(places.xy), lon, lat)
    assert dropped == 0 and len(places.kind) == 8 and dist == pytest.approx(7.0, abs=1e-3)
    assert np.mod(azimuth, 360) == pytest.approx(places.face_deg, abs=0.01)
    assert places.face_deg == pytest.approx(315.0, abs=0.05)


def test_a_sharp_corner_is_not_left_far_behind_and_an_inset_too_large_is_dropped(plane):
    places, dropped = on_polygons([rectangle(30, 20)], plane, 100.0, 2.0)
    assert places.kind == ["corner"] * 4 and dropped == 0
    assert np.sort(places.xy[:, 0]) == pytest.approx([2, 2, 28, 28], abs=1e-3)
    needle = chain((0, 0), (5, 100), (10, 0), (0, 0))
    places, _dropped = on_polygons([needle], plane, 500.0, 2.0)
    assert places.xy[:, 1].max() == pytest.approx(94.0, abs=0.1)  # three offsets, though 2 m from both sides is 40 m in
    assert on_polygons([rectangle(30, 20)], plane, 100.0, 25.0)[1] == 4


def test_the_lower_side_is_told_with_its_share(write_raster, plane):
    heights = np.zeros((400, 400), np.float32)
    heights[:, 200:] = 3.0  # the east is land
    north = Walk(chain((0, -150), (0, 150)), plane)
    lower = lower_side(north, plane, write_raster(heights))
    assert lower.left and lower.share == 1.0 and lower.probes == 100
    assert lower_side(Walk(north.chain.turned(), plane), plane, write_raster(heights)).left is False
    heights[:120] = heights[:120, ::-1]  # two fifths say the other
    assert 0.5 < lower_side(north, plane, write_raster(heights)).share < 0.85
    assert lower_side(north, plane, write_raster(heights * 0)).left is None
    assert lower_side(north, plane, write_raster(heights, nodata=0.0, name="hole.tif")).left is None


def test_slope_by_horn_is_that_of_a_plane_wherever_the_point_lies_in_its_cell(write_raster, plane):
    y, x = np.mgrid[0:200, 0:200]
    heights = (0.3 * x - 0.4 * y).astype(np.float32)  # 0.5 per metre of the map
    dem = write_raster(heights)
    lon, lat = plane.lonlat(np.array([[0.0, 0.0], [0.5, 0.5], [20.3, -31.7], [5000.0, 0.0]]))
    slopes = slopes_deg(dem, lon, lat)
    # 0.9996: the scale of UTM on its central meridian
    assert slopes[:3] == pytest.approx(np.degrees(np.arctan(0.5 * 0.9996)), abs=0.01) and np.isnan(slopes[3])
    heights[100, 100] = -99.0
    assert np.isnan(slopes_deg(write_raster(heights, nodata=-99.0, name="hole.tif"), lon[:1], lat[:1]))[0]
