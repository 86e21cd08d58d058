"""The candidate sites: each is made to teach one thing."""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scene_frame as frame
from scene_terrain import LAKE_LEVEL

SEA_LOW, SEA_HIGH = -1.1, 1.1      # ordinary spring tide [m]
LAKE_LOW, LAKE_HIGH = -0.3, 0.3
SNOW_LOW, SNOW_HIGH = 0.0, 1.5


@dataclass(frozen=True)
class Candidate:
    """A candidate in scene metres; `height` is the antenna's height above what the elevation model shows there."""

    name: str
    east: float
    north: float
    height: float
    lesson: str
    purpose: str = "sea level"


CANDIDATES = [
    Candidate("Pier head", 985, 919, 4.5, "Open water nearly all round and no traffic: should win."),
    Candidate("Promenade", 845, 1327, 3.0, "Set back behind a car park: only the lowest angles reach water."),
    Candidate("Warehouse centre", 1322, 1230, 3.0, "Its own roof hides the water: a roof's middle is no good."),
    Candidate("Warehouse corner", 1264, 1192, 3.0, "Same roof, at the corner: water over a wide arc."),
    Candidate("North cove", 2640, 1434, 4.3, "Good water, but only to the north, where few satellites pass low."),
    Candidate("Gullet cliff top", 2050, 1486, 4.0, "So high that only a short sampling interval resolves it."),
    Candidate("Shut cove", 2440, 1301, 2.9, "Good water under a skyline that shuts out the satellites."),
    Candidate("Flat beacon", 380, 1178, 6.0, "Stands on the tidal flat: its water is gone at low tide."),
    Candidate("Harbour office", 1400, 1503, 4.0, "Looks over occupied berths and turning vessels."),
    Candidate("Breakwater head", 1496, 1193, 4.5, "The fairway takes half of its directions."),
    Candidate("Ferry steps", 1048, 1292, 1.3, "Too low: the steps flood and the antenna nearly does."),
    Candidate("Lanternhead", 2722, 938, 7.0, "Open headland; a rock shelf costs the higher angles: runner-up."),
    Candidate("Sallow Hollow", 330, 1830, 8.0, "Low ground below sea level that no water reaches."),
    Candidate("Lake jetty", 955, 2434, 3.4, "A lake with its own level: good to the south.", "lake level"),
    Candidate("Plateau mast", 1890, 2670, 4.5, "Gently flat snow all round: good.", "snow depth"),
]


def undulation(east: float | np.ndarray, north: float | np.ndarray) -> np.ndarray:
    """Return the invented geoid undulation [m] at scene coordinates."""
    e, n = np.asarray(east) / 40000.0, np.asarray(north) / 40000.0
    return 55.0 + 1.3 * np.sin(0.9 * e + 0.4) - 0.9 * np.cos(1.1 * n - 0.3) + 0.4 * e * n


def attributes(candidate: Candidate, ground: float, geoid: float) -> dict:
    """Return the candidate's fields.

    Parameters
    ----------
    candidate : Candidate
    ground : float
        What ``elevation.tif`` shows there [m].
    geoid : float
        What ``geoid.tif`` shows there [m].
    """
    zero, low, high = {
        "sea level": (0.0, SEA_LOW, SEA_HIGH), "lake level": (LAKE_LEVEL, LAKE_LOW, LAKE_HIGH),
        "snow depth": (ground, SNOW_LOW, SNOW_HIGH)}[candidate.purpose]
    return {"name": candidate.name, "purpose": candidate.purpose, "height_m": candidate.height,
            "level_m": round(zero, 2), "low_m": low, "high_m": high,
            "ellip_m": round(ground + candidate.height + geoid, 3), "lesson": candidate.lesson}


def cell_of(candidate: Candidate) -> tuple[int, int]:
    """Return row and column of the cell that the candidate stands on."""
    return int((frame.EXTENT - candidate.north) / frame.CELL), int(candidate.east / frame.CELL)
