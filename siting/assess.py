"""Assessing candidates: from sampled surfaces to shares, windows and qualities."""
from __future__ import annotations

from dataclasses import dataclass
from typing import Callable, Iterator

import numpy as np

from .candidates import Candidate
from .errors import Cancelled
from .fresnel import Ellipse
from .ground.inflow import Inflow
from .ground.kernels import KernelCache, Kernels, shares
from .ground.surface import FLAT_TOLERANCE_M, Surface, SurfaceLayers, SurfaceSampler
from .verdict.windows import Windows, longest_windows, oscillations, separation_m

BATCH = 500
"""Candidates prepared together: large enough for the projections, small enough for memory."""
SHARE_ROUNDING = 1e-4
"""Rounding of a share: sums in single precision over thousands of rays end up to 3e-5 beside a whole footprint."""


@dataclass(frozen=True)
class Settings:
    """What is looked at, and what counts.

    Attributes
    ----------
    wavelength_m : float
        Carrier wavelength [m].
    elevation_deg : tuple of float
        Elevation angles looked at, rising [°].
    bins : int
        Number of azimuth bins.
    min_share : float
        Least usable share of a footprint.
    min_cycles : float
        Oscillations from which a bin counts.
    max_res_m : float or None
        Separation from which a bin counts [m]; None where it does not apply.
    refine : float
        Multiplies the polar grid's density; for tests of convergence.
    """

    wavelength_m: float
    elevation_deg: tuple
    bins: int = 72
    min_share: float = 0.95
    min_cycles: float = 3.0
    max_res_m: float | None = 1.0
    refine: float = 1.0

    @property
    def bin_width_deg(self) -> float:
        """Width of an azimuth bin [°]."""
        return 360.0 / self.bins

    @property
    def bin_centre_deg(self) -> np.ndarray:
        """Centres of the azimuth bins [°]."""
        return (np.arange(self.bins) + 0.5) * self.bin_width_deg


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
    worst : ndarray of int, shape (angles, bins)
        Index of the worst level.
    share : ndarray, shape (angles, bins)
        Usable share at the worst level.
    windows : Windows
    """

    def __init__(self, candidate: Candidate, settings: Settings, zones: Ellipse, kernels: Kernels,
                 surface: Surface):
        self.candidate, self.settings = candidate, settings
        self.zones, self.kernels, self.surface = zones, kernels, surface
        self._spots: dict = {}
        self._shares: dict = {}
        self.usable = self.share_of("usable")
        self.share = np.min(self.usable, axis=0)
        # levels that differ by rounding only tie: the lowest of them
        self.worst = np.argmax(self.usable <= self.share + SHARE_ROUNDING, axis=0)
        self.good = self.share >= settings.min_share - SHARE_ROUNDING
        self.windows: Windows = longest_windows(self.share, self.good, np.array(settings.elevation_deg))

    def spots(self, level: int):
        """Return the worth of the spots at one of the levels, sampled once."""
        key = level if self.surface.varies_with_level else 0
        if key not in self._spots:
            zero = self.candidate.zero_level_m
            self._spots[key] = self.surface.at_level(zero + float(self.candidate.levels_m[level]))
        return self._spots[key]

    def share_of(self, what: str) -> np.ndarray:
        """Return the share of every footprint that is `what`.

        Parameters
        ----------
        what : str
            ``usable``, ``target``, ``avoid`` or ``unknown``.

        Returns
        -------
        ndarray, shape (levels, angles, bins)
        """
        if what in self._shares:
            return self._shares[what]
        if what == "target" and self.spots(0).usable is self.spots(0).target:
            # nothing is to be avoided: the same spots need no second sum
            return self.usable
        levels, angles = len(self.candidate.levels_m), len(self.settings.elevation_deg)
        if not self.surface.varies_with_level:
            layer = getattr(self.spots(0), what)
            result = self._average(self.kernels, layer, levels * angles)
        else:
            result = np.concatenate([
                self._average(self.kernels.part(i * angles, (i + 1) * angles),
                              getattr(self.spots(i), what), angles)
                for i in range(levels)])
        result = result.reshape(levels, angles, self.settings.bins)
        self._shares[what] = result
        return result

    def _average(self, kernels, layer, footprints):
        if not layer.any():
            return np.zeros((footprints, self.settings.bins), np.float32)
        return np.clip(shares(kernels, layer[None])[0], 0.0, 1.0)

    def at_worst(self, what: str) -> np.ndarray:
        """Return a share at the worst level of each angle and bin, shape (angles, bins)."""
        share = self.share_of(what)
        return share[0] if len(share) == 1 else np.take_along_axis(share, self.worst[None], axis=0)[0]

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
        enough = (self.windows.width > 0) & (self.cycles >= self.settings.min_cycles)
        if self.settings.max_res_m is not None:
            enough &= self.separation_m <= self.settings.max_res_m
        return enough

    def ground_of_window(self) -> tuple[np.ndarray, np.ndarray]:
        """Return the nearest and farthest ground [m] of each bin's window; of all angles where there is none."""
        found = self.windows.first >= 0
        first = np.where(found, self.windows.first, 0)
        last = np.where(found, self.windows.last, len(self.settings.elevation_deg) - 1)
        near = np.maximum(self.zones.near_m.min(axis=0)[last], 0.0)
        return near, self.zones.far_m.max(axis=0)[first]


def assess(candidates: list[Candidate], layers: SurfaceLayers, settings: Settings,
           progress: Callable[[float, str], None] = lambda fraction, message: None,
           is_cancelled: Callable[[], bool] = lambda: False) -> Iterator[tuple[int, Assessment | None]]:
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

    Yields
    ------
    index : int
        Index into `candidates`, in their order.
    assessment : Assessment or None
        None where `candidate.problem` says why not.

    Raises
    ------
    Cancelled
        Between two candidates.
    """
    if layers.needs_inflow and layers.inflow is None:
        highest = max((c.zero_level_m + c.high_m for c in candidates if not c.problem), default=0.0)
        slack = 0.0 if layers.dem_is_bed else FLAT_TOLERANCE_M
        layers.inflow = Inflow(layers.dem, highest + slack, is_cancelled)
    cache = KernelCache(settings.elevation_deg, settings.wavelength_m, settings.bins, settings.refine)
    for start in range(0, len(candidates), BATCH):
        batch = candidates[start:start + BATCH]
        sampler = _sampler(batch, layers, cache)
        for offset, one in enumerate(batch):
            if is_cancelled():
                raise Cancelled("stopped by the user")
            progress((start + offset) / len(candidates), one.name)
            yield start + offset, None if one.problem else _assess_one(one, offset, sampler, cache, settings)


def _sampler(batch, layers, cache):
    reach = np.array([1.0 if c.problem else cache.zones(c.heights_m[:1]).far_m.max() for c in batch])
    return SurfaceSampler(layers, np.array([c.lon for c in batch]), np.array([c.lat for c in batch]), reach)


def _assess_one(one, index, sampler, cache, settings):
    heights = one.heights_m
    kernels = cache.get(heights, sampler.cell_m(index))
    surface = sampler.surface(index, kernels.grid, one.zero_level_m)
    return Assessment(one, settings, cache.zones(heights), kernels, surface)
