"""Sheets of sites: their page is well formed, and every figure is that of the ranking or done by hand."""

import math
import re
from dataclasses import replace

import numpy as np
import pytest
from pyproj import Geod, Transformer
from stillwater.siting.charts.mapframe import HEIGHT
from stillwater.siting.ground.arrayraster import ArrayRaster
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.purposes import SEA_LEVEL, SNOW_DEPTH
from stillwater.siting.ranking.appraise import appraise
from stillwater.siting.ranking.whatif import changes, what_if
from stillwater.siting.report.blocks import Chart, Heading, MapFigure, Pages, Paragraph, Section, Table
from stillwater.siting.report.reportedrun import ReportedRun
from stillwater.siting.report.sheet import NEVER, SheetRun, number, position_words
from stillwater.siting.report.sheetpage import sheet_page
from stillwater.siting.setup import Limits, Setup
from stillwater.siting.sight.looking import SightLayers
from stillwater.siting.sight.terrain import Terrain
from stillwater.siting.verdict.score import Criterion
from stillwater.tests.science.shore_scenes import EAST, NORTH, SETTINGS, UTM, avoiding, box, layer, sea
from stillwater.tests.science.strict_page import StrictPage

COST = Criterion("cost", "cost", " EUR", 20_000.0, 5000.0)
NAME = "Mole <east> & light"
PNG = "data:image/png;base64,AAAA"


class Sheet:
    """One site's section, its row, and both as a page."""

    def __init__(self, one, setup, purpose=SEA_LEVEL, reference="surface", is_geographic=False, missing=("waves",)):
        (_index, self.assessment, self.row), = appraise([one], setup)
        self.one = one
        run = ReportedRun(purpose, [one], setup.settings, missing, "EPSG:32633", is_geographic,
                          setup.layers.dem is not None)
        self.maker = SheetRun(run, setup, reference)
        if self.assessment is None:
            self.section = self.maker.unassessed(0, self.row)
        else:
            outcomes, = what_if([one], setup, changes(purpose))
            self.outcomes = outcomes
            self.section = self.maker.section(0, self.assessment, self.row, outcomes)
        pages = Pages("Site sheets", [Paragraph("Made for a test.", is_small=True)], [self.section],
                      [Paragraph(NEVER)])
        self.text = sheet_page(pages, lambda figure: PNG)
        self.page = StrictPage(self.text)

    def table(self, caption):
        """Return a table's lines by its caption."""
        tables = (one for one in self.section.blocks if isinstance(one, Table))
        return next(one.rows for one in tables if one.caption.startswith(caption))

    def facts(self):
        """Return the site's properties."""
        return dict(self.table("The site in figures"))

    def below(self, words):
        """Return the first paragraph below a heading."""
        at = next(i for i, one in enumerate(self.section.blocks) if isinstance(one, Heading) and one.text == words)
        return next(one.text for one in self.section.blocks[at:] if isinstance(one, Paragraph))


@pytest.fixture
def sheet(candidate, look_at):
    """Give a function that writes the sheet of a site 5 m behind a shore, over a tide of 2 m; GPS and Galileo."""
    def make(layers=None, height_m=6.0, criteria=(), own=None, sight=None, limits=Limits(3.0), days=1, wave_m=0.0,
             at_m=0.0, **options):
        one = candidate(height_m, x=EAST + at_m, low_m=-1.0, high_m=1.0, name=NAME)
        one.own, one.wave_m = own or {}, wave_m
        look = look_at(("GPS", "Galileo"), days=days)
        return Sheet(one, Setup(layers or sea(5.0), SETTINGS, look, criteria, sight, limits), **options)
    return make


def test_the_page_is_well_formed_and_asks_for_nothing(sheet):
    made = sheet()
    found = made.page
    assert found.headings[:2] == [(1, "Site sheets"), (2, NAME)]
    assert {level for level, _words in found.headings} == {1, 2, 3} and found.script == ""
    assert all(link.startswith(("data:", "#")) for link in found.links) and PNG in found.links
    assert len(set(found.ids)) == len(found.ids) and "sheet-1" in found.ids
    assert "<nav" not in made.text, "one site needs no list of sites"
    assert len(found.captions) == sum(isinstance(one, Table) for one in made.section.blocks)
    words = re.sub(r"<style>.*?</style>", "", made.text, flags=re.S)
    assert not re.search(r"\bnan\b|\bNone\b|\binf\b", words)


def test_several_sites_are_listed_with_links_to_their_sections():
    sections = [Section(name, [Heading(2, name)]) for name in ("A & B", "C")]
    found = StrictPage(sheet_page(Pages("Sheets", [], sections, []), lambda figure: PNG))
    assert found.links == ["#sheet-1", "#sheet-2"] and set(found.links) == {f"#{one}" for one in found.ids}
    with pytest.raises(TypeError):
        sheet_page(Pages("Sheets", ["no block"], sections, []), lambda figure: PNG)


