"""What arcs are worth together: which count, the precision of values, the interval; in scenes that can be followed."""

import numpy as np
import pytest
from stillwater.siting.assess import assess
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.precision.arcerrors import AIR_PART, USUAL_WIDTH
from stillwater.siting.precision.bending import bending_part
from stillwater.siting.precision.demand import Demand
from stillwater.siting.precision.values import errors_by_time, kept_error, spread_unseen
from stillwater.siting.purposes import SOIL_MOISTURE
from stillwater.siting.reflection.roughness import coherent_loss_db, wave_rms_m
from stillwater.siting.settings import Settings
from stillwater.siting.sight import refraction
from stillwater.siting.signals import wavelength_m
from stillwater.siting.sky.clock import DAY_S
from stillwater.siting.sky.usable import spacing_s

L1 = wavelength_m("GPS L1")
ANGLES = tuple(float(a) for a in range(5, 21))
SEA = [(-4000, -4000), (4000, -4000), (4000, 4000), (-4000, 4000)]


@pytest.fixture
def sea(local_rings):
    return SurfaceLayers(water=local_rings((SEA, [], 0)))


def over(layers, look, one, **settings):
    (_index, found), = assess([one], layers, Settings(L1, ANGLES, 72, **settings))
    return look.over(found)


def test_short_arcs_do_not_count(sea, look, candidate):
    few, many = (over(sea, look, candidate(5.0), min_cycles=n).worth() for n in (12.0, 3.0))
    assert 0 < few.arcs_day < many.arcs_day
    # 20° is the highest angle: at 5 m no arc holds 14 oscillations: 2 × 5 m × (sin 20° − sin 5°)/λ = 13.4
    assert over(sea, look, candidate(5.0), min_cycles=13.5).worth().arcs_day == 0
    # at 0.37 m apart surfaces, λ/(2 (sin 20° − sin 5°)), no arc is long enough for less
    assert over(sea, look, candidate(5.0), max_res_m=0.36).worth().arcs_day == 0
    assert over(sea, look, candidate(5.0), max_res_m=0.3735).worth().arcs_day > 0


def test_perfect_water_under_an_empty_sky_has_no_arcs(look_at, candidate, local_rings):
    """At 45° N GPS never passes low in the north (its inclination is 55°: spherical geometry)."""
    north = SurfaceLayers(water=local_rings(([(-3, 3), (3, 3), (900, 2000), (-900, 2000)], [], 0)))
    gps, every = (over(north, look_at(systems), candidate(5.0)) for systems in (
        ("GPS",), ("GPS", "GLONASS", "Galileo", "BeiDou")))
    assert gps.assessment.counts.any()
    found = gps.worth()
    assert found.arcs_day == 0 and np.isnan(found.int_max_s) and found.int_rec_s is None and not found.has_arcs
    assert set(np.flatnonzero(found.empty_bins)) >= set(np.flatnonzero(gps.assessment.counts))
    assert found.gap_is_least and found.gap_h == pytest.approx(48.0)
    # nothing is known but how far the sea strays: 0.3 m
    assert found.precision == pytest.approx(30.0)
    assert every.worth().precision <= found.precision


