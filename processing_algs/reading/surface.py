"""Setting up a run that looks at the surface: candidates, layers and settings from the parameters."""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Callable

import numpy as np

from ...siting.candidates import Resolver
from ...siting.errors import InputError
from ...siting.geometry.fresnel import first_zone
from ...siting.ground.checks import check_raster
from ...siting.ground.surfacelayers import SurfaceLayers
from ...siting.precision.worth import SkyLook
from ...siting.purposes import Purpose, purpose_of
from ...siting.reflection.coefficients import decibels, fresnel
from ...siting.reflection.strength import window_by_return
from ...siting.settings import Settings
from ...siting.setup import Limits, Setup
from ...siting.sight.looking import SightLayers
from ...siting.signals import SPEED_OF_LIGHT_M_S, wavelength_m
from ...siting.verdict.score import Criterion
from ...siting.windows import bin_count, elevation_angles
from ...siting.words.ends import ends_text
from . import parameters as define
from .candidates import Sites, read_resolver, read_sites, tell_problems
from .given import Given
from .surfacelayers import read_surface_polygons, read_surface_rasters
from .terrain import read_terrain, tell_buried

FAINT_DB = -15.0
"""Return below which interference is told to be faint [dB]; a convention."""
TERRAIN_PART = 5.0
"""Part of the progress bar that preparing the terrain takes [%]."""


@dataclass
class SurfaceRun(Sites):
    """All that a surface run needs.

    Attributes
    ----------
    layers : SurfaceLayers
    settings : Settings
    reach_m : ndarray
        Farthest ground looked at, for each candidate [m].
    purpose : Purpose
    resolver : Resolver
        Resolves more candidates as those of the run were.
    sight : SightLayers or None
        What may hide the surface; None where no layer tells.
    """

    layers: SurfaceLayers
    settings: Settings
    reach_m: np.ndarray
    purpose: Purpose
    resolver: Resolver
    sight: SightLayers | None = None

    def setup(self, criteria: Sequence[Criterion], look: SkyLook, limits: Limits) -> Setup:
        """Put together what the candidates, and places beside them, are judged by."""
        return Setup(self.layers, self.settings, look, criteria, self.sight, limits, self.resolver)

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


def set_up(given: Given, scouts: Callable | None = None) -> SurfaceRun:
    """Read and check everything.

    Parameters
    ----------
    scouts : callable, optional
        For an algorithm that looks from other places too: given the candidates and their resolver, it returns
        candidates that stand as far out and as high as any will. Layers are read and the terrain is prepared for
        these; candidates that cannot be assessed are then left to the algorithm.

    Raises
    ------
    InputError
        If the run would be meaningless.
    """
    purpose = purpose_of(given.choice("PURPOSE"))
    settings = _read_settings(given, purpose)
    layers = read_surface_rasters(given, purpose)
    sites = read_sites(given)
    candidates = sites.candidates
    resolver = read_resolver(given, sites, layers.dem, not purpose.is_water)
    resolver(candidates)
    seen = candidates if scouts is None else scouts(candidates, resolver)
    if all(one.problem for one in seen):
        tell_problems(given, candidates)
    terrain = read_terrain(given, seen, TERRAIN_PART)
    if scouts is None:
        tell_buried(given, terrain, candidates)
        tell_problems(given, candidates)
    sight = None
    if terrain is not None:
        sight = SightLayers(layers.dem, None if terrain.barriers is None else terrain.barriers.barriers, terrain,
                            layers.is_water and not layers.dem_is_bed, not layers.is_water, settings.noise_m)
    reach = np.array([_reach_m(c, settings) for c in seen])
    read_surface_polygons(given, layers, seen, float(reach.max()))
    layers.check()
    _check_layers(given, layers, seen, reach, settings)
    run = SurfaceRun(**vars(sites), layers=layers.with_inflow(given.is_cancelled), settings=settings, reach_m=reach,
                     purpose=purpose, resolver=resolver, sight=sight)
    missing = not_looked_at(run)
    if missing:
        given.note(f"Not looked at: {'; '.join(missing)}.")
    _tell_returns(given, run)
    return run


