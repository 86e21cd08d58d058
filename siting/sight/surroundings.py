"""What stands around a site, on rings and rays: before and behind the footprints."""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..arrays import Array, ArrayLike
from ..earth import RADIO_RADIUS_M
from ..ground.polargrid import PolarGrid

BEYOND_M = 250.0
"""How far beyond the farthest footprint the surroundings reach [m]; what stands farther off is the skyline's."""
OWN_CELL = 0.7
"""Distance [cells] from which on something may hide the surface: the antenna's own cell does not."""
CLOSE = 10
"""Within so many cells rings are half a cell apart: a wall close by hides much."""
STEP = 0.01
"""Farther out rings are a cell apart, or this part of their radius where that is more: where a wall stands decides how
far its shadow reaches into a footprint."""
BARRIER_COVER = 0.1
"""Part of a spot that a barrier must cover to stand there: a wall may be thinner than a cell."""


def reach_m(far_m: ArrayLike) -> Array:
    """Return how far the surroundings of footprints that end at `far_m` reach [m]."""
    far_m = np.asarray(far_m, float)
    return np.maximum(far_m + BEYOND_M, 2.0 * far_m)


def surrounding_grid(grid: PolarGrid, cell_m: float) -> PolarGrid:
    """Lay rings from the antenna's cell to beyond the footprints, with the rays of the footprints' grid.

    Parameters
    ----------
    grid : PolarGrid
        On which the surface is sampled.
    cell_m : float
        Width of the DEM's cells [m]; 0 without a DEM.

    Returns
    -------
    PolarGrid
    """
    far = float(grid.edges_m[-1])
    cell = cell_m if cell_m > 0 else max(far / 200.0, 0.25)
    edges = [OWN_CELL * cell]
    end = float(reach_m(far))
    while edges[-1] < end:
        least = cell / 2.0 if edges[-1] < CLOSE * cell else cell
        edges.append(edges[-1] + max(least, STEP * edges[-1]))
    return PolarGrid(np.array(edges), grid.rays, grid.bins)


class Surroundings(NamedTuple):
    """Heights around one site.

    Attributes
    ----------
    grid : PolarGrid
        See `surrounding_grid`.
    top_m : ndarray, shape (n_rings, rays)
        Top of ground or barrier in the DEM's vertical datum [m]; -inf where nothing is known.
    is_barrier : ndarray of bool, shape (n_rings, rays), or None
        Where a barrier stands; None where there is none.
    """

    grid: PolarGrid
    top_m: Array
    is_barrier: Array | None = None

    @property
    def cell_m(self) -> float:
        """Width of the cells that the rings were laid for [m] (see `surrounding_grid`)."""
        return float(self.grid.edges_m[0]) / OWN_CELL

    @property
    def drop_m(self) -> Array:
        """By how much the Earth's curvature lowers each ring [m], shape (n_rings, 1)."""
        return (self.grid.radius_m**2 / (2.0 * RADIO_RADIUS_M))[:, None].astype(np.float32)


def with_barriers(ground: Array | None, valid: Array | None, cover: dict, heights_m: Array,
                  base_m: float) -> tuple[Array, Array | None]:
    """Set barriers on the ground.

    Parameters
    ----------
    ground, valid : ndarray, shape (n_rings, rays), or None
        The DEM [m]; None without one.
    cover : dict of int to ndarray
        Part of each spot that each group of barriers covers.
    heights_m : ndarray
        Height of each group above the ground [m].
    base_m : float
        Ground where the DEM has none [m].

    Returns
    -------
    top_m : ndarray
        [m]; -inf where nothing is known.
    is_barrier : ndarray of bool or None
    """
    shape = next(part.shape for part in ([ground] if ground is not None else list(cover.values())))
    if ground is None:
        base, top = np.full(shape, base_m, np.float32), np.full(shape, -np.inf, np.float32)
    else:
        base = np.where(valid, ground, np.float32(base_m)).astype(np.float32)
        top = np.where(valid, ground, np.float32(-np.inf)).astype(np.float32)
    is_barrier = np.zeros(shape, bool) if cover else None
    for group, part in cover.items():
        here = part >= BARRIER_COVER
        np.maximum(top, base + np.float32(heights_m[group]), out=top, where=here)
        is_barrier |= here
    return top, is_barrier
