"""The skyline of sites: elevation models, near and far, and barriers."""
from __future__ import annotations

from copy import copy
from dataclasses import replace
from typing import Callable, NamedTuple

import numpy as np

from ..earth import RADIO_K, RADIUS_M
from ..errors import InputError
from ..ground.rasters import Raster
from .barriers import Barriers, BarrierView
from .relief import SIZES, Relief
from .search import Best, Search

USUAL_DISTANCE_M = 20_000.0
"""How far ground and barriers are looked at unless told otherwise [m]; a convention."""


class Skyline(NamedTuple):
    """What stands highest in each direction.

    Attributes
    ----------
    el_deg : ndarray, shape (azimuths,)
        Elevation angle of the skyline from the antenna [°]; may be below 0. -inf where no layer tells anything.
        With a floor, values below it are only known to lie below it (-inf where nothing had to be looked at).
    dist_m : ndarray, shape (azimuths,)
        Ground distance to what forms it [m]; NaN where `el_deg` is -inf.
    ends_m : ndarray, shape (azimuths,)
        Distance to which the elevation models hold data in that direction [m]: the greatest distance looked at where
        they go on, 0 where they have nothing. To a cell near the site and where a raster ends, to 16 cells where data
        end within it farther off. Without an elevation model the
        greatest distance: barriers are taken to be complete.
    """

    el_deg: np.ndarray
    dist_m: np.ndarray
    ends_m: np.ndarray