def test_the_verdict_is_the_rows(sheet):
    made = sheet()
    row = made.row
    strong = next(one.text for one in made.section.blocks if isinstance(one, Paragraph) and one.is_strong)
    match = re.fullmatch(r"Verdict: (\w+); ([\d.]+) cm every 3 h \(5 cm wanted\), score (\d+) of 100\.", strong)
    assert match[1] == row.verdict and float(match[2]) == pytest.approx(row.sky.precision, rel=0.06)
    assert float(match[3]) == round(row.result.score)
    advice = next(one.text for one in made.section.blocks[2:] if isinstance(one, Paragraph))
    assert advice == row.advice[0].upper() + row.advice[1:] + "."
    assert any(one.text == "Not looked at: waves." for one in made.section.blocks if isinstance(one, Paragraph))
    assert "Not looked at" not in sheet(missing=()).text


def test_the_site_in_figures(sheet):
    made = sheet(criteria=(COST,), own={"cost": 8000.0})
    facts, row = made.facts(), made.row
    lon, lat = Transformer.from_crs(UTM, "EPSG:4326", always_xy=True).transform(EAST, NORTH)
    assert facts["Position"] == f"{EAST:.2f}, {NORTH:.2f} in EPSG:32633; WGS 84: {lat:.6f}° N, {lon:.6f}° E"
    assert facts["Purpose"] == "sea level" and facts["Limited by"] == (row.limit_by or "nothing")
    assert facts["Antenna over the zero level"].startswith("6.00 m; the height given, 6.00 m, is measured above")
    assert facts["Zero level"] == "0.00 m in the vertical datum of SURFACE_LEVEL"
    assert facts["Lowest water, highest water"] == "−1.00 m, +1.00 m relative to the zero level"
    assert facts["Antenna over them"] == "7.00 m over the lowest, 5.00 m over the highest"
    assert facts["cost"] == "8000 EUR, desirability 0.80"  # (20000 − 8000)/(20000 − 5000)
    assert facts["Separation of the best direction"] == f"{row.res_m:.2f} m"
    arcs = re.fullmatch(r"(\d+) on the worst day; spoiled (\d+) % of the time", facts["Arcs"])
    assert (int(arcs[1]), int(arcs[2])) == (round(row.sky.arcs_day), 0)
    assert "Roughness" not in facts
    assert sheet(criteria=(COST,)).facts()["cost"] == "no value, desirability 0.00"


def test_bending_grows_with_height_and_roughness_is_told_with_the_darker_law(sheet):
    low, high = (float(re.search(r"([\d.]+) cm too small", sheet(height_m=h).facts()["Bending in the air"])[1])
                 for h in (6.0, 24.0))
    assert high == pytest.approx(4.0 * low, rel=0.25)
    made = sheet(wave_m=1.0)
    told = made.facts()["Roughness"]
    assert told.startswith("waves of 1.00 m; how much of the reflection they leave is disputed")
    assert float(re.search(r"([\d.]+) cm$", told)[1]) >= 0.94 * made.row.sky.precision


def test_heights_and_levels_add_up(sheet):
    made = sheet()
    made.one.zero_level_m = 0.0
    lines = made.table("Heights and levels")
    value = {line[0]: [float(text.replace("−", "-")) for text in line[1:]] for line in lines}
    assert list(value) == ["antenna", "highest water", "zero level", "lowest water"]
    for name, (over_zero, below_antenna, in_datum) in value.items():
        assert over_zero + below_antenna == pytest.approx(6.0) and in_datum == over_zero, name
    assert value["highest water"][0] == 1.0 and value["lowest water"][0] == -1.0


def test_the_map_shows_the_ground_of_the_directions_that_count(sheet):
    made = sheet()
    figure, = (one for one in made.section.blocks if isinstance(one, MapFigure))
    chosen = made.row.bin_counts
    assert len(figure.sectors) == chosen.sum() > 0
    # all of it lies on the map, and the map is hardly larger
    reach = np.abs(np.concatenate([np.asarray(ring) for ring in figure.sectors])).max()
    assert reach <= figure.half_m <= 1.4 * max(reach, np.abs(figure.footprints).max())
    assert (figure.lon, figure.lat) == (made.one.lon, made.one.lat)
    assert figure.metres_per_px == pytest.approx(2.0 * figure.half_m / HEIGHT)
    # what is drawn lies east, where the water is
    middle = np.mean(np.concatenate([np.asarray(ring) for ring in figure.sectors]), axis=0)
    assert middle[0] > 10.0 and abs(middle[1]) < 10.0
    assert "in no direction" not in figure.description


