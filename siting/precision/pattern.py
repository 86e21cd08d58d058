"""Antenna gain by elevation angle, for both circular polarisations."""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..arrays import Array, ArrayLike


@dataclass(frozen=True, eq=False)
class AntennaPattern:
    """Gain of an antenna that points up, relative to its co-polar gain at the zenith.

    Attributes
    ----------
    elevation_deg : ndarray, shape (n,)
        Rising, within -90 to 90 [°].
    co_db : ndarray, shape (n,)
        Gain for the polarisation of the direct signal (right-hand circular) [dB].
    cross_db : ndarray, shape (n,)
        Gain for the opposite sense (left-hand circular) [dB].
    name : str
        What it is called in logs and outputs.
    """

    elevation_deg: Array
    co_db: Array
    cross_db: Array
    name: str

    def co_polar(self, elevation_deg: ArrayLike) -> Array:
        """Return the field gained in the direct signal's polarisation, the zenith being 1; interpolated in decibels.

        Parameters
        ----------
        elevation_deg : array_like
            [°], negative below the antenna's horizon; beyond the ends of the pattern its last value holds.
        """
        field: Array = 10.0 ** (np.interp(np.asarray(elevation_deg), self.elevation_deg, self.co_db) / 20.0)
        return field

    def cross_polar(self, elevation_deg: ArrayLike) -> Array:
        """Return the field gained in the opposite sense, see `co_polar`."""
        field: Array = 10.0 ** (np.interp(np.asarray(elevation_deg), self.elevation_deg, self.cross_db) / 20.0)
        return field


COMMON = AntennaPattern(
    np.array([-90.0, -30.0, -20.0, -10.0, 0.0, 10.0, 30.0, 60.0, 90.0]),
    np.array([-32.0, -27.0, -23.0, -18.0, -12.5, -8.0, -4.0, -1.0, 0.0]),
    np.array([-38.0, -38.0, -38.0, -38.0, -35.0, -30.0, -25.0, -22.0, -20.0]),
    "a common geodetic antenna with choke rings")
"""Co-polar gain and cross-polar gain below the horizon of a choke-ring antenna, from memory; the cross-polar gain above
the horizon, which no figure here uses, is a guess."""
