"""The words of a verdict: every figure in them is one of the scene's, and they fit the field they stand in."""

import re

import numpy as np
import pytest
from stillwater.siting.assess import assess
from stillwater.siting.geometry.fresnel import first_zone
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.ranking.ranking import rank
from stillwater.siting.settings import Settings
from stillwater.siting.setup import Setup
from stillwater.siting.signals import wavelength_m
from stillwater.siting.verdict.causes import find_causes
from stillwater.siting.words import wording
from stillwater.siting.words.advising import joined_windows, windows_words
from stillwater.siting.words.reasons import bin_reasons

L1 = wavelength_m("GPS L1")
ANGLES = tuple(float(a) for a in range(5, 21))
SETTINGS = Settings(L1, ANGLES)
EVERYWHERE = [(-900, -900), (900, -900), (900, 900), (-900, 900)]
BIN_DEG = 5.0
DBASE_TEXT_BYTES = 254  # longest text field of a Shapefile's dBASE III table (ESRI Shapefile; from memory)
WHOLE_METRES = 0.5


def judged(layers, one, settings=SETTINGS):
    (_index, assessment), = assess([one], layers, settings)
    return assessment, find_causes(assessment)


@pytest.fixture
def sea(local_rings):
    return SurfaceLayers(water=local_rings((EVERYWHERE, [], 0)))


def test_where_all_is_good_there_is_nothing_to_say(sea, candidate, look):
    assessment, spoiled = judged(sea, candidate(5.0))
    assert bin_reasons(assessment, spoiled) == [""] * 72
    assert windows_words(assessment) == "5 to 20° all around"
    row, = rank([candidate(5.0)], Setup(sea, SETTINGS, look))
    assert (row.verdict, row.limit_by) == ("suitable", "") and row.result.score > 90
    match = re.fullmatch(r"([\d.]+) cm every 3 h from (\d+) arcs a day; log every (\d+) s \(at most ([\d.]+) s\); "
                         r"use 5 to 20° all around", row.advice)
    assert match, row.advice
    assert float(match.group(1)) == pytest.approx(row.result.precision, rel=0.06)
    assert float(match.group(2)) == round(row.sky.arcs_day) and float(match.group(3)) == row.sky.int_rec_s
    assert float(match.group(4)) == pytest.approx(row.sky.int_max_s, rel=0.06)


def test_where_there_is_no_water_that_is_said_and_the_verdict_is_unsuitable(sea, candidate, look):
    sea.water_is_land = True
    row, = rank([candidate(5.0)], Setup(sea, SETTINGS, look))
    far = float(first_zone(5.0, 5.0, L1).far_m)
    match = re.fullmatch(r"no water within (\d+) m, the reach of the footprints", row.limit_by)
    assert match and float(match.group(1)) == pytest.approx(far, abs=1.0)
    assert row.advice.startswith("usable nowhere: no water within")
    assert (row.verdict, row.rank) == ("unsuitable", 1) and row.result.precision == pytest.approx(30.0)


def test_where_no_layer_tells_anything_a_candidate_is_not_assessed(array_raster, candidate, look):
    one = candidate(5.0)
    empty = SurfaceLayers(dem=array_raster(np.full((200, 200), -9999.0, np.float32), nodata=-9999.0))
    row, = rank([one], Setup(empty, SETTINGS, look))
    assert (row.verdict, row.rank, row.result) == ("not assessed", None, None)
    assert row.limit_by == "none of the layers given has data around it"


def test_the_advice_lists_each_window_with_its_own_azimuths(local_rings, candidate):
    """Open water between 80 and 140°, and a wide basin of 60 m around: what holds in one direction is not said of
    another."""
    azimuth = np.radians(np.linspace(80.0, 140.0, 200))
    wedge = np.concatenate([[(0.0, 0.0)], 800.0 * np.stack([np.sin(azimuth), np.cos(azimuth)], axis=-1)])
    basin = 60.0 * np.stack([np.sin(np.linspace(0, 2 * np.pi, 90)), np.cos(np.linspace(0, 2 * np.pi, 90))], axis=-1)
    assessment, _spoiled = judged(SurfaceLayers(water=local_rings((wedge, [], 0), (basin, [], 0))), candidate(6.0))
    ranges = re.findall(r"([\d.]+) to ([\d.]+)° between ([\d.]+) and ([\d.]+)°", windows_words(assessment))
    assert len(ranges) >= 2
    angle, centre = np.array(ANGLES), assessment.settings.bin_centre_deg
    for low, high, start, end in (map(float, one) for one in ranges):
        turned = (centre - start) % 360.0 < (end - start) % 360.0
        assert turned.any()
        inside = (angle >= low) & (angle <= high)
        assert assessment.good[np.ix_(inside, turned)].all(), "every angle told is good in every direction told"
    widths = {float(high) - float(low) for low, high, _start, _end in ranges}
    assert len(widths) > 1, "the wedge's window is not the basin's"


