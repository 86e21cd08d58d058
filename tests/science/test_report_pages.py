"""Pages of a ranking and of site sheets: read back by Python's own HTML parser, which knows nothing of the builder."""

import re
from html.parser import HTMLParser
from types import SimpleNamespace

import numpy as np
import pytest
from stillwater.siting.charts.levelchart import Levels, levels_chart
from stillwater.siting.charts.rosechart import rose_chart
from stillwater.siting.purposes import SEA_LEVEL
from stillwater.siting.report.blocks import Chart, Heading, MapFigure, Paragraph, Section, Sheet, Table
from stillwater.siting.report.page import Html, cell, element, html, table, whole_page
from stillwater.siting.report.rankingpage import ranking_page
from stillwater.siting.report.reportedrun import ReportedRun
from stillwater.siting.report.sheetpage import sheet_page
from stillwater.siting.report.styles import STYLES, style
from stillwater.siting.verdict.score import Criterion
from stillwater.siting.words.ranklog import (
    best_words,
    own_error_words,
    tide_words,
    tie_words,
    trust_words,
    unfit_words,
)

VOID = {"meta", "col", "br"}
"""Of the void elements of the HTML standard, those that a page has."""
NASTY = "<script>alert('x')</script> & \"Söhne\" 灯台"


class Page(HTMLParser):
    """Reads strictly: each element closed in order, text by the element that it stands in."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.open, self.ids, self.references, self.links, self.tags, self.texts = [], [], [], [], [], []
        self.rows = []
        self.feed(text)
        self.close()
        assert not self.open, self.open

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        assert len(given) == len(attrs), f"{tag} says an attribute twice"
        self.tags.append(tag)
        self.ids += [given["id"]] if "id" in given else []
        self.references += (given.get("aria-labelledby") or "").split()
        self.links += [given[name] for name in ("href", "src") if name in given]
        if tag == "tr":
            self.rows.append([])
        if tag in ("td", "th"):
            self.rows[-1].append("")
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        assert "svg" in self.open, f"<{tag}/> is no HTML"
        self.handle_starttag(tag, attrs)
        self.open.pop()

    def handle_endtag(self, tag):
        assert self.open and self.open[-1] == tag, f"</{tag}> closes {self.open[-3:]}"
        self.open.pop()

    def handle_data(self, data):
        self.texts.append((self.open[-1] if self.open else "", data))
        if "td" in self.open or "th" in self.open:
            self.rows[-1][-1] += data

    def of(self, tag) -> list:
        return [text for where, text in self.texts if where == tag]


def site(number, name) -> Section:
    """Make the section of a site with a block of each kind."""
    quality, counts = np.array([0.2, 0.0, 0.9, 0.4]), np.array([True, False, True, True])
    facts = Table(f"Facts of {name}", ["What", "Value [°]"], [[name, "5 < 7"], ["b & c", "−1.20"]], [0.3, 0.7], (1,))
    figures = Table("Figures", ["One", "Two"], [["1", "2"]], [0.5, 0.5], (0, 1), head_column=False, is_data=True)
    return Section(name, [
        Heading(2, name), Paragraph(name, is_strong=True), Paragraph("plain"), Paragraph("small", is_small=True),
        MapFigure(name, "A map.", f"site{number}-map", 1.0, 2.0, 50.0, [], []),
        Chart(rose_chart(f"site{number}-rose", name, quality, counts)),
        Chart(levels_chart(f"site{number}-levels", name, Levels(4.0, -1.0, 1.0, ("high", "zero", "low"), 3.0))),
        facts, figures])


@pytest.mark.parametrize("number", [1, 3])
def test_a_sheet_page_reads_back_as_its_blocks(number):
    sections = [site(i, f"{NASTY} {i}") for i in range(1, number + 1)]
    asked = []

    def image_of(figure):
        asked.append((figure.chart_id, figure.metres_per_px))
        return "data:image/png;base64,AAAA"

    sheet = Sheet(NASTY, [Paragraph("before")], sections, [Paragraph("after", is_small=True)])
    page = Page(sheet_page(sheet, image_of))
    assert asked == [(f"site{i}-map", 0.2) for i in range(1, number + 1)], "100 m on 500 px"
    assert page.of("h1") == [NASTY] and page.of("h2") == [one.name for one in sections]
    assert page.of("title")[0] == NASTY and len(page.of("title")) == 1 + 3 * number
    assert len(set(page.ids)) == len(page.ids) and set(page.references) <= set(page.ids)
    assert len(page.references) == 2 * 3 * number
    links = [one for one in page.links if not one.startswith("data:")]
    assert links == ([f"#sheet-{i}" for i in range(1, number + 1)] if number > 1 else [])
    assert {one[1:] for one in links} <= set(page.ids)
    expected = []
    for one in sections:
        for block in one.blocks:
            if isinstance(block, Table):
                expected += [block.head, *block.rows]
    assert page.rows == expected
    assert "script" not in page.tags
    words = page.of("p")
    assert words[0] == "before" and words[-1] == "after" and words.count("plain") == number


def row_of(index, **changed):
    """Make the row of a candidate that was assessed."""
    sky = SimpleNamespace(precision=2.5, arc_error=4.0, arc_noise=1.0, bend_cm=0.3, busy=0.1, arcs_day=40.0, gap_h=2.5,
                          gap_is_least=True, has_arcs=True, int_rec_s=15.0, int_max_s=30.0, shift_m=(0.2, 0.1))
    given = dict(index=index, rank=index + 1, tied=1, rank_lo=1, rank_hi=2, p_best=0.5, verdict="suitable", sky=sky,
                 result=SimpleNamespace(score=61.4, precision=2.5, desirability=np.array([0.6, 0.7])),
                 az_span_deg=120.0, h_high_m=6.0, h_low_m=8.0, limit_by=NASTY, advice=f"use {NASTY}", quality=0.5,
                 el_from_deg=5.0, el_to_deg=20.0, res_m=0.4, own=[3.0], is_limit_broken=False,
                 bin_quality=np.array([0.2, 0.0, 0.9, 0.4]), bin_counts=np.array([True, False, True, True]))
    return SimpleNamespace(**{**given, **changed})


LOOK = SimpleNamespace(
    sky=SimpleNamespace(orbits=SimpleNamespace(systems=["GPS"], names=["G01"], source=NASTY, is_nominal=True),
                        start_s=0.0, days=1),
    demand=SimpleNamespace(unit=" cm", cadence_h=6.0, precision=5.0, arc_error=6.0),
    receiver=SimpleNamespace(pattern=SimpleNamespace(name=NASTY), interval_s=15.0, cn0_dbhz=45.0, step_db=0.1))
NAMES = [f"{NASTY} one", "second", "third"]
CANDIDATES = [SimpleNamespace(name=name, problem="", trace="") for name in NAMES]
RUN = ReportedRun(SEA_LEVEL, CANDIDATES, SimpleNamespace(min_cycles=2.0, max_res_m=1.0, min_share=0.5),
                  (NASTY, "the tide"), "EPSG:32624", False, True)
ROWS = [row_of(0), row_of(1), row_of(2, rank=None, result=None, sky=None, verdict="not assessed", bin_quality=None,
                                     rank_lo=None, h_high_m=None, az_span_deg=None)]


@pytest.mark.parametrize("criteria", [[], [Criterion("own", NASTY, " m", 10.0, 0.0, 2.0)]], ids=["none", "one"])
def test_a_ranking_page_reads_back_as_its_rows(criteria):
    page = Page(ranking_page(ROWS, RUN, criteria, [("INPUT", NASTY, NASTY)], LOOK))
    assert page.of("h1") == ["Ranking of 3 candidate sites"]
    assert page.tags.count("script") == 1 and page.tags.count("svg") == 2
    assert len(set(page.ids)) == len(page.ids) and page.links == []
    ranks = page.rows[1:4]
    assert all(len(one) == 12 for one in page.rows[:4])
    assert [one[1] for one in ranks] == NAMES and [one[3] for one in ranks] == [one.verdict for one in ROWS]
    assert ranks[0][0] == "1(1–2, 50 %)" and ranks[0][2] == "61" and ranks[0][6] == "≥ 2.5" and ranks[0][11] == NASTY
    assert ranks[2][0] == ranks[2][2] == ranks[2][4] == "–"
    assert page.rows[0][4] == "Precision[cm]", "a line break parts them"
    assert page.rows[-1] == ["INPUT", NASTY, NASTY]
    assert page.of("h3") == [f"1. {NAMES[0]}", "2. second", "third"]
    assert f"Not looked at: {NASTY}; the tide." in page.of("strong")
    own = [one for one in page.rows if one[0] == NASTY]
    assert len(own) == len(criteria)


def test_what_is_not_html_is_escaped_and_what_is_stays():
    assert cell(NASTY).startswith("<td>&lt;script&gt;") and "'" not in cell(NASTY)
    assert element("p", Html("<b>a</b>"), "k") == '<p class="k"><b>a</b></p>'
    assert isinstance(html("a"), Html) and html(html("&")) == "&amp;"
    page = Page(whole_page(NASTY, "sheet", [table((("a<b", "n"), ("c", "")), [[cell("1"), cell("&amp;")]])]))
    assert page.rows == [["a<b", "c"], ["1", "&amp;"]] and page.of("h1") == page.of("title") == [NASTY]


@pytest.mark.parametrize("name", STYLES)
def test_a_style_sheet_names_only_colours_that_exist(name):
    """Braces pair up and every colour is written as CSS does: # and three or six hexadecimal digits."""
    css = style(name)
    assert "$" not in css and css.count("{") == css.count("}") > 10
    colours = re.findall(r"#(\w+)", css)
    assert colours and all(re.fullmatch("[0-9a-f]{6}|[0-9a-f]{3}", one) for one in colours)
    with pytest.raises(KeyError):
        style(f"{name} of another kind")


