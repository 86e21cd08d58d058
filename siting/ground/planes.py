"""The ground in each footprint: how it tilts, how rough it is, and where the tilt moves the footprint.

A plane is fitted to the cells in the footprint of level ground, the footprint
is moved to where that plane reflects, and a plane is fitted once more.
"""
from __future__ import annotations

from functools import lru_cache
from typing import Callable, NamedTuple

import numpy as np

from ..geometry.fresnel import Ellipse
from .planefit import GroundCells, PlaneFit, Planes
from .polargrid import PolarGrid
from .tiltedzone import TiltedZone, tilted_zone

REACH = 3.0
"""How far moved footprints are followed, as a multiple of the farthest one on level ground."""
POINTS = 987
"""Points that stand for a footprint when spots are averaged over it."""
RING_TABLE = 16384
"""Steps of the table that tells the ring at a distance."""
GOLDEN_ANGLE_RAD = np.pi * (3.0 - np.sqrt(5.0))


class GroundPlanes(NamedTuple):
    """Footprints on the ground as it lies; arrays of (levels, angles, bins).

    Attributes
    ----------
    planes : Planes
        From the last fit; NaN where there is none (too few cells, no data, out of reach, beyond `REACH`).
    zones : TiltedZone
        The footprints: moved where a plane was found that reflects, those of level ground elsewhere.
    is_moved : ndarray of bool
        Whether the footprint was moved.
    is_lit : ndarray of bool
        False where the plane found is turned away from the satellite or passes above the antenna: nothing is
        reflected there. True where nothing is known.
    is_beyond : ndarray of bool
        Whether the ground rises towards the satellite so far that the footprint would move beyond `REACH`: what lies
        there is not looked at, and `zones` holds that of level ground.
    """

    planes: Planes
    zones: TiltedZone
    is_moved: np.ndarray
    is_lit: np.ndarray
    is_beyond: np.ndarray

    @property
    def tilt_deg(self) -> np.ndarray:
        """Angle between the ground and the horizontal [°]."""
        return self.planes.tilt_deg

    @property
    def rough_m(self) -> np.ndarray:
        """Root mean square of the heights over and under the plane [m], the noise of the raster included."""
        return self.planes.rough_m

    @property
    def near_m(self) -> np.ndarray:
        """Distance of the near end from the site [m]; negative behind the site."""
        return self.zones.near_m

    @property
    def far_m(self) -> np.ndarray:
        """Distance of the far end from the site [m]."""
        return self.zones.far_m

    def zones_to_cover(self) -> Ellipse:
        """Return ellipses for `choose_grid`: of each level and angle the nearest and the farthest, 1-D [m]."""
        near, far, zones = self.near_m, self.far_m, self.zones
        narrow = np.linalg.norm(zones.minor_m, axis=-1)
        parts = []
        for bin_ in (np.argmin(near, axis=-1), np.argmax(far, axis=-1)):
            low, high, b = (np.take_along_axis(v, bin_[..., None], -1).ravel() for v in (near, far, narrow))
            parts.append(((high - low) / 2.0, b, (high + low) / 2.0))
        return Ellipse(*(np.concatenate(part) for part in zip(*parts)))

    def spots_on(self, grid: PolarGrid) -> FootprintSpots:
        """Look up which spots of a polar grid lie in the footprints.

        Parameters
        ----------
        grid : PolarGrid
            It should cover the moved footprints (see `zones_to_cover`); spots outside count as 0.

        Returns
        -------
        FootprintSpots
        """
        shape = self.is_lit.shape
        u, v = _unit_disc()
        index = np.empty(shape + (POINTS,), np.int32)
        parts = [part.astype(np.float32) for part in self.zones[:3]]
        locate = _Locator(grid)
        for place in np.ndindex(*shape[:2]):
            centre, major, minor = (part[place] for part in parts)
            points = [centre[:, axis, None] + major[:, axis, None] * u + minor[:, axis, None] * v
                      for axis in (0, 1)]
            index[place] = locate(*points)
        return FootprintSpots(index, (len(grid.edges_m) - 1, grid.rays))


class FootprintSpots(NamedTuple):
    """Which spots of a polar grid stand for each footprint.

    Attributes
    ----------
    index : ndarray of int, shape (levels, angles, bins, POINTS)
        Spots, counted along the rings; on a ring more than there are for a point outside the grid.
    shape : tuple of int
        (n_rings, rays).
    """

    index: np.ndarray
    shape: tuple

    def share_of(self, spots) -> np.ndarray:
        """Average spots over every footprint.

        Parameters
        ----------
        spots : ndarray, shape (n_rings, rays) or (levels or 1, angles or 1, n_rings, rays)
            What each spot is worth; outside the grid it is 0, so a layer of ones gives the part that is covered.

        Returns
        -------
        ndarray, shape (levels, angles, bins)
        """
        spots = np.asarray(spots, np.float32)
        lead = np.broadcast_shapes(spots.shape[:-2], self.index.shape[:2])
        layers = np.broadcast_to(spots.reshape(spots.shape[:-2] + (-1,)), lead + (self.shape[0] * self.shape[1],))
        result = np.empty(self.index.shape[:-1], np.float32)
        mean = np.full(POINTS, 1.0 / POINTS, np.float32)
        outside, last = np.zeros(self.shape[1], np.float32), None
        for place in np.ndindex(*lead):
            # a layer that serves several levels or angles is one place in memory
            key = layers[place].__array_interface__["data"][0]
            if key != last:
                flat, last = np.append(layers[place], outside), key
            result[place] = flat.take(self.index[place]) @ mean
        return result


