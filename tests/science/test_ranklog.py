"""What a ranking tells in the log: the best, ties and what would part them, and what trust cannot part."""

import re
from types import SimpleNamespace

import numpy as np
import pytest
from stillwater.siting.precision.demand import Demand
from stillwater.siting.ranking.draws import Doubt
from stillwater.siting.ranking.ranking import rank
from stillwater.siting.ranking.rows import RankRow
from stillwater.siting.setup import Setup
from stillwater.siting.verdict.score import score
from stillwater.siting.words import ranklog
from stillwater.tests.science.shore_scenes import SETTINGS, sea

DEMAND = Demand(5.0, 3.0)


@pytest.fixture
def ranked(candidate, look_at):
    """Give a function that ranks sites of the heights given over open water; returns rows and candidates."""
    def make(*heights, doubt=None):
        sites = [candidate(height, name=name) for name, height in zip("abcdefgh", heights)]
        return rank(sites, Setup(sea(), SETTINGS, look_at(("GPS",))), doubt), sites
    return make


def test_the_best_is_named_with_its_figures(ranked):
    rows, sites = ranked(6.0, 1.2)
    line, = ranklog.best_words(rows, sites, DEMAND)
    first = rows[0]
    assert sites[first.index].name == "a"
    match = re.match(r"Best: “a”, score ([\d.]+), (\w+), ([\d.]+) cm every 3 h \(5 cm wanted\)\. ", line)
    assert match, line
    assert float(match[1]) == pytest.approx(first.result.score, abs=0.05) and match[2] == first.verdict
    assert float(match[3]) == pytest.approx(first.result.precision, rel=0.005) and line.endswith(first.advice)


def test_several_that_share_the_first_rank_are_counted(ranked):
    rows, sites = ranked(6.0, 6.0, 1.2)
    line, = ranklog.best_words(rows, sites, DEMAND)
    assert line.startswith("Best: 2 candidates share rank 1, the first by name “a”, score ")


def test_where_nothing_could_be_assessed_there_is_no_best(candidate, look_at):
    sites = [candidate(6.0, x=np.nan)]
    rows = rank(sites, Setup(sea(), SETTINGS, look_at(("GPS",))))
    assert ranklog.best_words(rows, sites, DEMAND) == [] and ranklog.tie_words(rows, sites) == []
    assert ranklog.trust_words(rows, sites) == []


def test_ties_are_counted_and_twins_cannot_be_parted(ranked):
    rows, sites = ranked(6.0, 6.0, 6.0, 1.2)
    line, = ranklog.tie_words(rows, sites)
    assert line.startswith("3 of 4 candidates share their rank with others; most share rank 1: 3, such as “a” and “b”.")
    assert "No figure of the ranking parts them: they are equal in all." in line
    assert ranklog.tie_words(rows[-1:], sites) == []


def row(index, rank_=1, tied=2, quality=0.5, sky=None, lo=None, hi=None, **more):
    """Make a row of a site that was assessed."""
    sky = sky or SimpleNamespace(arcs_day=30.0, busy=0.0)
    return RankRow(index, rank_, score(3.0, 5.0), quality, 360.0, sky=sky, res_m=None, h_high_m=5.0, tied=tied,
                   rank_lo=lo, rank_hi=hi, **more)


def test_what_would_part_those_that_tie_is_the_figure_that_differs_most_for_its_size():
    rows = [row(0, quality=0.50), row(1, quality=0.40)]
    rows[1].h_high_m = 5.5
    assert ranklog.parting_figure(rows) == "quality, from 0.4 to 0.5"
    rows[1].sky = SimpleNamespace(arcs_day=30.0, busy=0.3)
    assert ranklog.parting_figure(rows) == "busy, from 0 to 0.3"
    sites = [SimpleNamespace(name=name) for name in "ab"]
    line, = ranklog.tie_words(rows, sites)
    assert line.endswith("What would part them: busy, from 0 to 0.3.")
    rows = [row(0, quality=0.5), row(1, quality=0.5000001)]
    assert ranklog.parting_figure(rows) == "", "a rounding parts nobody"


