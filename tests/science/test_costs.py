"""What a cause costs, against the same site looked at again without it."""

import numpy as np
import pytest
from stillwater.siting.assess import assess
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.precision.demand import Demand
from stillwater.siting.ranking.ranking import rank
from stillwater.siting.settings import Settings
from stillwater.siting.setup import Limits, Setup
from stillwater.siting.signals import wavelength_m
from stillwater.siting.verdict.causes import find_causes
from stillwater.siting.verdict.costs import AVOID, BEFORE, BUSY, GAPS, HEIGHT, INTERVAL, WAVES, costs_of

L1 = wavelength_m("GPS L1")
SETTINGS = Settings(L1, tuple(float(a) for a in range(5, 21)), 72)
SEA = [(-4000, -4000), (4000, -4000), (4000, 4000), (-4000, 4000)]
NORTH = [(-4000, 0), (4000, 0), (4000, 4000), (-4000, 4000)]
PARTS = 0.02
"""Shares by ring and bin are an estimate within a footprint; the information that follows is held to so much."""


def looked(layers, look, one):
    (_index, found), = assess([one], layers, SETTINGS)
    return look.over(found)


def costs(layers, look, one):
    over = looked(layers, look, one)
    return costs_of(over, over.worth(), find_causes(over.assessment)), over


def test_an_area_to_avoid_costs_what_the_site_has_more_without_it(look, candidate, local_rings):
    water = local_rings((NORTH, [], 0))
    rafts = local_rings(([(-30, 20), (40, 20), (40, 70), (-30, 70)], [], 0))
    spoiled = SurfaceLayers(water=water, avoid=rafts, avoid_names=["rafts"], avoid_shares=np.array([1.0]))
    found, over = costs(spoiled, look, candidate(6.0))
    free = looked(SurfaceLayers(water=water), look, candidate(6.0)).worth().information
    first = found[0]
    assert (first.kind, first.name) == (AVOID, "rafts") and first.can_be_mended
    assert first.part == pytest.approx(1 - over.worth().information / free, abs=PARTS) and first.part > 0.2
    assert first.near_m == pytest.approx(20, abs=4) and first.far_m == pytest.approx(72, abs=12)


def test_a_berth_part_of_the_time_costs_the_arcs_it_takes(look, candidate, local_rings):
    water = local_rings((NORTH, [], 0))
    boxes = local_rings(([(-200, 5), (0, 5), (0, 200), (-200, 200)], [], 0),
                        ([(0, 5), (200, 5), (200, 200), (0, 200)], [], 1), groups=2)
    ships = SurfaceLayers(water=water, avoid=boxes, avoid_names=["west berth", "east berth"],
                          avoid_shares=np.array([0.6, 0.2]))
    found, over = costs(ships, look, candidate(6.0))
    one = found[0]
    assert (one.kind, one.name, one.share) == (BUSY, "west berth", 0.6)
    east = local_rings(([(0, 5), (200, 5), (200, 200), (0, 200)], [], 0))
    without = looked(SurfaceLayers(water=water, avoid=east, avoid_names=["east berth"], avoid_shares=np.array([0.2])),
                     look, candidate(6.0)).worth().information
    assert one.part == pytest.approx(1 - over.worth().information / without, abs=PARTS)
    row, = rank([candidate(6.0)], Setup(ships, SETTINGS, look))
    assert row.verdict == "suitable" and row.limit_by.startswith("west berth, there 60 % of the time, costs ")
    assert row.advice.startswith("wait for west berth to be free (40 % of the time)")


def test_ground_before_the_water_stands_before_land_behind(look, candidate, local_rings):
    """15 m behind a straight shore: the 15 m can be mended, the land behind cannot and is not even a direction of the
    water's; moved to the shore the site has what was said to be lost."""
    water = SurfaceLayers(water=local_rings(([(-4000, 15), (4000, 15), (4000, 4000), (-4000, 4000)], [], 0)))
    found, over = costs(water, look, candidate(8.0))
    first = found[0]
    assert first.kind == BEFORE and first.far_m == pytest.approx(25, abs=10)
    assert not first.bins[30:42].any(), "to the south there is no water to be had"
    row, = rank([candidate(8.0)], Setup(water, SETTINGS, look))
    assert "before the water costs" in row.limit_by


