"""What spoils a bin or a candidate: the cause, where on the ground it lies, and how much it takes."""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..assess import Assessment

NOTICEABLE = 0.25
"""Part of a ring's arc within a bin from which a cause is said to lie there."""


class Spoil(NamedTuple):
    """The dominant cause of each bin; arrays of shape (bins,).

    Attributes
    ----------
    names : list of str
        Names of the causes, by index.
    kinds : list of str
        ``class``, ``land``, ``dry``, ``unknown`` or ``avoid``, by index.
    cause : ndarray of int
        Index of the cause that takes most of the footprints that fail; -1 where none fails.
    lost : ndarray
        Mean share that it takes of them.
    near_m, far_m : ndarray
        From where to where it lies within them [m].
    level_m : float
        The level looked at, relative to the zero level [m].
    weight : ndarray, shape (causes, bins)
        Share each cause takes, summed over the angles that fail.
    """

    names: list
    kinds: list
    cause: np.ndarray
    lost: np.ndarray
    near_m: np.ndarray
    far_m: np.ndarray
    level_m: float
    weight: np.ndarray


def spoil(assessment: Assessment) -> Spoil:
    """Find what takes most of the footprints that fail, bin by bin.

    Parameters
    ----------
    assessment : Assessment

    Returns
    -------
    Spoil
        At the level with the least usable share over all bins.
    """
    a = assessment
    bins, angles = a.settings.bins, len(a.settings.elevation_deg)
    level = int(np.argmin(a.usable.mean(axis=(1, 2))))
    level_m = float(a.candidate.levels_m[level])
    bad = ~a.good
    nothing = np.zeros(bins)
    if not bad.any():
        return Spoil([], [], np.full(bins, -1), nothing, nothing, nothing, level_m, np.zeros((0, bins)))
    causes = a.surface.causes(a.candidate.zero_level_m + level_m)
    if not causes:
        return Spoil([], [], np.full(bins, -1), nothing, nothing, nothing, level_m, np.zeros((0, bins)))
    grid = a.kernels.grid
    per_ring = np.stack([
        c.share.reshape(len(grid.edges_m) - 1, bins, grid.rays_per_bin).mean(axis=-1) for c in causes])
    weights = a.kernels.part(level * angles, (level + 1) * angles).ring_weights()
    lost = np.einsum("ar,crb->cab", weights, per_ring, optimize=True)
    failing = bad.sum(axis=0)
    total = np.sum(lost * bad, axis=1)
    cause = np.where(failing > 0, np.argmax(total, axis=0), -1)
    columns = np.arange(bins)
    mean = np.where(failing > 0, total[cause, columns] / np.maximum(failing, 1), 0.0)

    touched = (weights > 0).T.astype(float) @ bad > 0  # (rings, bins): under a footprint that fails
    mine = per_ring[cause, :, columns].T
    there = touched & (mine >= np.minimum(NOTICEABLE, 0.5 * mine.max(axis=0)))
    there &= mine > 0
    has = there.any(axis=0)
    near = np.where(has, grid.edges_m[np.argmax(there, axis=0)], 0.0)
    last = len(there) - np.argmax(there[::-1], axis=0)
    far = np.where(has, grid.edges_m[np.minimum(last, len(grid.edges_m) - 1)], 0.0)
    return Spoil([c.name for c in causes], [c.kind for c in causes], cause, mean, near, far, level_m, total)


def main_cause(spoiled: Spoil, bins: np.ndarray) -> tuple[str, float, float] | None:
    """Name what takes most over a set of bins.

    Parameters
    ----------
    spoiled : Spoil
    bins : ndarray of bool

    Returns
    -------
    (name, near_m, far_m) or None
        The middle of its bounds over the bins where it dominates; None where nothing fails.
    """
    if not len(spoiled.names) or not np.any(bins & (spoiled.cause >= 0)):
        return None
    index = int(np.argmax(spoiled.weight[:, bins].sum(axis=1)))
    where = bins & (spoiled.cause == index)
    if not where.any():
        return spoiled.names[index], np.nan, np.nan
    return spoiled.names[index], float(np.median(spoiled.near_m[where])), float(np.median(spoiled.far_m[where]))
