"""Area shares of footprints for all azimuths at once, from one polar sampling.

A footprint cut by a ring is an arc of known half-width around the bin's centre
(see `siting.fresnel.half_width_rad`). The share of a surface is then a sum over
rings of differences of running sums along the ring, the same offsets for every
azimuth bin: a circular correlation, exact for spots of the grid's own size. The
offsets and weights depend on height, elevation angle, wavelength and grid only,
never on the site, and are cached by them.
"""
from __future__ import annotations

from collections import OrderedDict
from typing import NamedTuple

import numpy as np
from numpy.lib.stride_tricks import as_strided

from ..fresnel import Ellipse, first_zone, half_width_rad
from .polargrid import PolarGrid, choose_grid

QUADRATURE = 4
"""Radii at which a ring's arc is measured, to integrate its area."""


class Kernels(NamedTuple):
    """Where to look up the running sums, and with what weight; one row a (footprint, ring) pair.

    Attributes
    ----------
    grid : PolarGrid
    ring : ndarray of int, shape (rows,)
        The ring of each row; rows are sorted by footprint.
    start : ndarray of int, shape (footprints + 1,)
        Where each footprint's rows begin.
    area : ndarray, shape (rows,)
        Part of the footprint's area that lies in the ring.
    lookups : tuple of (row, column, weight)
        Places in the turned running sums, each array of shape (rows,).
    pad : int
        Rays that are repeated on both sides of north.
    """

    grid: PolarGrid
    ring: np.ndarray
    start: np.ndarray
    area: np.ndarray
    lookups: tuple
    pad: int

    def part(self, first: int, last: int) -> "Kernels":
        """Return the kernels of footprints first … last - 1 on the same grid."""
        rows = slice(self.start[first], self.start[last])
        return self._replace(
            ring=self.ring[rows], start=self.start[first:last + 1] - self.start[first],
            area=self.area[rows],
            lookups=tuple(tuple(column[rows] for column in one) for one in self.lookups))

    @property
    def half_width_rays(self) -> np.ndarray:
        """Half the arc of each row [rays], shape (rows,)."""
        (_row, _column, before), (_row, _column, after) = self.lookups[:2]
        return self.area / (2.0 * (before + after))

    def ring_weights(self) -> np.ndarray:
        """Return the part of each footprint's area in each ring, shape (footprints, n_rings)."""
        dense = np.zeros((len(self.start) - 1, len(self.grid.edges_m) - 1), np.float32)
        dense[np.repeat(np.arange(len(dense)), np.diff(self.start)), self.ring] = self.area
        return dense


def build(zones: Ellipse, grid: PolarGrid) -> Kernels:
    """Turn footprints into look-ups on a polar grid.

    Parameters
    ----------
    zones : Ellipse
        Footprints, 1-D [m].
    grid : PolarGrid
        The grid; its rings must cover the footprints.

    Returns
    -------
    Kernels
    """
    edges = grid.edges_m
    offsets = (np.arange(QUADRATURE) + 0.5) / QUADRATURE
    radii = edges[:-1, None] + (edges[1:] - edges[:-1])[:, None] * offsets
    columns = Ellipse(*(part[:, None, None] for part in zones))
    arc = half_width_rad(columns, radii)
    # area of ellipse ∩ ring = ∫ 2 θ r dr; the mean arc stands for the ring
    weight_r = radii / np.sum(radii, axis=1, keepdims=True)
    theta = np.sum(arc * weight_r, axis=-1)
    ring_area = edges[1:] ** 2 - edges[:-1] ** 2
    area = theta * ring_area
    total = np.sum(area, axis=1, keepdims=True)
    footprint, ring = np.nonzero(area > 0)
    start = np.searchsorted(footprint, np.arange(len(zones.semi_major_m) + 1))

    per_bin = grid.rays_per_bin
    reach = theta[footprint, ring] * grid.rays / (2.0 * np.pi)
    part = (area / total)[footprint, ring]
    weight = part / (2.0 * reach)
    pad = int(per_bin * np.ceil((np.max(reach, initial=0.0) + 1.0) / per_bin))
    centre = pad + per_bin / 2.0
    lookups = _lookup(centre + reach, weight, per_bin) + _lookup(centre - reach, -weight, per_bin)
    return Kernels(grid, ring, start, part, lookups, pad)


