"""Barriers whose edges are straight on the map and bent on the ground, or lie over the map's seam."""

import numpy as np
import pytest
from pyproj import Geod
from scipy.optimize import brentq
from stillwater.siting.earth import RADIO_RADIUS_M
from stillwater.siting.errors import InputError
from stillwater.siting.ground.polygons import PolygonLayer, Ring
from stillwater.siting.sight.barriers import Barriers
from stillwater.siting.sight.terrain import Terrain

GEOD = Geod(ellps="WGS84")
HIGH_M, EYE_M = 80.0, 5.0


def wall(west, east, south, north):
    """Make a barrier between meridians and parallels."""
    ring = Ring(np.array([[west, south], [east, south], [east, north], [west, north]], float), False, 0)
    return Barriers(PolygonLayer([ring], "EPSG:4326", "walls"), np.array([HIGH_M]))


def skyline(barriers, lon, lat, azimuth, reach=15_000.0):
    return Terrain(None, barriers=barriers, max_distance_m=reach, lon=[lon], lat=[lat]).skyline(
        0, EYE_M, np.asarray(azimuth, float))


def angle(dist):
    """Return the elevation angle of the wall's top at a distance, the Earth's curve and refraction allowed for [°]."""
    return np.degrees(np.arctan((HIGH_M - EYE_M - dist**2 / (2 * RADIO_RADIUS_M)) / dist))


def to_parallel(lon, lat, azimuth, parallel):
    """Return how far off a geodesic meets a parallel [m]."""
    return brentq(lambda dist: GEOD.fwd(lon, lat, azimuth, dist)[1] - parallel, 1.0, 14_000.0)


@pytest.mark.parametrize("azimuth", [0.0, 20.0, 45.0, -60.0])
def test_a_wall_along_a_parallel_is_met_where_geodesics_meet_it(azimuth):
    """Over 0.8° at 65° N a parallel strays from a straight line by some 30 m."""
    found = skyline(wall(14.6, 15.4, 65.04, 65.05), 15.0, 65.0, [azimuth])
    dist = to_parallel(15.0, 65.0, azimuth, 65.04)
    assert found.dist_m[0] == pytest.approx(dist, abs=1.0)
    assert found.el_deg[0] == pytest.approx(angle(dist), abs=0.002)


@pytest.mark.parametrize("lon", [179.95, -179.95])
def test_a_wall_on_the_other_side_of_the_maps_seam_stands_as_near_as_it_does(lon):
    west = -180.0 if lon > 0 else 179.9
    found = skyline(wall(west, west + 0.1, -17.05, -16.95), lon, -17.0, [90.0, 270.0])
    dist = GEOD.inv(lon, -17.0, 180.0, -17.0)[2]
    ahead, behind = (0, 1) if lon > 0 else (1, 0)
    assert found.dist_m[ahead] == pytest.approx(dist, abs=1.0)
    assert found.el_deg[ahead] == pytest.approx(angle(dist), abs=0.002) and np.isneginf(found.el_deg[behind])


def test_out_of_reach_off_the_map_or_without_polygons_nothing_stands():
    far = wall(15.0, 15.1, 66.0, 66.1)
    assert np.isneginf(skyline(far, 15.0, 65.0, [0.0]).el_deg[0])
    assert np.isneginf(skyline(far, np.nan, np.nan, [0.0]).el_deg[0])
    empty = Barriers(PolygonLayer([], "EPSG:4326", "walls"), np.zeros(1))
    assert np.isneginf(skyline(empty, 15.0, 65.0, [0.0]).el_deg[0])


@pytest.mark.parametrize("heights", [[], [np.nan], [-1.0]])
def test_a_height_that_is_missing_or_negative_is_refused(heights):
    ring = Ring(np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0]]), False, 0)
    with pytest.raises(InputError, match="BARRIERS “walls” has a height that is missing or negative"):
        Barriers(PolygonLayer([ring], "EPSG:4326", "walls"), np.array(heights))
