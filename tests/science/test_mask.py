"""The observation mask: each bin that counts lies in one row, with its own window, and no other bin does."""
import numpy as np
import pytest
from stillwater.siting.verdict.mask import mask_rows
from stillwater.siting.windows import Windows

ANGLES = np.array([5.0, 7.0, 11.0, 20.0])
NOTHING = [np.zeros(0)] * 3


def windows(first, last):
    return Windows(np.array(first), np.array(last), *NOTHING)


def told(first, last, counts=None):
    counts = np.array(first) >= 0 if counts is None else np.array(counts, bool)
    return [tuple(row) for row in mask_rows(windows(first, last), counts, ANGLES)]


def test_neighbours_with_one_window_are_joined_and_others_are_not():
    # by hand: twelve bins of 30°
    first = [0, 0, 1, 1, -1, -1, 0, 0, 0, 0, 2, 0]
    last = [3, 3, 3, 3, -1, -1, 3, 2, 2, 3, 3, 1]
    assert told(first, last) == [
        (0, 60, 5, 20), (60, 120, 7, 20), (180, 210, 5, 20), (210, 270, 5, 11), (270, 300, 5, 20), (300, 330, 11, 20),
        (330, 360, 5, 7)]


def test_bins_may_be_narrower_than_whole_degrees():
    assert told([-1, 0, 0] + [-1] * 13, [-1, 3, 3] + [-1] * 13) == [(22.5, 67.5, 5, 20)]


def test_all_around_is_one_row_and_nothing_is_none():
    assert told([0] * 8, [3] * 8) == [(0, 360, 5, 20)]
    assert told([-1] * 8, [-1] * 8) == []
    assert told([0] * 8, [3] * 8, [False] * 8) == []


def test_what_does_not_count_is_left_out_whatever_its_window():
    assert told([0] * 4, [3] * 4, [True, False, True, True]) == [(0, 90, 5, 20), (180, 360, 5, 20)]
    assert told([0, 0, 0, 0], [3, 3, 3, 3], [False, True, True, False]) == [(90, 270, 5, 20)]


def test_over_north_it_is_split():
    assert told([0, -1, -1, 0], [2, -1, -1, 2]) == [(0, 90, 5, 11), (270, 360, 5, 11)]


@pytest.mark.parametrize("seed", range(20))
def test_each_bin_is_in_the_row_of_its_own_window_and_rows_are_as_few_as_can_be(seed):
    rng = np.random.default_rng(seed)
    first = rng.integers(-1, 2, 24)
    last = np.where(first < 0, -1, rng.integers(2, 4, 24))
    counts = (first >= 0) & (rng.random(24) > 0.2)
    rows = mask_rows(windows(first, last), counts, ANGLES)
    for index, azimuth in enumerate(np.arange(24) * 15.0 + 7.5):
        inside = [row for row in rows if row.az_from < azimuth < row.az_to]
        assert len(inside) == counts[index]
        for row in inside:
            assert (row.el_from, row.el_to) == (ANGLES[first[index]], ANGLES[last[index]])
    changes = sum(counts[i] and not (counts[i - 1] and i and first[i] == first[i - 1] and last[i] == last[i - 1])
                  for i in range(24))
    assert len(rows) == changes
