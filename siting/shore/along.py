"""Places along a chain at true-metre spacing, and the direction it runs there."""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..arrays import Array, ArrayLike
from .chains import Chain
from .plane import ShorePlane

SAMPLES = 21
"""Points in the window that a direction is fitted to."""
CORNER_DEG = 30.0
"""A turn sharper than this is a corner."""
CORNER_REACH_M = 2.0
"""How far on both sides of a vertex the directions of a corner are taken."""


class Corners(NamedTuple):
    """Corners of a ring: distance along it [m], and turn there [°], above 0 to the left."""

    along_m: Array
    turn_deg: Array


class Walk:
    """A chain measured along its way.

    Parameters
    ----------
    chain : Chain
    plane : ShorePlane
    """

    def __init__(self, chain: Chain, plane: ShorePlane):
        self.chain = chain
        self._at = np.concatenate([[0.0], np.cumsum(plane.lengths(chain.xy))])

    @property
    def length_m(self) -> float:
        """Geodesic length [m]."""
        return float(self._at[-1])

    def points(self, along_m: ArrayLike) -> Array:
        """Return the points at distances along the chain [m]; a ring goes on at its beginning, an open chain stops."""
        along = np.asarray(along_m, float)
        along = np.mod(along, self.length_m) if self.chain.is_ring else np.clip(along, 0.0, self.length_m)
        return np.stack([np.interp(along, self._at, self.chain.xy[:, k]) for k in (0, 1)], axis=-1)

    def steps(self, along_m: ArrayLike) -> Array:
        """Return the vector of the very step of the chain at distances along it, shape (n, 2)."""
        index = np.searchsorted(self._at, np.mod(along_m, self.length_m), side="right") - 1
        index = np.clip(index, 0, len(self.chain.xy) - 2)
        return self.chain.xy[index + 1] - self.chain.xy[index]

    def places(self, spacing_m: float) -> Array:
        """Return distances along the chain [m] at a spacing.

        What is left of an open chain is shared by its ends; a ring is divided
        evenly, as near to the spacing as that goes. A chain shorter than the
        spacing has one place, in its middle.
        """
        length = self.length_m
        if self.chain.is_ring:
            number = max(int(round(length / spacing_m)), 1)
            return np.arange(number) * length / number
        number = int(np.floor(length / spacing_m + 1e-9))
        return (length - number * spacing_m) / 2.0 + np.arange(number + 1) * spacing_m

    def directions(self, along_m: Array, window_m: float) -> Array:
        """Fit the direction in which the chain runs, by least squares over a window.

        Parameters
        ----------
        along_m : ndarray, shape (n,)
        window_m : float
            Width of the window [m]; at most half of a ring. It is cut at the
            ends of an open chain.

        Returns
        -------
        ndarray, shape (n, 2)
            Vectors on the plane.
        """
        window = min(window_m, self.length_m / 2.0) if self.chain.is_ring else window_m
        low, high = along_m - window / 2.0, along_m + window / 2.0
        if not self.chain.is_ring:
            low, high = np.maximum(low, 0.0), np.minimum(high, self.length_m)
        share = np.linspace(-1.0, 1.0, SAMPLES)
        at = ((low + high) / 2.0)[:, None] + share * ((high - low) / 2.0)[:, None]
        return np.einsum("k,nkc->nc", share, self.points(at))

    def corners(self) -> Corners:
        """Find the corners of a ring: turns sharper than `CORNER_DEG` over a few metres, the sharpest of neighbours."""
        at = self._at[:-1]
        reach = min(CORNER_REACH_M, self.length_m / 8.0)
        ahead = self.points(at + reach) - self.points(at)
        behind = self.points(at) - self.points(at - reach)
        turn = np.degrees(np.arctan2(behind[:, 0] * ahead[:, 1] - behind[:, 1] * ahead[:, 0],
                                     np.sum(behind * ahead, axis=1)))
        kept: list[int] = []
        for k in sorted(np.flatnonzero(np.abs(turn) > CORNER_DEG), key=lambda k: -abs(turn[k])):
            apart = np.abs(at[kept] - at[k])
            if not np.any(np.minimum(apart, self.length_m - apart) < reach):
                kept.append(int(k))
        kept.sort()
        return Corners(at[kept], turn[kept])

    def places_on_edges(self, corners: Corners, spacing_m: float) -> Array:
        """Return distances along a ring at a spacing, half a spacing or more from its corners."""
        if not len(corners.along_m):
            return self.places(spacing_m)
        begin, end = corners.along_m, np.append(corners.along_m[1:], corners.along_m[0] + self.length_m)
        places = []
        for first, length in zip(begin, end - begin):
            number = int(np.floor(length / spacing_m + 1e-9))
            places.append(first + (length - (number - 1) * spacing_m) / 2.0 + np.arange(number) * spacing_m)
        return np.mod(np.concatenate(places), self.length_m)
