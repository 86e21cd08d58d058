"""Sampling what may hide the surface around many sites."""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..errors import SiteError
from ..ground.polargrid import PolarGrid
from ..ground.polygons import PolygonSampler
from ..ground.rasters import Raster
from ..ground.rastersampling import RasterSampler
from .surroundings import OWN_CELL, Surroundings, reach_m, surrounding_grid, with_barriers
from .visible import Ground, Obstacle, Sight

if TYPE_CHECKING:
    from .barriers import Barriers
    from .terrain import Terrain

BELOW_LOWEST_DEG = 1.0
"""How far below the lowest angle looked at a skyline still matters: far terrain seen from the footprints stands a
little higher than seen from the antenna."""
NEARLY = 0.98
"""Part of the greatest distance to which elevation models must reach to be complete."""


@dataclass
class SightLayers:
    """The layers that tell what stands around; each may be missing.

    Attributes
    ----------
    dem : Raster or None
        For what stands near.
    barriers : Barriers or None
    terrain : Terrain or None
        For the skyline.
    dem_shows_water : bool
        Whether over water the DEM shows a water surface, which is no ground.
    ground_rises : bool
        Whether the surface is ground that rises with the level (snow, soil).
    noise_m : float
        The DEM's own noise [m]: on rough ground, what stands out by less hides nothing.
    """

    dem: Raster | None = None
    barriers: Barriers | None = None
    terrain: Terrain | None = None
    dem_shows_water: bool = True
    ground_rises: bool = False
    noise_m: float = 0.0

    def __bool__(self) -> bool:
        return self.dem is not None or self.barriers is not None or self.terrain is not None


class SightSampler:
    """Samples the surroundings around some sites.

    Parameters
    ----------
    layers : SightLayers
    lon, lat : ndarray, shape (n,)
        WGS 84 [°].
    far_m : ndarray, shape (n,)
        Far end of each site's farthest footprint [m].
    first : int
        Number of the first of these sites among those that `layers.terrain` knows.
    """

    def __init__(self, layers: SightLayers, lon, lat, far_m, first: int = 0):
        self.layers, self.first = layers, first
        # a ring may end beyond the reach that it was laid for
        reach = 1.05 * reach_m(far_m) + 5.0
        self._dem = RasterSampler(layers.dem, lon, lat, reach) if layers.dem is not None else None
        self._barriers = (PolygonSampler(layers.barriers.layer, lon, lat, reach)
                          if layers.barriers is not None else None)

    def sight(self, site: int, grid: PolarGrid, antenna_z_m: float, base_m: float, water, bin_centre_deg,
              lowest_deg: float) -> Sight:
        """Look around one site.

        Parameters
        ----------
        site : int
        grid : PolarGrid
            On which the surface is sampled.
        antenna_z_m : float
            Elevation of the antenna in the DEM's vertical datum [m].
        base_m : float
            Ground where the DEM has none [m].
        water : ndarray of bool or None
            Which spots of `grid` are water.
        bin_centre_deg : ndarray, shape (bins,)
        lowest_deg : float
            Lowest elevation angle looked at [°].

        Returns
        -------
        Sight

        Raises
        ------
        SiteError
            If the antenna's own cell of the DEM holds all footprints, so that it tells nothing of what hides them.
        """
        layers = self.layers
        surroundings = None
        if self._dem is not None or self._barriers is not None:
            cell = self._dem.cell_m(site) if self._dem is not None else 0.0
            cell = cell if np.isfinite(cell) else 0.0
            far = float(grid.edges_m[-1])
            if OWN_CELL * cell >= far:
                # on the ground a map's cells of 2400 m may be 2401 m wide
                width = float(format(cell, ".3g"))
                raise SiteError(f"the DEM is too coarse here: its cells are {width:g} m wide and the "
                                f"footprints end {far:.3g} m out, in the antenna's own cell; give a finer DEM, or this "
                                "one as DEM_FAR")
            around = surrounding_grid(grid, cell)
            ground, valid = self._dem.sample_grid(site, around) if self._dem is not None else (None, None)
            cover = self._barriers.coverage(site, around) if self._barriers is not None else {}
            heights = layers.barriers.height_m if layers.barriers is not None else np.zeros(0)
            if ground is not None or cover:
                surroundings = Surroundings(around, *with_barriers(ground, valid, cover, heights, base_m))
        skyline = ends = None
        if layers.terrain is not None:
            floor = lowest_deg - BELOW_LOWEST_DEG
            found = layers.terrain.skyline(self.first + site, antenna_z_m, bin_centre_deg, floor)
            if np.any(found.ends_m < layers.terrain.max_distance_m * NEARLY):
                ends = found.ends_m
            matters = found.el_deg >= floor
            if matters.any():
                skyline = Obstacle(np.where(matters, found.el_deg, -np.inf), found.dist_m)
        is_ground = layers.ground_rises
        shown = Ground(water if layers.dem_shows_water and not is_ground else None, is_ground,
                       layers.noise_m if is_ground else 0.0)
        return Sight(surroundings, grid, antenna_z_m, shown, skyline, ends)
