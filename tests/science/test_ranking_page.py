"""The page of a ranking: well formed, at rest without a network, and every figure that of its row."""

import re
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from stillwater.siting.precision.demand import Demand, Receiver
from stillwater.siting.purposes import SEA_LEVEL
from stillwater.siting.ranking.draws import Doubt
from stillwater.siting.ranking.ranking import rank
from stillwater.siting.report import page
from stillwater.siting.report.rankingpage import ranking_page
from stillwater.siting.report.rankingsides import MOST_CANDIDATES, side_by_side
from stillwater.siting.report.reportedrun import ReportedRun
from stillwater.siting.report.styles import STYLES, style
from stillwater.siting.setup import Limits, Setup
from stillwater.siting.verdict.score import Criterion, total_scores
from stillwater.tests.science.shore_scenes import SETTINGS, sea
from stillwater.tests.science.strict_page import StrictPage

COST = Criterion("cost", "cost & care", " EUR", 20_000.0, 5000.0, 0.5)
NAME = "Pier <head> & “quay”"
INPUTS = [("INPUT", "Candidates", "/data/a<b>.gpkg"), ("DEM", "Elevation", "")]


@pytest.fixture
def reported(candidate, look_at):
    """Give a function that ranks four sites (good, low, beside the map, without arcs) and writes their page."""
    def make(criteria=(COST,), doubt=None, missing=("waves",), days=1, **looking):
        sites = [candidate(6.0, low_m=-1.0, high_m=1.0, name=NAME), candidate(3.0, low_m=-1.0, high_m=1.0, name="low"),
                 candidate(5.0, x=np.nan, name="nowhere"), candidate(5.0, x=490_000.0, name="inland")]
        for one, cost in zip(sites, (8000.0, 5000.0, 1.0, np.nan)):
            one.own = {"cost": cost}
        look = look_at(("GPS", "Galileo"), days=days, **looking)
        setup = Setup(sea(5.0), SETTINGS, look, criteria, limits=Limits(3.0))
        rows = rank(sites, setup, doubt)
        run = ReportedRun(SEA_LEVEL, sites, SETTINGS, missing, "EPSG:32633", False, False)
        return ranking_page(rows, run, criteria, INPUTS, look), rows, run
    return make


def cells_of(row):
    """Return a table's row as texts without what the bars and brackets add."""
    return [text.strip() for text in row]


def test_it_is_well_formed_and_asks_for_nothing(reported):
    text, _rows, _run = reported()
    found = StrictPage(text)
    assert found.headings[0] == (1, "Ranking of 4 candidate sites")
    assert [level for level, _words in found.headings].count(1) == 1
    steps = np.diff([level for level, _words in found.headings])
    assert steps.max() <= 1, "no level of heading is left out"
    assert found.links == [] and len(set(found.ids)) == len(found.ids)
    policy = next(given["content"] for tag, given in found.elements if given.get("http-equiv"))
    assert policy.startswith("default-src 'none'") and "table.ranks" in found.script
    assert {given.get("lang") for tag, given in found.elements if tag == "html"} == {"en"}
    assert not re.search(r"nan|None|inf\b", re.sub(r"<script>.*</script>|<style>.*</style>", "", text, flags=re.S))


def test_each_line_of_the_table_is_its_row(reported):
    text, rows, run = reported()
    head, *lines = StrictPage(text).tables[0]
    assert head == ["Rank", "Site", "Score", "Verdict", "Precision[cm]", "Arcsa day", "Longestgap [h]",
                    "Spoiled[% of time]", "Azimuthspan [°]", "Leastheight [m]", "Log every[s]", "Limited by"]
    assert len(lines) == len(rows) == 4
    for line, row in zip(map(cells_of, lines), rows):
        assert line[1] == run.candidates[row.index].name and line[3] == row.verdict and line[11] == row.limit_by
        assert line[0] == ("–" if row.rank is None else str(row.rank))
        if row.result is None:
            assert [line[i] for i in (2, 4, 5, 6, 7, 8, 10)] == ["–"] * 7
            continue
        assert float(line[2]) == round(row.result.score) and float(line[8]) == row.az_span_deg
        assert float(line[4]) == pytest.approx(row.sky.precision, rel=0.06)
        assert float(line[9]) == pytest.approx(row.h_high_m, abs=0.05)
        if row.sky.has_arcs:
            assert float(line[5]) == round(row.sky.arcs_day) and float(line[7]) == round(100 * row.sky.busy)
            assert float(line[6].lstrip("≥ ")) == pytest.approx(row.sky.gap_h, abs=0.05)
        else:
            assert line[5:8] == ["0", "–", "–"]


def test_a_bar_is_as_long_as_its_score(reported):
    text, rows, _run = reported()
    first = StrictPage(text).elements
    widths = [given["style"] for tag, given in first if tag == "i" and "width" in given.get("style", "")]
    scored = [row for row in rows if row.result is not None]
    assert widths[:len(scored)] == [f"width:{row.result.score:.0f}%" for row in scored]


def test_trust_stands_in_brackets_and_ties_are_told(reported):
    text, rows, _run = reported(doubt=Doubt(trials=4), criteria=())
    lines = StrictPage(text).tables[0][1:]
    for line, row in zip(lines, rows):
        if row.rank_lo is not None:
            best = f", {100 * row.p_best:.0f} %" if row.p_best >= 0.005 else ""
            assert line[0].endswith(f"({row.rank_lo}–{row.rank_hi}{best})")
    assert "hold in 90 % of the worlds drawn" in text and "TRIALS is 0" not in text
    plain, rows, _run = reported(criteria=())
    assert "Trust in the ranks was not looked at (TRIALS is 0)." in plain
    rows[0].tied = 3
    run = ReportedRun(SEA_LEVEL, _run.candidates, SETTINGS, (), "EPSG:32633", False, False)
    assert "shared by 3" in ranking_page(rows, run, (), INPUTS, plain_look())


