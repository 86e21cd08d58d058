"""What each spot around a site is worth: target, unknown, avoided, usable.

A spot is target where each layer that covers it says so; where no layer covers
it, it is unknown, and unknown counts as not target.
"""
from __future__ import annotations

from dataclasses import dataclass, field
from functools import partial
from typing import NamedTuple

import numpy as np

from ..errors import InputError
from .classes import TargetClasses
from .inflow import Inflow, spread_around
from .polargrid import PolarGrid
from .polygons import PolygonLayer, PolygonSampler
from .rasters import Raster
from .rastersampling import RasterSampler

FLAT_TOLERANCE_M = 0.1
"""How far above the zero level a flattened water surface in a DEM may lie and still be it [m]."""


@dataclass
class SurfaceLayers:
    """The layers that tell the surface; each may be missing, but not all.

    Attributes
    ----------
    landcover, classes : Raster and TargetClasses, or None
    class_names : dict of int to str
        Names of land-cover classes, for the words.
    water : PolygonLayer or None
        `water_is_land` when it holds everything that is not the surface.
    water_waves : ndarray or None
        Significant wave height of each group of `water` [m]; None where the candidates' own serve.
    avoid : PolygonLayer or None
        Groups with a name and the share of the time [0 to 1] that they spoil.
    dem : Raster or None
    dem_is_bed : bool
        Whether the DEM goes on under water.
    is_water : bool
        Sea or lake (True), snow or soil (False).
    is_sea : bool
        Whether the water is the sea, which reaches the DEM's rim.
    inflow : Inflow or None
        Where the sea reaches, filled when only the DEM tells (see `needs_inflow`).
    """

    landcover: Raster | None = None
    classes: TargetClasses | None = None
    class_names: dict = field(default_factory=dict)
    water: PolygonLayer | None = None
    water_is_land: bool = False
    water_waves: np.ndarray | None = None
    avoid: PolygonLayer | None = None
    avoid_names: list = field(default_factory=list)
    avoid_shares: np.ndarray | None = None
    dem: Raster | None = None
    dem_is_bed: bool = False
    is_water: bool = True
    is_sea: bool = False
    inflow: Inflow | None = None

    def check(self) -> None:
        """Refuse a set of layers that can tell nothing.

        Raises
        ------
        InputError
        """
        if self.landcover is None and self.water is None and self.dem is None:
            raise InputError(
                "Neither LANDCOVER nor WATER nor DEM is given, so nothing tells where the surface to be "
                "measured is. Give at least one of them.")
        if self.landcover is not None and self.classes is None:
            raise InputError("LANDCOVER is given without TARGET_CLASSES. Say which classes are the surface.")

    @property
    def dem_is_alone(self) -> bool:
        """Whether nothing but the DEM tells the surface."""
        return self.dem is not None and self.landcover is None and self.water is None

    @property
    def dem_decides(self) -> bool:
        """Whether the DEM has a say in what is target."""
        return self.dem is not None and (self.dem_is_alone or (self.is_water and self.dem_is_bed))

    @property
    def dem_fills_holes(self) -> bool:
        """Whether the DEM tells where water is on spots without land cover."""
        return self.dem is not None and self.is_water and self.landcover is not None and self.water is None

    @property
    def needs_inflow(self) -> bool:
        """Whether it must be found out where the sea reaches, for only the DEM tells."""
        return self.dem_is_alone and self.is_sea


class Spots(NamedTuple):
    """Worth of each spot at one level, arrays (n_rings, rays), 0 to 1; nothing is hidden before sight is looked at."""

    target: np.ndarray
    unknown: np.ndarray
    avoid: np.ndarray
    usable: np.ndarray
    hidden: np.ndarray


class Cause(NamedTuple):
    """Something that spoils spots: its name in words, and how much of each spot it takes (or whether)."""

    name: str
    kind: str
    share: np.ndarray