def test_an_interval_too_long_and_waves_are_told_with_what_they_cost(look_at, candidate, local_rings):
    sea = SurfaceLayers(water=local_rings((SEA, [], 0)))
    found, over = costs(sea, look_at(interval_s=30.0), candidate(12.0))
    fast = looked(sea, look_at(interval_s=1.0), candidate(12.0)).worth()
    first = found[0]
    assert first.kind == INTERVAL and first.part == pytest.approx(
        1 - over.worth().information / fast.information, abs=PARTS)
    row, = rank([candidate(12.0)], Setup(sea, SETTINGS, look_at(interval_s=30.0)))
    assert row.verdict == "suitable" and "logging every 30 s" in row.limit_by
    found, over = costs(sea, look_at(), candidate(8.0, wave_m=1.0))
    calm = looked(sea, look_at(), candidate(8.0)).worth().information
    waves = next(one for one in found if one.kind == WAVES)
    assert waves.part == pytest.approx(1 - over.worth().information / calm, abs=1e-6)


def test_too_low_an_antenna_is_to_be_raised(look, candidate, local_rings):
    sea = SurfaceLayers(water=local_rings((SEA, [], 0)))
    found, _over = costs(sea, look, candidate(0.8))
    assert [one.kind for one in found] == [HEIGHT] and found[0].part == pytest.approx(1.0)
    row, = rank([candidate(0.8)], Setup(sea, SETTINGS, look))
    # 3 oscillations over 5 to 20°: 3 λ/(2 (sin 20° − sin 5°)) = 1.12 m
    assert row.advice.startswith("raise it to 1.1 m over the highest level for 3 oscillations")


def test_gaps_are_told_where_no_other_cause_is(look_at, candidate, local_rings):
    """Water towards the north at 45° N, where few satellites pass: the arcs there are leave hours without any."""
    north = SurfaceLayers(water=local_rings(([(-3, 3), (3, 3), (900, 2000), (-900, 2000)], [], 0)))
    look = look_at()
    found, over = costs(north, look, candidate(5.0))
    worth = over.worth()
    assert worth.gap_h > 3.0
    kinds = [one.kind for one in found]
    assert GAPS in kinds and (kinds[0] == GAPS or found[0].part >= 0.5)
    daily = look_at(demand=Demand(5.0, 24.0))
    found, over = costs(north, daily, candidate(5.0))
    assert GAPS not in [one.kind for one in found], "once a day they leave none"


def test_a_broken_limit_is_the_limit(look, candidate, local_rings):
    sea = SurfaceLayers(water=local_rings((SEA, [], 0)))
    row, = rank([candidate(4.0, high_m=1.5)], Setup(sea, SETTINGS, look, limits=Limits(3.0)))
    assert row.limit_by == "clearance: 2.50 m over the highest level (3 m needed)"
    assert (row.verdict, row.result.score) == ("unsuitable", 0.0) and row.advice.startswith("raise it by 0.5 m for")


def test_a_tide_that_shifts_arcs_by_more_than_is_wanted_says_so(look, candidate, local_rings):
    """By hand: at π (high − low)/44 700 s and 3e-5 /s, 1 m/h shifts by 1.6 m at 10° (worked out apart)."""
    sea = SurfaceLayers(water=local_rings((SEA, [], 0)))
    still, = rank([candidate(7.0)], Setup(sea, SETTINGS, look))
    moving, = rank([candidate(7.0, low_m=-2.0, high_m=2.0)], Setup(sea, SETTINGS, look))
    assert "tide" not in still.advice
    shift = max(moving.sky.shift_m)
    assert shift > 0.5 and f"only with tide-rate correction (the tide shifts single arcs by up to {shift:.2f} m)" in (
        moving.advice)
