"""The checklist of a site: every item with its reason and source, and what it says of this site."""

import re

import pytest
from stillwater.siting.purposes import LAKE_LEVEL, SEA_LEVEL, SNOW_DEPTH, SOIL_MOISTURE
from stillwater.siting.report.checklist import Facts, checklist


def facts(**changed) -> Facts:
    given = dict(purpose=SEA_LEVEL, lowest_deg=5.0, highest_deg=20.0, directions="between 10 and 340°",
                 systems=("GPS", "Galileo"), arcs_day=33, int_rec_s=15.0, int_max_s=35.2, greatest_height_m=9.2,
                 clearance_m=7.0, needed_m=3.0, spoilers=("fairway",), tide_shift_m=0.8)
    return Facts(**{**given, **changed})


@pytest.mark.parametrize("purpose", [SEA_LEVEL, LAKE_LEVEL, SNOW_DEPTH, SOIL_MOISTURE])
def test_every_item_of_the_checklist_has_a_reason_and_a_source(purpose):
    items = checklist(facts(purpose=purpose))
    assert len(items) >= 13 and len({one.what for one in items}) == len(items)
    for one in items:
        assert one.what and one.why and one.source, one
        assert re.search("common practice|IGS|NGS|GLOSS|WMO|Shannon", one.source), one
    whole = " ".join(" ".join(one) for one in items)
    for words in ("no elevation mask", "constellations and frequencies", "SNR", "RINEX 3", "Log every 15 s", "Archive",
                  "photographs", "stable monument", "at height", "power lines", "permits", "licensed",
                  "not for navigation"):
        assert words in whole, words


def test_the_checklist_speaks_of_this_site():
    whole = " ".join(" ".join(one) for one in checklist(facts()))
    for words in ("9.2 m over the lowest level needs at most 35 s", "3 m or more above the highest water", "7.00 m",
                  "fairway", "33 usable arcs", "GPS, Galileo", "up to 0.80 m", "bench marks"):
        assert words in whole, words
    low = " ".join(" ".join(one) for one in checklist(facts(clearance_m=0.9, spoilers=(), int_rec_s=None)))
    assert "which is too little" in low and "No area to avoid" in low and "Settle the logging interval" in low
    snow = " ".join(" ".join(one) for one in checklist(facts(purpose=SNOW_DEPTH)))
    assert "deepest snow" in snow and "bare ground" in snow and "ships" not in snow


@pytest.mark.parametrize("lowest, highest, loss", [
    (3.0, 9.9, "all of them"), (5.0, 10.0, "all of them"), (5.0, 10.5, "the low ones for good"),
    (5.0, 20.0, "the low ones for good"), (14.9, 25.0, "the low ones for good"), (15.0, 25.0, "do no harm here")])
def test_what_a_usual_mask_of_10_or_15_degrees_would_lose_is_told(lowest, highest, loss):
    """A mask keeps what lies above it: up to 10° all is lost to either, from 15° on nothing is."""
    first = checklist(facts(lowest_deg=lowest, highest_deg=highest))[0]
    assert f"come at {lowest:g} to {highest:g}°. A usual mask of 10 or 15° would " in first.why
    assert [words in first.why for words in ("all of them", "the low ones for good", "do no harm here")] == [
        words == loss for words in ("all of them", "the low ones for good", "do no harm here")]


def whole(**changed):
    """Return all words of the checklist of a site."""
    return " ".join(" ".join(one) for one in checklist(facts(**changed)))


def test_the_lake_has_no_tide_and_the_sea_has_one():
    assert "better every 6 or 15 minutes" in whole() and "about once a year" in whole()
    lake = whole(purpose=LAKE_LEVEL, tide_shift_m=0.0)
    assert "6 or 15 minutes" not in lake and "tide shifts" not in lake and "bench marks" in lake
    assert "avalanches" in whole(purpose=SNOW_DEPTH) and "water's edge" not in whole(purpose=SNOW_DEPTH)
    assert "soil samples" in whole(purpose=SOIL_MOISTURE)


@pytest.mark.parametrize("interval, thinned", [(15.0, True), (30.0, False), (None, False)])
def test_files_thinned_to_30_seconds_are_warned_of_where_more_is_needed(interval, thinned):
    assert ("Files thinned to 30 s resolve only low antennas" in whole(int_rec_s=interval)) == thinned


def test_only_five_areas_are_named_and_the_others_counted():
    told = whole(spoilers=tuple("abcdefg"))
    assert "Known to touch the footprints: a, b, c, d, e and 2 more." in told
    assert "most of all between 10 and 340°" in told and "no layer knows, all around." in whole(directions="")


@pytest.mark.parametrize("clearance, needed, says", [
    (3.0, 3.0, "Keep the antenna 3 m or more above the highest water Here it stands 3.00 m above it."),
    (2.99, 3.0, "Here it stands 2.99 m above it, which is too little."),
    (0.2, 0.0, "Keep the antenna well above the highest water Here it stands 0.20 m above it.")])
def test_the_clearance_is_held_to_what_is_asked_for(clearance, needed, says):
    assert says in whole(clearance_m=clearance, needed_m=needed)
