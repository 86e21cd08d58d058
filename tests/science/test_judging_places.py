"""Judging places beside a site: over the map's seam, without what a height needs, in the water, and roughly."""

from dataclasses import replace

import numpy as np
import pytest
from pyproj import Geod
from stillwater.siting.candidates import Candidate, Resolver
from stillwater.siting.ground.arrayraster import ArrayRaster
from stillwater.siting.ground.polygons import PolygonLayer, Ring
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.improve.judge import Judge
from stillwater.siting.improve.search import Heights, search
from stillwater.siting.improve.searchregion import SearchRegion
from stillwater.siting.ranking.ranking import rank
from stillwater.siting.setup import Setup
from stillwater.tests.science.shore_scenes import EAST, NORTH, SETTINGS, UTM, sea

GEOD = Geod(ellps="WGS84")


@pytest.fixture
def judge(look_at):
    """Give a function that makes a judge of a site on the middle, behind a shore 20 m east unless told otherwise."""
    def make(height_m=5.0, resolver=None, layers=None, at=(EAST, NORTH), **options):
        setup = Setup(layers or sea(20.0), SETTINGS, look_at(("GPS",)),
                      resolver=resolver or Resolver(UTM, "surface", False))
        one = Candidate("site", *at, height_m)
        setup.resolver([one])
        return Judge(one, setup, 60.0, **options)
    return make


def test_a_place_beyond_the_antimeridian_is_written_on_the_other_side_of_the_map(judge):
    """30 m east of 179.9999° E lies west of 180° W on a map from −180 to 180°, as a geodesic has it."""
    lon, lat = 179.9999, -17.0
    ring = Ring(np.array([[179.0, -18.0], [180.0, -18.0], [180.0, -16.0], [179.0, -16.0]]), False, 0)
    one = judge(resolver=Resolver("EPSG:4326", "surface", False), at=(lon, lat),
                layers=SurfaceLayers(water=PolygonLayer([ring], "EPSG:4326", "water")))
    beyond = one.candidate(30.0, 0.0, 5.0)
    wanted, wanted_lat, _back = GEOD.fwd(lon, lat, 90.0, 30.0)
    assert wanted < 0 and (beyond.x, beyond.y) == pytest.approx((wanted, wanted_lat), abs=1e-7)
    here = one.candidate(0.0, 0.0, 7.0)
    assert (here.x, here.y, here.height_m) == (lon, lat, 7.0)


def test_a_judged_place_is_worth_what_a_ranking_says_of_a_site_there(judge):
    one = judge()
    place, = one.look([(12.0, -5.0, 6.0)])
    there = one.candidate(12.0, -5.0, 6.0)
    one.setup.resolver([there])
    row, = rank([there], one.setup)
    assert place.result.score == row.result.score and place.result.precision == row.result.precision
    again, = one.look([(12.001, -5.001, 6.0)])
    assert again is place, "places are told apart to the centimetre, and each is looked at once"


def test_in_the_water_no_antenna_is_put_but_the_site_itself_may_stand_there(judge):
    one = judge(at=(EAST + 40.0, NORTH))
    here, ashore, afloat = one.look([(0.0, 0.0, 5.0), (-30.0, 0.0, 5.0), (10.0, 0.0, 5.0)])
    assert here.result is not None and ashore.result is not None and afloat.result is None


def test_without_the_ground_that_a_height_is_counted_from_nothing_is_judged(judge):
    """An elevation model without data tells no ground: no place has a height there."""
    nothing = np.full((50, 50), -9999.0, np.float32)
    dem = ArrayRaster(nothing, (EAST - 25, 1.0, 0.0, NORTH + 25, 0.0, -1.0), UTM, -9999.0)
    places = judge(resolver=Resolver(UTM, "ground", True, dem)).look([(0.0, 0.0, 5.0), (3.0, 0.0, 5.0)])
    assert [place.result for place in places] == [None, None]
    # and a reference that needs a model there is none of is no error of a search
    one = judge()
    one.setup = replace(one.setup, resolver=Resolver(UTM, "ground", False))
    assert one.look([(0.0, 0.0, 5.0)])[0].result is None


def test_looking_roughly_halves_the_angles_and_keeps_the_ends(judge):
    rough = judge().roughly()
    angles = rough.setup.settings.elevation_deg
    assert (angles[0], angles[-1]) == (5.0, 20.0) and len(angles) == 9
    fine, = judge().look([(15.0, 0.0, 6.0)])
    coarse, = rough.look([(15.0, 0.0, 6.0)])
    assert coarse.reserve == pytest.approx(fine.reserve, abs=0.1)


def test_where_no_place_can_be_judged_a_search_ends_without_one(judge):
    one = judge()
    one.setup = replace(one.setup, resolver=Resolver(UTM, "ground", False))
    found = search(one, SearchRegion(10.0), Heights(4.0, 6.0))
    assert found.best.result is None and found.least_m is None and found.nearest_m is None
