"""Strips parallel to a bin's azimuth over the footprints of one elevation angle, and the shadows that fall on them.

Towards the satellite a spot is lit where nothing beyond it stands higher than
the elevation angle as seen from the spot itself. Each angle has strips of its
own, as many across its footprint and as many steps along it as any other; what
lies beyond is looked at as far as something could still throw a shadow back.
"""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..earth import RADIO_RADIUS_M
from ..geometry.fresnel import Ellipse
from ..ground.polargrid import PolarGrid
from .refraction import refraction_deg

ACROSS = 9
"""Strips across a footprint."""
ALONG = 24
"""Steps along a footprint, at least."""
FINEST_PART = 1.0 / 96.0
"""Longest step along a footprint, as a part of where the farthest ends: long footprints get more steps."""
STEP_BEYOND = 0.01
"""Step beyond a footprint, as a part of the distance, where that is more than the other steps: as the rings around."""
NOTHING = np.float32(-1e6)
"""Height of what is not there [m]."""


class AroundNorth:
    """A polar layer that is looked up along strips of many bins at once.

    Parameters
    ----------
    grid : PolarGrid
    layer : ndarray, shape (n_rings, rays)
    """

    def __init__(self, grid: PolarGrid, layer: np.ndarray):
        self.grid = grid
        self._pad = grid.rays // 2 + 1
        self._columns = grid.rays + 2 * self._pad
        # half a turn more on both sides, so that no look-up has to turn
        wide = np.concatenate([layer[:, -self._pad:], layer, layer[:, :self._pad]], axis=1)
        self._flat = wide.ravel()

    def along(self, place: Places, bins: np.ndarray) -> np.ndarray:
        """Look points up, shape (bins, *points)."""
        first = (bins * self.grid.rays_per_bin).astype(np.int32)
        return self._flat.take(place.index + first.reshape((-1,) + (1,) * place.index.ndim))

    def places(self, radius, azimuth) -> Places:
        """Find where points lie, given by distance [m] and angle from the bin's centre [rad]."""
        grid = self.grid
        ring = np.clip(np.searchsorted(grid.edges_m, radius, side="right") - 1, 0, len(grid.edges_m) - 2)
        turn = azimuth * (grid.rays / (2.0 * np.pi)) - grid.phase[ring] + 0.5 + grid.rays_per_bin / 2.0
        index = ring * self._columns + np.floor(turn).astype(np.int64) + self._pad
        return Places(index.astype(np.int32))


class Places(NamedTuple):
    """Where the points of strips lie in an `AroundNorth` for the first bin."""

    index: np.ndarray


