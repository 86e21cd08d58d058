"""Setting up a run that looks at the sky over sites, and going from site to site."""
from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ...siting.candidates import Candidate
from ...siting.sky.arcs import Arcs, arcs_over
from ...siting.sky.sky import Sky
from .candidates import Sites, listed, read_resolver, read_sites, tell_problems
from .given import Given
from .sky import POSITIONS_PART, read_sky

AT_POLE_DEG = 89.999


@dataclass
class SkySites(Sites):
    """Resolved candidates and the sky over them.

    Attributes
    ----------
    sky : Sky
    """

    sky: Sky


def set_up(given: Given, zero_is_ground: bool = False) -> SkySites:
    """Read candidates and sky, and tell what cannot be assessed.

    Parameters
    ----------
    zero_is_ground : bool
        Whether the zero level is the DEM's ground below the antenna (snow, soil).

    Raises
    ------
    InputError
        If the run would be meaningless.
    Cancelled
    """
    sites = read_sites(given)
    read_resolver(given, sites, given.raster("DEM"), zero_is_ground)(sites.candidates)
    tell_problems(given, sites.candidates)
    at_pole = [one.name for one in sites.candidates if not one.problem and abs(one.lat) > AT_POLE_DEG]
    if at_pole:
        given.warn(f"At a pole: {listed(at_pole)}. There every direction is the same, and azimuths count from the "
                   "meridian of the longitude given, as if the site lay just beside the pole.")
    return SkySites(**vars(sites), sky=read_sky(given))


def over_sites(given: Given, run: SkySites) -> Iterator[tuple[int, Candidate, Arcs | None]]:
    """Give each candidate with the arcs over it; None where it cannot be assessed.

    Raises
    ------
    Cancelled
    """
    progress = given.progress(POSITIONS_PART)
    for index, one in enumerate(run.candidates):
        given.stop_if_cancelled()
        progress(index / len(run.candidates))
        yield index, one, None if one.problem else arcs_over(run.sky, one.lon, one.lat)


def reach_m(candidates: Sequence[Candidate], height_m: Sequence[float], low_deg: float) -> np.ndarray:
    """Return how far from each candidate reflections lie at the lowest angle [m]; 1 where it cannot be assessed."""
    height = np.where([bool(one.problem) for one in candidates], np.nan, height_m)
    return np.nan_to_num(height / np.tan(np.radians(low_deg)), nan=1.0)


def tell_without_arcs(given: Given, names: Sequence[str], run: SkySites) -> None:
    """Name the sites over which no satellite passes between the elevation angles looked at."""
    if names:
        given.warn(
            f"No satellite passes between {run.sky.low_deg:g} and {run.sky.high_deg:g}° over {len(names)} of "
            f"{len(run.candidates)} candidates: {listed(names)}.")
