"""Elevation angles, windows of good angles, and what a bin is worth."""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from .arrays import Array, ArrayLike, Numbers
from .errors import InputError


def elevation_angles(lowest_deg: float, highest_deg: float, step_deg: float) -> Array:
    """List the elevation angles looked at: from lowest by step, the highest always among them.

    Parameters
    ----------
    lowest_deg, highest_deg, step_deg : float
        MIN_ELEVATION, MAX_ELEVATION, ELEVATION_STEP [°].

    Returns
    -------
    ndarray
        Rising [°].

    Raises
    ------
    InputError
        If the limits or the step make no range, or would make over 2000 angles.

    Examples
    --------
    >>> elevation_angles(5, 8, 2)
    array([5., 7., 8.])
    """
    values = (lowest_deg, highest_deg, step_deg)
    if not np.all(np.isfinite(values)):
        raise InputError("MIN_ELEVATION, MAX_ELEVATION and ELEVATION_STEP must be numbers.")
    if step_deg <= 0:
        raise InputError(f"ELEVATION_STEP is {step_deg:g}; it must be greater than 0°.")
    if lowest_deg <= 0:
        raise InputError(
            f"MIN_ELEVATION is {lowest_deg:g}°; it must be above 0°, where a reflection ends at the horizon.")
    if highest_deg > 90:
        raise InputError(f"MAX_ELEVATION is {highest_deg:g}°; it must be at most 90°.")
    if lowest_deg >= highest_deg:
        raise InputError(
            f"MIN_ELEVATION ({lowest_deg:g}°) must be less than MAX_ELEVATION ({highest_deg:g}°).")
    if (highest_deg - lowest_deg) / step_deg > 2000:
        raise InputError(f"ELEVATION_STEP {step_deg:g}° makes over 2000 angles. Choose a greater step.")
    number = int(np.floor((highest_deg - lowest_deg) / step_deg + 1e-9))
    angles = lowest_deg + step_deg * np.arange(number + 1)
    if highest_deg - angles[-1] > 1e-6 * step_deg:
        return np.append(angles, highest_deg)
    angles[-1] = highest_deg
    return angles


def bin_count(step_deg: float) -> int:
    """Return the number of azimuth bins of a width.

    Raises
    ------
    InputError
        If 360 is not a multiple of the width, or it is not from 0.1 to 180°.
    """
    if not np.isfinite(step_deg) or not 0.1 <= step_deg <= 180:
        raise InputError(f"AZIMUTH_STEP is {step_deg:g}°; it must be from 0.1 to 180°.")
    count = int(round(360.0 / step_deg))
    if abs(count * step_deg - 360.0) > 1e-6:
        raise InputError(f"AZIMUTH_STEP is {step_deg:g}°; 360 must be a multiple of it (5, 10, 15 …).")
    return count


class Windows(NamedTuple):
    """The window of each bin; arrays of shape (bins,).

    Attributes
    ----------
    first, last : ndarray of int
        Indices of the window's lowest and highest angle; -1 where there is none.
    width : ndarray
        sin el_to - sin el_from.
    share : ndarray
        Mean usable share over the window, weighted by Δ sin e; 0 where there is none.
    quality : ndarray
        `width` as a part of the whole range looked at, times `share`.
    """

    first: Array
    last: Array
    width: Array
    share: Array
    quality: Array


def longest_windows(share: Array, good: Array, elevation_deg: Array) -> Windows:
    """Find the longest run of good angles of each bin, measured in sin e.

    Parameters
    ----------
    share : ndarray, shape (angles, bins)
        Usable share at the worst level.
    good : ndarray of bool, shape (angles, bins)
        Which angles are good.
    elevation_deg : ndarray, shape (angles,)
        Rising [°].

    Returns
    -------
    Windows
        On a tie the lower run; a single angle is no run.
    """
    sine = np.sin(np.radians(elevation_deg))
    angles, bins = share.shape
    index = np.arange(angles)[:, None]
    # where the run that holds an angle began: just above the last bad one
    last_bad = np.maximum.accumulate(np.where(good, -1, index), axis=0)
    begin = np.where(good, last_bad + 1, 0)
    length = np.where(good, sine[:, None] - sine[begin], 0.0)
    # a hair of tolerance: equal runs must tie whatever the rounding
    best = length.max(axis=0) - 1e-12
    last = np.argmax(length >= best, axis=0)
    columns = np.arange(bins)
    width = length[last, columns]
    found = width > 0
    first = np.where(found, begin[last, columns], -1)
    last = np.where(found, last, -1)

    trapezoid = (share[1:] + share[:-1]) / 2.0 * np.diff(sine)[:, None]
    running = np.concatenate([np.zeros((1, bins)), np.cumsum(trapezoid, axis=0)])
    total = running[last, columns] - running[first, columns]
    with np.errstate(invalid="ignore", divide="ignore"):
        mean = np.where(found, total / width, 0.0)
    quality = np.where(found, width / (sine[-1] - sine[0]) * mean, 0.0)
    return Windows(first, last, width, mean, quality)


def oscillations(height_m: ArrayLike, width: Numbers, wavelength_m: float) -> Array:
    """Count the oscillations of the interference pattern over a window: N = 2hW/λ."""
    return 2.0 * np.asarray(height_m) * width / wavelength_m


def separation_m(width: ArrayLike, wavelength_m: Numbers) -> Array:
    """Return the least difference in height that a window tells apart: λ/(2W) [m]; inf for W = 0."""
    with np.errstate(divide="ignore"):
        return wavelength_m / (2.0 * np.asarray(width, dtype=float))


def height_for(cycles: float, width: float, wavelength_m: float) -> float:
    """Return the least height at which a window has so many oscillations [m]; inf for W = 0."""
    return float(cycles * separation_m(width, wavelength_m))
