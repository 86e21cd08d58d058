"""Boxes for numbers that show no more digits than there are."""
from __future__ import annotations

from qgis.PyQt.QtWidgets import QDoubleSpinBox

FARTHEST = 100_000.0
"""Limit of numbers that have none of their own."""


class NumberBox(QDoubleSpinBox):
    """A box for a number within the limits of a parameter.

    Parameters
    ----------
    definition : QgsProcessingParameterNumber
    decimals : int
    step : float
    usual : str
        What stands there at 0, where 0 means what is usual.
    """

    def __init__(self, definition, decimals: int, step: float, usual: str = "", parent=None):
        super().__init__(parent)
        self.setDecimals(decimals)
        self.setRange(max(definition.minimum(), -FARTHEST), min(definition.maximum(), FARTHEST))
        self.setSingleStep(step)
        if usual:
            self.setMinimum(0.0)
            self.setSpecialValueText(usual)

    def textFromValue(self, value: float) -> str:
        text = self.locale().toString(float(value), "f", self.decimals())
        point = self.locale().decimalPoint()
        return text.rstrip("0").rstrip(point) if point in text else text
