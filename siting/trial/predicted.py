"""The scenes as the prediction takes them: polygons of water, of ships and of barriers, and the candidate."""
from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from ..arrays import Array
from ..candidates import Candidate, resolve
from ..ground.polygons import PolygonLayer, Ring
from ..ground.surfacelayers import SurfaceLayers
from ..sight.barriers import Barriers
from ..sight.looking import SightLayers
from ..sight.terrain import Terrain
from .scenes import Scene
from .standing import Body

REACH_M = 4000.0
"""How far the polygons go [m]: beyond the footprints of an antenna at 20 m."""


class Predicted(NamedTuple):
    """What the prediction takes of a scene.

    Attributes
    ----------
    candidate : Candidate
        Resolved.
    layers : SurfaceLayers
    sight : SightLayers
    """

    candidate: Candidate
    layers: SurfaceLayers
    sight: SightLayers


def polygons(pieces: Sequence[Body], reach_m: float = REACH_M) -> list[tuple[Array, list[Array]]]:
    """Return outline and holes of each piece, in local metres, cut off at a reach."""
    return [piece.shape.rings(reach_m) for piece in pieces]


def _layer(scene, pieces, name) -> PolygonLayer:
    rings = [Ring(ring, number > 0, group) for group, (outline, holes) in enumerate(polygons(pieces))
             for number, ring in enumerate([outline, *holes])]
    return PolygonLayer(rings, scene.crs, name, max(len(pieces), 1))


def predicted(scene: Scene) -> Predicted:
    """Turn a scene into a candidate and its layers.

    What is not water becomes land polygons, its heights barriers, and what is there part of the time areas to avoid.

    Parameters
    ----------
    scene : Scene

    Returns
    -------
    Predicted
    """
    candidate = Candidate(scene.name, 0.0, 0.0, scene.antenna_m, low_m=scene.low_m, high_m=scene.high_m,
                    wave_m=scene.wave_m)
    resolve([candidate], scene.crs, "surface", zero_is_ground=False)
    layers = SurfaceLayers(water=_layer(scene, scene.fixed, "land"), water_is_land=True,
                           is_sea=scene.purpose.is_tidal)
    if scene.passing:
        layers.avoid = _layer(scene, scene.passing, "berths")
        layers.avoid_names = [piece.name for piece in scene.passing]
        layers.avoid_shares = np.array([piece.share for piece in scene.passing])
    barriers = Barriers(_layer(scene, scene.fixed, "barriers"), np.array([piece.top_m for piece in scene.fixed]))
    return Predicted(candidate, layers, SightLayers(
        barriers=barriers, terrain=Terrain(None, barriers=barriers, max_distance_m=REACH_M, lon=[candidate.lon],
                                           lat=[candidate.lat])))
