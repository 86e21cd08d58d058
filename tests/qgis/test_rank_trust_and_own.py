"""Trust in ranks and the analyst's own criteria in `rankcandidates`, and how its page explains them."""

import re

import numpy as np
import pytest
from scenes import MIDDLE_Y, Feedback, points, refusal, rows, run

pytestmark = pytest.mark.usefixtures("provider")

NAMES = ["at the shore", "two metres back", "four metres back", "out on the water"]


@pytest.fixture
def sites():
    east = (0.5, -2.0, -4.0, 300.0)
    return points(*[(500_000 + x, MIDDLE_Y) for x in east],
                  fields="name:string(20)|cost:double|distance:double",
                  rows=[[n, c, d] for n, c, d in zip(NAMES, (4000, 2000, 3000, 90_000), (50, 20, None, 800))])


def ranked(sites, feedback=None, **parameters):
    return {row["site"]: row for row in rows(run(
        "rankcandidates", feedback, INPUT=sites, SITE_FIELD="name",
        **parameters)["OUTPUT"])}


def test_ranks_have_an_interval_unless_told_otherwise(sites, coast):
    feedback = Feedback()
    table = ranked(sites, feedback, SHORE_SD=3, TRIALS=None, **coast)
    for row in table.values():
        assert row["rank_lo"] <= row["rank_hi"] and 0 <= row["p_best"] <= 1
    assert table["out on the water"]["rank_hi"] == 1 and table["out on the water"]["p_best"] == 1.0
    assert table["two metres back"]["rank_lo"] < table["two metres back"]["rank_hi"]
    assert "20 draws a candidate" in feedback.log and "seed 1" in feedback.log
    without = ranked(sites, TRIALS=0, **coast)
    assert {row["rank_lo"] for row in without.values()} == {None}
    assert [row["score"] for row in table.values()] == [row["score"] for row in without.values()]


def test_the_seed_makes_it_reproducible(sites, coast):
    def intervals(seed):
        return [(r["rank_lo"], r["rank_hi"], r["p_best"]) for r in ranked(
            sites, SEED=seed, TRIALS=6, SHORE_SD=3, **coast).values()]
    assert intervals(5) == intervals(5)


def test_a_rank_that_the_shoreline_turns_over_says_so(sites, coast):
    table = ranked(sites, TRIALS=2, SHORE_SD=5, **coast)
    assert "; a shoreline error of 5 m alone moves its rank from 2 to 4" in table["two metres back"]["advice"]
    assert "a shoreline error" not in table["out on the water"]["advice"]


def test_own_criteria_enter_the_score_with_direction_and_weight(sites, coast):
    plain = ranked(sites, TRIALS=0, **coast)
    cheap = ranked(sites, TRIALS=0, OWN_CRITERIA=["cost", 10_000, 1000, 2], **coast)
    for name, cost in zip(NAMES, (4000, 2000, 3000, 90_000)):
        wish = np.clip((cost - 10_000) / (1000 - 10_000), 0, 1)
        # the precision has weight 1, this one 2
        expected = (plain[name]["score"] / 100) ** (1 / 3) * wish ** (2 / 3) * 100
        assert cheap[name]["score"] == pytest.approx(expected, abs=1e-6)
    assert plain["out on the water"]["rank"] == 1 and cheap["out on the water"]["rank"] == 4
    assert cheap["out on the water"]["verdict"] == "unsuitable"
    assert cheap["out on the water"]["limit_by"].startswith("cost: 90000 (worth nothing from 10000 on)")
    # two rows as one list, as the command line gives them
    both = ranked(sites, TRIALS=0, OWN_CRITERIA=["cost", 10_000, 1000, 1, "distance", 1000, 100, 1], **coast)
    assert both["four metres back"]["limit_by"] == "distance: no value"


@pytest.mark.parametrize("wrong, words", [
    (["cost", 1000, 1000, 1], ["OWN_CRITERIA", "cost", "differ"]), (["cost", 1, 2, 0], ["weight"]),
    (["cost", "cheap", 2, 1], ["row 1", "cost"]), (["cost", 1, 2], ["OWN_CRITERIA", "needs 4"]),
    (["price", 1, 2, 1], ["no field “price”", "cost"]), (["cost", 1, 2, 1, "COST", 1, 2, 1], ["twice"])])
def test_wrong_own_criteria_are_refused(sites, coast, wrong, words):
    text = refusal("rankcandidates", INPUT=sites, OWN_CRITERIA=wrong, **coast)
    for word in words:
        assert word in text


@pytest.mark.parametrize("wrong", [{"TRIALS": -1}, {"HEIGHT_SD": -1}, {"SHORE_SD": -0.1}, {"WEIGHT_SD": -1},
                                   {"SEED": -3}])
def test_wrong_doubts_are_refused(sites, coast, wrong):
    assert next(iter(wrong)) in refusal("rankcandidates", INPUT=sites, **wrong, **coast)


def test_cancel_while_ranks_are_tried(sites, coast):
    feedback = Feedback(cancel_at=50)
    assert not run("rankcandidates", feedback, INPUT=sites, TRIALS=40, **coast)
    assert "Cancelled; nothing was written" in feedback.log


def test_the_page_explains_scores_side_by_side(sites, coast, tmp_path):
    page = tmp_path / "page.html"
    table = ranked(sites, OUTPUT_HTML=str(page), OWN_CRITERIA=["cost", 10_000, 1000, 2], SHORE_SD=3,
                   TRIALS=10, **coast)
    text = page.read_text(encoding="utf-8")
    assert "Side by side: what each precision is made of" in text and "What would change it" in text
    # a bar for the score in the table, one for the precision and one for the cost
    assert text.count('class="bar"') == len(NAMES) * 3
    assert "weighted geometric mean" in text and "Derringer and Suich 1980" in text
    # what would change it holds: full marks for the cost alone give that score
    row = table["four metres back"]
    assert row["verdict"] != "unsuitable"
    said = [re.search(r">([^<]*instead of[^<]*)<", part) for part in text.split("<tr>")]
    assert any(match for match in said)
    worst = re.search(r"cost 1000 instead of 90000: score (\d+)", text)
    alone = 100 / (1 + (table["out on the water"]["height_cm"] / 5) ** 2)
    assert int(worst[1]) == round(100 * (alone / 100) ** (1 / 3))
    assert f"({row['rank_lo']}–{row['rank_hi']}" in text
