"""What limits a site and what would mend it: one thing wrong in each scene, named with the figures it was built of."""

import math
import re
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from stillwater.siting.ground.arrayraster import ArrayRaster
from stillwater.siting.ground.classes import parse_classes
from stillwater.siting.ground.polygons import Ring
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.precision.demand import Demand
from stillwater.siting.purposes import SNOW_DEPTH
from stillwater.siting.ranking.ranking import rank
from stillwater.siting.setup import Limits, Setup
from stillwater.siting.sight.looking import SightLayers
from stillwater.siting.sky.clock import read_date
from stillwater.siting.sky.nominal import NominalOrbits
from stillwater.siting.sky.sampling import INTERVALS_S
from stillwater.siting.sky.sky import Sky
from stillwater.siting.sky.usable import GAP_MARGIN_S
from stillwater.siting.verdict.score import Criterion
from stillwater.siting.words.advising import windows_words
from stillwater.siting.words.limits import clearance_words
from stillwater.tests.science.shore_scenes import (
    ANGLES,
    EAST,
    FAR,
    L1_M,
    NORTH,
    SETTINGS,
    UTM,
    avoiding,
    box,
    layer,
    sea,
)

W = math.sin(math.radians(20)) - math.sin(math.radians(5))
"""Width of the whole window in sin e."""
LOST = re.compile(r"(.*) costs (\d+) % of the information")


def cells(values, cell=0.5):
    """Make a raster in memory around the place."""
    rows, cols = values.shape
    return ArrayRaster(values, (EAST - cols * cell / 2, cell, 0.0, NORTH + rows * cell / 2, 0.0, -cell), UTM)


def cells_east(number=800, cell=0.5):
    """Return how far east of the place the cells of such a raster lie [m]."""
    return np.broadcast_to((np.arange(number) + 0.5) * cell - number * cell / 2, (number, number))


@pytest.fixture
def told(candidate, look_at):
    """Give a function that ranks one site and returns its row; GPS alone unless told otherwise."""
    def make(layers=None, height_m=6.0, settings=SETTINGS, limits=Limits(), criteria=(), sight=None, look=None,
             receiver=None, demand=None, wave_m=0.0, own=None, **levels):
        one = candidate(height_m, **levels)
        one.wave_m, one.own = wave_m, own or {}
        look = look or look_at(("GPS",), demand=demand, **(receiver or {}))
        row, = rank([one], Setup(layers or sea(), settings, look, criteria, sight, limits))
        return row
    return make


def test_where_nothing_is_wrong_nothing_limits(told):
    row = told(demand=Demand(5.0, 24.0))
    assert row.limit_by == "" and row.advice.endswith("use 5 to 20° all around")


def test_a_car_park_around_the_antenna_is_named_with_its_reach_and_how_to_pass_it(told):
    row = told(avoiding(box(-15, -15, 15, 15), "car park"))
    words, part = LOST.fullmatch(row.limit_by).groups()
    near, far = map(float, re.fullmatch(r"car park from ([\d.]+) to ([\d.]+) m out", words).groups())
    # a square of 15 m each way reaches 15 to 21 m out; nearer than the footprints' near ends nothing matters
    assert near <= 15.0 and 14.0 <= far <= 22.0 and float(part) >= 20
    assert re.match(r"move it past car park from .* m out, or raise it;", row.advice)


def test_an_area_out_in_the_water_is_moved_away_from(told):
    row = told(avoiding(box(40, -60, 60, 60), "fish farm"))
    assert LOST.fullmatch(row.limit_by)[1].startswith("fish farm from 4")
    assert row.advice.startswith("move it away from fish farm from 4")


def test_what_comes_and_goes_is_told_with_its_share_of_the_time(told):
    row = told(avoiding(box(-900, -900, 900, 900), "ferry", 0.3))
    assert row.limit_by.startswith("ferry, there 30 % of the time, costs ")
    # without it there would be 1/(1 - 0.3) as much, or more where few arcs count double
    assert float(LOST.fullmatch(row.limit_by)[2]) == pytest.approx(30.0, abs=3.0)
    assert "wait for ferry to be free (70 % of the time)" in row.advice


