"""Reading numbers: finite, and within what can be.

QGIS lets NaN pass, reads any text as 0 where a number is optional, takes the default where an expression gives
nothing, and rounds what should be whole; so nothing else here reads a number.
"""
from __future__ import annotations

import math

from qgis.core import NULL, QgsProperty

from ...siting.errors import InputError

LARGEST_WHOLE = 2**31 - 1
"""The largest whole number that QGIS passes on."""


def is_given(parameters, name: str) -> bool:
    """Tell whether a parameter has a value."""
    value = parameters.get(name)
    return value is not None and value != NULL and value != ""


def finite(algorithm, parameters, name: str, context, low: float | None = None, high: float | None = None) -> float:
    """Read a number; where none is given, the parameter's default.

    Parameters
    ----------
    low, high : float, optional
        Least and greatest value.

    Raises
    ------
    InputError
        If it is no number, NaN, infinite or out of the range; the message names it.
    """
    value = parameters[name] if is_given(parameters, name) else algorithm.parameterDefinition(name).defaultValue()
    if isinstance(value, QgsProperty):
        expression = value.asExpression()
        value, is_well = value.value(algorithm.createExpressionContext(parameters, context), None)
        if not is_well or value is None or value == NULL:
            raise InputError(f"{name}: “{expression}” gives no number. Correct the expression, or give a number.")
    try:
        value = float(value)
    except (TypeError, ValueError):
        raise InputError(f"{name} “{value}” is no number. Write it with a decimal point, such as 7.5.") from None
    return checked(name, value, low, high)


def finite_or(usual: float, algorithm, parameters, name: str, context, low: float | None = None,
              high: float | None = None) -> float:
    """Read a number that may be empty, for which `usual` serves then; see `finite`."""
    return finite(algorithm, parameters, name, context, low, high) if is_given(parameters, name) else usual


def whole(algorithm, parameters, name: str, context, low: int = 0) -> int:
    """Read a whole number, at least `low`; see `finite`.

    Raises
    ------
    InputError
        Also if it is not whole.
    """
    value = finite(algorithm, parameters, name, context, low, LARGEST_WHOLE)
    if value != int(value):
        raise InputError(f"{name} is {value:g}; give a whole number.")
    return int(value)


def checked(name: str, value: float, low: float | None = None, high: float | None = None) -> float:
    """Return a number, or refuse it where it is NaN, infinite or out of a range.

    Raises
    ------
    InputError
    """
    if not math.isfinite(value):
        raise InputError(f"{name} is {value}, which is not a number that can be used; give a finite one.")
    if low is not None and value < low or high is not None and value > high:
        least, most = f"at least {low:g}" if low is not None else "", f"at most {high:g}" if high is not None else ""
        asked = " and ".join(part for part in (least, most) if part)
        raise InputError(f"{name} is {value:g}; it must be {asked}.")
    return value
