"""What a move gains, in words: precision, directions, arcs and the time between them, each where it changed."""

from types import SimpleNamespace

import numpy as np
import pytest
from stillwater.siting.improve.gain import gain_words
from stillwater.siting.ranking.rows import RankRow
from stillwater.siting.verdict.score import score


def row(bins, quality=0.5, error=5.0, arcs=30.0, gap=2.0, **more):
    """Make a row of four bins."""
    sky = None if arcs is None else SimpleNamespace(arcs_day=arcs, gap_h=gap)
    return RankRow(0, result=score(error, 5.0), quality=quality, bin_counts=np.array(bins, bool), sky=sky, **more)


@pytest.mark.parametrize("old, new, wanted", [
    (row([1, 1, 1, 1]), row([1, 1, 1, 1]), "5 → 5 cm; the same directions"),
    (row([1, 0, 0, 0]), row([1, 1, 1, 1]), "5 → 5 cm; gains 90 to 360°"),
    (row([0, 0, 0, 0]), row([1, 1, 1, 1]), "5 → 5 cm; gains all directions"),
    (row([1, 0, 1, 0]), row([0, 1, 0, 1]),
     "5 → 5 cm; gains 90 to 180° and 270 to 360°, loses 0 to 90° and 180 to 270°"),
    (row([1, 0, 0, 1]), row([1, 0, 0, 1], error=2.34), "5 → 2.3 cm; the same directions"),
    (row([1, 0, 0, 0], arcs=12.0), row([1, 0, 0, 0], arcs=40.4), "5 → 5 cm; the same directions; arcs a day 12 → 40"),
    (row([1, 0, 0, 0], arcs=12.2), row([1, 0, 0, 0], arcs=11.8), "5 → 5 cm; the same directions"),
    (row([1, 0, 0, 0], gap=5.0), row([1, 0, 0, 0], gap=1.26),
     "5 → 5 cm; the same directions; longest time between arcs 5.0 → 1.3 h"),
    (row([1, 0, 0, 0], arcs=0.0, gap=24.0), row([1, 0, 0, 0], arcs=9.0, gap=1.0),
     "5 → 5 cm; the same directions; arcs a day 0 → 9"),
    (row([1, 0, 0, 0], arcs=None), row([1, 0, 0, 0], quality=0.7),
     "5 → 5 cm; the same directions; quality 0.50 → 0.70")])
def test_only_what_changed_is_said(old, new, wanted):
    assert gain_words(old, new, 90.0, True) == wanted


def test_the_unit_is_that_of_what_is_measured():
    text = gain_words(row([1, 0, 0, 0]), row([1, 0, 0, 0], error=4.0), 90.0, True, "°")
    assert text == "5 → 4°; the same directions"
    assert gain_words(row([1, 0, 0, 0]), row([1, 0, 0, 0], error=4.0), 90.0, False) == "no gain found"
