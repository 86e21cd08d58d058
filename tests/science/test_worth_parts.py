"""What the sky is worth over open water, each figure counted again from the arcs themselves."""
from dataclasses import replace

import numpy as np
import pytest
from stillwater.siting.assess import assess
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.precision.bending import bending_part
from stillwater.siting.precision.noise import pattern
from stillwater.siting.precision.values import errors_by_time, kept_error
from stillwater.siting.precision.worth import SkyLook
from stillwater.siting.purposes import SOIL_MOISTURE
from stillwater.siting.reflection.coefficients import fresnel
from stillwater.siting.settings import Settings
from stillwater.siting.sky.sampling import INTERVALS_S

L1 = 299_792_458.0 / 1575.42e6
ANGLES = (5.0, 8.0, 11.0, 15.0, 20.0)
SEA = [(-3000, -3000), (3000, -3000), (3000, 3000), (-3000, 3000)]
DAY_S = 86_400.0


def looked(layers, look, one, **settings):
    (_index, found), = assess([one], layers, Settings(L1, ANGLES, 24, **settings))
    return look.over(found)


@pytest.fixture
def sea(local_rings):
    return SurfaceLayers(water=local_rings((SEA, [], 0)))


@pytest.fixture
def over(sea, look_at, candidate):
    return looked(sea, look_at(("GPS",), days=2), candidate(8.0, low_m=-1.0, high_m=1.0))


