"""Charts of a site: well-formed SVG with alternative text, and marks where the figures are."""

import re
from types import SimpleNamespace
from xml.dom import minidom
from xml.etree import ElementTree

import numpy as np
import pytest
from scipy import optimize
from stillwater.siting.charts.drawing import WIDTH, Drawing
from stillwater.siting.charts.levelchart import Levels, levels_chart
from stillwater.siting.charts.mapframe import map_chart
from stillwater.siting.charts.palette import (
    DARK,
    LIGHT,
    RAMP,
    Shades,
)
from stillwater.siting.charts.passchart import Passes, passes_chart
from stillwater.siting.charts.placing import NARROW, apart, tick_step
from stillwater.siting.charts.reflectionchart import returns_chart
from stillwater.siting.charts.rose import small_rose
from stillwater.siting.charts.rosechart import rose_chart
from stillwater.siting.charts.windowchart import BOTTOM, LEFT, RIGHT, TOP, Outlook, window_chart
from stillwater.siting.verdict.mask import mask_rows
from stillwater.siting.windows import Windows, longest_windows

ANGLES = np.arange(5.0, 21.0)
NAME = "Ärger & <b>Söhne</b> 灯台"


def windows_of(ranges) -> Windows:
    """Make windows from (first, last) indices; None for none."""
    good = np.zeros((len(ANGLES), len(ranges)), bool)
    for i, one in enumerate(ranges):
        if one:
            good[one[0]:one[1] + 1, i] = True
    return longest_windows(good.astype(float), good, ANGLES)


QUARTERS = windows_of([(0, 15), None, (3, 15), (0, 2)])
COUNTS = np.array([True, False, True, False])


WATER = ("highest water", "zero level", "lowest water")


def outlook(*skyline) -> Outlook:
    """Look at the quarters, under a skyline or none that is known."""
    return Outlook(QUARTERS, COUNTS, ANGLES, np.array(skyline) if skyline else None)


def two_passes(systems, *day) -> Passes:
    """Let one satellite rise and one set."""
    return Passes(np.array([1.0, 12.0]), np.array([True, False]), *systems, *day)


def all_drawings(name) -> dict:
    return {
        "rose": rose_chart("s1-rose", name, QUARTERS.quality, COUNTS),
        "window": window_chart("s1-window", name, outlook(-np.inf, 60.0, 7.0, 4.5)),
        "passes": passes_chart("s1-passes", name, two_passes((["GPS", "GPS"], ["GPS", "Galileo"]), 0.0, "")),
        "levels": levels_chart("s1-levels", name, Levels(8.1, -1.1, 1.1, WATER, 3.0)),
        "map": map_chart("s1-map", name, "A map.", 0.5, "data:image/png;base64,AAAA"),
    }


def all_charts(name) -> dict:
    return {kind: drawing.svg() for kind, drawing in all_drawings(name).items()}


@pytest.mark.parametrize("kind", ["rose", "window", "passes", "levels", "map"])
def test_each_chart_is_well_formed_and_names_itself(kind):
    svg = all_charts(NAME)[kind]
    root = minidom.parseString(svg).documentElement
    assert root.getAttribute("role") == "img"
    ids = root.getAttribute("aria-labelledby").split()
    told = {one.getAttribute("id"): one.firstChild.data for tag in ("title", "desc")
            for one in root.getElementsByTagName(tag)}
    assert [*told] == ids and told[ids[0]] == NAME and len(told[ids[1]]) > 5
    assert "<b>" not in svg and "灯台" in svg
    assert not re.search(r'(?:href|src)="(?!data:)', svg), "a chart asks for nothing"


