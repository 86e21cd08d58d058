"""Reading what the sky is looked at for: precision wanted, antenna and receiver, and with the sky all together."""
from __future__ import annotations

from typing import NamedTuple

from ...siting.precision.demand import Demand, Receiver, usual_demand
from ...siting.precision.pattern import COMMON
from ...siting.precision.worth import SkyLook
from ...siting.purposes import Purpose, purpose_of
from ...siting.signals import SPEED_OF_LIGHT_M_S
from ...siting.sky.usable import GAP_MARGIN_S
from .given import Given
from .sky import read_sky
from .surface import SurfaceRun


class Asked(NamedTuple):
    """What is asked of the values, and what records them."""

    demand: Demand
    receiver: Receiver


def read_asked(given: Given) -> Asked:
    """Read what is asked; before any layer is read, so that a wrong number ends the run at once.

    Raises
    ------
    InputError
    """
    return Asked(_read_demand(given, purpose_of(given.choice("PURPOSE"))), _read_receiver(given))


def _read_demand(given, purpose: Purpose) -> Demand:
    """Read PRECISION, CADENCE and ARC_ERROR; what is empty is what is usual for the purpose."""
    usual = usual_demand(purpose)
    return Demand(given.real_or(usual.precision, "PRECISION", 1e-3, 1000.0),
                  given.real_or(usual.cadence_h, "CADENCE", 0.1, 168.0),
                  given.real("ARC_ERROR", 0.0, 1000.0), usual.is_phase)


def _read_receiver(given) -> Receiver:
    """Read CN0, SNR_STEP, INTERVAL and ANTENNA_PATTERN, and say in the log which antenna serves."""
    path = given.file("ANTENNA_PATTERN")
    if path:
        # readers of files are loaded only where a file is read
        from ...siting.precision.patternfiles import read_pattern
    # a pattern must reach as far as is looked
    highest = given.real("MAX_ELEVATION")
    pattern = read_pattern(path, highest) if path else COMMON
    given.note(f"Antenna: {pattern.name}.")
    return Receiver(given.real("CN0", 20.0, 70.0), given.real("SNR_STEP", 0.0, 10.0),
                    given.real("INTERVAL", 0.001, 3600.0), pattern=pattern)


def read_look(given: Given, run: SurfaceRun, asked: Asked) -> SkyLook:
    """Read the sky, and put together what it is looked at for.

    Parameters
    ----------
    run : SurfaceRun
    asked : Asked

    Raises
    ------
    InputError
    Cancelled
    """
    # arcs half a cadence before and after the time looked at enter its values too
    margin = max(GAP_MARGIN_S, asked.demand.cadence_h * 1800.0)
    permittivity = run.purpose.substance.permittivity(SPEED_OF_LIGHT_M_S / run.settings.wavelength_m)
    return SkyLook(read_sky(given, margin), asked.demand, asked.receiver, complex(permittivity),
                   run.purpose.is_tidal)
