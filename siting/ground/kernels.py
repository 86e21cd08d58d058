"""Area shares of footprints for all azimuths at once, from one polar sampling.

A footprint cut by a ring is an arc of known half-width around the bin's centre
(see `siting.geometry.fresnel.half_width_rad`). The share of a surface is then a sum over
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

from ..geometry.fresnel import Ellipse, first_zone, half_width_rad
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
    place : ndarray of int, shape (rows, 4)
        Places in the running sums (see `running_sums`, flattened) for the first bin: before and after the
        far end of the arc, before and after its near end.
    weight : ndarray, shape (rows, 4)
        With what weight each counts.
    pad : int
        Bins that are repeated on both sides of north.
    """

    grid: PolarGrid
    ring: np.ndarray
    start: np.ndarray
    area: np.ndarray
    place: np.ndarray
    weight: np.ndarray
    pad: int

    def part(self, first: int, last: int) -> Kernels:
        """Return the kernels of footprints first … last - 1 on the same grid."""
        rows = slice(self.start[first], self.start[last])
        return self._replace(
            ring=self.ring[rows], start=self.start[first:last + 1] - self.start[first],
            area=self.area[rows], place=self.place[rows], weight=self.weight[rows])

    @property
    def half_width_rays(self) -> np.ndarray:
        """Half the arc of each row [rays], shape (rows,)."""
        return self.area / (2.0 * self.weight[:, :2].sum(axis=1))

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
    meets = (zones.near_m[:, None] < edges[1:]) & (zones.far_m[:, None] > edges[:-1])
    footprint, ring = np.nonzero(meets)
    low, high = edges[ring, None], edges[ring + 1, None]
    radii = low + (high - low) * ((np.arange(QUADRATURE) + 0.5) / QUADRATURE)
    arc = half_width_rad(Ellipse(*(part[footprint, None] for part in zones)), radii)
    # area of ellipse ∩ ring = ∫ 2 θ r dr; the mean arc stands for the ring
    theta = np.sum(arc * radii, axis=1) / np.sum(radii, axis=1)
    found = theta > 0
    footprint, ring, theta = footprint[found], ring[found], theta[found]
    area = theta * (edges[ring + 1] ** 2 - edges[ring] ** 2)
    start = np.searchsorted(footprint, np.arange(len(zones.semi_major_m) + 1))
    part = area / np.add.reduceat(area, start[:-1])[footprint]

    per_bin = grid.rays_per_bin
    reach = theta * grid.rays / (2.0 * np.pi)
    weight = part / (2.0 * reach)
    pad = int(np.ceil((np.max(reach, initial=0.0) + 1.0) / per_bin))
    # spot p of a ring lies from p + phase - ½ to p + phase + ½
    centre = pad * per_bin + per_bin / 2.0 - (grid.phase[ring] - 0.5)
    ends = np.stack([centre + reach, centre - reach], axis=1)
    whole = np.floor(ends).astype(np.intp)
    after = ends - whole
    weights = (np.array([1.0, -1.0]) * weight[:, None])[..., None] * np.stack([1.0 - after, after], axis=-1)
    column, row = np.divmod(whole, per_bin)
    columns = grid.bins + 2 * pad
    place = (ring[:, None] * (per_bin + 1) + row) * columns + column
    # the sum after a ray stands one row further on
    place = np.stack([place, place + columns], axis=-1)
    return Kernels(grid, ring, start, part, place.reshape(-1, 4), weights.reshape(-1, 4).astype(np.float32), pad)


def running_sums(spots: np.ndarray, bins: int, pad: int) -> np.ndarray:
    """Sum spots along their rings up to every ray.

    Parameters
    ----------
    spots : ndarray, shape (layers, n_rings, rays)
    bins : int
    pad : int
        Bins that are repeated on both sides of north, so that arcs can run over it.

    Returns
    -------
    ndarray, shape (layers, n_rings, rays per bin + 1, pad + bins + pad)
        Element (…, j, b) is the sum before ray j of bin b - pad. Bins next to each other lie next to
        each other in memory, so that one look-up brings all of them.
    """
    layers, rings, rays = spots.shape
    per_bin = rays // bins
    sums = np.empty((layers, rings, per_bin + 1, bins + 2 * pad), np.float32)
    sums[..., 0, :] = 0.0
    in_bins = spots.reshape(layers, rings, bins, per_bin).swapaxes(-1, -2)
    sums[..., 1:, pad:pad + bins] = in_bins
    sums[..., 1:, :pad] = in_bins[..., np.arange(-pad, 0) % bins]
    sums[..., 1:, pad + bins:] = in_bins[..., np.arange(pad) % bins]
    # within a bin first, all bins at once; then from bin to bin
    for ray in range(1, per_bin):
        sums[..., ray + 1, :] += sums[..., ray, :]
    whole = sums[..., -1, :]
    before = np.cumsum(whole, axis=-1) - whole
    sums += before[..., None, :]
    return sums


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
    bins, start = kernels.grid.bins, kernels.start
    result = np.empty((len(spots), len(start) - 1, bins), np.float32)
    for layer, sums in zip(result, running_sums(spots, bins, kernels.pad)):
        flat = sums.ravel()
        # row i holds what the next bins have at the same place
        all_bins = as_strided(flat, (flat.size - bins + 1, bins), (flat.itemsize, flat.itemsize), writeable=False)
        for footprint, (first, last) in enumerate(zip(start[:-1], start[1:])):
            # a product so small is no work for several threads, which a library for matrices would wake
            np.einsum("i,ij->j", kernels.weight[first:last].ravel(), all_bins[kernels.place[first:last].ravel()],
                      out=layer[footprint])
    return result


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
