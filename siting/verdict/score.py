"""The score: desirabilities, their weighted geometric mean, the verdict, and the order of rank.

Derringer, G. & Suich, R. (1980), Simultaneous optimization of several response
variables, Journal of Quality Technology 12, 214-219: each property becomes a
desirability from 0 to 1, and the whole is their geometric mean, so that one
zero condemns. The limits are conventions; each is a parameter.
"""
from __future__ import annotations

from typing import NamedTuple, Sequence

import numpy as np

SUITABLE_SCORE = 60.0
SUITABLE_EACH = 0.3
SUITABLE, MARGINAL, UNSUITABLE = "suitable", "marginal", "unsuitable"
NOT_ASSESSED = "not assessed"


class Criterion(NamedTuple):
    """One property that enters the score.

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
        Weight in the geometric mean, > 0.
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
        >>> GAP.need(0.0), GAP.need(0.4)
        ('worth nothing from 12 h on', 'full marks up to 3 h')
        """
        rises = self.best > self.worst
        if wish == 0:
            return f"worth nothing {'up to' if rises else 'from'} {self.worst:g}{self.unit}{'' if rises else ' on'}"
        return f"full marks {'from' if rises else 'up to'} {self.best:g}{self.unit}"


QUALITY = Criterion("quality", "mean quality of the directions that count", "", 0.1, 0.6)
AZ_SPAN = Criterion("az_span", "azimuth span of the directions that count", "°", 15.0, 90.0)
ARCS_DAY_OFTEN = Criterion("arcs_day", "usable arcs of the worst day", "", 4.0, 24.0)
"""For sea level, which must be had several times a day."""
ARCS_DAY_DAILY = Criterion("arcs_day", "usable arcs of the worst day", "", 1.0, 8.0)
"""For what a daily value will do."""
GAP = Criterion("gap_h", "longest time between usable arcs", " h", 12.0, 3.0)
SAMPLING = Criterion("sampling", "longest interval that resolves the height, over the receiver's shortest", "",
                     1.0, 2.0)


def sky_criteria(is_sea: bool) -> list[Criterion]:
    """Return what the sky adds to the score: for sea level the gap and the count matter, else a daily value will do."""
    return [ARCS_DAY_OFTEN, GAP, SAMPLING] if is_sea else [ARCS_DAY_DAILY, SAMPLING]


class Score(NamedTuple):
    """Result for one candidate.

    Attributes
    ----------
    score : float
        0 to 100.
    verdict : str
    desirability : ndarray
        In the order of the criteria.
    limiting : int
        Index of the criterion with the greatest -w ln d; -1 where all are 1.
    """

    score: float
    verdict: str
    desirability: np.ndarray
    limiting: int


def score(values: Sequence[float], criteria: Sequence[Criterion], limit_broken: bool = False) -> Score:
    """Combine the properties of one candidate.

    Parameters
    ----------
    values : sequence of float
        One for each criterion.
    criteria : sequence of Criterion
    limit_broken : bool
        Whether a limit outside the score is broken, which makes it unsuitable.

    Returns
    -------
    Score
    """
    wish = np.array([c.desirability(v) for c, v in zip(criteria, values)], dtype=float)
    weight = np.array([c.weight for c in criteria], dtype=float)
    with np.errstate(divide="ignore"):
        loss = -weight * np.log(wish)
    total = 0.0 if np.any(wish == 0) else 100.0 * float(np.exp(-np.sum(loss) / np.sum(weight)))
    if limit_broken or np.any(wish == 0):
        verdict = UNSUITABLE
    elif total >= SUITABLE_SCORE and np.all(wish >= SUITABLE_EACH):
        verdict = SUITABLE
    else:
        verdict = MARGINAL
    limiting = int(np.argmax(loss)) if np.any(loss > 0) else -1
    return Score(total, verdict, wish, limiting)


def rank_order(scores: Sequence[Score | None], criteria: Sequence[Criterion],
               limit_broken: Sequence[bool] | None = None) -> list[int]:
    """Order candidates, best first.

    By score; those with a score of 0 by the fewest desirabilities of 0, then by
    the mean of the others; those that were not assessed (None) last. Where a
    limit is broken the candidate stands behind all others that were assessed.

    Returns
    -------
    list of int
        Indices into `scores`.
    """
    broken = limit_broken or [False] * len(scores)

    def key(index):
        one = scores[index]
        if one is None:
            return (2, 0, 0, 0, index)
        zeros = int(np.sum(one.desirability == 0))
        weight = np.array([c.weight for c in criteria])
        rest = one.desirability > 0
        others = float(np.sum(weight[rest] * np.log(one.desirability[rest])) / np.sum(weight[rest])
                       ) if rest.any() else -np.inf
        return (1 if broken[index] else 0, -one.score, zeros, -others, index)

    return sorted(range(len(scores)), key=key)
