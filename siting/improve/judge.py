"""Judging places near one site by the very functions that rank candidates."""
from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Callable

import numpy as np

from ..assess import Settings, assess
from ..candidates import Candidate
from ..errors import Cancelled, InputError
from ..geometry.localframe import LocalFrame
from ..ground.polargrid import PHASES, PolarGrid
from ..ground.surface import SurfaceSampler
from ..ground.surfacelayers import SurfaceLayers
from ..precision.worth import SkyLook
from ..ranking.order import rank_key
from ..ranking.ranking import RankRow, is_too_low, own_values, rank
from ..sight.looking import SightLayers
from ..verdict.score import SUITABLE, Criterion, Score, score

SCORE_DIGITS, ERROR_DIGITS = 2, 3
"""Decimals to which scores and errors of places are told apart; what is equal to them is not worth a longer move."""
SPOT_M = 0.1
"""How much around a place is looked at to see whether it stands in the water [m]."""


@dataclass(frozen=True)
class World:
    """All that places are judged by; the same for every site of a run.

    Attributes
    ----------
    layers : SurfaceLayers
    settings : Settings
    criteria : list of Criterion
    crs : str
        CRS of the candidates.
    settle : callable
        Resolves a list of candidates in place, see `siting.candidates.resolve`.
    look : SkyLook
    sight : SightLayers or None
        Its terrain must be prepared for all places that are looked at.
    min_clearance_m : float
        See `siting.ranking.ranking.rank`.
    """

    layers: SurfaceLayers
    settings: Settings
    criteria: list[Criterion]
    crs: str
    settle: Callable[[list[Candidate]], None]
    look: SkyLook
    sight: SightLayers | None = None
    min_clearance_m: float = 0.0

    def sight_from(self, candidates: list[Candidate]) -> SightLayers | None:
        """Return what may hide the surface from resolved candidates; those below the ground get their problem."""
        if self.sight is None:
            return None
        terrain = self.sight.terrain
        if terrain is not None:
            place = np.array([(np.nan, np.nan) if c.problem else (c.lon, c.lat) for c in candidates])
            terrain = terrain.seen_from(*place.T, [0.0 if c.problem else c.zero_level_m for c in candidates])
            if terrain.near is not None or terrain.far is not None:
                for site, one in enumerate(candidates):
                    ground = np.nan if one.problem else terrain.ground(site)
                    depth = ground - one.zero_level_m - one.over_zero_m
                    if round(depth, 2) > 0:
                        one.problem = (f"the antenna is {depth:.2f} m below the ground that the elevation model shows "
                                       f"there ({ground:.2f} m)")
        return replace(self.sight, terrain=terrain)

    def rows(self, candidates: list[Candidate], progress=lambda fraction, message: None,
             is_cancelled: Callable[[], bool] = lambda: False) -> list[RankRow]:
        """Rank resolved candidates; their rows in their own order."""
        if not candidates:
            return []
        found = rank(candidates, self.layers, self.settings, self.criteria, self.look, progress, is_cancelled,
                     self.sight_from(candidates), self.min_clearance_m)
        return sorted(found, key=lambda row: row.index)


@dataclass(frozen=True)
class Place:
    """One place and height, and what it is worth.

    Attributes
    ----------
    east_m, north_m : float
        From the site [m].
    height_m : float
        Antenna height from the run's reference [m].
    result : Score or None
        None where no antenna can stand there or nothing is known.
    is_limit_broken : bool
        Whether it lacks the clearance.
    reserve : float
        Mean quality over all directions, those that do not count with 0; orders places of the same score.
    nearness : float
        Mean usable share of all footprints; orders places where no direction counts.
    """

    east_m: float
    north_m: float
    height_m: float
    result: Score | None = None
    is_limit_broken: bool = False
    reserve: float = 0.0
    nearness: float = 0.0

    @property
    def move_m(self) -> float:
        """Distance from the site [m]."""
        return float(np.hypot(self.east_m, self.north_m))

    @property
    def is_suitable(self) -> bool:
        """Whether it would be ranked as suitable."""
        return self.result is not None and self.result.verdict == SUITABLE

    def key(self) -> tuple:
        """Return what orders places, the best greatest: as a rank does, then reserve, the smaller move, less height."""
        if self.result is None:
            return (-2,)
        # satellites stand otherwise some metres on, by hundred-thousandths of a score; and where no arc counts, the
        # nearness of the surface shows the way
        return (*rank_key(round(self.result.score, SCORE_DIGITS), round(self.result.precision, ERROR_DIGITS),
                          self.is_limit_broken), round(self.reserve, 3),
                round(self.nearness, 3), -round(self.move_m, 1), -self.height_m)


