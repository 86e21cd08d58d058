"""Bending in the air: by how much a height comes out too small if nobody corrects it."""
from __future__ import annotations

import numpy as np

from ..sight.refraction import refraction_deg

SAMPLES = 64


def bending_part(el_from_deg: float, el_to_deg: float) -> float:
    """Return the part of a height that bending takes off.

    Parameters
    ----------
    el_from_deg, el_to_deg : float
        Elevation angles of the arc, without refraction [°].

    Returns
    -------
    float
        Minus the slope of sin(e + bending) - sin e against sin e, by least squares over evenly spaced sin e.

    Notes
    -----
    The height is the slope of the pattern's phase against sin e; bending that falls with the angle makes that slope
    smaller. The angle of bending is that of `siting.sight.refraction`.

    Examples
    --------
    >>> 0.006 < bending_part(5.0, 20.0) < 0.010
    True
    """
    low, high = np.sin(np.radians([el_from_deg, el_to_deg]))
    sine = np.linspace(low, high, SAMPLES)
    elevation = np.degrees(np.arcsin(sine))
    extra = np.sin(np.radians(elevation + refraction_deg(elevation))) - sine
    lever = sine - sine.mean()
    return float(-np.sum(lever * extra) / np.sum(lever**2))
