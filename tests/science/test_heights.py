"""Height references and levels, by hand."""

import numpy as np
import pytest
from stillwater.siting.errors import InputError, SiteError
from stillwater.siting.heights import check_geoid, height_over_zero, levels_between


@pytest.mark.parametrize("reference, given, wanted", [
    ("surface", 5.0, 5.0), ("ground", 5.0, 5.0 + 3.6 - 0.4), ("datum", 9.0, 9.0 - 0.4),
    ("ellipsoid", 63.0, 63.0 - 55.0 - 0.4)])
def test_a_height_over_water_from_each_reference(reference, given, wanted):
    assert height_over_zero(reference, given, 0.4, 3.6, 55.0) == pytest.approx(wanted)


@pytest.mark.parametrize("reference, given, wanted", [
    ("surface", 4.0, 4.0), ("ground", 4.0, 4.0), ("datum", 125.0, 4.0), ("ellipsoid", 180.0, 4.0)])
def test_a_height_over_snow_is_measured_from_the_ground(reference, given, wanted):
    assert height_over_zero(reference, given, None, 121.0, 55.0) == pytest.approx(wanted)


@pytest.mark.parametrize("reference, ground, undulation", [
    ("ground", None, 55.0), ("ground", np.nan, 55.0), ("ellipsoid", 3.0, None), ("ellipsoid", 3.0, np.nan)])
def test_a_missing_ground_or_geoid_is_never_zero(reference, ground, undulation):
    with pytest.raises(SiteError, match="no data at the site"):
        height_over_zero(reference, 5.0, 0.0, ground, undulation)


@pytest.mark.parametrize("height", [np.nan, np.inf, None])
def test_a_height_that_is_no_number_is_told(height):
    with pytest.raises(SiteError, match="not a number"):
        height_over_zero("surface", height, 0.0, None, None)


@pytest.mark.parametrize("values, valid", [([0.0, 0.0], [True, True]), ([0.0, 9.0], [True, False]),
                                           ([55.0, 55.0], [False, False])])
def test_a_geoid_without_data_or_of_zeros_ends_the_run(values, valid):
    with pytest.raises(InputError, match="GEOID"):
        check_geoid(np.array(values), np.array(valid), "geoid")
    check_geoid(np.array([0.0, 0.3]), np.array([True, True]), "geoid")


@pytest.mark.parametrize("low, high, height", [(-1.1, 1.1, 5.0), (0.0, 0.0, 5.0), (-2.0, 3.0, 30.0), (0.0, 1.5, 4.5),
                                               (0.5, 1.0, 4.0)])
def test_levels_hold_lowest_zero_and_highest_and_steps_between(low, high, height):
    levels = levels_between(low, high, height)
    assert levels[0] == low and levels[-1] == high
    if low <= 0 <= high:
        assert np.any(levels == 0)
    assert np.all(np.diff(levels) > 0)
    assert np.all(np.diff(levels) <= max(0.25, (height - high) / 10) + 1e-9)


def test_levels_upside_down_are_told():
    with pytest.raises(SiteError, match="lies above the highest"):
        levels_between(1.0, -1.0, 5.0)
