"""Setting up a run that looks at the surface: candidates, layers and settings from the parameters."""
from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Callable

import numpy as np
from qgis.core import NULL

from ...siting.assess import Settings
from ...siting.candidates import Candidate, Resolver
from ...siting.errors import InputError
from ...siting.geometry.fresnel import first_zone
from ...siting.ground.checks import check_raster
from ...siting.ground.classes import parse_classes
from ...siting.ground.surfacelayers import SurfaceLayers
from ...siting.purposes import Purpose, purpose_of
from ...siting.reflection.coefficients import decibels, fresnel
from ...siting.reflection.strength import window_by_return
from ...siting.sight.looking import SightLayers
from ...siting.signals import SPEED_OF_LIGHT_M_S, wavelength_m
from ...siting.windows import bin_count, elevation_angles
from ...siting.words.ends import ends_text
from . import parameters as define
from .candidates import field_index, open_raster, read_candidates, read_polygons, source_of, tell_problems, wkt_of
from .given import finite
from .terrain import find_buried, read_terrain

FAINT_DB = -15.0
"""Return below which interference is told to be faint [dB]; a convention."""
TERRAIN_PART = 5.0
"""Part of the progress bar that preparing the terrain takes [%]."""


@dataclass
class SurfaceRun:
    """All that a surface run needs.

    Attributes
    ----------
    source : QgsProcessingFeatureSource
    candidates : list of Candidate
    features, points : list
        The feature and the point geometry of each candidate.
    layers : SurfaceLayers
    settings : Settings
    reach_m : ndarray
        Farthest ground looked at, for each candidate [m].
    purpose : Purpose
    sight : SightLayers or None
        What may hide the surface; None where no layer tells.
    settle : Resolver or None
        Resolves more candidates as those of the run were.
    """

    source: object
    candidates: list[Candidate]
    features: list
    points: list
    layers: SurfaceLayers
    settings: Settings
    reach_m: np.ndarray
    purpose: Purpose
    sight: SightLayers | None = None
    settle: Resolver | None = None

    @property
    def returns_db(self) -> np.ndarray:
        """Co-polar reflection of a smooth surface of the run's kind at each elevation angle [dB]."""
        epsilon = self.purpose.substance.permittivity(SPEED_OF_LIGHT_M_S / self.settings.wavelength_m)
        return decibels(fresnel(epsilon, np.array(self.settings.elevation_deg)).co_polar)


def parameter_definitions(with_arcs: bool) -> list:
    """Define all parameters of a surface run, in the order of the dialog."""
    return [
        *define.candidates(), define.signal(), define.purpose(), *define.surface(),
        *define.zero_level(), *define.levels(), *define.terrain(), *define.roughness(), *define.angles(),
        *define.bins(),
        *(define.arcs() if with_arcs else []),
    ]


