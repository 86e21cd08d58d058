"""Satellites on almanac elements.

References
----------
1. IS-GPS-200, table 20-IV, with what section 20.3.3.5.2.1 leaves out for an almanac: from elements to Earth-fixed
   coordinates in WGS 84.
"""
from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..clock import EARTH_RATE, gps_minus_utc_s
from ..nominal import GM
from ..orbits import Orbits
from .selection import Found

_STEPS = 12
"""Newton steps for Kepler's equation; below an eccentricity of 0.3 four reach the last digit."""


def eccentric_anomaly(mean: np.ndarray, eccentricity: float) -> np.ndarray:
    """Solve Kepler's equation by Newton's method [rad].

    Examples
    --------
    >>> round(float(eccentric_anomaly(np.array([1.0]), 0.1)[0]), 9)
    1.088597752
    """
    anomaly = mean + eccentricity * np.sin(mean)
    for _ in range(_STEPS):
        step = (anomaly - eccentricity * np.sin(anomaly) - mean) / (1.0 - eccentricity * np.cos(anomaly))
        anomaly = anomaly - step
        if not step.size or np.max(np.abs(step)) < 1e-13:
            break
    return anomaly


class AlmanacOrbits(Orbits):
    """Satellites on almanac elements.

    Parameters
    ----------
    chosen : sequence of Found
        Their `data` are `AlmanacElements`.
    source : str
    """

    def __init__(self, chosen: Sequence[Found], source: str):
        super().__init__([one.name for one in chosen], [one.system for one in chosen], source)
        self._elements = [one.data for one in chosen]

    def one_position_m(self, index: int, utc_s: np.ndarray) -> np.ndarray:
        one = self._elements[index]
        utc_s = np.asarray(utc_s, float)
        elapsed = utc_s + gps_minus_utc_s(utc_s) - one.reference_s
        axis_m = one.root_axis**2
        anomaly = eccentric_anomaly(one.anomaly + np.sqrt(GM / axis_m**3) * elapsed, one.eccentricity)
        true = np.arctan2(np.sqrt(1.0 - one.eccentricity**2) * np.sin(anomaly), np.cos(anomaly) - one.eccentricity)
        radius = axis_m * (1.0 - one.eccentricity * np.cos(anomaly))
        argument = true + one.perigee
        node = one.node + (one.node_rate - EARTH_RATE) * elapsed - EARTH_RATE * one.in_week_s
        along, across = radius * np.cos(argument), radius * np.sin(argument)
        return np.stack([along * np.cos(node) - across * np.cos(one.inclination) * np.sin(node),
                         along * np.sin(node) + across * np.cos(one.inclination) * np.cos(node),
                         across * np.sin(one.inclination)], axis=-1)
