"""Candidates: where each antenna stands and how high, checked one by one."""
from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from .arrays import Array
from .errors import InputError, SiteError
from .geometry.localframe import to_lonlat
from .ground.rasters import Raster
from .ground.rastersampling import RasterSampler
from .heights import check_geoid, height_over_zero, levels_between


@dataclass
class Candidate:
    """One antenna position as the user gives it, and what was made of it.

    Attributes
    ----------
    name : str
    x, y : float
        Position in the CRS of the candidates; NaN for an empty geometry.
    height_m : float
        Antenna height [m], measured from the reference of the run.
    zero_level_m : float
        Zero level of the water in the DEM's vertical datum [m].
    low_m, high_m : float
        Ordinary lowest and highest level relative to the zero level [m].
    wave_m : float
        Significant wave height of the water [m].
    lon, lat : float
        WGS 84 [°], filled by `resolve`.
    over_zero_m : float
        Height over the zero level [m], filled by `resolve`.
    levels_m : ndarray
        Levels looked at, filled by `resolve`.
    own : dict of str to float
        The analyst's own properties by field; NaN where a value is missing.
    problem : str
        Why it cannot be assessed; empty where it can.
    drowned : bool
        Whether `problem` is that the antenna is under water at the highest level.
    trace : str
        Traceback where `problem` is an error of our own.
    """

    name: str
    x: float
    y: float
    height_m: float
    zero_level_m: float = 0.0
    low_m: float = 0.0
    high_m: float = 0.0
    wave_m: float = 0.0
    own: dict = field(default_factory=dict)
    lon: float = np.nan
    lat: float = np.nan
    over_zero_m: float = np.nan
    levels_m: Array = field(default_factory=lambda: np.zeros(1))
    problem: str = ""
    drowned: bool = False
    trace: str = ""

    @property
    def heights_m(self) -> Array:
        """Heights over the surface at each level [m], to the millimetre, falling."""
        return np.round(self.over_zero_m - self.levels_m, 3)

    @property
    def clearance_m(self) -> float:
        """Height over the highest level [m]."""
        return float(self.over_zero_m - self.high_m)

    def at(self, over_zero_m: float, low_m: float, high_m: float) -> Candidate:
        """Return the same at another height and other levels; the one place that tells whether it is under water.

        Parameters
        ----------
        over_zero_m : float
            Height over the zero level [m].
        low_m, high_m : float
            Lowest and highest level relative to the zero level [m].

        Returns
        -------
        Candidate
            With its levels, or with a `problem`: what they cannot be, or that the antenna is not half a millimetre
            above the highest of them (`drowned`), for heights count to the millimetre.
        """
        other = replace(self, over_zero_m=float(over_zero_m), low_m=float(low_m), high_m=float(high_m))
        try:
            other.levels_m = levels_between(other.low_m, other.high_m, other.over_zero_m)
        except SiteError as error:
            other.problem = str(error)
            return other
        if round(other.clearance_m, 3) <= 0:
            other.drowned = True
            depth = f"{-other.clearance_m:.2f} m under" if other.clearance_m <= -0.005 else "at"
            other.problem = f"at the highest level ({other.high_m:+.2f} m) the antenna is {depth} the surface"
        elif round(other.over_zero_m, 3) <= 0:
            other.problem = _not_above(other.over_zero_m)
        return other


def point_values(raster: Raster, lon: Array, lat: Array, is_smooth: bool = False) -> tuple[Array, Array]:
    """Look a raster up at single points.

    Parameters
    ----------
    raster : Raster
    lon, lat : ndarray, shape (n,)
        WGS 84 [°]; NaN gives no value.
    is_smooth : bool
        Interpolate between cells (a geoid) instead of taking the cell under the point (a roof).

    Returns
    -------
    values : ndarray of float
    valid : ndarray of bool
    """
    sampler = RasterSampler(raster, lon, lat, 1.0)
    values, valid = np.full(len(lon), np.nan), np.zeros(len(lon), bool)
    for site in np.flatnonzero(np.isfinite(lon)):
        if is_smooth:
            values[site], valid[site] = sampler.between_cells(int(site))
            continue
        value, ok = sampler.sample(int(site), np.zeros(1), np.zeros(1))
        if ok[0]:
            values[site], valid[site] = float(value[0]), True
    return values, valid


