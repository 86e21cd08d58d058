"""Arcs as they are recorded, and the heights found in them."""

import numpy as np
import pytest
from stillwater.siting.precision.bending import bending_part
from stillwater.siting.precision.demand import Receiver
from stillwater.siting.precision.noise import height_noise_m, pattern, sums_of
from stillwater.siting.reflection.coefficients import fresnel
from stillwater.siting.reflection.roughness import coherent_loss_db
from stillwater.siting.signals import wavelength_m
from stillwater.siting.trial.observation import LAWS, Recorder, Tide, arriving, open_water_arc, record
from stillwater.siting.trial.retrieval import moved_m, strongest_height
from stillwater.siting.trial.shapes import HalfPlane
from stillwater.siting.trial.standing import Body, Material, Standing

L1 = wavelength_m("GPS L1")
SEA = 71.9 - 60.7j
RATE = 1.0e-4
QUIET = Receiver(cn0_dbhz=120.0, step_db=0.0, scatter_db=0.0)


def track(low_deg=5.0, high_deg=20.0, rate=RATE, azimuth_deg=90.0):
    """Give a rising arc with a constant rate of sin e."""
    sines = np.sin(np.radians([low_deg, high_deg]))
    time = np.arange(0.0, np.ptp(sines) / rate, 30.0)
    return time, sines[0] + rate * time, np.full(len(time), azimuth_deg)


def recorder(receiver=QUIET, rms_m=0.0, **options):
    return Recorder(receiver, L1, Material(SEA, rms_m), **options)


def recorded(standing, given, time, sine, azimuth, rng):
    return record(arriving(standing, given, time, sine, azimuth), given.receiver, rng)


def height_in(series, nominal, **options):
    return strongest_height(series.sine, series.amplitude, nominal, L1, **options).height_m


@pytest.mark.parametrize("cross_phase", [0.0, 2.0])
def test_open_water_gives_direct_plus_reflected_field(cross_phase):
    """The sum of two plane waves, with Fresnel's coefficients and the antenna's gains (derived here)."""
    series = recorded(Standing(8.0, ()), recorder(cross_phase_rad=cross_phase), *track(), np.random.default_rng(1))
    elevation = np.degrees(np.arcsin(series.sine))
    sea, gain = fresnel(SEA, elevation), QUIET.pattern
    mirrored = (gain.co_polar(-elevation) * sea.co_polar
                + gain.cross_polar(-elevation) * np.exp(1j * cross_phase) * sea.cross_polar)
    told = np.abs(gain.co_polar(elevation) + mirrored * np.exp(-4j * np.pi / L1 * 8.0 * series.sine))
    np.testing.assert_allclose(series.amplitude / 1e6, told, rtol=0.003)
    assert np.ptp(np.diff(series.time_s)) == 0 and series.time_s[1] - series.time_s[0] == 1.0


def test_samples_scatter_as_predicted():
    """The variance of a sample, with waves so high that nothing coherent is left but noise of all kinds."""
    receiver = Receiver(cn0_dbhz=45.0, step_db=0.5, scatter_db=0.4)
    given = recorder(receiver, rms_m=3.0, law="Ament")
    arc = track(9.5, 10.5, rate=1e-6)
    series = recorded(Standing(8.0, ()), given, *arc, np.random.default_rng(2))
    elevation = np.degrees(np.arcsin(series.sine))
    sea = fresnel(SEA, elevation)
    told = pattern(receiver, elevation, np.abs(sea.co_polar), np.abs(sea.cross_polar), np.zeros(len(elevation)))
    rest = series.amplitude - np.polyval(np.polyfit(series.sine, series.amplitude, 2), series.sine)
    assert len(rest) > 10_000
    assert rest.var() == pytest.approx(told.variance.mean(), rel=0.05)


def test_the_step_and_the_interval_are_the_receivers():
    receiver = Receiver(step_db=0.25, interval_s=15.0)
    series = recorded(Standing(8.0, ()), recorder(receiver), *track(), np.random.default_rng(1))
    np.testing.assert_allclose(series.snr_db / 0.25, np.round(series.snr_db / 0.25))
    assert (np.diff(series.time_s) == 15.0).all()


def test_waves_weaken_the_pattern_by_the_law_that_is_chosen():
    def swing(law, rms_m):
        given = recorder(rms_m=rms_m, law=law)
        # slow, so that the diffuse part averages out
        series = recorded(Standing(8.0, ()), given, *track(11.0, 14.0, rate=2e-6), np.random.default_rng(1))
        rest = series.amplitude - np.polyval(np.polyfit(series.sine, series.amplitude, 2), series.sine)
        wave = np.hanning(len(rest)) * np.exp(4j * np.pi * 8.0 / L1 * series.sine)
        return np.abs(np.sum(wave * rest)), series

    for law in LAWS:
        (smooth, series), (rough, _) = swing(law, 0.0), swing(law, 0.125)
        elevation = np.degrees(np.arcsin(series.sine))
        sea, gain = fresnel(SEA, elevation), QUIET.pattern
        weight = np.hanning(len(elevation)) * (gain.co_polar(-elevation) * sea.co_polar
                                               + gain.cross_polar(-elevation) * sea.cross_polar)
        told = np.abs(np.sum(weight * LAWS[law](0.125, elevation, L1))) / np.abs(weight.sum())
        assert rough / smooth == pytest.approx(told, rel=0.05)
    # 6.77 dB at 10° for Hs = 0.5 m; Ament 8.92 dB (derived, science.md section 4)
    assert -20 * np.log10(LAWS["waves"](0.125, 10.0, L1)) == pytest.approx(6.77, abs=0.01)
    assert -20 * np.log10(LAWS["waves"](0.125, 10.0, L1)) == pytest.approx(
        float(coherent_loss_db(0.125, 10.0, L1)), abs=1e-4)
    assert -20 * np.log10(LAWS["Ament"](0.125, 10.0, L1)) == pytest.approx(8.92, abs=0.01)


