"""The height in an arc: detrending, a least-squares periodogram, and its peak.

Lomb, N. R. (1976), Astrophysics and Space Science 39, 447-462, and Scargle, J. D.
(1982), The Astrophysical Journal 263, 835-853 (from memory): at each frequency the
power is by how much a sine and a cosine fitted by least squares lower the sum of
squares. The tests hold it to astropy's.
"""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..arrays import Array

DETREND_ORDER = 2
"""Order of the polynomial in sin e that is taken off: the direct signal rises slowly with the elevation angle."""


class Peak(NamedTuple):
    """The greatest power of periodograms; arrays of shape (series,).

    Attributes
    ----------
    cycles : ndarray
        Oscillations per unit of x at the peak, between the frequencies looked at by a parabola.
    power : ndarray
    over_background : ndarray
        Power over the mean power of all frequencies.
    """

    cycles: Array
    power: Array
    over_background: Array


def detrended(x: Array, y: Array, order: int = DETREND_ORDER) -> Array:
    """Take the best polynomial off.

    Parameters
    ----------
    x : ndarray, shape (samples,)
    y : ndarray, shape (..., samples)
    order : int
        Of the polynomial.

    Returns
    -------
    ndarray, shape (..., samples)
    """
    span = np.ptp(x)
    scaled = (x - x.mean()) / (span if span > 0 else 1.0)
    basis, _triangle = np.linalg.qr(np.vander(scaled, order + 1))
    left: Array = y - (y @ basis) @ basis.T
    return left


def power(x: Array, y: Array, cycles: Array) -> Array:
    """Compute the least-squares periodogram.

    Parameters
    ----------
    x : ndarray, shape (samples,)
        Sine of the elevation angle, in any order and spacing.
    y : ndarray, shape (..., samples)
    cycles : ndarray, shape (frequencies,)
        Oscillations per unit of x, > 0: 2 h/λ for a height h.

    Returns
    -------
    ndarray, shape (..., frequencies)
        By how much a sine and a cosine lower the sum of squares.
    """
    angle = 2.0 * np.pi * np.outer(x, cycles)
    cosine, sine = np.cos(angle), np.sin(angle)
    cc, ss, cs = np.sum(cosine**2, axis=0), np.sum(sine**2, axis=0), np.sum(cosine * sine, axis=0)
    with_cosine, with_sine = y @ cosine, y @ sine
    lowered: Array = (with_cosine**2 * ss + with_sine**2 * cc - 2.0 * with_cosine * with_sine * cs) / (cc * ss - cs**2)
    return lowered


def peak_of(cycles: Array, powers: Array) -> Peak:
    """Find the greatest power.

    Parameters
    ----------
    cycles : ndarray, shape (frequencies,)
        Evenly spaced, rising.
    powers : ndarray, shape (..., frequencies)

    Returns
    -------
    Peak
        Of shape (...,).
    """
    index = np.argmax(powers, axis=-1)
    inner = np.clip(index, 1, len(cycles) - 2)
    left, middle, right = (np.take_along_axis(powers, (inner + i)[..., None], -1)[..., 0] for i in (-1, 0, 1))
    bend = left - 2.0 * middle + right
    with np.errstate(divide="ignore", invalid="ignore"):
        offset = np.where(bend < 0, 0.5 * (left - right) / bend, 0.0)
    # at the ends of the range the greatest power is no peak, and stays where it is
    offset = np.where(index == inner, np.clip(offset, -0.5, 0.5), 0.0)
    greatest = np.take_along_axis(powers, index[..., None], -1)[..., 0]
    return Peak(cycles[index] + offset * (cycles[1] - cycles[0]), greatest,
                greatest / np.maximum(powers.mean(axis=-1), 1e-300))


def peak_cycles(x: Array, y: Array, cycles: Array, order: int = DETREND_ORDER) -> Peak:
    """Detrend series and find the peak of each one's periodogram (see `detrended`, `power` and `peak_of`)."""
    return peak_of(cycles, power(x, detrended(x, y, order), cycles))
