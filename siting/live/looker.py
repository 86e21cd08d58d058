"""Looking from a place as a ranking does, again and again while it moves."""
from __future__ import annotations

from copy import copy
from dataclasses import dataclass, replace
from typing import Callable

import numpy as np

from ..arrays import Array, ArrayLike
from ..assessment import Assessment
from ..candidates import Candidate
from ..errors import Cancelled
from ..geometry.fresnel import first_zone
from ..geometry.localframe import LocalFrame
from ..ground.rasters import HeldRaster
from ..precision.demand import Demand
from ..ranking.appraise import appraise
from ..ranking.rows import RankRow
from ..settings import Settings
from ..setup import Setup
from ..sight.terrain import Skyline
from ..windows import Windows
from .shapes import Shapes, shapes_of

GLANCE_ANGLES = 5
"""Elevation angles looked at while a place moves, the lowest and the highest among them."""
GLANCE_REFINE, GLANCE_LEAST, GLANCE_FAR_M = 0.6, 0.3, 400.0
"""Density of the polar grid then, as a part of the full one; less, down to the second, where footprints reach farther
than the third [m]: they hold more cells."""


@dataclass(frozen=True)
class Digest:
    """What of an assessment is shown; it holds no file open, so that a spot may be kept for long.

    Attributes
    ----------
    settings : Settings
        With the angles that were looked at.
    windows : Windows
    skyline_deg : ndarray, shape (bins,), or None
        See `siting.assessment.Assessment`.
    skyline_m : ndarray, shape (bins,), or None
        Distance of what forms the skyline [m].
    near_m, far_m : ndarray, shape (bins,)
        Ground of each bin's window [m].
    """

    settings: Settings
    windows: Windows
    skyline_deg: Array | None
    skyline_m: Array | None
    near_m: Array
    far_m: Array

    @classmethod
    def of(cls, found: Assessment) -> Digest:
        """Take from an assessment what is shown."""
        line = None if found.sight is None else found.sight.skyline
        return cls(found.settings, found.windows, found.skyline_deg, None if line is None else line.dist_m,
                   *found.ground_of_window())


@dataclass
class Spot:
    """What was found at one place.

    Attributes
    ----------
    candidate : Candidate
        Resolved.
    row : RankRow
        As a ranking has it (of one candidate, without a rank).
    assessment : Digest or None
        None where `row.limit_by` says why not.
    shapes : Shapes or None
        None where there is no assessment.
    is_rough : bool
        Whether it was a glance: fewer angles and levels, and the skyline of the last full look.
    demand : Demand or None
        What the values were asked for.
    missing : tuple of str
        What could spoil the place and was not looked at.
    """

    candidate: Candidate
    row: RankRow
    assessment: Digest | None = None
    shapes: Shapes | None = None
    is_rough: bool = False
    demand: Demand | None = None
    missing: tuple = ()


class FrozenSkyline:
    """A skyline as it was found at a place near by; stands in for a terrain.

    Parameters
    ----------
    skyline : Skyline
    max_distance_m : float
        How far was looked [m].
    """

    def __init__(self, skyline: Skyline, max_distance_m: float):
        self._skyline, self.max_distance_m = skyline, max_distance_m

    def skyline(self, _site: int, _antenna_z_m: float, _azimuth_deg: ArrayLike,
                _floor_deg: float | None = None) -> Skyline:
        """Return the skyline that was found there."""
        return self._skyline


