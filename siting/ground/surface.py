"""What each spot around a site is worth: target, unknown, avoided, usable.

A spot is target where each layer that covers it says so; where no layer covers
it, it is unknown, and unknown counts as not target.
"""
from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import partial
from typing import Callable, NamedTuple

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
    avoid_names, avoid_shares : list of str, ndarray
        Of each group.
    dem : Raster or None
    dem_is_bed : bool
        Whether the DEM goes on under water.
    is_water : bool
        Sea or lake (True), snow or soil (False).
    is_sea : bool
        Whether the water is the sea, which reaches the DEM's rim.
    inflow : Inflow or None
        From which level on the sea reaches in; needed when only the DEM tells (see `with_inflow`).
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

    def with_inflow(self, is_cancelled: Callable[[], bool] = lambda: False) -> SurfaceLayers:
        """Return layers that know where the sea reaches in, if that is needed; these, where they do already.

        Raises
        ------
        Cancelled
        """
        if not self.needs_inflow or self.inflow is not None:
            return self
        return replace(self, inflow=Inflow(self.dem, is_cancelled))


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
                 zero_level, spill=None, wave2=None):
        self._layers, self.wave2 = layers, wave2
        self.class_at = None
        self._classes, self._class_valid = classes, class_valid
        self.water = water
        says = layers.dem_decides or layers.dem_fills_holes
        self._ground, self._ground_valid = (ground, ground_valid) if says else (None, None)
        self._zero_level, self._spill = zero_level, spill
        shape = next(a.shape for a in (classes, water, ground) if a is not None)
        self._read_avoided(avoid, shape)
        self._wrong = None if classes is None else class_valid & ~layers.classes.contains(classes)
        self._told = self._tell_fixed(shape)

    def _read_avoided(self, around, shape):
        """Part what is avoided always, which takes ground, from what is avoided part of the time, which takes arcs."""
        layers, groups = self._layers, [] if around is None else around.groups
        share_of = {group: float(layers.avoid_shares[group]) for group in groups if layers.avoid_shares[group] > 0}
        shares = sorted(set(share_of.values()), reverse=True)
        self._around, self._always_groups = around, [g for g, one in share_of.items() if one >= 1.0]
        self.avoid, self.partly, self.partly_groups, self.always = np.zeros(shape, np.float32), [], [], None
        # where areas overlap the largest share counts: each step of the share takes the union of all from there up
        for share, less in zip(shares, [*shares[1:], 0.0]):
            cover = around.cover(g for g, one in share_of.items() if one >= share)
            self.avoid += np.float32(share - less) * cover
            if share >= 1.0:
                self.always = cover
                continue
            self.partly.append((share, cover))
            self.partly_groups += [(layers.avoid_names[g] or "an area to avoid", share, around.cover([g]))
                                   for g, one in share_of.items() if one == share]

    @property
    def is_water(self) -> bool:
        """Whether the surface is water (sea or lake)."""
        return self._layers.is_water

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
        usable = target if self.always is None else target * (1.0 - self.always)
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
            seeds = None if self._spill is None else self._spill < highest
            if not layers.dem_is_alone:
                seeds = told.copy()
                seeds[-1] = True
            dry |= alone & ~spread_around(told | (alone & low), seeds)
        return dry

    def causes(self, level: float) -> list[Cause]:
        """List what spoils the spots at a level, each with its share of every spot."""
        spots, causes = self.at_level(level), []
        taken = np.float32(0.0)
        # what is always avoided is named before the ground that it stands on: a car park, not its paving
        for number, group in enumerate(self._always_groups):
            cover = self._around.cover(self._always_groups[:number + 1])
            share, taken = np.maximum(cover - taken, 0.0), cover
            if share.any():
                causes.append(Cause(self._layers.avoid_names[group] or "an area to avoid", "avoid", share))

        def left(share):
            # what is wholly there or not stays so where nothing is avoided: bytes are quicker than floats
            return share * (1.0 - taken) if self._always_groups else share

        if self._classes is not None:
            for value in _present(self._classes[self._wrong]):
                mine = self._classes == value
                mine &= self._wrong
                causes.append(Cause(self._class_label(value), "class", left(mine)))
        if self._ground is not None or self.water is not None:
            causes += [one._replace(share=left(one.share)) for one in self._causes_beside_classes(level, spots)]
        if spots.unknown.any():
            causes.append(Cause("no data", "unknown", left(spots.unknown)))
        return [one for one in causes if one.share.any()]

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
            around, nothing = self._water.around(site, grid), np.zeros((len(grid.edges_m) - 1, grid.rays), np.float32)
            water = nothing if around is None else around.cover()
            if self.layers.water_is_land:
                water = 1.0 - water
            elif self.layers.water_waves is not None:
                wave2 = self._waves(around, nothing)
        avoid = self._avoid.around(site, grid) if self._avoid is not None else None
        spill = None
        if self.layers.inflow is not None:
            spill = self.layers.inflow.spill_m(*self.dem.pixels(site, *grid.east_north()))
        surface = Surface(self.layers, classes, class_valid, water, avoid, ground, ground_valid, zero_level, spill,
                          wave2)
        if self._landcover is not None:
            surface.class_at = partial(self._landcover.sample, site)
        return surface

    def _waves(self, around, nothing):
        """Return the squared wave height that polygons tell, the highest where they overlap, and how much they tell."""
        waves, squares = self.layers.water_waves, nothing.copy()
        groups = [] if around is None else [g for g in around.groups if not np.isnan(waves[g])]
        heights = sorted({float(waves[g]) for g in groups}, reverse=True)
        told = nothing
        for height, less in zip(heights, [*heights[1:], 0.0]):
            told = around.cover(g for g in groups if waves[g] >= height)
            squares += np.float32(height**2 - less**2) * told
        # polygons without a wave height leave it to the candidate's own
        return squares, told
