"""What spoils a bin or a candidate: the cause, where on the ground it lies, and how much it takes."""
from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from ..arrays import Array
from ..assessment import SHARE_ROUNDING, Assessment
from ..ground.kernels import Kernels
from ..ground.surface import Cause
from .walls import Blocked, blocked, hidden_causes

NOTICEABLE = 0.25
"""Part of a ring's arc within a bin from which a cause is said to lie there."""

EXPLAINED = 0.8
"""Part of a loss that causes within the bin must explain; else those beside it are looked at too."""


LAND_KINDS = ("class", "land")
"""Kinds of causes that are ground instead of the target at any level."""


LEAST_TARGET = 0.5
"""Part of a spot that must be target for the target to be there."""


class Part(NamedTuple):
    """A cause, or a part of it, and what it takes of each footprint.

    Attributes
    ----------
    cause : int
        Index of the cause.
    is_before : bool
        Whether it is ground that lies between the antenna and the target: nearer to the water, or higher, it would
        not matter.
    lost : ndarray, shape (angles, bins)
        Share that it takes of each footprint.
    per_ring : ndarray, shape (n_rings, bins)
        Share of each ring that it is.
    """

    cause: int
    is_before: bool
    lost: Array
    per_ring: Array


class Causes(NamedTuple):
    """The dominant cause of each bin; arrays of shape (bins,).

    Attributes
    ----------
    names : list of str
        Names of the causes, by index.
    kinds : list of str
        ``class``, ``land``, ``dry``, ``unknown``, ``avoid`` or ``hidden``, by index.
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
    blocked : sequence of Blocked
        What takes whole footprints, such as the skyline.
    parts : list of Part
        What each cause takes of each footprint, ground before the target apart from ground elsewhere.
    in_reach : ndarray of bool, shape (bins,)
        Directions in which the target lies within the reach of the footprints, at one level at least.
    touched : ndarray of bool, shape (n_rings, bins)
        Rings under footprints that fail.
    out_m : sequence of float
        How far out what hides stands, by index of the cause [m]; NaN of other kinds.
    """

    names: list[str]
    kinds: list[str]
    cause: Array
    lost: Array
    near_m: Array
    far_m: Array
    level_m: float
    weight: Array
    blocked: Sequence[Blocked] = ()
    parts: Sequence[Part] = ()
    in_reach: Array | None = None
    touched: Array | None = None
    out_m: Sequence[float] = ()


def find_causes(assessment: Assessment) -> Causes:
    """Find what takes most of the footprints that fail, bin by bin.

    Parameters
    ----------
    assessment : Assessment

    Returns
    -------
    Causes
        At the level with the least usable share over all bins.
    """
    a = assessment
    bins, angles = a.settings.bins, len(a.settings.elevation_deg)
    usable = a.usable.mean(axis=(1, 2))
    level = int(np.argmax(usable <= usable.min() + SHARE_ROUNDING))
    level_m = float(a.candidate.levels_m[level])
    bad = ~a.good
    nothing = np.zeros(bins)
    if not bad.any():
        return Causes([], [], np.full(bins, -1), nothing, nothing, nothing, level_m, np.zeros((0, bins)))
    causes = a.surface.causes(a.candidate.zero_level_m + level_m) + hidden_causes(a, level)
    walls: list[Blocked] = blocked(a, level, bad)
    target = a.spots(level).target
    in_reach = np.max([a.spots(number).target.max(axis=0) for number in range(len(a.candidate.levels_m))],
                      axis=0).reshape(bins, -1).max(axis=1) > LEAST_TARGET
    if not causes:
        return Causes([], [], np.full(bins, -1), nothing, nothing, nothing, level_m, np.zeros((0, bins)), walls, (),
                     in_reach)
    grid = a.kernels.grid
    kernels = a.kernels.part(level * angles, (level + 1) * angles)
    split = _split(causes, target)
    per_ring = np.stack([mean_in_bins(share, bins) for _cause, _is_before, share in split])
    weights = kernels.ring_weights()
    lost = weights @ per_ring
    missing = 1.0 - a.usable_seen[level]
    failing_only = np.sum(missing * bad, axis=0)
    # footprints are wider than narrow bins: what spoils them may lie beside their bin
    beside = np.flatnonzero(np.sum(lost.sum(axis=0) * bad, axis=0) < EXPLAINED * failing_only)
    if len(beside):
        per_ring[..., beside] = spread_along_rings(per_ring, kernels, beside)
        lost[..., beside] = np.einsum("ar,crb->cab", weights, per_ring[..., beside], optimize=True)
    # so far the split among the causes is an estimate; what they take together is known, also of angles whose
    # narrow footprints lose it beside the bin
    together, all_angles = lost.sum(axis=0), lost.sum(axis=1, keepdims=True)
    lost = np.where(together > 1e-9, lost / np.maximum(together, 1e-9),
                    all_angles / np.maximum(all_angles.sum(axis=0), 1e-9)) * missing
    parts = [Part(cause, is_before, taken, ring)
             for (cause, is_before, _share), taken, ring in zip(split, lost, per_ring)]
    owner = np.array([part.cause for part in parts])
    per_ring = np.stack([per_ring[owner == i].sum(axis=0) for i in range(len(causes))])
    total = np.stack([np.sum(lost[owner == i].sum(axis=0) * bad, axis=0) for i in range(len(causes))])
    failing = bad.sum(axis=0)
    cause = np.where(failing > 0, np.argmax(total, axis=0), -1)
    columns = np.arange(bins)
    mean = np.where(failing > 0, total[cause, columns] / np.maximum(failing, 1), 0.0)

    touched = (weights > 0).T.astype(float) @ bad > 0  # (rings, bins): under a footprint that fails
    near, far = where_it_lies(per_ring[cause, :, columns].T, touched, grid.edges_m)
    return Causes([c.name for c in causes], [c.kind for c in causes], cause, mean, near, far, level_m, total, walls,
                  tuple(parts), in_reach, touched, tuple(c.out_m for c in causes))