def test_figures_are_those_of_the_arcs_that_count_within_the_days(over):
    found, errors = over.worth(), over.errors
    middle = errors.pieces.middle_s
    mine = [i for i in range(len(middle)) if errors.counts[i] and 0.0 <= middle[i] < 2 * DAY_S]
    assert 50 < len(mine) < errors.counts.sum(), "there are arcs in the margin"
    assert found.middle_s.tolist() == middle[mine].tolist() and found.has_arcs
    assert found.satellite.tolist() == over.arcs.satellite[mine].tolist()
    assert found.is_rising.tolist() == over.arcs.is_rising[mine].tolist()
    assert found.arc_error == np.median(errors.error[mine]) and found.arc_noise == np.median(errors.noise[mine])
    assert found.int_max_s == errors.longest_s[mine].min() and found.busy == 0.0
    assert found.information == pytest.approx(sum(1.0 / errors.error[i]**2 for i in mine))
    assert found.information == pytest.approx(over.total(errors)) and over.end_s == 2 * DAY_S
    assert found.per_day.tolist() == [sum(middle[i] // DAY_S == day for i in mine) for day in (0, 1)]
    assert found.arcs_day == found.per_day.min() and found.unresolved == 0
    assert not found.empty_bins[~over.assessment.counts].any()


def test_the_gap_is_the_longest_between_neighbours_that_touches_the_days(over):
    middle = np.sort(over.errors.pieces.middle_s[over.errors.counts])
    gaps = [b - a for a, b in zip(middle[:-1], middle[1:]) if b > 0 and a < 2 * DAY_S]
    found = over.worth()
    assert found.gap_h == pytest.approx(max(gaps) / 3600.0) and not found.gap_is_least


def test_the_precision_holds_for_95_percent_of_the_times(over):
    """The levels -1 and 1 m leave 70.7 cm without any arc: the standard deviation of that sine."""
    errors = over.errors
    chosen = errors.counts
    by_time = errors_by_time(errors.pieces.middle_s[chosen], errors.information[chosen], 2, 3.0, 100.0 / np.sqrt(2.0))
    assert over.precision() == kept_error(by_time) == over.worth().precision
    assert over.precision(errors.noisier(400.0)) > over.precision()


def test_bending_is_that_of_the_median_window(over):
    found, pieces = over.worth(), over.errors.pieces
    mine = over.errors.counts & over.errors.within(0.0, 2 * DAY_S)
    ends = [np.median(pieces.mean_sine[mine] + half * pieces.width[mine]) for half in (-0.5, 0.5)]
    told = 100.0 * 8.0 * bending_part(*np.degrees(np.arcsin(ends)))
    assert found.bend_cm == pytest.approx(told) and 3.0 < told < 9.0
    low, high = bending_part(4.0, 19.0), bending_part(7.0, 21.0)
    assert min(low, high) < told / 800.0 < max(low, high), "the windows are those from 5 to 20° or nearly"


def test_the_tide_shifts_arcs_by_its_rate_alone(over, sea, look_at, candidate):
    """By hand: π 2 m/44 700 s times the mean sine times the duration over the change."""
    mine = over.errors.counts & over.errors.within(0.0, 2 * DAY_S)
    pieces, rising = over.errors.pieces, over.arcs.is_rising
    shift = np.pi * 2.0 / 44_700.0 * pieces.mean_sine * (pieces.t_end_s - pieces.t_start_s) / pieces.width
    assert over.worth().shift_m == pytest.approx((shift[mine & rising].max(), shift[mine & ~rising].max()))
    still = looked(sea, replace(over.look, is_tidal=False), candidate(8.0, low_m=-1.0, high_m=1.0))
    assert still.judge.level_rate == 0.0 and still.worth().shift_m == (0.0, 0.0)
    assert over.judge.level_rate == pytest.approx(np.pi * 2.0 / 44_700.0)
    assert (over.judge.least_height_m, over.judge.greatest_height_m) == (7.0, 9.0)
    look = over.look
    assert SkyLook(look.sky, look.demand, look.receiver, look.permittivity).is_tidal, "the sea unless told"


def test_arcs_that_only_the_interval_loses_are_counted(sea, look_at, candidate):
    fast, slow = (looked(sea, look_at(("GPS",), interval_s=s), candidate(30.0)) for s in (1.0, 15.0))
    within = fast.errors.within(0.0, DAY_S)
    lost = fast.errors.counts & within & (fast.errors.longest_s < 15.0)
    clear = slow.errors.has_peak
    assert lost.sum() > 0 and slow.worth().unresolved == (lost & clear).sum()
    assert slow.worth().int_max_s >= 15.0


@pytest.mark.parametrize("height, wave, interval", [
    (4.0, 0.0, 1.0), (12.0, 0.0, 1.0), (9.0, 1.2, 1.0), (6.0, 0.8, 5.0)])
def test_the_interval_told_is_the_longest_that_resolves_and_costs_a_tenth_at_most(sea, look_at, candidate, height,
                                                                                  wave, interval):
    """Tried one after the other, each as a receiver that logs so; what is resolved stays that of the arcs."""
    over = looked(sea, look_at(("GPS",), interval_s=interval), candidate(height, wave_m=wave))
    worth = over.worth()
    fit = []
    for one in INTERVALS_S:
        thinned = over.errors.noisier(max(one, 1.0) / interval)
        if 1.5 * one <= worth.int_max_s and over.precision(thinned) <= 1.1 * worth.precision:
            fit.append(one)
    assert worth.int_rec_s == max(fit)
    assert over.recommended_s(0.01, worth.precision) is None
    assert over.recommended_s(worth.int_max_s, 0.0) is None
    assert over.recommended_s(1.5 * 0.5, worth.precision) in (0.5, None)


def test_a_direction_without_any_satellite_is_empty(sea, look_at, candidate):
    """At 45° N no GPS satellite stands low in the north (its orbits' inclination is 55°), but all around else."""
    over = looked(sea, look_at(("GPS",)), candidate(8.0))
    empty = over.worth().empty_bins
    low = over.arcs.elevation_deg < 20.0
    crossed = np.unique((over.arcs.azimuth_deg[low] // 15.0).astype(int))
    assert empty[0] and empty[-1] and not empty[crossed].any() and empty.sum() + len(crossed) == 24
    # where nothing is usable, nothing is missed
    nothing = looked(SurfaceLayers(water=sea.water, avoid=sea.water, avoid_names=["all"],
                                   avoid_shares=np.array([1.0])), over.look, candidate(8.0)).worth()
    assert not nothing.empty_bins.any() and not nothing.has_arcs and nothing.busy == 0.0
    assert np.isnan([nothing.bend_cm, nothing.arc_error, nothing.arc_noise, nothing.int_max_s]).all()
    assert nothing.int_rec_s is None and nothing.arcs_day == 0 and nothing.information == 0


def test_a_single_good_angle_is_no_direction_that_is_missed(sea, look_at, candidate):
    over = looked(sea, look_at(("GPS",)), candidate(8.0))
    assert over.worth().empty_bins[0]
    good = over.assessment.good
    good[:, 0] = [False, True, False, True, False]
    assert not over.worth().empty_bins[0]
    good[2, 0] = True
    assert over.worth().empty_bins[0]


def test_of_a_phase_no_bending_is_told(sea, look_at, candidate):
    field = replace(sea, is_water=False)
    found = looked(field, look_at(("GPS",), purpose=SOIL_MOISTURE), candidate(2.5), max_res_m=None).worth()
    assert found.has_arcs and np.isnan(found.bend_cm) and found.int_rec_s is not None


def test_the_pattern_is_that_of_the_surface_in_each_direction(over):
    look, a = over.look, over.assessment
    coefficient = fresnel(look.permittivity, np.array(ANGLES))
    co, cross = np.abs(coefficient.co_polar), np.abs(coefficient.cross_polar)
    smooth = pattern(look.receiver, np.array(ANGLES), co, cross)
    found = look.pattern(a)
    assert found.amplitude == pytest.approx(smooth.amplitude[:, None] * a.share)
    assert found.variance == pytest.approx(smooth.variance)
    half = np.full(a.share.shape, 0.5)
    assert look.pattern(a, share=half).amplitude == pytest.approx(0.5 * np.tile(smooth.amplitude[:, None], 24))
    # 6 dB less power is half the field, nearly; what is lost makes the samples scatter
    rough = look.pattern(a, loss_db=np.full(a.share.shape, 20.0 * np.log10(2.0)))
    assert rough.amplitude == pytest.approx(0.5 * found.amplitude)
    assert rough.variance == pytest.approx(
        pattern(look.receiver, np.array(ANGLES)[:, None], co[:, None], cross[:, None], 0.5,
                np.ones(a.share.shape)).variance)


def test_by_aments_law_rough_water_is_worth_less(sea, look_at, candidate):
    """The field falls by exp(-8 (π σ sin e/λ)²) (Ament 1953, from memory), which is more than is taken else."""
    look = look_at(("GPS",))
    rough = looked(sea, look, candidate(8.0, wave_m=1.0))
    assert look.precision_by_ament(rough.assessment) > 1.05 * rough.precision()
    a = rough.assessment
    loss = 10.0 * np.log10(np.e) * (4.0 * np.pi * a.rms_m.max(axis=0) * np.sin(np.radians(ANGLES))[:, None] / L1)**2
    told = rough.judge.judge(rough.arcs, rough.placed, a.good, look.pattern(a, loss_db=loss), a.busy)
    assert look.precision_by_ament(a) == pytest.approx(rough.precision(told), rel=1e-6)
    smooth = looked(sea, look, candidate(8.0))
    assert look.precision_by_ament(smooth.assessment) == pytest.approx(smooth.precision())
