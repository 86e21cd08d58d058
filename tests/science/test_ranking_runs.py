"""A ranking from beginning to end: its rows, their order, its progress and its stops, over open water."""
from dataclasses import replace

import numpy as np
import pytest
from stillwater.siting.errors import Cancelled
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.ranking.appraise import appraise, assessed
from stillwater.siting.ranking.draws import Doubt
from stillwater.siting.ranking.ranking import rank, rows_of
from stillwater.siting.ranking.rows import RankRow, own_values, problem_row
from stillwater.siting.settings import Settings
from stillwater.siting.setup import Limits, Setup
from stillwater.siting.verdict.score import NOT_ASSESSED, UNSUITABLE, Criterion

L1 = 299_792_458.0 / 1575.42e6
ANGLES = (5.0, 8.0, 11.0, 15.0, 20.0)
SETTINGS = Settings(L1, ANGLES, 12)
SEA = [(-3000, -3000), (3000, -3000), (3000, 3000), (-3000, 3000)]
ROAD = Criterion("road", "road", " m", 0.0, 100.0, 2.0)


@pytest.fixture
def setup(local_rings, look_at):
    return Setup(SurfaceLayers(water=local_rings((SEA, [], 0))), SETTINGS, look_at(("GPS",)))


def test_rows_are_best_first_equals_by_name_and_the_unassessed_last(setup, candidate):
    broken, lost = candidate(5.0, name="0 lost"), candidate(5.0, name="9 lost")
    broken.problem = lost.problem = "it has no geometry"
    some = [lost, candidate(2.0, name="low", high_m=2.5), candidate(9.0, name="b"), candidate(9.0, name="a"),
            candidate(1.2, name="worse"), broken]
    rows = rank(some, setup)
    assert [some[row.index].name for row in rows] == ["a", "b", "worse", "low", "0 lost", "9 lost"]
    assert [(row.rank, row.tied) for row in rows] == [(1, 2), (1, 2), (3, 1), (4, 1), (None, 1), (None, 1)]
    assert [row.drowned for row in rows] == [False, False, False, True, False, False]
    assert [row.verdict for row in rows[3:]] == [UNSUITABLE, NOT_ASSESSED, NOT_ASSESSED]
    assert [row.index for row in rows_of(some, setup)] == list(range(6)) and rows_of([], setup) == []
    assert {row.rank_lo for row in rows} == {row.p_best for row in rows} == {None}, "nobody asked for trust"


def test_a_row_tells_what_is_so_by_geometry(setup, candidate):
    """Open sea all around: every bin counts over all angles, at 9 m over the levels -1 and 1.5 m."""
    one = candidate(9.0, low_m=-1.0, high_m=1.5)
    row, = rank([one], setup)
    assert row.quality == pytest.approx(1.0, abs=1e-4) and row.az_span_deg == 360.0
    assert (row.el_from_deg, row.el_to_deg) == (5.0, 20.0)
    assert (row.h_low_m, row.h_high_m) == (10.0, 7.5)
    # λ/2W of the whole window
    width = np.sin(np.radians(20.0)) - np.sin(np.radians(5.0))
    assert row.res_m == pytest.approx(L1 / (2.0 * width)) and row.bin_counts.all() and len(row.bin_quality) == 12
    assert row.ends_m is None and row.own == [] and not row.is_limit_broken


def test_where_no_window_is_there_is_no_angle_to_tell(candidate, local_rings, look_at):
    puddle = SurfaceLayers(water=local_rings(([(0, 0), (1, 0), (1, 1), (0, 1)], [], 0)))
    row, = rank([candidate(5.0)], Setup(puddle, SETTINGS, look_at(("GPS",))))
    assert (row.quality, row.az_span_deg, row.el_from_deg, row.el_to_deg, row.res_m) == (0.0, 0.0, None, None, None)
    assert row.rank == 1 and row.verdict == UNSUITABLE


def test_a_part_of_the_circle_is_told_in_degrees(candidate, local_rings, look_at):
    """Water from 0 to 90° only, far beyond any footprint: three bins of 30°, less what the edges spoil."""
    quarter = SurfaceLayers(water=local_rings(([(-3, -3), (3000, -3), (3000, 3000), (-3, 3000)], [], 0)))
    row, = rank([candidate(9.0)], Setup(quarter, SETTINGS, look_at(("GPS",))))
    assert row.az_span_deg == row.bin_counts.sum() * 30.0 and row.bin_counts[1]
    assert not row.bin_counts[4:11].any()
    assert row.quality == pytest.approx(row.bin_quality[row.bin_counts].mean())


