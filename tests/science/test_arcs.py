"""Arcs: cut where they should be, on real constellations and on passes that a person can follow."""
import numpy as np
import pytest
from stillwater.siting.errors import Cancelled, InputError
from stillwater.siting.sky.arcs import arcs_over, cut
from stillwater.siting.sky.clock import DAY_S, read_date
from stillwater.siting.sky.directions import directions
from stillwater.siting.sky.nominal import NominalOrbits
from stillwater.siting.sky.sky import Sky, View

START = read_date("2026-06-01")
LOW, HIGH = 5.0, 25.0


def sky(days=1, systems=("GPS", "Galileo"), start=START, low=LOW, high=HIGH, margin=0.0):
    return Sky(NominalOrbits(systems), start, days, low, high, margin)


def one_pass(elevation_deg, azimuth_deg=None):
    sine = np.sin(np.radians(np.array(elevation_deg, float))).astype(np.float32)
    number = len(sine)
    azimuth = np.linspace(100, 120, number) if azimuth_deg is None else np.array(azimuth_deg, float)
    return View(np.zeros(number, int), np.arange(number), np.arange(number) > 0, sine, azimuth.astype(np.float32))


def test_a_pass_is_cut_at_the_limits_and_at_its_highest_point():
    arcs = cut(one_pass([0, 4, 8, 12, 15, 12, 8, 4, 0]), 0.0, 30.0, 5.0, 20.0, 0, 8)
    assert len(arcs.satellite) == 2
    assert arcs.is_rising.tolist() == [True, False]
    elevation = arcs.elevation_deg
    assert elevation[arcs.first] == pytest.approx([5.0, 15.0], abs=1e-4)
    assert elevation[arcs.last] == pytest.approx([15.0, 5.0], abs=1e-4)
    # 5° lies a quarter of the way from 4 to 8° (nearly, in the sine)
    assert arcs.time_s[arcs.first[0]] == pytest.approx(37.5, abs=0.1)
    assert arcs.time_s[arcs.last] == pytest.approx([120.0, 202.5], abs=0.1)


def test_the_highest_point_is_found_between_samples():
    time = np.arange(9) - 3.7
    arcs = cut(one_pass(18.0 - time**2), 0.0, 30.0, 5.0, 20.0, 0, 8)
    assert arcs.time_s[arcs.last[0]] == pytest.approx(3.7 * 30, abs=0.2)
    assert arcs.elevation_deg[arcs.last[0]] == pytest.approx(18.0, abs=0.01)
    assert arcs.time_s[arcs.last[0]] == pytest.approx(arcs.time_s[arcs.first[1]], abs=1e-6)


def test_a_pass_through_the_upper_limit_is_two_arcs():
    arcs = cut(one_pass([0, 10, 18, 30, 40, 30, 18, 10, 0]), 0.0, 30.0, 5.0, 20.0, 0, 8)
    assert arcs.is_rising.tolist() == [True, False]
    assert arcs.elevation_deg[arcs.last[0]] == pytest.approx(20.0, abs=1e-4)
    assert arcs.elevation_deg[arcs.first[1]] == pytest.approx(20.0, abs=1e-4)


def test_a_dip_is_split_at_its_lowest_point():
    arcs = cut(one_pass([30, 14, 10, 9, 10, 14, 30]), 0.0, 30.0, 5.0, 20.0, 0, 6)
    assert arcs.is_rising.tolist() == [False, True]
    assert arcs.elevation_deg[arcs.last[0]] == pytest.approx(9.0, abs=0.05)


@pytest.mark.parametrize("above_deg", [0.02, 0.05, 0.5])
def test_a_pass_that_hardly_climbs_over_the_limit_is_two_arcs_and_one_that_touches_it_is_none(above_deg):
    """Only what rounding shaves off is no arc: a pass whose top stands 0.02° over the limit still rises and sets."""
    time = np.arange(41) - 20.0
    arcs = cut(one_pass(5.0 + above_deg - (0.05 * time) ** 2), 0.0, 30.0, 5.0, 20.0, 0, 40)
    assert arcs.is_rising.tolist() == [True, False]
    assert arcs.elevation_deg[arcs.last[0]] == pytest.approx(5.0 + above_deg, abs=1e-3)
    assert arcs.elevation_deg[[arcs.first[0], arcs.last[1]]] == pytest.approx(5.0, abs=1e-4)
    assert not cut(one_pass(5.0 - above_deg - (0.05 * time) ** 2), 0.0, 30.0, 5.0, 20.0, 0, 40)
    touching = cut(one_pass(5.0 + 1e-5 - (0.05 * time) ** 2), 0.0, 30.0, 5.0, 20.0, 0, 40)
    assert len(touching.satellite) == 0


def test_an_arc_over_north_keeps_its_azimuths():
    arcs = cut(one_pass([4, 6, 8, 10, 22], [352, 356, 358, 1, 5]), 0.0, 30.0, 5.0, 20.0, 0, 4)
    assert arcs.azimuth_deg[arcs.first[0]] == pytest.approx(354.0, abs=0.1)
    assert 3.0 < arcs.azimuth_deg[arcs.last[0]] < 5.0