class Looker:
    """Looks from places within the region that a setup was prepared for.

    Parameters
    ----------
    setup : Setup
        With a resolver.
    is_glancing : bool
        Look at fewer angles and levels, and take the skyline of `remember`.
    missing : tuple of str
        What could spoil a place and cannot be looked at, for no layer or number tells it.
    """

    def __init__(self, setup: Setup, is_glancing: bool = False, missing: tuple = ()):
        self.setup, self.is_glancing, self.missing = setup, is_glancing, missing
        self._settings = setup.settings
        angles = setup.settings.elevation_deg
        if is_glancing and len(angles) > GLANCE_ANGLES:
            chosen = np.unique(np.linspace(0, len(angles) - 1, GLANCE_ANGLES).round().astype(int))
            self._settings = replace(setup.settings, elevation_deg=tuple(angles[i] for i in chosen))
        self._frozen: FrozenSkyline | None = None

    def glancing(self) -> Looker:
        """Return one that glances, on files and caches of its own: it may be used in another thread."""
        setup = self.setup
        layers = replace(setup.layers, **_held(setup.layers, "landcover", "dem"))
        sight = setup.sight
        if sight is not None:
            sight = replace(sight, terrain=None, **_held(sight, "dem"))
        look = replace(setup.look, sky=setup.look.sky.with_caches_of_its_own())
        own = replace(setup, layers=layers, sight=sight, look=look, resolver=setup.resolver.reopened())
        return Looker(own, True, self.missing)

    def units_per_metre(self, candidate: Candidate) -> float:
        """Return the mean length of a metre in units of the candidates' CRS at a resolved candidate."""
        return LocalFrame([candidate.lon], [candidate.lat], self.setup.resolver.crs, 100.0).units_per_metre(0)

    def remember(self, spot: Spot) -> None:
        """Take over the skyline of a full look."""
        seen = spot.assessment
        if self.setup.sight is None or seen is None or seen.skyline_deg is None:
            return
        far = np.full(len(seen.skyline_deg), np.inf)
        line = Skyline(seen.skyline_deg, np.full(far.shape, np.nan) if seen.skyline_m is None else seen.skyline_m, far)
        self._frozen = FrozenSkyline(line, 0.0)

    def look(self, candidate: Candidate, is_cancelled: Callable[[], bool] = lambda: False,
             with_passes: bool = True) -> Spot:
        """Look from one place.

        Parameters
        ----------
        candidate : Candidate
            As the user gives it, not resolved; it is not changed.
        is_cancelled : callable
        with_passes : bool
            Trace the passes too.

        Returns
        -------
        Spot

        Raises
        ------
        Cancelled
        InputError
            If a layer cannot be read.
        """
        setup, candidate = self.setup, copy(candidate)
        candidate.problem, candidate.drowned = "", False
        setup.resolver([candidate])
        setup = self._seen_from(candidate)
        if is_cancelled():
            raise Cancelled("stopped by the user")
        if self.is_glancing and not candidate.problem and len(candidate.levels_m) > 2:
            candidate.levels_m = candidate.levels_m[[0, -1]]
        setup = replace(setup, settings=self._settings_at(candidate))
        (_index, found, row), = appraise([candidate], setup, is_cancelled=is_cancelled)
        told = {"is_rough": self.is_glancing, "demand": setup.look.demand, "missing": self.missing}
        if found is None:
            return Spot(candidate, row, **told)
        sky = setup.look.sky if with_passes else None
        return Spot(candidate, row, Digest.of(found), shapes_of(found, setup.resolver.crs, sky), **told)

    def _settings_at(self, candidate):
        s = self._settings
        if not self.is_glancing or candidate.problem:
            return s
        far = float(first_zone(candidate.heights_m.max(), s.elevation_deg[0], s.wavelength_m).far_m)
        part = np.clip(GLANCE_REFINE * GLANCE_FAR_M / far, GLANCE_LEAST, GLANCE_REFINE)
        return replace(s, refine=float(part) * s.refine)

    def _seen_from(self, candidate) -> Setup:
        """Return the setup with what may hide the surface from a resolved place."""
        setup = self.setup
        if setup.sight is None or not self.is_glancing:
            return setup.seen_from([candidate])
        return replace(setup, sight=replace(setup.sight, terrain=self._frozen) or None)


def _held(layers, *names) -> dict:
    return {name: None if getattr(layers, name) is None else HeldRaster(getattr(layers, name)) for name in names}
