"""Reading the layers that tell the surface: land cover, elevation, water and what is to be avoided."""
from __future__ import annotations

import math

import numpy as np
from qgis.core import NULL

from ...siting.candidates import Candidate
from ...siting.errors import InputError
from ...siting.ground.classes import parse_classes
from ...siting.ground.surfacelayers import SurfaceLayers
from ...siting.purposes import Purpose
from .given import Given


def read_surface_rasters(given: Given, purpose: Purpose) -> SurfaceLayers:
    """Read LANDCOVER, TARGET_CLASSES, DEM and DEM_WATER; polygons come later, when it is known where they matter.

    Raises
    ------
    InputError
        If nothing at all tells the surface, or classes and land cover do not come together.
    """
    layers = SurfaceLayers(is_water=purpose.is_water, is_sea=purpose.is_tidal)
    layers.landcover, layers.dem = given.raster("LANDCOVER"), given.raster("DEM")
    layers.dem_is_bed = given.choice("DEM_WATER") == "bed"
    if layers.landcover is None and layers.dem is None and not given.is_given("WATER"):
        layers.check()
    classes = given.text("TARGET_CLASSES")
    if layers.landcover is not None:
        layers.classes = parse_classes(classes)
        layers.class_names = layers.landcover.category_names
    elif (classes or "").strip():
        raise InputError("TARGET_CLASSES is given without LANDCOVER. Give the land cover, or leave the classes out.")
    return layers


def read_surface_polygons(given: Given, layers: SurfaceLayers, candidates: list[Candidate], reach_m: float) -> None:
    """Read WATER and AVOID near candidates into the layers.

    Parameters
    ----------
    layers : SurfaceLayers
        Changed in place.
    candidates : sequence of Candidate
        Resolved.
    reach_m : float
        How far from any of them polygons matter [m].

    Raises
    ------
    InputError
    Cancelled
    """
    wave = -1
    if given.is_given("WATER"):
        water = given.source("WATER")
        wave = given.field("WATER_WAVE", water)
    layers.water, keys = given.polygons(
        "WATER", candidates, reach_m, None if wave < 0 else lambda feature, source: _wave_of(feature, wave, source))
    if wave >= 0:
        layers.water_waves = np.array([math.nan if key is None else key for key in keys] or [math.nan])
    layers.water_is_land = given.choice("WATER_IS") == "land"
    if not given.is_given("AVOID"):
        return
    source = given.source("AVOID")
    share = given.field("AVOID_FIELD", source)
    name = given.field("AVOID_NAME", source)

    def group_of(feature, _source):
        label = feature.attribute(name) if name >= 0 else None
        return ("" if label is None or label == NULL else str(label), _share_of(feature, share, source))

    layers.avoid, keys = given.polygons("AVOID", candidates, reach_m, group_of)
    layers.avoid_names = [key[0] for key in keys]
    layers.avoid_shares = np.array([key[1] for key in keys] or [1.0])


def _wave_of(feature, index, source) -> float | None:
    """Read the wave height of a water polygon; None where the candidates' own counts."""
    value = feature.attribute(index)
    if value is None or value == NULL:
        return None
    try:
        height = float(value)
    except (TypeError, ValueError):
        height = math.nan
    if not (math.isfinite(height) and height >= 0):
        raise InputError(
            f"WATER “{source.sourceName()}”, feature {feature.id()}: {source.fields().at(index).name()} is {value}; a "
            "significant wave height must be 0 m or more.")
    return height


def _share_of(feature, index, source) -> float:
    value = feature.attribute(index) if index >= 0 else None
    if value is None or value == NULL:
        return 1.0
    try:
        share = float(value)
    except (TypeError, ValueError):
        share = math.nan
    if not 0.0 <= share <= 1.0:
        raise InputError(
            f"AVOID “{source.sourceName()}”, feature {feature.id()}: {source.fields().at(index).name()} is {value}; "
            "the share of the time must be from 0 to 1.")
    return share
