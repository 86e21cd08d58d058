"""Assessing candidates: from sampled surfaces to shares, windows and qualities."""
from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Callable, NamedTuple

import numpy as np

from .candidates import Candidate
from .errors import Cancelled, failing_alone
from .geometry.fresnel import Ellipse
from .ground.kernels import KernelCache, Kernels, build, shares
from .ground.planefit import cells_around
from .ground.planes import REACH, FootprintSpots, GroundPlanes, ground_planes
from .ground.polargrid import choose_grid
from .ground.surface import Surface, SurfaceSampler
from .ground.surfacelayers import SurfaceLayers
from .reflection.roughness import coherent_loss_db, ground_rms_m, wave_rms_m
from .settings import Settings
from .sight.looking import SightLayers, SightSampler
from .sight.visible import Sight
from .windows import Windows, longest_windows, oscillations, separation_m

BATCH = 500
"""Candidates prepared together: large enough for the projections, small enough for memory."""
SHARE_ROUNDING = 1e-4
"""Rounding of a share: sums in single precision over thousands of rays end up to 3e-5 beside a whole footprint."""


class Light(NamedTuple):
    """What skyline, shadows and the lie of the ground leave of the footprints; see `Assessment`.

    `unlit` is what shadows take of what would be usable, `dark` of all that is seen.
    """

    usable: np.ndarray
    is_clear: np.ndarray | None = None
    unlit: np.ndarray | None = None
    dark: np.ndarray | None = None


