"""Sky that no satellite crosses: empty ranges of elevation angles in each azimuth bin."""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from .arcs import Arcs

RESOLUTION_DEG = 0.05
"""Height of a cell of sky [°]: how exactly the edges of a range are found."""


class EmptyRanges(NamedTuple):
    """Ranges of elevation angles without satellites; arrays of shape (ranges,).

    Attributes
    ----------
    bin : ndarray of int
        Index of the azimuth bin; sorted.
    el_from_deg, el_to_deg : ndarray
        [°]
    """

    bin: np.ndarray
    el_from_deg: np.ndarray
    el_to_deg: np.ndarray


def crossed_cells(arcs: Arcs, bins: int, low_deg: float, high_deg: float) -> np.ndarray:
    """Mark the cells of sky that any arc passes.

    Parameters
    ----------
    arcs : Arcs
        Of one site, between the same elevation angles.
    bins : int
        Azimuth bins.
    low_deg, high_deg : float
        Elevation angles looked at [°].

    Returns
    -------
    ndarray of bool, shape (bins, rows)
        Rows of equal height, at most `RESOLUTION_DEG`, upwards.
    """
    rows = int(np.ceil((high_deg - low_deg) / RESOLUTION_DEG - 1e-9))
    crossed = np.zeros((bins, rows), bool)
    if not arcs:
        return crossed
    elevation, azimuth = arcs.elevation_deg, arcs.azimuth_deg.astype(float)
    from_vertex = np.delete(np.arange(len(elevation)), arcs.last)
    rise = elevation[from_vertex + 1] - elevation[from_vertex]
    turn = (azimuth[from_vertex + 1] - azimuth[from_vertex] + 180.0) % 360.0 - 180.0
    # so fine that no cell between two vertices is stepped over
    pieces = np.maximum(2.0 * np.abs(rise) / RESOLUTION_DEG, 16.0 * np.abs(turn) * bins / 360.0).astype(int) + 2
    segment = np.repeat(np.arange(len(from_vertex)), pieces + 1)
    within = np.arange(len(segment)) - np.repeat(np.cumsum(pieces + 1) - pieces - 1, pieces + 1)
    part = within / pieces[segment]
    row = (elevation[from_vertex][segment] + part * rise[segment] - low_deg) / (high_deg - low_deg) * rows
    column = np.floor((azimuth[from_vertex][segment] + part * turn[segment]) * bins / 360.0).astype(int) % bins
    crossed[column, np.clip(row.astype(int), 0, rows - 1)] = True
    return crossed


def empty_ranges(crossed: np.ndarray, low_deg: float, high_deg: float, least_deg: float) -> EmptyRanges:
    """Join empty cells of each bin to ranges.

    Parameters
    ----------
    crossed : ndarray of bool, shape (bins, rows)
        See `crossed_cells`.
    low_deg, high_deg : float
        [°]
    least_deg : float
        Shorter ranges are left out, for between two tracks the sky is always empty [°].

    Returns
    -------
    EmptyRanges
    """
    rows = crossed.shape[1]
    height = (high_deg - low_deg) / rows
    edge = np.diff(np.pad(~crossed, ((0, 0), (1, 1))).astype(np.int8), axis=1)
    number, begin = np.nonzero(edge == 1)
    _same, end = np.nonzero(edge == -1)
    keep = (end - begin) * height >= least_deg - 1e-9
    return EmptyRanges(number[keep], low_deg + begin[keep] * height, low_deg + end[keep] * height)
