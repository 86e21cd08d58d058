"""One arc judged, part by part: made by hand, so that its window, samples, interval and errors can be written down."""
from dataclasses import replace

import numpy as np
import pytest
from stillwater.siting.precision.arcerrors import ArcJudge
from stillwater.siting.precision.demand import Demand, Receiver
from stillwater.siting.precision.leakage import leakage
from stillwater.siting.precision.noise import Pattern, height_noise_m, phase_noise_deg, sums_of
from stillwater.siting.sky.arcs import Arcs
from stillwater.siting.sky.usable import place

L1 = 299_792_458.0 / 1575.42e6
ANGLES = np.arange(5.0, 21.0)
BINS = 12
LOW, HIGH = np.sin(np.radians([5.0, 20.0]))
NUMBER = 61
SINE = np.linspace(LOW, HIGH, NUMBER)
RATE = (HIGH - LOW) / (30.0 * (NUMBER - 1))
HEIGHT_M = 6.0
EVERYWHERE = np.ones((len(ANGLES), BINS), bool)
PATTERN = Pattern(np.full(len(ANGLES), 20.0), np.full(len(ANGLES), 2.0))


def arcs_of(number=1, turn=0.0):
    """Make arcs in a row, evenly rising in sin e, each an hour after the other, towards 45°."""
    start = np.arange(number + 1) * NUMBER
    time = np.concatenate([3600.0 * i + 30.0 * np.arange(NUMBER) for i in range(number)])
    size = number * NUMBER
    return Arcs(np.arange(number), start, time, np.tile(SINE, number).astype(np.float32),
                np.full(size, 45.0 + turn), np.full(size, RATE))


def judge(**changed):
    usual = ArcJudge(Demand(5.0, 3.0), Receiver(interval_s=1.0), L1, HEIGHT_M, HEIGHT_M, 3.0, None, 0.0)
    return replace(usual, **changed)


def judged(good=EVERYWHERE, told=PATTERN, busy=None, arcs=None, **changed):
    arcs = arcs_of() if arcs is None else arcs
    return judge(**changed).judge(arcs, place(arcs, ANGLES, BINS), good, told, busy)


def samples_of(interval_s=1.0):
    """So many samples each vertex stands for: half the way to its neighbours."""
    spacing = np.full(NUMBER, 30.0)
    spacing[[0, -1]] = 15.0
    return spacing / interval_s


def test_noise_is_that_of_all_samples_of_the_arc():
    found = judged()
    told = sums_of(SINE, 20.0, 2.0, samples_of())
    assert found.noise_m == pytest.approx([float(height_noise_m(told, L1))], rel=1e-4)
    assert found.noise == pytest.approx(100.0 * found.noise_m)
    phase = judged(demand=Demand(2.0, 24.0, 5.0, True))
    assert phase.noise == pytest.approx([float(phase_noise_deg(told))], rel=1e-4)


@pytest.mark.parametrize("interval, counted", [(2.0, 2.0), (7.0, 7.0), (40.0, 40.0), (1.0, 1.0), (0.1, 1.0)])
def test_fewer_samples_are_noisier_by_their_root_but_faster_than_a_second_gains_nothing(interval, counted):
    found = judged(receiver=Receiver(interval_s=interval))
    told = sums_of(SINE, 20.0, 2.0, samples_of(counted))
    assert found.noise_m == pytest.approx([float(height_noise_m(told, L1))], rel=1e-4)
    assert judged().noisier(counted).noise_m == pytest.approx(found.noise_m)
    assert judged().noisier(counted).noise == pytest.approx(found.noise)


def test_the_pattern_is_taken_from_the_direction_and_angle_of_each_sample():
    amplitude = np.full((len(ANGLES), BINS), 1e-3)
    amplitude[:, 1] = 30.0 - ANGLES  # 30 to 60°
    told = Pattern(amplitude, np.broadcast_to(ANGLES[:, None] / 10.0, amplitude.shape))
    elevation = np.degrees(np.arcsin(SINE))
    wanted = sums_of(SINE, 30.0 - elevation, elevation / 10.0, samples_of())
    assert judged(told=told).noise_m == pytest.approx([float(height_noise_m(wanted, L1))], rel=3e-3)


def test_what_is_not_noise_is_the_sum_of_squares_of_leakage_air_and_the_rest():
    """The rest is told for 5 to 20° and grows as the window shrinks; the air leaves a thousandth of the height."""
    good = EVERYWHERE.copy()
    good[ANGLES > 12] = False
    for usable, top in ((EVERYWHERE, HIGH), (good, None)):
        found = judged(usable)
        width = float(found.pieces.width[0])
        assert top is None or width == pytest.approx(HIGH - LOW, rel=1e-5)
        cycles, separation = 2.0 * HEIGHT_M * width / L1, L1 / (2.0 * width)
        # an even amplitude has its middle in the middle
        leaked = 100.0 * float(leakage(cycles, 0.5)) * separation
        wanted = leaked**2 + (100.0 * 0.001 * HEIGHT_M)**2 + (5.0 * (HIGH - LOW) / width)**2
        assert found.other2 == pytest.approx([wanted], rel=0.01)
        assert found.separation_m == pytest.approx([separation])
    assert width == pytest.approx(np.sin(np.radians(12.0)) - LOW, abs=0.003)


