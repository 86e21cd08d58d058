"""The best that stand well apart, and rows of places wherever they stand."""

from itertools import combinations

import numpy as np
import pytest
from pyproj import Geod
from stillwater.siting.ground.arrayraster import ArrayRaster
from stillwater.siting.ranking.ranking import rank, rows_of
from stillwater.siting.ranking.wellapart import well_apart
from stillwater.siting.setup import Setup
from stillwater.siting.sight.looking import SightLayers
from stillwater.siting.sight.terrain import Terrain
from stillwater.tests.science.shore_scenes import EAST, NORTH, SETTINGS, UTM, sea

GEOD = Geod(ellps="WGS84")


@pytest.mark.parametrize("apart_m, number", [(0.0, 7), (300.0, 5), (800.0, 100), (5000.0, 100)])
def test_any_two_that_are_taken_stand_apart_and_whoever_is_left_out_stands_near_a_better_one(apart_m, number):
    rng = np.random.default_rng(8)
    lon, lat = 15.0 + 0.03 * rng.random(120), 60.0 + 0.015 * rng.random(120)
    taken = well_apart(lon, lat, number, apart_m)

    def dist(one, other):
        return GEOD.inv(lon[one], lat[one], lon[other], lat[other])[2]

    assert taken == sorted(taken) and taken[0] == 0 and 1 <= len(taken) <= number
    assert all(dist(one, other) >= apart_m for one, other in combinations(taken, 2))
    if len(taken) == number:
        rest = [one for one in range(taken[-1]) if one not in taken]
    else:
        rest = [one for one in range(120) if one not in taken]
    assert all(any(dist(one, better) < apart_m for better in taken if better < one) for one in rest)


def test_across_the_antimeridian_neighbours_are_neighbours():
    assert well_apart([179.9999, -179.9999, 179.0], [10.0] * 3, 3, 1000.0) == [0, 2]
    assert well_apart([], [], 3, 1000.0) == []


def test_rows_of_places_are_those_of_a_ranking_in_their_own_order(candidate, look_at):
    setup = Setup(sea(5.0), SETTINGS, look_at(("GPS",)))
    sites = [candidate(2.0, name="a"), candidate(6.0, name="b"), candidate(5.0, x=np.nan, name="c")]
    rows = rows_of(sites, setup)
    assert [row.index for row in rows] == [0, 1, 2] and [row.rank for row in rows] == [2, 1, None]
    by_rank = {row.index: row for row in rank(sites, setup)}
    for row in rows:
        assert (row.verdict, row.advice) == (by_rank[row.index].verdict, by_rank[row.index].advice)
    assert rows_of([], setup) == []


def test_places_below_the_ground_get_their_problem(candidate, look_at):
    cells = np.full((300, 300), 8.0, np.float32)
    dem = ArrayRaster(cells, (EAST - 150.0, 1.0, 0.0, NORTH + 150.0, 0.0, -1.0), UTM)
    sites = [candidate(6.0, name="a"), candidate(9.0, name="b")]
    terrain = Terrain(dem, max_distance_m=100.0, lon=[15.0], lat=[44.97])
    low, high = rows_of(sites, Setup(sea(), SETTINGS, look_at(("GPS",)), sight=SightLayers(None, None, terrain)))
    assert low.result is None and "2.00 m below the ground" in low.limit_by and high.result is not None