class Terrain:
    """What may stand in the way around many sites.

    Parameters
    ----------
    dem : Raster or None
        Elevation of the ground [m], at its own resolution.
    dem_far : Raster or None
        Coarser and wider elevation [m], same vertical datum, any CRS; looked at where `dem` has no data.
    barriers : Barriers or None
    max_distance_m : float
        How far to look [m].
    lon, lat : array_like, shape (n,)
        All sites, WGS 84 [°]; NaN for none.
    is_cancelled : callable
        Asked while files are read.
    progress : callable
        Called with a fraction 0 to 1 and a message while files are prepared.
    refraction_k : float
        Effective radius of the Earth over the real one.

    Raises
    ------
    InputError
        If nothing is given, the distance is not above 0, or a file is damaged.
    Cancelled
    """

    # nine parameters: three layers, where from and how far, the curvature, and how reading is watched and stopped
    def __init__(self, dem: Raster | None, dem_far: Raster | None = None, barriers: Barriers | None = None,  # noqa: PLR0913
                 max_distance_m: float = USUAL_DISTANCE_M, lon=(), lat=(),
                 is_cancelled: Callable[[], bool] = lambda: False,
                 progress: Callable[[float, str], None] = lambda fraction, message: None,
                 refraction_k: float = RADIO_K):
        if dem is None and dem_far is None and barriers is None:
            raise InputError("A skyline needs something that stands up: give DEM, DEM_FAR or BARRIERS.")
        if not (np.isfinite(max_distance_m) and max_distance_m > 0):
            raise InputError(f"MAX_DISTANCE is {max_distance_m:g} m; it must be above 0.")
        self.max_distance_m = float(max_distance_m)
        lon, lat = np.atleast_1d(np.asarray(lon, float)), np.atleast_1d(np.asarray(lat, float))
        self._earth_m = RADIUS_M * refraction_k
        self._is_cancelled = is_cancelled
        parts = [raster for raster in (dem, dem_far) if raster is not None]

        def prepared(raster):
            done = parts.index(raster)
            return Relief(raster, lon, lat, self.max_distance_m, is_cancelled,
                          lambda part, message: progress((done + part) / len(parts), message))

        self.near = None if dem is None else prepared(dem)
        self.far = None if dem_far is None else prepared(dem_far)
        self.barriers = None if barriers is None else BarrierView(barriers, lon, lat, self.max_distance_m)

    def seen_from(self, lon, lat, base_m: float | np.ndarray | None = None) -> Terrain:
        """Look from other sites over what is prepared already; files are not read again.

        Parameters
        ----------
        lon, lat : array_like, shape (n,)
            WGS 84 [°]; NaN for none. They must lie between or near the sites of this terrain: ground that is farther
            than the greatest distance from all of those counts as missing.
        base_m : float or array_like, shape (n,), optional
            Height of the ground around each where no elevation model tells it [m]; as before if not given.

        Returns
        -------
        Terrain
        """
        lon, lat = np.atleast_1d(np.asarray(lon, float)), np.atleast_1d(np.asarray(lat, float))
        other = copy(self)
        other.near, other.far = (None if one is None else one.seen_from(lon, lat) for one in (self.near, self.far))
        if self.barriers is not None:
            barriers = self.barriers.barriers
            barriers = barriers if base_m is None else replace(barriers, base_m=np.asarray(base_m, float))
            other.barriers = BarrierView(barriers, lon, lat, self.max_distance_m)
        return other

    def skyline(self, site: int, antenna_z_m: float, azimuth_deg, floor_deg: float | None = None) -> Skyline:
        """Find the skyline of a site.

        A point of height z at ground distance d stands at atan((z - d²/(2 k R) - antenna)/d): the formula itself is
        good to 0.002° at 20 km. Elevation models count cell by cell, each at the distance of its centre; what cannot
        raise the skyline by 0.0002° is left out.

        Parameters
        ----------
        site : int
            Index into `lon` and `lat`.
        antenna_z_m : float
            Height of the antenna in the elevation model's vertical datum [m].
        azimuth_deg : array_like, shape (azimuths,)
            Directions looked at, clockwise from true north [°].
        floor_deg : float, optional
            Angle below which the skyline is of no interest [°]; saves most of the work.

        Returns
        -------
        Skyline

        Raises
        ------
        InputError
            If a file is damaged.
        Cancelled
        """
        azimuth = np.atleast_1d(np.asarray(azimuth_deg, float))
        floor = -np.inf if floor_deg is None else float(np.tan(np.radians(floor_deg)))
        best = Best(np.full(len(azimuth), -np.inf), np.full(len(azimuth), np.nan))
        near = self._search(self.near, site, azimuth, antenna_z_m)
        far = self._search(self.far, site, azimuth, antenna_z_m)
        elsewhere = None
        if near is not None:
            near.raise_best(best, floor)
            elsewhere = _Covered(near)
        if far is not None:
            far.raise_best(best, floor, elsewhere)
        if self.barriers is not None:
            self._barriers(best, site, azimuth, antenna_z_m, floor, near, far)
        found = np.isfinite(best.slope)
        return Skyline(np.where(found, np.degrees(np.arctan(best.slope)), -np.inf), best.dist_m,
                       self._ends(near, far, len(azimuth)))

    def ground(self, site: int) -> float:
        """Return the ground under a site [m]: of the near elevation model, else of the far one; NaN without any."""
        for relief in (self.near, self.far):
            rays = None if relief is None else relief.map.rays(site, np.zeros(1))
            if rays is not None:
                row, col = rays.own_cell
                height = float(relief.tiles.values(np.array([row]), np.array([col]))[0])
                if np.isfinite(height):
                    return height
        return float("nan")

    def _search(self, relief, site, azimuth, antenna_m):
        rays = None if relief is None else relief.map.rays(site, azimuth)
        if rays is None:
            return None
        relief.sharpen(site)
        return Search(relief, rays, antenna_m, self.max_distance_m, self._earth_m, self._is_cancelled)

    def _barriers(self, best, site, azimuth, antenna_m, floor, near, far):
        def ground(ray, dist):
            height = np.full(len(ray), np.nan)
            for search in (near, far):
                left = np.isnan(height)
                if search is not None and left.any():
                    height[left] = search.relief.heights(*search.rays.exactly(ray[left], dist[left]))
            return height

        def slope(height, dist):
            return (height - antenna_m - dist**2 / (2.0 * self._earth_m)) / dist

        # nothing beyond where the highest top would stand below all that is known already
        tops = [search.relief.highest_m for search in (near, far) if search is not None]
        top = max([*tops, self.barriers.base_m(site)]) + self.barriers.highest_m - antenna_m
        least = max(float(best.slope.min()), floor)
        reach = self.max_distance_m if least <= 0 else min(max(top, 0.0) / least + 1.0, self.max_distance_m)
        self.barriers.raise_best(best, site, azimuth, reach, slope, ground)

    def _ends(self, near, far, rays):
        if self.near is None and self.far is None:
            return np.full(rays, self.max_distance_m)
        known = np.zeros(rays)
        for search in (near, far):
            if search is not None and not np.all(known >= self.max_distance_m):
                known = np.maximum(known, search.known_to(rays))
        return known


class _Covered:
    """Tells where the near elevation model holds data, so that the far one does not count."""

    def __init__(self, near: Search):
        self._relief, self._rays = near.relief, near.rays

    def __call__(self, ray, dist_m, half_m):
        if half_m is not None:
            return self._stretches(ray, dist_m, half_m)
        col, row = self._rays.exactly(ray, dist_m)
        covered = self._relief.is_full(0, col, row)
        unsure = ~covered & (self._relief.upper(0, col, row) > -np.inf)
        if unsure.any():
            covered[unsure] = np.isfinite(self._relief.heights(col[unsure], row[unsure]))
        return covered

    def _stretches(self, ray, dist_m, half_m):
        """Tell which whole stretches are covered, by the smallest blocks that are wide enough."""
        cells = half_m * self._rays.cells_per_m
        for size in range(SIZES):
            if self._relief.side(size) >= cells:
                return self._relief.is_full(size, *self._rays.roughly(ray, dist_m))
        return np.zeros(len(ray), bool)