class Assessment:
    """What the surface around one candidate is worth.

    Attributes
    ----------
    candidate : Candidate
    settings : Settings
    zones : Ellipse
        Footprints of levels × angles [m].
    surface : Surface
        The sampled surface, for the reasons.
    kernels : Kernels
        Of levels × angles.
    usable : ndarray, shape (levels, angles, bins)
        Usable share of each footprint.
    usable_seen : ndarray, shape (levels, angles, bins)
        The same before skyline and shadows are taken off.
    is_clear : ndarray of bool, shape (angles, bins), or None
        Where satellites stand above the skyline; None where they do everywhere.
    unlit : ndarray, shape (levels, angles, bins), or None
        Share of each footprint that would be usable but is not lit.
    planes : GroundPlanes or None
        The ground in each footprint, where the surface is ground that a DEM shows.
    rms_m : ndarray, shape (levels, angles, bins)
        Rms height of the surface: of waves, or of the ground over its plane without the DEM's noise [m]; NaN where
        it is not known.
    loss_db : ndarray, shape (levels, angles, bins)
        Loss of coherent power by roughness [dB]; 0 where it is not known.
    worst : ndarray of int, shape (angles, bins)
        Index of the worst level.
    share : ndarray, shape (angles, bins)
        Usable share at the worst level.
    good : ndarray of bool, shape (angles, bins)
        Where the share is enough.
    busy : ndarray, shape (angles, bins), or None
        Share of the time in which something spoils the footprint, at the worst level; None where nothing does.
    windows : Windows
    """

    def __init__(self, candidate: Candidate, settings: Settings, zones: Ellipse, kernels: Kernels,
                 surface: Surface, sight: Sight | None = None, planes: GroundPlanes | None = None):
        self.candidate, self.settings, self.planes = candidate, settings, planes
        self.zones, self.kernels, self.surface, self.sight = zones, kernels, surface, sight
        self._footprints: FootprintSpots | None = None if planes is None else planes.spots_on(kernels.grid)
        self._spots: dict = {}
        self._partly_shares: list | None = None
        self._shares: dict = {}
        self.varies_with_level = surface.varies_with_level or (
            sight is not None and any(self._seen(level) is not None for level in range(len(candidate.levels_m))))
        self.usable_seen = self._share_of_spots("usable")
        self.usable, self.is_clear, self.unlit, self._dark = self._lit()
        self.rms_m = self._rms_m()
        self.loss_db = np.nan_to_num(coherent_loss_db(
            self.rms_m, np.array(settings.elevation_deg)[:, None], settings.wavelength_m))
        self.share = np.min(self.usable, axis=0)
        # levels that differ by rounding only tie: the lowest of them
        self.worst = np.argmax(self.usable <= self.share + SHARE_ROUNDING, axis=0)
        self.good = self.share >= settings.min_share - SHARE_ROUNDING
        self.busy: np.ndarray | None = self._busy()
        self.windows: Windows = longest_windows(self.share, self.good, np.array(settings.elevation_deg))

    def spots(self, level: int):
        """Return the worth of the spots at one of the levels, sampled once."""
        key = level if self.varies_with_level else 0
        if key not in self._spots:
            spots = self.surface.at_level(self.level_z_m(key))
            seen = self._seen(key)
            if seen is not None:
                spots = spots._replace(usable=spots.usable * seen, hidden=(~seen).astype(np.float32))
            self._spots[key] = spots
        return self._spots[key]

    def level_z_m(self, level: int) -> float:
        """Return the height of one of the levels in the DEM's vertical datum [m]."""
        return self.candidate.zero_level_m + float(self.candidate.levels_m[level])

    def _seen(self, level):
        return None if self.sight is None else self.sight.seen(self.level_z_m(level), self.candidate.zero_level_m)

    def _lit(self) -> Light:
        """Take off what stands behind the skyline and what is not lit."""
        if self.sight is None and self.planes is None:
            return Light(self.usable_seen)
        usable = self.usable_seen.copy()
        angle = np.array(self.settings.elevation_deg)
        if self.planes is not None:
            usable[~self.planes.is_lit | self.planes.is_beyond] = 0.0
        if self.sight is None:
            return Light(usable)
        clear = self.sight.clear(angle)
        if clear is not None:
            usable[:, ~clear] = 0.0
        unlit = dark = None
        for level in range(len(usable)):
            wanted = np.ones(usable.shape[1:], bool) if clear is None else clear.copy()
            if not self.settings.is_complete:
                # an angle that is bad already gets no worse by a shadow
                wanted &= usable[level] >= self.settings.min_share - SHARE_ROUNDING
            found = self.sight.unlit(Ellipse(*(part[level] for part in self.zones)), angle, self.level_z_m(level),
                                     self.candidate.zero_level_m, wanted)
            if found is None:
                continue
            if unlit is None:
                unlit, dark = np.zeros_like(usable), np.zeros_like(usable)
            spots = self.spots(level)
            # behind the skyline there is nothing left to take
            above = 1.0 if clear is None else clear[:, found.bins]
            unlit[level][:, found.bins] = found.share(spots.usable) * above
            dark[level][:, found.bins] = found.share(1.0 - spots.hidden)
        return Light(usable if unlit is None else np.clip(usable - unlit, 0.0, 1.0), clear, unlit, dark)

    def _rms_m(self) -> np.ndarray:
        """Return how rough the surface is: the ground over its plane, or waves of the candidate or the polygons."""
        if self.planes is not None:
            return ground_rms_m(self.planes.rough_m, self.settings.noise_m)
        if self.surface.wave2 is None:
            wave = self.candidate.wave_m
            return np.broadcast_to(wave_rms_m(wave) if wave > 0 else np.nan, self.usable.shape)
        # beyond the polygons the candidate's own wave height serves
        squares, told = self.surface.wave2
        own = np.float32(self.candidate.wave_m**2) * (1.0 - told)
        squared = self._average(self.kernels, squares + own, self.usable[..., 0].size, most=np.inf)
        return wave_rms_m(np.sqrt(squared.reshape(self.usable.shape)))

    def share_of(self, what: str) -> np.ndarray:
        """Return the share of every footprint that is `what`.

        Parameters
        ----------
        what : str
            ``usable``, ``target``, ``avoid``, ``hidden`` or ``unknown``.

        Returns
        -------
        ndarray, shape (levels, angles, bins)
        """
        if what == "usable":
            return self.usable
        if what not in self._shares:
            self._shares[what] = self._with_what_hides(what, self._share_of_spots(what))
        return self._shares[what]

    def _share_of_spots(self, what):
        """Return the share of every footprint whose spots are `what`, before skyline and shadows."""
        levels, angles = len(self.candidate.levels_m), len(self.settings.elevation_deg)
        if what == "target" and self.spots(0).usable is self.spots(0).target:
            # nothing is to be avoided: the same spots need no second sum
            result = self.usable_seen
        elif self._footprints is not None:
            layers = np.stack([getattr(self.spots(i), what) for i in range(levels)])[:, None]
            result = self._footprints.share_of(layers)
        elif not self.varies_with_level:
            layer = getattr(self.spots(0), what)
            result = self._average(self.kernels, layer, levels * angles)
        else:
            result = np.concatenate([
                self._average(self.kernels.part(i * angles, (i + 1) * angles),
                              getattr(self.spots(i), what), angles)
                for i in range(levels)])
        return result.reshape(levels, angles, self.settings.bins)

    def _with_what_hides(self, what, share):
        """Count what skyline, shadows and the lie of the ground take of a share for hidden, or for unknown."""
        if what == "hidden" and self.sight is not None:
            if self._dark is not None:
                share = np.clip(share + self._dark, 0.0, 1.0)
            if self.is_clear is not None:
                share = np.where(self.is_clear, share, np.float32(1.0))
        if self.planes is not None:
            if what == "hidden":
                share = np.where(self.planes.is_lit, share, np.float32(1.0))
            # nobody looked at what reflects there
            share = np.where(self.planes.is_beyond, np.float32(what == "unknown"), share)
        return share

    def _average(self, kernels, layer, footprints, most=1.0):
        if not layer.any():
            return np.zeros((footprints, self.settings.bins), np.float32)
        return np.clip(shares(kernels, layer[None])[0], 0.0, most)

    def at_worst(self, what: str) -> np.ndarray:
        """Return a share at the worst level of each angle and bin, shape (angles, bins)."""
        share = self.share_of(what)
        return share[0] if len(share) == 1 else np.take_along_axis(share, self.worst[None], axis=0)[0]

    def _worst_share(self, layer: np.ndarray) -> np.ndarray:
        """Average a layer over every footprint; the greatest over the levels, shape (angles, bins)."""
        levels, angles = len(self.candidate.levels_m), len(self.settings.elevation_deg)
        if self._footprints is not None:
            found = self._footprints.share_of(layer)
        else:
            found = self._average(self.kernels, layer, levels * angles)
        return found.reshape(levels, angles, self.settings.bins).max(axis=0)

    def _busy(self):
        """Find the largest share of the time in which areas cover more of a footprint than may be missing."""
        if not self.surface.partly:
            return None
        busy = np.zeros(self.share.shape)
        # from the rarest, which all are part of, to the most frequent
        for part, cover in reversed(self.surface.partly):
            busy[self._worst_share(cover) > 1.0 - self.settings.min_share + SHARE_ROUNDING] = part
        return busy

    @property
    def partly_shares(self) -> list[np.ndarray]:
        """Share of each footprint that each of the areas of `partly_names` covers, arrays (angles, bins)."""
        if self._partly_shares is None:
            self._partly_shares = [self._worst_share(cover) for _name, _share, cover in self.surface.partly_groups]
        return self._partly_shares

    @property
    def partly_names(self) -> list[tuple[str, float]]:
        """Name and share of the time of the areas that spoil part of the time, the most frequent first."""
        return [(name, share) for name, share, _cover in self.surface.partly_groups]

    def busy_without(self, index: int) -> np.ndarray:
        """Return `busy` as it would be without one of the areas of `partly_names`; overlaps count twice."""
        busy, total = np.zeros(self.share.shape), np.zeros(self.share.shape)
        for number, (_name, share) in enumerate(self.partly_names):
            if number != index:
                total += self.partly_shares[number]
                busy = np.maximum(busy, np.where(total > 1.0 - self.settings.min_share + SHARE_ROUNDING, share, 0.0))
        return np.minimum(busy, self.busy)

    @property
    def window_busy(self) -> np.ndarray:
        """Mean of `busy` over the angles of each bin's window, shape (bins,); 0 where nothing is."""
        if self.busy is None:
            return np.zeros(self.settings.bins)
        index = np.arange(len(self.settings.elevation_deg))[:, None]
        inside = (index >= self.windows.first) & (index <= self.windows.last) & (self.windows.first >= 0)
        return np.sum(self.busy * inside, axis=0) / np.maximum(inside.sum(axis=0), 1)

    @property
    def is_unknown(self) -> bool:
        """Whether no layer tells anything about any spot around the candidate."""
        return bool(self.spots(0).unknown.all())

    @property
    def least_height_m(self) -> float:
        """Least height over the levels [m]."""
        return float(np.min(self.candidate.heights_m))

    @property
    def cycles(self) -> np.ndarray:
        """Oscillations over each bin's window, shape (bins,)."""
        return oscillations(self.least_height_m, self.windows.width, self.settings.wavelength_m)

    @property
    def separation_m(self) -> np.ndarray:
        """Least difference in height that each bin tells apart [m], shape (bins,)."""
        return separation_m(self.windows.width, self.settings.wavelength_m)

    @property
    def counts(self) -> np.ndarray:
        """Which bins count, shape (bins,)."""
        return self._enough(self.windows.width)

    def _enough(self, width):
        """Tell which windows are long enough to count."""
        wavelength = self.settings.wavelength_m
        enough = (width > 0) & (oscillations(self.least_height_m, width, wavelength) >= self.settings.min_cycles)
        if self.settings.max_res_m is not None:
            enough &= separation_m(width, wavelength) <= self.settings.max_res_m
        return enough

    @property
    def skyline_deg(self) -> np.ndarray | None:
        """Skyline of each bin [°], -inf where it is too low to matter; None where nothing was looked for."""
        if self.sight is None:
            return None
        return np.full(self.settings.bins, -np.inf) if self.sight.skyline is None else self.sight.skyline.el_deg

    def ground_of_window(self) -> tuple[np.ndarray, np.ndarray]:
        """Return the nearest and farthest ground [m] of each bin's window; of all angles where there is none."""
        found = self.windows.first >= 0
        first = np.where(found, self.windows.first, 0)
        last = np.where(found, self.windows.last, len(self.settings.elevation_deg) - 1)
        near = np.maximum(self.zones.near_m.min(axis=0)[last], 0.0)
        return near, self.zones.far_m.max(axis=0)[first]


