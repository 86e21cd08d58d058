"""Where elevation models end too soon, in words: ranges of azimuth and the nearest end in each."""

import numpy as np
import pytest
from stillwater.siting.words.ends import ends_text

REACH, HALF = 9000.0, 10.0
"""Greatest distance looked at [m], and a bin's width [°]."""


def ends(**short):
    """Make the ends of 36 bins: those named by their azimuth, such as a20=500, end there."""
    found = np.full(36, REACH)
    for name, metres in short.items():
        found[int(name[1:]) // 10] = metres
    return found


@pytest.mark.parametrize("short, wanted", [
    ({}, ""),
    ({"a90": 1234.0}, "90 to 100° (from 1230 m on)"),
    ({"a90": 500.0, "a100": 300.0, "a110": 400.0}, "90 to 120° (from 300 m on)"),
    ({"a350": 500.0, "a0": 600.0}, "350 to 10° (from 500 m on)"),
    ({"a0": 500.0}, "0 to 10° (from 500 m on)"),
    ({"a350": 500.0}, "350 to 360° (from 500 m on)"),
    ({"a20": 0.0}, "20 to 30° (no data at all)"),
    ({"a20": 45.0, "a200": 0.0}, "20 to 30° (from 45 m on), 200 to 210° (no data at all)")])
def test_each_range_says_how_near_the_models_end_in_it(short, wanted):
    assert ends_text(ends(**short), REACH, HALF) == wanted


def test_where_they_end_all_around_no_azimuth_is_named():
    assert ends_text(np.linspace(700.0, 8000.0, 36), REACH, HALF) == "all around (from 700 m on)"
    assert ends_text(np.zeros(36), REACH, HALF) == "all around (no data at all)"


def test_every_bin_that_ends_too_soon_is_in_one_range_and_no_other_bin():
    rng = np.random.default_rng(3)
    for _ in range(50):
        short = rng.random(36) < rng.uniform(0.1, 0.9)
        if short.all() or not short.any():
            continue
        told = np.zeros(36, int)
        for part in ends_text(np.where(short, 500.0, REACH), REACH, HALF).split(", "):
            low, high = (float(one) for one in part.split("°")[0].split(" to "))
            centre = np.arange(36) * 10.0 + 5.0
            told += (centre - low) % 360.0 < ((high - low) % 360.0 or 360.0)
        assert told.tolist() == short.astype(int).tolist()
