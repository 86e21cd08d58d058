"""Types of arrays, for annotations: what a reader and a checker are told, nothing that runs.

NDArray came with numpy 1.21, and a QGIS 3.22 may bring an older numpy; annotations are never evaluated, so at run time
the plain class serves.
"""
from __future__ import annotations

from typing import TYPE_CHECKING, Any, Union

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[Any]
    """An array of any kind; shape, kind and unit stand in the docstrings."""
    BoolArray = NDArray[np.bool_]
    IntArray = NDArray[np.int_]
    Numbers = Union[float, Array]
    """A number or an array of numbers, which is calculated with as it is."""
else:
    ArrayLike = Numbers = object
    Array = BoolArray = IntArray = np.ndarray

__all__ = ["Array", "ArrayLike", "BoolArray", "IntArray", "Numbers"]
