"""Trust counted from draws laid out by hand: which ranks, how often the best, and what the shore alone does."""
import numpy as np
import pytest
from stillwater.siting.ranking.draws import Doubt, Draws
from stillwater.siting.ranking.trust import Trials, ranks_of, trust
from stillwater.siting.verdict.score import Criterion

WANTED = 5.0
CERTAIN = Doubt(height_m=0.0, level_m=0.0, shore_m=0.0, weight=0.0, seed=4)
ROAD = Criterion("road", "road", " m", 0.0, 100.0)
COST = Criterion("cost", "cost", " EUR", 100.0, 0.0)


def draws(error, own=None, broken=None):
    error = np.array(error, float)
    own = np.zeros((*error.shape, 0)) if own is None else np.array(own, float)
    return Draws(error, own, np.zeros(error.shape, bool) if broken is None else np.array(broken, bool))


def trusted(drawn, nominal=None, criteria=(), doubt=CERTAIN, worlds=2000, by_shore=None):
    nominal = drawn.chosen(0) if nominal is None else nominal
    generators = [np.random.default_rng(index) for index in range(drawn.error.shape[1])]
    return trust(Trials(drawn, nominal, by_shore), WANTED, criteria, doubt, generators, worlds)


def test_ranks_of_one_world():
    # by hand: 1/(1 + (e/5)²); a broken limit goes behind, what was not assessed last
    world = draws([4.0, 2.0, 1.0, np.nan, 3.0], broken=[0, 0, 1, 0, 0])
    assert ranks_of(world, WANTED, []).rank.tolist() == [3, 1, 4, 5, 2]
    # of one error the better road is the better site, unless it weighs nothing
    world = draws([3.0, 3.0], own=[[20.0], [80.0]])
    assert ranks_of(world, WANTED, [ROAD]).rank.tolist() == [2, 1]
    assert ranks_of(world, WANTED, [ROAD], np.array([0.0])).rank.tolist() == [1, 1]


def test_the_interval_is_that_of_5_and_95_percent():
    """The first is the best of three in 4 % of the worlds only, the second in 8 %, the third in all others."""
    number = 100
    error = np.tile([3.0, 3.5, 2.0], (number, 1))
    error[:4, 0], error[:8, 1] = 1.0, 0.5
    found = trusted(draws(error), draws([3.0, 3.5, 2.0]), worlds=6000)
    assert found.low.tolist() == [2, 1, 1] and found.high.tolist() == [3, 3, 2]
    # independent: the second is the best in 8 %, the first in 4 % of the rest
    assert found.best == pytest.approx([0.04 * 0.92, 0.08, 0.92 * 0.96], abs=0.01)
    assert found.best.sum() == pytest.approx(1.0)


def test_of_few_worlds_the_interval_is_rather_too_wide():
    """Of ten worlds 5 % are half a world: the least and the greatest rank count, as when rounding outwards."""
    error = np.array([[1.0, 2.0]] * 9 + [[3.0, 2.0]])
    taken = np.array([np.random.default_rng(index).integers(0, 10, 10) for index in range(2)])
    found = trusted(draws(error), worlds=10)
    first = error[taken[0], 0] < 2.0
    assert found.low.tolist() == [1 if first.any() else 2, 2 if first.all() else 1]
    assert found.high.tolist() == [1 if first.all() else 2, 2 if first.any() else 1]


def test_equals_span_their_ranks_and_share_being_the_best():
    found = trusted(draws([[2.0, 2.0, 2.0, 9.0]] * 3), worlds=50)
    assert found.low.tolist() == [1, 1, 1, 4] and found.high.tolist() == [3, 3, 3, 4]
    assert found.best == pytest.approx([1 / 3, 1 / 3, 1 / 3, 0])
    assert found.by_shore_low.tolist() == [1, 1, 1, 4] and found.by_shore_high.tolist() == [3, 3, 3, 4]