@pytest.mark.parametrize("kind", ["rose", "window", "passes", "levels", "map"])
def test_words_stay_on_the_chart(kind):
    """Judged by 0.62 em a letter, the mean of the widest common sans-serif (from memory)."""
    svg = all_charts("A title")[kind]
    width, height = (float(part) for part in re.search(r'viewBox="0 0 (\d+) (\d+)"', svg).groups())
    for given, words in re.findall(r"<text ([^>]*)>([^<]*)</text>", svg):
        at = dict(re.findall(r'([\w-]+)="([^"]*)"', given))
        x, y, size = float(at["x"]), float(at["y"]), float(at["font-size"])
        assert 0 < y <= height, words
        if "transform" in at:
            continue
        long = 0.62 * size * len(words)
        left = x - {"middle": long / 2, "end": long}.get(at["text-anchor"], 0.0)
        assert left > -8 and left + long < width + 8, words


def test_windows_stand_at_their_azimuths_and_angles():
    svg = window_chart("w", "t", outlook()).svg()
    bars = re.findall(r'<rect x="([\d.]+)" y="([\d.]+)" width="([\d.]+)" height="([\d.]+)" fill="(#\w+)" '
                      r'stroke="#ffffff"', svg)
    assert [bar[4] for bar in bars] == [DARK, DARK, LIGHT]
    quarter = (RIGHT - LEFT) / 4
    assert [float(bar[0]) for bar in bars] == pytest.approx([LEFT, LEFT + 2 * quarter, LEFT + 3 * quarter], abs=0.06)
    # axis from 0 to 20°: a degree is a twentieth of the height
    degree = (BOTTOM - TOP) / 20
    assert [float(bar[1]) for bar in bars] == pytest.approx([TOP, TOP, BOTTOM - 7 * degree], abs=0.06)
    assert [float(bar[3]) for bar in bars] == pytest.approx([15 * degree, 12 * degree, 2 * degree], abs=0.11)
    assert "no skyline known" in svg


def test_a_high_skyline_does_not_squeeze_the_windows():
    svg = window_chart("w", "t", outlook(-np.inf, 83.0, 7.0, 4.5)).svg()
    assert "skyline, up to 83°" in svg and "highest at azimuth 135°, 83.0°" in svg
    assert max(float(t) for t in re.findall(r'text-anchor="end"[^>]*>(\d+)</text>', svg) if t != "360") <= 40
    low = window_chart("w", "t", outlook(*[-np.inf] * 4)).svg()
    assert "skyline nowhere above 4°" in low


def test_passes_stand_at_their_hours_rising_apart_from_setting():
    svg = passes_chart("p", "t", Passes(np.array([0.0, 12.0, 24.0]), np.array([True, False, True]),
                                        ["GPS", "GPS", "Galileo"], ["GPS", "Galileo"], 6.0, "")).svg()
    marks = [[tuple(map(float, pair.split(","))) for pair in found.split()]
             for found in re.findall(r'<polygon points="([^"]*)"', svg)][:3]
    assert [one[2][0] for one in marks] == pytest.approx([84, 84 + (720 - 70 - 84) / 2, 650], abs=0.06)
    assert marks[0][0][1] > marks[0][2][1] and marks[1][0][1] < marks[1][2][1]  # point up, point down
    assert "3 usable arcs: GPS 2, Galileo 1; 2 rise and 1 set." in svg
    assert ">6</text>" in svg and ">18</text>" in svg, "hours begin where the day looked at begins"


def test_levels_are_to_scale_and_told():
    svg = levels_chart("l", "t", Levels(10.0, -2.0, 2.0, WATER, 3.0)).svg()
    at = {float(y) for y in re.findall(r'<line x1="64.0" y1="([\d.]+)" x2="350.0"', svg)}
    high, zero, low = sorted(at)
    assert zero - high == pytest.approx(low - zero, abs=0.11)
    assert (zero - 40.0) / (zero - high) == pytest.approx(5.0, rel=0.01)  # 10 m to 2 m
    for words in ("clearance", "8.00 m", "asked: 3 m", "lowest water, −2.00 m: 12.00 m below the antenna"):
        assert words in svg
    flat = levels_chart("l", "t", Levels(2.0, 0.0, 0.0, ("deepest snow", "ground", "least snow"), 0.0)).svg()
    assert "deepest" not in flat and "asked" not in flat