def test_windows_that_hardly_differ_are_joined_to_what_all_have():
    low = np.array([5.0, 5.0, 6.0, np.nan, 5.0])
    high = np.array([20.0, 18.0, 12.0, np.nan, 20.0])
    assert joined_windows(low, high, 0.0) == [(4, 2, 5, 20), (1, 1, 5, 18), (2, 1, 6, 12)]
    assert joined_windows(low, high, 2.0) == [(4, 3, 5, 18), (2, 1, 6, 12)]
    assert joined_windows(np.full(4, 5.0), np.full(4, 20.0), 0.0) == [(0, 4, 5, 20)]
    all_count = joined_windows(np.full(4, 5.0), np.array([9.0, 20.0, 20.0, 9.0]), 0.0)
    assert all_count == [(1, 2, 5, 20), (3, 2, 5, 9)]


def test_the_level_is_told_at_which_ground_falls_dry(candidate, array_raster):
    """A bank at -0.5 m from 20 to 60 m east, deep water elsewhere; low water at -1 m."""
    bed = np.full((800, 800), -9.0, np.float32)
    bed[:, 440:520] = -0.5
    layers = SurfaceLayers(dem=array_raster(bed, cell=0.5), dem_is_bed=True)
    assessment, spoiled = judged(layers, candidate(5.0, low_m=-1.0, high_m=1.0))
    east = bin_reasons(assessment, spoiled)[17]
    match = re.match(r"dry ground from (\d+) to (\d+) m out takes \d+ % .* \(at level -1\.00 m\)", east)
    assert match, east
    edges = assessment.kernels.grid.edges_m
    for told, radius in zip(match.groups(), (20.0, 60.0)):
        step = float(np.diff(edges)[np.searchsorted(edges, radius) - 1])
        # towards 87.5° the bank's straight edge is farther by 0.1 %; a cell is 0.5 m
        assert float(told) == pytest.approx(radius, abs=step + 0.5 + WHOLE_METRES)
    assert spoiled.level_m == -1.0 and wording.level_words(-1.0, 1) == ""


def test_a_direction_with_too_few_oscillations_says_how_many(sea, candidate):
    height = 2.0
    assessment, spoiled = judged(sea, candidate(height), Settings(L1, (10.0, 11.0, 12.0)))
    cycles = 2 * height * (np.sin(np.radians(12)) - np.sin(np.radians(10))) / L1  # N = 2hW/λ
    assert set(bin_reasons(assessment, spoiled)) == {f"only {cycles:.1f} oscillations (3 needed)"}


def test_a_direction_that_tells_surfaces_apart_too_badly_says_so(sea, candidate):
    assessment, spoiled = judged(sea, candidate(50.0), Settings(L1, (5.0, 6.0)))
    apart = L1 / (2 * (np.sin(np.radians(6)) - np.sin(np.radians(5))))  # λ/(2W)
    assert set(bin_reasons(assessment, spoiled)) == {f"tells only surfaces {apart:.2f} m apart (1 m needed)"}


@pytest.mark.parametrize("chosen, width, wanted", [
    ([0, 0, 0, 0], 90, []), ([1, 1, 1, 1], 90, [(0, 360)]), ([0, 1, 1, 0], 90, [(90, 270)]),
    ([1, 0, 0, 1], 90, [(270, 90)]), ([1, 0, 1, 0], 90, [(0, 90), (180, 270)]), ([0, 0, 0, 1], 90, [(270, 360)]),
    ([1, 0, 1, 0, 0, 1], 60, [(120, 180), (300, 60)])])
def test_bins_are_joined_to_ranges_of_azimuth_over_north_too(chosen, width, wanted):
    assert wording.azimuth_ranges(np.array(chosen, bool), width) == wanted


def test_only_the_widest_ranges_are_named_and_the_others_counted():
    chosen = np.zeros(72, bool)
    for first, last in ((0, 2), (10, 20), (30, 33), (40, 50), (60, 61)):
        chosen[first:last] = True
    assert wording.azimuth_words(chosen, 5.0) == (
        "between 50 and 100°, between 150 and 165°, between 200 and 250° and 2 more ranges")


@pytest.mark.parametrize("value, wanted", [(3.26, "3.3"), (9.94, "9.9"), (9.96, "10"), (47.6, "48"), (999.7, "1000"),
                                           (1234, "1230")])
def test_distances_carry_no_more_digits_than_they_deserve(value, wanted):
    assert wording.metres(value) == wanted


@pytest.mark.parametrize("value, wanted", [(5.0, "5"), (7.5, "7.5"), (6.25, "6.25"), (100.0, "100"), (0.333, "0.33")])
def test_angles_carry_no_needless_zeros(value, wanted):
    assert wording.degrees(value) == wanted


def test_without_a_place_only_the_name_is_said():
    assert wording.where_words("car park", np.nan, np.nan) == "car park"
    assert wording.where_words("car park", 12.0, 25.0) == "car park from 12 to 25 m out"


@pytest.mark.parametrize("text", ["word " * 80, "Maß° " * 80, "ß" * 400, "a" + "水" * 100])
def test_a_text_fits_its_field_and_no_letter_is_torn(text):
    short = wording.cut(text)
    assert len(short.encode("utf-8")) <= DBASE_TEXT_BYTES and short.endswith(" …")
    assert text.startswith(short[:-2]) and len(short) > 60
    assert wording.cut("as it is") == "as it is"
