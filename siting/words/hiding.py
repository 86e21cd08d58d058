"""What hides footprints, in words."""
from __future__ import annotations

import numpy as np

from ..arrays import Array
from ..assessment import Assessment
from ..ground.planes import REACH
from ..verdict.walls import BEYOND, SHADOW, SKYLINE
from .wording import metres


def hider_words(name: str, out_m: float) -> str:
    """Say what stands in the way and where, such as “pier or quay 10 m out”."""
    return f"{name} {metres(out_m)} m out"


def blocked_words(assessment: Assessment, kind: str, bins: Array) -> str:
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
        reach = metres(REACH * float(a.zones.far_m.max()))
        return f"ground that rises towards the satellites (its reflections lie beyond the {reach} m looked at)"
    return "ground turned away from the satellites"
