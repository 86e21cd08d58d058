"""A number for each feature: from a field where there is one, else from a parameter."""
from __future__ import annotations

import math
from typing import TYPE_CHECKING

from qgis.core import NULL, QgsFeature, QgsProcessingParameters

if TYPE_CHECKING:
    from .given import Given


class FieldOrParameter:
    """A number for each feature: from a field where there is one, else from a parameter.

    Text that is no number, NaN and infinity become NaN, so that the candidate is named and not guessed.
    """

    def __init__(self, given: Given, source, number: str, field: str):
        self._property = None
        if QgsProcessingParameters.isDynamic(given.parameters, number):
            self._property = given.parameters[number]
            self._context = given.algorithm.createExpressionContext(given.parameters, given.context, source)
        self._default = math.nan if self._property else given.real(number)
        self._index = given.field(field, source)

    @property
    def common(self) -> float | None:
        """The number that serves every feature; None where it may differ between them."""
        return self._default if self._property is None and self._index < 0 else None

    def of(self, feature: QgsFeature) -> float:
        """Return the number of a feature."""
        value = feature.attribute(self._index) if self._index >= 0 else None
        if value is None or value == NULL:
            if self._property is None:
                return self._default
            self._context.setFeature(feature)
            value, ok = self._property.value(self._context, None)
            if not ok or value is None or value == NULL:
                return math.nan
        try:
            number = float(value)
        except (TypeError, ValueError):
            return math.nan
        return number if math.isfinite(number) else math.nan
