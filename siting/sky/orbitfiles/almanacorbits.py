"""Satellites on almanac elements.

References
----------
1. IS-GPS-200, table 20-IV, with what section 20.3.3.5.2.1 leaves out for an almanac: from elements to Earth-fixed
   coordinates in WGS 84.
"""
from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ...arrays import Array
from ..clock import EARTH_RATE, gps_minus_utc_s
from ..nominal import GM
from ..orbits import Orbits
from .almanac import AlmanacElements
from .selection import FoundOrbit

_STEPS = 12
"""Newton steps for Kepler's equation; below an eccentricity of 0.3 four reach the last digit."""


def eccentric_anomaly(mean: Array, eccentricity: float) -> Array:
    """Solve Kepler's equation by Newton's method [rad].

    Examples
    --------
    >>> round(float(eccentric_anomaly(np.array([1.0]), 0.1)[0]), 9)
    1.088597752
    """
    anomaly: Array = mean + eccentricity * np.sin(mean)
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
    chosen : sequence of FoundOrbit
        Their `data` are `AlmanacElements`.
    source : str
    """

    def __init__(self, chosen: Sequence[FoundOrbit], source: str):
        super().__init__([orbit.name for orbit in chosen], [orbit.system for orbit in chosen], source)
        self._elements: list[AlmanacElements] = [orbit.data for orbit in chosen]

    def one_position_m(self, index: int, utc_s: Array) -> Array:
        elements = self._elements[index]
        utc_s = np.asarray(utc_s, float)
        elapsed = utc_s + gps_minus_utc_s(utc_s) - elements.reference_s
        axis_m = elements.root_axis**2
        anomaly = eccentric_anomaly(elements.anomaly + np.sqrt(GM / axis_m**3) * elapsed, elements.eccentricity)
        true = np.arctan2(np.sqrt(1.0 - elements.eccentricity**2) * np.sin(anomaly),
                          np.cos(anomaly) - elements.eccentricity)
        radius = axis_m * (1.0 - elements.eccentricity * np.cos(anomaly))
        argument = true + elements.perigee
        node = elements.node + (elements.node_rate - EARTH_RATE) * elapsed - EARTH_RATE * elements.in_week_s
        along, across = radius * np.cos(argument), radius * np.sin(argument)
        return np.stack([along * np.cos(node) - across * np.cos(elements.inclination) * np.sin(node),
                         along * np.sin(node) + across * np.cos(elements.inclination) * np.cos(node),
                         across * np.sin(elements.inclination)], axis=-1)
