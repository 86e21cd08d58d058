"""Assessing one site: shares as areas of ellipses by shapely, what is busy, what counts, and how a run goes on."""

from dataclasses import replace

import numpy as np
import pytest
from shapely.affinity import rotate, scale
from shapely.geometry import Point
from shapely.geometry import box as rectangle
from stillwater.siting.assess import assess
from stillwater.siting.errors import Cancelled
from stillwater.siting.geometry.fresnel import first_zone
from stillwater.siting.ground.arrayraster import ArrayRaster
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.sight.barriers import Barriers
from stillwater.siting.sight.looking import SightLayers
from stillwater.tests.science import shore_scenes
from stillwater.tests.science.shore_scenes import (
    ANGLES,
    EAST,
    FAR,
    L1_M,
    NORTH,
    SETTINGS,
    UTM,
    box,
    layer,
    sea,
    towards,
)

SHARE = 0.015
"""How well shares are held to areas: a footprint is cut by 24 rings at least."""


def zone_of(height_m, angle, azimuth_deg):
    """Return a first Fresnel zone as an ellipse of shapely [m]."""
    a, b, c = (float(part) for part in first_zone(height_m, angle, L1_M))
    return rotate(scale(Point(0, c).buffer(1.0, 64), b, a), -azimuth_deg, origin=(0, 0))


def part_of(height_m, angle, where, bin_):
    """Return the part of a bin's footprint, which lies towards its middle, that lies in a polygon."""
    zone = zone_of(height_m, angle, SETTINGS.bin_centre_deg[bin_])
    return zone.intersection(where).area / zone.area


def one_of(candidates, layers, settings=SETTINGS, **options):
    (_index, found), = assess(candidates, layers, settings, **options)
    return found


@pytest.mark.parametrize("height_m", [3.0, 8.0])
def test_shares_behind_a_shore_are_areas_of_the_footprints_in_the_water(candidate, height_m):
    found = one_of([candidate(height_m)], sea(15.0))
    water = rectangle(15.0 / 0.9996, -FAR, FAR, FAR)
    for k in (0, 5, 15):
        for bin_ in (0, 4, 8, 14, 20):
            wanted = part_of(height_m, ANGLES[k], water, bin_)
            assert found.share[k, bin_] == pytest.approx(wanted, abs=SHARE), (ANGLES[k], bin_)
    np.testing.assert_allclose(found.share_of("target")[0], found.share, atol=1e-6)


def test_what_is_avoided_part_of_the_time_makes_busy_and_takes_no_share(candidate):
    farm = rectangle(20.0 / 0.9996, -400, 60.0 / 0.9996, 400)
    found = one_of([candidate(5.0)], shore_scenes.avoiding(box(20, -400, 60, 400), "farm", 0.4))
    assert found.share.min() > 1 - 1e-4 and found.partly_names == [("farm", 0.4)]
    for k in (0, 6, 15):
        for bin_ in (8, 9, 12):
            part = part_of(5.0, ANGLES[k], farm, bin_)
            assert found.partly_shares[0][k, bin_] == pytest.approx(part, abs=SHARE)
            if abs(part - (1 - SETTINGS.min_share)) > SHARE:
                assert found.busy[k, bin_] == (0.4 if part > 1 - SETTINGS.min_share else 0.0)
    west = towards(270.0)
    assert not found.busy[:, west].any() and found.window_busy[west] == 0.0
    east = towards(90.0)
    # the windows are whole, so the mean is over all angles
    assert found.window_busy[east] == pytest.approx(found.busy[:, east].mean())
    assert not one_of([candidate(5.0)], sea()).window_busy.any()


def test_without_one_of_two_areas_only_the_other_keeps_a_footprint_busy(candidate):
    layers = sea(avoid=layer(box(10, -400, 90, 400), box(-90, -400, -10, 400, 1), groups=2, name="avoid"),
                 avoid_names=["east", "west"], avoid_shares=np.array([0.2, 0.6]))
    found = one_of([candidate(5.0)], layers)
    assert found.partly_names == [("west", 0.6), ("east", 0.2)], "the most frequent first"
    to_east, to_west = towards(90.0), towards(270.0)
    assert found.busy[5, to_east] == pytest.approx(0.2) and found.busy[5, to_west] == pytest.approx(0.6)
    without_west, without_east = found.busy_without(0), found.busy_without(1)
    assert without_west[5, to_west] == 0 and without_west[5, to_east] == pytest.approx(0.2)
    assert without_east[5, to_east] == 0 and without_east[5, to_west] == pytest.approx(0.6)


