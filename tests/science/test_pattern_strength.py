"""How strong a pattern is and how its samples scatter, term by term, by hand from what decibels and steps are."""
import numpy as np
import pytest
from stillwater.siting.precision.demand import Demand, Receiver, usual_demand
from stillwater.siting.precision.noise import height_noise_m, pattern, phase_noise_deg, sums_of
from stillwater.siting.precision.pattern import AntennaPattern
from stillwater.siting.purposes import SEA_LEVEL, SOIL_MOISTURE

L1 = 299_792_458.0 / 1575.42e6
FLAT = AntennaPattern(
    np.array([-90.0, 0.0, 90.0]), np.array([-20.0, -6.0, 0.0]), np.array([-30.0, -30.0, -10.0]), "made")


def receiver(**given):
    return Receiver(**{"cn0_dbhz": 40.0, "step_db": 0.0, "scatter_db": 0.0, "pattern": FLAT, **given})


def test_gains_are_straight_lines_in_decibels_and_hold_beyond_the_ends():
    assert 20 * np.log10(FLAT.co_polar([-90, -45, 0, 45, 90])) == pytest.approx([-20, -13, -6, -3, 0])
    assert 20 * np.log10(FLAT.cross_polar([-45, 45, 90])) == pytest.approx([-30, -20, -10])
    half = AntennaPattern(np.array([-10.0, 80.0]), np.array([-9.0, 0.0]), np.array([-5.0, -4.0]), "short")
    assert 20 * np.log10(half.co_polar([-90.0, 90.0])) == pytest.approx([-9, 0])


def test_both_polarisations_of_the_reflection_add_by_power():
    """40 dB-Hz is an amplitude of 100; at -45° the gains are -13 and -30 dB."""
    found = pattern(receiver(), [45.0], 0.4, 0.9)
    co, cross = 100 * 10**(-13 / 20) * 0.4, 100 * 10**(-30 / 20) * 0.9
    assert found.amplitude == pytest.approx(np.sqrt(co**2 + cross**2)) and found.variance == pytest.approx(0.5)
    assert pattern(receiver(cn0_dbhz=60.0), [45.0], 0.4, 0.9).amplitude == pytest.approx(10 * found.amplitude)


@pytest.mark.parametrize("step, scatter", [(1.0, 0.0), (0.0, 0.5), (0.3, 0.2)])
def test_step_and_scatter_are_errors_of_the_direct_amplitude(step, scatter):
    """Simulated: levels in decibels scattered, rounded to steps, and turned back into amplitudes."""
    rng = np.random.default_rng(7)
    level = 40.0 - 3.0 + rng.uniform(-2.0, 2.0, 400_000)  # +45°: 3 dB below the zenith
    told = level + scatter * rng.normal(size=level.size)
    told = np.round(told / step) * step if step else told
    relative = 10**((told - level) / 20.0) - 1.0
    found = pattern(receiver(step_db=step, scatter_db=scatter), [45.0], 0.0, 0.0)
    assert found.variance - 0.5 == pytest.approx((100 * 10**(-3 / 20))**2 * np.var(relative), rel=0.03)


def test_what_is_not_coherent_reaches_the_antenna_in_part():
    """A quarter of the lost power, by convention; half of it falls into each of the two phases."""
    smooth = float(pattern(receiver(), [45.0], 0.4, 0.0).amplitude)
    for coherent in (1.0, 0.8, 0.0):
        found = pattern(receiver(), [45.0], 0.4, 0.0, coherent, 0.7)
        assert found.amplitude == pytest.approx(smooth * coherent * 0.7)
        assert found.variance == pytest.approx(0.5 + 0.25 * smooth**2 * (1.0 - coherent**2) / 2.0)
    both = pattern(receiver(), np.array([[30.0], [45.0]]), 0.4, 0.0, np.ones((2, 3)), 0.5)
    assert both.amplitude.shape == both.variance.shape == (2, 3)


def test_the_usual_receiver():
    """A geodetic one: 49 dB-Hz at the zenith, tenths of a decibel, a value each second (from memory)."""
    one = Receiver()
    assert (one.cn0_dbhz, one.step_db, one.interval_s, one.scatter_db) == (49.0, 0.1, 1.0, 0.2)
    assert one.pattern.co_polar(90.0) == 1.0


def test_the_usual_demands_are_those_of_their_purposes():
    sea, soil = usual_demand(SEA_LEVEL), usual_demand(SOIL_MOISTURE)
    assert (sea.precision, sea.cadence_h) == (SEA_LEVEL.precision, SEA_LEVEL.cadence_h) and not sea.is_phase
    assert (soil.precision, soil.cadence_h, soil.is_phase) == (SOIL_MOISTURE.precision, SOIL_MOISTURE.cadence_h, True)
    assert sea.arc_error == soil.arc_error == 5.0 and (sea.unit, soil.unit) == (" cm", "°")
    assert not Demand(5.0, 3.0).is_phase


def test_sums_are_those_of_plain_python():
    rng = np.random.default_rng(3)
    x, a, s = rng.random((3, 20))
    for n in (rng.integers(1, 9, 20), 4.0):
        times = np.broadcast_to(n, 20)
        found = sums_of(x, a, s, n)
        for told, weight, power in zip(found, (a, a, a, s, s, s), (0, 1, 2, 0, 1, 2)):
            assert told == pytest.approx(sum(w * k * v**power for w, k, v in zip(weight, times, x)))
        assert found.middle == pytest.approx(np.average(x, weights=a * times))
    # scalars are those of every sample
    assert sums_of(x, 2.0, 0.5, 3.0).a == pytest.approx(120.0) and sums_of(x, 2.0, 0.5, 3.0).s == pytest.approx(30.0)


def test_noise_is_the_error_carried_through_the_derivative():
    """Σ A (x - x̄)² and √(2 Σ s² (x - x̄)²) written out, with the weighted mean x̄; λ/4π turns slopes into heights."""
    rng = np.random.default_rng(5)
    x, a, s = rng.random((3, 30))
    middle = np.average(x, weights=a)
    told = np.sqrt(2.0 * np.sum(s * (x - middle)**2)) / np.sum(a * (x - middle)**2)
    assert height_noise_m(sums_of(x, a, s, 1.0), L1) == pytest.approx(L1 / (4.0 * np.pi) * told)
    assert phase_noise_deg(sums_of(x, a, s, 1.0)) == pytest.approx(np.degrees(np.sqrt(2.0 * s.sum()) / a.sum()))


def test_many_samples_are_better_by_their_root_and_none_are_worth_nothing():
    x = np.linspace(0.1, 0.3, 50)
    one, nine = sums_of(x, 1.0, 0.5, 1.0), sums_of(x, 1.0, 0.5, 9.0)
    assert height_noise_m(one, L1) == pytest.approx(3.0 * height_noise_m(nine, L1))
    assert phase_noise_deg(one) == pytest.approx(3.0 * phase_noise_deg(nine))
    nothing = sums_of(x, 0.0, 0.5, 1.0)
    assert np.isinf(height_noise_m(nothing, L1)) and np.isinf(phase_noise_deg(nothing)) and nothing.middle == 0.0
    # one single direction has no lever arm
    assert np.isinf(height_noise_m(sums_of(np.full(9, 0.25), 1.0, 0.5, 1.0), L1))