def test_behind_a_wall_nothing_is_recorded():
    wall = Body("wall", HalfPlane(90.0, 50.0), 8.0 + 50.0 * np.tan(np.radians(10.0)))
    series = recorded(Standing(8.0, (wall,)), recorder(), *track(), np.random.default_rng(1))
    assert np.degrees(np.arcsin(series.sine.min())) == pytest.approx(10.0, abs=0.02)
    assert len(recorded(Standing(8.0, (wall,)), recorder(), *track(5.0, 9.0), np.random.default_rng(1)).time_s) == 0


@pytest.mark.parametrize("height", [2.5, 8.0, 17.0])
def test_the_peak_is_that_of_astropys_periodogram(height):
    timeseries = pytest.importorskip("astropy.timeseries")
    series = recorded(Standing(height, ()), recorder(Receiver(interval_s=5.0)), *track(), np.random.default_rng(3))
    found = height_in(series, height)
    rest = series.amplitude - np.polyval(np.polyfit(series.sine, series.amplitude, 2), series.sine)
    grid = found + np.linspace(-0.02, 0.02, 4001)
    power = timeseries.LombScargle(series.sine, rest, fit_mean=False, center_data=False).power(
        2 * grid / L1, method="slow", normalization="psd")
    # and nothing in the whole range is stronger
    wide = np.linspace(0.4 * height, 1.6 * height, 3000)
    other = timeseries.LombScargle(series.sine, rest, fit_mean=False, center_data=False).power(
        2 * wide / L1, method="slow", normalization="psd")
    assert grid[np.argmax(power)] == pytest.approx(found, abs=1e-3)
    assert other.max() <= power.max() * (1 + 1e-9)


def test_too_few_samples_have_no_height():
    found = strongest_height(np.linspace(0.1, 0.2, 5), np.ones(5), 8.0, L1)
    assert np.isnan(found.height_m) and np.isnan(found.over_background)
    assert np.isnan(strongest_height(np.zeros(0), np.zeros(0), 8.0, L1).height_m)


@pytest.mark.parametrize("rising", [1.0, -1.0])
def test_a_tide_shifts_the_height_as_the_trade_says_and_is_corrected(rising):
    """h + ḣ tan e/ė, ḣ being the rate of the height over the surface: to opposite sides on rising and setting arcs."""
    tide = Tide(-1.0, 1.0, begins_s=1000.0)
    time, sine, azimuth = track()
    sine = sine if rising > 0 else sine[::-1]
    # the same antenna over still water tells what its own phase does
    bias = height_in(recorded(Standing(7.0, ()), recorder(), time, sine, azimuth, np.random.default_rng(1)), 7.0) - 7.0
    series = recorded(Standing(7.0, ()), recorder(tide=tide), time, sine, azimuth, np.random.default_rng(1))
    middle = (series.time_s[0] + series.time_s[-1]) / 2.0
    true = 7.0 - float(tide.level_m(middle))
    # the amplitude falls with the angle, so the shift is that of some angle of the lower half
    shift = height_in(series, 7.0) - true - bias
    low, high = (-tide.rate(middle) * np.sin(np.radians(e)) / (rising * RATE) for e in (8.0, 14.0))
    assert min(low, high) < shift < max(low, high)
    corrected = height_in(series, 7.0, moved_m=moved_m(series, tide))
    assert corrected - bias == pytest.approx(true, abs=0.015)
    assert abs(shift) > 0.1


def test_bending_in_the_air_makes_the_height_too_small_as_predicted():
    given = recorder(bends=True)
    straight = height_in(recorded(Standing(8.0, ()), recorder(), *track(), np.random.default_rng(1)), 8.0)
    bent = height_in(recorded(Standing(8.0, ()), given, *track(), np.random.default_rng(1)), 8.0)
    # the even mean over the arc against one that the amplitude weighs, hence the tolerance
    assert straight - bent == pytest.approx(8.0 * bending_part(5.0, 20.0), rel=0.4)
    assert straight - bent > 0.04


def test_drawn_arcs_scatter_as_predicted():
    rng = np.random.default_rng(5)
    x = np.arange(0.0872, 0.342, RATE * 5.0)
    amplitude, scatter = 20.0 * np.exp(-5.0 * (x - x[0])), np.full(len(x), 12.0)
    series = open_water_arc(x, 9.0, amplitude, scatter, L1, 200, rng)
    found = np.array([strongest_height(x, one, 9.0, L1).height_m for one in series])
    told = float(height_noise_m(sums_of(x, amplitude, scatter**2, np.ones(len(x))), L1))
    assert np.std(found) == pytest.approx(told, rel=0.25)
    quiet = open_water_arc(x, 9.0, amplitude, 0.0 * scatter, L1, 3, rng)
    assert np.ptp(quiet.max(axis=1)) < 0.05 * amplitude.max()