def assess(candidates: list[Candidate], layers: SurfaceLayers, settings: Settings,
           progress: Callable[[float, str], None] = lambda fraction, message: None,
           is_cancelled: Callable[[], bool] = lambda: False,
           sight: SightLayers | None = None) -> Iterator[tuple[int, Assessment | None]]:
    """Assess candidates one after the other.

    Parameters
    ----------
    candidates : list of Candidate
        Resolved (see `siting.candidates.resolve`).
    layers : SurfaceLayers
    settings : Settings
    progress : callable
        Called with a fraction 0 to 1 and a message.
    is_cancelled : callable
        Asked before each candidate.
    sight : SightLayers, optional
        What may hide the surface; its terrain must know the sites in the same order. Without it nothing is hidden.

    Yields
    ------
    index : int
        Index into `candidates`, in their order.
    assessment : Assessment or None
        None where `candidate.problem` says why not; what goes wrong with one candidate stays with it.

    Raises
    ------
    Cancelled
        Between two candidates.
    """
    layers = layers.with_inflow(is_cancelled)
    cache = KernelCache(settings.elevation_deg, settings.wavelength_m, settings.bins, settings.refine)
    for start in range(0, len(candidates), BATCH):
        batch = candidates[start:start + BATCH]
        lon, lat, reach = _places(batch, cache)
        if not layers.is_water and layers.dem is not None:
            reach = REACH * reach  # tilted ground moves footprints
        sampler = SurfaceSampler(layers, lon, lat, reach)
        looker = SightSampler(sight, lon, lat, reach, start) if sight else None
        for offset, one in enumerate(batch):
            if is_cancelled():
                raise Cancelled("stopped by the user")
            progress((start + offset) / len(candidates), one.name)
            found = None
            if not one.problem:
                with failing_alone(one):
                    found = _assess_one(one, offset, sampler, looker, cache, settings)
            yield start + offset, found


