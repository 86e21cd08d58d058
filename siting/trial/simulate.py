"""A place tried out: some of its arcs recorded, and their heights found."""
from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Callable, NamedTuple

import numpy as np

from ..errors import Cancelled, InputError
from ..precision.demand import Receiver
from ..sight.refraction import refraction_deg
from ..sky.arcs import Arcs
from ..sky.usable import Pieces, longest_pieces, place, usable_vertices
from .observation import LAWS, Recorder, Series, arriving, record
from .retrieval import moved_m, strongest_height
from .scenes import Scene

TARGET, NOTHING = 0, -1
LEAST_PEAK = 4.0
"""Peak over background from which a height is taken for one (the trade takes 2.5 to 4; common practice, no source)."""


class Limits(NamedTuple):
    """What is used of each arc, as a mask allows; arrays of shape (arcs,).

    Attributes
    ----------
    start_s, end_s : ndarray
        [s]; NaN where an arc is not used.
    """

    start_s: np.ndarray
    end_s: np.ndarray


def whole(arcs: Arcs) -> Limits:
    """Use all of every arc."""
    return Limits(arcs.time_s[arcs.first], arcs.time_s[arcs.last])


def used(pieces: Pieces, chosen: np.ndarray) -> Limits:
    """Use the pieces of some arcs, as the prediction uses them.

    Parameters
    ----------
    pieces : Pieces
    chosen : ndarray of bool, shape (arcs,)
    """
    return Limits(*(np.where(chosen, value, np.nan) for value in (pieces.t_start_s, pieces.t_end_s)))


def masked(arcs: Arcs, good: np.ndarray, elevation_deg: np.ndarray, least_width: float = 0.0) -> Limits:
    """Use of each arc the longest piece in good directions.

    Parameters
    ----------
    arcs : Arcs
    good : ndarray of bool, shape (angles, bins)
    elevation_deg : ndarray, shape (angles,)
        Rising [°].
    least_width : float
        Change of sin e from which a piece is used: 3 λ/2h for three oscillations.
    """
    pieces = longest_pieces(arcs, usable_vertices(place(arcs, elevation_deg, good.shape[1]), good))
    return used(pieces, (pieces.width > 0) & (pieces.width >= least_width))


@dataclass(frozen=True)
class Way:
    """How arcs are simulated and processed.

    Attributes
    ----------
    receiver : Receiver
        Its interval is the scene's.
    law : str
        See `siting.trial.observation.LAWS`.
    corrects_tide : bool
        Whether the surface's motion during an arc is corrected.
    bends, corrects_bending : bool
        Whether the air bends the rays, and whether the processing knows.
    cross_phase_rad : float or None
        Phase between the antenna's two polarisations [rad]; None: drawn, for nobody knows it. It moves heights by up
        to some 3 cm, alike for all arcs, and the strength of the pattern by some decibels.
    """

    receiver: Receiver = Receiver()
    law: str = "waves"
    corrects_tide: bool = True
    bends: bool = False
    corrects_bending: bool = True
    cross_phase_rad: float | None = None

    def __post_init__(self):
        if self.law not in LAWS:
            raise InputError(f"The law “{self.law}” is not known. Choose one of: {', '.join(LAWS)}.")


class Sample(NamedTuple):
    """Which arcs are tried, and how often.

    Attributes
    ----------
    arcs_most : int
        At most so many arcs, drawn by chance from those that may be used.
    seed : int
        For everything that chance decides; the same seed gives the same trial.
    repeats : int
        So often each arc is recorded, with other noise and other passers-by: days that differ in these alone.
    """

    arcs_most: int = 30
    seed: int = 1
    repeats: int = 1


class Trial(NamedTuple):
    """The arcs that were tried; arrays of shape (tried,).

    Attributes
    ----------
    arc : ndarray of int
        Index into the arcs given.
    start_s, end_s : ndarray
        Of what was used [s].
    azimuth_deg : ndarray
        At its middle [°].
    el_from_deg, el_to_deg : ndarray
        [°]
    true_m : ndarray
        Height over the water at its middle [m].
    found_m : ndarray
        Height found [m]; NaN where nothing could be found.
    peak : ndarray
        Peak over background.
    finds : ndarray of int
        Which surface the peak belongs to: index into `names`, 0 the water, -1 none of them.
    is_busy : ndarray of bool
        Whether something was there that passes.
    names : tuple of str
        Of the surfaces.
    """

    arc: np.ndarray
    start_s: np.ndarray
    end_s: np.ndarray
    azimuth_deg: np.ndarray
    el_from_deg: np.ndarray
    el_to_deg: np.ndarray
    true_m: np.ndarray
    found_m: np.ndarray
    peak: np.ndarray
    finds: np.ndarray
    is_busy: np.ndarray
    names: tuple

    @property
    def error_m(self) -> np.ndarray:
        """Height found less the true one [m]."""
        return self.found_m - self.true_m

    @property
    def width(self) -> np.ndarray:
        """Change of sin e of what was used."""
        return np.sin(np.radians(self.el_to_deg)) - np.sin(np.radians(self.el_from_deg))

    def clear(self, least_peak: float = LEAST_PEAK) -> Trial:
        """Leave the arcs out whose peak is not clear, as a processing does."""
        keep = self.peak >= least_peak
        return self._replace(**{name: value[keep] for name, value in zip(self._fields, self) if name != "names"})

    @property
    def middle_s(self) -> np.ndarray:
        """Middles in time [s]."""
        return (self.start_s + self.end_s) / 2.0


