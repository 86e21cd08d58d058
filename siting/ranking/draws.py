"""Candidates under drawn errors of their own: their height, their level, where the mapped surroundings lie.

A candidate's random numbers are its own, so the order of the input and its neighbours never matter.
"""
from __future__ import annotations

import hashlib
from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass
from typing import Callable, NamedTuple

import numpy as np

from ..candidates import Candidate
from ..earth import GEOD
from ..errors import Cancelled

SHORE_DRAWS = 4
"""Ways in which the shoreline alone is moved."""


@dataclass(frozen=True)
class Doubt:
    """How uncertain the inputs are; standard deviations.

    Attributes
    ----------
    height_m : float
        Of an antenna's height [m].
    level_m : float
        Of a water level or snow depth [m].
    shore_m : float
        Of the place of shoreline and other mapped surroundings, in each direction [m].
    weight : float
        Of a weight, relative.
    trials : int
        Draws for each candidate.
    seed : int
    """

    height_m: float = 0.1
    level_m: float = 0.1
    shore_m: float = 1.0
    weight: float = 0.2
    trials: int = 20
    seed: int = 1


class Draws(NamedTuple):
    """Properties of all candidates under all draws.

    Attributes
    ----------
    error : ndarray, shape (trials, candidates)
        Predicted standard error; NaN where a candidate could not be assessed.
    own : ndarray, shape (trials, candidates, criteria)
        The analyst's own properties.
    is_broken : ndarray of bool, shape (trials, candidates)
        Whether a limit is broken.
    """

    error: np.ndarray
    own: np.ndarray
    is_broken: np.ndarray

    def chosen(self, index) -> Draws:
        """Return the draws at an index into trials and candidates."""
        return Draws(self.error[index], self.own[index], self.is_broken[index])


def generator_of(candidate: Candidate, seed: int) -> np.random.Generator:
    """Return random numbers of a candidate's own: the same wherever it stands in the input, and whoever stands beside.

    Two candidates that are alike in all that is assessed draw alike, so that they stay alike.
    """
    figures = (candidate.lon, candidate.lat, candidate.over_zero_m, candidate.zero_level_m, candidate.low_m,
               candidate.high_m, candidate.wave_m, *(candidate.own[name] for name in sorted(candidate.own)))
    text = ",".join(f"{value:.7f}" for value in figures)
    digest = hashlib.sha256(f"{seed};{text}".encode()).digest()
    return np.random.default_rng(int.from_bytes(digest[:16], "big"))


def moved(candidate: Candidate, east_m: float, north_m: float) -> Candidate:
    """Copy a candidate to a place beside its own: as if its surroundings lay the other way."""
    other = copy(candidate)
    if candidate.problem:
        return other
    azimuth, distance = np.degrees(np.arctan2(east_m, north_m)), float(np.hypot(east_m, north_m))
    lon, lat, _back = GEOD.fwd(candidate.lon, candidate.lat, azimuth, distance)
    other.lon, other.lat = float(lon), float(lat)
    return other


def drawn(candidate: Candidate, doubt: Doubt, rng: np.random.Generator) -> Candidate:
    """Draw a candidate as it might really be.

    Parameters
    ----------
    candidate : Candidate
        Resolved.
    doubt : Doubt
    rng : Generator

    Returns
    -------
    Candidate
        With a `problem` where its antenna would be under water.
    """
    height, level, east, north = rng.normal(0.0, 1.0, 4) * (doubt.height_m, doubt.level_m, doubt.shore_m,
                                                            doubt.shore_m)
    other = moved(candidate, east, north)
    if candidate.problem:
        return other
    return other.at(candidate.over_zero_m + height, candidate.low_m + level, candidate.high_m + level)


Evaluate = Callable[[list], Draws]
"""Gives the properties of a list of candidates, arrays of shape (candidates, …)."""


def _stacked(found: Sequence[Draws]) -> Draws:
    return Draws(*(np.array(part) for part in zip(*found)))


def draw_values(candidates: Sequence[Candidate], doubt: Doubt, evaluate: Evaluate,
                progress: Callable[[float, str], None] = lambda fraction, message: None,
                is_cancelled: Callable[[], bool] = lambda: False) -> Draws:
    """Assess every candidate under errors of its own, `doubt.trials` times.

    Raises
    ------
    Cancelled
    """
    generators = [generator_of(one, doubt.seed) for one in candidates]
    found = []
    for trial in range(doubt.trials):
        if is_cancelled():
            raise Cancelled("stopped by the user")
        progress(trial / doubt.trials, f"draw {trial + 1}")
        found.append(evaluate([drawn(c, doubt, rng) for c, rng in zip(candidates, generators)]))
    return _stacked(found)


def shore_moves(candidates: Sequence[Candidate], doubt: Doubt, evaluate: Evaluate,
                is_cancelled: Callable[[], bool] = lambda: False) -> Draws:
    """Assess every candidate with its shoreline moved by one standard deviation north, east, south and west."""
    found = []
    for east, north in ((0.0, 1.0), (1.0, 0.0), (0.0, -1.0), (-1.0, 0.0)):
        if is_cancelled():
            raise Cancelled("stopped by the user")
        found.append(evaluate([moved(c, east * doubt.shore_m, north * doubt.shore_m) for c in candidates]))
    return _stacked(found)