def where_it_lies(per_ring: Array, touched: Array, edges_m: Array) -> tuple[Array, Array]:
    """Tell from where to where a cause lies under footprints that fail.

    Parameters
    ----------
    per_ring : ndarray, shape (n_rings, bins)
        Share of each ring that it is.
    touched : ndarray of bool, shape (n_rings, bins)
    edges_m : ndarray, shape (n_rings + 1,)

    Returns
    -------
    near_m, far_m : ndarray, shape (bins,)
        0 where it is nowhere [m].
    """
    # a hair of tolerance: whole fractions must not hang on the last bit of a sum
    there = touched & (per_ring >= np.minimum(NOTICEABLE, 0.5 * per_ring.max(axis=0)) - 1e-5) & (per_ring > 0)
    has = there.any(axis=0)
    near = np.where(has, edges_m[np.argmax(there, axis=0)], 0.0)
    last = len(there) - np.argmax(there[::-1], axis=0)
    return near, np.where(has, edges_m[np.minimum(last, len(edges_m) - 1)], 0.0)


def _split(causes: Sequence[Cause], target: Array) -> list[tuple[int, bool, Array]]:
    """Part ground before the target from ground elsewhere: (cause, is before, share of the spots)."""
    # whether target lies farther out on the same ray
    beyond = np.zeros(target.shape, np.float32)
    beyond[:-1] = np.maximum.accumulate(target[:0:-1], axis=0)[::-1]
    is_before = beyond > LEAST_TARGET
    elsewhere = ~is_before
    found: list[tuple[int, bool, Array]] = []
    for index, cause in enumerate(causes):
        share: Array = cause.share if cause.share.dtype == bool else cause.share.astype(np.float32, copy=False)
        if cause.kind not in LAND_KINDS:
            found.append((index, False, share))
            continue
        for is_there, wanted in ((is_before, True), (elsewhere, False)):
            part = share & is_there if share.dtype == bool else np.where(is_there, share, np.float32(0.0))
            if part.any():
                found.append((index, wanted, part))
    return found


def mean_in_bins(share: Array, bins: int) -> Array:
    """Average spots over the rays of each bin, shape (n_rings, bins); `share` may be boolean."""
    in_bins = share.reshape(len(share), bins, -1)
    total: Array = in_bins[..., 0].astype(np.float32)
    # ray by ray and all bins at once: numpy's own mean is slow over so few
    for ray in range(1, in_bins.shape[-1]):
        total += in_bins[..., ray]
    mean: Array = total / np.float32(in_bins.shape[-1])
    return mean


def spread_along_rings(per_ring: Array, kernels: Kernels, bins: Array) -> Array:
    """Average what lies in the bins over arcs as long as the footprints are wide.

    Parameters
    ----------
    per_ring : ndarray, shape (layers, n_rings, bins)
        Means within each bin.
    kernels : Kernels
        Of the footprints; where they differ in width, their mean by area counts.
    bins : ndarray of int, shape (chosen,)
        Bins whose footprints are looked at.

    Returns
    -------
    ndarray, shape (layers, n_rings, chosen)
        At least a whole bin wide.
    """
    grid, rings = kernels.grid, per_ring.shape[1]
    area = np.bincount(kernels.ring, kernels.area, rings)
    half = np.bincount(kernels.ring, kernels.area * kernels.half_width_rays, rings) / np.maximum(area, 1e-12)
    half = np.clip(half / grid.rays_per_bin, 0.5, grid.bins / 2.0)[:, None]
    # running sums over three turns, so that arcs may reach over north
    sums = np.cumsum(np.concatenate([np.zeros_like(per_ring[..., :1])] + 3 * [per_ring], axis=-1), axis=-1)
    ring = np.arange(rings)[:, None]

    def up_to(position: Array) -> Array:
        whole = np.minimum(position.astype(int), 3 * grid.bins - 1)
        part = position - whole
        sum_there: Array = sums[:, ring, whole] * (1.0 - part) + sums[:, ring, whole + 1] * part
        return sum_there

    centre = grid.bins + bins + 0.5
    mean: Array = (up_to(centre + half) - up_to(centre - half)) / (2.0 * half)
    return mean
