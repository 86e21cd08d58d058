"""Angles, bins and windows at the very limits of what is allowed, and heights for so many oscillations."""
import re

import numpy as np
import pytest
from stillwater.siting.errors import InputError
from stillwater.siting.windows import (
    bin_count,
    elevation_angles,
    height_for,
    longest_windows,
    oscillations,
    separation_m,
)

C_M_S, L1_HZ = 299_792_458.0, 1575.42e6
L1 = C_M_S / L1_HZ


@pytest.mark.parametrize("limits, number, last", [
    ((0.001, 1.0, 0.5), 3, 1.0), ((1.0, 90.0, 1.0), 90, 90.0), ((10.0, 20.0, 0.005), 2001, 20.0),
    ((5.0, 20.0, 4.0), 5, 20.0), ((5.0, 20.0, 15.0), 2, 20.0), ((5.0, 20.0, 14.0), 3, 20.0),
    ((5.0, 20.0, 16.0), 2, 20.0), ((5.0, 20.0, 0.1), 151, 20.0), ((0.5, 1.7, 0.3), 5, 1.7)])
def test_what_is_just_allowed_gives_rising_angles_from_the_lowest_to_the_highest(limits, number, last):
    found = elevation_angles(*limits)
    assert len(found) == number and found[0] == limits[0] and found[-1] == last
    steps = np.diff(found)
    assert (steps > 0).all() and steps[:-1] == pytest.approx(np.full(number - 2, limits[2]))
    assert steps[-1] <= limits[2] * (1 + 1e-6)


@pytest.mark.parametrize("limits, said", [
    ((1.0, 90.0001, 1.0), "MAX_ELEVATION is 90.0001°; it must be at most 90°."),
    ((0.0, 20.0, 1.0), "MIN_ELEVATION is 0°; it must be above 0°, where a reflection ends at the horizon."),
    ((20.0, 20.0, 1.0), "MIN_ELEVATION (20°) must be less than MAX_ELEVATION (20°)."),
    ((10.0, 20.01, 0.005), "ELEVATION_STEP 0.005° makes over 2000 angles. Choose a greater step."),
    ((5.0, 20.0, 0.0), "ELEVATION_STEP is 0; it must be greater than 0°."),
    ((5.0, 20.0, np.nan), "MIN_ELEVATION, MAX_ELEVATION and ELEVATION_STEP must be numbers.")])
def test_what_is_just_not_allowed_is_refused_in_words(limits, said):
    with pytest.raises(InputError, match=f"^{re.escape(said)}$"):
        elevation_angles(*limits)


@pytest.mark.parametrize("step, said", [
    (0.0999, "AZIMUTH_STEP is 0.0999°; it must be from 0.1 to 180°."), (181.0, "from 0.1 to 180°"),
    (7.0, "AZIMUTH_STEP is 7°; 360 must be a multiple of it (5, 10, 15 …)."), (5.0001, "a multiple of it"),
    (179.0, "a multiple of it"), (np.nan, "from 0.1 to 180°"), (np.inf, "from 0.1 to 180°")])
def test_bins_that_do_not_go_round_are_refused_in_words(step, said):
    with pytest.raises(InputError, match=re.escape(said)):
        bin_count(step)


def test_every_divisor_of_the_circle_goes_round():
    for count in (2, 3, 7, 11, 360, 3599, 3600):
        assert bin_count(360.0 / count) == count


@pytest.mark.parametrize("height, low, high", [(5.0, 5.0, 20.0), (1.0, 10.0, 15.0), (40.0, 5.0, 7.0)])
def test_oscillations_are_counted_in_the_pattern(height, low, high):
    """The path of the reflection is 2 h sin e longer: so many wavelengths more from one end of the arc to the other."""
    extra = 2.0 * height * np.sin(np.radians([low, high]))
    width = np.sin(np.radians(high)) - np.sin(np.radians(low))
    assert oscillations(height, width, L1) == pytest.approx(np.diff(extra)[0] / L1)
    assert height_for(float(np.diff(extra)[0]) / L1, width, L1) == pytest.approx(height)
    assert separation_m(width, L1) * 2.0 * width == pytest.approx(L1)


def test_no_window_no_height():
    assert height_for(3.0, 0.0, L1) == np.inf and separation_m([0.0, 0.5], L1).tolist() == [np.inf, pytest.approx(L1)]


def test_the_share_of_a_window_is_its_mean_over_the_sine():
    """Against numpy's trapezoids; a window at the very top and one at the very bottom."""
    angle = np.array([5.0, 6.0, 9.0, 14.0, 20.0])
    share = np.array([[1.0, 0.1], [0.9, 0.2], [0.1, 0.8], [0.2, 0.96], [0.3, 1.0]])
    found = longest_windows(share, share > 0.7, angle)
    sine = np.sin(np.radians(angle))
    assert found.first.tolist() == [0, 2] and found.last.tolist() == [1, 4]
    for column, part in ((0, slice(0, 2)), (1, slice(2, 5))):
        width = np.ptp(sine[part])
        assert found.width[column] == pytest.approx(width)
        assert found.share[column] == pytest.approx(np.trapz(share[part, column], sine[part]) / width)
        assert found.quality[column] == pytest.approx(np.trapz(share[part, column], sine[part]) / np.ptp(sine))
