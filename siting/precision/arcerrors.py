"""The error of each arc, and which arcs count.

Beside noise an arc has errors that grow as its window shrinks: what detrending and
few oscillations leave (leakage), and what waves, the rest of the tide and other
reflections do (ARC_ERROR, known for arcs from 5 to 20°). The air leaves a thousandth
of the height, a convention.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from ..arrays import Array
from ..sky.arcs import Arcs
from ..sky.sampling import pattern_rate
from ..sky.usable import Pieces, Placed, longest_pieces, usable_vertices, vertices_of
from ..windows import oscillations, separation_m
from .demand import Demand, Receiver
from .leakage import leakage
from .noise import SHORTEST_S, Pattern, Sums, height_noise_m, phase_noise_deg

USUAL_WIDTH = float(np.sin(np.radians(20.0)) - np.sin(np.radians(5.0)))
"""sin 20° - sin 5°: the window for which ARC_ERROR is told."""
AIR_PART = 0.001
"""Part of the height that the air leaves as an error [-]; a convention."""
CLEAR_PEAK = 0.125
"""Noise beyond this part of the separation λ/2W puts the periodogram's peak at the wrong height too often: at an eighth
some 5 % of the arcs are off by a whole separation, at a sixth a quarter of them, at a quarter more than half
(simulated, see tests/science/test_clear_peak.py)."""
CENTIMETRES = 100.0


class ArcErrors(NamedTuple):
    """Arcs over one site and what each is worth; arrays of shape (arcs,).

    Attributes
    ----------
    pieces : Pieces
    noise_m : ndarray
        Standard error of the height by noise [m]; inf where there is no pattern.
    noise : ndarray
        The same in the demand's unit: of the height [cm], or of the phase [°].
    other2 : ndarray
        Squared error without noise, in the demand's unit; inf where nothing is usable.
    separation_m : ndarray
        λ/2W [m].
    longest_s : ndarray
        Longest interval that resolves the arc [s]; NaN where nothing is usable.
    busy : ndarray
        Greatest share of the time in which something spoils it.
    is_long : ndarray of bool
        Whether it has the oscillations and the separation that are asked for.
    is_resolved : ndarray of bool
        Whether the receiver's interval resolves it.
    has_peak : ndarray of bool
        Whether its noise leaves the peak clear.
    """

    pieces: Pieces
    noise_m: Array
    noise: Array
    other2: Array
    separation_m: Array
    longest_s: Array
    busy: Array
    is_long: Array
    is_resolved: Array
    has_peak: Array

    @property
    def counts(self) -> Array:
        """Which arcs count."""
        return self.is_long & self.is_resolved & self.has_peak

    @property
    def error(self) -> Array:
        """Standard error of each arc, in the demand's unit."""
        total: Array = np.sqrt(self.noise**2 + self.other2)
        return total

    @property
    def weight(self) -> Array:
        """Share of the time in which each arc can be used; 0 where it does not count."""
        return np.where(self.counts, 1.0 - self.busy, 0.0)

    @property
    def information(self) -> Array:
        """Weight over the squared error, in 1/unit²."""
        with np.errstate(invalid="ignore", divide="ignore"):
            return np.where(self.counts, self.weight / (self.noise**2 + self.other2), 0.0)

    def noisier(self, factor: float) -> ArcErrors:
        """Return the same with samples fewer by a factor, as a longer interval gives them; what it resolves stays."""
        grown = float(np.sqrt(factor))
        noise_m = self.noise_m * grown
        return self._replace(noise_m=noise_m, noise=self.noise * grown,
                             has_peak=noise_m <= CLEAR_PEAK * self.separation_m)

    def within(self, start_s: float, end_s: float) -> Array:
        """Tell whose middle lies from one time until before another [s]."""
        middle = self.pieces.middle_s
        with np.errstate(invalid="ignore"):
            return (middle >= start_s) & (middle < end_s)