def test_ground_before_the_water_is_moved_past_towards_it(told):
    row = told(sea(20.0), 4.0)
    assert re.fullmatch(r"land \(outside the water polygons\) from [\d.]+ to [\d.]+ m out before the water costs \d+ % "
                        "of the information", row.limit_by)
    assert re.match(r"move it eastwards past land .*, nearer to the water, or raise it", row.advice)


@pytest.mark.parametrize("azimuth, name", [(0.0, "northwards"), (45.0, "north-eastwards"), (135.0, "south-eastwards"),
                                           (180.0, "southwards"), (225.0, "south-westwards"), (270.0, "westwards")])
def test_the_way_to_the_water_is_named_by_the_compass(told, azimuth, name):
    turn = np.radians(azimuth)
    along, across = np.array([np.sin(turn), np.cos(turn)]), np.array([np.cos(turn), -np.sin(turn)])
    ring = np.array([a * along + b * across for a, b in ((20, -FAR), (FAR, -FAR), (FAR, FAR), (20, FAR))])
    row = told(SurfaceLayers(water=layer(Ring(ring + (EAST, NORTH), False, 0)), is_sea=True), 4.0)
    assert row.advice.startswith(f"move it {name} past land")


def test_a_bank_that_falls_dry_is_told_at_its_level(told):
    bed = np.where((cells_east() > 15) & (cells_east() < 70), -0.5, -9.0).astype(np.float32)
    row = told(SurfaceLayers(dem=cells(bed), dem_is_bed=True, is_sea=True, water=layer(box(-FAR, -FAR, FAR, FAR))), 6.0,
               low_m=-1.0, high_m=1.0)
    match = re.match(r"ground that is dry at this level from (\d+) to (\d+) m out \(at level -1\.00 m\) costs",
                     row.limit_by)
    # seen aslant both edges lie farther out, by the same factor
    near, far = map(float, match.groups())
    assert near >= 14.0 and far >= 69.0 and far / near == pytest.approx(70.0 / 15.0, rel=0.15)
    assert row.advice.startswith("move it to where the water stays at the lowest level; ")


def test_what_hides_is_raised_over(told):
    """A pier of 3 m all along, 12 m east: under an antenna of 5 m the water behind it is hidden to 30 m."""
    is_pier = (cells_east() > 12.0) & (cells_east() < 16.0)
    cover = cells(np.where(is_pier, 51, 80).astype(np.uint8))
    layers = SurfaceLayers(landcover=cover, classes=parse_classes("80"), class_names={51: "pier"})
    dem = cells(np.where(is_pier, 3.0, 0.0).astype(np.float32))
    row = told(layers, 5.0, sight=SightLayers(dem, None, None, True), demand=Demand(1.0, 3.0))
    match = re.match(r"pier (\d+) m out, which hides what lies behind it, costs \d+ %", row.limit_by)
    assert match, row.limit_by
    # its face, seen straight or aslant
    assert 12.0 <= float(match[1]) <= 30.0
    assert row.advice.startswith(f"raise it or move it eastwards past pier {match[1]} m out; ")


def test_cells_without_data_are_told_as_such(told):
    cover = np.where(np.abs(cells_east()) < 30, 255, 80).astype(np.uint8)
    raster = ArrayRaster(cover, (EAST - 200, 0.5, 0.0, NORTH + 200, 0.0, -0.5), UTM, 255)
    row = told(SurfaceLayers(landcover=raster, classes=parse_classes("80")))
    assert row.limit_by.startswith("no data from ")


def test_logging_too_slowly_is_told_with_what_would_do(told):
    """At 60 m the pattern has 2·60·W/λ = 161 oscillations an arc, of half an hour or more: some 10 s each."""
    row = told(height_m=60.0, receiver={"interval_s": 60.0}, settings=replace(SETTINGS, max_res_m=5.0))
    match = re.match(r"logging every 60 s \((\d+) arcs too fast for it\) costs", row.limit_by)
    assert match, row.limit_by
    fastest = float(re.match(r"log faster: ([\d.]+) s resolves every arc", row.advice)[1])
    assert fastest < 60.0
    again = told(height_m=60.0, receiver={"interval_s": 0.9 * fastest}, settings=replace(SETTINGS, max_res_m=5.0))
    assert "logging" not in again.limit_by


