"""Another level surface that reflects in the same direction at nearly the same height: the two cannot be told apart."""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..assessment import Assessment
from ..ground.kernels import shares

FILLS = 0.5
"""Part of a footprint that another surface must fill to reflect as one (a convention)."""
LEVEL_M = 0.15
"""Rms height by which another surface may depart from level and still reflect as one [m] (a convention)."""


class Competitor(NamedTuple):
    """A surface that competes with the target in one bin.

    Attributes
    ----------
    name : str
    above_m : float
        How much higher than the target it lies [m].
    part : float
        Part of the footprint that it fills.
    elevation_deg : float
        Elevation angle at which it fills most [°].
    """

    name: str
    above_m: float
    part: float
    elevation_deg: float


def competing_surfaces(assessment: Assessment) -> dict[int, Competitor]:
    """Find bins where another level surface competes with the target.

    Parameters
    ----------
    assessment : Assessment
        With a DEM around the site; else nothing is found.

    Returns
    -------
    dict of int to Competitor
        By bin.
    """
    a = assessment
    if a.sight is None or a.sight.surroundings is None or a.planes is not None:
        return {}
    looked_at = (a.windows.first >= 0) & ~a.good.all(axis=0)
    if not looked_at.any():
        return {}
    middle = int(np.argmin(np.abs(a.candidate.levels_m)))
    level = a.level_z_m(middle)
    top, spots = a.sight.spot_top_m(), a.spots(middle)
    # only what stands near the level can be taken for it
    reach = float(np.max(a.separation_m[looked_at])) + LEVEL_M
    other = (spots.target < 0.5) & np.isfinite(top) & (np.abs(top - level) <= reach) & (spots.hidden < 0.5)
    if not other.any():
        return {}
    angles = len(a.settings.elevation_deg)
    height = np.where(other, top - level, 0.0).astype(np.float32)
    layers = np.stack([other.astype(np.float32), height, height**2])
    part, mean, square = shares(a.kernels.part(middle * angles, (middle + 1) * angles), layers)
    with np.errstate(divide="ignore", invalid="ignore"):
        mean = mean / part
        spread = np.sqrt(np.maximum(square / part - mean**2, 0.0))
        is_rival = (part >= FILLS) & (spread <= LEVEL_M) & (np.abs(mean) <= a.separation_m) & (np.abs(mean) > LEVEL_M)
    is_rival &= ~a.good & looked_at
    found = {}
    for i in np.flatnonzero(is_rival.any(axis=0)).tolist():
        k = int(np.argmax(np.where(is_rival[:, i], part[:, i], 0.0)))
        dist = (a.zones.near_m[middle, k] + a.zones.far_m[middle, k]) / 2.0
        azimuth = np.radians(a.settings.bin_centre_deg[i])
        name, = a.surface.names_at(np.array([dist * np.sin(azimuth)]), np.array([dist * np.cos(azimuth)]))
        found[i] = Competitor(name, float(mean[k, i]), float(part[k, i]), float(a.settings.elevation_deg[k]))
    return found
