"""Trust in ranks: intervals hold what drawn worlds show, and say what turns a rank over."""
from dataclasses import replace

import numpy as np
import pytest
from stillwater.siting.assess import assess
from stillwater.siting.errors import Cancelled
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.ranking.draws import Doubt, Draws, drawn, generator_of, moved
from stillwater.siting.ranking.ranking import rank
from stillwater.siting.ranking.trust import Trials, ranks_of, trust
from stillwater.siting.settings import Settings
from stillwater.siting.setup import Setup
from stillwater.siting.signals import wavelength_m
from stillwater.siting.verdict.score import Criterion, score

L1 = wavelength_m("GPS L1")
SETTINGS = Settings(L1, tuple(float(a) for a in range(5, 21)), 36)
DOUBT = Doubt(height_m=0.2, level_m=0.15, shore_m=1.5, weight=0.3, trials=40, seed=3)
X0, Y0 = 500_000.0, 4_980_000.0
COST = Criterion("own:cost", "cost", "", 20_000.0, 5_000.0)
WANTED = 5.0


@pytest.fixture
def shore(local_rings):
    """Water north of a straight shore, with a pond's worth of ships to avoid."""
    water = [(-1500, 0), (1500, 0), (1500, 1500), (-1500, 1500)]
    return SurfaceLayers(water=local_rings((water, [], 0)))


@pytest.fixture
def sites(candidate):
    """Ten candidates at nearly the same distance from the shore, so that errors turn their order over."""
    return [candidate(5.0 + 0.15 * (i % 3), X0 - 450 + 100 * i, Y0 - 0.6 * i, name=f"site {i}", low_m=-0.3, high_m=0.3)
            for i in range(10)]


@pytest.fixture
def gps(look_at):
    """Look at GPS alone, which is quicker and parts sites by where its satellites pass."""
    return look_at(("GPS",))


def evaluate(candidates, layers, look):
    error, broken = np.full(len(candidates), np.nan), np.zeros(len(candidates), bool)
    for index, one in assess(candidates, layers, SETTINGS):
        if one is not None:
            error[index] = look.over(one).precision()
    return Draws(error, np.zeros((len(candidates), 0)), broken)


def test_the_interval_covers_the_true_rank_and_is_no_wider_than_need_be(shore, sites, gps):
    """200 worlds drawn apart from the draws of the interval: coverage 85 to 98 %, width at most 1.5 times."""
    rows = rank(sites, Setup(shore, SETTINGS, gps), doubt=DOUBT)
    low, high = (np.array([getattr(next(r for r in rows if r.index == i), name) for i in range(10)])
                 for name in ("rank_lo", "rank_hi"))
    rng = np.random.default_rng(2026)
    true = np.array([ranks_of(evaluate([drawn(c, DOUBT, rng) for c in sites], shore, gps), WANTED, []).rank
                     for _world in range(200)])
    covered = ((true >= low) & (true <= high)).mean()
    spread = np.percentile(true, 95, axis=0) - np.percentile(true, 5, axis=0)
    assert spread.mean() > 1.5, "a scene in which nothing turns over would prove nothing"
    assert 0.85 <= covered <= 0.98
    assert (high - low).mean() <= 1.5 * spread.mean()


def test_ranks_agree_with_the_order_of_the_score():
    rng = np.random.default_rng(4)
    error, cost, broken = rng.uniform(1, 20, 60), rng.choice([4e3, 9e3, 15e3, 3e4], 60), rng.random(60) < 0.2
    ranks = ranks_of(Draws(error, cost[:, None], broken), WANTED, [COST]).rank
    scores = [score(e, WANTED, [c], [COST], b).score for e, c, b in zip(error, cost, broken.tolist())]
    order = sorted(range(60), key=lambda i: (broken[i], -scores[i], error[i]))
    assert ranks[order].tolist() == list(range(1, 61))


def test_candidates_that_were_not_assessed_have_no_interval(shore, sites, gps):
    sites[3].problem = "it has no geometry"
    rows = rank(sites, Setup(shore, SETTINGS, gps), doubt=Doubt(trials=3))
    lost = next(row for row in rows if row.index == 3)
    assert lost.rank is None and lost.rank_lo is None and lost.p_best is None
    assert all(row.rank_lo is not None for row in rows if row.index != 3)
    assert max(row.rank_hi for row in rows if row.index != 3) <= 9


def test_the_same_seed_gives_the_same(shore, sites, gps):
    def intervals(seed):
        return [(r.index, r.rank_lo, r.rank_hi, r.p_best) for r in rank(
            sites, Setup(shore, SETTINGS, gps), doubt=Doubt(height_m=0.3, shore_m=2.0, trials=5, seed=seed))]
    assert intervals(1) == intervals(1)
    assert intervals(1) != intervals(2)


def test_shares_of_being_best_sum_to_one(shore, sites, gps):
    rows = rank(sites, Setup(shore, SETTINGS, gps), doubt=Doubt(trials=6))
    assert sum(row.p_best for row in rows) == pytest.approx(1.0)
    assert all(row.rank_lo <= row.rank_hi for row in rows)


