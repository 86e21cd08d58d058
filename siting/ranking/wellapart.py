"""Taking the best of a ranking so that they stand well apart, not as neighbours on one stretch of shore."""
from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..earth import GEOD


def well_apart(lon_deg: Sequence[float], lat_deg: Sequence[float], number: int, apart_m: float) -> list[int]:
    """Take one position after the other, leaving out what stands too near one that was taken.

    Parameters
    ----------
    lon_deg, lat_deg : sequence of float
        Positions, best first [°].
    number : int
        So many are taken, fewer where there are no more.
    apart_m : float
        Least distance between any two [m]; 0 takes the first ones.

    Returns
    -------
    list of int
        Indices of those taken, best first.

    Examples
    --------
    >>> well_apart([0.0, 0.001, 0.01, 0.02], [0.0] * 4, 2, 500.0)
    [0, 2]
    """
    lon, lat = np.asarray(lon_deg, float), np.asarray(lat_deg, float)
    is_free = np.ones(len(lon), bool)
    taken: list[int] = []
    while len(taken) < number and is_free.any():
        one = int(np.argmax(is_free))
        taken.append(one)
        is_free[one] = False
        left = np.flatnonzero(is_free)
        here = np.full(len(left), lon[one]), np.full(len(left), lat[one])
        is_free[left] = GEOD.inv(*here, lon[left], lat[left])[2] >= apart_m
    return taken
