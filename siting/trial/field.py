"""The field that a horizontal surface reflects to the antenna, by physical optics.

The Kirchhoff integral over the surface is taken along curves of equal excess path δ
over the specular reflection. For a horizontal surface at depth H below the antenna
they are ellipses, exactly, those of `siting.geometry.fresnel` with λ/2 replaced by δ::

    b = sqrt(2 δ H/sin e + (δ/sin e)²)     a = b/sin e
    centre: H/tan e + δ/(sin e tan e) towards the satellite

The phase on each is exp(-2πi δ/λ), so in units of the incident field

    E = i (2π/λ) ∫ g(δ) T(δ) exp(-2πi δ/λ) dδ

where g is the mean, over the ellipse, of what the surface is worth there (1 where it
reflects, is seen and lit, 0 elsewhere), and T a taper that ends the integral smoothly:
1 over the first two wavelengths of excess path, then falling as cos² to 0 at six. It
would raise a full plane by 1.6 %, which is divided out.
Nothing oscillates but exp(-2πi δ/λ), which is integrated in closed form, so a few
thousand points serve where metres on the ground would need millions.

Derived here after Born & Wolf, Principles of Optics, section 8.3 (Kirchhoff's integral,
from memory); the tests hold it to closed forms and to a plain sum over the ground.
"""
from __future__ import annotations

from functools import lru_cache
from typing import Callable, NamedTuple

import numpy as np

WAVES = 6.0
"""Excess path at which the integral ends [wavelengths], a whole number: then the taper leaves no phase."""
FLAT_PART = 1.0 / 3.0
"""Part of it before the taper begins to fall; an edge there diffracts undiminished."""
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
    integrals of i 2π T exp(-2πi δ) over each step, in wavelengths; their sum is 1.
    """
    edge = waves * (np.arange(curves + 1) / curves)**2
    middle = waves * ((np.arange(curves) + 0.5) / curves)**2
    whole = edge - FLAT_PART * waves
    turn = np.pi / (waves - FLAT_PART * waves)
    before = np.exp(-2j * np.pi * np.minimum(whole, 0.0)) / (-2j * np.pi)
    after = sum(part * (np.exp(1j * (rate - 2.0 * np.pi) * np.maximum(whole, 0.0)) - 1.0) / (1j * (rate - 2.0 * np.pi))
                for part, rate in ((0.5, 0.0), (0.25, turn), (0.25, -turn)))
    weight = np.diff(before + after) * np.exp(-2j * np.pi * FLAT_PART * waves)
    return middle, weight / weight.sum()


class Density(NamedTuple):
    """How densely the field is summed up.

    Attributes
    ----------
    waves : float
        Excess path looked at [wavelengths], a whole number.
    curves, points : int
        Ellipses, and points on each.
    """

    waves: float = WAVES
    curves: int = CURVES
    points: int = POINTS


def reflected(depth_m, elevation_deg, azimuth_deg, wavelength_m: float, worth: Worth,
              density: Density = Density()) -> np.ndarray:
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
    density : Density

    Returns
    -------
    ndarray of complex, shape (n,)
        Relative to the specular reflection: 1 for a whole plane, ½ where an edge passes through the specular point,
        0 where nothing reflects. Multiply by the reflection coefficient and by exp(-2πi · 2 H sin e/λ) for the phase
        against the direct signal.
    """
    depth, elevation, azimuth = np.broadcast_arrays(
        *(np.atleast_1d(np.asarray(value, float)) for value in (depth_m, elevation_deg, azimuth_deg)))
    at_once = max(1, AT_ONCE // (density.curves * density.points))
    found = [_some(*(value[first:first + at_once] for value in (depth, elevation, azimuth)), wavelength_m, worth,
                   density) for first in range(0, len(depth), at_once)]
    return np.concatenate(found) if found else np.zeros(0, complex)


@lru_cache(maxsize=16)
def _angles(curves: int, points: int) -> tuple[np.ndarray, np.ndarray]:
    """Return cosine and sine of the points' places on their ellipses, shape (curves, points)."""
    # turned from curve to curve, so that an edge never falls between the same two points everywhere
    angle = 2.0 * np.pi * (np.arange(points) + (np.arange(curves) * GOLDEN % 1.0)[:, None]) / points
    return np.cos(angle), np.sin(angle)


def _some(depth, elevation, azimuth, wavelength, worth, density):
    """Sum up some directions; arrays of shape (directions, curves, points) inside."""
    number, weight = _curves(density.waves, density.curves)
    cosine, sine = _angles(density.curves, density.points)
    excess = (number * wavelength)[:, None]
    depth, azimuth, e = depth[:, None, None], azimuth[:, None, None], np.radians(elevation)[:, None, None]
    sin_e, cos_e = np.sin(e), np.cos(e)
    sin_a, cos_a = np.sin(np.radians(azimuth)), np.cos(np.radians(azimuth))
    grows = depth / sin_e + excess / sin_e**2
    minor = np.sqrt(2.0 * excess * depth / sin_e + (excess / sin_e)**2)
    major, centre = minor / sin_e, grows * cos_e
    # minor · (d centre/dδ · cos + d major/dδ): the Jacobian of the ground against δ and the place on the ellipse
    area = minor * cos_e / sin_e**2 * cosine + grows / sin_e
    # δ = distance - along · cos e - depth · sin e, along being centre + major · cos
    distance = (excess + centre * cos_e + depth * sin_e) + major * cos_e * cosine
    share = area * (sin_e + depth / distance) / distance
    value = worth(centre * sin_a + major * sin_a * cosine + minor * cos_a * sine,
                  centre * cos_a + major * cos_a * cosine - minor * sin_a * sine, azimuth, sin_e / cos_e)
    return np.einsum("dcp,dcp->dc", share, value) / share.sum(axis=-1) @ weight
