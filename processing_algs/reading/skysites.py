"""Setting up a run that looks at the sky over sites, and going from site to site."""
from __future__ import annotations

from dataclasses import dataclass
from typing import Iterator, Sequence

import numpy as np

from ...siting.candidates import Candidate, resolve
from ...siting.errors import Cancelled
from ...siting.sky.arcs import Arcs, arcs_over
from ...siting.sky.sky import Sky
from .candidates import open_raster, read_candidates, tell_problems, wkt_of
from .sky import POSITIONS_PART, read_sky

AT_POLE_DEG = 89.999
NAMES_TOLD = 20


@dataclass
class SkySites:
    """Candidates and the sky over them.

    Attributes
    ----------
    source : QgsProcessingFeatureSource
    candidates : list of Candidate
        Resolved.
    features, points : list
        The feature and the point geometry of each candidate.
    sky : Sky
    """

    source: object
    candidates: list[Candidate]
    features: list
    points: list
    sky: Sky


def set_up(algorithm, parameters, context, feedback, zero_is_ground: bool = False,
           with_levels: bool = False) -> SkySites:
    """Read candidates and sky, and tell what cannot be assessed.

    Parameters
    ----------
    zero_is_ground : bool
        Whether the zero level is the DEM's ground below the antenna (snow, soil).
    with_levels : bool
        Whether the algorithm takes LEVEL_LOW and LEVEL_HIGH.

    Raises
    ------
    InputError
        If the run would be meaningless.
    Cancelled
    """
    source, candidates, features, points = read_candidates(algorithm, parameters, context, feedback, with_levels)
    resolve(candidates, wkt_of(source.sourceCrs()),
            algorithm.parameterAsEnumString(parameters, "HEIGHT_REFERENCE", context), zero_is_ground,
            open_raster(algorithm, parameters, "DEM", context), open_raster(algorithm, parameters, "GEOID", context))
    tell_problems(candidates, feedback)
    at_pole = [one.name for one in candidates if not one.problem and abs(one.lat) > AT_POLE_DEG]
    if at_pole:
        feedback.pushWarning(f"At a pole: {listed(at_pole)}. There every direction is the same, and azimuths count "
                             "from the meridian of the longitude given, as if the site lay just beside the pole.")
    return SkySites(source, candidates, features, points, read_sky(algorithm, parameters, context, feedback))


def over_sites(run: SkySites, feedback) -> Iterator[tuple[int, Candidate, Arcs | None]]:
    """Give each candidate with the arcs over it; None where it cannot be assessed.

    Raises
    ------
    Cancelled
    """
    for index, one in enumerate(run.candidates):
        if feedback.isCanceled():
            raise Cancelled("stopped by the user")
        feedback.setProgress(POSITIONS_PART + (100.0 - POSITIONS_PART) * index / len(run.candidates))
        yield index, one, None if one.problem else arcs_over(run.sky, one.lon, one.lat)


def reach_m(candidates: Sequence[Candidate], height_m: Sequence[float], low_deg: float) -> np.ndarray:
    """Return how far from each candidate reflections lie at the lowest angle [m]; 1 where it cannot be assessed."""
    height = np.where([bool(one.problem) for one in candidates], np.nan, height_m)
    return np.nan_to_num(height / np.tan(np.radians(low_deg)), nan=1.0)


def listed(names: Sequence[str], remarks: Sequence[str] = ()) -> str:
    """Write names for the log, each with its remark where there are any; only the first where they are many."""
    texts = [f"“{name}”" for name in names[:NAMES_TOLD]]
    texts = [f"{text} ({remark})" for text, remark in zip(texts, remarks)] if remarks else texts
    return ", ".join(texts) + (f" and {len(names) - NAMES_TOLD} more" if len(names) > NAMES_TOLD else "")


def tell_without_arcs(names: Sequence[str], run: SkySites, feedback) -> None:
    """Name the sites over which no satellite passes between the elevation angles looked at."""
    if names:
        feedback.pushWarning(
            f"No satellite passes between {run.sky.low_deg:g} and {run.sky.high_deg:g}° over {len(names)} of "
            f"{len(run.candidates)} candidates: {listed(names)}.")
