"""What a user has given to one run: values read with care, layers, and the way to tell of them.

QGIS lets NaN pass, reads any text as 0 where a number is optional, takes the default where an expression gives
nothing, and rounds what should be whole; so nothing else here reads a number.
"""
from __future__ import annotations

import math
from typing import Callable

from qgis.core import NULL, QgsProperty

from ...siting.errors import Cancelled, InputError
from ...siting.ground.rasters import Raster
from . import sources
from .fieldorparameter import FieldOrParameter

LARGEST_WHOLE = 2**31 - 1
"""The largest whole number that QGIS passes on."""


class Given:
    """The parameters of one run, read by name.

    Parameters
    ----------
    algorithm : QgsProcessingAlgorithm
    parameters : dict
    context : QgsProcessingContext
    feedback : QgsProcessingFeedback
    """

    def __init__(self, algorithm, parameters: dict, context, feedback):
        self.algorithm, self.parameters, self.context, self.feedback = algorithm, parameters, context, feedback

    def takes(self, name: str) -> bool:
        """Tell whether the algorithm has such a parameter."""
        return self.algorithm.parameterDefinition(name) is not None

    def is_given(self, name: str) -> bool:
        """Tell whether a parameter has a value."""
        value = self.parameters.get(name)
        return value is not None and value not in (NULL, "")

    def real(self, name: str, low: float | None = None, high: float | None = None) -> float:
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
        definition = self.algorithm.parameterDefinition(name)
        value = self.parameters[name] if self.is_given(name) else definition.defaultValue()
        if isinstance(value, QgsProperty):
            expression = value.asExpression()
            value, is_well = value.value(self.algorithm.createExpressionContext(self.parameters, self.context), None)
            if not is_well or value is None or value == NULL:
                raise InputError(f"{name}: “{expression}” gives no number. Correct the expression, or give a number.")
        try:
            value = float(value)
        except (TypeError, ValueError):
            raise InputError(f"{name} “{value}” is no number. Write it with a decimal point, such as 7.5.") from None
        return checked(name, value, low, high)

    def real_or(self, usual: float | None, name: str, low: float | None = None,
                high: float | None = None) -> float | None:
        """Read a number that may be empty, for which `usual` serves then; see `real`."""
        return self.real(name, low, high) if self.is_given(name) else usual

    def whole(self, name: str, low: int = 0) -> int:
        """Read a whole number, at least `low`; see `real`.

        Raises
        ------
        InputError
            Also if it is not whole.
        """
        value = self.real(name, low, LARGEST_WHOLE)
        if value != int(value):
            raise InputError(f"{name} is {value:g}; give a whole number.")
        return int(value)

    def choice(self, name: str) -> str:
        """Read which of its options is chosen."""
        return self.algorithm.parameterAsEnumString(self.parameters, name, self.context)

    def choices(self, name: str) -> list[str]:
        """Read which of its options are chosen."""
        return self.algorithm.parameterAsEnumStrings(self.parameters, name, self.context)

    def text(self, name: str) -> str:
        """Read a text."""
        return self.algorithm.parameterAsString(self.parameters, name, self.context)

    def is_on(self, name: str) -> bool:
        """Read a switch."""
        return self.algorithm.parameterAsBool(self.parameters, name, self.context)

    def file(self, name: str) -> str:
        """Read the path of a file; empty where none is given."""
        return self.algorithm.parameterAsFile(self.parameters, name, self.context)

    def file_to_write(self, name: str) -> str:
        """Read the path of a file to be written; empty where none is asked for."""
        return self.algorithm.parameterAsFileOutput(self.parameters, name, self.context)

    def raster(self, name: str) -> Raster | None:
        """Open a raster; None where it is not given. See `sources.open_raster`."""
        return sources.open_raster(self, name)

    def source(self, name: str):
        """Open a vector source; see `sources.open_source`."""
        return sources.open_source(self, name)

    def polygons(self, name: str, candidates, reach_m: float, group_of: Callable | None = None):
        """Read polygons near candidates; see `sources.read_polygons`."""
        return sources.read_polygons(self, name, candidates, reach_m, group_of)

    def field(self, name: str, source) -> int:
        """Return the index of the field a parameter names; -1 where it is not given. See `sources.field_index`."""
        return sources.field_index(self, name, source)

    def of_each(self, number: str, field: str, source) -> FieldOrParameter:
        """Return a number for each feature of a source: from a field where there is one, else from a parameter."""
        return FieldOrParameter(self, source, number, field)

    @property
    def is_cancelled(self) -> Callable[[], bool]:
        """Whether the user has cancelled: what the science asks."""
        return self.feedback.isCanceled

    def stop_if_cancelled(self) -> None:
        """End the run when the user has cancelled.

        Raises
        ------
        Cancelled
        """
        if self.feedback.isCanceled():
            raise Cancelled("stopped by the user")

    def note(self, text: str) -> None:
        """Tell in the log."""
        self.feedback.pushInfo(text)

    def warn(self, text: str) -> None:
        """Warn in the log."""
        self.feedback.pushWarning(text)

    def progress(self, first: float = 0.0, last: float = 100.0) -> Callable[..., None]:
        """Return what shows a share of work done, 0 to 1, between two per cents of the progress bar."""
        return lambda part, _message="": self.feedback.setProgress(first + (last - first) * part)


def checked(name: str, value: float, low: float | None = None, high: float | None = None) -> float:
    """Return a number, or refuse it where it is NaN, infinite or out of a range.

    Raises
    ------
    InputError
    """
    if not math.isfinite(value):
        raise InputError(f"{name} is {value}, which is not a number that can be used; give a finite one.")
    if (low is not None and value < low) or (high is not None and value > high):
        least, most = f"at least {low:g}" if low is not None else "", f"at most {high:g}" if high is not None else ""
        asked = " and ".join(part for part in (least, most) if part)
        raise InputError(f"{name} is {value:g}; it must be {asked}.")
    return value