def plain_look():
    """Return any look at the sky; what is told of ties does not depend on it."""
    orbits = SimpleNamespace(systems=["GPS"], names=["G01"], source="an <almanac>", is_nominal=False)
    sky = SimpleNamespace(orbits=orbits, start_s=1_780_272_000.0, days=2)
    return SimpleNamespace(sky=sky, demand=Demand(5.0, 3.0), receiver=Receiver())


def test_what_was_looked_at_and_what_not_is_said(reported):
    text, rows, run = reported()
    assert "Not looked at: waves." in StrictPage(text).paragraphs[1]
    assert "With nominal orbits the geometry of the arcs is right and clock times are indicative." in text
    whole = ranking_page(rows, replace(run, missing=()), (), INPUTS, plain_look())
    said = StrictPage(whole).paragraphs[1]
    assert "roughness and tide were looked at too" in said and "nominal" not in said
    # 1 780 272 000 s after 1970 begins 2026-06-01 (Unix time)
    assert "1 of GPS, an <almanac>, from 2026-06-01" in said and "for 2 days." in said


def test_how_the_score_is_made_tells_the_runs_own_figures(reported):
    text, _rows, run = reported(demand=Demand(4.0, 6.0), interval_s=2.0)
    words = " ".join(StrictPage(text).paragraphs)
    for part in ("every 6 h", "4 cm is wanted", "at least 3 oscillations", "tells surfaces 1 m apart",
                 "95 % of its first", "an interval of 2 s resolves it", "49 dB-Hz at the zenith", "steps of 0.1 dB"):
        assert part in words, part
    own = next(table for table in StrictPage(text).tables if table[0][0] == "Own criterion")
    assert own[1] == ["cost & care", "20000 EUR", "5000 EUR", "0.5"]
    loose = ReportedRun(SEA_LEVEL, run.candidates, replace(SETTINGS, max_res_m=None), (), "", False, False)
    assert "tells surfaces" not in ranking_page([], loose, (), INPUTS, plain_look())


def test_side_by_side_says_what_would_change_a_score(reported):
    text, rows, run = reported()
    found = StrictPage(text)
    table = next(one for one in found.tables if one[0][-1] == "What would change it")
    shown = [row for row in rows if row.result is not None]
    assert [line[0] for line in table[1:]] == [run.candidates[row.index].name for row in shown]
    for line, row in zip(table[1:], shown):
        if row.is_limit_broken:
            assert line[-1] == row.limit_by
        elif np.isfinite(row.own[0]):
            better = float(total_scores(row.result.precision, 5.0, np.array([COST.best]), [COST]))
            assert line[-1] == f"cost & care 5000 instead of 8000: score {better:.0f}"
            assert line[8].startswith("8000 EUR") and line[8].endswith("0.80")  # (20000 − 8000)/(20000 − 5000)
        else:
            assert "instead of no value" in line[-1] or line[-1] == "nothing of these"
            assert line[8].startswith("–")


def test_only_the_first_stand_side_by_side_and_the_others_are_counted(reported):
    _text, rows, run = reported(criteria=())
    many = [rows[0]] * (MOST_CANDIDATES + 3)
    found = StrictPage(f"<div>{side_by_side(many, run, (), plain_look())}</div>")
    assert len(found.tables[0]) == 1 + MOST_CANDIDATES and "What would change it" not in found.tables[0][0]
    assert found.paragraphs[-1] == f"The first {MOST_CANDIDATES}; 3 more stand in the table above."
    unassessed = [row for row in rows if row.result is None]
    assert unassessed and side_by_side(unassessed, run, (), plain_look()) == ""


def test_each_candidate_has_a_card_and_the_inputs_are_kept(reported):
    text, rows, run = reported()
    found = StrictPage(text)
    cards = [words for level, words in found.headings if level == 3]
    assert cards == [(f"{row.rank}. " if row.rank is not None else "") + run.candidates[row.index].name
                     for row in rows]
    assert sum(tag == "svg" for tag, _given in found.elements) == sum(row.bin_quality is not None for row in rows)
    for row in rows:
        assert row.advice in found.paragraphs
    assert found.tables[-1] == [["Parameter", "Meaning", "Value"], *map(list, INPUTS)]


def test_one_candidate_is_one(reported):
    _text, rows, run = reported(criteria=())
    alone = StrictPage(ranking_page(rows[:1], run, (), INPUTS, plain_look()))
    assert alone.headings[0] == (1, "Ranking of 1 candidate site")


def test_colours_of_a_style_are_filled_in_and_none_else_is_known():
    for name in STYLES:
        assert "$" in STYLES[name] and "$" not in style(name) and style(name).count("{") == style(name).count("}")
    with pytest.raises(KeyError):
        style("poster")


def test_words_are_escaped_once_and_html_not_again():
    once = page.html("a < b & c")
    assert once == "a &lt; b &amp; c" and page.html(once) == once
    assert page.element("p", "x & y", "small", ' lang="en"') == '<p lang="en" class="small">x &amp; y</p>'
    assert page.cell("1 < 2", "n", True) == '<th scope="row" class="n">1 &lt; 2</th>'
    table = StrictPage(page.table([("A", ""), ("B", "n")], [[page.cell("1"), page.cell("2", "n")]], "t", "Cap",
                                  (0.25, 0.75)))
    assert table.tables == [[["A", "B"], ["1", "2"]]] and table.captions == ["Cap"]
    assert [given["style"] for tag, given in table.elements if tag == "col"] == ["width:25%", "width:75%"]
    assert "<colgroup>" not in page.table([("A", "")], [])