def set_up(algorithm, parameters, context, feedback, scouts: Callable | None = None) -> SurfaceRun:
    """Read and check everything.

    Parameters
    ----------
    scouts : callable, optional
        For an algorithm that looks from other places too: given the candidates and `SurfaceRun.settle`, it returns
        candidates that stand as far out and as high as any will. Layers are read and the terrain is prepared for
        these; candidates that cannot be assessed are then left to the algorithm.

    Raises
    ------
    InputError
        If the run would be meaningless.
    """
    def real(name):
        return finite(algorithm, parameters, name, context)

    def text(name):
        return algorithm.parameterAsEnumString(parameters, name, context)

    purpose = purpose_of(text("PURPOSE"))
    angles = elevation_angles(real("MIN_ELEVATION"), real("MAX_ELEVATION"), real("ELEVATION_STEP"))
    bins = bin_count(real("AZIMUTH_STEP"))
    if not 0 < real("MIN_SHARE") <= 1:
        raise InputError(f"MIN_SHARE is {real('MIN_SHARE'):g}; it must be above 0 and at most 1.")
    # without those parameters a bin needs a window and no more
    extra = {"min_cycles": 0.0, "max_res_m": None}
    if algorithm.parameterDefinition("MIN_CYCLES") is not None:
        extra = {"min_cycles": real("MIN_CYCLES"),
                 "max_res_m": real("MAX_RES") if purpose.needs_separation else None}
    settings = Settings(wavelength_m(text("SIGNAL")), tuple(float(a) for a in angles), bins,
                        real("MIN_SHARE"), noise_m=real("DEM_NOISE"), **extra)

    layers = SurfaceLayers(is_water=purpose.is_water, is_sea=purpose.is_tidal)
    layers.landcover = open_raster(algorithm, parameters, "LANDCOVER", context)
    layers.dem = open_raster(algorithm, parameters, "DEM", context)
    layers.dem_is_bed = text("DEM_WATER") == "bed"
    if layers.landcover is None and layers.dem is None and parameters.get("WATER") in (None, "", NULL):
        layers.check()
    classes = algorithm.parameterAsString(parameters, "TARGET_CLASSES", context)
    if layers.landcover is not None:
        layers.classes = parse_classes(classes)
        layers.class_names = layers.landcover.category_names
    elif (classes or "").strip():
        raise InputError("TARGET_CLASSES is given without LANDCOVER. Give the land cover, or leave the classes out.")

    source, candidates, features, points = read_candidates(algorithm, parameters, context, feedback, True)
    geoid = open_raster(algorithm, parameters, "GEOID", context)
    crs, reference = wkt_of(source.sourceCrs()), text("HEIGHT_REFERENCE")

    settle = Resolver(crs, reference, not layers.is_water, layers.dem, geoid)
    settle(candidates)
    seen = candidates if scouts is None else scouts(candidates, settle)
    if all(one.problem for one in seen):
        tell_problems(candidates, feedback)
    terrain = read_terrain(algorithm, parameters, context, feedback, seen, TERRAIN_PART)
    if scouts is None:
        find_buried(terrain, candidates, feedback)
        tell_problems(candidates, feedback)
    sight = None
    if terrain is not None:
        sight = SightLayers(layers.dem, None if terrain.barriers is None else terrain.barriers.barriers, terrain,
                            layers.is_water and not layers.dem_is_bed, not layers.is_water, real("DEM_NOISE"))
    reach = np.array([_reach_m(c, settings) for c in seen])
    _read_polygons(algorithm, parameters, context, feedback, layers, seen, float(reach.max()))
    layers.check()
    _check_layers(layers, seen, reach, settings, feedback)
    layers = layers.with_inflow(feedback.isCanceled)
    run = SurfaceRun(source, candidates, features, points, layers, settings, reach, purpose, sight,
                     settle)
    missing = not_looked_at(run)
    if missing:
        feedback.pushInfo(f"Not looked at: {'; '.join(missing)}.")
    _tell_returns(run, feedback)
    return run


def tell_cut_short(run: SurfaceRun, ends: list, feedback) -> None:
    """Say where elevation models end before MAX_DISTANCE, so that the skyline may be higher than known.

    Parameters
    ----------
    run : SurfaceRun
    ends : list of (int, ndarray or None)
        For candidates of the run: where the models end in each bin [m] (see `Sight`).
    feedback : QgsProcessingFeedback
    """
    short = [one for one in ends if one[1] is not None]
    if not short:
        return
    site, ends = min(short, key=lambda one: float(one[1].min()))
    where = ends_text(ends, run.sight.terrain.max_distance_m, run.settings.bin_width_deg)
    feedback.pushWarning(
        f"For {len(short)} of {len(run.candidates)} candidates the elevation models end before MAX_DISTANCE "
        f"({run.sight.terrain.max_distance_m:g} m), so the skyline may be higher than known; the nearest end, "
        f"“{run.candidates[site].name}”: {where}. Give DEM_FAR, or look at the horizon mask.")