@pytest.mark.parametrize("scale", [0.013, 0.2, 1.0, 7.3, 90.0])
def test_the_scale_bar_is_as_long_as_it_says(scale):
    svg = map_chart("m", "t", "d", scale).svg()
    metres = float(re.search(r">([\d.e+]+) m</text>", svg)[1])
    halves = [float(w) for w in re.findall(r'height="5.0" fill="[^"]*"', svg) and
              re.findall(r'<rect x="[\d.]+" y="477.0" width="([\d.]+)"', svg)]
    assert len(halves) == 2 and sum(halves) * scale == pytest.approx(metres, rel=0.01)
    assert 60 < sum(halves) < 400


def test_labels_move_apart_and_keep_their_order():
    placed = apart([10.0, 11.0, 12.0, 100.0], 15.0)
    assert np.diff(placed).min() >= 15.0 - 1e-9 and placed[1] == pytest.approx(11.0) and placed[3] == 100.0
    assert tick_step(0.7, 7) == pytest.approx(0.1) and tick_step(20.0, 6) == 5.0


def test_the_mask_joins_neighbours_with_the_same_window_and_splits_at_north():
    ranges = [(0, 15)] * 3 + [(0, 9)] + [None] * 2 + [(0, 15)] * 2
    counts = np.array([True, True, True, True, False, False, True, True])
    found = mask_rows(windows_of(ranges), counts, ANGLES)
    assert [tuple(one) for one in found] == [(0, 135, 5, 20), (135, 180, 5, 14), (270, 360, 5, 20)]
    assert mask_rows(windows_of([None] * 4), np.zeros(4, bool), ANGLES) == []
    assert [tuple(one) for one in mask_rows(windows_of([(0, 15)] * 4), np.ones(4, bool), ANGLES)] == [(0, 360, 5, 20)]


def test_labels_move_no_farther_than_they_must():
    """Held to SciPy's least squares under the same distances."""
    rng = np.random.default_rng(5)
    for _ in range(5):
        wanted = np.sort(rng.uniform(0.0, 60.0, 6))
        limits = [{"type": "ineq", "fun": lambda x, i=i: x[i + 1] - x[i] - 15.0} for i in range(5)]
        best = optimize.minimize(lambda x, w=wanted: np.sum((x - w) ** 2), np.arange(6) * 20.0, constraints=limits,
                                 options={"ftol": 1e-12})
        np.testing.assert_allclose(apart(wanted, 15.0), best.x, atol=1e-3)


def test_where_no_direction_counts_the_charts_say_so():
    nothing = np.zeros(4, bool)
    assert "None of 4 directions counts." in rose_chart("r", "t", QUARTERS.quality, nothing).svg()
    said = window_chart("w", "t", Outlook(QUARTERS, nothing, ANGLES, None)).svg()
    assert "No direction counts. No skyline is known." in said


WIDTHS = (NARROW, 262, 340, 399, 400, 520, 719)


def narrow_charts(width) -> dict:
    """Draw the charts as a dock does, with the longest words that occur."""
    passes = two_passes((["GLONASS", "GPS"], ["GPS", "GLONASS"]), 13.25, ", indicative: nominal orbits")
    return {
        "rose": rose_chart("n-rose", NAME, QUARTERS.quality, COUNTS, width).svg(),
        "window": window_chart("n-window", NAME, outlook(-np.inf, 83.0, 7.0, 4.5), width).svg(),
        "no skyline": window_chart("n-low", NAME, outlook(*[-np.inf] * 4), width).svg(),
        "passes": passes_chart("n-passes", NAME, passes, width).svg(),
    }


