"""What is asked of the heights, and with what they are recorded."""
from __future__ import annotations

from dataclasses import dataclass

from ..purposes import Purpose
from .pattern import COMMON, AntennaPattern


@dataclass(frozen=True)
class Receiver:
    """Antenna and receiver.

    Attributes
    ----------
    cn0_dbhz : float
        Carrier-to-noise density at the zenith [dB-Hz].
    step_db : float
        Step in which it is recorded [dB].
    interval_s : float
        Shortest interval that can be logged [s].
    scatter_db : float
        Scatter of single values beside thermal noise and step [dB]; a convention.
    pattern : AntennaPattern
    """

    cn0_dbhz: float = 49.0
    step_db: float = 0.1
    interval_s: float = 1.0
    scatter_db: float = 0.2
    pattern: AntennaPattern = COMMON


@dataclass(frozen=True)
class Demand:
    """What is asked of the values.

    Attributes
    ----------
    precision : float
        Standard error that is wanted [cm]; of the phase [°] where `is_phase`.
    cadence_h : float
        A value is wanted every so many hours [h].
    arc_error : float
        Error, beside noise, of an arc that is used from 5 to 20° [cm]; [°] where `is_phase`.
    is_phase : bool
        Whether the phase of the pattern is wanted (soil moisture), not the height.
    """

    precision: float
    cadence_h: float
    arc_error: float = 5.0
    is_phase: bool = False

    @property
    def unit(self) -> str:
        """Unit of precision and errors, as written behind a figure."""
        return "°" if self.is_phase else " cm"


def usual_demand(purpose: Purpose) -> Demand:
    """Return the conventional demand of a purpose.

    Examples
    --------
    >>> from ..purposes import SEA_LEVEL
    >>> usual_demand(SEA_LEVEL).cadence_h
    3.0
    """
    return Demand(purpose.precision, purpose.cadence_h, is_phase=purpose.is_phase)
