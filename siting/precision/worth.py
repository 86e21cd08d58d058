"""What the sky is worth over a surface: which arcs count, how precise values will be, and how often to log."""
from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ..arrays import Array
from ..reflection.coefficients import fresnel
from ..reflection.roughness import ament_loss_db
from ..sky.arcs import Arcs, arcs_over
from ..sky.clock import DAY_S
from ..sky.sampling import INTERVALS_S, MARGIN, Shift, greatest_level_rate, tide_shift_m
from ..sky.sky import Sky
from ..sky.usable import Placed, longest_gap_s, place, usable_vertices
from .arcerrors import CENTIMETRES, ArcErrors, ArcJudge
from .bending import bending_part
from .demand import Demand, Receiver
from .noise import SHORTEST_S, Pattern, pattern
from .values import errors_by_time, kept_error, spread_unseen

if TYPE_CHECKING:
    from ..assessment import Assessment

DEARER = 1.1
"""By how much the recommended interval may worsen the precision against the receiver's shortest; a convention."""


class SkyWorth(NamedTuple):
    """What the sky gives one site.

    Attributes
    ----------
    precision : float
        Standard error that 95 % of the times keep to [cm]; of the phase [°] for soil moisture.
    arc_error, arc_noise : float
        Median error of the arcs that count, and median of the part that is noise, in the same unit; NaN without one.
    bend_cm : float
        Height bias by bending in the air if nobody corrects it [cm]; NaN without an arc, or where a phase is wanted.
    busy : float
        Mean share of the time in which the arcs that count are spoiled.
    information : float
        Sum of weight over squared error of the arcs of the time looked at [1/unit²].
    unresolved : int
        Arcs of the time looked at that would count but for the interval.
    arcs_day : float
        Sum of the weights of the arcs of the worst day.
    per_day : ndarray
        The same of each day.
    gap_h : float
        Longest time between the middles of arcs that count [h].
    gap_is_least : bool
        Whether the gap reaches the end of what was computed, so that it may be longer.
    int_max_s : float
        Longest interval that resolves every arc that counts [s]; NaN without one.
    int_rec_s : float or None
        Recommended interval [s].
    shift_m : Shift
        By how much the moving surface shifts single arcs [m].
    middle_s : ndarray
        Middles of the arcs that count within the time looked at [s].
    is_rising : ndarray of bool
        Of the same arcs.
    satellite : ndarray of int
        Of the same arcs.
    empty_bins : ndarray of bool, shape (bins,)
        Bins with usable angles that no satellite crosses there.
    """

    precision: float
    arc_error: float
    arc_noise: float
    bend_cm: float
    busy: float
    information: float
    unresolved: int
    arcs_day: float
    per_day: Array
    gap_h: float
    gap_is_least: bool
    int_max_s: float
    int_rec_s: float | None
    shift_m: Shift
    middle_s: Array
    is_rising: Array
    satellite: Array
    empty_bins: Array

    @property
    def has_arcs(self) -> bool:
        """Whether any arc counts in the time looked at."""
        return len(self.middle_s) > 0


@dataclass(frozen=True)
class SkyLook:
    """What the sky is looked at for, and with what.

    Attributes
    ----------
    sky : Sky
        With a margin of at least `margin_s`.
    demand : Demand
    receiver : Receiver
    permittivity : complex
        Of the smooth surface, ε' - jε''.
    is_tidal : bool
        Whether the surface moves between its levels twice a day.
    """

    sky: Sky
    demand: Demand
    receiver: Receiver
    permittivity: complex
    is_tidal: bool = True

    def over(self, assessment: Assessment) -> Over:
        """Judge the arcs over one site by the surface that was found there."""
        a, candidate = assessment, assessment.candidate
        angle = np.array(a.settings.elevation_deg)
        arcs = arcs_over(self.sky, candidate.lon, candidate.lat, with_margin=True)
        judge = ArcJudge(
            self.demand, self.receiver, a.settings.wavelength_m, a.least_height_m, float(np.max(candidate.heights_m)),
            a.settings.min_cycles, a.settings.max_res_m,
            greatest_level_rate(candidate.low_m, candidate.high_m) if self.is_tidal else 0.0)
        placed = place(arcs, angle, a.settings.bins)
        told = self.pattern(a)
        return Over(self, a, arcs, placed, judge, told, judge.judge(arcs, placed, a.good, told, a.busy))

    def pattern(self, assessment: Assessment, share: Array | None = None, loss_db: Array | None = None) -> Pattern:
        """Compute the strength of the pattern in each direction and at each angle.

        Parameters
        ----------
        assessment : Assessment
        share : ndarray, shape (angles, bins), optional
            Usable shares instead of those found.
        loss_db : ndarray, shape (angles, bins), optional
            Losses by roughness instead of those found [dB].
        """
        a = assessment
        share = a.share if share is None else share
        co, cross = _reflection(complex(self.permittivity), a.settings.elevation_deg)
        angle = np.array(a.settings.elevation_deg)
        loss = a.loss_db.max(axis=0) if loss_db is None else loss_db
        if not loss.any():
            # smooth: all directions have the noise of the angle
            smooth = pattern(self.receiver, angle, co, cross)
            return Pattern(smooth.amplitude[:, None] * share, smooth.variance)
        return pattern(self.receiver, angle[:, None], co[:, None], cross[:, None], 10.0 ** (-loss / 20.0), share)

    def precision_by_ament(self, assessment: Assessment) -> float:
        """Return the precision if roughness took what Ament's law says, which is more."""
        a, over = assessment, self.over(assessment)
        loss = np.nan_to_num(ament_loss_db(a.rms_m, np.array(a.settings.elevation_deg)[:, None],
                                           a.settings.wavelength_m)).max(axis=0)
        darker = self.pattern(a, loss_db=loss)
        return over.precision(over.judge.judge(over.arcs, over.placed, a.good, darker, a.busy))