def _lookup(position, weight, per_bin):
    """Split positions on the padded ring into (row, column) of the transposed sums, and weights."""
    whole = np.floor(position).astype(np.intp)
    part = position - whole
    after = whole + 1
    return (
        (whole % per_bin, whole // per_bin, (weight * (1.0 - part)).astype(np.float32)),
        (after % per_bin, after // per_bin, (weight * part).astype(np.float32)),
    )


def shares(kernels: Kernels, spots: np.ndarray) -> np.ndarray:
    """Average surfaces over the footprints of every azimuth bin.

    Parameters
    ----------
    kernels : Kernels
        From `build` or `KernelCache.get`.
    spots : ndarray, shape (layers, n_rings, rays)
        What each spot is worth, 0 to 1 (any number will do).

    Returns
    -------
    ndarray, shape (layers, footprints, bins)
        Mean over the area of each footprint.
    """
    grid, pad, per_bin = kernels.grid, kernels.pad, kernels.grid.rays_per_bin
    layers, rings, rays = spots.shape
    width = rays + 2 * pad + per_bin
    sums = np.zeros((layers, rings, width), dtype=np.float32)
    # a circular copy on both sides lets arcs run over north
    sums[..., pad + 1:pad + rays + 1] = spots
    sums[..., 1:pad + 1] = spots[..., np.arange(-pad, 0) % rays]
    sums[..., pad + rays + 1:] = spots[..., np.arange(pad + per_bin - 1) % rays]
    np.cumsum(sums, axis=-1, out=sums)
    # bins next to each other in memory: one look-up brings all bins of a ring
    turned = np.ascontiguousarray(
        sums.reshape(layers, rings, width // per_bin, per_bin).swapaxes(-1, -2))
    s = turned.strides
    windows = as_strided(
        turned,
        shape=(layers, rings, per_bin, turned.shape[-1] - grid.bins + 1, grid.bins),
        strides=(s[0], s[1], s[2], s[3], s[3]), writeable=False)
    total = np.zeros((layers, len(kernels.ring), grid.bins), dtype=np.float32)
    for row, column, weight in kernels.lookups:
        part = windows[:, kernels.ring, row, column]
        part *= weight[:, None]
        total += part
    return np.add.reduceat(total, kernels.start[:-1], axis=1)


class KernelCache:
    """Grids and kernels by heights, elevation angles, wavelength, cell size and bins.

    Parameters
    ----------
    elevation_deg : array_like, shape (angles,)
        Elevation angles [°].
    wavelength_m : float
        Carrier wavelength [m].
    bins : int
        Number of azimuth bins.
    refine : float
        See `siting.ground.polargrid.choose_grid`.
    size : int
        Number of sets kept; the one unused for longest goes first.
    """

    def __init__(self, elevation_deg, wavelength_m: float, bins: int, refine: float = 1.0, size: int = 256):
        self.elevation_deg = np.asarray(elevation_deg, dtype=float)
        self.wavelength_m, self.bins, self.refine, self.size = wavelength_m, bins, refine, size
        self._kept: OrderedDict = OrderedDict()

    def zones(self, heights_m) -> Ellipse:
        """Return the footprints of all heights × elevation angles, shape (heights, angles)."""
        return first_zone(np.asarray(heights_m, float)[:, None], self.elevation_deg, self.wavelength_m)

    def get(self, heights_m, cell_m: float) -> Kernels:
        """Return the kernels for all heights × elevation angles, in that order.

        Parameters
        ----------
        heights_m : array_like, shape (levels,)
            Heights over the surface at each level [m], > 0.
        cell_m : float
            Finest raster cell [m]; it only steers the grid, so it counts to two digits.

        Returns
        -------
        Kernels
        """
        cell = float(f"{cell_m:.1e}")
        key = (tuple(float(h) for h in heights_m), cell)
        if key in self._kept:
            self._kept.move_to_end(key)
            return self._kept[key]
        zones = Ellipse(*(part.ravel() for part in self.zones(heights_m)))
        kernels = build(zones, choose_grid(zones, cell, self.bins, self.refine))
        self._kept[key] = kernels
        if len(self._kept) > self.size:
            self._kept.popitem(last=False)
        return kernels