def _tell_returns(run, feedback):
    """Say how much the surface returns at the angles looked at, and which window that suggests."""
    angle, returns = run.settings.elevation_deg, run.returns_db
    text = (f"What {run.purpose.substance.label} returns when smooth, in the antenna's own polarisation: "
            f"{returns[0]:.1f} dB at {angle[0]:g}°, {returns[-1]:.1f} dB at {angle[-1]:g}°.")
    epsilon = run.purpose.substance.permittivity(SPEED_OF_LIGHT_M_S / run.settings.wavelength_m)
    highest = float(window_by_return(epsilon, FAINT_DB))
    if highest < angle[-1]:
        text += (f" Above {highest:.0f}° it is below {FAINT_DB:g} dB (a convention): there the interference is faint, "
                 "and what counts is that the window below is long enough.")
    feedback.pushInfo(text)


def not_looked_at(run: SurfaceRun) -> list[str]:
    """List what could spoil a site and was not looked at, for no layer or number tells it."""
    layers, missing = run.layers, []
    if run.sight is None:
        missing.append("line of sight and terrain (neither DEM nor BARRIERS is given)")
    if layers.is_water and layers.water_waves is None and not any(c.wave_m > 0 for c in run.candidates):
        missing.append("waves (no wave height is given)")
    if run.purpose.is_tidal and not any(c.low_m or c.high_m for c in run.candidates):
        missing.append("the tide (LEVEL_LOW and LEVEL_HIGH are both 0)")
    return missing


def _reach_m(candidate, settings):
    if candidate.problem:
        return 1.0
    return float(first_zone(candidate.heights_m.max(), settings.elevation_deg[0], settings.wavelength_m).far_m)


def _read_polygons(algorithm, parameters, context, feedback, layers, candidates, reach):
    wave = -1
    if parameters.get("WATER") not in (None, "", NULL):
        water = source_of(algorithm, parameters, "WATER", context)
        wave = field_index(algorithm, parameters, "WATER_WAVE", context, water)
    layers.water, keys = read_polygons(
        algorithm, parameters, "WATER", context, feedback, candidates, reach,
        None if wave < 0 else lambda feature, source: _wave_of(feature, wave, source))
    if wave >= 0:
        layers.water_waves = np.array([math.nan if key is None else key for key in keys] or [math.nan])
    layers.water_is_land = algorithm.parameterAsEnumString(parameters, "WATER_IS", context) == "land"
    if parameters.get("AVOID") in (None, "", NULL):
        return
    source = source_of(algorithm, parameters, "AVOID", context)
    share = field_index(algorithm, parameters, "AVOID_FIELD", context, source)
    name = field_index(algorithm, parameters, "AVOID_NAME", context, source)

    def group_of(feature, _source):
        label = feature.attribute(name) if name >= 0 else None
        return ("" if label is None or label == NULL else str(label), _share_of(feature, share, source))

    layers.avoid, keys = read_polygons(
        algorithm, parameters, "AVOID", context, feedback, candidates, reach, group_of)
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


def _check_layers(layers, candidates, reach, settings, feedback):
    fit = [i for i, c in enumerate(candidates) if not c.problem]
    lon, lat = np.array([candidates[i].lon for i in fit]), np.array([candidates[i].lat for i in fit])
    least = min(float(candidates[i].heights_m.min()) for i in fit)
    narrowest = 2.0 * float(first_zone(least, settings.elevation_deg[-1], settings.wavelength_m).semi_minor_m)
    for raster, name, classes in ((layers.landcover, "LANDCOVER", layers.classes),
                                  (layers.dem if layers.dem_decides else None, "DEM", None)):
        if raster is not None:
            check_raster(raster, name, lon, lat, reach[fit], narrowest, classes, feedback.pushWarning)
    if layers.is_water and layers.dem is not None and not layers.dem_is_bed:
        feedback.pushInfo("DEM_WATER is “surface”: drying out at low level was not checked.")
    if layers.is_water and layers.dem_decides and layers.landcover is None and layers.water is None:
        how = ("with the rim of the DEM" if layers.is_sea else "with the edge of the ground looked at, which a lake "
               "does not tell from a hollow")
        feedback.pushWarning(
            f"Only the DEM tells where water is: ground below the level counts as water where it is connected {how}. "
            "Give WATER or LANDCOVER to be sure that water reaches it.")
