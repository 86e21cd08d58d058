"""Reading numbers: finite, and within what can be; QGIS lets NaN and infinity pass."""
from __future__ import annotations

import math

from qgis.core import NULL

from ..siting.errors import InputError


def is_given(parameters, name: str) -> bool:
    """Tell whether a parameter has a value."""
    value = parameters.get(name)
    return value is not None and value != NULL and value != ""


def finite(algorithm, parameters, name: str, context, low: float | None = None, high: float | None = None) -> float:
    """Read a number.

    Parameters
    ----------
    low, high : float, optional
        Least and greatest value.

    Raises
    ------
    InputError
        If it is NaN, infinite or out of the range; the message names it.
    """
    return checked(name, algorithm.parameterAsDouble(parameters, name, context), low, high)


def finite_or(usual: float, algorithm, parameters, name: str, context, low: float | None = None,
              high: float | None = None) -> float:
    """Read a number that may be empty, for which `usual` serves then; see `finite`."""
    return finite(algorithm, parameters, name, context, low, high) if is_given(parameters, name) else usual


def checked(name: str, value: float, low: float | None = None, high: float | None = None) -> float:
    """Return a number, or refuse it where it is NaN, infinite or out of a range.

    Raises
    ------
    InputError
    """
    if not math.isfinite(value):
        raise InputError(f"{name} is {value}; give a finite number.")
    if low is not None and value < low or high is not None and value > high:
        least, most = f"at least {low:g}" if low is not None else "", f"at most {high:g}" if high is not None else ""
        asked = " and ".join(part for part in (least, most) if part)
        raise InputError(f"{name} is {value:g}; it must be {asked}.")
    return value
