"""From the height that a user knows to the height over the surface, level by level."""

import numpy as np
import pytest
from stillwater.siting.candidates import Candidate, resolve
from stillwater.siting.errors import InputError, SiteError
from stillwater.siting.heights import LEVEL_STEP_M, check_geoid, height_over_zero, levels_between

MILLIMETRE = 1e-3
# zero level 2 m above the DEM's zero, ground 6 m, the DEM's zero 40 m over the ellipsoid
ZERO, GROUND, UNDULATION = 2.0, 6.0, 40.0


@pytest.mark.parametrize("reference, given, over_water, over_ground", [
    ("surface", 5.0, 5.0, 5.0),
    ("ground", 5.0, 5.0 + GROUND - ZERO, 5.0),
    ("datum", 11.0, 11.0 - ZERO, 11.0 - GROUND),
    ("ellipsoid", 51.0, 51.0 - UNDULATION - ZERO, 51.0 - UNDULATION - GROUND),
])
def test_every_reference_leads_to_the_same_height_over_water_and_over_ground(reference, given, over_water, over_ground):
    assert height_over_zero(reference, given, ZERO, GROUND, UNDULATION) == pytest.approx(over_water)
    assert height_over_zero(reference, given, None, GROUND, UNDULATION) == pytest.approx(over_ground)


@pytest.mark.parametrize("reference, zero, ground, undulation, said", [
    ("ground", ZERO, None, None, "DEM has no data at the site"),
    ("ground", ZERO, np.nan, None, "DEM has no data at the site"),
    ("datum", None, None, None, "DEM has no data at the site"),
    ("ellipsoid", None, np.nan, UNDULATION, "DEM has no data at the site"),
    ("ellipsoid", ZERO, GROUND, None, "GEOID has no data"),
    ("ellipsoid", ZERO, GROUND, np.nan, "GEOID has no data"),
])
def test_what_cannot_be_known_is_said_and_never_taken_for_zero(reference, zero, ground, undulation, said):
    with pytest.raises(SiteError, match=said):
        height_over_zero(reference, 5.0, zero, ground, undulation)


@pytest.mark.parametrize("height", [None, np.nan, np.inf])
def test_a_height_that_is_no_number_is_said(height):
    with pytest.raises(SiteError, match="not a number"):
        height_over_zero("surface", height, ZERO, None, None)


def test_an_unknown_reference_is_refused():
    with pytest.raises(InputError, match="rooftop.*surface, ground, datum, ellipsoid"):
        height_over_zero("rooftop", 5.0, ZERO, GROUND, UNDULATION)


@pytest.mark.parametrize("low, high, height, levels", [
    (0.0, 0.0, 5.0, [0.0]),
    (0.0, 0.25, 2.0, [0.0, 0.25]),
    (-0.5, 0.5, 2.0, [-0.5, -0.25, 0.0, 0.25, 0.5]),
    (-1.0, 1.0, 21.0, [-1.0, 0.0, 1.0]),
    (0.0, 1.0, 3.0, [0.0, 0.25, 0.5, 0.75, 1.0]),
    (-0.3, 0.1, 3.0, [-0.3, -0.15, 0.0, 0.1]),
    (1.0, 2.0, 12.0, [1.0, 2.0]),
])
def test_levels_run_from_the_lowest_to_the_highest_over_zero_in_small_steps(low, high, height, levels):
    assert levels_between(low, high, height) == pytest.approx(levels)


@pytest.mark.parametrize("seed", range(20))
def test_no_step_between_levels_is_larger_than_a_quarter_metre_or_a_tenth_of_the_height(seed):
    rng = np.random.default_rng(seed)
    low, high = -rng.uniform(0, 8), rng.uniform(0, 8)
    height = high + rng.uniform(0.1, 60)
    levels = levels_between(low, high, height)
    assert levels[0] == low and levels[-1] == high and 0.0 in levels
    assert np.all(np.diff(levels) > 0)
    assert np.all(np.diff(levels) <= max(LEVEL_STEP_M, height / 10) + 1e-9)


def test_levels_that_are_exchanged_or_no_numbers_are_said():
    with pytest.raises(SiteError, match=r"lowest level \(2 m\) lies above the highest \(1 m\)"):
        levels_between(2.0, 1.0, 9.0)
    with pytest.raises(SiteError, match="not a number"):
        levels_between(np.nan, 1.0, 9.0)


def test_heights_fall_as_the_water_rises(candidate):
    one = candidate(6.0, low_m=-1.0, high_m=2.0)
    assert one.heights_m[0] == 7.0 and one.heights_m[-1] == 4.0 and 6.0 in one.heights_m
    assert np.all(np.diff(one.heights_m) < 0)


