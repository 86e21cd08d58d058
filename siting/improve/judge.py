"""Judging places near one site by the very functions that rank candidates."""
from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Callable

import numpy as np

from ..candidates import Candidate
from ..errors import Cancelled, InputError
from ..geometry.localframe import LocalFrame
from ..ground.polargrid import PHASES, PolarGrid
from ..ground.surface import SurfaceSampler
from ..ranking.appraise import assessed
from ..ranking.order import rank_key
from ..ranking.rows import own_values
from ..setup import Setup
from ..verdict.score import SUITABLE, Score, score

SCORE_DIGITS, ERROR_DIGITS = 2, 3
"""Decimals to which scores and errors of places are told apart; what is equal to them is not worth a longer move."""
SPOT_M = 0.1
"""How much around a place is looked at to see whether it stands in the water [m]."""


@dataclass(frozen=True)
class JudgedPlace:
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
    site : Candidate
        The site as given; it is not changed.
    setup : Setup
        With a resolver; its terrain must be prepared for all places that are looked at.
    reach_m : float
        How far from the site places are [m].
    is_cancelled : callable
        Asked before each place.
    is_rough : bool
        Look at the lowest and the highest level and every second elevation angle only: enough to tell where it is
        worth looking closely, at half the cost; never told to anyone.
    """

    def __init__(self, candidate: Candidate, setup: Setup, reach_m: float,
                 is_cancelled: Callable[[], bool] = lambda: False, is_rough: bool = False):
        self.site, self._is_cancelled, self._is_rough = candidate, is_cancelled, is_rough
        self.setup = setup.with_inflow(is_cancelled)
        self._reach_m = reach_m
        angles = setup.settings.elevation_deg
        if is_rough and len(angles) > 3:
            self.setup = replace(self.setup, settings=replace(
                setup.settings, elevation_deg=(*angles[:-1:2], angles[-1])))
        self._frame = LocalFrame([candidate.lon], [candidate.lat], setup.resolver.crs, max(float(reach_m), 1.0))
        self.seen: dict = {}

    def roughly(self) -> Judge:
        """Return a judge of the same site that looks roughly."""
        return Judge(self.site, self.setup, self._reach_m, self._is_cancelled, True)

    def candidate(self, east_m: float, north_m: float, height_m: float) -> Candidate:
        """Make the candidate that stands at a place, not yet resolved; at the site itself exactly there."""
        x, y = self.site.x, self.site.y
        if east_m or north_m:
            x, y = (float(v) for v in self._frame.place(0, east_m, north_m))
            if self._frame.edges is not None:
                west, east = self._frame.edges
                x = (x - west) % (east - west) + west
        return replace(self.site, x=x, y=y, height_m=float(height_m), problem="", drowned=False)

    def look(self, spots: Iterable[tuple[float, float, float]]) -> list[JudgedPlace]:
        """Judge places.

        Parameters
        ----------
        spots : iterable of (east_m, north_m, height_m)

        Returns
        -------
        list of JudgedPlace
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
        self.seen.update((key, JudgedPlace(*key)) for key in keys)
        places = {key: self.candidate(*key) for key in keys}
        try:
            self.setup.resolver(list(places.values()))
        except InputError:
            # none of them has what the height's reference needs: no antenna can be judged there
            return
        places = {key: place for key, place in places.items() if not place.problem}
        if not places:
            return
        standing = list(places.values())
        setup = self.setup.seen_from(standing)
        self._refuse_wet(places)
        if self._is_rough:
            for place in standing:
                place.levels_m = place.levels_m[[0, -1]] if len(place.levels_m) > 2 else place.levels_m
        keys = list(places)
        for number, found in assessed(standing, setup, is_cancelled=self._is_cancelled):
            if found is not None:
                self.seen[keys[number]] = self._worth(keys[number], found)

    def _worth(self, key, found) -> JudgedPlace:
        """Say what an assessed place is worth, without the words of a ranking."""
        setup, counts = self.setup, found.counts
        is_low = setup.limits.are_broken_by(found.candidate)
        over = setup.look.over(found)
        within = over.errors.within(0.0, over.end_s)
        result = score(over.precision(), setup.look.demand.precision, own_values(found.candidate, setup.criteria),
                       setup.criteria, is_low, bool((over.errors.counts & within).any()))
        reserve = float(np.sum(found.windows.quality[counts])) / len(counts)
        return JudgedPlace(*key, result, is_low, reserve, float(found.share.mean()))

    def _refuse_wet(self, places: dict) -> None:
        """Give places where an antenna would stand in the water at its highest level their problem.

        The layers tell it as they tell what is target; on snow and soil one may stand. The site itself is not asked:
        whoever puts it in the water knows of a pile or a pier that no layer shows.
        """
        layers = self.setup.layers
        some = [place for (east, north, _height), place in places.items() if not place.problem and (east or north)]
        if not layers.is_water or not some:
            return
        lon, lat = (np.array([getattr(c, name) for c in some]) for name in ("lon", "lat"))
        sampler = SurfaceSampler(replace(layers, avoid=None), lon, lat, 1.0)
        # as many rings as there are phases
        spot = PolarGrid(np.linspace(0.0, SPOT_M, len(PHASES) + 1), 8, 8)
        for number, place in enumerate(some):
            surface = sampler.surface(number, spot, place.zero_level_m)
            if surface.at_level(place.zero_level_m + place.high_m).target.mean() > 0.5:
                place.problem = "it stands in the water"
