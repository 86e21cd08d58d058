"""Simple shapes on the ground: what lies inside, and where a ray enters and leaves.

Coordinates are local metres, east and north of the antenna. What each shape tells stands in `Shape`.
"""
from __future__ import annotations

from typing import NamedTuple, Protocol

import numpy as np

LEAST_SLOPE = 1e-12
CIRCLE_VERTICES = 360


class Shape(Protocol):
    """What every shape tells."""

    def contains(self, east: np.ndarray, north: np.ndarray) -> np.ndarray:
        """Tell which points lie inside."""

    def interval(self, east: np.ndarray, north: np.ndarray, toward_east: np.ndarray,
                 toward_north: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Tell at which distances a ray from each point along a horizontal unit vector enters and leaves it [m].

        Negative behind the point; (inf, -inf) where the ray's line misses it.
        """

    def rings(self, reach_m: float) -> tuple[np.ndarray, list[np.ndarray]]:
        """Return its outline and holes, cut off at a reach, for polygon layers."""


def _square(half_m):
    return np.array([[-half_m, -half_m], [half_m, -half_m], [half_m, half_m], [-half_m, half_m]])


def _slab(place, rate, low, high):
    """Return when a point that moves at a rate is between two values."""
    rate = np.where(np.abs(rate) < LEAST_SLOPE, LEAST_SLOPE, rate)
    one, other = (low - place) / rate, (high - place) / rate
    return np.minimum(one, other), np.maximum(one, other)


class HalfPlane(NamedTuple):
    """All ground at least so far away in one direction.

    Attributes
    ----------
    facing_deg : float
        Azimuth towards its inside [°].
    distance_m : float
        Distance of its edge in that direction; negative where the site lies inside [m].
    """

    facing_deg: float
    distance_m: float

    @property
    def _normal(self):
        return np.sin(np.radians(self.facing_deg)), np.cos(np.radians(self.facing_deg))

    def contains(self, east, north):
        sine, cosine = self._normal
        return east * sine + north * cosine >= self.distance_m

    def interval(self, east, north, toward_east, toward_north):
        sine, cosine = self._normal
        return _slab(east * sine + north * cosine, toward_east * sine + toward_north * cosine,
                     self.distance_m, np.inf)

    def rings(self, reach_m):
        along = np.array(self._normal)
        across = np.array([along[1], -along[0]])
        near = self.distance_m * along
        far = max(reach_m, self.distance_m + reach_m) * along
        return np.array([near - reach_m * across, far - reach_m * across, far + reach_m * across,
                         near + reach_m * across]), []


class Rectangle(NamedTuple):
    """A rectangle.

    Attributes
    ----------
    east_m, north_m : float
        Its middle [m].
    facing_deg : float
        Azimuth of its first side [°].
    length_m, width_m : float
        Along that azimuth, and across [m].
    """

    east_m: float
    north_m: float
    facing_deg: float
    length_m: float
    width_m: float

    def _own(self, east, north):
        """Turn a vector into the rectangle's axes."""
        sine, cosine = np.sin(np.radians(self.facing_deg)), np.cos(np.radians(self.facing_deg))
        return east * sine + north * cosine, east * cosine - north * sine

    def contains(self, east, north):
        along, across = self._own(east - self.east_m, north - self.north_m)
        return (np.abs(along) <= self.length_m / 2.0) & (np.abs(across) <= self.width_m / 2.0)

    def interval(self, east, north, toward_east, toward_north):
        along, across = self._own(east - self.east_m, north - self.north_m)
        along_rate, across_rate = self._own(toward_east, toward_north)
        in1, out1 = _slab(along, along_rate, -self.length_m / 2.0, self.length_m / 2.0)
        in2, out2 = _slab(across, across_rate, -self.width_m / 2.0, self.width_m / 2.0)
        enters, leaves = np.maximum(in1, in2), np.minimum(out1, out2)
        hit = enters < leaves
        return np.where(hit, enters, np.inf), np.where(hit, leaves, -np.inf)

    def rings(self, reach_m):
        sine, cosine = np.sin(np.radians(self.facing_deg)), np.cos(np.radians(self.facing_deg))
        along, across = np.array([sine, cosine]) * self.length_m / 2.0, np.array([cosine, -sine]) * self.width_m / 2.0
        middle = np.array([self.east_m, self.north_m])
        return np.array([middle - along - across, middle + along - across, middle + along + across,
                         middle - along + across]), []


class Disc(NamedTuple):
    """A disc: its middle and radius [m]."""

    east_m: float
    north_m: float
    radius_m: float

    def contains(self, east, north):
        return (east - self.east_m)**2 + (north - self.north_m)**2 <= self.radius_m**2

    def interval(self, east, north, toward_east, toward_north):
        east, north = east - self.east_m, north - self.north_m
        middle = -(east * toward_east + north * toward_north)
        inside = middle**2 - (east**2 + north**2 - self.radius_m**2)
        half = np.sqrt(np.maximum(inside, 0.0))
        hit = inside > 0
        return np.where(hit, middle - half, np.inf), np.where(hit, middle + half, -np.inf)

    def rings(self, reach_m):
        angle = np.arange(CIRCLE_VERTICES) * 2.0 * np.pi / CIRCLE_VERTICES
        return np.stack([self.east_m + self.radius_m * np.sin(angle),
                         self.north_m + self.radius_m * np.cos(angle)], axis=-1), []


class Outside(NamedTuple):
    """Everything but a shape that bulges outwards (convex)."""

    shape: Shape

    def contains(self, east, north):
        return ~self.shape.contains(east, north)

    def interval(self, east, north, toward_east, toward_north):
        """Tell where a ray from a point inside the hole leaves the hole; from outside it, the whole line counts."""
        enters, leaves = self.shape.interval(east, north, toward_east, toward_north)
        in_hole = (enters < 0) & (leaves > 0)
        return np.where(in_hole, leaves, -np.inf), np.full(np.shape(leaves), np.inf)

    def rings(self, reach_m):
        return _square(reach_m), [self.shape.rings(reach_m)[0]]


class Cells(NamedTuple):
    """Cells of a grid, north up, for coasts of any form; too low to hide anything, and without an outline.

    Attributes
    ----------
    inside : ndarray of bool, shape (rows, columns)
        The first row is the southernmost.
    west_m, south_m : float
        Corner of the grid [m].
    cell_m : float
        Side of a cell [m]. What lies beyond the grid is taken from its nearest cell.
    """

    inside: np.ndarray
    west_m: float
    south_m: float
    cell_m: float

    def contains(self, east, north):
        column = np.clip(((east - self.west_m) / self.cell_m).astype(int), 0, self.inside.shape[1] - 1)
        row = np.clip(((north - self.south_m) / self.cell_m).astype(int), 0, self.inside.shape[0] - 1)
        return self.inside[row, column]

    def interval(self, east, north, toward_east, toward_north):
        shape = np.broadcast_shapes(np.shape(east), np.shape(toward_east))
        return np.full(shape, np.inf), np.full(shape, -np.inf)