def test_of_several_ties_the_largest_is_spoken_of():
    rows = [row(0, 1, 2), row(1, 1, 2), row(2, 3, 3), row(3, 3, 3), row(4, 3, 3), row(5, 6, 1)]
    sites = [SimpleNamespace(name=name) for name in "abcdef"]
    line, = ranklog.tie_words(rows, sites)
    assert line.startswith("5 of 6 candidates share their rank with others; most share rank 3: 3, such as “c” and “d”.")


def test_those_whose_ranks_overlap_with_the_first_cannot_be_told_apart():
    sites = [SimpleNamespace(name=name) for name in "abcd"]
    rows = [row(0, 1, 1, lo=1, hi=2), row(1, 2, 1, lo=1, hi=3), row(2, 3, 1, lo=3, hi=3), row(3, None, 1)]
    assert ranklog.trust_words(rows, sites) == [
        "Under the errors drawn the first 2 cannot be told apart: their ranks overlap with that of “a” (1 to 2)."]
    rows[1].rank_lo = 3
    assert ranklog.trust_words(rows, sites) == [] == ranklog.trust_words(rows[3:], sites)


def test_trust_speaks_of_what_was_drawn(ranked):
    """Two alike in all draw alike and stay equal, so nobody can tell them apart."""
    rows, sites = ranked(6.0, 6.0, doubt=Doubt(trials=3))
    line, = ranklog.trust_words(rows, sites)
    assert line.startswith("Under the errors drawn the first 2 cannot be told apart")


def test_the_tide_is_told_for_the_site_that_it_shifts_most(candidate, look_at):
    """Rising and setting arcs are shifted to opposite sides; the more, the wider the tide."""
    sites = [candidate(9.0, name=name, low_m=-tide, high_m=tide) for name, tide in (("a", 1.0), ("b", 3.0), ("c", 0.0))]
    rows = rank(sites, Setup(sea(), SETTINGS, look_at(("GPS",))))
    line, = ranklog.tide_words(rows, sites)
    told = re.search(r"rising ones by up to ([\d.]+) m and setting ones by up to ([\d.]+) m, to opposite sides \(“b”",
                     line)
    rising, setting = map(float, told.groups())
    by_name = {sites[row.index].name: row.sky.shift_m for row in rows}
    assert (rising, setting) == pytest.approx(by_name["b"], abs=0.005)
    assert max(by_name["b"]) == pytest.approx(3.0 * max(by_name["a"]), rel=0.1)
    still = [row for row in rows if sites[row.index].name == "c"]
    assert ranklog.tide_words(still, sites) == [] and max(by_name["c"]) == 0


def test_where_one_kind_of_arc_is_moved_only_that_is_told():
    rows = [RankRow(0, sky=SimpleNamespace(shift_m=(0.0, 0.123)))]
    line, = ranklog.tide_words(rows, [SimpleNamespace(name="a")])
    assert "single arcs, setting ones by up to 0.12 m (“a”, the most)" in line and "rising" not in line


def test_those_that_could_not_be_assessed_after_all_are_counted(candidate):
    sites = [candidate(5.0, name=name) for name in "abcd"]
    sites[0].problem, sites[2].problem, sites[3].problem = "no geometry", "under water", "no data around it"
    assert ranklog.unfit_words(sites, [False, True, True, True]) == [
        "2 more candidate(s) are not assessed; the first, “c”: under water."]
    assert ranklog.unfit_words(sites[:2], [False, True]) == []


def test_errors_of_our_own_are_owned_up_to(candidate):
    sites = [candidate(5.0, name=name) for name in "abc"]
    assert ranklog.own_error_words(sites) == []
    sites[1].trace = "Traceback (most recent call last) ..."
    line, = ranklog.own_error_words(sites)
    assert line.startswith("1 candidate(s) met an error of Stillwater's own; the traceback stands in the log panel")