def test_too_low_an_antenna_is_told_the_height_that_it_needs(told):
    """N = 2hW/λ: for 3 oscillations over 5 to 20° an antenna must stand 3λ/(2W) over the highest level."""
    row = told(height_m=0.9)
    needed = 3.0 * L1_M / (2.0 * W)
    assert row.limit_by.startswith("height: 0.9 m makes too few oscillations; that costs 100 %")
    assert row.advice.startswith(f"raise it to {needed:.1f} m over the highest level for 3 oscillations")


def test_waves_are_told_with_their_height(told):
    row = told(wave_m=1.5, demand=Demand(0.5, 3.0))
    assert row.limit_by.startswith("waves of 1.50 m costs ")
    assert row.advice.startswith("find shelter from waves of 1.50 m; ")


def test_gaps_between_arcs_are_told_where_nothing_else_is_wrong(told):
    row = told(demand=Demand(5.0, 0.5))
    match = re.match(r"(at least )?([\d.]+) h without an arc \(a value every 0.5 h is wanted\)", row.limit_by)
    assert match and float(match[2]) == pytest.approx(row.sky.gap_h, abs=0.05)


def test_a_broken_clearance_goes_before_all_else(told):
    row = told(height_m=3.0, limits=Limits(3.0), low_m=-1.0, high_m=1.0)
    assert row.limit_by == clearance_words(2.0, 3.0) == "clearance: 2.00 m over the highest level (3 m needed)"
    assert row.advice.startswith("raise it by 1.0 m for the clearance; ")
    assert row.verdict == "unsuitable"


COST = Criterion("cost", "cost", " EUR", 20_000.0, 5000.0)


@pytest.mark.parametrize("value, wanted", [
    (25_000.0, "cost: 25000 EUR (worth nothing from 20000 EUR on)"),
    (math.nan, "cost: no value")])
def test_a_criterion_of_ones_own_that_is_worth_nothing_limits(told, value, wanted):
    row = told(criteria=[COST], own={"cost": value})
    assert (row.limit_by, row.verdict) == (wanted, "unsuitable")
    assert told(criteria=[COST], own={"cost": 9000.0}, demand=Demand(5.0, 24.0)).limit_by == ""


def test_where_there_is_no_water_its_reach_is_told(told):
    """The far end of the first Fresnel zone at 5°: with d = λ/2 its middle lies h/tan e + (d/sin e)/tan e off and its
    half axis is b/sin e, b² = 2dh/sin e + (d/sin e)² (GPS Solutions 17, 2013, 41-52, appendix; pages from memory)."""
    row = told(sea(900.0), 5.0)
    reach = float(re.fullmatch(r"no water within (\d+) m, the reach of the footprints", row.limit_by)[1])
    e, d = math.radians(5.0), L1_M / 2.0
    half = math.sqrt(2.0 * d * 5.0 / math.sin(e) + (d / math.sin(e)) ** 2) / math.sin(e)
    assert reach == pytest.approx(5.0 / math.tan(e) + d / math.sin(e) / math.tan(e) + half, abs=0.5)
    assert row.advice == f"usable nowhere: {row.limit_by}"


def test_water_that_no_footprint_fits_into_is_told(told):
    """Ponds of 2 m, 6 m apart: water is near, but no footprint lies on it."""
    ponds = [box(x, y, x + 2, y + 2) for x in range(-120, 120, 8) for y in range(-120, 120, 8)]
    row = told(SurfaceLayers(water=layer(*ponds)), 5.0)
    assert row.verdict == "unsuitable" and "usable nowhere" in row.advice


def test_a_window_that_parts_no_surfaces_is_told(told, look_at):
    apart = L1_M / (2.0 * (math.sin(math.radians(6)) - math.sin(math.radians(5))))
    low = Sky(NominalOrbits(("GPS",)), read_date("2026-06-01"), 1, 5.0, 6.0, GAP_MARGIN_S)
    row = told(height_m=60.0, settings=replace(SETTINGS, elevation_deg=(5.0, 6.0)),
               look=replace(look_at(("GPS",)), sky=low))
    assert row.limit_by == (f"no direction counts: the best window tells only surfaces {apart:.2f} m apart (1 m "
                            "needed)")
    assert row.advice.startswith("usable nowhere: no direction counts: ")


