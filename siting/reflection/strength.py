"""How strong the interference of direct and reflected signal is, by elevation angle.

The antenna takes right-hand circular polarisation and is taken as isotropic: a real one, pointed up,
gains less near the horizon and below it, and takes a part of the cross-polar field too. So the
figures tell surfaces and angles apart; they do not predict a receiver's signal-to-noise ratio.
"""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..arrays import Array, ArrayLike
from ..errors import InputError
from .coefficients import decibels, fresnel

BISECTIONS = 50


class Interference(NamedTuple):
    """Strength of an interference pattern; each member is an array of one common shape."""

    ratio: Array
    """Reflected over direct amplitude, 0 to 1."""

    @property
    def ratio_db(self) -> Array:
        """Reflected over direct amplitude [dB], <= 0; -inf where nothing returns."""
        return decibels(self.ratio)

    @property
    def swing_db(self) -> Array:
        """Received power at a maximum over that at a minimum [dB], 20 log10((1+a)/(1-a)); inf for a = 1."""
        with np.errstate(divide="ignore"):
            return 20.0 * np.log10((1.0 + self.ratio) / (1.0 - self.ratio))


def interference(permittivity: ArrayLike, elevation_deg: ArrayLike, loss_db: ArrayLike = 0.0) -> Interference:
    """Compute the strength of the interference above a surface.

    Parameters
    ----------
    permittivity : array_like of complex
        Relative permittivity ε' - j ε'' of the surface.
    elevation_deg : array_like
        Elevation angle [°], 0 to 90.
    loss_db : array_like
        Coherent loss by roughness [dB], >= 0, as `roughness.coherent_loss_db` gives it; all broadcast.

    Returns
    -------
    Interference
        The direct amplitude being 1, a = |R_co| · 10^(-loss/20).

    Raises
    ------
    InputError
        If the loss is negative or the permittivity impossible.
    """
    loss = np.asarray(loss_db, dtype=float)
    if (loss < 0).any():
        raise InputError(f"A loss cannot be negative, but is {loss[loss < 0].flat[0]:g} dB.")
    returned = np.abs(fresnel(permittivity, elevation_deg).co_polar) * 10.0 ** (-loss / 20.0)
    return Interference(np.minimum(returned, 1.0))


def window_by_return(permittivity: ArrayLike, floor_db: ArrayLike) -> Array:
    """Find the greatest elevation angle at which the co-polar return stays above a floor.

    Parameters
    ----------
    permittivity : array_like of complex
        Relative permittivity ε' - j ε'' of the surface.
    floor_db : array_like
        Least |R_co| [dB], <= 0; broadcasts.

    Returns
    -------
    ndarray
        Angle [°], 0 to 90: the return falls steadily from 0 dB at grazing to nothing overhead. 0 where
        the surface returns nothing at all (ε = 1).

    Raises
    ------
    InputError
        If the floor is above 0 dB or NaN, or the permittivity impossible.

    Examples
    --------
    >>> round(float(window_by_return(80 - 48j, -10.09)), 1)
    12.0
    """
    floor = np.asarray(floor_db, dtype=float)
    if not (floor <= 0).all():
        raise InputError(f"The least return must be 0 dB or less, but is {floor[~(floor <= 0)].flat[0]:g} dB.")
    eps, floor = np.broadcast_arrays(np.asarray(permittivity, dtype=complex), floor)
    low, high = np.zeros(floor.shape), np.full(floor.shape, 90.0)
    for _ in range(BISECTIONS):
        middle = (low + high) / 2.0
        above = decibels(fresnel(eps, middle).co_polar) >= floor
        low, high = np.where(above, middle, low), np.where(above, high, middle)
    return low