def words_of(svg):
    """List the level words of a chart: text, size, and their box by 0.62 em a letter."""
    for given, words in re.findall(r"<text ([^>]*)>([^<]*)</text>", svg):
        at = dict(re.findall(r'([\w-]+)="([^"]*)"', given))
        x, y, size = float(at["x"]), float(at["y"]), float(at["font-size"])
        long = 0.62 * size * len(words)
        left = x - {"middle": long / 2, "end": long}.get(at["text-anchor"], 0.0)
        yield words, size, "transform" in at, (left, y - 0.75 * size, left + long, y + 0.2 * size)


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("kind", ["rose", "window", "no skyline", "passes"])
def test_a_narrow_chart_keeps_its_words_within_it_and_apart(kind, width):
    svg = narrow_charts(width)[kind]
    wide, high = (float(part) for part in re.search(r'viewBox="0 0 (\d+) (\d+)"', svg).groups())
    assert wide == width
    placed = []
    for words, size, is_turned, (left, top, right, bottom) in words_of(svg):
        assert 10 <= size <= 12 and top >= 0 and bottom <= high, words
        if is_turned:
            continue
        assert left >= 0 and right <= wide + 1, words
        for others, box in placed:
            assert right <= box[0] or left >= box[2] or bottom <= box[1] or top >= box[3], (words, others)
        placed.append((words, (left, top, right, bottom)))
    assert len(placed) > 8


@pytest.mark.parametrize("kind", ["rose", "window", "passes"])
def test_a_narrow_chart_says_the_same_as_a_wide_one(kind):
    narrow, wide = narrow_charts(NARROW)[kind], narrow_charts(WIDTH)[kind]
    for tag in ("title", "desc"):
        told = re.compile(rf"<{tag}[^>]*>([^<]*)<")
        assert told.search(narrow)[1] == told.search(wide)[1]
    assert len(re.findall("<polygon|<path d=", narrow)) == len(re.findall("<polygon|<path d=", wide))


def test_narrow_windows_stand_at_their_azimuths_and_angles():
    svg = window_chart("w", "t", outlook(), 340).svg()
    bars = [tuple(map(float, one)) for one in re.findall(
        r'<rect x="([\d.]+)" y="([\d.]+)" width="([\d.]+)" height="([\d.]+)" fill="#\w+" stroke="#ffffff"', svg)]
    quarter = (340 - 12 - bars[0][0]) / 4
    assert [one[0] - bars[0][0] for one in bars] == pytest.approx([0, 2 * quarter, 3 * quarter], abs=0.11)
    degree = bars[0][3] / 15
    assert [one[3] for one in bars] == pytest.approx([15 * degree, 12 * degree, 2 * degree], abs=0.11)
    # the axis' foot is 0°, and the first window begins at 5°
    foot = float(re.search(r"V([\d.]+)H328", svg)[1])
    assert foot - (bars[0][1] + bars[0][3]) == pytest.approx(5 * degree, abs=0.11)


def test_other_colours_leave_words_and_what_has_a_meaning():
    dark = Shades("#eeeeee", "#cccccc", "#444444", "#202020", "#a0b0ff", "#505050", "#303030", "#808080")
    rose = rose_chart("r", "about #1c2430", QUARTERS.quality, COUNTS)
    svg, made = rose.svg(), rose.recoloured(dark, RAMP).svg()
    for gone in (Shades().ink, Shades().paper):
        assert f'"{gone}"' in svg and f'"{gone}"' not in made
    assert "about #1c2430" in made and made.count(f'fill="{RAMP[1]}"') == svg.count(f'fill="{RAMP[1]}"') > 0
    assert rose.recoloured(Shades(), RAMP) == rose
    drawing = window_chart("w", "t", outlook(-np.inf, 60.0, 7.0, 4.5))
    window, made = drawing.svg(), drawing.recoloured(dark).svg()
    assert set(re.findall(r"#[0-9a-f]{6}", made)) <= set(dark)
    assert made.count(dark.dark) == window.count(Shades().dark) and made.count(dark.light) == window.count(LIGHT)


