"""What hides footprints, in causes and words: things in the way, skyline, shadows, ground turned away."""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..assess import Assessment
from ..ground.planes import REACH
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
    weight: np.ndarray


def hidden_causes(assessment: Assessment, level: int, most_bins: int = 12) -> list[Cause]:
    """List what hides spots from the antenna at a level, by what stands in the way.

    Parameters
    ----------
    assessment : Assessment
    level : int
        Index of the level.

    Returns
    -------
    list of Cause
        Such as “hidden by building, 4.0 m out”.
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
        causes.append(Cause(f"hidden by {name} {_metres(out)} m out", HIDDEN,
                            share * np.repeat(chosen, per_bin).astype(np.float32)))
    return causes


def _metres(value):
    return f"{value:.1f}" if value < 9.95 else f"{value:.0f}"


def blocked(assessment: Assessment, level: int, bad: np.ndarray) -> list[Blocked]:
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
    return [one for one in found if one.weight.any()]


def blocked_words(assessment: Assessment, kind: str, bins: np.ndarray) -> str:
    """Say what takes whole footprints over some bins, with its figures.

    Parameters
    ----------
    assessment : Assessment
    kind : str
        See `Blocked`.
    bins : ndarray of bool or int
        Bins spoken of.

    Returns
    -------
    str
        Such as “skyline up to 14.2° (at 210°, 320 m off)”.
    """
    a = assessment
    if kind == SKYLINE:
        angle = np.where(np.isin(np.arange(a.settings.bins), np.arange(a.settings.bins)[bins]),
                         a.sight.skyline.el_deg, -np.inf)
        highest = int(np.argmax(angle))
        return (f"skyline {'up to ' if np.sum(np.isfinite(angle)) > 1 else ''}{angle[highest]:.1f}° "
                f"(at {a.settings.bin_centre_deg[highest]:.0f}°, {a.sight.skyline.dist_m[highest]:.0f} m off)")
    if kind == SHADOW:
        return "the shadow of what stands behind"
    if kind == BEYOND:
        reach = _metres(REACH * float(a.zones.far_m.max()))
        return f"ground that rises towards the satellites (its reflections lie beyond the {reach} m looked at)"
    return "ground turned away from the satellites"