class Surface:
    """The surface around one site, sampled once, told at any level."""

    def __init__(self, layers: SurfaceLayers, classes, class_valid, water, avoid, ground, ground_valid,
                 zero_level, flooded=None, wave2=None):
        self._layers, self.wave2 = layers, wave2
        self.class_at = None
        self._classes, self._class_valid = classes, class_valid
        self.water = water
        self._avoid_groups = avoid
        says = layers.dem_decides or layers.dem_fills_holes
        self._ground, self._ground_valid = (ground, ground_valid) if says else (None, None)
        self._zero_level, self._flooded = zero_level, flooded
        shape = next(a.shape for a in (classes, water, ground) if a is not None)
        self.avoid = np.zeros(shape, np.float32)
        for group, cover in avoid.items():
            np.maximum(self.avoid, cover * np.float32(layers.avoid_shares[group]), out=self.avoid)
        self._wrong = None if classes is None else class_valid & ~layers.classes.contains(classes)
        self._told = self._tell_fixed(shape)

    @property
    def varies_with_level(self) -> bool:
        """Whether the spots' worth changes with the level."""
        return self._layers.dem_decides and self._layers.is_water and self._layers.dem_is_bed

    def _tell_fixed(self, shape):
        """Combine what does not change with the level: target so far, and what is covered."""
        target, covered = np.ones(shape, np.float32), np.zeros(shape, bool)
        if self._classes is not None:
            target[self._wrong] = 0.0
            covered |= self._class_valid
        if self.water is not None:
            target *= self.water
            covered[...] = True
        return target, covered

    def at_level(self, level: float) -> Spots:
        """Tell the spots' worth at a level.

        Parameters
        ----------
        level : float
            Level of the surface in the DEM's vertical datum [m].

        Returns
        -------
        Spots
        """
        target, covered = self._told
        if self._ground is not None:
            target, covered = target.copy(), covered | self._ground_valid
            target[self._dry(level)] = 0.0
        unknown = None
        if not covered.all():
            unknown = (~covered).astype(np.float32)
            target = np.where(covered, target, np.float32(0.0))
        usable = target if not self._avoid_groups else target * (1.0 - self.avoid)
        nothing = np.zeros_like(target)
        return Spots(target, unknown if unknown is not None else nothing, self.avoid, usable, nothing)

    def _dry(self, level):
        """Tell where the DEM denies the target at a level: where it has a say, and where it alone tells."""
        layers, valid = self._layers, self._ground_valid
        if not layers.is_water:
            return np.zeros(valid.shape, bool)
        highest = level if layers.dem_is_bed else self._zero_level + FLAT_TOLERANCE_M
        low = valid & (self._ground < highest if layers.dem_is_bed else self._ground <= highest)
        target, covered = self._told
        alone = valid & ~covered
        dry = (valid if layers.dem_decides else alone) & ~low
        if alone.any():
            # low ground that no water reaches is not water
            told = covered & (target > 0.5) & ~dry
            seeds = self._flooded
            if not layers.dem_is_alone:
                seeds = told.copy()
                seeds[-1] = True
            dry |= alone & ~spread_around(told | (alone & low), seeds)
        return dry

    def causes(self, level: float) -> list[Cause]:
        """List what spoils the spots at a level, each with its share of every spot."""
        spots, causes = self.at_level(level), []
        layers = self._layers
        if self._classes is not None:
            for value in _present(self._classes[self._wrong]):
                mine = self._classes == value
                mine &= self._wrong
                causes.append(Cause(self._class_label(value), "class", mine))
        if self._ground is not None or self.water is not None:
            causes += self._causes_beside_classes(level, spots)
        if spots.unknown.any():
            causes.append(Cause("no data", "unknown", spots.unknown))
        taken = np.float32(0.0)
        for group in sorted(self._avoid_groups, key=lambda g: -layers.avoid_shares[g]):
            share = self._avoid_groups[group] * np.float32(layers.avoid_shares[group]) * spots.target
            share = np.maximum(share - taken, 0.0)
            taken = taken + share
            if share.any():
                causes.append(Cause(self._avoid_label(group), "avoid", share))
        return causes

    def _causes_beside_classes(self, level, spots):
        """List what the DEM and the polygons deny of what the classes leave."""
        layers, causes = self._layers, []
        lost = (1.0 - spots.target - spots.unknown).clip(0.0, 1.0)
        if self._wrong is not None:
            lost[self._wrong] = 0.0
        if self._ground is not None:
            dry = self._dry(level)
            if self.water is not None:
                # outside the polygons it is land at any level, not drying ground
                dry &= self.water > 0.5
            dry_share = np.where(dry, lost, np.float32(0.0))
            if dry_share.any():
                is_told = layers.dem_decides and not layers.dem_is_alone
                label = "ground that is dry at this level" if is_told else "dry ground"
                causes.append(Cause(label, "dry", dry_share))
                lost = lost - dry_share
        if lost.any():
            label = "land (outside the water polygons)" if not layers.water_is_land else "land (polygons)"
            if not layers.is_water:
                label = "other ground (by the polygons)"
            causes.append(Cause(label, "land", lost))
        return causes

    def names_at(self, east_m, north_m) -> list[str]:
        """Name what stands at local points [m]: by its land-cover class, else as ground or structure."""
        if self.class_at is None:
            return ["ground or structure"] * len(east_m)
        values, valid = self.class_at(np.asarray(east_m), np.asarray(north_m))
        return [self._class_label(value) if ok else "ground or structure"
                for value, ok in zip(values.tolist(), valid.tolist())]

    def _class_label(self, value) -> str:
        text = f"{value:g}"
        name = self._layers.class_names.get(int(value)) if float(value).is_integer() else None
        return name if name else f"land-cover class {text}"

    def _avoid_label(self, group) -> str:
        name, share = self._layers.avoid_names[group], float(self._layers.avoid_shares[group])
        name = name or "an area to avoid"
        return name if share >= 0.995 else f"{name} (there {100 * share:.0f} % of the time)"


