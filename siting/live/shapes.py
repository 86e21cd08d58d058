"""What is drawn around one place: footprints, sectors, skyline and passes, in the CRS of the place."""
from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from ..arrays import Array
from ..assessment import Assessment
from ..geometry.fresnel import Ellipse, outline
from ..geometry.localframe import LocalFrame
from ..geometry.sectors import ground_distance_m, sector_rings
from ..sky.arcs import arcs_over
from ..sky.sky import Sky
from ..sky.usable import longest_pieces, place, usable_vertices

ZONES_EVERY_DEG = 30.0
"""Azimuths at which footprints are drawn: ellipses of the same angle just touch there at low elevation angles."""
VERTICES = 48
"""Corners of an ellipse on the screen."""
RIM, RIM_HIGH = 1.04, 0.22
"""The skyline stands on a circle so much wider than the ground looked at, and so much of it high at the highest
angle looked at."""


@dataclass
class Shapes:
    """Shapes around one place; all coordinates in its CRS.

    Attributes
    ----------
    centre : ndarray, shape (2,)
        The antenna.
    reach_m : float
        Farthest ground of any footprint [m].
    zones : ndarray, shape (footprints, corners, 2)
        First Fresnel zones at the lowest, a middle and the highest angle looked at, over the zero level.
    zone_is_good : ndarray of bool, shape (footprints,)
        Whether the angle is good in that direction.
    sectors : ndarray, shape (bins, corners, 2)
        Ground that the window's footprints cover; of bins without a window that of all angles.
    quality : ndarray, shape (bins,)
    counts : ndarray of bool, shape (bins,)
    rim : ndarray, shape (corners, 2)
        Circle on which the skyline stands; of no corner where no skyline was looked for.
    skyline : ndarray, shape (corners, 2)
        Profile of the skyline outside the rim, a step for each bin; of no corner where nothing stands up.
    passes : list of ndarray, shape (vertices, 2)
        Tracks of the reflection points.
    usable_passes : list of ndarray, shape (vertices, 2)
        Their longest usable pieces, of arcs that count and others.
    """

    centre: Array
    reach_m: float
    zones: Array
    zone_is_good: Array
    sectors: Array
    quality: Array
    counts: Array
    rim: Array
    skyline: Array
    passes: list = field(default_factory=list)
    usable_passes: list = field(default_factory=list)


def shapes_of(assessment: Assessment, crs: str, sky: Sky | None = None) -> Shapes:
    """Trace what is drawn of an assessment.

    Parameters
    ----------
    assessment : Assessment
    crs : str
        CRS of the candidate, in which everything is placed.
    sky : Sky, optional
        Without it there are no passes.

    Returns
    -------
    Shapes
    """
    a, s, candidate = assessment, assessment.settings, assessment.candidate
    reach = float(a.zones.far_m.max())
    frame = LocalFrame([candidate.lon], [candidate.lat], crs, reach * (RIM + RIM_HIGH))

    def placed(points):
        return np.stack(frame.place(0, points[..., 0], points[..., 1]), axis=-1)

    near, far = a.ground_of_window()
    zones, is_good = _zones(a)
    rim, skyline = _skyline(a, reach)
    made = Shapes(
        placed(np.zeros((1, 2)))[0], reach, placed(zones), is_good,
        placed(sector_rings(s.bin_centre_deg, s.bin_width_deg, near, far)), a.windows.quality.copy(), a.counts,
        placed(rim), placed(skyline))
    if sky is not None:
        made.passes, made.usable_passes = _passes(a, sky, placed)
    return made


def _zones(a):
    s, angle = a.settings, np.array(a.settings.elevation_deg)
    chosen = np.unique([0, len(angle) // 2, len(angle) - 1])
    bins = np.arange(0, s.bins, max(1, int(round(ZONES_EVERY_DEG / s.bin_width_deg))))
    level = int(np.argmin(np.abs(a.candidate.levels_m)))
    parts = [np.repeat(part[level][chosen], len(bins)) for part in a.zones]
    rings = outline(Ellipse(*parts), np.tile(s.bin_centre_deg[bins], len(chosen)), VERTICES)
    return rings, a.good[np.ix_(chosen, bins)].ravel()


def _skyline(a, reach):
    """Draw the skyline's elevation angle outwards from a circle around all footprints."""
    nothing = np.zeros((0, 2))
    found = a.skyline_deg
    if found is None:
        return nothing, nothing
    s, base = a.settings, RIM * reach
    turn = np.radians(np.arange(361.0))
    rim = base * np.stack([np.sin(turn), np.cos(turn)], axis=-1)
    up = np.clip(np.where(np.isfinite(found), found, 0.0) / s.elevation_deg[-1], 0.0, 1.0)
    if not up.any():
        return rim, nothing
    edges = np.radians(np.arange(s.bins + 1) * s.bin_width_deg)
    azimuth = np.stack([edges[:-1], edges[1:]], axis=-1).ravel()
    radius = base + RIM_HIGH * reach * np.repeat(up, 2)
    return rim, np.stack([radius * np.sin(azimuth), radius * np.cos(azimuth)], axis=-1)


def _passes(a, sky, placed):
    arcs = arcs_over(sky, a.candidate.lon, a.candidate.lat)
    if not arcs:
        return [], []
    where = place(arcs, np.array(a.settings.elevation_deg), a.settings.bins)
    pieces = longest_pieces(arcs, usable_vertices(where, a.good))
    distance = ground_distance_m(a.candidate.over_zero_m, arcs.sine.astype(float))
    azimuth = np.radians(arcs.azimuth_deg.astype(float))
    track = placed(np.stack([distance * np.sin(azimuth), distance * np.cos(azimuth)], axis=-1))
    whole = np.split(track, arcs.start[1:-1])
    usable = [track[first:last + 1] for first, last in zip(pieces.first, pieces.last) if last > first >= 0]
    return whole, usable