def test_rough_snow_is_told_by_its_own_roughness(candidate, look_at):
    """Ground of 0.25 m rms white noise: the plane takes none of it away, the DEM's own noise is said to be none."""
    ground = 300.0 + 0.25 * np.random.default_rng(2).normal(size=(600, 600))
    dem = cells(ground.astype(np.float32))
    one = candidate(4.0, reference="ground", zero_is_ground=True, dem=dem)
    look = look_at(("GPS",), SNOW_DEPTH, demand=Demand(0.5, 24.0))
    row, = rank([one], Setup(SurfaceLayers(dem=dem, is_water=False), replace(SETTINGS, noise_m=0.0), look))
    match = re.match(r"rough ground \(([\d.]+) m rms\) costs", row.limit_by)
    assert match, row.limit_by
    assert float(match[1]) == pytest.approx(0.25, abs=0.06)
    assert row.advice.startswith(f"find smoother ground than this: rough ground ({match[1]} m rms); ")


# -- how often to log, and what the tide does ------------------------------------------------------------------------

def test_a_tide_that_shifts_arcs_by_more_than_is_wanted_needs_a_correction(told):
    tidal = told(height_m=9.0, low_m=-3.0, high_m=3.0)
    shift = float(re.search(r"only with tide-rate correction \(the tide shifts single arcs by up to ([\d.]+) m\)",
                            tidal.advice)[1])
    assert shift == pytest.approx(max(tidal.sky.shift_m), abs=0.005) and shift > 0.05
    assert "tide-rate" not in told(height_m=9.0).advice


def test_the_interval_told_is_one_that_receivers_have_and_its_limit_is_longer(told):
    row = told()
    rec, most = map(float, re.search(r"log every ([\d.]+) s \(at most ([\d.]+) s\)", row.advice).groups())
    assert rec in INTERVALS_S and most >= 1.5 * rec


def test_a_receiver_that_cannot_log_so_fast_is_named(told):
    row = told(height_m=30.0, receiver={"interval_s": 8.0}, settings=replace(SETTINGS, max_res_m=5.0))
    assert re.search(r"log every [\d.]+ s \(at most [\d.]+ s\), the receiver's shortest is 8 s", row.advice)


def test_few_arcs_are_counted_in_tenths_and_one_is_one(told):
    """A wedge of water of 20° towards the south-east, spoiled 30 % of the time."""
    azimuth = np.radians(np.linspace(130.0, 150.0, 60))
    wedge = np.concatenate([[(0.0, 0.0)], 900.0 * np.stack([np.sin(azimuth), np.cos(azimuth)], axis=-1)])
    layers = SurfaceLayers(water=layer(Ring(wedge + (EAST, NORTH), False, 0)), is_sea=True,
                           avoid=layer(box(-900, -900, 900, 900), name="avoid"), avoid_names=["ferry"],
                           avoid_shares=np.array([0.3]))
    row = told(layers, 6.0)
    arcs = re.search(r"from ([\d.]+) arcs? a day", row.advice)
    assert arcs and float(arcs[1]) == pytest.approx(row.sky.arcs_day, abs=0.06) and row.sky.arcs_day < 9.95
    assert (arcs[1] == "1") == ("1 arc a day" in row.advice)


def test_more_windows_than_four_are_counted():
    """Angles of the windows are those of a wedge each, whose neighbours differ by more than may be joined."""
    last = np.repeat([15, 3, 15, 4, 15, 3], 6)
    windows = SimpleNamespace(first=np.zeros(36, int), last=last)
    found = SimpleNamespace(counts=np.ones(36, bool), settings=SETTINGS, windows=windows)
    words = windows_words(found)
    assert words.count("between") == 4 and words.endswith(" and 2 narrower")
    assert f"{ANGLES[0]:g} to {ANGLES[15]:g}°" in words
