"""Saying in which directions an elevation model ends too soon."""
from __future__ import annotations

import numpy as np

from ..arrays import Array
from .wording import degrees, metres


def ends_text(ends_m: Array, max_distance_m: float, width_deg: float) -> str:
    """Say between which azimuths the elevation models end before the greatest distance, and how near.

    Parameters
    ----------
    ends_m : ndarray, shape (bins,)
        See `Skyline`; bins from north on.
    max_distance_m : float
    width_deg : float
        Width of a bin [°].

    Returns
    -------
    str
        Empty where they end nowhere.

    Examples
    --------
    >>> ends_text(np.array([500.0, 9000.0, 9000.0, 300.0]), 9000.0, 90.0)
    '270 to 90° (from 300 m on)'
    """
    short = ends_m < max_distance_m

    def where(some):
        nearest = float(ends_m[some].min())
        return f"from {metres(nearest)} m on" if nearest > 0 else "no data at all"

    if short.all():
        return f"all around ({where(short)})"
    texts = []
    # bins turned so that the first is none of a range that goes on across north
    start = int(np.argmin(short))
    turned = np.roll(short, -start)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], turned, [False]]).astype(int)))
    for first, last in edges.reshape(-1, 2):
        bins = (np.arange(first, last) + start) % len(short)
        low, high = (float(v) * width_deg for v in (bins[0], bins[-1] + 1))
        texts.append(f"{degrees(low)} to {degrees(high)}° ({where(bins)})")
    return ", ".join(texts)