def resolve(candidates: list[Candidate], crs: str, reference: str, zero_is_ground: bool,
            dem: Raster | None = None, geoid: Raster | None = None) -> None:
    """Find each candidate's position on the Earth and its height over the surface, in place.

    Parameters
    ----------
    candidates : list of Candidate
    crs : str
        CRS of their positions.
    reference : str
        HEIGHT_REFERENCE, see `siting.heights.REFERENCES`.
    zero_is_ground : bool
        Whether the zero level is the DEM's ground below the antenna (snow, soil).
    dem, geoid : Raster, optional

    Raises
    ------
    InputError
        If the reference needs a raster that is not given, or the geoid is empty or zero.
    """
    if reference == "ground" and dem is None:
        raise InputError("HEIGHT_REFERENCE is “ground”, which needs DEM. Give the DEM, or another reference.")
    if reference in ("datum", "ellipsoid") and zero_is_ground and dem is None:
        raise InputError(
            f"HEIGHT_REFERENCE is “{reference}” and the zero level of snow and soil is the ground: "
            "that needs DEM. Give the DEM, or another reference.")
    if reference == "ellipsoid" and geoid is None:
        raise InputError(
            "HEIGHT_REFERENCE is “ellipsoid”, which needs GEOID: the height of the DEM's zero above the "
            "WGS 84 ellipsoid [m]. Without it the heights would be wrong by the geoid's height.")
    lon, lat = to_lonlat([c.x for c in candidates], [c.y for c in candidates], crs)
    on_earth = np.isfinite(lon) & np.isfinite(lat) & (np.abs(lat) <= 90)
    lon, lat = np.where(on_earth, lon, np.nan), np.where(on_earth, lat, np.nan)
    nothing = np.full(len(candidates), np.nan)
    ground = point_values(dem, lon, lat)[0] if dem is not None else nothing
    undulation = nothing
    if reference == "ellipsoid":
        undulation, valid = point_values(geoid, lon, lat, is_smooth=True)
        check_geoid(undulation, valid, geoid.name)
    for i, candidate in enumerate(candidates):
        candidate.lon, candidate.lat = float(lon[i]), float(lat[i])
        try:
            _resolve_one(candidate, reference, zero_is_ground, float(ground[i]), float(undulation[i]), dem is not None)
        except SiteError as error:
            candidate.problem = str(error)


@dataclass(frozen=True)
class Resolver:
    """Resolves candidates of one run, all in the same way (see `resolve`).

    Attributes
    ----------
    crs, reference : str
    zero_is_ground : bool
    dem, geoid : Raster or None
    """

    crs: str
    reference: str
    zero_is_ground: bool
    dem: Raster | None = None
    geoid: Raster | None = None

    def __call__(self, candidates: list[Candidate]) -> None:
        """Resolve candidates in place."""
        resolve(candidates, self.crs, self.reference, self.zero_is_ground, self.dem, self.geoid)

    def reopened(self) -> Resolver:
        """Return the same on rasters opened once more, for another thread."""
        return replace(self, **{name: None if raster is None else raster.reopened()
                                for name, raster in (("dem", self.dem), ("geoid", self.geoid))})


def _not_above(over_zero_m):
    return f"its height over the surface is {over_zero_m:.2f} m; it must be above 0"


def _resolve_one(candidate: Candidate, reference, zero_is_ground, ground_m, undulation_m, has_dem):
    if candidate.problem:
        return
    if not (np.isfinite(candidate.x) and np.isfinite(candidate.y)):
        raise SiteError("it has no geometry")
    if not np.isfinite(candidate.lon):
        raise SiteError("its position lies outside what its coordinate reference system can express")
    if not candidate.wave_m >= 0:
        raise SiteError(f"its significant wave height is {candidate.wave_m:g} m; it must be a number, 0 or more")
    if not zero_is_ground and not np.isfinite(candidate.zero_level_m):
        raise SiteError("the zero level of its water is not a number")
    if zero_is_ground and has_dem and not np.isfinite(ground_m):
        raise SiteError("the DEM has no data at the site, so its ground is not known")
    zero = None if zero_is_ground else candidate.zero_level_m
    candidate.over_zero_m = height_over_zero(reference, candidate.height_m, zero, ground_m, undulation_m)
    if round(candidate.over_zero_m, 3) <= 0:
        raise SiteError(_not_above(candidate.over_zero_m))
    told = candidate.at(candidate.over_zero_m, candidate.low_m, candidate.high_m)
    candidate.levels_m, candidate.drowned = told.levels_m, told.drowned
    if told.problem:
        raise SiteError(told.problem)
    if zero_is_ground and np.isfinite(ground_m):
        candidate.zero_level_m = ground_m
