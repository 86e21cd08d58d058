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

from ..ground.polargrid import PolarGrid, widest_half_width_rad
from .surroundings import EARTH_M, Surroundings
from .refraction import refraction_deg

LINES = 5
"""Lines parallel to a bin's azimuth that cross a footprint where it is widest."""
STEPS = 96
"""Steps along such a line over all footprints of a bin."""
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

    el_deg: np.ndarray
    dist_m: np.ndarray


class Sight:
    """What hides the surface around one site.

    Parameters
    ----------
    surroundings : Surroundings or None
    grid : PolarGrid
        On which the surface is sampled.
    antenna_z_m : float
        Elevation of the antenna in the DEM's vertical datum [m].
    water : ndarray of bool, shape (n_rings, rays) of `grid`, or None
        Where the DEM shows water and not ground; None where it does nowhere, or goes on under water.
    rises_with_level : bool
        Whether the ground everywhere lies higher at a higher level (snow).
    noise_m : float
        By how much something must stand out to hide anything [m].
    skyline : Obstacle or None
    ends_m : ndarray, shape (bins,), or None
        Where the elevation models end in each direction [m]; None where they reach far enough.
    """

    def __init__(self, surroundings: Surroundings | None, grid: PolarGrid, antenna_z_m: float, water=None,
                 rises_with_level: bool = False, noise_m: float = 0.0, skyline: Obstacle | None = None,
                 ends_m: np.ndarray | None = None):
        self.surroundings, self.grid, self.antenna_z_m, self.ends_m = surroundings, grid, antenna_z_m, ends_m
        self.rises_with_level, self.noise_m, self.skyline = rises_with_level, noise_m, skyline
        self._horizon: dict = {}
        if surroundings is None:
            return
        self._ring = np.clip(np.searchsorted(surroundings.grid.edges_m, grid.radius_m, side="right") - 1, 0,
                             len(surroundings.top_m) - 1)
        self._top = surroundings.top_m if water is None else self._without_water(water)

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

    def seen(self, level_z_m: float, zero_z_m: float) -> np.ndarray | None:
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
        drop = (self.grid.radius_m**2 / (2.0 * EARTH_M)).astype(np.float32)
        seen = (height - drop[:, None]) / self.grid.radius_m[:, None].astype(np.float32) >= before
        return None if seen.all() else seen

    def hider_m(self, level_z_m: float, zero_z_m: float, hidden: np.ndarray, bins: int) -> np.ndarray:
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
        for one in np.unique(of_bin):
            result[one] = np.median(dist[of_bin == one])
        return result

    def spot_top_m(self) -> np.ndarray:
        """Return what the DEM shows at each spot of the surface's grid [m]; -inf where nothing is known or water."""
        return self._top[self._ring]

    def spot_z_m(self, level_z_m: float, rise_m: float = 0.0) -> np.ndarray:
        """Return the height of each spot: ground, or the level where that is higher [m]."""
        top = self._top[self._ring]
        if self.rises_with_level:
            return np.where(np.isfinite(top), top + np.float32(rise_m), np.float32(level_z_m))
        return np.maximum(top, np.float32(level_z_m))

    def clear(self, elevation_deg: np.ndarray) -> np.ndarray | None:
        """Tell where satellites stand above the skyline, shape (angles, bins); None where all do."""
        if self.skyline is None:
            return None
        apparent = elevation_deg + refraction_deg(elevation_deg)
        clear = apparent[:, None] > self.skyline.el_deg
        return None if clear.all() else clear

    def unlit(self, zones, elevation_deg: np.ndarray, level_z_m: float, zero_z_m: float,
              wanted: np.ndarray) -> "Unlit | None":
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
        bins = np.flatnonzero(wanted.any(axis=0) & self._may_be_unlit(zones, elevation_deg, level_z_m, rise))
        if not len(bins):
            return None
        strips, far = self._strips(zones, bins, level_z_m, rise), self._far(bins)
        shadows = [strips.unlit(angle, float(one), np.flatnonzero(wanted[angle, bins]), far)
                   for angle, one in enumerate(elevation_deg)]
        return Unlit(bins, strips, shadows) if any(one is not None for one in shadows) else None

    def _far(self, bins):
        """Return height over the antenna and distance of what forms the skyline beyond the surroundings, for bins."""
        if self.skyline is None:
            return None
        angle, dist = self.skyline.el_deg[bins], self.skyline.dist_m[bins]
        beyond = np.isfinite(angle) & (dist > self.surroundings.grid.edges_m[-1])
        height = np.where(beyond, np.tan(np.radians(np.where(beyond, angle, 0.0))) * dist, -np.inf)
        return height + self.antenna_z_m, np.where(beyond, dist, 1.0)

    def _may_be_unlit(self, zones, elevation_deg, level_z_m, rise):
        """Tell in which bins anything stands so high that it may throw a shadow on a footprint."""
        grid, per_bin = self.surroundings.grid, self.grid.rays_per_bin
        radius = grid.radius_m[:, None].astype(np.float32)
        beyond = radius >= np.float32(max(float(zones.near_m.min()), 0.0))
        # as if it stood as near to the farthest footprint as it can
        slack = np.maximum(radius - np.float32(zones.far_m.max()), 0.0) * np.float32(
            np.tan(np.radians(float(np.min(elevation_deg)))))
        stands = (self._top + np.float32(rise) - slack > level_z_m + 1e-3) & beyond
        rays = stands.any(axis=0)
        half = int(np.ceil(self._half_width_rays(zones)))
        reach = np.concatenate([rays[-half:], rays, rays[:half]]) if half else rays
        total = np.concatenate([[0], np.cumsum(reach)])
        first = np.arange(grid.bins) * per_bin
        found = total[first + per_bin + 2 * half] - total[first] > 0
        if self.skyline is not None:
            found |= np.isfinite(self.skyline.el_deg) & (self.skyline.dist_m > grid.edges_m[-1])
        return found

    def _half_width_rays(self, zones):
        half = min(float(np.max(widest_half_width_rad(zones))), np.pi)
        return min(half / (2.0 * np.pi) * self.grid.rays, self.grid.rays / 2 - 1)

    def _strips(self, zones, bins, level_z_m, rise):
        """Lay lines parallel to the azimuth of each bin over its footprints and beyond."""
        widest = float(zones.semi_minor_m.max())
        near, far = max(float(zones.near_m.min()), -widest), float(zones.far_m.max())
        end = float(self.surroundings.grid.edges_m[-1])
        step = (far - near) / STEPS
        along = [near]
        while along[-1] < end:
            along.append(along[-1] + (step if along[-1] < far else max(step, 0.02 * along[-1])))
        along = np.array(along)
        across = (np.arange(2 * LINES + 1) - LINES) / LINES * widest
        u, v = np.meshgrid(along, across, indexing="ij")
        return Strips(self, bins, u, v, zones, level_z_m, rise)