def test_passes_by_time_of_day_add_up_to_the_arcs_of_the_day(sheet):
    made = sheet(days=2)
    lines = made.table("Usable arcs by time of day")
    assert [line[0] for line in lines] == [f"{h} to {h + 3}" for h in range(0, 24, 3)]
    total = sum(int(text) for line in lines for text in line[1:])
    worth = made.row.sky
    day = int(np.argmin(worth.per_day))
    assert total == int(np.sum(worth.middle_s // 86_400.0 == day))
    words = made.below("Passes through the day")
    start = ("2026-06-01", "2026-06-02")[day]
    assert words.startswith(f"The worst of 2 days looked at begins at {start}")
    assert sheet().below("Passes through the day").startswith("The day looked at begins at 2026-06-01")


def test_the_mask_covers_the_bins_that_count_and_no_others(sheet):
    made = sheet()
    mask = [[float(text) for text in line] for line in made.table("Observation mask")]
    width = sum(high - low for low, high, _bottom, _top in mask)
    assert width == pytest.approx(made.row.az_span_deg)
    for i, centre in enumerate(SETTINGS.bin_centre_deg):
        holding = [line for line in mask if line[0] < centre < line[1]]
        assert bool(holding) == bool(made.row.bin_counts[i])
    assert "look for heights between 5.00 and 7.00 m" in made.below("Observation mask for the processing")


def test_wrong_assumptions_stand_below_the_site_as_given(sheet):
    made = sheet()
    as_given, *others = made.table("Precision, score and verdict")
    assert as_given[0] == "as given" and [line[0] for line in others] == [one.label for one in changes(SEA_LEVEL)]
    for line, one in zip(others, made.outcomes):
        assert (line[3], line[4]) == (one.verdict, one.note or "nothing")
        assert line[2] == f"{one.score:.0f}" and float(line[1]) == pytest.approx(one.precision, rel=0.06)
    words = made.below("Reach of wrong assumptions")
    widest = max(abs(one.score - made.row.result.score) for one in made.outcomes)
    assert f"the score changes by up to {widest:.0f}." in words
    turned = [one.label for one in made.outcomes if one.verdict != made.row.verdict]
    assert ("stays the same in all of these cases" in words) == (not turned)
    # half a metre less than 3.2 m of clearance is too little, and no score at all beyond the surface
    near = sheet(height_m=4.2)
    assert "The verdict would be another with: antenna 0.5 m lower" in near.below("Reach of wrong assumptions")
    drowned = sheet(height_m=1.4, limits=Limits())
    assert drowned.table("Precision, score and verdict")[1][1:4] == ["–", "–", "unsuitable"]


def test_the_interval_is_that_of_the_row_or_says_why_there_is_none(sheet):
    made = sheet()
    words = made.below("Recommended interval")
    assert words.startswith(f"Log every {made.row.sky.int_rec_s:g} s.") and "the moving tide included" in words
    row = made.row
    said = made.maker._interval(replace(row, sky=row.sky._replace(int_rec_s=None, int_max_s=0.04)))[1].text
    assert said == "No usual interval is short enough: every usable arc is resolved only at 0.04 s or faster."
    nothing = made.maker._interval(replace(row, sky=row.sky._replace(int_max_s=math.nan)))[1].text
    assert nothing == "No usable arc, so no interval can be recommended."


def test_the_checklist_speaks_of_the_site(sheet):
    made = sheet(avoiding(box(30, -60, 60, 60), "fairway"))
    words = " ".join(" ".join(line) for line in made.table("Checklist"))
    assert "Known to touch the footprints: fairway" in words
    assert f"The {round(made.row.sky.arcs_day)} usable arcs of the worst day need GPS, Galileo" in words
    assert all(line[0].startswith("☐ ") for line in made.table("Checklist"))
    part = sheet(avoiding(box(30, -60, 60, 60), "ferry", 0.3))
    assert "ferry (30 % of the time)" in " ".join(" ".join(line) for line in part.table("Checklist"))


def test_figures_behind_the_charts_are_those_of_each_bin(sheet):
    made = sheet()
    lines = made.table("Quality, window and skyline by azimuth")
    assert len(lines) == SETTINGS.bins
    for i, line in enumerate(lines):
        assert line[0] == f"{i * 10} to {i * 10 + 10}" and float(line[1]) == pytest.approx(
            made.row.bin_quality[i], abs=0.005)
        assert (line[4] == "yes") == made.row.bin_counts[i] and line[5] == "–"
        assert (line[2] == "–") == (made.assessment.windows.first[i] < 0)


def test_the_skyline_stands_among_them_where_there_is_one(sheet, candidate):
    place = (np.arange(400) + 0.5) * 4.0 - 800.0
    ridge = np.broadcast_to(np.where((place > 500.0) & (place < 560.0), 100.0, 0.0), (400, 400)).astype(np.float32)
    dem = ArrayRaster(ridge, (EAST - 800.0, 4.0, 0.0, NORTH + 800.0, 0.0, -4.0), UTM)
    one = candidate(6.0)
    sight = SightLayers(None, None, Terrain(dem, max_distance_m=700.0, lon=[one.lon], lat=[one.lat]))
    made = sheet(sight=sight)
    east = made.table("Quality, window and skyline by azimuth")[9]
    # its top stands 94 m over the antenna, its face 500 m east, the cells 4 m wide
    angle = math.degrees(math.atan(94.0 / (500.0 / math.cos(math.radians(5.0)))))
    assert float(east[5]) == pytest.approx(angle, abs=0.15)


def test_a_site_over_land_has_no_mask_no_arcs_and_says_so(sheet):
    made = sheet(at_m=-5000.0)
    assert made.row.verdict == "unsuitable"
    assert made.below("Observation mask for the processing") == (
        "No direction counts, so there is nothing to observe here.")
    assert "no arc counts, so this is how far the surface strays by itself" in made.facts()["Predicted precision"]
    assert "no arc" in made.below("Passes through the day")
    figure, = (one for one in made.section.blocks if isinstance(one, MapFigure))
    assert "lies in no direction" in figure.description
    assert made.facts()["Separation of the best direction"] == "–"


def test_what_could_not_be_assessed_says_why_and_where_it_is(candidate, look_at):
    setup = Setup(sea(5.0), SETTINGS, look_at(("GPS",)))
    nowhere = Sheet(candidate(6.0, x=np.nan, name=NAME), setup)
    texts = [one.text for one in nowhere.section.blocks]
    assert texts[:3] == [NAME, "Verdict: not assessed.", "Reason: it has no geometry."] and len(texts) == 4
    drowned = Sheet(candidate(0.5, high_m=1.0, name=NAME), setup)
    texts = [one.text for one in drowned.section.blocks]
    assert texts[1] == "Verdict: unsuitable." and texts[3].startswith(f"Position: {EAST:.2f}")
    assert not any(isinstance(one, (Chart, MapFigure)) for one in drowned.section.blocks)


def test_positions_are_written_with_their_hemispheres(candidate):
    """Geod puts a point 1° by 1° south and west of the equator's start on the other side of both."""
    lon, lat, _back = Geod(ellps="WGS84").fwd(0.0, 0.0, 225.0, 100_000.0)
    one = candidate(5.0, x=lon, y=lat, crs="EPSG:4326")
    run = ReportedRun(SEA_LEVEL, [one], SETTINGS, (), "EPSG:4326", True, False)
    assert position_words(one, run) == (
        f"{lon:.6f}, {lat:.6f} in EPSG:4326; WGS 84: {-lat:.6f}° S, {-lon:.6f}° W")
    assert lon < 0 and lat < 0


def test_snow_is_told_in_its_own_words(candidate, look_at):
    ground = np.full((400, 400), 300.0, np.float32)
    dem = ArrayRaster(ground, (EAST - 200.0, 1.0, 0.0, NORTH + 200.0, 0.0, -1.0), UTM)
    one = candidate(4.0, reference="ground", zero_is_ground=True, dem=dem, low_m=0.0, high_m=1.5, name=NAME)
    setup = Setup(SurfaceLayers(dem=dem, is_water=False, water=layer(box(-900, -900, 900, 900))), SETTINGS,
                  look_at(("GPS",), SNOW_DEPTH), limits=Limits(1.0))
    made = Sheet(one, setup, SNOW_DEPTH, "ground")
    facts = made.facts()
    assert facts["Zero level"] == "300.00 m in the vertical datum of the DEM"
    assert facts["Antenna over the zero level"] == (
        "4.00 m; the height given, 4.00 m, is measured above what the DEM shows at the site")
    assert facts["Least snow, deepest snow"] == "+0.00 m, +1.50 m relative to the zero level"
    assert [line[0] for line in made.table("Heights and levels")] == ["antenna", "deepest snow", "ground", "least snow"]
    assert "bare ground" in made.text and "moving tide" not in made.below("Recommended interval")


@pytest.mark.parametrize("value, form, wanted", [
    (None, ".2f", "–"), (math.nan, ".2f", "–"), (math.inf, ".2f", "–"), (-1.234, ".2f", "−1.23"),
    (2.0, "+.1f", "+2.0")])
def test_a_figure_has_a_true_minus_and_a_dash_where_there_is_none(value, form, wanted):
    assert number(value, form) == wanted
