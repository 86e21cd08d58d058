"""Seen from the antenna, lit by the satellite, clear of the skyline: what of a footprint works at all.

Along a ray from the antenna a spot is *seen* where its slope is at least the
greatest slope of anything nearer. Towards the satellite a spot is *lit* at
elevation angle e where nothing beyond it stands higher than e as seen from the
spot itself; those lines run parallel to the bin's azimuth, not through the
antenna. The satellite is *clear* where it stands above the antenna's skyline,
lifted by refraction. Water hides no water: the top of a spot that is target
counts as the level looked at, whatever the DEM shows there.
"""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..arrays import Array
from ..earth import RADIO_RADIUS_M
from ..geometry.fresnel import Ellipse
from ..ground.polargrid import PolarGrid, widest_half_width_rad
from .refraction import refraction_deg
from .strips import NOTHING, STEP_BEYOND, AroundNorth, Shadow, Strips, Unlit
from .surroundings import Surroundings

STANDS_OUT_M = 0.5
"""How far the DEM must rise above its usual water surface to be something else than water [m]."""
FLAT_M = 0.1
"""How well ground must keep to that surface to be water where no layer tells [m]."""


class Obstacle(NamedTuple):
    """What forms the skyline in each bin; arrays of shape (bins,).

    Attributes
    ----------
    el_deg : ndarray
        Elevation angle from the antenna [°]; -inf where nothing is known or it is too low to matter.
    dist_m : ndarray
        Its distance [m].
    """

    el_deg: Array
    dist_m: Array


class Ground(NamedTuple):
    """What kind of ground a DEM shows around a site.

    Attributes
    ----------
    water : ndarray of bool, shape (n_rings, rays), or None
        Where it shows water and not ground; None where it does nowhere, or goes on under water.
    rises_with_level : bool
        Whether the ground everywhere lies higher at a higher level (snow).
    noise_m : float
        By how much something must stand out to hide anything [m].
    """

    water: Array | None = None
    rises_with_level: bool = False
    noise_m: float = 0.0