class Strips:
    """Strips over the footprints of one elevation angle: rows u (away from the site) × columns v (to the right).

    Parameters
    ----------
    zone : Ellipse
        The footprint [m].
    elevation_deg : float
        Of the satellite.
    farthest_m : float
        Where the farthest footprint of all angles ends [m].
    end_m : float
        How far anything is looked at [m].
    cell_m : float
        Width of the cells around [m]: nearer than that nothing throws a shadow on a spot, for the edge of the next
        cell is no wall.
    """

    def __init__(self, zone: Ellipse, elevation_deg: float, farthest_m: float, end_m: float, cell_m: float):
        a, b, c = (float(part) for part in zone)
        number = max(ALONG, int(np.ceil(2.0 * a / (FINEST_PART * farthest_m))))
        step = 2.0 * a / number
        self.spots = c - a + (np.arange(number) + 0.5) * step
        beyond, near = _beyond(c + a, max(step, cell_m / 2.0), max(end_m, c + a))
        self.u = np.concatenate([self.spots, beyond])
        self.v = ((np.arange(ACROSS) + 0.5) * (2.0 / ACROSS) - 1.0) * b
        self.inside = ((self.spots - c) / a)[:, None] ** 2 + (self.v / b) ** 2 <= 1.0
        self._first = np.searchsorted(self.u, self.spots + cell_m)
        self.slope = np.tan(np.radians(elevation_deg + float(refraction_deg(elevation_deg))))
        self._line = self._rise(self.spots)
        # what stands at a point stands from where its step begins
        self._line_of_top = self._rise(np.concatenate([self.spots - step / 2.0, near]))
        self.radius, self.azimuth = np.hypot(self.u[:, None], self.v), np.arctan2(self.v, self.u[:, None])

    def _rise(self, u):
        """Return how high a ray to the satellite stands over where it leaves the site, with the Earth's curve [m]."""
        return (u * self.slope + u**2 / (2.0 * RADIO_RADIUS_M)).astype(np.float32)[:, None]

    def lost(self, top: np.ndarray, spot: np.ndarray, noise_m: float, behind: np.ndarray | None):
        """Find which spots the satellite does not light.

        Parameters
        ----------
        top : ndarray, shape (bins, u, v)
            What stands at the points [m].
        spot : ndarray, shape (bins, spots, v)
            Height of the spots themselves [m].
        noise_m : float
            By how much something must stand out [m].
        behind : ndarray, shape (bins,), or None
            What stands beyond all points, taken down to the site along the ray to the satellite [m].

        Returns
        -------
        some : ndarray of int
            Bins in which there is a shadow.
        lost : ndarray of bool, shape (some, spots, v)
            Of the spots inside the footprint.
        """
        stands = top - (self._line_of_top + np.float32(noise_m))
        need = spot - self._line + np.float32(1e-3)
        greatest = stands[:, self._first[0]:].max(axis=(1, 2), initial=-np.inf)
        if behind is not None:
            greatest = np.maximum(greatest, behind)
        # most strips have nothing beyond that stands high enough for the lowest of their spots
        some = np.flatnonzero(greatest > need.min(axis=(1, 2)))
        if not len(some):
            return some, np.zeros((0, *self.inside.shape), bool)
        stands, need = stands[some], need[some]
        last = np.full((len(some), 1, stands.shape[2]), -np.inf, np.float32)
        if behind is not None:
            last[:] = behind[some, None, None]
        # the greatest of each point and all farther ones; one more stands for what lies beyond all
        onwards = np.concatenate([stands, last], axis=1)[:, ::-1]
        onwards = np.maximum.accumulate(onwards, axis=1)[:, ::-1]
        lost = (onwards[:, self._first] > need) & self.inside
        kept = lost.any(axis=(1, 2))
        return some[kept], lost[kept]


def _beyond(start, least, end):
    """Place points from `start` to `end`, `least` apart, then `STEP_BEYOND` of the distance; with where steps begin."""
    near_end = min(max(least / STEP_BEYOND, start), end)
    edges = start + np.arange(max(int(np.ceil((near_end - start) / least)), 0) + 1) * least
    if edges[-1] < end:
        number = int(np.ceil(np.log(end / edges[-1]) / np.log1p(STEP_BEYOND)))
        edges = np.append(edges, edges[-1] * (1.0 + STEP_BEYOND) ** np.arange(1, number + 1))
    return (edges[1:] + edges[:-1]) / 2.0, edges[:-1]


class Shadow(NamedTuple):
    """What is not lit of one angle's footprints.

    Attributes
    ----------
    strips : Strips
    bins : ndarray of int
    lost : ndarray of bool, shape (bins, spots, v)
    """

    strips: Strips
    bins: np.ndarray
    lost: np.ndarray


class Unlit(NamedTuple):
    """What is not lit, in some bins.

    Attributes
    ----------
    grid : PolarGrid
        Of the surface.
    bins : ndarray of int
        Bins in which something is not lit, rising.
    shadows : list of Shadow or None
        For each angle.
    """

    grid: PolarGrid
    bins: np.ndarray
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
        layer = AroundNorth(self.grid, np.asarray(spots, np.float32))
        result = np.zeros((len(self.shadows), len(self.bins)))
        for angle, shadow in enumerate(self.shadows):
            if shadow is None:
                continue
            strips, number = shadow.strips, len(shadow.strips.spots)
            place = layer.places(strips.radius[:number], strips.azimuth[:number])
            worth = layer.along(place, shadow.bins) * shadow.lost
            result[angle, np.searchsorted(self.bins, shadow.bins)] = worth.sum(axis=(1, 2)) / strips.inside.sum()
        return result
