"""The algorithm `sitesheet`: its figures are those of the ranking, and its page, print and mask hold what they say."""

import csv
import html
import re
import shutil
import subprocess
from html.parser import HTMLParser

import numpy as np
import pytest
from qgis.core import QgsProcessingException
from scenes import SAMPLE, SEA_POLYGON, Feedback, points, polygons, rows, run
from stillwater.siting.words.wording import precision_text
from test_sample_scene import scene

pytestmark = pytest.mark.usefixtures("provider")

MOST_BYTES = 3_000_000
SITES = ("Pier head", "Breakwater head", "Shut cove", "Ferry steps", "Sallow Hollow")
VOID = {"meta", "col", "br", "img", "link", "input", "hr"}


def sheet(feedback=None, **parameters):
    """Run the algorithm, which has no OUTPUT."""
    import processing
    return processing.run("stillwater:sitesheet", parameters, feedback=feedback or Feedback())


def refusal_of(**parameters):
    """Return what the algorithm says that must refuse."""
    feedback = Feedback()
    with pytest.raises(QgsProcessingException) as caught:
        sheet(feedback, **parameters)
    text = f"{caught.value}\n{feedback.log}"
    assert "Traceback" not in text and "an error of its own" not in text, text
    return text


class Page(HTMLParser):
    """Reads a page strictly: every element closed in order."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.open, self.headings, self.ids, self.links, self.cells, self.texts = [], [], [], [], [], []
        self.attributes, self.references = [], []
        self.feed(text)
        self.close()
        assert not self.open, self.open

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        self.attributes.append((tag, given))
        if "id" in given:
            self.ids.append(given["id"])
        self.links += [value for name, value in attrs if name in ("href", "src", "xlink:href", "action", "data")]
        self.references += (given.get("aria-labelledby") or "").split()
        if tag in ("h1", "h2", "h3", "h4"):
            self.headings.append(int(tag[1]))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag):
        assert self.open and self.open[-1] == tag, f"</{tag}> closes {self.open[-3:]}"
        self.open.pop()

    def handle_data(self, data):
        self.texts.append(data)
        if self.open and self.open[-1] in ("td", "th"):
            self.cells.append(data)


@pytest.fixture(scope="module")
def chosen(provider, tmp_path_factory):
    """Give the parameters of some candidates of the sample scene, good and bad."""
    parameters = scene("sea level")
    # a filtered layer opens its file for writing: not the one that is in the repository
    copy = shutil.copy(f"{SAMPLE}/coast.gpkg", tmp_path_factory.mktemp("sample"))
    names = ",".join(f"'{name}'" for name in SITES)
    parameters["INPUT"] = f"{copy}|layername=candidates|subset=name in ({names})"
    return parameters


@pytest.fixture(scope="module")
def made(chosen, tmp_path_factory):
    """Write all three outputs once; by output, their paths."""
    folder = tmp_path_factory.mktemp("sheet")
    names = {"OUTPUT_HTML": "sheet.html", "OUTPUT_PDF": "sheet.pdf", "OUTPUT_MASK": "mask.csv"}
    paths = {key: str(folder / name) for key, name in names.items()}
    result = sheet(IMAGERY=[f"{SAMPLE}/aerial.tif"], **paths, **chosen)
    assert result == paths
    assert sorted(path.name for path in folder.iterdir()) == sorted(names.values()), "nothing else is left"
    return paths


@pytest.fixture(scope="module")
def page(made):
    with open(made["OUTPUT_HTML"], encoding="utf-8") as file:
        return file.read()


@pytest.fixture(scope="module")
def ranked(chosen):
    return {row["site"]: row for row in rows(run("rankcandidates", **chosen)["OUTPUT"])}


def section_of(page, name) -> str:
    """Cut the section of a site out of a page."""
    return next(part for part in page.split('<section class="site"') if f"<h2>{html.escape(name)}</h2>" in part)


def test_the_figures_are_those_of_the_ranking(page, ranked):
    assert set(ranked) == set(SITES)
    for name, row in ranked.items():
        section = section_of(page, name)
        text = html.unescape(re.sub(r"<[^>]+>", " ", section))
        assert (f"Verdict: {row['verdict']}; {precision_text(row['height_cm'])} cm every 3 h (5 cm wanted), score "
                f"{row['score']:.0f} of 100.") in text, name
        assert row["advice"][1:] in text and (row["limit_by"] or "nothing") in text, name
        assert f"{row['quality']:.2f}, {row['az_span']:.0f}°" in text
        assert f"{row['h_low_m']:.2f} m over the lowest, {row['h_high_m']:.2f} m over the highest" in text
        assert f"{row['arcs_day']:.0f} usable arcs" in text
        if row["arc_cm"] is not None:
            assert (f"a single arc {precision_text(row['arc_cm'])} cm, of it noise {precision_text(row['noise_cm'])} cm"
                    in text)
            assert f"heights come out {precision_text(row['bend_cm'])} cm too small if nobody corrects it" in text
        if row["int_rec_s"] is not None:
            assert f"Log every {row['int_rec_s']:g} s" in text
    # the first row of the other assumptions is the site as it is
    assert page.count('<th scope="row">as given</th>') == len(SITES)


def test_the_mask_is_made_of_the_windows_of_the_bins_that_count(made, chosen, ranked):
    with open(made["OUTPUT_MASK"], encoding="utf-8", newline="") as file:
        table = list(csv.DictReader(file))
    assert list(table[0]) == ["site", "lon", "lat", "az_from", "az_to", "el_from", "el_to", "h_high_m", "h_low_m"]
    keep = ("MIN_CYCLES", "MAX_RES")
    sectors = rows(run("surfacequality", **{k: v for k, v in chosen.items() if k not in keep})["OUTPUT"])
    for name, row in ranked.items():
        mine = [one for one in table if one["site"] == name]
        wide = [float(one["az_to"]) - float(one["az_from"]) for one in mine]
        assert all(width > 0 for width in wide) and sum(wide) == row["az_span"], name
        for sector in (one for one in sectors if one["site"] == name):
            inside = [one for one in mine if float(one["az_from"]) < sector["az_deg"] < float(one["az_to"])]
            assert len(inside) <= 1
            if inside:
                assert (float(inside[0]["el_from"]), float(inside[0]["el_to"])) == (
                    sector["el_from"], sector["el_to"]), (name, sector["az_deg"])
                assert float(inside[0]["h_low_m"]) == pytest.approx(row["h_low_m"], abs=6e-4)
    assert {one["site"] for one in table} == {name for name, row in ranked.items() if row["az_span"] > 0}


def test_neighbours_in_the_mask_differ(made):
    with open(made["OUTPUT_MASK"], encoding="utf-8", newline="") as file:
        table = list(csv.DictReader(file))
    for one, other in zip(table[:-1], table[1:]):
        if one["site"] == other["site"] and one["az_to"] == other["az_from"]:
            assert (one["el_from"], one["el_to"]) != (other["el_from"], other["el_to"])


def test_the_page_is_well_formed_and_says_what_its_charts_show(page):
    found = Page(page)
    assert found.attributes[0] == ("html", {"lang": "en"})
    assert len(set(found.ids)) == len(found.ids) and set(found.references) <= set(found.ids)
    assert found.headings[0] == 1 and found.headings.count(1) == 1
    assert all(after - before <= 1 for before, after in zip(found.headings[:-1], found.headings[1:]))
    charts = [given for tag, given in found.attributes if tag == "svg"]
    assert len(charts) == 5 * len(SITES)
    assert all(one.get("role") == "img" and len(one["aria-labelledby"].split()) == 2 for one in charts)
    assert all(given.get("scope") in ("col", "row") for tag, given in found.attributes if tag == "th")
    assert page.count("<table") == page.count("<caption>")


def test_the_page_asks_the_network_for_nothing_and_needs_no_script(page):
    found = Page(page)
    assert all(link.startswith(("#", "data:image/")) for link in found.links), found.links
    assert {link[1:] for link in found.links if link.startswith("#")} <= set(found.ids)
    assert "<script" not in page and "@import" not in page and "url(" not in page
    assert set(re.findall(r"https?://[^\s\"'<]+", page)) == {"http://www.w3.org/2000/svg"}, "a name, no address"


@pytest.mark.parametrize("words", [
    "no elevation mask in the receiver", "RINEX 3", "Observation mask", "Reach of wrong assumptions",
    "antenna 0.5 m lower", "all levels 0.25 m higher", "significant wave height 0.5 m more", "vertical datum",
    "EPSG:32624", "Inputs, versions and parameters", "HEIGHT_REFERENCE", "Not for navigation", "licensed"])
def test_the_page_holds_what_a_reviewer_needs(page, words):
    assert words.lower() in html.unescape(page).lower()


def test_the_print_has_its_fonts_and_is_small(made):
    if not shutil.which("pdffonts"):
        pytest.skip("poppler-utils is not installed")
    path = made["OUTPUT_PDF"]
    with open(path, "rb") as file:
        assert len(file.read()) < MOST_BYTES
    fonts = subprocess.run(["pdffonts", path], capture_output=True, text=True, check=True).stdout.splitlines()[2:]
    assert fonts and all(line.split()[-5] == "yes" for line in fonts), fonts
    info = subprocess.run(["pdfinfo", path], capture_output=True, text=True, check=True).stdout
    pages = int(re.search(r"Pages:\s+(\d+)", info)[1])
    assert 4 * len(SITES) <= pages <= 7 * len(SITES) and "A4" in info
    text = subprocess.run(["pdftotext", "-layout", path, "-"], capture_output=True, text=True, check=True).stdout
    for words in (*SITES, f"page {pages} of {pages}", "Checklist for this site", "elevation angle [°]",
                  "Log every 15 s", "clearance", "not for navigation", "GLONASS"):
        assert words in text, words


def test_a_maximum_of_sites_still_makes_a_small_print(coast, tmp_path):
    sites = points(*[(500050 + 12 * i, 4982000) for i in range(20)])
    path = tmp_path / "many.pdf"
    sheet(INPUT=sites, OUTPUT_PDF=str(path), IMAGERY=[f"{SAMPLE}/aerial.tif"], **coast)
    assert path.stat().st_size < MOST_BYTES


def test_more_sites_than_fit_are_refused_with_what_to_do(coast, tmp_path):
    sites = points(*[(500050 + 12 * i, 4982000) for i in range(21)])
    text = refusal_of(INPUT=sites, OUTPUT_HTML=str(tmp_path / "a.html"), **coast)
    assert "INPUT holds 21 sites" in text and "at most 20" in text and "Select" in text
    several = points("MULTIPOINT(" + ",".join(f"{500050 + i} 4982000" for i in range(21)) + ")", kind="MultiPoint")
    assert "21 sites" in refusal_of(INPUT=several, OUTPUT_HTML=str(tmp_path / "a.html"), **coast)
    assert list(tmp_path.iterdir()) == []


def test_names_are_escaped_and_shown(coast, tmp_path):
    names = ['<script>alert("x")</script> & Co', "灯台 Маяк φάρος", "[% 'evil' || 1 %]", "a]]>b"]
    sites = points(*[(500300 + i, 4982000) for i in range(len(names))], rows=[[name] for name in names])
    paths = {key: str(tmp_path / name) for key, name in
             (("OUTPUT_HTML", "a.html"), ("OUTPUT_PDF", "a.pdf"), ("OUTPUT_MASK", "a.csv"))}
    sheet(INPUT=sites, SITE_FIELD="name", **paths, **coast)
    text = (tmp_path / "a.html").read_text(encoding="utf-8")
    assert "<script" not in text
    found = Page(text)
    for name in names:
        assert f"<h2>{html.escape(name)}</h2>" in text and any(name in one for one in found.texts)
    with open(paths["OUTPUT_MASK"], encoding="utf-8", newline="") as file:
        assert {row["site"] for row in csv.DictReader(file)} == set(names)
    if shutil.which("pdftotext"):
        words = subprocess.run(["pdftotext", paths["OUTPUT_PDF"], "-"], capture_output=True, text=True,
                               check=True).stdout
        assert "Маяк" in words and "<script>" in words
        assert "'evil' || 1" in words and "evil1" not in words, "a name is no expression"


def test_a_site_that_cannot_be_assessed_has_a_section_with_the_reason(coast, tmp_path):
    sites = points((500300, 4982000), (500310, 4982000), fields="name:string(20)|h:double",
                   rows=[["good", 5.0], ["buried", -1.0]])
    feedback = Feedback()
    path = tmp_path / "a.html"
    pdf = tmp_path / "a.pdf"
    sheet(feedback, INPUT=sites, SITE_FIELD="name", HEIGHT_FIELD="h", OUTPUT_HTML=str(path), OUTPUT_PDF=str(pdf),
          **coast)
    section = section_of(path.read_text(encoding="utf-8"), "buried")
    assert "Verdict: not assessed." in section and "it must be above 0" in section and "<svg" not in section
    assert "“buried”" in feedback.log and pdf.stat().st_size > 0


def test_a_site_where_nothing_counts_says_so(coast, tmp_path):
    feedback = Feedback()
    paths = {key: str(tmp_path / name) for key, name in
             (("OUTPUT_HTML", "a.html"), ("OUTPUT_PDF", "a.pdf"), ("OUTPUT_MASK", "a.csv"))}
    sheet(feedback, INPUT=points((499500, 4982000)), **paths, **coast)
    text = (tmp_path / "a.html").read_text(encoding="utf-8")
    assert "No direction counts, so there is nothing to observe here." in text and "None of 72 directions" in text
    assert (tmp_path / "a.csv").read_text(encoding="utf-8").count("\n") == 1 and "has no rows" in feedback.log


@pytest.mark.parametrize("purpose", ["lake level", "snow depth", "soil moisture"])
def test_each_purpose_has_its_words(purpose, coast, tmp_path):
    given = dict(coast) if purpose == "lake level" else {"WATER": polygons(SEA_POLYGON)}
    sheet(INPUT=points((500300, 4982000)), PURPOSE=purpose, LEVEL_HIGH=0.5, OUTPUT_HTML=str(tmp_path / "a.html"),
          **given)
    text = (tmp_path / "a.html").read_text(encoding="utf-8")
    words = {"lake level": "highest water", "snow depth": "deepest snow", "soil moisture": "soil samples"}[purpose]
    assert words in text and f"For {purpose};" in text


@pytest.mark.parametrize("percent", [0, 20, 50, 76, 90])
def test_cancel_leaves_no_file(percent, coast, tmp_path):
    feedback = Feedback(cancel_at=percent)
    sites = points(*[(500100 + 20 * i, 4982000) for i in range(4)])
    paths = {key: str(tmp_path / name) for key, name in
             (("OUTPUT_HTML", "a.html"), ("OUTPUT_PDF", "a.pdf"), ("OUTPUT_MASK", "a.csv"))}
    assert sheet(feedback, INPUT=sites, **paths, **coast) == {}
    assert "Cancelled; nothing was written." in feedback.log
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", ["OUTPUT_HTML", "OUTPUT_PDF", "OUTPUT_MASK"])
def test_an_output_that_cannot_be_written_is_named(name, coast, tmp_path):
    blocker = tmp_path / "a file"
    blocker.write_bytes(b"")
    other = "OUTPUT_MASK" if name != "OUTPUT_MASK" else "OUTPUT_HTML"
    text = refusal_of(**{"INPUT": points((500300, 4982000)), name: str(blocker / "x"),
                         other: str(tmp_path / "y"), **coast})
    assert name in text and "cannot be written" in text
    assert list(tmp_path.iterdir()) == [blocker]


def test_without_an_output_and_with_one_file_for_two_it_refuses(coast, tmp_path):
    site = points((500300, 4982000))
    assert "at least one of OUTPUT_HTML" in refusal_of(INPUT=site, **coast)
    same = str(tmp_path / "a.html")
    assert "same file" in refusal_of(INPUT=site, OUTPUT_HTML=same, OUTPUT_MASK=same, **coast)


def test_what_a_wrong_height_changes_is_what_the_ranking_says_of_that_height(coast, tmp_path):
    """At 3.2 m over the highest water half a metre less breaks the least clearance of 3 m."""
    sheet(INPUT=points((500300, 4982000)), ANTENNA_HEIGHT=3.2, OUTPUT_HTML=str(tmp_path / "a.html"), **coast)
    text = (tmp_path / "a.html").read_text(encoding="utf-8")
    told = {}
    number = '<td class="n">([^<]*)</td>'
    for label, error, score, verdict in re.findall(
            f'<th scope="row">([^<]*)</th>{number}{number}<td>([a-z ]*)</td>', text):
        told[label] = (error, score, verdict)
    for label, height in (("as given", 3.2), ("antenna 0.5 m lower", 2.7), ("antenna 0.5 m higher", 3.7)):
        row, = rows(run("rankcandidates", INPUT=points((500300, 4982000)), ANTENNA_HEIGHT=height, **coast)["OUTPUT"])
        assert told[label] == (precision_text(row["height_cm"]), f"{row['score']:.0f}", row["verdict"]), label
    assert told["antenna 0.5 m lower"][2] == "unsuitable"
    assert "The verdict would be another with: antenna 0.5 m lower" in text


def test_positions_and_map_hold_in_a_geographic_crs(coast, tmp_path):
    sheet(INPUT=points((-39.0, 44.992), crs="EPSG:4326"), OUTPUT_HTML=str(tmp_path / "a.html"), **coast)
    text = (tmp_path / "a.html").read_text(encoding="utf-8")
    assert "-39.000000, 44.992000 in EPSG:4326; WGS 84: 44.992000° N, 39.000000° W" in text
    assert np.isfinite(float(re.search(r"it reaches (\d+) m from the antenna", text)[1]))
