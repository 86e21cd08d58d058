"""Elevation angles, windows and quality, on tables that a person can check by hand."""

import numpy as np
import pytest
from stillwater.siting.errors import InputError
from stillwater.siting.signals import wavelength_m
from stillwater.siting.verdict.windows import (
    bin_count,
    elevation_angles,
    longest_windows,
    oscillations,
    separation_m,
)

ANGLES = np.array([5.0, 10.0, 15.0, 20.0, 25.0])
SINE = np.sin(np.radians(ANGLES))


def windows(*columns, least=0.95):
    share = np.array(columns, dtype=float).T
    return longest_windows(share, share >= least, ANGLES)


def test_the_highest_angle_is_always_looked_at():
    assert elevation_angles(5, 20, 1).tolist() == list(range(5, 21))
    assert elevation_angles(5, 8, 2).tolist() == [5, 7, 8]
    assert elevation_angles(5, 6, 9).tolist() == [5, 6]


@pytest.mark.parametrize("wrong", [(5, 20, 0), (5, 20, -1), (20, 5, 1), (5, 5, 1), (0, 20, 1), (-3, 20, 1),
                                   (5, 91, 1), (5, 20, np.nan), (5, 20, 1e-6)])
def test_angles_that_make_no_range_are_refused(wrong):
    with pytest.raises(InputError):
        elevation_angles(*wrong)


@pytest.mark.parametrize("step", [7, 0, -5, 360, np.nan])
def test_a_step_of_which_360_is_no_multiple_is_refused(step):
    with pytest.raises(InputError):
        bin_count(step)


def test_bins_are_counted():
    assert [bin_count(step) for step in (5, 0.5, 1 / 3, 90)] == [72, 720, 1080, 4]


def test_the_longest_run_is_measured_in_the_sine():
    found = windows([1, 1, 0, 1, 1], [0, 1, 1, 1, 0], [1, 1, 1, 1, 1], [0, 0, 0, 0, 0])
    # 5 to 10° spans more of the sine than 20 to 25°
    assert found.first.tolist() == [0, 1, 0, -1]
    assert found.last.tolist() == [1, 3, 4, -1]
    assert found.width == pytest.approx([SINE[1] - SINE[0], SINE[3] - SINE[1], SINE[4] - SINE[0], 0])


def test_a_tie_goes_to_the_lower_run():
    angles = np.degrees(np.arcsin([0.1, 0.2, 0.3, 0.4, 0.5]))
    share = np.array([[1.0], [1.0], [0.0], [1.0], [1.0]])
    found = longest_windows(share, share > 0.5, angles)
    assert (found.first[0], found.last[0]) == (0, 1)


def test_a_single_angle_is_no_run():
    found = windows([0, 1, 0, 0, 0], [1, 0, 1, 0, 1])
    assert found.first.tolist() == [-1, -1] and found.quality.tolist() == [0, 0]


def test_quality_is_the_part_of_the_range_times_the_mean_share():
    found = windows([1.0, 1.0, 1.0, 1.0, 1.0], [0.96, 1.0, 0.98, 0.5, 0.0])
    step = np.diff(SINE)
    mean = ((0.96 + 1.0) / 2 * step[0] + (1.0 + 0.98) / 2 * step[1]) / (step[0] + step[1])
    assert found.share == pytest.approx([1.0, mean])
    assert found.quality == pytest.approx([1.0, (SINE[2] - SINE[0]) / (SINE[4] - SINE[0]) * mean])


def test_separations_are_those_derived_from_half_a_wavelength_over_the_window():
    """λ/(2W) at L1: 0.28 m for 5 to 25°, 0.55 m for 5 to 15°, 2.7 m for 5 to 7° (derived)."""
    wavelength = wavelength_m("GPS L1")
    for high, wanted, places in ((25, 0.28, 2), (15, 0.55, 2), (7, 2.7, 1)):
        width = np.sin(np.radians(high)) - np.sin(np.radians(5))
        assert round(float(separation_m(width, wavelength)), places) == wanted
        assert oscillations(7.0, width, wavelength) == pytest.approx(7.0 / separation_m(width, wavelength))
    assert np.isinf(separation_m(0.0, wavelength))
