"""What each spot around a site is worth: target, unknown, avoided, usable.

A spot is target where each layer that covers it says so; where no layer covers
it, it is unknown, and unknown counts as not target.
"""
from __future__ import annotations

from functools import partial
from typing import Callable, NamedTuple

import numpy as np

from ..arrays import Array
from .inflow import spread_around
from .polargrid import PolarGrid
from .polygons import PolygonSampler
from .rastersampling import RasterSampler
from .raycrossings import Crossings
from .surfacelayers import SurfaceLayers

FLAT_TOLERANCE_M = 0.1
"""How far above the zero level a flattened water surface in a DEM may lie and still be it [m]."""


class Spots(NamedTuple):
    """Worth of each spot at one level, arrays (n_rings, rays), 0 to 1; nothing is hidden before sight is looked at."""

    target: Array
    unknown: Array
    avoid: Array
    usable: Array
    hidden: Array


class Cause(NamedTuple):
    """Something that spoils spots.

    Attributes
    ----------
    name : str
        In words.
    kind : str
    share : ndarray, shape (n_rings, rays)
        How much of each spot it takes, or whether it does.
    out_m : float
        How far out it stands, where it takes spots behind it [m]; else NaN.
    """

    name: str
    kind: str
    share: Array
    out_m: float = np.nan


class Sampled(NamedTuple):
    """What the layers say of the spots around one site, arrays (n_rings, rays); None where a layer does not tell.

    Attributes
    ----------
    classes, class_valid : ndarray, ndarray of bool, or None
        Land-cover classes, and where there are any.
    class_at : callable or None
        Looks up the classes at local points: (east_m, north_m) → values, valid.
    ground, ground_valid : ndarray, ndarray of bool, or None
        The DEM [m].
    water : ndarray or None
        Share of each spot that polygons say is the surface.
    wave2 : tuple of ndarray or None
        Squared wave height that polygons tell [m²], and how much of each spot they tell.
    avoid : Crossings or None
        What is to be avoided.
    spill : ndarray or None
        Level from which on the sea reaches in [m].
    """

    classes: Array | None = None
    class_valid: Array | None = None
    class_at: Callable | None = None
    ground: Array | None = None
    ground_valid: Array | None = None
    water: Array | None = None
    wave2: tuple | None = None
    avoid: Crossings | None = None
    spill: Array | None = None


class Surface:
    """The surface around one site, sampled once, told at any level.

    Parameters
    ----------
    layers : SurfaceLayers
    sampled : Sampled
    zero_level : float
        Zero level of the surface in the DEM's vertical datum [m].
    """

    def __init__(self, layers: SurfaceLayers, sampled: Sampled, zero_level: float):
        self._layers, self.wave2, self.water = layers, sampled.wave2, sampled.water
        self._classes, self._class_valid, self._class_at = sampled.classes, sampled.class_valid, sampled.class_at
        says = layers.dem_decides or layers.dem_fills_holes
        self._ground, self._ground_valid = (sampled.ground, sampled.ground_valid) if says else (None, None)
        self._zero_level, self._spill = zero_level, sampled.spill
        shape = next(a.shape for a in (sampled.classes, sampled.water, sampled.ground) if a is not None)
        self._read_avoided(sampled.avoid, shape)
        self._wrong = None if self._classes is None else self._class_valid & ~layers.classes.contains(self._classes)
        self._told = self._tell_fixed(shape)

    def _read_avoided(self, around, shape):
        """Part what is avoided always, which takes ground, from what is avoided part of the time, which takes arcs."""
        layers, groups = self._layers, [] if around is None else around.groups
        share_of = {group: float(layers.avoid_shares[group]) for group in groups if layers.avoid_shares[group] > 0}
        shares = sorted(set(share_of.values()), reverse=True)
        self._around, self._always_groups = around, [g for g, part in share_of.items() if part >= 1.0]
        self.avoid, self.partly, self.partly_groups, self.always = np.zeros(shape, np.float32), [], [], None
        # where areas overlap the largest share counts: each step of the share takes the union of all from there up
        for share, less in zip(shares, [*shares[1:], 0.0]):
            cover = around.cover(g for g, part in share_of.items() if part >= share)
            self.avoid += np.float32(share - less) * cover
            if share >= 1.0:
                self.always = cover
                continue
            self.partly.append((share, cover))
            self.partly_groups += [(layers.avoid_names[g] or "an area to avoid", share, around.cover([g]))
                                   for g, part in share_of.items() if part == share]

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
            causes += [cause._replace(share=left(cause.share)) for cause in self._causes_beside_classes(level, spots)]
        if spots.unknown.any():
            causes.append(Cause("no data", "unknown", left(spots.unknown)))
        return [cause for cause in causes if cause.share.any()]

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

    def names_at(self, east_m: Array, north_m: Array) -> list[str]:
        """Name what stands at local points [m]: by its land-cover class, else as ground or structure."""
        if self._class_at is None:
            return ["ground or structure"] * len(east_m)
        values, valid = self._class_at(np.asarray(east_m), np.asarray(north_m))
        return [self._class_label(value) if ok else "ground or structure"
                for value, ok in zip(values.tolist(), valid.tolist())]

    def _class_label(self, value) -> str:
        text = f"{value:g}"
        name = self._layers.class_names.get(int(value)) if float(value).is_integer() else None
        return name if name else f"land-cover class {text}"


def _present(values: Array) -> Array:
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

        def raster(source):
            return RasterSampler(source, lon, lat, reach_m) if source is not None else None

        def polygon(source):
            return PolygonSampler(source, lon, lat, reach_m) if source is not None else None

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
        nothing = np.zeros((len(grid.edges_m) - 1, grid.rays), np.float32)
        told: dict = {}
        if self._landcover is not None:
            told["classes"], told["class_valid"] = self._landcover.sample_grid(site, grid)
            told["class_at"] = partial(self._landcover.sample, site)
        fills = self.layers.dem_fills_holes and not told["class_valid"].all()
        if self.dem is not None and (self.layers.dem_decides or fills):
            told["ground"], told["ground_valid"] = self.dem.sample_grid(site, grid)
        if self._water is not None:
            around = self._water.around(site, grid)
            water = nothing if around is None else around.cover()
            if self.layers.water_is_land:
                water = 1.0 - water
            elif self.layers.water_waves is not None:
                told["wave2"] = self._waves(around, nothing)
            told["water"] = water
        if self._avoid is not None:
            told["avoid"] = self._avoid.around(site, grid)
        if self.layers.inflow is not None:
            told["spill"] = self.layers.inflow.spill_m(*self.dem.pixels(site, *grid.east_north()))
        return Surface(self.layers, Sampled(**told), zero_level)

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