@pytest.fixture
def dem(write_raster):
    """A DEM that shows 6 m at the site."""
    return write_raster(np.full((20, 20), GROUND, np.float32), name="dem.tif")


@pytest.fixture
def geoid(write_raster):
    return write_raster(np.full((4, 4), UNDULATION, np.float32), cell=1000.0, name="geoid.tif")


@pytest.mark.parametrize("reference, given, over_water", [
    ("surface", 9.0, 9.0), ("ground", 5.0, 9.0), ("datum", 11.0, 9.0), ("ellipsoid", 51.0, 9.0)])
def test_a_candidate_is_lifted_over_the_water_by_the_rasters_at_its_place(
        reference, given, over_water, candidate, dem, geoid):
    one = candidate(given, reference=reference, dem=dem, geoid=geoid, zero_level_m=ZERO)
    assert one.problem == "" and one.over_zero_m == pytest.approx(over_water, abs=MILLIMETRE)


def test_for_snow_the_zero_level_is_the_ground_below_the_antenna(candidate, dem):
    one = candidate(9.0, reference="datum", zero_is_ground=True, dem=dem, zero_level_m=np.nan)
    assert one.problem == ""
    assert one.over_zero_m == pytest.approx(9.0 - GROUND, abs=MILLIMETRE)
    assert one.zero_level_m == pytest.approx(GROUND)


@pytest.mark.parametrize("what, said", [
    ({"height_m": 0.0}, "height over the surface is 0.00 m; it must be above 0"),
    ({"height_m": -2.0}, "-2.00 m; it must be above 0"),
    ({"height_m": np.nan}, "the antenna height is not a number"),
    ({"height_m": 5.0, "x": np.nan}, "it has no geometry"),
    ({"height_m": 5.0, "x": 1e13}, "outside what its coordinate reference system can express"),
    ({"height_m": 5.0, "zero_level_m": np.nan}, "the zero level of its water is not a number"),
    ({"height_m": 5.0, "low_m": 1.0, "high_m": -1.0}, "exchange them"),
])
def test_a_candidate_that_cannot_be_assessed_keeps_its_reason(what, said, candidate):
    one = candidate(**what)
    assert said in one.problem and not one.drowned


def test_an_antenna_that_high_water_drowns_says_by_how_much(candidate):
    one = candidate(3.0, low_m=-1.0, high_m=3.5)
    assert one.drowned
    assert "at the highest level (+3.50 m) the antenna is 0.50 m under the surface" in one.problem


def test_one_bad_candidate_does_not_spoil_the_others():
    sites = [Candidate("good", 500_000.0, 4_980_000.0, 5.0), Candidate("bad", np.nan, np.nan, 5.0),
             Candidate("also good", 500_100.0, 4_980_000.0, 6.0)]
    resolve(sites, "EPSG:32633", "surface", False)
    assert [bool(site.problem) for site in sites] == [False, True, False]


@pytest.mark.parametrize("reference, zero_is_ground, said", [
    ("ground", False, "“ground”, which needs DEM"),
    ("datum", True, "“datum” and the zero level of snow and soil is the ground"),
    ("ellipsoid", False, "“ellipsoid”, which needs GEOID"),
])
def test_a_reference_without_its_raster_ends_the_run(reference, zero_is_ground, said, candidate):
    with pytest.raises(InputError, match=said):
        candidate(5.0, reference=reference, zero_is_ground=zero_is_ground)


def test_a_geoid_of_zeros_ends_the_run_and_so_does_an_empty_one(candidate, write_raster, dem):
    zeros = write_raster(np.zeros((4, 4), np.float32), cell=1000.0, name="zeros.tif")
    with pytest.raises(InputError, match="“zeros.tif” is zero at every candidate, which no geoid is"):
        candidate(50.0, reference="ellipsoid", dem=dem, geoid=zeros)
    empty = write_raster(np.full((4, 4), -9999.0, np.float32), cell=1000.0, nodata=-9999.0, name="empty.tif")
    with pytest.raises(InputError, match="“empty.tif” has no data at any candidate"):
        candidate(50.0, reference="ellipsoid", dem=dem, geoid=empty)


def test_a_geoid_that_is_zero_at_some_candidates_only_is_one():
    check_geoid(np.array([0.0, 0.3]), np.array([True, True]), "geoid")
    with pytest.raises(InputError, match="zero at every candidate"):
        check_geoid(np.array([0.0, 55.0]), np.array([True, False]), "geoid")


def test_a_site_where_the_dem_is_empty_is_told_and_not_taken_for_zero(candidate, write_raster):
    empty = write_raster(np.full((20, 20), -9999.0, np.float32), nodata=-9999.0)
    assert "DEM has no data at the site" in candidate(5.0, reference="ground", dem=empty).problem
