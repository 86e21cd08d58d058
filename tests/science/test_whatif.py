"""What a wrong assumption would change: each is a site that a person could have entered, and is assessed like it."""

import math

import numpy as np
import pytest
from stillwater.siting.errors import Cancelled
from stillwater.siting.purposes import LAKE_LEVEL, SEA_LEVEL, SNOW_DEPTH, SOIL_MOISTURE
from stillwater.siting.ranking.ranking import rank
from stillwater.siting.ranking.whatif import Change, Outcome, changes, what_if, widest_change
from stillwater.siting.setup import Limits, Setup
from stillwater.tests.science.shore_scenes import SETTINGS, sea


@pytest.fixture
def setup(look_at):
    """Give the setup of a straight shore 5 m east; GPS alone."""
    return Setup(sea(5.0), SETTINGS, look_at(("GPS",)), limits=Limits(3.0))


@pytest.fixture
def site(candidate):
    """Give a function that makes a site over a tide of 1 m about the zero level."""
    def make(height_m=6.0, low_m=-1.0, high_m=1.0, wave_m=0.3):
        one = candidate(height_m, low_m=low_m, high_m=high_m)
        one.wave_m = wave_m
        return one
    return make


def test_each_purpose_doubts_what_it_depends_on():
    labels = {purpose.name: [one.label for one in changes(purpose)]
              for purpose in (SEA_LEVEL, LAKE_LEVEL, SNOW_DEPTH, SOIL_MOISTURE)}
    antenna = ["antenna 0.5 m lower", "antenna 0.5 m higher"]
    water = ["all levels 0.25 m lower", "all levels 0.25 m higher", "significant wave height 0.5 m more"]
    assert labels["sea level"] == labels["lake level"] == antenna + water
    assert labels["snow depth"] == antenna + ["greatest snow depth 0.25 m less", "greatest snow depth 0.25 m more"]
    assert labels["soil moisture"] == antenna


def test_each_label_says_what_its_figures_do():
    for one in {change for purpose in (SEA_LEVEL, SNOW_DEPTH) for change in changes(purpose)}:
        sign = 1 if one.label.split()[-1] in ("higher", "more") else -1
        moved = [v for v in (one.height_m, one.low_m, one.high_m, one.wave_m) if v]
        assert moved and all(math.copysign(1, v) == sign for v in moved), one
        assert f"{abs(moved[0]):g} m" in one.label


@pytest.mark.parametrize("change, entered", [
    (Change("antenna", -0.5), {"height_m": 5.5}), (Change("antenna", 0.5), {"height_m": 6.5}),
    (Change("levels", 0.0, 0.25, 0.25), {"low_m": -0.75, "high_m": 1.25}),
    (Change("waves", wave_m=0.5), {"wave_m": 0.8})])
def test_an_outcome_is_the_row_of_a_site_entered_so(setup, site, change, entered):
    (outcome,), = what_if([site()], setup, [change])
    row, = rank([site(**entered)], setup)
    assert outcome == Outcome(change.label, row.result.score, row.result.precision, row.verdict, row.limit_by)


def test_levels_that_rise_are_an_antenna_that_sinks(look_at, site):
    """Only the difference of heights reflects; polygons tell the water at any level."""
    setup = Setup(sea(), SETTINGS, look_at(("GPS",)))
    sinks, rises = Change("a", -0.25), Change("b", 0.0, 0.25, 0.25)
    (one, other), = what_if([site()], setup, [sinks, rises])
    assert one.precision == pytest.approx(other.precision, rel=1e-9) and one.score == pytest.approx(other.score)


def test_waves_never_help_and_a_lost_clearance_is_named(setup, site):
    wrong = [Change("as it is"), Change("waves", wave_m=1.5), Change("lower", -0.5)]
    (calm, rough, low), = what_if([site(4.2)], setup, wrong)
    assert rough.precision > calm.precision and rough.score < calm.score
    assert low.verdict == "unsuitable" and low.note == "clearance: 2.70 m over the highest level (3 m needed)"


def test_what_cannot_be_has_no_score_and_says_why(setup, site, candidate):
    (drowned,), (nowhere,) = what_if([site(1.4), candidate(5.0, x=np.nan)], setup, [Change("lower", -0.5)])
    assert (drowned.score, drowned.precision, drowned.verdict) == (None, None, "unsuitable")
    assert "under the surface" in drowned.note
    assert (nowhere.score, nowhere.verdict) == (None, "not assessed") and "no geometry" in nowhere.note


def test_the_sites_themselves_are_left_alone_and_keep_their_order(setup, site):
    sites = [site(6.0), site(9.0)]
    before = [(one.over_zero_m, one.low_m, one.high_m, one.wave_m) for one in sites]
    (first,), (second,) = what_if(sites, setup, [Change("higher", 0.5)])
    assert before == [(one.over_zero_m, one.low_m, one.high_m, one.wave_m) for one in sites]
    (alone,), = what_if([site(9.0)], setup, [Change("higher", 0.5)])
    assert second == alone != first


def test_progress_rises_over_all_changes_and_cancel_ends_them(setup, site):
    told = []
    wrong = [Change("a", 0.5), Change("b", -0.5)]
    what_if([site(), site(7.0)], setup, wrong, lambda part, name: told.append((part, name)))
    assert [part for part, _name in told] == pytest.approx([0.0, 0.25, 0.5, 0.75]) and told[0][1] == "site"
    with pytest.raises(Cancelled):
        what_if([site()], setup, wrong, is_cancelled=lambda: len(told) > 3)


def test_the_widest_change_is_the_farthest_of_all_from_the_score():
    outcomes = [Outcome("a", 40.0, 1.0, "", ""), Outcome("b", 75.0, 1.0, "", ""), Outcome("c", None, None, "", "")]
    assert widest_change(60.0, outcomes) == 20.0
    assert math.isnan(widest_change(60.0, outcomes[2:]))
