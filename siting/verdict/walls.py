"""What hides footprints: things in the way, skyline, shadows, ground turned away."""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..arrays import Array
from ..assessment import Assessment
from ..ground.surface import Cause

HIDDEN, SKYLINE, SHADOW, TURNED, BEYOND = "hidden", "skyline", "shadow", "turned", "beyond"


class Blocked(NamedTuple):
    """What takes footprints as a whole, beside what lies in them; arrays of shape (bins,).

    Attributes
    ----------
    kind : str
        ``skyline``, ``shadow``, ``turned`` or ``beyond``.
    weight : ndarray
        What it takes, summed over the angles that fail.
    """

    kind: str
    weight: Array


def hidden_causes(assessment: Assessment, level: int) -> list[Cause]:
    """List what hides spots from the antenna at a level, by what stands in the way.

    Parameters
    ----------
    assessment : Assessment
    level : int
        Index of the level.

    Returns
    -------
    list of Cause
        Each with the name of what stands in the way and how far out it does.
    """
    a = assessment
    spots = a.spots(level)
    if a.sight is None or not spots.hidden.any():
        return []
    share = spots.target * (1.0 if a.surface.always is None else 1.0 - a.surface.always) * spots.hidden
    if not share.any():
        return []
    grid, bins = a.kernels.grid, a.settings.bins
    dist = a.sight.hider_m(a.level_z_m(level), a.candidate.zero_level_m, share > 0, bins)
    found = np.flatnonzero(np.isfinite(dist))
    azimuth = np.radians(a.settings.bin_centre_deg[found])
    names = a.surface.names_at(dist[found] * np.sin(azimuth), dist[found] * np.cos(azimuth))
    causes = []
    per_bin = grid.rays_per_bin
    for name in dict.fromkeys(names):
        mine = found[[i for i, other in enumerate(names) if other == name]]
        chosen = np.zeros(bins, bool)
        chosen[mine] = True
        out = float(np.median(dist[mine]))
        causes.append(Cause(name, HIDDEN, share * np.repeat(chosen, per_bin).astype(np.float32), out))
    return causes


def blocked(assessment: Assessment, level: int, bad: Array) -> list[Blocked]:
    """List what takes whole footprints at a level: skyline, shadow, ground turned away or rising too far.

    Parameters
    ----------
    assessment : Assessment
    level : int
    bad : ndarray of bool, shape (angles, bins)
        Angles that fail.

    Returns
    -------
    list of Blocked
    """
    a, found = assessment, []
    usable = a.usable_seen[level]
    if a.is_clear is not None:
        found.append(Blocked(SKYLINE, np.sum(usable * ~a.is_clear * bad, axis=0)))
    if a.unlit is not None:
        found.append(Blocked(SHADOW, np.sum(a.unlit[level] * bad, axis=0)))
    if a.planes is not None:
        is_beyond = a.planes.is_beyond[level]
        found.append(Blocked(TURNED, np.sum(usable * (~a.planes.is_lit[level] & ~is_beyond) * bad, axis=0)))
        found.append(Blocked(BEYOND, np.sum(usable * is_beyond * bad, axis=0)))
    return [wall for wall in found if wall.weight.any()]
