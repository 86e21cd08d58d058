"""Land-cover classes named by numbers and ranges, as a user types them."""
from __future__ import annotations

import re
from typing import NamedTuple

import numpy as np

from ..arrays import Array
from ..errors import InputError

_PART = re.compile(r"^\s*(\d+(?:\.\d+)?)\s*(?:-\s*(\d+(?:\.\d+)?)\s*)?$")


class TargetClasses(NamedTuple):
    """Closed ranges of class values, one (lowest, highest) pair each."""

    ranges: tuple
    text: str

    def contains(self, values: Array) -> Array:
        """Tell which values are among the classes (a boolean array of the same shape)."""
        if values.dtype == np.uint8:
            table = np.zeros(256, bool)
            for low, high in self.ranges:
                table[int(np.ceil(low)):int(np.floor(min(high, 255))) + 1] = True
            return table.take(values)
        found = np.zeros(values.shape, bool)
        for low, high in self.ranges:
            found |= (values >= low) & (values <= high)
        return found


def parse_classes(text: str) -> TargetClasses:
    """Read a list of land-cover classes.

    Parameters
    ----------
    text : str
        Numbers and ranges with commas (or semicolons) between, such as ``80, 90-95``.

    Returns
    -------
    TargetClasses

    Raises
    ------
    InputError
        If the text is empty, holds something else, or a range runs backwards.

    Examples
    --------
    >>> parse_classes("80, 90-95").ranges
    ((80.0, 80.0), (90.0, 95.0))
    """
    ranges = []
    for part in re.split(r"[,;]", text or ""):
        if not part.strip():
            continue
        match = _PART.match(part)
        if not match:
            raise InputError(
                f"TARGET_CLASSES “{text}”: “{part.strip()}” is no class number and no range. "
                "Write numbers and ranges with commas between, such as 80, 90-95.")
        low = float(match.group(1))
        high = float(match.group(2)) if match.group(2) else low
        if high < low:
            raise InputError(f"TARGET_CLASSES “{text}”: the range “{part.strip()}” runs backwards.")
        ranges.append((low, high))
    if not ranges:
        raise InputError(
            "TARGET_CLASSES is empty. Say which classes of LANDCOVER are the surface to be measured, "
            "such as 80, 90-95.")
    return TargetClasses(tuple(ranges), text.strip())
