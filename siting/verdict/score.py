"""The score: the desirability of the predicted precision and of the analyst's own criteria, and the verdict.

Derringer, G. & Suich, R. (1980), Simultaneous optimization of several response
variables, Journal of Quality Technology 12, 214-219: each property becomes a
desirability from 0 to 1, and the whole is their weighted geometric mean. The
precision's desirability is 1/(1 + (error/wanted)²): a half where what is wanted is
just met, never 0 or 1, so that it parts good sites from better ones.
"""
from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

HOPELESS = 2.0
"""An error beyond this many times what is wanted makes a site unsuitable."""
SUITABLE, MARGINAL, UNSUITABLE = "suitable", "marginal", "unsuitable"
NOT_ASSESSED = "not assessed"


class Criterion(NamedTuple):
    """A property of the analyst's own that enters the score.

    Attributes
    ----------
    key : str
        Name of the property's field.
    label : str
        What it is, in words.
    unit : str
        Its unit, as written behind a figure; may be empty.
    worst, best : float
        Values of desirability 0 and 1; `worst` may be the greater.
    weight : float
        Weight in the geometric mean, > 0; the precision's is 1.
    """

    key: str
    label: str
    unit: str
    worst: float
    best: float
    weight: float = 1.0

    def desirability(self, value) -> np.ndarray:
        """Return the desirability 0 to 1 of values; 0 for NaN."""
        scaled = (np.asarray(value, dtype=float) - self.worst) / (self.best - self.worst)
        return np.clip(np.nan_to_num(scaled, nan=0.0), 0.0, 1.0)

    def need(self, wish: float) -> str:
        """Say what a value would have to be, for one of that desirability.

        Examples
        --------
        >>> cost = Criterion("cost", "cost", " EUR", 20000.0, 5000.0)
        >>> cost.need(0.0), cost.need(0.4)
        ('worth nothing from 20000 EUR on', 'full marks up to 5000 EUR')
        """
        rises = self.best > self.worst
        if wish == 0:
            return f"worth nothing {'up to' if rises else 'from'} {self.worst:g}{self.unit}{'' if rises else ' on'}"
        return f"full marks {'from' if rises else 'up to'} {self.best:g}{self.unit}"


class Score(NamedTuple):
    """Result for one candidate.

    Attributes
    ----------
    score : float
        0 to 100; 0 where a limit is broken.
    verdict : str
    desirability : ndarray
        Of the precision, then of the criteria in their order.
    precision : float
        Predicted standard error, in the demand's unit.
    """

    score: float
    verdict: str
    desirability: np.ndarray
    precision: float


def precision_desirability(error, wanted: float) -> np.ndarray:
    """Return the desirability of a standard error: 1/(1 + (error/wanted)²); 0 for NaN.

    Examples
    --------
    >>> precision_desirability([0.0, 5.0, 10.0], 5.0).tolist()
    [1.0, 0.5, 0.2]
    """
    return np.nan_to_num(1.0 / (1.0 + (np.asarray(error, float) / wanted)**2), nan=0.0)


def total_scores(error, wanted: float, own, criteria: Sequence[Criterion], weight=None) -> np.ndarray:
    """Combine the properties of many candidates.

    Parameters
    ----------
    error : ndarray, shape (...,)
        Predicted standard errors.
    wanted : float
        The one that is wanted.
    own : ndarray, shape (..., criteria)
        Values of the analyst's own criteria.
    criteria : sequence of Criterion
    weight : ndarray, shape (criteria,), optional
        Instead of the criteria's own.

    Returns
    -------
    ndarray, shape (...,)
        100 (d₀ ∏ dᵢ^wᵢ)^(1/(1 + Σ wᵢ)).
    """
    first = precision_desirability(error, wanted)
    if not len(criteria):
        return 100.0 * first
    weight = np.array([one.weight for one in criteria]) if weight is None else np.asarray(weight, float)
    wish = np.stack([one.desirability(own[..., i]) for i, one in enumerate(criteria)], axis=-1)
    with np.errstate(divide="ignore"):
        logs = np.log(first) + np.sum(np.log(wish) * weight, axis=-1)
    return 100.0 * np.exp(logs / (1.0 + weight.sum()))


def score(error: float, wanted: float, own: Sequence[float] = (), criteria: Sequence[Criterion] = (),
          is_limit_broken: bool = False, has_arcs: bool = True) -> Score:
    """Combine the properties of one candidate, and judge it.

    Parameters
    ----------
    error : float
        Predicted standard error.
    wanted : float
        The one that is wanted, in the same unit.
    own : sequence of float
        One for each criterion.
    criteria : sequence of Criterion
        The analyst's own.
    is_limit_broken : bool
        Whether a limit is broken, which makes it unsuitable and the score 0.
    has_arcs : bool
        Whether any arc counts.

    Returns
    -------
    Score
    """
    own = np.array(own, float)
    wish = np.array([precision_desirability(error, wanted), *(c.desirability(v) for c, v in zip(criteria, own))], float)
    total = 0.0 if is_limit_broken else float(total_scores(error, wanted, own, criteria))
    if is_limit_broken or not has_arcs or np.any(wish == 0) or error > HOPELESS * wanted:
        verdict = UNSUITABLE
    else:
        verdict = SUITABLE if error <= wanted else MARGINAL
    return Score(total, verdict, wish, float(error))
