"""The polar grid on which the surface around a site is sampled, once for all footprints.

A footprint is narrow in azimuth when the antenna stands high and long in range
when the satellite stands low, so both steps follow the ellipses that the grid
has to serve: every first Fresnel zone is cut by at least `RINGS_ACROSS` rings
and its widest arc holds at least `RAYS_ACROSS` samples. Where the raster's
cells are finer than that, the steps follow the cells, up to a limit beyond
which a mean over thousands of spots gains nothing.
"""
from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np

from ..arrays import Array
from ..geometry.fresnel import Ellipse

RINGS_ACROSS, RINGS_ACROSS_FINE = 24, 32
"""Rings that cut a footprint: at least, and at most where the cells are finer."""
RAYS_ACROSS, RAYS_ACROSS_FINE = 6, 8
"""Rays within a footprint's widest arc: at least, and at most where the cells are finer."""
PHASES = np.array([0.125, 0.625, 0.375, 0.875])
"""Where within its arc a spot is looked at, ring after ring: an edge that points at the site, such as a
straight shore below the antenna, would else lie between the same two rays in all rings at once."""


def _azimuth_rad(rays: int) -> Array:
    return (np.arange(rays) + PHASES[:, None]) * (2.0 * np.pi / rays)


@lru_cache(maxsize=64)
def _directions(rays: int) -> tuple[Array, Array]:
    azimuth = _azimuth_rad(rays)
    return np.sin(azimuth), np.cos(azimuth)


class PolarGrid(NamedTuple):
    """Rings × rays around a site; ray p of a ring looks to azimuth (p + phase)·360°/rays.

    The phase follows `PHASES`, ring after ring.

    Attributes
    ----------
    edges_m : ndarray, shape (n_rings + 1,)
        Ring edges [m], rising.
    rays : int
        Number of rays; a multiple of the number of azimuth bins.
    bins : int
        Number of azimuth bins; the first begins at north.
    """

    edges_m: Array
    rays: int
    bins: int

    @property
    def radius_m(self) -> Array:
        """Radius [m] that halves each ring's area, shape (n_rings,)."""
        return np.sqrt((self.edges_m[1:] ** 2 + self.edges_m[:-1] ** 2) / 2.0)

    @property
    def phase(self) -> Array:
        """Phase of each ring [rays], shape (n_rings,)."""
        return PHASES[np.arange(len(self.edges_m) - 1) % len(PHASES)]

    @property
    def azimuth_rad(self) -> Array:
        """Azimuth [rad] of each ray at each phase, shape (len(PHASES), rays)."""
        return _azimuth_rad(self.rays)

    @property
    def rays_per_bin(self) -> int:
        """Number of rays in one azimuth bin."""
        return self.rays // self.bins

    def linear(self, per_east: float, per_north: float) -> Array:
        """Return per_east·east + per_north·north at each spot, shape (n_rings, rays), in single precision."""
        sine, cosine = _directions(self.rays)
        along = (per_east * sine + per_north * cosine).astype(np.float32)
        radius = self.radius_m.astype(np.float32)[:, None]
        result = np.empty((len(radius), self.rays), np.float32)
        for number, row in enumerate(along):
            np.multiply(radius[number::len(PHASES)], row, out=result[number::len(PHASES)])
        return result

    def east_north(self) -> tuple[Array, Array]:
        """Return the spots' east and north [m], each of shape (n_rings, rays), in single precision."""
        return self.linear(1.0, 0.0), self.linear(0.0, 1.0)


def widest_half_width_rad(zones: Ellipse) -> Array:
    """Return the half-width in azimuth [rad] of each footprint's widest arc.

    The tangent from the site touches the ellipse there: sin θ = b/sqrt(R² - a² + b²)
    outside the ellipse; π where the site stands in it.
    """
    a, b, c = zones
    with np.errstate(invalid="ignore", divide="ignore"):
        sine = b / np.sqrt(c**2 - a**2 + b**2)
    return np.where(c > a, np.arcsin(np.clip(np.nan_to_num(sine, nan=1.0), 0.0, 1.0)), np.pi)


def choose_grid(zones: Ellipse, cell_m: float, bins: int, refine: float = 1.0) -> PolarGrid:
    """Choose rings and rays that resolve all given footprints.

    Parameters
    ----------
    zones : Ellipse
        All footprints of a site (any shape), [m].
    cell_m : float
        Width of the finest raster cells sampled [m]; 0 where there are only polygons.
    bins : int
        Number of azimuth bins (360 / AZIMUTH_STEP).
    refine : float
        Multiplies the number of rings and of rays; for convergence tests.

    Returns
    -------
    PolarGrid
    """
    a, _b, _c = (np.ravel(part) for part in zones)
    near = np.maximum(np.ravel(zones.near_m), 0.0)
    far = np.ravel(zones.far_m)
    theta = np.ravel(widest_half_width_rad(zones))

    wanted = cell_m / 2.0 if cell_m > 0 else 0.0
    coarse, fine = 2.0 * a / RINGS_ACROSS, 2.0 * a / RINGS_ACROSS_FINE
    step = np.clip(wanted, fine, coarse) / refine
    edges = _rings(near, far, step)

    narrow = np.argmin(theta)
    by_width = 2.0 * theta[narrow] / RAYS_ACROSS
    finest = 2.0 * theta[narrow] / RAYS_ACROSS_FINE
    by_cell = np.min(wanted / np.maximum(far, 1e-9))
    per_bin = 2.0 * np.pi / bins
    step_rad = np.clip(by_cell, finest, min(by_width, per_bin / 2.0)) / refine
    rays_per_bin = int(np.ceil(per_bin / step_rad))
    return PolarGrid(edges, bins * rays_per_bin, bins)


def _rings(near, far, step) -> Array:
    """Lay ring edges from the nearest to the farthest end, as fine as the finest footprint there."""
    marks = np.unique(np.concatenate([near, far]))
    middle = (marks[1:] + marks[:-1]) / 2.0
    inside = (near[:, None] <= middle) & (far[:, None] >= middle)
    local = np.min(np.where(inside, step[:, None], np.inf), axis=0)
    # a gap between footprints needs no rings of its own
    local = np.where(np.isfinite(local), local, marks[1:] - marks[:-1])
    # count rings as the integral of 1/step, then place whole rings along it
    count = np.concatenate([[0.0], np.cumsum((marks[1:] - marks[:-1]) / local)])
    whole = max(int(np.ceil(count[-1])), 1)
    return np.interp(np.linspace(0.0, count[-1], whole + 1), count, marks)