class Strips:
    """Lines parallel to the azimuths of some bins, as rows u (away from the site) × columns v (to the right)."""

    def __init__(self, sight: Sight, bins, u, v, zones, level_z_m, rise_m):
        self.u, self.v, self.zones, self.bins = u, v, zones, bins
        self._sight = sight
        radius, azimuth = np.hypot(u, v), np.arctan2(v, u)
        self.top = np.maximum(self._gather(sight.surroundings.grid, sight._top + np.float32(rise_m), radius, azimuth),
                              np.float32(-1e6))
        inside = radius >= sight.surroundings.grid.edges_m[0]
        self.top = np.where(inside, self.top, np.float32(-1e6))
        self.spot = np.maximum(self.top, np.float32(level_z_m)) if not sight.rises_with_level else np.where(
            self.top > -1e5, self.top, np.float32(level_z_m))
        self._radius, self._azimuth = radius, azimuth

    def _gather(self, grid, layer, radius, azimuth):
        """Look a polar layer up for all bins, shape (bins, u, v)."""
        ring = np.clip(np.searchsorted(grid.edges_m, radius, side="right") - 1, 0, len(layer) - 1)
        turn = azimuth / (2.0 * np.pi) * grid.rays - grid.phase[ring] + 0.5
        centre = (self.bins[:, None, None] + 0.5) * grid.rays_per_bin
        ray = np.floor(centre + turn).astype(np.int64) % grid.rays
        return layer[np.broadcast_to(ring, ray.shape), ray]

    def on_strips(self, spots: np.ndarray) -> np.ndarray:
        """Look up what spots of the surface's grid are worth, shape (bins, u, v)."""
        return self._gather(self._sight.grid, spots, self._radius, self._azimuth)

    def unlit(self, angle: int, elevation_deg: float, bins: np.ndarray, far) -> "Shadow | None":
        """Find what is not lit within the footprint of an angle.

        Parameters
        ----------
        angle : int
        elevation_deg : float
        bins : ndarray of int
            Indices into the bins of the strips.
        far : (height, distance) or None
            What forms the skyline beyond the strips, for all their bins.

        Returns
        -------
        Shadow or None
            None where all is lit.
        """
        inside = self.within(angle)
        along, across = np.flatnonzero(inside.any(axis=1)), np.flatnonzero(inside.any(axis=0))
        if not len(along) or not len(bins):
            return None
        first, last = along[0], along[-1] + 1
        columns = slice(across[0], across[-1] + 1)
        slope = np.float32(np.tan(np.radians(elevation_deg + float(refraction_deg(elevation_deg)))))
        u = self.u[first:, columns].astype(np.float32)
        line = u * slope + u * u * np.float32(0.5 / EARTH_M)
        stands = self.top[bins, first:, columns] - (line + np.float32(self._sight.noise_m))
        need = self.spot[bins, first:last, columns] - line[:last - first] + np.float32(1e-3)
        if far is not None:
            height, dist = far
            behind = (height[bins] - dist[bins] * slope).astype(np.float32)[:, None]
        else:
            behind = np.full((len(bins), 1), -np.inf, np.float32)
        # most lines have nothing beyond that stands high enough for the lowest of their spots
        greatest = np.maximum(stands[:, 1:].max(axis=(1, 2), initial=-np.inf), behind[:, 0])
        some = np.flatnonzero(greatest > need.min(axis=(1, 2)))
        if not len(some):
            return None
        stands, need, behind = stands[some], need[some], behind[some]
        rows = last - first
        beyond = np.empty(need.shape, np.float32)
        beyond[:, -1] = np.maximum(stands[:, rows:].max(axis=1, initial=-np.inf), behind)
        np.maximum.accumulate(np.maximum(stands[:, rows - 1:0:-1], beyond[:, -1:]), axis=1,
                              out=beyond[:, rows - 2::-1] if rows > 1 else None)
        lost = (beyond > need) & inside[first:last, columns]
        return Shadow(bins[some], slice(first, last), columns, lost) if lost.any() else None

    def within(self, angle: int) -> np.ndarray:
        """Tell which points lie in the footprint of an angle, shape (u, v)."""
        a, b, c = (part[angle] for part in self.zones)
        return ((self.u - c) / a) ** 2 + (self.v / b) ** 2 <= 1.0


