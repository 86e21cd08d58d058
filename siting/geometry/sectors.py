"""Ring sectors around a site, in local metres."""
from __future__ import annotations

import numpy as np

from ..arrays import Array

ARC_STEP_DEG = 3.0
"""Longest piece of arc that a straight line stands for [°]."""


def sector_rings(centre_deg: Array, width_deg: float, near_m: Array, far_m: Array) -> Array:
    """Trace ring sectors around a site as closed rings.

    Parameters
    ----------
    centre_deg : ndarray, shape (n,)
        Azimuth of each sector's middle [°].
    width_deg : float
        Width [°].
    near_m, far_m : ndarray, shape (n,)
        Inner and outer radius [m]; an inner radius of 0 makes a wedge.

    Returns
    -------
    ndarray, shape (n, k, 2)
        East and north [m].
    """
    steps = max(int(np.ceil(width_deg / ARC_STEP_DEG)), 1)
    turn = np.linspace(-width_deg / 2.0, width_deg / 2.0, steps + 1)
    azimuth = np.radians(centre_deg[:, None] + np.concatenate([turn, turn[::-1], turn[:1]]))
    radius = np.concatenate([np.repeat(near_m[:, None], steps + 1, 1), np.repeat(far_m[:, None], steps + 1, 1),
                             near_m[:, None]], axis=1)
    return np.stack([radius * np.sin(azimuth), radius * np.cos(azimuth)], axis=-1)


def ground_distance_m(height_m: float, sine: Array) -> Array:
    """Return how far from the site a reflection lies on a horizontal surface [m]: h/tan e.

    Parameters
    ----------
    height_m : float
        Over the surface [m].
    sine : ndarray
        Sine of the elevation angle, above 0.

    Returns
    -------
    ndarray
        Exactly 0 where the sine is 1.
    """
    sine = np.asarray(sine, float)
    distance: Array = height_m * np.sqrt(np.maximum(1.0 - sine**2, 0.0)) / sine
    return distance
