"""Fresnel's reflection coefficients of a smooth plane, linear and circular."""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..arrays import Array, ArrayLike
from ..errors import InputError


class Coefficients(NamedTuple):
    """Reflected over incident field; each member is a complex array of one common shape."""

    horizontal: Array
    vertical: Array

    @property
    def co_polar(self) -> Array:
        """Circular to the same sense: what an antenna for the direct signal takes; -1 at grazing, 0 overhead."""
        return (self.horizontal + self.vertical) / 2.0

    @property
    def cross_polar(self) -> Array:
        """Circular to the opposite sense, which such an antenna rejects."""
        return (self.vertical - self.horizontal) / 2.0


def fresnel(permittivity: ArrayLike, elevation_deg: ArrayLike) -> Coefficients:
    """Compute the reflection coefficients of a smooth half-space below air.

    Parameters
    ----------
    permittivity : array_like of complex
        Relative permittivity ε' - j ε'' of the ground, ε' >= 1, ε'' >= 0.
    elevation_deg : array_like
        Grazing angle at the surface [°], 0 to 90; broadcasts.

    Returns
    -------
    Coefficients
        Dimensionless, of the broadcast shape; NaN where the angle is outside 0 to 90.

    Raises
    ------
    InputError
        If ε' < 1, or ε'' < 0 (the conjugate convention), or NaN.

    Notes
    -----
    With q = sqrt(ε - cos² e), R_H = (sin e - q)/(sin e + q) and
    R_V = (ε sin e - q)/(ε sin e + q): the signs of ITU-R P.527 and of radio handbooks, both -1 at
    grazing. Circular: R_co = (R_H + R_V)/2, R_cross = (R_V - R_H)/2, as in Goldhirsh & Vogel,
    Handbook of Propagation Effects for Vehicular and Personal Mobile Satellite Systems.

    Examples
    --------
    >>> sea = fresnel(80 - 48j, [1.0, 5.0, 10.0])
    >>> [float(round(v, 2)) for v in decibels(sea.co_polar)]
    [-1.34, -5.39, -8.92]
    """
    eps = np.asarray(permittivity, dtype=complex)
    if not ((eps.real >= 1.0) & (eps.imag <= 0.0)).all():
        raise InputError("A permittivity is written ε' - jε'' here, with ε' at least 1 and ε'' not negative.")
    e = np.asarray(elevation_deg, dtype=float)
    e = np.radians(np.where((e >= 0.0) & (e <= 90.0), e, np.nan))
    sin_e = np.sin(e)
    q = np.sqrt(eps - np.cos(e)**2)
    with np.errstate(invalid="ignore", divide="ignore"):
        horizontal = (sin_e - q) / (sin_e + q)
        vertical = (eps * sin_e - q) / (eps * sin_e + q)
    return Coefficients(horizontal, vertical)


def decibels(ratio: ArrayLike) -> Array:
    """Express a ratio of fields in decibels, 20 log10 |ratio| [dB]; -inf for nothing."""
    with np.errstate(divide="ignore"):
        level: Array = 20.0 * np.log10(np.abs(np.asarray(ratio)))
        return level