def test_of_a_phase_the_rest_is_in_degrees():
    found = judged(demand=Demand(2.0, 24.0, 4.0, True))
    cycles = 2.0 * HEIGHT_M * (HIGH - LOW) / L1
    wanted = np.degrees(float(leakage(cycles, 0.5, "phase_rad")))**2 + 4.0**2
    assert found.other2 == pytest.approx([wanted], rel=0.01)


def test_where_the_amplitude_falls_its_middle_lies_low_and_more_leaks():
    """By hand: of an amplitude that falls linearly to nothing the middle lies at a third of the window."""
    amplitude = 20.0 * (HIGH - np.sin(np.radians(ANGLES))) / (HIGH - LOW)
    found = judged(told=Pattern(amplitude, PATTERN.variance))
    cycles, separation = 2.0 * HEIGHT_M * (HIGH - LOW) / L1, L1 / (2.0 * (HIGH - LOW))
    wanted = (100.0 * float(leakage(cycles, 1.0 / 3.0)) * separation)**2 + 0.6**2 + 25.0
    assert found.other2 == pytest.approx([wanted], rel=0.01) and found.other2[0] > judged().other2[0]


def test_the_longest_interval_is_that_of_the_greatest_height_and_the_fastest_level():
    for changed, fastest in (({}, HEIGHT_M * RATE), ({"greatest_height_m": 9.0}, 9.0 * RATE),
                             ({"level_rate": 1e-4}, HEIGHT_M * RATE + 1e-4 * HIGH)):
        assert judged(**changed).longest_s == pytest.approx([L1 / (4.0 * fastest)], rel=1e-5)


def test_an_interval_just_long_enough_resolves():
    longest = float(judged().longest_s[0])
    for part, is_resolved in ((0.999, True), (1.0, True), (1.001, False)):
        found = judged(receiver=Receiver(interval_s=part * longest))
        assert found.is_resolved.tolist() == [is_resolved] and found.counts.tolist() == [is_resolved]
        assert bool(found.weight[0] > 0) is bool(found.information[0] > 0) is is_resolved


def test_a_satellite_that_stands_still_allows_any_interval():
    arcs = arcs_of()._replace(rate=np.zeros(NUMBER))
    assert judged(arcs=arcs).longest_s[0] > 1e9


def test_oscillations_and_separation_are_asked_for():
    cycles = 2.0 * HEIGHT_M * float(judged().pieces.width[0]) / L1
    separation = float(judged().separation_m[0])
    for changed, is_long in (({"min_cycles": cycles}, True), ({"min_cycles": cycles + 0.001}, False),
                             ({"max_res_m": separation}, True), ({"max_res_m": separation - 1e-4}, False),
                             ({"max_res_m": 9.0, "min_cycles": cycles + 1}, False)):
        found = judged(**changed)
        assert found.is_long.tolist() == [is_long] and found.counts.tolist() == [is_long]
    # the lowest surface has the most oscillations, the highest is asked
    assert not judged(least_height_m=0.5, greatest_height_m=50.0).is_long[0]


def test_a_peak_is_clear_up_to_an_eighth_of_the_separation():
    separation = float(judged().separation_m[0])
    for part, has_peak in ((0.124, True), (0.126, False)):
        scale = part * separation / float(judged().noise_m[0])
        found = judged(told=Pattern(PATTERN.amplitude / scale, PATTERN.variance))
        assert found.noise_m == pytest.approx([part * separation], rel=1e-4)
        assert found.has_peak.tolist() == [has_peak] and found.counts.tolist() == [has_peak]
        assert judged().noisier(scale**2).has_peak.tolist() == [has_peak]


def test_an_arcs_weight_is_the_time_it_is_free_where_it_is_busiest():
    busy = np.zeros((len(ANGLES), BINS))
    busy[7, 1], busy[3, 1], busy[:, 2] = 0.4, 0.1, 0.9
    found = judged(busy=busy)
    assert found.busy == pytest.approx([0.4]) and found.weight == pytest.approx([0.6])
    assert found.error == pytest.approx(np.sqrt(found.noise**2 + found.other2))
    assert found.information == pytest.approx(0.6 / found.error**2)
    free = judged()
    assert free.busy.tolist() == [0.0] and free.weight.tolist() == [1.0]


def test_where_nothing_is_usable_nothing_is_known_and_nothing_counts():
    good = EVERYWHERE.copy()
    good[:, 1] = False
    for arcs in (arcs_of(), arcs_of(2)):
        found = judged(good, arcs=arcs, busy=np.ones(good.shape))
        for part in (found.noise_m, found.noise, found.other2, found.separation_m):
            assert np.isinf(part).all()
        assert np.isnan(found.longest_s).all() and not found.busy.any()
        for part in (found.is_long, found.is_resolved, found.has_peak, found.counts, found.weight, found.information):
            assert not np.any(part)
        assert not found.within(-1e9, 1e9).any()


def test_arcs_are_judged_each_by_itself_and_told_by_their_middles():
    found = judged(arcs=arcs_of(3))
    assert np.ptp(found.noise_m) == pytest.approx(0.0, abs=1e-9) and len(found.other2) == 3
    assert found.pieces.middle_s == pytest.approx([900.0, 4500.0, 8100.0])
    assert found.within(900.0, 8100.0).tolist() == [True, True, False]
    assert found.within(900.1, 8100.1).tolist() == [False, True, True]
    mixed = arcs_of(3)._replace(azimuth_deg=np.repeat([45.0, 135.0, 45.0], NUMBER))
    good = EVERYWHERE.copy()
    good[:, 4] = False
    assert judged(good, arcs=mixed).counts.tolist() == [True, False, True]
