"""Candidates under drawn errors: each error spreads as it was told, moves what it should, and leaves all else."""
from dataclasses import replace

import numpy as np
import pyproj
import pytest
from scipy import stats
from stillwater.siting.errors import Cancelled
from stillwater.siting.ranking.draws import (
    SHORE_DRAWS,
    Doubt,
    Draws,
    draw_values,
    drawn,
    generator_of,
    moved,
    shore_moves,
)

DRAWS = 800
NOTHING = Doubt(height_m=0.0, level_m=0.0, shore_m=0.0, weight=0.0)
WGS84 = pyproj.Geod(ellps="WGS84")
LIKELY = 1e-3
"""A Kolmogorov-Smirnov test that would call so few true samples wrong; the seed is fixed."""


@pytest.fixture
def tidal(candidate):
    """Give a candidate so high over its tide that no draw puts it under water."""
    return candidate(9.0, low_m=-1.0, high_m=1.5)


def drawn_often(one, **doubt):
    rng = np.random.default_rng(17)
    return [drawn(one, replace(NOTHING, **doubt), rng) for _ in range(DRAWS)]


def away(one, others):
    """East and north of a candidate [m], by pyproj's geodesic."""
    azimuth, _back, distance = WGS84.inv(*(np.full(len(others), at) for at in (one.lon, one.lat)),
                                         [other.lon for other in others], [other.lat for other in others])
    return distance * np.sin(np.radians(azimuth)), distance * np.cos(np.radians(azimuth))


def is_normal(errors, spread):
    """Whether scipy's Kolmogorov-Smirnov test takes errors for normal ones of that standard deviation, mean 0."""
    return stats.kstest(errors, "norm", args=(0.0, spread)).pvalue > LIKELY


def test_a_level_error_moves_both_levels_alike_and_nothing_else(tidal):
    found = drawn_often(tidal, level_m=0.3)
    low, high = (np.array([getattr(one, name) for one in found]) for name in ("low_m", "high_m"))
    assert is_normal(low + 1.0, 0.3) and np.allclose(high - low, 2.5)
    assert {one.over_zero_m for one in found} == {tidal.over_zero_m}
    assert np.abs(away(tidal, found)).max() < 1e-6
    # the surface is looked at where the draw puts it: the heights over it answer
    assert np.allclose([one.heights_m.max() for one in found], 9.0 - low, atol=6e-4)
    assert np.allclose([one.heights_m.min() for one in found], 9.0 - high, atol=6e-4)


def test_a_height_error_moves_the_antenna_and_no_level(tidal):
    found = drawn_often(tidal, height_m=0.2)
    assert is_normal([one.over_zero_m - 9.0 for one in found], 0.2)
    assert {(one.low_m, one.high_m) for one in found} == {(-1.0, 1.5)}
    assert np.abs(away(tidal, found)).max() < 1e-6


def test_a_shore_error_moves_the_place_alike_east_and_north(tidal):
    found = drawn_often(tidal, shore_m=4.0)
    east, north = away(tidal, found)
    assert is_normal(east, 4.0) and is_normal(north, 4.0)
    assert abs(np.corrcoef(east, north)[0, 1]) < 0.1
    assert {(one.over_zero_m, one.low_m, one.high_m) for one in found} == {(9.0, -1.0, 1.5)}


def test_errors_are_independent_of_one_another(tidal):
    found = drawn_often(tidal, height_m=0.2, level_m=0.3, shore_m=4.0)
    east, north = away(tidal, found)
    table = np.corrcoef([[one.over_zero_m for one in found], [one.low_m for one in found], east, north])
    # four standard errors of a correlation of nothing, 1/√n
    assert np.abs(table - np.eye(4)).max() < 4.0 / np.sqrt(DRAWS)


def test_what_has_a_problem_keeps_it_and_its_place(tidal):
    broken = replace(tidal, problem="it has no geometry")
    other = drawn(broken, replace(NOTHING, height_m=1.0, level_m=1.0, shore_m=9.0), np.random.default_rng(1))
    assert other is not broken
    # a whole candidate cannot be compared: it holds an array
    for same in (other, moved(broken, 5.0, 5.0)):
        assert repr(same) == repr(broken)


def recorded(told):
    """Give an evaluation that keeps what it is asked, and answers with the height and the own property."""
    def evaluate(candidates):
        told.append(candidates)
        return Draws(np.array([one.over_zero_m for one in candidates]),
                     np.array([[one.high_m] for one in candidates]), np.array([one.drowned for one in candidates]))
    return evaluate


def test_every_draw_is_a_new_one_and_each_candidate_has_its_own(tidal):
    some, doubt = [tidal, replace(tidal, lon=tidal.lon + 0.01)], replace(NOTHING, height_m=0.2, level_m=0.3, trials=6)
    told, progress = [], []
    found = draw_values(some, doubt, recorded(told), lambda part, name: progress.append((part, name)))
    assert found.error.shape == (6, 2) and found.own.shape == (6, 2, 1) and found.is_broken.shape == (6, 2)
    assert len(np.unique(found.error)) == 12 and len(np.unique(found.own)) == 12
    for index, one in enumerate(some):
        rng = generator_of(one, doubt.seed)
        assert found.error[:, index].tolist() == [drawn(one, doubt, rng).over_zero_m for _ in range(6)]
    assert progress == [(trial / 6, f"draw {trial + 1}") for trial in range(6)]
    picked = found.chosen((np.array([4, 1]), np.arange(2)))
    assert picked.error.tolist() == [found.error[4, 0], found.error[1, 1]]
    assert picked.own.tolist() == [[found.own[4, 0, 0]], [found.own[1, 1, 0]]]


def test_a_seed_or_any_assessed_figure_that_differs_draws_differently(tidal):
    first = generator_of(tidal, 1).normal()
    for figure in ("lon", "lat", "over_zero_m", "zero_level_m", "low_m", "high_m", "wave_m"):
        other = replace(tidal, **{figure: getattr(tidal, figure) + 0.001})
        assert generator_of(other, 1).normal() != first, figure
    owns = [replace(tidal, own=own) for own in ({"a": 1.0, "b": 2.0}, {"b": 2.0, "a": 1.0}, {"a": 2.0, "b": 1.0})]
    same, turned, swapped = (generator_of(one, 1).normal() for one in owns)
    assert same == turned and len({first, same, swapped}) == 3


def test_the_shore_is_moved_one_standard_deviation_to_the_four_winds(tidal):
    told = []
    found = shore_moves([tidal], replace(NOTHING, shore_m=2.5), recorded(told))
    assert found.error.shape == (SHORE_DRAWS, 1) and set(found.error.ravel()) == {9.0}
    east, north = away(tidal, [one for one, in told])
    assert np.allclose(east, [0.0, 2.5, 0.0, -2.5], atol=1e-6) and np.allclose(north, [2.5, 0.0, -2.5, 0.0], atol=1e-6)


def test_a_stop_is_heeded_before_the_next_draw(tidal):
    for looked in (draw_values, shore_moves):
        told = []
        with pytest.raises(Cancelled):
            looked([tidal], NOTHING, recorded(told), is_cancelled=lambda told=told: len(told) == 2)
        assert len(told) == 2


def test_the_usual_doubt_is_a_decimetre_a_metre_of_shore_and_a_fifth_of_a_weight():
    """A levelled height and a mapped shoreline (conventions)."""
    assert Doubt() == Doubt(height_m=0.1, level_m=0.1, shore_m=1.0, weight=0.2, trials=20, seed=1)