def simulate(scene: Scene, arcs: Arcs, limits: Limits | None = None, way: Way = Way(), sample: Sample = Sample(),
             progress: Callable[[float, str], None] = lambda fraction, message: None,
             is_cancelled: Callable[[], bool] = lambda: False) -> Trial:
    """Record some arcs over a place and find their heights.

    Parameters
    ----------
    scene : Scene
    arcs : Arcs
        Over its position, between the elevation angles looked at.
    limits : Limits, optional
        What a mask allows of each arc; without it the whole arcs.
    way : Way
    sample : Sample
    progress, is_cancelled : callable
        Told, and asked, before each arc.

    Returns
    -------
    Trial
        In order of the arcs.

    Raises
    ------
    Cancelled
    """
    rng = np.random.default_rng(sample.seed)
    limits = whole(arcs) if limits is None else limits
    usable = np.flatnonzero(np.isfinite(limits.start_s) & np.isfinite(limits.end_s))
    # drawn first: one seed is one antenna, whatever it stands over
    drawn = rng.uniform(0.0, 2.0 * np.pi)
    cross_phase = drawn if way.cross_phase_rad is None else way.cross_phase_rad
    chosen = np.sort(rng.permutation(usable)[:sample.arcs_most])
    recorder = Recorder(replace(way.receiver, interval_s=scene.interval_s), scene.wavelength_m, scene.water, way.law,
                        cross_phase, way.bends, scene.tide)
    rows = []
    for number, arc in enumerate(chosen):
        if is_cancelled():
            raise Cancelled("stopped by the user")
        progress(number / len(chosen), scene.name)
        rows += _try_one(scene, recorder, way, _track(arcs, arc, limits), sample.repeats, rng)
    columns = zip(*rows) if rows else [()] * 8
    chosen = np.repeat(chosen, sample.repeats)
    return Trial(chosen, limits.start_s[chosen], limits.end_s[chosen], *(np.array(column) for column in columns),
                 names=("the water", *(piece.name for piece in scene.pieces)))


def _track(arcs, arc, limits):
    """Return what is used of an arc: times, sin e and azimuth without jumps, its ends between the vertices."""
    part = slice(arcs.start[arc], arcs.start[arc + 1])
    time, sine = arcs.time_s[part].astype(float), arcs.sine[part].astype(float)
    azimuth = np.degrees(np.unwrap(np.radians(arcs.azimuth_deg[part].astype(float))))
    start, end = max(limits.start_s[arc], time[0]), min(limits.end_s[arc], time[-1])
    within = time[(time > start) & (time < end)]
    moments = np.concatenate([[start], within, [end]])
    return moments, np.interp(moments, time, sine), np.interp(moments, time, azimuth)


def _try_one(scene, recorder, way, track, repeats, rng):
    """Record one arc and find its height, so often; rows of the columns of `Trial` from `azimuth_deg` on."""
    found, arrives = [], {}
    for _ in range(repeats):
        present = tuple(piece for piece in scene.passing if rng.uniform() < piece.share)
        # what arrives is the same each time, and is what takes long
        names = tuple(piece.name for piece in present)
        if names not in arrives:
            arrives[names] = arriving(scene.standing(present), recorder, *track)
        series = record(arrives[names], recorder.receiver, rng)
        found.append(_found_in(series, scene, recorder, way, track, present))
    return found


def _found_in(series, scene, recorder, way, track, present):
    """Find the height in one recording; the columns of `Trial` from `azimuth_deg` on."""
    moments, sines, azimuths = track
    ends = moments[[0, -1]] if len(series.time_s) < 2 else series.time_s[[0, -1]]
    middle = float(ends.mean())
    true = scene.antenna_m - float(recorder.tide.level_m(middle))
    moved = moved_m(series, recorder.tide) if way.corrects_tide and scene.high_m > scene.low_m else None
    found = strongest_height(_known_sine(series, way), series.amplitude, scene.antenna_m - recorder.tide.mean_m,
                             scene.wavelength_m, moved)
    return (float(np.interp(middle, moments, azimuths)) % 360.0, *np.degrees(np.arcsin([sines.min(), sines.max()])),
            true, found.height_m, found.over_background, _belongs(scene, present, true, found), bool(present))


def _known_sine(series: Series, way: Way) -> np.ndarray:
    """Return sin e as the processing has it."""
    if not (way.bends and way.corrects_bending):
        return series.sine
    elevation = np.degrees(np.arcsin(series.sine))
    return np.sin(np.radians(elevation + refraction_deg(elevation)))


def _belongs(scene, present, true, found) -> int:
    """Tell which surface a height belongs to: the nearest, if it is no farther than the arc separates."""
    if np.isnan(found.height_m):
        return NOTHING
    distance = [abs(found.height_m - true)]
    for piece in scene.pieces:
        is_there = piece.share >= 1.0 or piece in present
        distance.append(abs(found.height_m - (scene.antenna_m - piece.top_m)) if is_there else np.inf)
    nearest = int(np.argmin(distance))
    return nearest if distance[nearest] <= found.separation_m else NOTHING
