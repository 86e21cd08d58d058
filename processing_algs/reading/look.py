"""Setting up what the sky is looked at for: satellites, precision wanted, antenna and receiver."""
from __future__ import annotations

from typing import NamedTuple

from ...siting.precision.demand import Demand, Receiver
from ...siting.precision.worth import SkyLook
from ...siting.purposes import purpose_of
from ...siting.signals import SPEED_OF_LIGHT_M_S
from ...siting.sky.usable import GAP_MARGIN_S
from .demand import read_demand, read_receiver
from .sky import read_sky


class Asked(NamedTuple):
    """What is asked of the values, and what records them."""

    demand: Demand
    receiver: Receiver


def read_asked(algorithm, parameters, context, feedback) -> Asked:
    """Read what is asked; before any layer is read, so that a wrong number ends the run at once.

    Raises
    ------
    InputError
    """
    purpose = purpose_of(algorithm.parameterAsEnumString(parameters, "PURPOSE", context))
    return Asked(read_demand(algorithm, parameters, context, purpose),
                 read_receiver(algorithm, parameters, context, feedback))


def read_look(algorithm, parameters, context, feedback, run, asked: Asked) -> SkyLook:
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
    sky = read_sky(algorithm, parameters, context, feedback, margin)
    permittivity = run.purpose.substance.permittivity(SPEED_OF_LIGHT_M_S / run.settings.wavelength_m)
    return SkyLook(sky, asked.demand, asked.receiver, complex(permittivity), run.purpose.is_tidal)