@lru_cache(maxsize=1)
def _unit_disc() -> tuple[np.ndarray, np.ndarray]:
    """Spread points evenly over the unit disc, on a spiral turned by the golden angle from one to the next."""
    number = np.arange(POINTS)
    radius = np.sqrt((number + 0.5) / POINTS)
    angle = number * GOLDEN_ANGLE_RAD
    return (radius * np.cos(angle)).astype(np.float32), (radius * np.sin(angle)).astype(np.float32)


class _Locator:
    """Finds the spot of a polar grid in which a point lies."""

    def __init__(self, grid: PolarGrid):
        edges, rays = grid.edges_m, grid.rays
        beyond = (len(edges) - 1) * rays  # one ring more, for what lies outside
        self._rays = rays
        self._per_metre = np.float32(RING_TABLE / edges[-1])
        distance = (np.arange(RING_TABLE) + 0.5) * (edges[-1] / RING_TABLE)
        ring = np.searchsorted(edges, distance, side="right") - 1
        # spot p of a ring lies from p + phase - ½ to p + phase + ½; one turn more keeps the ray above 0
        self._shift = np.append(0.5 - grid.phase[ring] + rays, 0.5 + rays).astype(np.float32)
        self._first = np.append(np.where(ring < 0, beyond, ring * rays), beyond).astype(np.int32)

    def __call__(self, east, north):
        distance = np.sqrt(east * east + north * north)
        step = np.minimum(distance * self._per_metre, np.float32(RING_TABLE)).astype(np.int32)
        ray = np.arctan2(east, north)
        ray *= np.float32(self._rays / (2.0 * np.pi))
        ray += self._shift.take(step)
        ray = ray.astype(np.int32)
        ray -= (ray >= self._rays) * np.int32(self._rays)
        ray += self._first.take(step)
        return ray


def ground_planes(heights_m, elevation_deg, bins: int, wavelength_m: float,
                  cells_within: Callable[[float], GroundCells], zero_level_m: float) -> GroundPlanes:
    """Fit the ground in each footprint, move the footprint by it, and fit once more.

    Parameters
    ----------
    heights_m : array_like, shape (levels,)
        Heights of the antenna over the surface at each level [m], > 0, counted from `zero_level_m` at the
        site's foot; snow lies parallel to the ground, so a level lifts the whole plane.
    elevation_deg : array_like, shape (angles,)
        Elevation angles of the satellite [°].
    bins : int
        Number of azimuth bins.
    wavelength_m : float
        Carrier wavelength [m].
    cells_within : callable
        Gives the cells of the ground within a distance [m] of the site, for instance
        ``partial(cells_around, sampler, site)`` of `siting.ground.planefit`. It is asked a second time where
        footprints move beyond those of level ground.
    zero_level_m : float
        Height in the raster's vertical datum from which `heights_m` count at level zero [m]: the ground at the
        site for snow and soil.

    Returns
    -------
    GroundPlanes
        Arrays of (levels, angles, bins).

    Notes
    -----
    What counts is the antenna's height over the *plane*, extrapolated to the site's foot, not over the ground at
    the foot: heights_m + zero_level_m - plane at the foot. A footprint stays where level ground has it when no
    plane is found, when the plane is turned away (e' <= 0) or passes above the antenna, and when it would move
    beyond `REACH` times the farthest footprint of level ground; there no plane is told.
    """
    heights = np.asarray(heights_m, dtype=float)[:, None, None]
    elevation = np.asarray(elevation_deg, dtype=float)[:, None]
    azimuth = (np.arange(bins) + 0.5) * (360.0 / bins)
    level = tilted_zone(heights, 0.0, 0.0, azimuth, elevation, wavelength_m)
    reach = float(level.far_m.max())
    fit = PlaneFit(cells_within(reach * (1.0 + 1e-6)))
    first = fit.fit(level)

    def on(planes):
        height = heights + zero_level_m - planes.foot_m
        zone = tilted_zone(height, planes.slope_east, planes.slope_north, azimuth, elevation, wavelength_m)
        with np.errstate(invalid="ignore"):
            return zone, np.isfinite(zone.centre_m[..., 0])

    moved, is_lit = on(first)
    with np.errstate(invalid="ignore"):
        is_moved = is_lit & (moved.far_m <= REACH * reach)
    is_out = is_lit & ~is_moved
    is_lit |= ~first.is_found
    zones = moved.where(is_moved, level)
    planes = fit.fit(zones)
    is_beyond = zones.far_m > fit.cells.reach_m
    if is_beyond.any():
        wide = PlaneFit(cells_within(float(zones.far_m.max()))).fit(zones.at(is_beyond))
        for near_part, wide_part in zip(planes, wide):
            near_part[is_beyond] = wide_part
    # the plane of other ground than that which reflects tells nothing
    for part in (planes.slope_east, planes.slope_north, planes.foot_m, planes.rough_m):
        part[is_out] = np.nan
    _zone, is_still_lit = on(planes)
    return GroundPlanes(planes, zones, is_moved, np.where(planes.is_found, is_still_lit, is_lit), is_out)
