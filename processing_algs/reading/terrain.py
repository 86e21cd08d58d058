"""Reading what may stand in the way of satellites: elevation models and barriers."""
from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from qgis.core import NULL

from ...siting.candidates import Candidate
from ...siting.errors import InputError
from ...siting.ground.checks import check_dem_unit
from ...siting.setup import find_buried
from ...siting.sight.barriers import Barriers
from ...siting.sight.terrain import Terrain
from .candidates import listed
from .given import Given


def read_terrain(given: Given, candidates: Sequence[Candidate],
                 progress_part: float = 30.0) -> Terrain | None:
    """Read DEM, DEM_FAR, BARRIERS and MAX_DISTANCE, and prepare them for all candidates.

    Parameters
    ----------
    candidates : sequence of Candidate
        Resolved.
    progress_part : float
        Per cent of the run's progress that preparing takes.

    Returns
    -------
    Terrain or None
        Its sites are the candidates, in their order, those with a problem left out; None where neither an
        elevation model nor barriers are given.

    Raises
    ------
    InputError
        If a layer is unfit: another unit than metres, no data around any candidate, a barrier without a height.
    Cancelled
    """
    reach = given.real("MAX_DISTANCE")
    if not (math.isfinite(reach) and reach > 0):
        raise InputError(f"MAX_DISTANCE is {reach:g} m; it must be above 0.")
    models = {name: given.raster(name) for name in ("DEM", "DEM_FAR")}
    for name, raster in models.items():
        if raster is not None:
            check_dem_unit(raster, name, given.note)
    barriers = _read_barriers(given, candidates, reach)
    if barriers is None and not any(models.values()):
        return None
    place = np.array([(math.nan, math.nan) if candidate.problem else (candidate.lon, candidate.lat)
                      for candidate in candidates])
    terrain = Terrain(models["DEM"], models["DEM_FAR"], barriers, reach, *place.T, is_cancelled=given.is_cancelled,
                      progress=given.progress(0.0, progress_part))
    for relief, name in ((terrain.near, "DEM"), (terrain.far, "DEM_FAR")):
        if relief is not None and relief.highest_m == -math.inf:
            raise InputError(
                f"{name} “{relief.raster.name}” has no data within {reach:g} m (MAX_DISTANCE) of any candidate. Check "
                "that it covers them and that its coordinate reference system is right.")
    return terrain


def _read_barriers(given, candidates, reach):
    if not given.is_given("BARRIERS"):
        if given.is_given("BARRIER_HEIGHT"):
            raise InputError("BARRIER_HEIGHT is given without BARRIERS. Give the polygons, or leave both out.")
        return None
    source = given.source("BARRIERS")
    index = given.field("BARRIER_HEIGHT", source)
    if index < 0:
        raise InputError(f"BARRIERS “{source.sourceName()}” needs BARRIER_HEIGHT: the field with the height of each "
                         "barrier above the ground [m].")

    def height_of(feature, _source):
        value = feature.attribute(index)
        try:
            height = math.nan if value is None or value == NULL else float(value)
        except (TypeError, ValueError):
            height = math.nan
        if not (math.isfinite(height) and height >= 0):
            text = "missing" if value is None or value == NULL else f"“{value}”"
            raise InputError(
                f"BARRIERS “{source.sourceName()}”, feature {feature.id()}: {source.fields().at(index).name()} is "
                f"{text}. Give its height above the ground in metres, 0 or more, or take the feature out.")
        return height

    layer, heights = given.polygons("BARRIERS", candidates, reach, height_of)
    if not heights:
        given.warn(f"BARRIERS “{source.sourceName()}” has no polygon within MAX_DISTANCE ({reach:g} m) of "
                             "any candidate.")
    base = np.array([0.0 if candidate.problem else candidate.zero_level_m for candidate in candidates])
    return Barriers(layer, np.array(heights or [0.0], float), base)


def tell_buried(given: Given, terrain: Terrain | None, candidates: Sequence[Candidate]) -> None:
    """Give candidates whose antenna would be below the DEM's ground their problem; name those on a cell without data.

    Parameters
    ----------
    terrain : Terrain or None
    candidates : sequence of Candidate
        Resolved; changed in place.
    """
    unknown = [] if terrain is None else find_buried(terrain, candidates)
    if unknown:
        given.warn(f"The elevation model has no data at the very site of {listed([c.name for c in unknown])}: "
                   "whether the antenna stands above the ground was not checked.")
