"""The predicted error of an arc against simulated arcs, retrieved by astropy's Lomb-Scargle.

Nothing here is shared with the prediction but the physics that both take from the same
sources (gains, reflection, roughness): 60 random set-ups over open water, 200 draws each.
"""

import numpy as np
import pytest
from stillwater.siting.precision.arcerrors import CLEAR_PEAK
from stillwater.siting.precision.demand import Receiver
from stillwater.siting.precision.leakage import leakage
from stillwater.siting.precision.noise import height_noise_m, pattern, sums_of
from stillwater.siting.reflection.coefficients import fresnel
from stillwater.siting.reflection.roughness import coherent_loss_db, wave_rms_m
from stillwater.siting.signals import wavelength_m

astropy_timeseries = pytest.importorskip("astropy.timeseries")
L1 = wavelength_m("GPS L1")
SET_UPS, DRAWS = 60, 200
NEAR, ASKED = 0.30, 0.85
RATE = 1.0e-4
"""d(sin e)/dt of a usual arc [1/s]."""


def set_up(rng):
    """Draw height [m], significant wave height [m], interval [s] and window [°]."""
    low = rng.uniform(5.0, 8.0)
    return (rng.uniform(2.0, 25.0), rng.uniform(0.0, 0.5), rng.choice([5.0, 10.0, 15.0, 30.0]),
            low, rng.uniform(max(low + 6.0, 14.0), 25.0))


def told(height, wave, interval, low, high):
    """Return what is predicted [m], and the samples of an arc: sin e, A and s."""
    sines = np.sin(np.radians([low, high]))
    x = np.arange(sines[0], sines[1], RATE * interval)
    elevation = np.degrees(np.arcsin(x))
    water = fresnel(71.9 - 60.7j, elevation)
    coherent = 10.0 ** (-coherent_loss_db(wave_rms_m(wave), elevation, L1) / 20.0)
    signal = pattern(Receiver(interval_s=interval), elevation, np.abs(water.co_polar), np.abs(water.cross_polar),
                     coherent)
    sums = sums_of(x, *signal, np.ones(len(x)))
    width = np.ptp(sines)
    noise = float(height_noise_m(sums, L1))
    turns = leakage(2 * height * width / L1, (float(sums.middle) - sines[0]) / width)
    separation = L1 / (2 * width)
    return noise, float(turns) * separation, separation, x, signal


def simulated(height, x, signal, rng):
    """Return the root mean square error of heights retrieved from simulated arcs [m]."""
    heights = np.arange(0.4 * height, 1.6 * height, 0.12 * L1 / (2 * np.ptp(x)))
    errors = []
    for _ in range(DRAWS):
        true = height + rng.uniform(-0.1, 0.1)
        y = signal.amplitude * np.cos(4 * np.pi * true / L1 * x + rng.uniform(0, 2 * np.pi))
        y = y + np.sqrt(signal.variance) * rng.normal(size=len(x))
        y = y - np.polyval(np.polyfit(x, y, 2), x)
        power = astropy_timeseries.LombScargle(x, y, fit_mean=False, center_data=False).power(
            2 * heights / L1, assume_regular_frequency=True, method="fast")
        k = int(np.clip(np.argmax(power), 1, len(heights) - 2))
        left, middle, right = power[k - 1:k + 2]
        beside = 0.5 * (left - right) / (left - 2 * middle + right)
        errors.append(heights[k] + beside * (heights[1] - heights[0]) - true)
    return np.sqrt(np.mean(np.square(errors)))


def test_noise_and_leakage_agree_with_simulated_arcs():
    rng = np.random.default_rng(20261126)
    ratios, without_leakage = [], []
    while len(ratios) < SET_UPS:
        one = set_up(rng)
        noise, leaked, separation, x, signal = told(*one)
        # arcs that do not count need no error: too few oscillations, not resolved, or no clear peak
        if 2 * one[0] * np.ptp(x) / L1 < 3 or noise > CLEAR_PEAK * separation or L1 / (4 * one[0] * RATE) < one[2]:
            continue
        scatter = simulated(one[0], x, signal, rng)
        ratios.append(np.hypot(noise, leaked) / scatter)
        without_leakage.append(noise / scatter)
    near = np.mean(np.abs(np.log(ratios)) <= np.log(1 + NEAR))
    print(f"within 30 %: {100 * near:.0f} %, median ratio {np.median(ratios):.2f}; without leakage "
          f"{100 * np.mean(np.abs(np.log(without_leakage)) <= np.log(1 + NEAR)):.0f} %")
    assert near >= ASKED
    # and the check can fail: noise alone is too small where oscillations are few
    assert np.mean(np.abs(np.log(without_leakage)) <= np.log(1 + NEAR)) < near