@dataclass(frozen=True)
class ArcJudge:
    """Judges the arcs over one site.

    Attributes
    ----------
    demand : Demand
    receiver : Receiver
    wavelength_m : float
    least_height_m, greatest_height_m : float
        Height over the highest and the lowest level [m].
    min_cycles : float
        Oscillations from which an arc counts.
    max_res_m : float or None
        Separation from which an arc counts [m].
    level_rate : float
        Speed of the surface, either way [m/s].
    """

    demand: Demand
    receiver: Receiver
    wavelength_m: float
    least_height_m: float
    greatest_height_m: float
    min_cycles: float
    max_res_m: float | None
    level_rate: float

    def judge(self, arcs: Arcs, placed: Placed, good: Array, pattern: Pattern,
              busy: Array | None = None) -> ArcErrors:
        """Find each arc's used piece and its error.

        Parameters
        ----------
        arcs : Arcs
        placed : Placed
            Of their vertices.
        good : ndarray of bool, shape (angles, bins)
            Where the surface is usable.
        pattern : Pattern
            Arrays of shape (angles, bins), or (angles,) where all bins are alike.
        busy : ndarray, shape (angles, bins), optional
            Share of the time in which something spoils the footprint.

        Returns
        -------
        ArcErrors
        """
        pieces = longest_pieces(arcs, usable_vertices(placed, good))
        chosen = np.flatnonzero(pieces.width > 0)
        vertices, start = vertices_of(pieces, chosen)
        here, sine = placed.some(vertices), arcs.sine[vertices].astype(float)
        sums = self._sums(here, sine, pattern, start)
        width = pieces.width[chosen]
        noise_m = height_noise_m(sums, self.wavelength_m)
        cycles = oscillations(self.least_height_m, width, self.wavelength_m)
        separation = separation_m(width, self.wavelength_m)
        where = (sums.middle - (pieces.mean_sine[chosen] - width / 2.0)) / width
        noise, other2 = self._errors(sums, noise_m, cycles, separation, where, width)
        rate = pattern_rate(arcs.rate[vertices], sine, self.greatest_height_m, self.level_rate)
        # at the very top of a pass nothing changes, and any interval will do
        fastest = np.maximum(np.maximum.reduceat(rate, start), 1e-12) if len(chosen) else np.ones(0)
        longest = self.wavelength_m / (4.0 * fastest)
        is_long = cycles >= self.min_cycles
        if self.max_res_m is not None:
            is_long &= separation <= self.max_res_m
        taken = np.zeros(len(chosen))
        if busy is not None and len(chosen):
            taken = np.maximum.reduceat(np.maximum(*here.both(busy)), start)
        number = len(pieces.width)

        def spread(values: Array, empty: float) -> Array:
            every = np.full(number, empty)
            every[chosen] = values
            return every

        return ArcErrors(
            pieces, spread(noise_m, np.inf), spread(noise, np.inf), spread(other2, np.inf),
            spread(separation, np.inf), spread(longest, np.nan), spread(taken, 0.0), spread(is_long, False),
            spread(longest >= self.receiver.interval_s * (1.0 - 1e-9), False),
            spread(noise_m <= CLEAR_PEAK * separation, False))

    def _sums(self, here: Placed, sine: Array, pattern: Pattern, start: Array) -> Sums:
        samples = here.spacing_s / max(self.receiver.interval_s, SHORTEST_S)
        rows = np.empty((6, len(sine)))
        for first, values in ((0, pattern.amplitude), (3, pattern.variance)):
            np.multiply(here.between(values), samples, out=rows[first])
            np.multiply(rows[first], sine, out=rows[first + 1])
            np.multiply(rows[first + 1], sine, out=rows[first + 2])
        return Sums(*(np.add.reduceat(rows, start, axis=1) if len(start) else rows))

    def _errors(self, sums: Sums, noise_m: Array, cycles: Array, separation: Array, where: Array,
                width: Array) -> tuple[Array, Array]:
        """Return the noise and the squared rest, in the demand's unit."""
        beside = self.demand.arc_error * USUAL_WIDTH / width
        if self.demand.is_phase:
            leaked = np.degrees(leakage(cycles, where, "phase_rad"))
            return phase_noise_deg(sums), leaked**2 + beside**2
        leaked = CENTIMETRES * leakage(cycles, where) * separation
        air = CENTIMETRES * AIR_PART * self.least_height_m
        return CENTIMETRES * noise_m, leaked**2 + air**2 + beside**2