def test_the_log_has_lines_only_where_there_is_something_to_say():
    demand = LOOK.demand
    assert best_words([], CANDIDATES, demand) == tie_words([], CANDIDATES) == tide_words([], CANDIDATES) == []
    assert trust_words(ROWS[2:], CANDIDATES) == own_error_words(CANDIDATES) == []
    assert unfit_words(CANDIDATES, [True] * 3) == []
    (best,) = best_words(ROWS, CANDIDATES, demand)
    assert NAMES[0] in best and "score 61.4" in best and "2.5 cm every 6 h (5 cm wanted)" in best
    shared = [row_of(0, rank=1, tied=2), row_of(1, rank=1, tied=2, quality=0.6)]
    (tie,) = tie_words(shared, CANDIDATES)
    assert "2 of 2 candidates share their rank" in tie and "quality, from 0.5 to 0.6" in tie
    (together,) = trust_words(ROWS, CANDIDATES)
    assert "the first 2 cannot be told apart" in together
    (tide,) = tide_words(ROWS, CANDIDATES)
    assert "rising ones by up to 0.20 m and setting ones by up to 0.10 m, to opposite sides" in tide
    lost = [SimpleNamespace(name="lost", problem="no ground", trace="KeyError"), *CANDIDATES]
    assert unfit_words(lost, [False] * 4) == []
    assert "the first, “lost”: no ground." in unfit_words(lost, [True] * 4)[0]
    assert own_error_words(lost)[0].startswith("1 candidate(s) met an error")
