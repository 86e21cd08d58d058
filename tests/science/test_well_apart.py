"""Taking positions well apart, against distances on the ellipsoid: a degree of the equator is 111.32 km (WGS 84)."""
import numpy as np
import pyproj
import pytest
from stillwater.siting.ranking.wellapart import well_apart

DEGREE_M = 6_378_137.0 * np.pi / 180.0


def on_equator(metres):
    return (np.array(metres, float) / DEGREE_M).tolist(), [0.0] * len(metres)


@pytest.mark.parametrize("metres, number, apart, taken", [
    ([0, 40, 101, 99, 250], 5, 100.0, [0, 2, 4]),
    ([0, 40, 101, 99, 250], 2, 100.0, [0, 2]), ([0, 40, 101, 99, 250], 1, 100.0, [0]),
    ([0, 40, 101, 99, 250], 0, 100.0, []),
    ([250, 99, 101, 40, 0], 5, 100.0, [0, 1]),          # the best first, wherever it lies
    ([0, 40, 101], 9, 0.0, [0, 1, 2]), ([0, 0, 0], 2, 0.0, [0, 1]), ([0, 0, 0], 3, 1.0, [0]),
    ([], 3, 10.0, [])])
def test_each_one_taken_keeps_off_all_before_it(metres, number, apart, taken):
    assert well_apart(*on_equator(metres), number, apart) == taken


def test_just_as_far_as_asked_for_is_far_enough():
    lon, lat = on_equator([0, 500, 1000])
    far = pyproj.Geod(ellps="WGS84").inv(lon[0], 0.0, lon[1], 0.0)[2]
    assert well_apart(lon, lat, 2, far) == [0, 1]
    assert well_apart(lon, lat, 2, far + 0.001) == [0, 2]


@pytest.mark.parametrize("number", [3, 50])
def test_greedily_and_never_nearer_than_told(number):
    """A count in plain Python over true distances, at 60° N, where a degree of longitude is half as long."""
    rng = np.random.default_rng(6)
    lon, lat = 10.0 + rng.random(50) * 0.02, 60.0 + rng.random(50) * 0.01
    geod, wanted = pyproj.Geod(ellps="WGS84"), []
    for one in range(50):
        if len(wanted) < number and all(
                geod.inv(lon[one], lat[one], lon[i], lat[i])[2] >= 200.0 for i in wanted):
            wanted.append(one)
    assert well_apart(lon, lat, number, 200.0) == wanted and (number == 50) == (len(wanted) < number)
