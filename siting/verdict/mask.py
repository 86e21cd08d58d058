"""The observation mask: ranges of azimuth and elevation angle that are to be used."""
from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from ..windows import Windows


class MaskRow(NamedTuple):
    """A range of directions with one window [°]; `az_from` < `az_to`, split at north."""

    az_from: float
    az_to: float
    el_from: float
    el_to: float


def mask_rows(windows: Windows, counts: np.ndarray, elevation_deg: Sequence[float]) -> list[MaskRow]:
    """List what is to be used: the windows of the bins that count, neighbours with the same window joined.

    Parameters
    ----------
    windows : Windows
        Of shape (bins,); the first bin begins at north.
    counts : ndarray of bool, shape (bins,)
    elevation_deg : sequence of float, shape (angles,)

    Returns
    -------
    list of MaskRow
        From north clockwise; empty where nothing counts.

    Examples
    --------
    >>> four = Windows(np.array([0, 0, -1, 0]), np.array([1, 1, -1, 1]), *3 * [np.zeros(4)])
    >>> [tuple(row) for row in mask_rows(four, np.array([True, True, False, True]), (5.0, 20.0))]
    [(0.0, 180.0, 5.0, 20.0), (270.0, 360.0, 5.0, 20.0)]
    """
    width = 360.0 / len(counts)
    key = np.where(counts, windows.first * len(elevation_deg) + windows.last, -1)
    begin = np.flatnonzero(np.diff(key, prepend=key[0] - 1) != 0)
    end = np.append(begin[1:], len(key))
    return [MaskRow(float(b * width), float(e * width), float(elevation_deg[windows.first[b]]),
                    float(elevation_deg[windows.last[b]]))
            for b, e in zip(begin, end) if key[b] >= 0]
