"""What a cause costs, by the arithmetic of information alone: gains, gaps, order, and what is judged anew."""
from types import SimpleNamespace

import numpy as np
import pytest
from stillwater.siting.assess import assess
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.precision.demand import Demand
from stillwater.siting.settings import Settings
from stillwater.siting.verdict import costs
from stillwater.siting.verdict.causes import Causes, Part, find_causes
from stillwater.siting.verdict.costs import (
    AVOID,
    BEFORE,
    BEHIND,
    BUSY,
    DRY,
    GAPS,
    HEIGHT,
    INTERVAL,
    UNKNOWN,
    WAVES,
    Cost,
    costs_of,
    information_with,
)
from stillwater.siting.verdict.walls import HIDDEN, SHADOW, SKYLINE, TURNED, Blocked

L1 = 299_792_458.0 / 1575.42e6
ANGLES = tuple(float(a) for a in range(5, 21, 3))
BINS = 24
SEA = [(-3000, -3000), (3000, -3000), (3000, 3000), (-3000, 3000)]


@pytest.fixture
def sea(local_rings):
    return SurfaceLayers(water=local_rings((SEA, [], 0)))


@pytest.fixture
def looked(sea, look_at, candidate):
    """Give a function that looks from an antenna over open sea."""
    def look(height=8.0, layers=sea, settings=None, levels=None, **given):
        one = candidate(height, **(levels or {}))
        (_index, found), = assess([one], layers, Settings(L1, ANGLES, BINS, **(settings or {})))
        return look_at(("GPS",), **given).over(found)
    return look


def nothing_spoiled(**changed):
    empty = np.zeros(BINS)
    return Causes([], [], np.full(BINS, -1), empty, empty, empty, 0.0, np.zeros((0, BINS)))._replace(**changed)


def found_of(over, spoiled=None):
    return {one.kind: one for one in costs_of(over, over.worth(), spoiled or nothing_spoiled())}


def test_which_causes_can_be_mended_by_place_height_or_logging():
    mended = {kind: Cost(kind, "", 0.5, 1.0).can_be_mended for kind in (
        AVOID, BUSY, BEFORE, DRY, HIDDEN, INTERVAL, HEIGHT, WAVES, BEHIND, UNKNOWN, GAPS, SKYLINE, SHADOW, TURNED)}
    assert {kind for kind, can_be in mended.items() if not can_be} == {BEHIND, UNKNOWN, GAPS, SKYLINE, SHADOW, TURNED}
    one = Cost(AVOID, "rafts", 0.5, 1.0)
    assert one.share == 1.0 and one.bins is None and np.isnan([one.near_m, one.far_m, one.out_m]).all()


@pytest.mark.parametrize("without, there, part, gain", [
    (10.0, 7.5, 0.25, 2.5), (10.0, 0.0, 1.0, 10.0), (0.5, 0.25, 0.5, 0.25), (5.0, 7.0, 0.0, 0.0), (0.0, 0.0, 0.0, 0.0)])
def test_a_cost_is_the_part_of_what_there_would_be_and_never_a_gift(without, there, part, gain):
    one = costs._cost(AVOID, "rafts", without, there)
    assert (one.part, one.gain, one.kind, one.name) == (part, gain, AVOID, "rafts")


@pytest.mark.parametrize("given, order", [
    # what can be mended and costs a fifth stands first, then by gain
    ([(BEHIND, 0.45, 9.0), (AVOID, 0.2, 2.0), (BUSY, 0.3, 3.0)], [BUSY, AVOID, BEHIND]),
    ([(BEHIND, 0.45, 9.0), (AVOID, 0.199, 2.0), (BUSY, 0.1, 3.0)], [BEHIND, BUSY, AVOID]),
    # what costs less than three hundredths is not told
    ([(AVOID, 0.03, 1.0), (BUSY, 0.0299, 5.0)], [AVOID]), ([], []),
    # gaps go last where another costs half or more, else where their gain puts them
    ([(GAPS, 0.9, 50.0), (BEHIND, 0.5, 9.0)], [BEHIND, GAPS]),
    ([(GAPS, 0.9, 50.0), (BEHIND, 0.49, 9.0)], [GAPS, BEHIND]),
    ([(GAPS, 0.9, 50.0), (BEHIND, 0.1, 9.0), (SKYLINE, 0.7, 8.0)], [BEHIND, SKYLINE, GAPS])])
def test_costs_are_told_in_order_of_what_can_be_done(monkeypatch, given, order):
    some = [Cost(kind, "", part, gain) for kind, part, gain in given]
    monkeypatch.setattr(costs, "_of_the_ground", lambda *_: some)
    for name in ("_of_walls", "_of_logging", "_of_ships", "_of_gaps"):
        monkeypatch.setattr(costs, name, lambda *_: [])
    worth = SimpleNamespace(information=1.0)
    assert [one.kind for one in costs_of(SimpleNamespace(), worth, nothing_spoiled())] == order


def test_over_calm_open_sea_nothing_costs_but_gaps(looked):
    over = looked()
    assert set(found_of(over)) <= {GAPS}


