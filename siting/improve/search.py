"""Searching places and heights, coarse to fine."""
from __future__ import annotations

from dataclasses import dataclass
from typing import Callable

import numpy as np

from ..ranking.rows import RankRow
from .judge import Judge, JudgedPlace
from .searchregion import SearchRegion

MOST_PLACES = 80
"""Places looked at first, at one height."""
MOST_PLACES_EACH = 48
"""The same where heights are searched too, for each of `FIRST_HEIGHTS`."""
FIRST_HEIGHTS = 3
SCANNED_HEIGHTS = 13
"""Heights looked at where a place is known, before the steps between them are halved."""
BEST_FEW = 3
"""Places around which the search goes on."""
LAST_STEP_M = 0.5
"""Step of places at which it ends; a convention."""
HEIGHT_STEP_M = 0.05
"""The same of heights; heights looked at are multiples of it, or a limit, or the candidate's own."""
LEAST_GAIN = 1.0
"""A score must rise by so much, or no move is told; a convention."""
MOST_MOVES = 3
"""Moves with one step before it is halved."""
MOST_TRIED = 8
"""Places that look suitable roughly and are looked at closely, the nearest first."""
_TURN = np.radians(np.arange(24) * 45.0 + np.repeat([22.5, 0.0, 22.5], 8))
RING_POINTS_M = np.repeat([0.7, 2.0, 4.0], 8)[:, None] * np.stack([np.sin(_TURN), np.cos(_TURN)], axis=-1)
"""Where around the best place it is looked once more at the end, east and north [m]."""


@dataclass(frozen=True)
class Heights:
    """Which antenna heights may be chosen [m], from the run's reference.

    Attributes
    ----------
    low_m, high_m : float
        Limits; both the candidate's own height where it is kept.
    """

    low_m: float
    high_m: float

    @property
    def is_fixed(self) -> bool:
        """Whether there is no choice."""
        return self.high_m <= self.low_m

    def between(self, number: int) -> list[float]:
        """Return heights evenly from limit to limit, both among them."""
        inner = np.linspace(self.low_m, self.high_m, number)[1:-1]
        return sorted({self.low_m, self.high_m, *(self.allowed(h) for h in inner)})

    def allowed(self, height_m: float) -> float:
        """Return the nearest height that may be chosen."""
        stepped = round(round(height_m / HEIGHT_STEP_M) * HEIGHT_STEP_M, 3)
        return float(np.clip(stepped, self.low_m, self.high_m))


@dataclass(frozen=True)
class SearchResult:
    """What a search found.

    Attributes
    ----------
    own : JudgedPlace
        The site as it is.
    best : JudgedPlace
        The best place; `own` where nothing is better.
    least_m : float or None
        Least height between the limits that is suitable at the site itself [m]; None without limits, or if none is.
    nearest_m : float or None
        Distance of the nearest suitable place [m]; 0 if the site itself is, at its own or another allowed height.
    is_empty : bool
        Whether no allowed place could be judged at all.
    looked_at : int
        Number of places and heights that were judged.
    """

    own: JudgedPlace
    best: JudgedPlace
    least_m: float | None
    nearest_m: float | None
    is_empty: bool
    looked_at: int


def is_gain(new: JudgedPlace | RankRow, old: JudgedPlace | RankRow) -> bool:
    """Tell whether a place is so much better than another that a move is told.

    It is where the other cannot be assessed, or lacks the clearance that this one has, or where the score rises by
    `LEAST_GAIN`; places without the clearance are no gain over one that has it.
    """
    if new.result is None or old.result is None:
        return new.result is not None
    if old.is_limit_broken != new.is_limit_broken:
        return old.is_limit_broken
    return new.result.score >= old.result.score + LEAST_GAIN


def search(judge: Judge, region: SearchRegion, heights: Heights,
           progress: Callable[[float], None] = lambda fraction: None) -> SearchResult:
    """Search the best place and height of one site.

    First places over all the region at a few heights, then ever smaller steps around the best few. A narrow optimum
    between the first places may be missed; where scores are equal, what has more reserve goes first, then the smaller
    move, then less height.

    Parameters
    ----------
    judge : Judge
    region : SearchRegion
    heights : Heights
    progress : callable
        Told a fraction from time to time.

    Returns
    -------
    SearchResult

    Raises
    ------
    Cancelled
    """
    own_height = judge.site.height_m
    own = judge.look([(0.0, 0.0, own_height)])[0]
    spots, step = region.spread(MOST_PLACES if heights.is_fixed else MOST_PLACES_EACH)
    first = set(heights.between(FIRST_HEIGHTS))
    if heights.low_m <= own_height <= heights.high_m:
        first.add(own_height)
    wanted = [(*spot, height) for height in sorted(first) for spot in spots]
    rough, places = judge.roughly(), []
    for start in range(0, len(wanted), 40):
        progress(0.4 * start / len(wanted))
        places += rough.look(wanted[start:start + 40])
    progress(0.4)
    is_empty = all(place.result is None for place in places)
    best = own
    if not is_empty:
        best = _climb(judge, rough, region, heights, places, step, progress)
    least = None if heights.is_fixed else _least_height(judge, heights)
    progress(0.95)
    nearest = _nearest(judge, rough, region, step)
    if not is_gain(best, own):
        best = own
    return SearchResult(own, best, least, nearest, is_empty, len(judge.seen) + len(rough.seen))


