"""The height in a recorded arc: detrending, a periodogram, its peak, and the correction for a moving surface."""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..precision.periodogram import detrended, peak_of, power
from ..verdict.windows import separation_m
from .observation import Series, Tide

LOW_PART, HIGH_PART = 0.4, 1.6
"""Range of heights searched, as parts of the nominal one."""
COARSE, FINE = 0.15, 0.03
"""Steps of the periodogram, over all heights and around the peak, in oscillations over the arc."""
LEAST_SAMPLES = 8


class Found(NamedTuple):
    """What was found in an arc.

    Attributes
    ----------
    height_m : float
        Height of the strongest peak [m]; NaN where there are too few samples.
    over_background : float
        Its power over the mean of all heights.
    separation_m : float
        λ/2W of the samples [m].
    """

    height_m: float
    over_background: float
    separation_m: float


def strongest_height(sine: np.ndarray, amplitude: np.ndarray, nominal_m: float, wavelength_m: float) -> Found:
    """Find the height whose oscillation is the strongest.

    Parameters
    ----------
    sine, amplitude : ndarray, shape (samples,)
        sin e, and the recorded amplitude.
    nominal_m : float
        Height around which is searched, from `LOW_PART` to `HIGH_PART` of it [m].
    wavelength_m : float

    Returns
    -------
    Found
    """
    width = float(np.ptp(sine)) if len(sine) else 0.0
    if len(sine) < LEAST_SAMPLES or width <= 0:
        return Found(np.nan, np.nan, np.inf)
    rest = detrended(sine, amplitude)
    nominal = 2.0 * nominal_m / wavelength_m
    # frequencies below one oscillation went with the parabola
    low = max(LOW_PART * nominal, 1.0 / width)
    cycles = np.arange(low, max(HIGH_PART * nominal, low + 4.0 * COARSE / width), COARSE / width)
    coarse = peak_of(cycles, power(sine, rest, cycles))
    around = np.arange(-COARSE, COARSE + FINE / 2.0, FINE) / width + float(coarse.cycles)
    fine = peak_of(around, power(sine, rest, around))
    return Found(float(fine.cycles) * wavelength_m / 2.0, float(coarse.over_background),
                 float(separation_m(width, wavelength_m)))


def tide_shift_m(series: Series, tide: Tide, weight: np.ndarray) -> float:
    """Return by how much the moving surface shifts the height, against that of the arc's middle.

    Parameters
    ----------
    series : Series
    tide : Tide
        Only its rate at the arc's middle is used, as neighbouring arcs would give it.
    weight : ndarray, shape (samples,)
        How strong the oscillation is expected to be.

    Returns
    -------
    float
        Slope of ḣ (t - t₀) sin e against sin e, weighted [m], where ḣ is the rate of the height over the surface.
    """
    middle = (series.time_s[0] + series.time_s[-1]) / 2.0
    moved = -tide.rate(middle) * (series.time_s - middle) * series.sine
    lever = series.sine - np.sum(weight * series.sine) / np.sum(weight)
    return float(np.sum(weight * lever * moved) / np.sum(weight * lever**2))
