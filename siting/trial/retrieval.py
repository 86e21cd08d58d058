"""The height in a recorded arc: detrending, a periodogram, its peak, and the correction for a moving surface."""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..arrays import Array
from ..precision.periodogram import detrended, peak_of, power
from ..windows import separation_m
from .observation import Series, Tide

LOW_PART, HIGH_PART = 0.4, 1.6
"""Range of heights searched, as parts of the nominal one."""
COARSE, FINE = 0.15, 0.03
"""Steps of the periodogram, over all heights and around the peak, in oscillations over the arc."""
LEAST_SAMPLES = 8


class Retrieved(NamedTuple):
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


def strongest_height(sine: Array, amplitude: Array, nominal_m: float, wavelength_m: float,
                     moved_m: Array | None = None) -> Retrieved:
    """Find the height whose oscillation is the strongest.

    Parameters
    ----------
    sine, amplitude : ndarray, shape (samples,)
        sin e, and the recorded amplitude.
    nominal_m : float
        Height around which is searched, from `LOW_PART` to `HIGH_PART` of it [m].
    wavelength_m : float
    moved_m : ndarray, shape (samples,), optional
        How much higher the antenna stood over the moving surface at each sample than at the moment whose height is
        wanted, as far as it is known [m].

    Returns
    -------
    Retrieved

    Notes
    -----
    The pattern's phase is 4π/λ (h + moved) sin e = 4π/λ · h · sin e (1 + moved/h), so a moving surface is corrected
    by looking for h over the stretched sine; as h is not known before, twice.
    """
    width = float(np.ptp(sine)) if len(sine) else 0.0
    if len(sine) < LEAST_SAMPLES or width <= 0:
        return Retrieved(np.nan, np.nan, np.inf)
    limits = LOW_PART * nominal_m, HIGH_PART * nominal_m
    if moved_m is None:
        return _peak(sine, amplitude, limits, wavelength_m, width)
    near = _peak(sine * (1.0 + moved_m / nominal_m), amplitude, limits, wavelength_m, width)
    return _peak(sine * (1.0 + moved_m / near.height_m), amplitude, limits, wavelength_m, width)


def _peak(sine, amplitude, limits_m, wavelength_m, width):
    rest = detrended(sine, amplitude)
    low, high = (2.0 * limit / wavelength_m for limit in limits_m)
    # frequencies below one oscillation went with the parabola
    low = max(low, 1.0 / width)
    cycles = np.arange(low, max(high, low + 4.0 * COARSE / width), COARSE / width)
    coarse = peak_of(cycles, power(sine, rest, cycles))
    around = np.arange(-COARSE, COARSE + FINE / 2.0, FINE) / width + float(coarse.cycles)
    fine = peak_of(around, power(sine, rest, around))
    return Retrieved(float(fine.cycles) * wavelength_m / 2.0, float(coarse.over_background),
                 float(separation_m(width, wavelength_m)))


def moved_m(series: Series, tide: Tide) -> Array:
    """Return how the height over a tidal surface changes during an arc, at the rate of its middle [m].

    Parameters
    ----------
    series : Series
    tide : Tide
        Only its rate at the arc's middle is used, as neighbouring arcs would give it.

    Returns
    -------
    ndarray, shape (samples,)
        0 at the arc's middle; falls while the water rises.
    """
    middle = (series.time_s[0] + series.time_s[-1]) / 2.0
    return -tide.rate(middle) * (series.time_s - middle)