class Judge:
    """Looks at places near one site, each once.

    Parameters
    ----------
    one : Candidate
        The site as given; it is not changed.
    world : World
    reach_m : float
        How far from the site places are [m].
    is_cancelled : callable
        Asked before each place.
    is_rough : bool
        Look at the lowest and the highest level and every second elevation angle only: enough to tell where it is
        worth looking closely, at half the cost; never told to anyone.
    """

    def __init__(self, one: Candidate, world: World, reach_m: float,
                 is_cancelled: Callable[[], bool] = lambda: False, is_rough: bool = False):
        self.one, self._is_cancelled, self._is_rough = one, is_cancelled, is_rough
        self.world = replace(world, layers=world.layers.with_inflow(is_cancelled))
        self._reach_m = reach_m
        self._settings = world.settings
        angles = world.settings.elevation_deg
        if is_rough and len(angles) > 3:
            self._settings = replace(world.settings, elevation_deg=(*angles[:-1:2], angles[-1]))
        self._frame = LocalFrame([one.lon], [one.lat], world.crs, max(float(reach_m), 1.0))
        self.seen: dict = {}

    def roughly(self) -> Judge:
        """Return a judge of the same site that looks roughly."""
        return Judge(self.one, self.world, self._reach_m, self._is_cancelled, True)

    def candidate(self, east_m: float, north_m: float, height_m: float) -> Candidate:
        """Make the candidate that stands at a place, not yet resolved; at the site itself exactly there."""
        x, y = self.one.x, self.one.y
        if east_m or north_m:
            x, y = (float(v) for v in self._frame.place(0, east_m, north_m))
            if self._frame.edges is not None:
                west, east = self._frame.edges
                x = (x - west) % (east - west) + west
        return replace(self.one, x=x, y=y, height_m=float(height_m), problem="", drowned=False)

    def look(self, spots) -> list[Place]:
        """Judge places.

        Parameters
        ----------
        spots : iterable of (east_m, north_m, height_m)

        Returns
        -------
        list of Place
            In the order given; to the centimetre.

        Raises
        ------
        Cancelled
        """
        keys = [(*(round(float(v), 2) + 0.0 for v in spot[:2]), round(float(spot[2]), 3))
                for spot in spots]
        new = [key for key in dict.fromkeys(keys) if key not in self.seen]
        if new:
            self._judge(new)
        return [self.seen[key] for key in keys]

    def _judge(self, keys):
        if self._is_cancelled():
            raise Cancelled("stopped by the user")
        self.seen.update((key, Place(*key)) for key in keys)
        candidates = [self.candidate(*key) for key in keys]
        try:
            self.world.settle(candidates)
        except InputError:
            # none of them has what the height's reference needs: no antenna can be judged there
            return
        fit = [i for i, one in enumerate(candidates) if not one.problem]
        world = self.world
        sight = world.sight_from([candidates[i] for i in fit]) if fit else None
        dry = self._dry(candidates, [i for i in fit if not candidates[i].problem and (keys[i][0] or keys[i][1])])
        for i in fit:
            if not candidates[i].problem and not dry.get(i, True):
                candidates[i].problem = "it stands in the water"
        if self._is_rough:
            for one in candidates:
                one.levels_m = one.levels_m[[0, -1]] if len(one.levels_m) > 2 else one.levels_m
        for number, found in assess([candidates[i] for i in fit], world.layers, self._settings,
                                    is_cancelled=self._is_cancelled, sight=sight):
            if found is None or found.is_unknown:
                continue
            low = is_too_low(found.candidate, world.min_clearance_m)
            over = world.look.over(found)
            within = over.errors.within(0.0, over.end_s)
            result = score(over.precision(), world.look.demand.precision, own_values(found.candidate, world.criteria),
                           world.criteria, low, bool((over.errors.counts & within).any()))
            counts = found.counts
            reserve = float(np.sum(found.windows.quality[counts])) / len(counts)
            key = keys[fit[number]]
            self.seen[key] = Place(*key, result, low, reserve, float(found.share.mean()))

    def _dry(self, candidates, indices) -> dict:
        """Tell where an antenna would not stand in the water at its highest level.

        The layers tell it as they tell what is target; on snow and soil one may stand. The site itself is not asked:
        whoever puts it in the water knows of a pile or a pier that no layer shows.
        """
        layers = self.world.layers
        if not layers.is_water or not indices:
            return {}
        some = [candidates[i] for i in indices]
        lon, lat = (np.array([getattr(c, name) for c in some]) for name in ("lon", "lat"))
        sampler = SurfaceSampler(replace(layers, avoid=None), lon, lat, 1.0)
        # as many rings as there are phases
        spot = PolarGrid(np.linspace(0.0, SPOT_M, len(PHASES) + 1), 8, 8)
        told = {}
        for number, (index, one) in enumerate(zip(indices, some)):
            surface = sampler.surface(number, spot, one.zero_level_m)
            told[index] = bool(surface.at_level(one.zero_level_m + one.high_m).target.mean() <= 0.5)
        return told
