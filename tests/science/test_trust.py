"""Trust in ranks: intervals hold what drawn worlds show, and say what turns a rank over."""
import numpy as np
import pytest
from stillwater.siting.assess import Settings, assess
from stillwater.siting.errors import Cancelled
from stillwater.siting.ground.surface import SurfaceLayers
from stillwater.siting.ranking import properties, rank
from stillwater.siting.signals import wavelength_m
from stillwater.siting.trust import Doubt, Draws, drawn, moved, rank_numbers, trust
from stillwater.siting.verdict.score import AZ_SPAN, QUALITY, rank_order, score

L1 = wavelength_m("GPS L1")
SETTINGS = Settings(L1, tuple(float(a) for a in range(5, 21)), 36)
DOUBT = Doubt(height_m=0.2, level_m=0.15, shore_m=1.5, weight=0.3, trials=40, seed=3)
X0, Y0 = 500_000.0, 4_980_000.0
SHARP_AZ_SPAN = AZ_SPAN._replace(best=180.0)
SHARP_QUALITY = QUALITY._replace(best=1.0)
CRITERIA = [SHARP_QUALITY, SHARP_AZ_SPAN]


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


def evaluate(candidates, layers, criteria):
    values, broken = np.full((len(candidates), len(criteria)), np.nan), np.zeros(len(candidates), bool)
    for index, one in assess(candidates, layers, SETTINGS):
        if one is not None:
            found, _sky = properties(one)
            values[index] = [found[c.key] for c in criteria]
    return values, broken


def test_the_interval_covers_the_true_rank_and_is_no_wider_than_need_be(shore, sites):
    """200 worlds drawn apart from the draws of the interval: coverage 85 to 98 %, width at most 1.5 times."""
    rows = rank(sites, shore, SETTINGS, CRITERIA, doubt=DOUBT)
    low, high = (np.array([getattr(next(r for r in rows if r.index == i), name) for i in range(10)])
                 for name in ("rank_lo", "rank_hi"))
    rng = np.random.default_rng(2026)
    weight = np.array([c.weight for c in CRITERIA])
    true = []
    for _world in range(200):
        values, broken = evaluate([drawn(c, DOUBT, rng) for c in sites], shore, CRITERIA)
        true.append(rank_numbers(values, broken, CRITERIA, weight * np.exp(rng.normal(0, DOUBT.weight, 2))))
    true = np.array(true)
    covered = ((true >= low) & (true <= high)).mean()
    spread = np.percentile(true, 95, axis=0) - np.percentile(true, 5, axis=0)
    assert spread.mean() > 1.5, "a scene in which nothing turns over would prove nothing"
    assert 0.85 <= covered <= 0.98
    assert (high - low).mean() <= 1.5 * spread.mean()


def test_ranks_agree_with_the_order_of_the_score():
    rng = np.random.default_rng(4)
    values = np.stack([rng.uniform(0, 0.8, 60), rng.choice([0.0, 10.0, 30.0, 60.0, 120.0], 60)], axis=1)
    broken = rng.random(60) < 0.2
    scores = [score(v, [QUALITY, AZ_SPAN], b) for v, b in zip(values, broken)]
    order = rank_order(scores, [QUALITY, AZ_SPAN], broken.tolist())
    assert np.argsort(rank_numbers(values, broken, [QUALITY, AZ_SPAN])).tolist() == order


def test_candidates_that_were_not_assessed_have_no_interval(shore, sites):
    sites[3].problem = "it has no geometry"
    rows = rank(sites, shore, SETTINGS, doubt=Doubt(trials=3))
    lost = next(row for row in rows if row.index == 3)
    assert lost.rank is None and lost.rank_lo is None and lost.p_best is None
    assert all(row.rank_lo is not None for row in rows if row.index != 3)
    assert max(row.rank_hi for row in rows if row.index != 3) <= 9


def test_the_same_seed_gives_the_same(shore, sites):
    def intervals(seed):
        return [(r.index, r.rank_lo, r.rank_hi, r.p_best) for r in rank(
            sites, shore, SETTINGS, CRITERIA, doubt=Doubt(height_m=0.3, shore_m=2.0, trials=5, seed=seed))]
    assert intervals(1) == intervals(1)
    assert intervals(1) != intervals(2)


def test_shares_of_being_best_sum_to_one(shore, sites):
    rows = rank(sites, shore, SETTINGS, CRITERIA, doubt=Doubt(trials=6))
    assert sum(row.p_best for row in rows) == pytest.approx(1.0)
    assert all(row.rank_lo <= row.rank_hi for row in rows)


def test_a_rank_that_a_metre_of_shoreline_turns_over_says_so(shore, candidate):
    """The two stand as far from the shore but for 0.2 m."""
    near = candidate(5.0, X0 - 300, Y0 - 8.0, name="near")
    far = candidate(5.0, X0 + 300, Y0 - 8.2, name="far")
    out = candidate(5.0, X0, Y0 + 400, name="out on the water")
    rows = rank([near, far, out], shore, SETTINGS, CRITERIA, doubt=Doubt(height_m=0, level_m=0, weight=0, trials=2))
    words = {row.index: row.advice for row in rows}
    assert words[0].startswith("a shoreline error of 1 m alone moves its rank from 2 to 3")
    assert words[1].startswith("a shoreline error of 1 m alone moves its rank from 2 to 3")
    assert "shoreline error" not in words[2]


def test_without_doubt_the_interval_is_the_rank(shore, sites):
    rows = rank(sites, shore, SETTINGS, CRITERIA,
                doubt=Doubt(height_m=0, level_m=0, shore_m=0, weight=0, trials=2))
    assert all(row.rank_lo == row.rank == row.rank_hi for row in rows)


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
    values = np.array([[0.5, 90.0], [QUALITY.worst, AZ_SPAN.worst]])
    assert rank_numbers(values, np.array([False, True]), [QUALITY, AZ_SPAN]).tolist() == [1, 2]


def test_trust_counts_ranks_of_worlds():
    """Two candidates, one of which is better in three of four draws."""
    values = np.array([[[0.5, 60.0], [0.4, 60.0]]] * 3 + [[[0.3, 60.0], [0.4, 60.0]]])
    found = trust(Draws(values, np.zeros((4, 2), bool)), [QUALITY, AZ_SPAN], Doubt(weight=0.0, trials=4),
                  values[0], np.zeros(2, bool), worlds=4000)
    assert found.best[0] == pytest.approx(0.75, abs=0.03)
    assert found.low.tolist() == [1, 1] and found.high.tolist() == [2, 2]


def test_cancel_stops_between_draws(shore, sites):
    asked = []

    def is_cancelled():
        asked.append(1)
        return len(asked) > 25
    with pytest.raises(Cancelled):
        rank(sites, shore, SETTINGS, is_cancelled=is_cancelled, doubt=Doubt(trials=50))
