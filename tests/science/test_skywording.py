"""What the satellites give, in words: intervals of two digits, and directions that no satellite crosses."""

from types import SimpleNamespace

import numpy as np
import pytest
from stillwater.siting.assess import assess
from stillwater.siting.ground.polygons import PolygonLayer, Ring
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.words.skywording import empty_words, seconds
from stillwater.tests.science.shore_scenes import SETTINGS, sea


@pytest.mark.parametrize("value, wanted", [
    (0.0512, "0.051"), (0.5, "0.5"), (1.0, "1"), (9.96, "10"), (26.04, "26"), (131.0, "130"), (1204.0, "1200")])
def test_intervals_carry_two_digits(value, wanted):
    assert seconds(value) == wanted


def test_directions_without_satellites_are_named_where_they_count(candidate):
    (_index, found), = assess([candidate(6.0)], sea(0.0), SETTINGS)
    empty = np.zeros(SETTINGS.bins, bool)
    assert empty_words(found, SimpleNamespace(empty_bins=empty)) == ""
    empty[[8, 9, 10]] = True  # 80 to 110°, over the water
    assert empty_words(found, SimpleNamespace(empty_bins=empty)) == (
        "no satellite crosses the usable angles of 5 to 20° between 80 and 110°")
    on_land = np.zeros(SETTINGS.bins, bool)
    on_land[27] = True
    assert empty_words(found, SimpleNamespace(empty_bins=on_land)) == "", "nothing is usable there anyway"


@pytest.mark.parametrize("latitude, towards_the_pole", [(40.0, True), (60.0, False)])
def test_gps_leaves_a_hole_towards_the_pole_of_middle_latitudes(latitude, towards_the_pole, candidate, look_at):
    """GPS satellites never stand farther from the equator than their inclination of 55° (IS-GPS-200): at 40° N none
    comes low in the north; at 60° N some come low over the pole."""
    one = candidate(6.0, x=15.0, y=latitude, crs="EPSG:4326")
    ring = Ring(np.array([[14.9, -0.1], [15.1, -0.1], [15.1, 0.1], [14.9, 0.1]]) + (0.0, latitude), False, 0)
    layers = SurfaceLayers(water=PolygonLayer([ring], "EPSG:4326", "water"), is_sea=True)
    (_index, found), = assess([one], layers, SETTINGS)
    worth = look_at(("GPS",)).over(found).worth()
    assert found.counts.all()
    assert worth.empty_bins[0] == worth.empty_bins[-1] == towards_the_pole
    assert ("no satellite crosses" in empty_words(found, worth)) == bool(worth.empty_bins.any())
    assert not worth.empty_bins[18], "the south is crossed"
