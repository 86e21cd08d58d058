"""The one palette: contrasts as the Web Content Accessibility Guidelines ask, and no colour of ours elsewhere."""

import itertools
import re
from pathlib import Path

import pytest
from stillwater.siting.charts import palette

ROOT = Path(__file__).resolve().parents[2]
SHIPPED = [path for folder in ("siting", "processing_algs", "plugin", "sample_layers")
           for path in sorted((ROOT / folder).rglob("*.py"))]


def luminance(colour: str) -> float:
    """Return the relative luminance of WCAG 2.1 (of sRGB, IEC 61966-2-1)."""
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055)**2.4
              for part in (channel / 255.0 for channel in palette.channels(colour))]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of WCAG 2.1."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_the_contrast_is_that_of_the_guidelines():
    """Black on white is 21:1; #767676 is known as the lightest grey that reads at 4.5:1 on white."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") >= 4.5 > contrast("#777777", "#ffffff")


@pytest.mark.parametrize("words, ground", [
    ("INK", "PAPER"), ("INK", "WASH"), ("INK", "PRINTED_HEAD"), ("INK", "REFUSED"), ("INK", "MARKER"),
    ("SOFT", "PAPER"), ("LINK", "PAPER"), ("MAP_INK", "PAPER"), ("SNOW", "SLATE"), ("MIST", "SLATE"),
    ("SAMPLE_INK", "PAPER")])
def test_words_are_read_on_their_ground(words, ground):
    """WCAG 2.1, 1.4.3: at least 4.5:1."""
    assert contrast(getattr(palette, words), getattr(palette, ground)) >= 4.5


@pytest.mark.parametrize("mark, ground", [("DARK", "PAPER"), ("DARK", "LIGHT"), ("ZONE", "PAPER"), ("DEEP", "PAPER")])
def test_marks_stand_out_from_their_ground(mark, ground):
    """WCAG 2.1, 1.4.11: at least 3:1."""
    assert contrast(getattr(palette, mark), getattr(palette, ground)) >= 3.0


@pytest.mark.parametrize("ramp", ["RAMP", "CURVES", "FOOTPRINTS"])
def test_a_ramp_rises_or_falls_in_lightness(ramp):
    """Grey keeps its order."""
    light = [luminance(one) for one in getattr(palette, ramp)]
    steps = [later - one for one, later in zip(light, light[1:])]
    assert all(step > 0 for step in steps) or all(step < 0 for step in steps)


def test_qualities_run_over_the_whole_ramp():
    found = [palette.quality_colour(step / 100.0) for step in range(101)]
    assert [one for one, _group in itertools.groupby(found)] == list(palette.RAMP)
    assert palette.quality_colour(-1.0) == palette.RAMP[0] and palette.quality_colour(2.0) == palette.RAMP[-1]


def test_colours_are_written_as_maps_take_them():
    """Okabe and Ito (2008) print vermilion as 213, 94, 0 and sky blue as 86, 180, 233."""
    assert palette.channels(palette.VERMILION) == (213, 94, 0)
    assert palette.rgba(palette.SKY_BLUE, 80) == "86,180,233,80" and palette.rgba("#000000") == "0,0,0,255"


def test_no_colour_stands_anywhere_else():
    """By what Python writes as a text: # with six digits, or numbers with commas as symbols of maps take them."""
    assert len(SHIPPED) > 100
    written = re.compile(r"#[0-9a-fA-F]{6}\b|[\"']\d{1,3},\d{1,3},\d{1,3}(?:,\d{1,3})?[\"']|QColor\(\d")
    found = {str(path.relative_to(ROOT)) for path in SHIPPED if written.search(path.read_text(encoding="utf-8"))}
    assert found == {"siting/charts/palette.py"}
