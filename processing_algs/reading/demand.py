"""Reading what is asked of the values, and what records them."""
from __future__ import annotations

from ...siting.precision.demand import Demand, Receiver, usual_demand
from ...siting.precision.pattern import COMMON
from ...siting.purposes import Purpose
from .given import finite, finite_or


def read_demand(algorithm, parameters, context, purpose: Purpose) -> Demand:
    """Read PRECISION, CADENCE and ARC_ERROR; what is empty is what is usual for the purpose.

    Raises
    ------
    InputError
        If a number is not finite or out of its range.
    """
    usual = usual_demand(purpose)
    return Demand(
        finite_or(usual.precision, algorithm, parameters, "PRECISION", context, 1e-3, 1000.0),
        finite_or(usual.cadence_h, algorithm, parameters, "CADENCE", context, 0.1, 168.0),
        finite(algorithm, parameters, "ARC_ERROR", context, 0.0, 1000.0), usual.is_phase)


def read_receiver(algorithm, parameters, context, feedback) -> Receiver:
    """Read CN0, SNR_STEP, INTERVAL and ANTENNA_PATTERN, and say in the log which antenna serves.

    Raises
    ------
    InputError
        If a number is not finite or out of its range, or the pattern cannot be read or does not reach far enough for
        MAX_ELEVATION.
    """
    path = algorithm.parameterAsFile(parameters, "ANTENNA_PATTERN", context)
    if path:
        # readers of files are loaded only where a file is read
        from ...siting.precision.patternfiles import read_pattern
    highest = finite(algorithm, parameters, "MAX_ELEVATION", context)
    pattern = read_pattern(path, highest) if path else COMMON
    feedback.pushInfo(f"Antenna: {pattern.name}.")
    return Receiver(finite(algorithm, parameters, "CN0", context, 20.0, 70.0),
                    finite(algorithm, parameters, "SNR_STEP", context, 0.0, 10.0),
                    finite(algorithm, parameters, "INTERVAL", context, 0.001, 3600.0), pattern=pattern)