class Sight:
    """What hides the surface around one site.

    Parameters
    ----------
    surroundings : Surroundings or None
    grid : PolarGrid
        On which the surface is sampled.
    antenna_z_m : float
        Elevation of the antenna in the DEM's vertical datum [m].
    ground : Ground
        Told on `grid`.
    skyline : Obstacle or None
    ends_m : ndarray, shape (bins,), or None
        Where the elevation models end in each direction [m]; None where they reach far enough.
    """

    def __init__(self, surroundings: Surroundings | None, grid: PolarGrid, antenna_z_m: float,
                 ground: Ground = Ground(), skyline: Obstacle | None = None, ends_m: Array | None = None):
        self.surroundings, self.grid, self.antenna_z_m, self.ends_m = surroundings, grid, antenna_z_m, ends_m
        self.rises_with_level, self.noise_m, self.skyline = ground.rises_with_level, ground.noise_m, skyline
        self._horizon: dict = {}
        self._highest: Array | None = None
        if surroundings is None:
            return
        self._ring = np.clip(np.searchsorted(surroundings.grid.edges_m, grid.radius_m, side="right") - 1, 0,
                             len(surroundings.top_m) - 1)
        self._top = surroundings.top_m if ground.water is None else self._without_water(ground.water)

    def _without_water(self, water):
        """Take spots that are water out of what may hide: the DEM's water surface is not ground."""
        radius, edges = self.surroundings.grid.radius_m, self.grid.edges_m
        top = self.surroundings.top_m
        ring = np.clip(np.searchsorted(edges, radius, side="right") - 1, 0, len(water) - 1)
        is_inside = ((radius >= edges[0]) & (radius <= edges[-1]))[:, None]
        is_water = water[ring] & is_inside & np.isfinite(top)
        if self.surroundings.is_barrier is not None:
            is_water &= ~self.surroundings.is_barrier
        if not is_water.any():
            return top
        surface = np.median(top[is_water])
        # what stands out of the water, such as a pier that the land cover does not know, may well hide; where
        # nothing is told, before and behind the footprints, ground as flat as the water is water
        is_water = np.where(is_inside, is_water & (top <= surface + STANDS_OUT_M), np.abs(top - surface) <= FLAT_M)
        if self.surroundings.is_barrier is not None:
            is_water &= ~self.surroundings.is_barrier
        return np.where(is_water, np.float32(-np.inf), top)

    def _greatest_slope_before(self, rise_m):
        """Return for each ring of the grid the greatest slope of anything nearer, shape (n_rings, rays)."""
        key = round(float(rise_m), 4)
        if key not in self._horizon:
            surroundings = self.surroundings
            height = self._top - surroundings.drop_m - np.float32(self.antenna_z_m - rise_m + self.noise_m)
            slope = height / surroundings.grid.radius_m[:, None].astype(np.float32)
            before = np.maximum.accumulate(slope, axis=0)
            before = np.concatenate([np.full((1, slope.shape[1]), -np.inf, np.float32), before[:-1]])
            self._horizon[key] = before[self._ring]
        return self._horizon[key]

    def seen(self, level_z_m: float, zero_z_m: float) -> Array | None:
        """Tell which spots the antenna sees.

        Parameters
        ----------
        level_z_m, zero_z_m : float
            The level looked at, and the zero level, in the DEM's vertical datum [m].

        Returns
        -------
        ndarray of bool, shape (n_rings, rays), or None
            None where all are seen.
        """
        if self.surroundings is None:
            return None
        rise = level_z_m - zero_z_m if self.rises_with_level else 0.0
        before = self._greatest_slope_before(rise)
        height = self.spot_z_m(level_z_m, rise) - np.float32(self.antenna_z_m)
        drop = (self.grid.radius_m**2 / (2.0 * RADIO_RADIUS_M)).astype(np.float32)
        seen = (height - drop[:, None]) / self.grid.radius_m[:, None].astype(np.float32) >= before
        return None if seen.all() else seen

    def hider_m(self, level_z_m: float, zero_z_m: float, hidden: Array, bins: int) -> Array:
        """Find how far out stands what hides spots.

        Parameters
        ----------
        level_z_m, zero_z_m : float
            See `seen`.
        hidden : ndarray of bool, shape (n_rings, rays)
            The spots spoken of.
        bins : int

        Returns
        -------
        ndarray, shape (bins,)
            Median over the rays of a bin that hide spots [m]; NaN where none does.
        """
        rise = level_z_m - zero_z_m if self.rises_with_level else 0.0
        before = self._greatest_slope_before(rise)
        surroundings = self.surroundings
        rays = np.flatnonzero(hidden.any(axis=0))
        first = np.argmax(hidden[:, rays], axis=0)
        greatest = before[first, rays]
        height = self._top[:, rays] - surroundings.drop_m - np.float32(self.antenna_z_m - rise + self.noise_m)
        slope = height / surroundings.grid.radius_m[:, None].astype(np.float32)
        dist = surroundings.grid.radius_m[np.argmax(slope >= greatest - 1e-6, axis=0)]
        result = np.full(bins, np.nan)
        of_bin = rays // self.grid.rays_per_bin
        for bin_index in np.unique(of_bin):
            result[bin_index] = np.median(dist[of_bin == bin_index])
        return result

    def spot_top_m(self) -> Array:
        """Return what the DEM shows at each spot of the surface's grid [m]; -inf where nothing is known or water."""
        return self._top[self._ring]

    def spot_z_m(self, level_z_m: float, rise_m: float = 0.0) -> Array:
        """Return the height of each spot: ground, or the level where that is higher [m]."""
        top = self._top[self._ring]
        if self.rises_with_level:
            return np.where(np.isfinite(top), top + np.float32(rise_m), np.float32(level_z_m))
        return np.maximum(top, np.float32(level_z_m))

    def clear(self, elevation_deg: Array) -> Array | None:
        """Tell where satellites stand above the skyline, shape (angles, bins); None where all do."""
        if self.skyline is None:
            return None
        apparent = elevation_deg + refraction_deg(elevation_deg)
        clear = apparent[:, None] > self.skyline.el_deg
        return None if clear.all() else clear

    def unlit(self, zones: Ellipse, elevation_deg: Array, level_z_m: float, zero_z_m: float,
              wanted: Array) -> Unlit | None:
        """Find what of the footprints the satellite does not light.

        Parameters
        ----------
        zones : Ellipse
            Footprints at this level, shape (angles,) [m].
        elevation_deg : ndarray, shape (angles,)
        level_z_m, zero_z_m : float
            See `seen`.
        wanted : ndarray of bool, shape (angles, bins)
            Which footprints are looked at.

        Returns
        -------
        Unlit or None
            None where all of them are lit.
        """
        if self.surroundings is None or not wanted.any():
            return None
        rise = level_z_m - zero_z_m if self.rises_with_level else 0.0
        may = wanted & self._may_be_unlit(zones, elevation_deg, level_z_m, rise)
        if not may.any():
            return None
        layer = AroundNorth(self.surroundings.grid, np.maximum(self._top + np.float32(rise), NOTHING))
        # nothing stands so high that it throws a shadow from farther off
        highest = max(float(self._top.max()) + rise - level_z_m, 0.0)
        farthest, end = float(zones.far_m.max()), float(self.surroundings.grid.edges_m[-1])
        shadows: list = []
        for angle, elevation in enumerate(elevation_deg.tolist()):
            bins, shadow = np.flatnonzero(may[angle]), None
            if len(bins):
                zone = Ellipse(*(part[angle] for part in zones))
                reach = min(end, float(zone.far_m) + highest / np.tan(np.radians(elevation)))
                strips = Strips(zone, elevation, farthest, reach, self.surroundings.cell_m)
                shadow = self._shadow(strips, layer, bins, level_z_m)
            shadows.append(shadow)
        found = [shadow.bins for shadow in shadows if shadow is not None]
        return Unlit(self.grid, np.unique(np.concatenate(found)), shadows) if found else None

    def _shadow(self, strips, layer, bins, level_z_m) -> Shadow | None:
        """Find what of one angle's footprints is not lit; None where all of it is."""
        top = layer.along(layer.places(strips.radius, strips.azimuth), bins)
        top[:, strips.radius < self.surroundings.grid.edges_m[0]] = NOTHING
        spot, level = top[:, :len(strips.spots)], np.float32(level_z_m)
        spot = np.where(spot > 0.5 * NOTHING, spot, level) if self.rises_with_level else np.maximum(spot, level)
        some, lost = strips.lost(top, spot, self.noise_m, self._behind(bins, strips.slope))
        return Shadow(strips, bins[some], lost) if len(some) else None

    def _behind(self, bins, slope):
        """Return what forms the skyline beyond the surroundings, taken down to the site along a slope [m]."""
        if self.skyline is None:
            return None
        height, dist = self._far(bins)
        return (height - dist * slope).astype(np.float32)

    def _far(self, bins):
        """Return height and distance of what forms the skyline beyond the surroundings [m]; -inf where nothing does."""
        angle, dist = self.skyline.el_deg[bins], self.skyline.dist_m[bins]
        beyond = np.isfinite(angle) & (dist > self.surroundings.grid.edges_m[-1])
        height = np.where(beyond, np.tan(np.radians(np.where(beyond, angle, 0.0))) * dist, -np.inf)
        return height + self.antenna_z_m, np.where(beyond, dist, 1.0)

    def _may_be_unlit(self, zones, elevation_deg, level_z_m, rise):
        """Tell at which angles and in which bins anything stands so high that it may throw a shadow on a footprint."""
        grid, per_bin = self.surroundings.grid, self.grid.rays_per_bin
        if self._highest is None:
            self._highest = self._top.reshape(len(self._top), grid.bins, per_bin).max(axis=-1)
        near, far, wide = (np.asarray(part, np.float32)[:, None]
                           for part in (zones.near_m, zones.far_m, zones.semi_minor_m))
        slope = np.tan(np.radians(np.asarray(elevation_deg))).astype(np.float32)[:, None]
        # as if it stood as near to the far end of the footprint as it can; nothing nearer than its near end counts
        nearest = np.sqrt(np.maximum(((1.0 - STEP_BEYOND) * grid.edges_m[:-1])**2 - wide**2, 0.0)).astype(np.float32)
        need = np.float32(level_z_m - rise + 1e-3) + np.maximum(nearest - far, 0.0) * slope
        need = np.where(grid.edges_m[1:] >= near, need, np.float32(np.inf))
        found = (self._highest > need[..., None]).any(axis=1)
        half = np.ceil(np.minimum(widest_half_width_rad(zones), np.pi) / (2.0 * np.pi) * grid.bins).astype(int)
        result = np.empty_like(found)
        for angle, widest in enumerate(half.tolist()):
            total = np.cumsum(np.concatenate([np.zeros(1, int), np.tile(found[angle], 3)]))
            first = np.arange(grid.bins) + grid.bins
            reach = min(widest, grid.bins // 2)
            result[angle] = total[first + reach + 1] > total[first - reach]
        if self.skyline is not None:
            height, dist = self._far(np.arange(grid.bins))
            result |= height - level_z_m > (dist - far) * slope
        return result
