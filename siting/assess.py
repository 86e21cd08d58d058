"""Assessing candidates one after the other: from layers to what the surface around each is worth."""
from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Callable

import numpy as np

from .assessment import Assessment
from .candidates import Candidate
from .errors import Cancelled, failing_alone
from .geometry.fresnel import Ellipse
from .ground.kernels import KernelCache, build
from .ground.planefit import cells_around
from .ground.planes import REACH, ground_planes
from .ground.polargrid import choose_grid
from .ground.surface import SurfaceSampler
from .ground.surfacelayers import SurfaceLayers
from .settings import Settings
from .sight.looking import SightLayers, SightSampler

BATCH = 500
"""Candidates prepared together: large enough for the projections, small enough for memory."""


def assess(candidates: list[Candidate], layers: SurfaceLayers, settings: Settings,
           progress: Callable[[float, str], None] = lambda fraction, message: None,
           is_cancelled: Callable[[], bool] = lambda: False,
           sight: SightLayers | None = None) -> Iterator[tuple[int, Assessment | None]]:
    """Assess candidates one after the other.

    Parameters
    ----------
    candidates : list of Candidate
        Resolved (see `siting.candidates.resolve`).
    layers : SurfaceLayers
    settings : Settings
    progress : callable
        Called with a fraction 0 to 1 and a message.
    is_cancelled : callable
        Asked before each candidate.
    sight : SightLayers, optional
        What may hide the surface; its terrain must know the sites in the same order. Without it nothing is hidden.

    Yields
    ------
    index : int
        Index into `candidates`, in their order.
    assessment : Assessment or None
        None where `candidate.problem` says why not; what goes wrong with one candidate stays with it.

    Raises
    ------
    Cancelled
        Between two candidates.
    """
    layers = layers.with_inflow(is_cancelled)
    cache = KernelCache(settings.elevation_deg, settings.wavelength_m, settings.bins, settings.refine)
    for start in range(0, len(candidates), BATCH):
        batch = candidates[start:start + BATCH]
        lon, lat, reach = _places(batch, cache)
        if not layers.is_water and layers.dem is not None:
            reach = REACH * reach  # tilted ground moves footprints
        sampler = SurfaceSampler(layers, lon, lat, reach)
        looker = SightSampler(sight, lon, lat, reach, start) if sight else None
        for offset, candidate in enumerate(batch):
            if is_cancelled():
                raise Cancelled("stopped by the user")
            progress((start + offset) / len(candidates), candidate.name)
            found = None
            if not candidate.problem:
                with failing_alone(candidate):
                    found = _assess_one(candidate, offset, sampler, looker, cache, settings)
            yield start + offset, found


def _places(batch, cache):
    # from the lowest level, where the footprints reach farthest
    reach = np.array([1.0 if c.problem else cache.zones(c.heights_m[:1]).far_m.max() for c in batch])
    return np.array([c.lon for c in batch]), np.array([c.lat for c in batch]), reach


def _assess_one(candidate, index, sampler, looker, cache, settings):
    heights, zones, planes = candidate.heights_m, cache.zones(candidate.heights_m), None
    if sampler.dem is not None and not sampler.layers.is_water:
        planes = ground_planes(heights, settings.elevation_deg, settings.bins, settings.wavelength_m,
                               partial(cells_around, sampler.dem, index), candidate.zero_level_m)
        level, moved = (Ellipse(*(part.ravel() for part in some)) for some in (zones, planes.zones_to_cover()))
        both = Ellipse(*(np.concatenate(parts) for parts in zip(level, moved)))
        kernels = build(level, choose_grid(both, sampler.cell_m(index), settings.bins, settings.refine))
    else:
        kernels = cache.get(heights, sampler.cell_m(index))
    surface = sampler.surface(index, kernels.grid, candidate.zero_level_m)
    sight = None
    if looker is not None:
        water = None
        if looker.layers.dem_shows_water and sampler.layers.is_water:
            water = surface.at_level(candidate.zero_level_m).target > 0.5
        antenna_m = candidate.zero_level_m + candidate.over_zero_m
        sight = looker.sight(index, kernels.grid, antenna_m, candidate.zero_level_m, water,
                             settings.bin_centre_deg, settings.elevation_deg[0])
    return Assessment(candidate, settings, zones, kernels, surface, sight, planes)
