"""Candidates along shores and on roofs: where they stand and which way they face."""
from __future__ import annotations

from functools import partial
from typing import Callable, NamedTuple

import numpy as np

from ..arrays import Array
from .along import CORNER_REACH_M, Walk
from .chains import Chain
from .plane import ShorePlane
from .segments import Segments
from .sides import stays_on_land

MOST_INSET = 3.0
"""Longest way in from a sharp corner, in offsets."""


class Places(NamedTuple):
    """Candidates: where [m on the plane], which way they face [°], shape (n, 2) and (n,), and their kind."""

    xy: Array
    face_deg: Array
    kind: list[str]


NONE = Places(np.zeros((0, 2)), np.zeros(0), [])


def along_shore(chains: list[Chain], plane: ShorePlane, spacing_m: float, offset_m: float,
                pulse: Callable[[float], None] = lambda share: None) -> tuple[Places, int]:
    """Set candidates along shores whose water is to the left.

    Parameters
    ----------
    chains : list of Chain
    plane : ShorePlane
    spacing_m : float
        Along the shore, and the width over which the direction is smoothed [m].
    offset_m : float
        How far they stand back from the shore [m].
    pulse : callable
        Called with the share done, 0 to 1; may raise to stop.

    Returns
    -------
    places : Places
    dropped : int
        How many would stand in water or behind other water.
    """
    shore = Segments.of_lines([chain.xy for chain in chains])
    found, dropped = [], 0
    for number, chain in enumerate(chains):
        pulse(number / len(chains))
        walk = Walk(chain, plane)
        along = walk.places(spacing_m)
        run = walk.directions(along, spacing_m)
        feet = walk.points(along)
        face = np.mod(plane.azimuth(feet, run) - 90.0, 360.0)
        places, lost = _stand_back(shore, plane, Feet(feet, walk.steps(along), face, offset_m, "shore"),
                                partial(pulse, number / len(chains)))
        found.append(places)
        dropped += lost
    return _all(found), dropped


def on_polygons(chains: list[Chain], plane: ShorePlane, spacing_m: float, offset_m: float,
                pulse: Callable[[float], None] = lambda share: None) -> tuple[Places, int]:
    """Set candidates at the outward corners and along the edges of polygons, facing out.

    Parameters
    ----------
    chains : list of Chain
        Outer rings that run clockwise, so that what is outside lies to their left.
    offset_m : float
        How far they stand in from the edges [m], at a corner from both.

    Returns
    -------
    places : Places
        Ring by ring, its corners first.
    dropped : int
        How many would not stand on their polygon.
    """
    found, dropped = [], 0
    for number, chain in enumerate(chains):
        pulse(number / len(chains))
        walk, own = Walk(chain, plane), Segments.of_lines([chain.xy])
        corners = walk.corners()
        for kind in ("corner", "edge"):
            if kind == "corner":
                # clockwise rings turn right at the corners that stand out
                salient = corners.turn_deg < 0
                along, turn = corners.along_m[salient], -corners.turn_deg[salient]
            else:
                along = walk.places_on_edges(corners, spacing_m)
                turn = np.zeros(len(along))
            if not len(along):
                continue
            feet = walk.points(along)
            run = _bisected(walk, along) if kind == "corner" else walk.directions(along, spacing_m)
            face = np.mod(plane.azimuth(feet, run) - 90.0, 360.0)
            way = offset_m * np.minimum(1.0 / np.cos(np.radians(turn / 2.0)), MOST_INSET)
            steps = run if kind == "corner" else walk.steps(along)
            places, lost = _stand_back(own, plane, Feet(feet, steps, face, way, kind),
                                    partial(pulse, number / len(chains)))
            found.append(places)
            dropped += lost
    return _all(found), dropped


def _bisected(walk, along):
    """Return the mean of the unit vectors in which the ring comes to a corner and leaves it."""
    reach = min(CORNER_REACH_M, walk.length_m / 8.0)
    at = walk.points(along)
    ways = [at - walk.points(along - reach), walk.points(along + reach) - at]
    return sum(way / np.maximum(np.hypot(*way.T), 1e-12)[:, None] for way in ways)


class Feet(NamedTuple):
    """Where a row of places comes from.

    Attributes
    ----------
    xy : ndarray, shape (n, 2)
        On the shore or edge [m].
    steps : ndarray, shape (n, 2)
        Direction of the shore there.
    face_deg, way_m : ndarray, shape (n,), or float
        Where each faces [°], and how far it stands back [m].
    kind : str
    """

    xy: Array
    steps: Array
    face_deg: Array
    way_m: Array
    kind: str


def _stand_back(shore, plane, feet, pulse):
    places = plane.moved(feet.xy, feet.face_deg + 180.0, feet.way_m)
    if not np.any(feet.way_m):
        return Places(feet.xy, feet.face_deg, [feet.kind] * len(feet.xy)), 0
    keep = np.zeros(len(feet.xy), bool)
    for k in range(len(feet.xy)):
        if k % 100 == 0:
            pulse()
        keep[k] = stays_on_land(shore, feet.xy[k], feet.steps[k], places[k])
    return Places(places[keep], feet.face_deg[keep], [feet.kind] * int(keep.sum())), int(np.count_nonzero(~keep))


def _all(found):
    if not found:
        return NONE
    return Places(np.concatenate([places.xy for places in found]),
                  np.concatenate([places.face_deg for places in found]),
                  [kind for places in found for kind in places.kind])
