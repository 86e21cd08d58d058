"""Reading what may stand in the way of satellites: elevation models and barriers."""
from __future__ import annotations

import math
from typing import Sequence

import numpy as np
from qgis.core import NULL

from ...siting.candidates import Candidate
from ...siting.errors import InputError
from ...siting.ground.checks import check_dem_unit
from ...siting.sight.barriers import Barriers
from ...siting.sight.terrain import Terrain
from .candidates import field_index, open_raster, read_polygons, source_of
from .given import finite
from .skysites import listed


def read_terrain(algorithm, parameters, context, feedback, candidates: Sequence[Candidate],
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
    reach = finite(algorithm, parameters, "MAX_DISTANCE", context)
    if not (math.isfinite(reach) and reach > 0):
        raise InputError(f"MAX_DISTANCE is {reach:g} m; it must be above 0.")
    models = {name: open_raster(algorithm, parameters, name, context) for name in ("DEM", "DEM_FAR")}
    for name, raster in models.items():
        if raster is not None:
            check_dem_unit(raster, name, feedback.pushInfo)
    barriers = _read_barriers(algorithm, parameters, context, feedback, candidates, reach)
    if barriers is None and not any(models.values()):
        return None
    place = np.array([(math.nan, math.nan) if one.problem else (one.lon, one.lat) for one in candidates])
    terrain = Terrain(models["DEM"], models["DEM_FAR"], barriers, reach, *place.T, is_cancelled=feedback.isCanceled,
                      progress=lambda part, _message: feedback.setProgress(progress_part * part))
    for relief, name in ((terrain.near, "DEM"), (terrain.far, "DEM_FAR")):
        if relief is not None and relief.highest_m == -math.inf:
            raise InputError(
                f"{name} “{relief.raster.name}” has no data within {reach:g} m (MAX_DISTANCE) of any candidate. Check "
                "that it covers them and that its coordinate reference system is right.")
    return terrain


def _read_barriers(algorithm, parameters, context, feedback, candidates, reach):
    if parameters.get("BARRIERS") in (None, "", NULL):
        if parameters.get("BARRIER_HEIGHT") not in (None, "", NULL):
            raise InputError("BARRIER_HEIGHT is given without BARRIERS. Give the polygons, or leave both out.")
        return None
    source = source_of(algorithm, parameters, "BARRIERS", context)
    index = field_index(algorithm, parameters, "BARRIER_HEIGHT", context, source)
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

    layer, heights = read_polygons(algorithm, parameters, "BARRIERS", context, feedback, candidates, reach, height_of)
    if not heights:
        feedback.pushWarning(f"BARRIERS “{source.sourceName()}” has no polygon within MAX_DISTANCE ({reach:g} m) of "
                             "any candidate.")
    base = np.array([0.0 if one.problem else one.zero_level_m for one in candidates])
    return Barriers(layer, np.array(heights or [0.0], float), base)


def find_buried(terrain: Terrain | None, candidates: Sequence[Candidate], feedback) -> None:
    """Give candidates whose antenna would be below the DEM's ground their problem; name those on a cell without data.

    Parameters
    ----------
    terrain : Terrain or None
    candidates : sequence of Candidate
        Resolved; changed in place.
    """
    if terrain is None or (terrain.near is None and terrain.far is None):
        return
    unknown = []
    for site, one in enumerate(candidates):
        if one.problem:
            continue
        ground = terrain.ground(site)
        if math.isnan(ground):
            unknown.append(one.name)
            continue
        depth = ground - one.zero_level_m - one.over_zero_m
        if round(depth, 2) > 0:
            one.problem = (f"the antenna is {depth:.2f} m below the ground that the elevation model shows there "
                           f"({ground:.2f} m)")
    if unknown:
        feedback.pushWarning(f"The elevation model has no data at the very site of {listed(unknown)}: whether the "
                             "antenna stands above the ground was not checked.")
