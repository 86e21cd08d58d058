"""What candidates are judged by; the same for all of a run, whoever asks: a ranking, a search, a sheet, the bench."""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Callable

import numpy as np

from .candidates import Candidate, Resolver
from .ground.surfacelayers import SurfaceLayers
from .precision.worth import SkyLook
from .settings import Settings
from .sight.looking import SightLayers
from .sight.terrain import Terrain
from .verdict.score import Criterion


@dataclass(frozen=True)
class Limits:
    """What a candidate must keep to, whatever its score.

    Attributes
    ----------
    min_clearance_m : float
        Least height over the highest level [m].
    """

    min_clearance_m: float = 0.0

    def are_broken_by(self, candidate: Candidate) -> bool:
        """Tell whether a resolved candidate has less than the least clearance."""
        return round(candidate.clearance_m, 3) < self.min_clearance_m


@dataclass(frozen=True)
class Setup:
    """What candidates are judged by.

    Attributes
    ----------
    layers : SurfaceLayers
    settings : Settings
    look : SkyLook
    criteria : sequence of Criterion
        The analyst's own.
    sight : SightLayers or None
        What may hide the surface; its terrain must know the candidates in their order.
    limits : Limits
    resolver : Resolver or None
        Resolves places that are not among the run's candidates; only a search and the bench look from such.
    """

    layers: SurfaceLayers
    settings: Settings
    look: SkyLook
    criteria: Sequence[Criterion] = ()
    sight: SightLayers | None = None
    limits: Limits = Limits()
    resolver: Resolver | None = None

    def with_inflow(self, is_cancelled: Callable[[], bool] = lambda: False) -> Setup:
        """Return a setup whose layers know where the sea reaches in; see `SurfaceLayers.with_inflow`."""
        return replace(self, layers=self.layers.with_inflow(is_cancelled))

    def seen_from(self, candidates: Sequence[Candidate]) -> Setup:
        """Return a setup that sees from resolved candidates; those below the ground get their problem.

        The terrain must be prepared for all places that are looked from.
        """
        if self.sight is None or self.sight.terrain is None:
            return self
        place = np.array([(np.nan, np.nan) if c.problem else (c.lon, c.lat) for c in candidates])
        terrain = self.sight.terrain.seen_from(*place.T, [0.0 if c.problem else c.zero_level_m for c in candidates])
        find_buried(terrain, candidates)
        return replace(self, sight=replace(self.sight, terrain=terrain))


def find_buried(terrain: Terrain, candidates: Sequence[Candidate]) -> list[Candidate]:
    """Give candidates whose antenna would be below the elevation models' ground their problem.

    Parameters
    ----------
    terrain : Terrain
        Whose sites are the candidates.
    candidates : sequence of Candidate
        Resolved; changed in place.

    Returns
    -------
    list of Candidate
        Those that stand where the models have no data, so that nobody knows.
    """
    unknown: list[Candidate] = []
    if terrain.near is None and terrain.far is None:
        return unknown
    for site, candidate in enumerate(candidates):
        if candidate.problem:
            continue
        ground = terrain.ground(site)
        if np.isnan(ground):
            unknown.append(candidate)
            continue
        depth = ground - candidate.zero_level_m - candidate.over_zero_m
        if round(depth, 2) > 0:
            candidate.problem = (f"the antenna is {depth:.2f} m below the ground that the elevation model shows there "
                                 f"({ground:.2f} m)")
    return unknown