def test_gaps_cost_what_evenly_spread_arcs_would_do_better(looked):
    """By hand: the same information through the day, a cadence's part of it in every value, and 30 cm without any."""
    over = looked(demand=Demand(5.0, 0.5))
    worth = over.worth()
    assert worth.gap_h > 0.5
    even = worth.information * 0.5 / 24.0 + 1.0 / 30.0**2
    part = 1.0 - 1.0 / (worth.precision**2 * even)
    gaps = found_of(over)[GAPS]
    assert gaps.part == pytest.approx(part) and 0.5 < part < 1.0
    # the gain is what there would be, less what there is: part = gain/(there is + gain)
    assert gaps.gain / (worth.information + gaps.gain) == pytest.approx(part)
    days = looked(demand=Demand(5.0, 0.5), days=3)
    told, even = found_of(days)[GAPS], days.worth().information * 0.5 / 72.0 + 1.0 / 30.0**2
    assert told.part == pytest.approx(1.0 - 1.0 / (days.worth().precision**2 * even))
    assert GAPS not in found_of(looked(demand=Demand(5.0, 24.0))), "once a day there are none"


def test_too_few_oscillations_cost_what_a_taller_mast_would_give(looked):
    """At 2 m over 5 to 20° there are 2 × 2 m (sin 20° - sin 5°)/λ = 5.357 oscillations at most."""
    for asked in (5.35, 5.4):
        # a separation that is asked for is asked of the taller mast too: 0.38 m is 5.26 oscillations
        for max_res in (1.0, None, 0.38):
            low = looked(2.0, settings={"min_cycles": asked, "max_res_m": max_res})
            free = looked(2.0, settings={"min_cycles": 0.0, "max_res_m": max_res}).worth().information
            there, height = low.worth().information, found_of(low).get(HEIGHT)
            lost = 1.0 - there / free
            assert (height is None) is (lost < 0.03) and (lost == 1.0) is (asked == 5.4)
            if height is not None:
                assert height.part == pytest.approx(lost) and height.gain == pytest.approx(free - there)


def test_an_interval_costs_what_a_second_would_give(looked):
    for wave in (0.0, 1.0):
        slow, fast = (looked(30.0, levels={"wave_m": wave}, interval_s=interval) for interval in (15.0, 1.0))
        there, free = slow.worth().information, fast.worth().information
        interval = found_of(slow)[INTERVAL]
        assert interval.part == pytest.approx(1.0 - there / free) and interval.gain == pytest.approx(free - there)
    assert INTERVAL not in found_of(looked(4.0, interval_s=1.0))


def test_waves_cost_what_a_calm_sea_would_give(looked):
    rough, calm = (looked(8.0, levels={"wave_m": wave}, interval_s=5.0) for wave in (1.5, 0.0))
    waves = found_of(rough)[WAVES]
    assert waves.part == pytest.approx(1.0 - rough.worth().information / calm.worth().information, abs=1e-6)
    assert WAVES not in found_of(calm)
    # where noise is a trifle beside the rest, so are waves: fast logging of a small sea
    assert WAVES not in found_of(looked(8.0, levels={"wave_m": 0.3}))


def test_what_opens_is_judged_anew_and_all_else_stays(looked, local_rings):
    """Two harbours' worth of rafts; without those in the east there is what an assessment without them finds."""
    boxes = [([(20, -300), (300, -300), (300, 300), (20, 300)], [], 0),
             ([(-300, -300), (-20, -300), (-20, 300), (-300, 300)], [], 1)]
    water = local_rings((SEA, [], 0))
    both = looked(layers=SurfaceLayers(water=water, avoid=local_rings(*boxes, groups=2), avoid_names=["east", "west"],
                                       avoid_shares=np.ones(2)))
    west = looked(layers=SurfaceLayers(water=water, avoid=local_rings(boxes[1][:2] + (0,)), avoid_names=["west"],
                                       avoid_shares=np.ones(1)))
    there, a = both.worth().information, west.assessment
    assert information_with(both, there, a.good, a.share) == pytest.approx(west.worth().information, rel=1e-6)
    assert west.worth().information > 1.1 * there
    assert information_with(both, there, both.assessment.good, both.assessment.share) == there
    spoiled = find_causes(both.assessment)
    first = [one for one in costs_of(both, both.worth(), spoiled) if one.kind == AVOID]
    assert {one.name for one in first} == {"east", "west"}
    for one in first:
        # bins of 15°: the middle of the east is 5 and 6, that of the west 17 and 18
        mine, other = ([5, 6], [17, 18]) if one.name == "east" else ([17, 18], [5, 6])
        assert one.bins[mine].all() and not one.bins[other].any()
        assert 10.0 < one.near_m < 40.0 < one.far_m


def test_without_arcs_nothing_is_gained(looked):
    over = looked()
    none = over._replace(arcs=())
    assert information_with(none, 7.0, ~over.assessment.good, over.assessment.share) == 7.0