def test_the_ground_of_a_window_lies_between_its_highest_and_its_lowest_footprint(candidate):
    found = one_of([candidate(5.0, low_m=-1.0, high_m=1.0)], sea(12.0))
    near, far = found.ground_of_window()
    bin_ = towards(95.0)
    first, last = found.windows.first[bin_], found.windows.last[bin_]
    assert 0 <= first < last
    assert near[bin_] == pytest.approx(float(first_zone(4.0, ANGLES[last], L1_M).near_m), rel=1e-6)
    assert far[bin_] == pytest.approx(float(first_zone(6.0, ANGLES[first], L1_M).far_m), rel=1e-6)
    west = towards(275.0)
    assert found.windows.first[west] < 0
    assert far[west] == pytest.approx(float(first_zone(6.0, 5.0, L1_M).far_m), rel=1e-6), "where there is none, of all"


def test_a_direction_counts_from_the_oscillations_and_the_separation_asked_for(candidate):
    """N = 2hW/λ and λ/(2W) over the whole window."""
    w = np.sin(np.radians(20)) - np.sin(np.radians(5))
    found = one_of([candidate(2.0)], sea())
    assert found.cycles == pytest.approx(2 * 2.0 * w / L1_M) and found.separation_m == pytest.approx(L1_M / (2 * w))
    for change, wanted in (({"min_cycles": 2 * 2.0 * w / L1_M + 0.01}, False),
                           ({"min_cycles": 2 * 2.0 * w / L1_M - 0.01}, True),
                           ({"max_res_m": L1_M / (2 * w) - 0.01}, False), ({"max_res_m": None}, True)):
        assert one_of([candidate(2.0)], sea(), replace(SETTINGS, **change)).counts.all() == wanted


def test_where_no_layer_tells_anything_all_is_unknown(candidate):
    dem = ArrayRaster(np.full((300, 300), -9999.0), (EAST - 150, 1.0, 0.0, NORTH + 150, 0.0, -1.0), UTM, -9999.0)
    assert one_of([candidate(5.0)], SurfaceLayers(dem=dem, dem_is_bed=True)).is_unknown
    assert not one_of([candidate(5.0)], sea(FAR - 1.0)).is_unknown, "land is known"


def test_waves_of_polygons_stand_before_the_sites_own(candidate):
    """Rms height is a quarter of the significant wave height (narrow-band theory, Longuet-Higgins 1952)."""
    layers = sea(water=layer(box(-FAR, -FAR, 0, FAR), box(0, -FAR, FAR, FAR, 1), groups=2),
                 water_waves=np.array([np.nan, 2.0]))
    one = candidate(5.0)
    one.wave_m = 0.8
    found = one_of([one], layers)
    assert found.rms_m[0, :, towards(90.0)] == pytest.approx(0.5, rel=0.01)
    assert found.rms_m[0, :, towards(270.0)] == pytest.approx(0.2, rel=0.01)
    calm = one_of([candidate(5.0)], sea())
    assert np.isnan(calm.rms_m).all() and not calm.loss_db.any()


def test_barriers_hide_without_any_elevation_model(candidate):
    """A wall of 3 m, 10 m east: from 5 m the water behind it is hidden to 25 m, where 20° reflects."""
    wall = Barriers(layer(box(10, -40, 11, 40), name="walls"), np.array([3.0]))
    found = one_of([candidate(5.0)], sea(), sight=SightLayers(None, wall, None))
    east, west = towards(95.0), towards(275.0)
    assert found.share_of("hidden")[0, 15, east] > 0.85 and found.share_of("hidden")[0, 15, west] < 1e-6
    # 5° reflects from 31 m on
    assert found.share[0, east] > 0.85
    # a wall just over the water hides nothing, for nobody looks so low
    low = Barriers(layer(box(10, -40, 11, 40), name="walls"), np.array([0.01]))
    assert one_of([candidate(5.0)], sea(), sight=SightLayers(None, low, None)).share.min() > 0.99


def test_candidates_are_told_in_their_order_and_one_with_a_problem_is_passed_over(candidate):
    sites = [candidate(5.0, name="a"), candidate(5.0, x=np.nan, name="b"), candidate(7.0, name="c")]
    told = []
    found = dict(assess(sites, sea(), SETTINGS, lambda part, name: told.append((round(part, 3), name))))
    assert [index for index in found] == [0, 1, 2] and found[1] is None
    assert found[2].least_height_m == pytest.approx(7.0)
    assert told == [(0.0, "a"), (0.333, "b"), (0.667, "c")]
    with pytest.raises(Cancelled):
        list(assess(sites, sea(), SETTINGS, is_cancelled=lambda: True))