def test_a_rank_that_a_metre_of_shoreline_turns_over_says_so(shore, candidate, gps):
    """The two stand as far from the shore but for 0.2 m, so near each other that they see the same satellites."""
    near = candidate(5.0, X0, Y0 - 8.0, name="near")
    far = candidate(5.0, X0 + 1, Y0 - 8.2, name="far")
    out = candidate(5.0, X0, Y0 + 400, name="out on the water")
    rows = rank([near, far, out], Setup(shore, SETTINGS, gps), doubt=Doubt(height_m=0, level_m=0, weight=0, trials=2))
    words = {row.index: row.advice for row in rows}
    assert words[0].endswith("a shoreline error of 1 m alone moves its rank from 2 to 3")
    assert words[1].endswith("a shoreline error of 1 m alone moves its rank from 2 to 3")
    assert "shoreline error" not in words[2] and all(len(w.encode()) <= 254 for w in words.values())


def test_without_doubt_the_interval_is_the_rank(shore, sites, gps):
    rows = rank(sites, Setup(shore, SETTINGS, gps), doubt=Doubt(height_m=0, level_m=0, shore_m=0, weight=0, trials=2))
    assert all(row.rank_lo == row.rank == row.rank_hi for row in rows)


def test_the_order_of_the_input_never_matters(shore, sites, gps):
    """Reversed and shuffled, each site keeps its score, rank, interval and chance to be the best, to the last digit."""
    def told(some):
        rows = rank([replace(one) for one in some], Setup(shore, SETTINGS, gps), doubt=replace(DOUBT, trials=6))
        return {some[r.index].name: (r.result.score, r.rank, r.tied, r.rank_lo, r.rank_hi, r.p_best, r.advice)
                for r in rows}

    first = told(sites)
    mixed = [sites[i] for i in np.random.default_rng(1).permutation(len(sites))]
    assert told(sites[::-1]) == first and told(mixed) == first
    for one in sites[:4]:
        alone = rank([replace(one)], Setup(shore, SETTINGS, gps))
        assert alone[0].result.score == pytest.approx(first[one.name][0], abs=1e-6)


def test_forty_equal_sites_share_everything(candidate, local_rings, gps):
    """The same place forty times: one rank, one fortieth of the chance to be the best, the order that of the names."""
    water = SurfaceLayers(water=local_rings(([(-1500, 0), (1500, 0), (1500, 1500), (-1500, 1500)], [], 0)))
    same = [candidate(5.0, X0, Y0 - 3.0, name=f"site {i:02d}") for i in range(40)]
    worse = candidate(5.0, X0, Y0 - 12.0, name="a worse one")
    for order in ([*same, worse], [worse, *same[::-1]]):
        some = [replace(one) for one in order]
        rows = rank(some, Setup(water, SETTINGS, gps), doubt=Doubt(trials=3))
        equal = [row for row in rows if some[row.index].name != "a worse one"]
        assert {(row.rank, row.tied, row.rank_lo, row.rank_hi) for row in equal} == {(1, 40, 1, 40)}
        assert {round(row.p_best, 9) for row in equal} == {1 / 40}
        assert [some[row.index].name for row in rows] == [*(one.name for one in same), "a worse one"]
        assert rows[-1].rank == 41


def test_moves_are_true_metres(candidate):
    """Against pyproj's geodesic, here as a test of the direction."""
    import pyproj
    one = candidate(5.0)
    other = moved(one, 300.0, 400.0)
    azimuth, _back, distance = pyproj.Geod(ellps="WGS84").inv(one.lon, one.lat, other.lon, other.lat)
    assert distance == pytest.approx(500.0, abs=1e-6) and azimuth == pytest.approx(36.87, abs=0.01)


def test_an_antenna_that_may_drown_is_ranked_last_in_that_world(candidate):
    one = candidate(0.3, high_m=0.2, low_m=-0.2)
    draws = [drawn(one, Doubt(height_m=0.5), np.random.default_rng(i)) for i in range(40)]
    assert any(other.drowned for other in draws) and not all(other.drowned for other in draws)
    world = Draws(np.array([29.0, np.inf]), np.zeros((2, 0)), np.array([False, True]))
    assert ranks_of(world, WANTED, []).rank.tolist() == [1, 2]


def test_trust_counts_ranks_of_worlds(candidate):
    """Two candidates, one of which is better in three of four draws; and a third that equals the first."""
    error = np.array([[2.0, 3.0, 2.0]] * 3 + [[4.0, 3.0, 4.0]])
    draws = Draws(error, np.zeros((4, 3, 0)), np.zeros((4, 3), bool))
    first, second = candidate(5.0), candidate(6.0)
    generators = [generator_of(one, 1) for one in (first, second, replace(first, name="its double"))]
    found = trust(Trials(draws, draws.chosen(0)), WANTED, [], Doubt(weight=0.0, trials=4), generators, worlds=4000)
    assert found.best == pytest.approx([0.375, 0.25, 0.375], abs=0.02)
    assert found.low.tolist() == [1, 1, 1] and found.high.tolist() == [3, 3, 3]


def test_a_candidates_draws_are_its_own(candidate):
    one, other = candidate(5.0), candidate(5.0, X0 + 30)
    assert generator_of(one, 1).normal() == generator_of(replace(one, name="renamed"), 1).normal()
    assert len({generator_of(a, seed).normal() for a in (one, other) for seed in (1, 2)}) == 4


def test_cancel_stops_between_draws(shore, sites, gps):
    asked = []

    def is_cancelled():
        asked.append(1)
        return len(asked) > 25
    with pytest.raises(Cancelled):
        rank(sites, Setup(shore, SETTINGS, gps), is_cancelled=is_cancelled, doubt=Doubt(trials=50))
