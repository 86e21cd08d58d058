"""Noise of a height from one arc: how strong the pattern is, how much its samples scatter, and what follows.

All amplitudes are relative to the noise of one second: the direct signal at the
zenith is S0 = 10^(CN0/20). A sample of the amplitude has the variance

    s² = ½ + (S0 G q)² + (S0 G p)²/12 + S0² D/2

with the direct gain G, the receiver's own scatter q, the recorded step p (both as
parts of the amplitude) and the diffuse power D. The pattern's amplitude is
A = S0 · gain below the horizon · reflection · coherent part · usable share.
"""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..arrays import Array, ArrayLike
from .demand import Receiver

PER_DB = np.log(10.0) / 20.0
"""Part of the amplitude that one decibel is, 0.115."""
DIFFUSE_PART = 0.25
"""Part of the power taken from the coherent reflection that still reaches the antenna, diffusely (a convention)."""
SHORTEST_S = 1.0
"""Values logged faster than this [s] are not independent: faster logging gains nothing (a convention)."""
LEAST_AMPLITUDE = 1e-12


class Pattern(NamedTuple):
    """The interference pattern, in units of the noise of one second; arrays of one shape.

    Attributes
    ----------
    amplitude : ndarray
        Amplitude of the oscillation, A.
    variance : ndarray
        Variance of one recorded sample, s².
    """

    amplitude: Array
    variance: Array


def pattern(receiver: Receiver, elevation_deg: ArrayLike, co_polar: ArrayLike, cross_polar: ArrayLike,
            coherent: ArrayLike = 1.0, share: ArrayLike = 1.0) -> Pattern:
    """Compute how strong the pattern is and how its samples scatter.

    Parameters
    ----------
    receiver : Receiver
    elevation_deg : array_like
        Elevation angles [°].
    co_polar, cross_polar : array_like
        Magnitude of the smooth surface's circular reflection coefficients at these angles.
    coherent : array_like
        Part of the field that roughness leaves coherent, 0 to 1.
    share : array_like
        Usable share of the footprint, 0 to 1; all broadcast.

    Returns
    -------
    Pattern
        The two polarisations of the reflection add by power, for their phases in the antenna are not known.
    """
    elevation = np.asarray(elevation_deg, float)
    scale = 10.0 ** (receiver.cn0_dbhz / 20.0)
    direct = scale * receiver.pattern.co_polar(elevation)
    smooth = scale * np.hypot(receiver.pattern.co_polar(-elevation) * co_polar,
                              receiver.pattern.cross_polar(-elevation) * cross_polar)
    coherent = np.asarray(coherent, float)
    recorded = direct**2 * PER_DB**2 * (receiver.scatter_db**2 + receiver.step_db**2 / 12.0)
    diffuse = DIFFUSE_PART * smooth**2 * (1.0 - coherent**2) / 2.0
    amplitude = smooth * coherent * share
    return Pattern(*np.broadcast_arrays(amplitude, 0.5 + recorded + diffuse))


class Sums(NamedTuple):
    """Sums over the samples of each arc; arrays of shape (arcs,).

    Attributes
    ----------
    a, ax, axx : ndarray
        Sums of A, A x and A x², x being sin e.
    s, sx, sxx : ndarray
        Sums of s², s² x and s² x².
    """

    a: Array
    ax: Array
    axx: Array
    s: Array
    sx: Array
    sxx: Array

    @property
    def middle(self) -> Array:
        """Return the amplitude-weighted mean of sin e; where the slope of the phase is seen from."""
        mean: Array = self.ax / np.maximum(self.a, LEAST_AMPLITUDE)
        return mean


def sums_of(sine: ArrayLike, amplitude: ArrayLike, variance: ArrayLike, samples: ArrayLike) -> Sums:
    """Sum up one arc from its samples.

    Parameters
    ----------
    sine, amplitude, variance : array_like, shape (n,)
        sin e, A and s² of each sample.
    samples : array_like
        How many samples each stands for.

    Returns
    -------
    Sums
        Of scalars.
    """
    x, n = np.asarray(sine, float), np.asarray(samples, float)
    a, s = np.asarray(amplitude) * n, np.asarray(variance) * n
    return Sums(*(np.sum(np.broadcast_to(weight * x**power, x.shape)) for weight in (a, s) for power in (0, 1, 2)))


def height_noise_m(sums: Sums, wavelength_m: float) -> Array:
    """Compute the standard error of a height from the peak of a periodogram.

    Parameters
    ----------
    sums : Sums
        Over the recorded samples.
    wavelength_m : float

    Returns
    -------
    ndarray, shape (arcs,)
        λ/(4π) √(2 Σ s² (x - x̄)²) / Σ A (x - x̄)² with the amplitude-weighted mean x̄ [m]; inf without an amplitude.

    Notes
    -----
    The peak is where the derivative of the periodogram vanishes, so errors enter with the lever arm that the
    amplitudes give. For constant A and s it is the Cramér-Rao bound λ/(4πW) √(24/N) s/A (form after Rife & Boorstyn
    1974, from memory).
    """
    middle = sums.middle
    lever = sums.axx - 2.0 * middle * sums.ax + middle**2 * sums.a
    scatter = sums.sxx - 2.0 * middle * sums.sx + middle**2 * sums.s
    with np.errstate(divide="ignore", invalid="ignore"):
        found = wavelength_m / (4.0 * np.pi) * np.sqrt(2.0 * np.maximum(scatter, 0.0)) / lever
    return np.where(lever > LEAST_AMPLITUDE, found, np.inf)


def phase_noise_deg(sums: Sums) -> Array:
    """Compute the standard error of the pattern's phase at a known height [°], shape (arcs,): √(2 Σ s²) / Σ A."""
    with np.errstate(divide="ignore", invalid="ignore"):
        found = np.sqrt(2.0 * sums.s) / sums.a
    return np.where(sums.a > LEAST_AMPLITUDE, np.degrees(found), np.inf)