def _places(batch, cache):
    # from the lowest level, where the footprints reach farthest
    reach = np.array([1.0 if c.problem else cache.zones(c.heights_m[:1]).far_m.max() for c in batch])
    return np.array([c.lon for c in batch]), np.array([c.lat for c in batch]), reach


def _assess_one(one, index, sampler, looker, cache, settings):
    heights, zones, planes = one.heights_m, cache.zones(one.heights_m), None
    if sampler.dem is not None and not sampler.layers.is_water:
        planes = ground_planes(heights, settings.elevation_deg, settings.bins, settings.wavelength_m,
                               partial(cells_around, sampler.dem, index), one.zero_level_m)
        level, moved = (Ellipse(*(part.ravel() for part in some)) for some in (zones, planes.zones_to_cover()))
        both = Ellipse(*(np.concatenate(parts) for parts in zip(level, moved)))
        kernels = build(level, choose_grid(both, sampler.cell_m(index), settings.bins, settings.refine))
    else:
        kernels = cache.get(heights, sampler.cell_m(index))
    surface = sampler.surface(index, kernels.grid, one.zero_level_m)
    sight = None
    if looker is not None:
        water = None
        if looker.layers.dem_shows_water and sampler.layers.is_water:
            water = surface.at_level(one.zero_level_m).target > 0.5
        sight = looker.sight(index, kernels.grid, one.zero_level_m + one.over_zero_m, one.zero_level_m, water,
                             settings.bin_centre_deg, settings.elevation_deg[0])
    return Assessment(one, settings, zones, kernels, surface, sight, planes)
