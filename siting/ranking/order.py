"""The order of rank, one for ranking, trust and search: by score, then by the error; what is equal shares its rank."""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..arrays import Array, ArrayLike

SAME = 1e-6
"""Scores and errors that differ by no more are equal but for rounding."""


class Ranks(NamedTuple):
    """Ranks of candidates; arrays of shape (..., candidates).

    Attributes
    ----------
    rank : ndarray of int
        1 is best; equals share the first rank that they take (1, 2, 2, 4).
    last : ndarray of int
        The last rank that the equals take together.
    """

    rank: Array
    last: Array

    @property
    def tied(self) -> Array:
        """How many candidates share each rank."""
        return self.last - self.rank + 1


def shared_ranks(score: ArrayLike, error: ArrayLike, is_broken: ArrayLike) -> Ranks:
    """Rank candidates.

    Parameters
    ----------
    score : array_like, shape (candidates,)
        0 to 100; NaN for candidates that were not assessed: they come last and share their rank.
    error : array_like, shape (candidates,)
        Predicted standard error; the smaller is better among equal scores. NaN comes after every number.
    is_broken : array_like of bool, shape (candidates,)
        Whether a limit is broken: these stand behind all others that were assessed.

    Returns
    -------
    Ranks
        The order of the input never decides.

    Examples
    --------
    >>> shared_ranks([50, 70, 70, 10], [1, 2, 2, 3], [False] * 4).rank.tolist()
    [3, 1, 1, 4]
    """
    score, error, is_broken = (np.asarray(one) for one in (np.asarray(score, float), np.asarray(error, float),
                                                           np.asarray(is_broken, bool)))
    number = len(score)
    group = np.where(np.isnan(score), 2, is_broken.astype(int))
    first = np.where(np.isnan(score), 0.0, -score)
    second = np.where(np.isnan(error), np.inf, error)
    order = np.lexsort((second, first, group))
    if not number:
        return Ranks(np.zeros(0, int), np.zeros(0, int))

    # scores that are equal but for rounding are one before the error is asked
    step = np.diff(first[order]) > SAME
    step |= np.diff(group[order]) != 0
    level = np.zeros(number, int)
    level[order] = np.concatenate([[0], np.cumsum(step)])
    order = np.lexsort((second, level))
    with np.errstate(invalid="ignore"):
        # infinite errors are equal to one another
        apart = np.nan_to_num(np.diff(second[order]), nan=0.0) > SAME
    begins = np.concatenate([[True], (np.diff(level[order]) != 0) | apart])
    start = np.flatnonzero(begins)
    which = np.cumsum(begins) - 1
    rank, last = np.empty(number, int), np.empty(number, int)
    rank[order] = start[which] + 1
    last[order] = np.append(start[1:], number)[which]
    return Ranks(rank, last)


def rank_key(score: float, error: float, is_broken: bool) -> tuple[int, int, float]:
    """Return what orders two candidates as `shared_ranks` does, the better the greater.

    Parameters
    ----------
    score, error : float
    is_broken : bool

    Returns
    -------
    tuple
        Differences that mean nothing are rounded off.
    """
    return (-1 if is_broken else 0, round(score / SAME), -round(error / SAME) if np.isfinite(error) else -np.inf)
