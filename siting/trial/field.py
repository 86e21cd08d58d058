"""The field that a horizontal surface reflects to the antenna, by physical optics.

The Kirchhoff integral over the surface is taken along curves of equal excess path δ
over the specular reflection. For a horizontal surface at depth H below the antenna
they are ellipses, exactly, those of `siting.fresnel` with λ/2 replaced by δ::

    b = sqrt(2 δ H/sin e + (δ/sin e)²)     a = b/sin e
    centre: H/tan e + δ/(sin e tan e) towards the satellite

The phase on each is exp(-2πi δ/λ), so in units of the incident field

    E = i (2π/λ) ∫ g(δ) T(δ) exp(-2πi δ/λ) dδ

where g is the mean, over the ellipse, of what the surface is worth there (1 where it
reflects, is seen and lit, 0 elsewhere), and T = cos²(πδ/2L) a taper that ends the
integral smoothly after L = 6 wavelengths. A full plane gives 1/(1 - 1/(2·6)²) = 1.007.
Nothing oscillates but exp(-2πi δ/λ), which is integrated in closed form, so a few
thousand points serve where metres on the ground would need millions.

Derived here after Born & Wolf, Principles of Optics, section 8.3 (Kirchhoff's integral,
from memory); the tests hold it to closed forms and to a plain sum over the ground.
"""
from __future__ import annotations

from functools import lru_cache
from typing import Callable

import numpy as np

WAVES = 6.0
"""Excess path at which the integral ends [wavelengths], a whole number: then the taper leaves no phase."""
CURVES, POINTS = 96, 72
"""Curves of equal excess path, and points on each."""
AT_ONCE = 14_000
"""Points handled together, so that numpy takes and gives back memory without asking the system."""
GOLDEN = (np.sqrt(5.0) - 1.0) / 2.0

Worth = Callable[[np.ndarray, np.ndarray, np.ndarray, np.ndarray], np.ndarray]
"""Tells what a surface is worth, 0 to 1, at points east and north [m], for satellites at azimuths [°] with tangents of
the elevation angle; the last two broadcast against the first two."""


@lru_cache(maxsize=16)
def _curves(waves: float, curves: int) -> tuple[np.ndarray, np.ndarray]:
    """Return the excess paths of the curves [wavelengths], and how much each adds to the field.

    Their steps grow with the distance: δ = L (j/n)², because the ellipses grow with √δ. The weights are the exact
    integrals of i 2π T exp(-2πi δ) over each step, in wavelengths.
    """
    edge = waves * (np.arange(curves + 1) / curves)**2
    middle = waves * ((np.arange(curves) + 0.5) / curves)**2
    turn = np.pi / waves
    whole = 0.0
    for part, rate in ((0.5, 0.0), (0.25, turn), (0.25, -turn)):
        wave = 1j * (rate - 2.0 * np.pi)
        whole = whole + part * np.exp(wave * edge) / wave
    return middle, 2j * np.pi * np.diff(whole)


def reflected(depth_m, elevation_deg, azimuth_deg, wavelength_m: float, worth: Worth, waves: float = WAVES,
              curves: int = CURVES, points: int = POINTS) -> np.ndarray:
    """Compute the field that comes from a horizontal surface, in units of the field of a whole mirror.

    Parameters
    ----------
    depth_m : array_like, shape (n,)
        Depth of the surface below the antenna, > 0 [m].
    elevation_deg, azimuth_deg : array_like, shape (n,)
        Directions to the satellite, 0 < e < 90 [°].
    wavelength_m : float
    worth : callable
        See `Worth`.
    waves : float
        Excess path looked at [wavelengths], a whole number.
    curves, points : int
        Density of the sum.

    Returns
    -------
    ndarray of complex, shape (n,)
        Relative to the specular reflection: 1 for a whole plane, ½ where an edge passes through the specular point,
        0 where nothing reflects. Multiply by the reflection coefficient and by exp(-2πi · 2 H sin e/λ) for the phase
        against the direct signal.
    """
    depth, elevation, azimuth = np.broadcast_arrays(
        *(np.atleast_1d(np.asarray(value, float)) for value in (depth_m, elevation_deg, azimuth_deg)))
    at_once = max(1, AT_ONCE // (curves * points))
    found = [_some(*(value[first:first + at_once] for value in (depth, elevation, azimuth)), wavelength_m, worth,
                   waves, curves, points) for first in range(0, len(depth), at_once)]
    return np.concatenate(found) if found else np.zeros(0, complex)


def _some(depth, elevation, azimuth, wavelength, worth, waves, curves, points):
    """Sum up some directions; arrays of shape (directions, curves, points) inside."""
    number, weight = _curves(waves, curves)
    excess = (number * wavelength)[:, None]
    # the points are turned from curve to curve, so that an edge never falls between the same two everywhere
    angle = 2.0 * np.pi * (np.arange(points) + (np.arange(curves) * GOLDEN % 1.0)[:, None]) / points
    cosine, sine = np.cos(angle), np.sin(angle)
    depth, azimuth = depth[:, None, None], azimuth[:, None, None]
    e = np.radians(elevation)[:, None, None]
    sin_e, cos_e = np.sin(e), np.cos(e)
    minor = np.sqrt(2.0 * excess * depth / sin_e + (excess / sin_e)**2)
    minor_grows = (depth / sin_e + excess / sin_e**2) / minor
    along = depth * cos_e / sin_e + excess * cos_e / sin_e**2 + minor / sin_e * cosine
    across = minor * sine
    # how the area grows with δ: the Jacobian of (along, across) against (δ, angle)
    area = np.abs((cos_e / sin_e**2 + minor_grows / sin_e * cosine) * minor * cosine
                  + minor / sin_e * minor_grows * sine**2)
    distance = excess + along * cos_e + depth * sin_e
    share = area * (sin_e + depth / distance) / distance
    sin_a, cos_a = np.sin(np.radians(azimuth)), np.cos(np.radians(azimuth))
    value = worth(along * sin_a + across * cos_a, along * cos_a - across * sin_a, azimuth, sin_e / cos_e)
    mean = np.sum(share * value, axis=-1) / np.sum(share, axis=-1)
    return mean @ weight