def test_weights_in_doubt_turn_over_what_only_they_decide():
    """One near a road, one cheap, otherwise alike: which is the better is which weighs more, even odds."""
    own = [[[60.0, 60.0], [40.0, 40.0]]] * 2  # road 0.6 and cost 0.4; road 0.4 and cost 0.6
    drawn = draws([[3.0, 3.0]] * 2, own)
    certain = trusted(drawn, criteria=[ROAD, COST])
    assert certain.low.tolist() == [1, 1] and certain.best.tolist() == [0.5, 0.5], "equal weights tie"
    doubted = trusted(drawn, criteria=[ROAD, COST], doubt=Doubt(weight=0.3, seed=4), worlds=2500)
    assert doubted.low.tolist() == [1, 1] and doubted.high.tolist() == [2, 2]
    assert doubted.best == pytest.approx([0.5, 0.5], abs=0.03) and doubted.best[0] != 0.5
    # a road that weighs e² times as much is the less of the two in P(N(0, 0.3√2) > 2) of the worlds: never
    heavy = trusted(drawn, criteria=[ROAD._replace(weight=np.e**2), COST], doubt=Doubt(weight=0.3, seed=4))
    assert heavy.best.tolist() == [1.0, 0.0]
    # one and a half standard deviations: 6.7 % (the normal distribution)
    near = trusted(drawn, criteria=[ROAD._replace(weight=np.exp(1.5 * 0.3 * np.sqrt(2.0))), COST],
                   doubt=Doubt(weight=0.3, seed=4), worlds=2500)
    assert near.best[1] == pytest.approx(0.0668, abs=0.015)


def test_who_was_not_assessed_has_no_interval_and_takes_nobodys_place():
    drawn = draws([[2.0, np.nan, 3.0]] * 4)
    found = trusted(drawn, by_shore=drawn)
    for part in found:
        assert np.isnan(part[1]) and np.isfinite(part[[0, 2]]).all()
    assert found.low[[0, 2]].tolist() == [1, 2] and found.by_shore_high[[0, 2]].tolist() == [1, 2]


def test_the_shore_moves_one_at_a_time_and_the_others_stay():
    nominal = draws([2.0, 3.0, 4.0])
    # moved one way all are worse by 1.5, the other way better by 1.5; alone that is two ranks for the middle one
    by_shore = draws([[3.5, 4.5, 5.5], [0.5, 1.5, 2.5]])
    found = trusted(draws([nominal.error] * 2), nominal, by_shore=by_shore)
    assert found.by_shore_low.tolist() == [1, 1, 2] and found.by_shore_high.tolist() == [2, 3, 3]
    assert found.low.tolist() == found.high.tolist() == [1, 2, 3]
    # its own properties and limits come with it
    broken = draws([[2.0, 3.0, 4.0]], broken=[[True, False, False]])
    found = trusted(draws([nominal.error] * 2), nominal, by_shore=broken)
    assert found.by_shore_high.tolist() == [3, 2, 3] and found.by_shore_low.tolist() == [1, 2, 3]


def test_worlds_are_the_same_for_the_same_seeds():
    error = np.random.default_rng(1).uniform(1.0, 3.0, (8, 4))
    own = np.random.default_rng(2).uniform(20.0, 80.0, (8, 4, 1))
    one, same, other = (trusted(draws(error, own), criteria=[ROAD], doubt=Doubt(seed=seed), worlds=300)
                        for seed in (1, 1, 2))
    assert one.best.tolist() == same.best.tolist() != other.best.tolist()


class InTurn:
    """Stand in for random numbers: every draw in its turn, so that the worlds are the draws."""

    def integers(self, low, high, number):
        return np.arange(number) % (high - low) + low


@pytest.mark.parametrize("worlds", [20, 21, 22, 57, 201])
@pytest.mark.parametrize("extreme", [1, 2, 3, 10, 11, 12])
def test_5_and_95_percent_are_those_of_numpy_rounded_outwards(worlds, extreme):
    """One is the better in so many worlds, in all others the worse, of two."""
    better = np.arange(worlds) < min(extreme, worlds - 1)
    drawn = draws(np.stack([np.where(better, 1.0, 3.0), np.full(worlds, 2.0)], axis=-1))
    found = trust(Trials(drawn, drawn.chosen(0)), WANTED, [], CERTAIN, [InTurn(), InTurn()], worlds)
    for index, rank in enumerate((np.where(better, 1, 2), np.where(better, 2, 1))):
        assert found.low[index] == np.percentile(rank, 5, method="lower")
        assert found.high[index] == np.percentile(rank, 95, method="higher")
    assert found.best == pytest.approx([better.mean(), 1.0 - better.mean()])


def test_weights_in_doubt_are_as_often_greater_as_smaller():
    """Precision against road, worth 0.8 × 0.5 and 0.5 × 0.8: even odds. At the weight told both are worth the same,
    and of such the one of the smaller error goes first."""
    drawn = draws([[2.5, 5.0]] * 2, [[[50.0], [80.0]]] * 2)
    assert trusted(drawn, criteria=[ROAD]).best.tolist() == [1.0, 0.0]
    doubted = trusted(drawn, criteria=[ROAD], doubt=Doubt(weight=0.3, seed=4), worlds=2500)
    assert doubted.best == pytest.approx([0.5, 0.5], abs=0.04) and doubted.low.tolist() == [1, 1]