@lru_cache(maxsize=16)
def _reflection(permittivity: complex, elevation_deg: tuple[float, ...]) -> tuple[Array, Array]:
    found = fresnel(permittivity, np.array(elevation_deg))
    return np.abs(found.co_polar), np.abs(found.cross_polar)


class Over(NamedTuple):
    """The arcs over one site, judged.

    Attributes
    ----------
    look : SkyLook
    assessment : Assessment
    arcs : Arcs
        With the margin.
    placed : Placed
        Of their vertices.
    judge : ArcJudge
    pattern : Pattern
    errors : ArcErrors
    """

    look: SkyLook
    assessment: Assessment
    arcs: Arcs
    placed: Placed
    judge: ArcJudge
    pattern: Pattern
    errors: ArcErrors

    @property
    def end_s(self) -> float:
        """End of the time looked at [s]."""
        return self.look.sky.days * DAY_S

    def precision(self, errors: ArcErrors | None = None) -> float:
        """Return the standard error that values keep to, with the errors of the arcs or others."""
        errors = self.errors if errors is None else errors
        candidate, demand = self.assessment.candidate, self.look.demand
        chosen = errors.counts
        return kept_error(errors_by_time(
            errors.pieces.middle_s[chosen], errors.information[chosen], self.look.sky.days, demand.cadence_h,
            spread_unseen(candidate.low_m, candidate.high_m, demand.is_phase)))

    def total(self, errors: ArcErrors) -> float:
        """Sum up the information of the time looked at [1/unit²]."""
        return float(np.sum(errors.information[errors.within(0.0, self.end_s)]))

    def recommended_s(self, longest_s: float, precision: float) -> float | None:
        """Return the interval to log at.

        Parameters
        ----------
        longest_s : float
            Longest interval that resolves every arc that counts [s].
        precision : float
            What the receiver's shortest interval gives.

        Returns
        -------
        float or None
            The longest of the usual intervals that resolves with a margin and costs at most a tenth of the precision;
            None where there is none.
        """
        shortest = max(self.look.receiver.interval_s, SHORTEST_S)
        for interval in INTERVALS_S[::-1]:
            if interval * MARGIN <= longest_s * (1.0 + 1e-9) and self.precision(
                    self.errors.noisier(max(interval, SHORTEST_S) / shortest)) <= DEARER * precision:
                return interval
        return None

    def worth(self) -> SkyWorth:
        """Say what the arcs are worth together."""
        errors, sky, arcs, good = self.errors, self.look.sky, self.arcs, self.assessment.good
        counts, middle = errors.counts, errors.pieces.middle_s
        looked_at = errors.within(0.0, self.end_s)
        chosen = np.flatnonzero(counts & looked_at)
        day = (middle[chosen] // DAY_S).astype(int)
        per_day = np.bincount(day, errors.weight[chosen], sky.days)
        gap, is_least = longest_gap_s(middle[counts], 0.0, self.end_s, float(sky.times_s[0]), float(sky.times_s[-1]))
        precision = self.precision()
        longest, recommended, bend = np.nan, None, np.nan
        arc_error = arc_noise = np.nan
        pieces = errors.pieces
        rising = arcs.is_rising
        if len(chosen):
            longest = float(errors.longest_s[chosen].min())
            recommended = self.recommended_s(longest, precision)
            arc_error, arc_noise = (float(np.median(part[chosen])) for part in (errors.error, errors.noise))
            if not self.look.demand.is_phase:
                low = np.median(pieces.mean_sine[chosen] - pieces.width[chosen] / 2.0)
                high = np.median(pieces.mean_sine[chosen] + pieces.width[chosen] / 2.0)
                bend = CENTIMETRES * self.assessment.candidate.over_zero_m * bending_part(
                    *np.degrees(np.arcsin([low, high])))
        crossed = np.zeros(good.shape[1], bool)
        crossed[self.placed.bin[usable_vertices(self.placed, good)]] = True
        return SkyWorth(
            precision, arc_error, arc_noise, bend, float(errors.busy[chosen].mean()) if len(chosen) else 0.0,
            self.total(errors),
            int(np.sum(errors.is_long & errors.has_peak & ~errors.is_resolved & looked_at)),
            float(per_day.min()), per_day, gap / 3600.0, is_least, longest, recommended,
            tide_shift_m(pieces.mean_sine[chosen], pieces.width[chosen],
                         (pieces.t_end_s - pieces.t_start_s)[chosen], rising[chosen], self.judge.level_rate),
            middle[chosen], rising[chosen], arcs.satellite[chosen],
            (good[1:] & good[:-1]).any(axis=0) & ~crossed)