def test_the_worst_day_counts(sea, look_at, candidate):
    found = over(sea, look_at(("GPS", "GLONASS"), days=2), candidate(5.0)).worth()
    day = (found.middle_s // DAY_S).astype(int)
    assert found.per_day.tolist() == [(day == 0).sum(), (day == 1).sum()] and found.arcs_day == found.per_day.min()


def test_an_arcs_error_is_the_sum_of_its_parts(sea, look, candidate):
    """By hand: 5 cm of other error over 5 to 20°, a thousandth of 8 m, noise and leakage as they stand alone."""
    found = over(sea, look, candidate(8.0))
    errors = found.errors
    full = np.flatnonzero(np.abs(errors.pieces.width - USUAL_WIDTH) < 1e-3)
    assert len(full) > 100
    rest = errors.other2[full] - 25.0 * (USUAL_WIDTH / errors.pieces.width[full])**2 - (100 * AIR_PART * 8.0)**2
    leaked = np.sqrt(rest) / 100.0
    # at 21 oscillations leakage is below a hundredth of the separation
    assert (rest > 0).all() and (leaked < 0.02 * errors.separation_m[full]).all()
    short = np.flatnonzero(errors.counts & (errors.pieces.width < 0.5 * USUAL_WIDTH))
    assert len(short) > 5 and (errors.error[short] > 10.0).all(), "what is not noise grows as the window shrinks"


def test_precision_is_the_error_that_95_percent_of_the_times_keep_to(sea, look, candidate):
    found = over(sea, look, candidate(5.0))
    worth, errors = found.worth(), found.errors
    middle, information = errors.pieces.middle_s[errors.counts], errors.information[errors.counts]
    by_hand = []
    for t in np.arange(0.0, DAY_S, 600.0):
        inside = np.abs(middle - t) <= 1.5 * 3600.0
        by_hand.append(1.0 / np.sqrt(information[inside].sum() + 1.0 / 30.0**2))
    by_hand = np.array(by_hand)
    assert np.mean(by_hand <= worth.precision * (1 + 1e-9)) >= 0.95
    assert np.mean(by_hand < worth.precision * (1 - 1e-9)) < 0.95
    np.testing.assert_allclose(errors_by_time(middle, information, 1, 3.0, 30.0), by_hand)
    assert kept_error(np.arange(1.0, 21.0)) == 19.0


def test_no_arc_leaves_what_the_surface_strays():
    """A sine between two levels has a standard deviation of its range over 2√2."""
    phase = np.linspace(0, 2 * np.pi, 10_001)[:-1]
    assert spread_unseen(-2.0, 2.0) == pytest.approx(100.0 * np.std(2.0 * np.sin(phase)), rel=1e-6)
    assert spread_unseen(-0.1, 0.1) == 30.0
    assert errors_by_time(np.zeros(0), np.zeros(0), 2, 3.0, 30.0) == pytest.approx(np.full(288, 30.0))


def test_waves_weaken_and_never_forbid(sea, look_at, candidate):
    calm, rough = (over(sea, look_at(), candidate(8.0, wave_m=w)).worth() for w in (0.0, 1.0))
    slow = over(sea, look_at(interval_s=30.0), candidate(8.0, wave_m=1.0)).worth()
    assert calm.arc_noise < rough.arc_noise < 0.25 * slow.arc_noise
    assert calm.precision < rough.precision < slow.precision and rough.precision < 5.0
    assert coherent_loss_db(wave_rms_m(1.0), 20.0, L1) > 15.0, "a loss that a limit of 10 dB would forbid"


def test_an_interval_takes_the_arcs_it_does_not_resolve_and_no_others(sea, look_at, candidate):
    fast, slow = (over(sea, look_at(interval_s=s), candidate(20.0)) for s in (1.0, 20.0))
    resolved = fast.errors.longest_s >= 20.0
    assert 0 < resolved[fast.errors.counts].sum() < fast.errors.counts.sum()
    assert (slow.errors.counts == (fast.errors.counts & resolved)).all()
    worth = slow.worth()
    assert worth.int_max_s >= 20.0 and worth.unresolved > 0 and worth.precision > fast.worth().precision


def test_the_interval_is_that_of_the_greatest_height(sea, look, candidate):
    near, far = over(sea, look, candidate(5.0)).worth(), over(sea, look, candidate(10.0)).worth()
    assert near.int_max_s == pytest.approx(2 * far.int_max_s, rel=0.05)
    tide = over(sea, look, candidate(5.0, low_m=-1.0, high_m=1.0)).worth()
    assert tide.int_max_s < near.int_max_s and tide.shift_m.rising > 0.1 and near.shift_m == (0.0, 0.0)


def test_the_recommended_interval_keeps_a_margin_and_the_precision(sea, look_at, candidate):
    for height, wave in ((4.0, 0.0), (12.0, 0.0), (8.0, 1.0), (8.0, 1.5)):
        found = over(sea, look_at(), candidate(height, wave_m=wave))
        worth = found.worth()
        assert worth.int_rec_s * 1.5 <= worth.int_max_s
        slower = over(sea, look_at(interval_s=worth.int_rec_s), candidate(height, wave_m=wave)).worth()
        assert slower.precision <= 1.1 * worth.precision * (1 + 1e-6)
    # rough water asks for more samples than the oscillations alone
    assert over(sea, look_at(), candidate(8.0, wave_m=1.5)).worth().int_rec_s < (
        over(sea, look_at(), candidate(8.0)).worth().int_rec_s)


def test_what_is_there_part_of_the_time_takes_arcs_and_no_ground(look, candidate, local_rings):
    """A berth before a quay, 30 % of the time occupied: 30 % of the arcs through it are lost, no direction is."""
    water = local_rings((SEA, [], 0))
    berth = local_rings(([(10, -60), (60, -60), (60, 60), (10, 60)], [], 0))
    ships = SurfaceLayers(water=water, avoid=berth, avoid_names=["berth"], avoid_shares=np.array([0.3]))
    free, busy = (over(layers, look, candidate(6.0)) for layers in (SurfaceLayers(water=water), ships))
    assert (free.assessment.counts == busy.assessment.counts).all()
    assert set(np.unique(busy.assessment.busy)) == {0.0, 0.3}
    crossed = busy.errors.busy > 0
    assert (busy.errors.weight[crossed & busy.errors.counts] == pytest.approx(0.7))
    lost = free.errors.weight.sum() - busy.errors.weight.sum()
    assert lost == pytest.approx(0.3 * (crossed & busy.errors.counts).sum())
    assert free.worth().precision < busy.worth().precision < 1.3 * free.worth().precision
    always = SurfaceLayers(water=water, avoid=berth, avoid_names=["berth"], avoid_shares=np.array([1.0]))
    assert not over(always, look, candidate(6.0)).assessment.counts.all()


def test_the_busier_of_two_areas_counts_where_it_covers_enough(candidate, local_rings, look):
    water = local_rings((SEA, [], 0))
    avoid = local_rings(([(5, -300), (300, -300), (300, 300), (5, 300)], [], 0),
                        ([(15, -30), (45, -30), (45, 30), (15, 30)], [], 1), groups=2)
    layers = SurfaceLayers(water=water, avoid=avoid, avoid_names=["roads", "berth"], avoid_shares=np.array([0.1, 0.6]))
    a = over(layers, look, candidate(5.0)).assessment
    assert set(np.unique(a.busy)) == {0.0, 0.1, 0.6}
    # brute force: which share of the footprint at 10° towards the east lies in the berth
    assert a.busy[10, 18] == 0.6 and a.busy[0, 18] in (0.1, 0.6) and a.busy[5, 0] in (0.0, 0.1)
    assert [name for name, _share in a.partly_names] == ["berth", "roads"]
    assert (a.busy_without(0) <= a.busy).all() and set(np.unique(a.busy_without(0))) == {0.0, 0.1}
    assert set(np.unique(a.busy_without(1))) == {0.0, 0.6}


def test_for_soil_the_phase_is_told(look_at, candidate, local_rings):
    field = SurfaceLayers(water=local_rings((SEA, [], 0)), is_water=False)
    look = look_at(purpose=SOIL_MOISTURE)
    found = over(field, look, candidate(2.5), max_res_m=None)
    worth = found.worth()
    assert look.demand.is_phase and look.demand.unit == "°"
    # 5° of phase an arc, some hundred arcs a day
    assert worth.arc_error == pytest.approx(5.0, rel=0.4) and worth.precision < 1.0 and np.isnan(worth.bend_cm)
    noisier = look_at(purpose=SOIL_MOISTURE, demand=Demand(2.0, 24.0, 10.0, True))
    assert over(field, noisier, candidate(2.5), max_res_m=None).worth().precision > 1.8 * worth.precision


@pytest.mark.parametrize("low, high, percent", [
    (5, 10, 1.40), (5, 15, 0.95), (5, 20, 0.70), (5, 25, 0.55), (10, 25, 0.36)])
def test_bending_makes_heights_too_small(low, high, percent):
    """Bennett's formula for light, worked out apart from this project by least squares; radio bends 16 % more
    (ITU-R P.834 against Bennett at 5°)."""
    found = 100.0 * bending_part(low, high) / refraction.RADIO_OVER_LIGHT
    assert found == pytest.approx(percent, abs=0.06)


def test_each_vertex_stands_for_half_the_way_to_its_neighbours(look, candidate, sea):
    arcs = over(sea, look, candidate(5.0)).arcs
    spacing = spacing_s(arcs)
    for i in range(0, len(arcs.satellite), 50):
        part = slice(arcs.start[i], arcs.start[i + 1])
        assert spacing[part].sum() == pytest.approx(arcs.time_s[part][-1] - arcs.time_s[part][0])
        assert spacing[part][0] == pytest.approx((arcs.time_s[part][1] - arcs.time_s[part][0]) / 2)
