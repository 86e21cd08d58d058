"""The outermost places that a search may look at, so that layers are read for every one of them."""
from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..candidates import Candidate, Resolver
from ..geometry.localframe import LocalFrame, to_lonlat
from .search import Heights
from .searchregion import SearchRegion

ASKED_EACH_WAY = 5
"""Places in a row and in a column at which the ground is asked how high an antenna may come to stand."""


def outermost_places(candidate: Candidate, region: SearchRegion | None, heights: Heights,
                     resolver: Resolver) -> list[Candidate]:
    """Make candidates that stand at the corners of a site's search, as high as any place in it.

    Parameters
    ----------
    candidate : Candidate
        The site, resolved; a problem does not matter.
    region : SearchRegion or None
        Without one, only the site itself.
    heights : Heights
    resolver : Resolver

    Returns
    -------
    list of Candidate
        Resolved; none where no place can be resolved.
    """
    low, high = region.box_m if region is not None else (np.zeros(2), np.zeros(2))
    # the site itself may lie outside a polygon
    low, high = np.minimum(low, 0.0), np.maximum(high, 0.0)
    reach = max(float(np.hypot(*np.maximum(-low, high))), 1.0)
    frame = LocalFrame([candidate.lon], [candidate.lat], resolver.crs, reach)
    east, north = (part.ravel() for part in np.meshgrid(
        *(np.linspace(a, b, ASKED_EACH_WAY) for a, b in zip(low, high))))
    x, y = frame.place(0, np.append(east, 0.0), np.append(north, 0.0))
    top = max(candidate.height_m, heights.high_m)
    asked = [replace(candidate, x=float(a), y=float(b), height_m=top, problem="", drowned=False) for a, b in zip(x, y)]
    resolver(asked)
    fit = [c for c in asked if not c.problem]
    if not fit:
        return []
    highest = max(c.over_zero_m for c in fit)
    zero = max(fit, key=lambda c: c.zero_level_m).zero_level_m
    corners = [(a, b) for a in (low[0], high[0]) for b in (low[1], high[1])]
    made = []
    for a, b in dict.fromkeys([*corners, (0.0, 0.0)]):
        x, y = (float(v) for v in frame.place(0, a, b))
        lon, lat = (float(v) for v in to_lonlat(x, y, resolver.crs))
        made.append(replace(candidate, x=x, y=y, lon=lon, lat=lat, height_m=top, over_zero_m=highest, zero_level_m=zero,
                            levels_m=np.array([candidate.low_m, candidate.high_m]), problem="", drowned=False))
    return made