def test_a_missing_position_ends_an_arc():
    view = one_pass([4, 6, 8, 10, 12, 22])
    joined = view.is_joined.copy()
    joined[3] = False
    arcs = cut(view._replace(is_joined=joined), 0.0, 30.0, 5.0, 20.0, 0, 5)
    assert len(arcs.satellite) == 2
    assert arcs.elevation_deg[arcs.last[0]] == pytest.approx(8.0, abs=1e-4)
    assert arcs.elevation_deg[arcs.first[1]] == pytest.approx(10.0, abs=1e-4)


def test_nothing_in_the_sky_gives_no_arcs():
    arcs = cut(one_pass([1, 2, 3]), 0.0, 30.0, 5.0, 20.0, 0, 2)
    assert not arcs and len(arcs.is_rising) == 0 and len(arcs.greatest(arcs.rate)) == 0


@pytest.fixture(scope="module")
def two_days():
    return sky(days=2)


def test_arcs_are_complete_and_in_order(two_days):
    arcs = arcs_over(two_days, -39.0, 45.0)
    assert len(arcs.satellite) > 200
    elevation = arcs.elevation_deg
    step = np.diff(elevation)
    within = np.ones(len(step), bool)
    within[arcs.last[:-1]] = False
    climbs = np.where(arcs.is_rising, 1, -1)[arcs.arc_of_vertex][:-1]
    assert (step[within] * climbs[within] > -1e-4).all()
    assert (np.diff(arcs.time_s)[within] > 0).all()
    assert elevation.min() >= LOW - 1e-4 and elevation.max() <= HIGH + 1e-4
    assert np.diff(arcs.start).min() >= 2


def test_every_moment_between_the_limits_lies_on_an_arc(two_days):
    """Counted anew from the positions, without runs, cells or cuts."""
    arcs = arcs_over(two_days, -39.03, 45.02)
    _azimuth, sine = directions(two_days.positions_m, -39.03, 45.02)
    inside = (sine > np.sin(np.radians(LOW + 1e-3))) & (sine < np.sin(np.radians(HIGH - 1e-3)))
    for satellite in range(0, len(inside), 5):
        mine = np.flatnonzero(arcs.satellite == satellite)
        covered = np.zeros(inside.shape[1], bool)
        for i in mine:
            covered |= ((two_days.times_s >= arcs.time_s[arcs.first[i]] - 1e-3)
                        & (two_days.times_s <= arcs.time_s[arcs.last[i]] + 1e-3))
        assert not (inside[satellite] & ~covered).any()


def test_midnight_does_not_end_an_arc(two_days):
    arcs = arcs_over(two_days, -39.0, 45.0)
    over = (arcs.time_s[arcs.first] < DAY_S - 60) & (arcs.time_s[arcs.last] > DAY_S + 60)
    assert over.sum() >= 5
    # while the end of a run of one day does
    first_day = arcs_over(sky(days=1), -39.0, 45.0)
    assert first_day.time_s.max() == DAY_S
    assert (first_day.time_s[first_day.last] == DAY_S).sum() >= over.sum()


def test_the_margin_is_looked_at_only_where_asked():
    wide = sky(margin=6 * 3600.0)
    assert arcs_over(wide, 0.0, 50.0).time_s.min() >= 0.0
    with_margin = arcs_over(wide, 0.0, 50.0, with_margin=True)
    assert with_margin.time_s.min() < -5 * 3600 and with_margin.time_s.max() > DAY_S + 5 * 3600


def test_few_degrees_are_sampled_finely():
    narrow = sky(systems=["GPS"], low=9.8, high=10.0)
    arcs = arcs_over(narrow, 0.0, 40.0)
    wide = arcs_over(sky(systems=["GPS"], low=5.0, high=25.0), 0.0, 40.0)
    crossing = ((wide.elevation_deg[wide.first] < 9.8) & (wide.elevation_deg[wide.last] > 10.0)) | (
        (wide.elevation_deg[wide.first] > 10.0) & (wide.elevation_deg[wide.last] < 9.8))
    assert len(arcs.satellite) >= crossing.sum() > 30


def test_rates_agree_with_finer_samples():
    arcs = arcs_over(sky(systems=["GPS"]), 0.0, 40.0)
    i = int(np.argmax(arcs.greatest(np.abs(arcs.rate))))
    middle = (arcs.first[i] + arcs.last[i]) // 2
    time = arcs.time_s[middle]
    one = NominalOrbits(["GPS"]).positions_m(START + time + np.array([-0.5, 0.5]))[arcs.satellite[i]]
    _azimuth, sine = directions(one, 0.0, 40.0)
    assert arcs.rate[middle] == pytest.approx(sine[1] - sine[0], rel=1e-3)


def test_too_long_a_time_is_refused_with_what_fits():
    with pytest.raises(InputError, match="at most .* days"):
        sky(days=4000)


def test_cancel_ends_the_computation():
    with pytest.raises(Cancelled):
        Sky(NominalOrbits(["GPS"]), START, 1, LOW, HIGH, is_cancelled=lambda: True)


@pytest.mark.parametrize("lon, lat", [(0.0, 90.0), (0.0, -90.0), (180.0, 89.999), (-180.0, 0.0)])
def test_poles_and_the_edge_of_the_map_have_a_sky(lon, lat):
    arcs = arcs_over(sky(systems=["GPS"]), lon, lat)
    assert len(arcs.satellite) > 20
    assert np.isfinite(arcs.azimuth_deg).all()