def _climb(judge, rough, region, heights, places, step, progress):
    """Go on around the best few, then around the best; roughly at first."""
    key = JudgedPlace.key
    few = []
    for place in sorted(places, key=key, reverse=True):
        if all(np.hypot(place.east_m - p.east_m, place.north_m - p.north_m) > 1.2 * step for p in few):
            few.append(place)
        if len(few) == BEST_FEW or place.result is None:
            break
    gap = 0.0 if heights.is_fixed else (heights.high_m - heights.low_m) / (SCANNED_HEIGHTS - 1)
    if gap:
        # one height may do where its neighbours do not
        few = [max(rough.look([(p.east_m, p.north_m, h) for h in heights.between(SCANNED_HEIGHTS)]) + [p], key=key)
               for p in few]
    step, rise, level = step / 2.0, gap / 2.0, 0
    while _is_coarse(step, rise):
        looking = rough if level == 0 else judge
        few = looking.look([(p.east_m, p.north_m, p.height_m) for p in few])
        few = sorted((_moved(looking, region, heights, place, step, rise) for place in few), key=key, reverse=True)
        level += 1
        few = few[:max(BEST_FEW - level, 1)]
        progress(min(0.4 + 0.07 * level, 0.85))
        step, rise = step / 2.0, rise / 2.0
    best = judge.look([(few[0].east_m, few[0].north_m, few[0].height_m)])[0]
    # along a ridge that runs askew, or into a corner, the eight directions get stuck
    for _ in range(MOST_MOVES):
        if best.result is None:
            break
        rings = region.drawn_in(np.array([best.east_m, best.north_m]) + RING_POINTS_M)
        better = max([best, *judge.look([(*point, best.height_m) for point in rings])], key=key)
        if better is best:
            break
        best, step = better, 2.0 * LAST_STEP_M
        while _is_coarse(step, 0.0):
            best = _moved(judge, region, heights, best, step, 0.0)
            step /= 2.0
    return best


def _is_coarse(step, rise) -> bool:
    return step >= LAST_STEP_M / 2.0 or rise >= HEIGHT_STEP_M / 2.0


def _moved(judge, region, heights, place, step, rise):
    """Move a place to the best of its neighbours as long as that is better."""
    for _ in range(MOST_MOVES):
        better = max([place, *judge.look(_around(region, heights, place, step, rise))],
                     key=JudgedPlace.key)
        if better is place:
            break
        place = better
    return place


def _around(region, heights, place, step, rise):
    """List the neighbours of a place in eight directions, and above and below it."""
    spots = []
    if step >= LAST_STEP_M / 2.0:
        angle = np.arange(8) * np.pi / 4.0
        points = np.array([place.east_m, place.north_m]) + step * np.stack([np.sin(angle), np.cos(angle)], axis=-1)
        spots = [(*point, place.height_m) for point in region.drawn_in(points)]
    if rise >= HEIGHT_STEP_M / 2.0:
        spots += [(place.east_m, place.north_m, heights.allowed(place.height_m + sign * max(rise, HEIGHT_STEP_M)))
                  for sign in (1, -1)]
    return spots


def _least_height(judge, heights):
    """Find the least suitable height at the site itself: the lowest of those scanned, then halving below it."""
    scanned = heights.between(SCANNED_HEIGHTS)
    lower = None
    for height in scanned:
        if judge.look([(0.0, 0.0, height)])[0].is_suitable:
            break
        lower = height
    else:
        return None
    while lower is not None and height - lower > 1.5 * HEIGHT_STEP_M:
        middle = heights.allowed((height + lower) / 2.0)
        if not lower < middle < height:
            break
        if judge.look([(0.0, 0.0, middle)])[0].is_suitable:
            height = middle
        else:
            lower = middle
    return height


def _nearest(judge, rough, region, step):
    """Draw the nearest suitable place that was met in towards the site; its distance."""
    hopeful = sorted((place for place in rough.seen.values() if place.is_suitable), key=lambda p: p.move_m)
    for place in hopeful[:MOST_TRIED]:
        if judge.look([(place.east_m, place.north_m, place.height_m)])[0].is_suitable:
            break
    met = [place for place in judge.seen.values() if place.is_suitable]
    if not met:
        return None
    place = min(met, key=lambda p: p.move_m)
    step = step / 2.0
    while step >= LAST_STEP_M / 2.0 and place.move_m > 0:
        for _ in range(MOST_MOVES):
            here = np.array([place.east_m, place.north_m])
            inwards = here * max(1.0 - step / place.move_m, 0.0)
            angle = np.arange(8) * np.pi / 4.0
            points = np.concatenate([[inwards], here + step * np.stack([np.sin(angle), np.cos(angle)], axis=-1)])
            points = region.drawn_in(points)
            points = points[np.hypot(*points.T) < place.move_m - 0.05]
            good = [p for p in judge.look([(*point, place.height_m) for point in points]) if p.is_suitable]
            if not good:
                break
            place = min(good, key=lambda p: p.move_m)
            if place.move_m == 0:
                break
        step /= 2.0
    return place.move_m