class Shadow(NamedTuple):
    """What is not lit of one angle's footprints.

    Attributes
    ----------
    bins : ndarray of int
        Indices into the bins of the strips.
    along, across : slice
        Part of the strips spoken of.
    lost : ndarray of bool, shape (bins, along, across)
    """

    bins: np.ndarray
    along: slice
    across: slice
    lost: np.ndarray


class Unlit(NamedTuple):
    """What is not lit, in some bins.

    Attributes
    ----------
    bins : ndarray of int
    strips : Strips
    shadows : list of Shadow or None
        For each angle.
    """

    bins: np.ndarray
    strips: Strips
    shadows: list

    def share(self, spots: np.ndarray) -> np.ndarray:
        """Return the part of each footprint that is not lit, weighted by what its spots are worth.

        Parameters
        ----------
        spots : ndarray, shape (n_rings, rays)

        Returns
        -------
        ndarray, shape (angles, bins looked at)
        """
        worth = self.strips.on_strips(spots)
        result = np.zeros((len(self.shadows), len(self.bins)))
        step = np.gradient(self.strips.u[:, 0])[:, None]
        for angle, shadow in enumerate(self.shadows):
            if shadow is None:
                continue
            weight = step * self.strips.within(angle)
            part = worth[shadow.bins, shadow.along, shadow.across] * shadow.lost
            result[angle, shadow.bins] = np.einsum("bij,ij->b", part, weight[shadow.along, shadow.across])
            result[angle] /= max(weight.sum(), 1e-9)
        return result