def test_the_passes_of_the_worst_day_are_chosen():
    day = 86_400.0
    worth = SimpleNamespace(per_day=np.array([3, 2]), middle_s=np.array([10.0, 20.0, 30.0, day + 3600.0, day + 7200.0]),
                            is_rising=np.array([True, True, True, True, False]), satellite=np.array([0, 0, 0, 1, 2]))
    orbits = SimpleNamespace(systems=["GPS", "GPS", "Galileo"], is_nominal=False)
    found = Passes.of(worth, SimpleNamespace(orbits=orbits, start_s=day * 9 + 6 * 3600.0))
    assert found.hour.tolist() == [1.0, 2.0] and found.is_rising.tolist() == [True, False]
    assert found.system == ["GPS", "Galileo"] and found.systems == ["GPS", "Galileo"]
    assert (found.first_hour, found.clock) == (6.0, "")
    assert "2 usable arcs: GPS 1, Galileo 1; 1 rise and 1 set." in passes_chart("p", "t", found, 300).svg()


SVG = "{http://www.w3.org/2000/svg}"


def every_drawing() -> dict:
    """Draw each kind of chart, wide and narrow, and those without ids."""
    rose = small_rose(QUARTERS.quality, COUNTS, NAME, 104)
    found = {**all_drawings(NAME), "small rose": rose, "returns": returns_chart()}
    return {**found, "narrow": window_chart("n", NAME, outlook(-np.inf, 83.0, 7.0, 4.5), NARROW)}


@pytest.mark.parametrize("kind", every_drawing())
def test_a_drawing_is_what_an_xml_parser_reads_of_it(kind):
    """Read back by Python's XML parser (expat), which knows nothing of ours."""
    drawing = every_drawing()[kind]
    assert isinstance(drawing, Drawing)
    root = ElementTree.fromstring(drawing.svg())
    assert root.tag == f"{SVG}svg"
    assert (root.get("width"), root.get("height")) == (f"{drawing.width}", f"{drawing.height}")
    assert root.get("viewBox") == f"0 0 {drawing.width} {drawing.height}"
    assert root.findtext(f"{SVG}title") == drawing.title
    assert root.findtext(f"{SVG}desc", "") == drawing.description
    ids = [one.get("id") for one in root.iter() if one.get("id")]
    assert len(set(ids)) == len(ids) and all(drawing.chart_id and one.startswith(f"{drawing.chart_id}-") for one in ids)
    written = [(one.text, float(one.get("x")), float(one.get("y")), float(one.get("font-size")),
                one.get("text-anchor"), one.get("font-weight") == "bold", one.get("transform") is not None)
               for one in root.iter(f"{SVG}text")]
    assert [tuple(one) for one in drawing.words] == written and len(written) >= 4
    wordless = ElementTree.fromstring(drawing.without_words().svg())
    assert not wordless.findall(f".//{SVG}text")
    assert len([*wordless.iter()]) == len([*root.iter()]) - len(written)
    assert [one.tag for one in ElementTree.fromstring(drawing.svg("\n")).iter()] == [one.tag for one in root.iter()]


@pytest.mark.parametrize("kind", every_drawing())
def test_other_colours_change_nothing_else(kind):
    drawing = every_drawing()[kind]
    dark = Shades("#eeeeee", "#cccccc", "#444444", "#202020", "#a0b0ff", "#505050", "#303030", "#808080")
    pairs = zip(ElementTree.fromstring(drawing.svg()).iter(),
                ElementTree.fromstring(drawing.recoloured(dark).svg()).iter())
    changed = set()
    for old, new in pairs:
        assert (old.tag, old.text, [*old.attrib]) == (new.tag, new.text, [*new.attrib])
        changed |= {(name, value, new.get(name)) for name, value in old.items() if new.get(name) != value}
    assert {name for name, _old, _new in changed} <= {"fill", "stroke"}
    swapped = dict(zip(Shades(), dark))
    assert changed and all(swapped[old] == new for _name, old, new in changed)