def test_a_wall_costs_what_is_opened_without_it(looked):
    """Half the sky behind a skyline: without it there is what open sea has."""
    tide = {"low_m": -0.5, "high_m": 0.5}
    over = looked(levels=tide)
    a, free = over.assessment, over.worth().information
    clear = np.ones(a.good.shape, bool)
    clear[:, 6:18] = False
    unlit = np.zeros(a.usable_seen.shape)
    unlit[:, :, 6:18] = 1.0
    for kind, part in ((SKYLINE, {"is_clear": clear}), (SHADOW, {"unlit": unlit}), (TURNED, {})):
        fresh = looked(levels=tide).assessment
        fresh.is_clear, fresh.unlit = part.get("is_clear"), part.get("unlit")
        fresh.usable = np.where(clear, fresh.usable_seen, 0.0)
        fresh.share = fresh.usable.min(axis=0)
        fresh.good = fresh.share >= 0.95
        blocked = over.look.over(fresh)
        wall = found_of(blocked, nothing_spoiled(blocked=(Blocked(kind, np.ones(BINS)),)))[kind]
        there = blocked.worth().information
        assert wall.part == pytest.approx(1.0 - there / free, abs=1e-6) and wall.gain == pytest.approx(free - there)
        assert wall.bins.tolist() == [6 <= i < 18 for i in range(BINS)] and wall.name == ""


def test_walled_are_the_footprints_that_lose_at_their_worst_level():
    seen = np.array([[[1.0, 0.9], [0.8, 0.7], [0.3, 0.6]], [[0.9, 0.9], [0.5, 0.9], [0.4, 0.5]]])
    share = np.array([[0.9, 0.0], [0.5 - 5e-5, 0.7], [0.3, 0.4]])
    told = costs._walled(SimpleNamespace(usable_seen=seen, share=share))
    assert told.tolist() == [[False, True], [False, False], [False, True]]


@pytest.mark.parametrize("there, matters", [(1.0, True), (1.93, True), (1.95, False), (2.0, False)])
def test_noise_matters_where_three_hundredths_would_be_gained_without(there, matters):
    """Without noise: 1/2 of an arc that is free, 0.6/0.4 of one that is busy for 0.4: 2; the others do not count."""
    errors = SimpleNamespace(busy=np.array([0.0, 0.4, 0.0, 0.0]), other2=np.array([2.0, 0.4, 0.1, 0.1]),
                             is_long=np.array([1, 1, 0, 1], bool), is_resolved=np.array([1, 1, 1, 0], bool))
    assert costs._noise_matters(errors, np.ones(4, bool), there) is matters
    assert costs._noise_matters(errors, np.array([1, 0, 0, 0], bool), 0.4) is True


def test_parts_of_one_thing_are_joined_and_land_is_told_by_where_it_lies():
    lost, ring = np.full((2, 3), 0.1), np.full((4, 3), 0.2)
    in_reach = np.array([True, False, True])
    spoiled = nothing_spoiled(
        names=["quay", "rafts", "quay"], kinds=["class", "avoid", "class"], in_reach=in_reach,
        out_m=(np.nan, 5.0, np.nan),
        parts=[Part(0, True, lost, ring), Part(0, False, 2 * lost, ring), Part(1, False, 3 * lost, ring),
               Part(1, False, lost, 2 * ring)])
    joined = {key[:2]: value for key, value in costs._grounds(spoiled).items()}
    assert set(joined) == {(BEFORE, "quay"), (BEHIND, "quay"), (AVOID, "rafts")}
    for key, times, rings in (((BEFORE, "quay"), 1, 1), ((BEHIND, "quay"), 2, 1), ((AVOID, "rafts"), 4, 3)):
        assert joined[key][0] == pytest.approx(times * lost * in_reach)
        assert joined[key][1] == pytest.approx(rings * ring * in_reach)


def test_ships_cost_what_the_arcs_through_them_lose(looked, local_rings):
    boxes = [([(20, -300), (300, -300), (300, 300), (20, 300)], [], 0),
             ([(-300, -300), (-20, -300), (-20, 300), (-300, 300)], [], 1),
             ([(0, 900), (1, 900), (1, 901), (0, 901)], [], 2)]
    water = local_rings((SEA, [], 0))
    ships = looked(layers=SurfaceLayers(water=water, avoid=local_rings(*boxes, groups=3),
                                        avoid_names=["east", "west", "buoy"], avoid_shares=np.array([0.5, 0.4, 0.6])))
    told = {one.name: one for one in costs_of(ships, ships.worth(), nothing_spoiled()) if one.kind == BUSY}
    assert set(told) == {"east", "west"}, "a buoy of a square metre takes no footprint"
    there = ships.worth().information
    for name, box, share in (("east", boxes[1], 0.4), ("west", boxes[0], 0.5)):
        alone = looked(layers=SurfaceLayers(water=water, avoid=local_rings(box[:2] + (0,)), avoid_names=["one"],
                                            avoid_shares=np.array([share]))).worth().information
        assert told[name].part == pytest.approx(1.0 - there / alone, abs=1e-6)
        assert told[name].share == {"east": 0.5, "west": 0.4}[name]
        mine, other = ([5, 6], [17, 18]) if name == "east" else ([17, 18], [5, 6])
        assert told[name].bins[mine].all() and not told[name].bins[other].any()