def test_own_properties_and_limits_enter_the_row(setup, candidate):
    told = {"near": {"road": 10.0}, "far": {"road": 90.0}, "unknown": {}}
    some = [candidate(9.0, name=name, own=own) for name, own in told.items()]
    rows = rank(some, replace(setup, criteria=[ROAD], limits=Limits(9.0)))
    assert [some[row.index].name for row in rows] == ["far", "near", "unknown"]
    assert rows[0].own == [90.0] and np.isnan(rows[2].own[0])
    assert own_values(some[0], [ROAD, ROAD._replace(key="none")])[0] == 10.0
    assert not any(row.is_limit_broken for row in rows)
    broken = rank(some, replace(setup, criteria=[ROAD], limits=Limits(9.01)))
    assert all(row.is_limit_broken and row.result.score == 0.0 for row in broken)
    assert {row.rank for row in broken} == {1}


def test_under_water_stands_behind_a_broken_limit_and_that_behind_no_worth(setup, candidate):
    """The better precision of the later ones decides nothing."""
    some = [candidate(1.0, name="wet", high_m=1.5), candidate(9.0, name="too low", own={"road": 90.0}),
            candidate(11.0, name="without worth", own={"road": 0.0})]
    rows = rank(some, replace(setup, criteria=[ROAD], limits=Limits(10.0)))
    assert [some[row.index].name for row in rows] == ["without worth", "too low", "wet"]
    assert [row.rank for row in rows] == [1, 2, 3] and {row.result.score for row in rows[:2]} == {0.0}
    assert rows[1].result.precision < rows[0].result.precision


def test_who_was_not_assessed_stands_behind_broken_limits_in_every_world(setup, candidate):
    lost = candidate(9.0, name="lost")
    lost.problem = "it has no geometry"
    some = [lost, candidate(12.0, name="high"), candidate(9.0, name="too low")]
    rows = rank(some, replace(setup, limits=Limits(10.5)), Doubt(trials=3))
    told = {some[row.index].name: (row.rank, row.rank_lo, row.rank_hi, row.p_best) for row in rows}
    assert told == {"high": (1, 1, 1, 1.0), "too low": (2, 2, 2, 0.0), "lost": (None, None, None, None)}


def test_progress_runs_from_nothing_towards_all_and_never_back(setup, candidate):
    some = [candidate(9.0 + i, name=f"site {i}") for i in range(4)]
    told = []
    rank(some, setup, progress=lambda part, name: told.append(part))
    assert told[0] == 0.0 and (np.diff(told) >= 0).all() and 0.7 <= told[-1] <= 1.0
    told.clear()
    rank(some, setup, Doubt(trials=5), lambda part, name: told.append((part, name)))
    parts = np.array([part for part, _name in told])
    assert (np.diff(parts) >= 0).all() and parts[-1] < 1.0
    # one look at all, five under errors and four with the shore alone: ten, of which each is a tenth
    draws = [part for part, name in told if name.startswith("draw ")]
    assert draws == pytest.approx([0.1, 0.2, 0.3, 0.4, 0.5])


def test_a_stop_is_heeded(setup, candidate):
    some = [candidate(9.0 + i) for i in range(3)]
    for looked in (rank, rows_of, lambda *a, **k: list(appraise(*a, **k)), lambda *a, **k: list(assessed(*a, **k))):
        with pytest.raises(Cancelled):
            looked(some, setup, is_cancelled=lambda: True)


def test_whoever_asks_for_neither_progress_nor_stops_gets_rows(setup, candidate):
    some = [candidate(9.0), candidate(4.0, high_m=4.5)]
    found = dict(assessed(some, setup))
    assert found[0].candidate is some[0] and found[1] is None
    (first, full, row), (second, nothing, wet) = appraise(some, setup)
    assert (first, second) == (0, 1) and full is not None and nothing is None
    assert row.result is not None and wet.drowned and wet.result is None and wet.advice == "put the antenna higher"


def test_what_no_layer_covers_is_not_assessed(candidate, write_raster, look_at):
    from stillwater.siting.ground.classes import parse_classes
    away = SurfaceLayers(landcover=write_raster(np.full((9, 9), 80, np.uint8), corner=(400_000.0, 4_000_000.0)),
                         classes=parse_classes("80"))
    row, = rank([candidate(5.0)], Setup(away, SETTINGS, look_at(("GPS",))))
    assert (row.verdict, row.rank) == (NOT_ASSESSED, None)
    assert row.limit_by == "none of the layers given has data around it"
    assert row.advice == "not assessed: none of the layers given has data around it"


def test_the_row_of_a_problem_tells_the_heights_that_are_known(candidate):
    wet = candidate(4.0, low_m=-1.0, high_m=4.5)
    row = problem_row(3, wet)
    assert (row.index, row.h_low_m, row.h_high_m, row.drowned) == (3, 5.0, -0.5, True) and row.limit_by == wet.problem
    nowhere = candidate(4.0, x=np.nan)
    row = problem_row(0, nowhere)
    assert row.h_low_m is None and row.h_high_m is None and not row.drowned
    assert row.advice == f"not assessed: {nowhere.problem}" and nowhere.problem
    plain = RankRow(0)
    assert (plain.tied, plain.is_limit_broken, plain.drowned, plain.verdict) == (1, False, False, NOT_ASSESSED)