def _read_settings(given, purpose) -> Settings:
    """Read what is looked at around each site, and what counts."""
    angles = elevation_angles(given.real("MIN_ELEVATION"), given.real("MAX_ELEVATION"), given.real("ELEVATION_STEP"))
    bins = bin_count(given.real("AZIMUTH_STEP"))
    share = given.real("MIN_SHARE")
    if not 0 < share <= 1:
        raise InputError(f"MIN_SHARE is {share:g}; it must be above 0 and at most 1.")
    # without those parameters a bin needs a window and no more
    cycles, apart = 0.0, None
    if given.takes("MIN_CYCLES"):
        cycles, apart = given.real("MIN_CYCLES"), given.real("MAX_RES") if purpose.needs_separation else None
    return Settings(wavelength_m(given.choice("SIGNAL")), tuple(float(a) for a in angles), bins, share, cycles, apart,
                    given.real("DEM_NOISE"))


def tell_cut_short(given: Given, run: SurfaceRun, ends: list) -> None:
    """Say where elevation models end before MAX_DISTANCE, so that the skyline may be higher than known.

    Parameters
    ----------
    run : SurfaceRun
    ends : list of (int, ndarray or None)
        For candidates of the run: where the models end in each bin [m] (see `Sight`).
    """
    short = [one for one in ends if one[1] is not None]
    if not short:
        return
    site, ends = min(short, key=lambda one: float(one[1].min()))
    where = ends_text(ends, run.sight.terrain.max_distance_m, run.settings.bin_width_deg)
    given.warn(
        f"For {len(short)} of {len(run.candidates)} candidates the elevation models end before MAX_DISTANCE "
        f"({run.sight.terrain.max_distance_m:g} m), so the skyline may be higher than known; the nearest end, "
        f"“{run.candidates[site].name}”: {where}. Give DEM_FAR, or look at the horizon mask.")


def _tell_returns(given, run):
    """Say how much the surface returns at the angles looked at, and which window that suggests."""
    angle, returns = run.settings.elevation_deg, run.returns_db
    text = (f"What {run.purpose.substance.label} returns when smooth, in the antenna's own polarisation: "
            f"{returns[0]:.1f} dB at {angle[0]:g}°, {returns[-1]:.1f} dB at {angle[-1]:g}°.")
    epsilon = run.purpose.substance.permittivity(SPEED_OF_LIGHT_M_S / run.settings.wavelength_m)
    highest = float(window_by_return(epsilon, FAINT_DB))
    if highest < angle[-1]:
        text += (f" Above {highest:.0f}° it is below {FAINT_DB:g} dB (a convention): there the interference is faint, "
                 "and what counts is that the window below is long enough.")
    given.note(text)


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


def _check_layers(given, layers, candidates, reach, settings):
    fit = [i for i, c in enumerate(candidates) if not c.problem]
    lon, lat = np.array([candidates[i].lon for i in fit]), np.array([candidates[i].lat for i in fit])
    least = min(float(candidates[i].heights_m.min()) for i in fit)
    narrowest = 2.0 * float(first_zone(least, settings.elevation_deg[-1], settings.wavelength_m).semi_minor_m)
    for raster, name, classes in ((layers.landcover, "LANDCOVER", layers.classes),
                                  (layers.dem if layers.dem_decides else None, "DEM", None)):
        if raster is not None:
            for warning in check_raster(raster, name, lon, lat, reach[fit], narrowest, classes):
                given.warn(warning)
    if layers.is_water and layers.dem is not None and not layers.dem_is_bed:
        given.note("DEM_WATER is “surface”: drying out at low level was not checked.")
    if layers.is_water and layers.dem_decides and layers.landcover is None and layers.water is None:
        how = ("with the rim of the DEM" if layers.is_sea else "with the edge of the ground looked at, which a lake "
               "does not tell from a hollow")
        given.warn(
            f"Only the DEM tells where water is: ground below the level counts as water where it is connected {how}. "
            "Give WATER or LANDCOVER to be sure that water reaches it.")
