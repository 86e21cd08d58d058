"""The outermost places of a search: its corners by a geodesic, as high as any place in it may come to stand."""

import numpy as np
import pytest
from pyproj import Geod
from stillwater.siting.candidates import Candidate, Resolver
from stillwater.siting.ground.arrayraster import ArrayRaster
from stillwater.siting.improve.outermost import outermost_places
from stillwater.siting.improve.search import Heights
from stillwater.siting.improve.searchregion import SearchAreas, SearchRegion
from stillwater.tests.science.shore_scenes import EAST, NORTH, UTM, box

GEOD = Geod(ellps="WGS84")
PLACE_M = 0.05
SLOPE = 0.1


def resolved(resolver, height_m=5.0, **given):
    """Make a resolved site on the middle."""
    one = Candidate("site", EAST, NORTH, height_m, low_m=-1.0, high_m=1.0, **given)
    resolver([one])
    return one


@pytest.fixture
def plain():
    """Give what resolves places over water."""
    return Resolver(UTM, "surface", False)


@pytest.fixture
def hillside():
    """Give what resolves heights over ground that rises by a tenth eastwards."""
    east = (np.arange(400) + 0.5) - 200.0
    ground = np.broadcast_to(10.0 + SLOPE * east, (400, 400)).astype(np.float32)
    dem = ArrayRaster(ground, (EAST - 200.0, 1.0, 0.0, NORTH + 200.0, 0.0, -1.0), UTM)
    return Resolver(UTM, "ground", False, dem)


def test_a_disc_has_the_corners_of_its_box_and_the_site_itself(plain):
    one = resolved(plain)
    places = outermost_places(one, SearchRegion(50.0), Heights(3.0, 9.0), plain)
    azimuth, _back, dist = GEOD.inv([one.lon] * 5, [one.lat] * 5, [c.lon for c in places], [c.lat for c in places])
    assert dist[:4] == pytest.approx([50.0 * np.sqrt(2.0)] * 4, abs=PLACE_M)
    assert sorted(np.round(np.array(azimuth[:4]) % 360.0)) == [45.0, 135.0, 225.0, 315.0]
    assert dist[4] == pytest.approx(0.0, abs=1e-6)
    for place in places:
        assert (place.height_m, place.over_zero_m, place.problem) == (9.0, 9.0, "")
        assert place.levels_m.tolist() == [-1.0, 1.0]


def test_a_site_higher_than_the_search_keeps_its_height(plain):
    places = outermost_places(resolved(plain, 20.0), SearchRegion(5.0), Heights(3.0, 9.0), plain)
    assert {place.over_zero_m for place in places} == {20.0}


def test_without_a_region_it_is_the_site_alone(plain):
    place, = outermost_places(resolved(plain), None, Heights(3.0, 9.0), plain)
    assert (place.x, place.y) == pytest.approx((EAST, NORTH), abs=1e-6)


def test_a_polygon_away_from_the_site_is_joined_with_it(plain):
    one = resolved(plain)
    region = SearchAreas([[box(20, 30, 60, 90)]], UTM, "roof").region(one.lon, one.lat)
    places = outermost_places(one, region, Heights(5.0, 5.0), plain)
    corners = {(round(c.x - EAST), round(c.y - NORTH)) for c in places}
    assert corners == {(0, 0), (60, 0), (0, 90), (60, 90)}


def test_all_stand_as_high_as_the_highest_ground_lets_any(hillside):
    """Half a cell at most lies between the corner and the cell's middle, which the ground is told for."""
    one = resolved(hillside)
    places = outermost_places(one, SearchRegion(40.0), Heights(4.0, 6.0), hillside)
    highest = 10.0 + SLOPE * 40.0 + 6.0
    assert len({place.over_zero_m for place in places}) == 1
    assert places[0].over_zero_m == pytest.approx(highest, abs=SLOPE)


def test_a_problem_of_the_site_does_not_matter_and_one_of_all_places_leaves_none(hillside, plain):
    one = resolved(hillside)
    one.problem, one.drowned = "the antenna is below the ground", True
    assert all(not place.problem and not place.drowned for place in
               outermost_places(one, SearchRegion(10.0), Heights(4.0, 6.0), hillside))
    # under water at the highest level wherever it is put
    sunken = resolved(plain, 0.5)
    assert sunken.drowned and outermost_places(sunken, SearchRegion(10.0), Heights(0.2, 0.4), plain) == []