def _present(values: np.ndarray) -> np.ndarray:
    """Return the distinct values, rising; counting bytes is quicker than sorting them."""
    if values.dtype == np.uint8:
        return np.flatnonzero(np.bincount(values, minlength=256))
    return np.unique(values)


class SurfaceSampler:
    """Samples all layers around many sites.

    Parameters
    ----------
    layers : SurfaceLayers
    lon, lat : ndarray, shape (n,)
        The sites, WGS 84 [°].
    reach_m : array_like
        Farthest spot at each site [m].

    Attributes
    ----------
    dem : RasterSampler or None
        The DEM where it has a say, or where it shows the ground that is the surface.
    """

    def __init__(self, layers: SurfaceLayers, lon, lat, reach_m):
        layers.check()
        self.layers = layers

        def raster(one):
            return RasterSampler(one, lon, lat, reach_m) if one is not None else None

        def polygon(one):
            return PolygonSampler(one, lon, lat, reach_m) if one is not None else None

        self._landcover = raster(layers.landcover)
        is_ground = layers.dem is not None and not layers.is_water
        self.dem = raster(layers.dem) if layers.dem_decides or layers.dem_fills_holes or is_ground else None
        self._water, self._avoid = polygon(layers.water), polygon(layers.avoid)

    def cell_m(self, site: int) -> float:
        """Return the finest cell among the rasters at a site [m]; 0 without a raster."""
        told = (self._landcover, self.dem if self.layers.dem_decides else None)
        cells = [s.cell_m(site) for s in told if s is not None]
        cells = [c for c in cells if np.isfinite(c)]
        return min(cells) if cells else 0.0

    def surface(self, site: int, grid: PolarGrid, zero_level: float) -> Surface:
        """Sample the surface around one site.

        Parameters
        ----------
        site : int
        grid : PolarGrid
        zero_level : float
            Zero level of the surface in the DEM's vertical datum [m].

        Returns
        -------
        Surface
        """
        classes = class_valid = ground = ground_valid = water = wave2 = None
        if self._landcover is not None:
            classes, class_valid = self._landcover.sample_grid(site, grid)
        fills = self.layers.dem_fills_holes and not class_valid.all()
        if self.dem is not None and (self.layers.dem_decides or fills):
            ground, ground_valid = self.dem.sample_grid(site, grid)
        if self._water is not None:
            cover = self._water.coverage(site, grid)
            water = np.zeros((len(grid.edges_m) - 1, grid.rays), np.float32)
            for part in cover.values():
                water = np.minimum(water + part, 1.0)
            if self.layers.water_is_land:
                water = 1.0 - water
            elif self.layers.water_waves is not None:
                # polygons without a wave height leave it to the candidate's own
                told = np.minimum(sum((part for group, part in cover.items() if not np.isnan(
                    self.layers.water_waves[group])), np.zeros_like(water)), 1.0)
                wave2 = (sum((part * np.float32(self.layers.water_waves[group] ** 2) for group, part in cover.items()
                              if not np.isnan(self.layers.water_waves[group])), np.zeros_like(water)), told)
        avoid = self._avoid.coverage(site, grid) if self._avoid is not None else {}
        flooded = None
        if self.layers.inflow is not None:
            flooded = self.layers.inflow.reaches(*self.dem.pixels(site, *grid.east_north()))
        surface = Surface(self.layers, classes, class_valid, water, avoid, ground, ground_valid, zero_level, flooded,
                          wave2)
        if self._landcover is not None:
            surface.class_at = partial(self._landcover.sample, site)
        return surface
