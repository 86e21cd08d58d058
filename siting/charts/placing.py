"""Where things stand on a chart: items of a key in rows, ticks at round distances, labels apart."""
from __future__ import annotations

from collections.abc import Sequence
from typing import Callable

import numpy as np

from .marks import text

NARROW, NARROW_PX = 220, 11
"""Least width at which charts can be laid out, and the height of the words where they are narrower than
`siting.charts.drawing.WIDTH` [px]."""
LETTER = 0.62
"""Width of a letter of the widest common sans-serif, in heights of the words (from memory)."""


def flowing(items: Sequence[tuple[Callable, str]], left: float, right: float, y: float,
            row: float = 17.0) -> tuple[list, float]:
    """Set the items of a key one after the other, in as many rows as they need.

    Parameters
    ----------
    items : sequence of (draw, words)
        `draw(x, y)` returns the marks of an item 24 px wide whose middle is at height `y`.
    left, right, y : float
        Where the first begins, where each must end, and the middle of the first row [px].
    row : float
        Distance of the rows [px].

    Returns
    -------
    marks : list of Mark
    y : float
        Middle of the last row [px].
    """
    marks, x = [], left
    for draw, words in items:
        length = 30.0 + LETTER * NARROW_PX * len(words)
        if x > left and x + length > right:
            x, y = left, y + row
        marks += [*draw(x, y), text(x + 30.0, y + 4.0, words, size=NARROW_PX)]
        x += length + 12.0
    return marks, y


def tick_step(span: float, most: int) -> float:
    """Choose a round distance of ticks (1, 2 or 5 times a power of ten) so that at most `most` fit into a span.

    Examples
    --------
    >>> tick_step(20.0, 5), tick_step(1.3, 4), tick_step(90.0, 5)
    (5.0, 0.5, 20.0)
    """
    power = 10.0 ** np.floor(np.log10(span / most))
    return float(next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power * most >= span * (1.0 - 1e-9)))


def apart(wanted: Sequence[float], least: float) -> np.ndarray:
    """Move positions apart where they would be nearer than `least`, keeping their order and their middle.

    Examples
    --------
    >>> apart([10.0, 11.0, 40.0], 9.0).tolist()
    [6.0, 15.0, 40.0]
    """
    order = np.argsort(wanted, kind="stable")
    groups: list[list] = []
    for place in np.asarray(wanted, float)[order]:
        groups.append([place, 1])  # middle, number
        while len(groups) > 1 and (groups[-1][0] - groups[-2][0]
                                   < least * (groups[-1][1] + groups[-2][1]) / 2.0 - 1e-9):
            (one, n), (other, m) = groups[-2], groups.pop()
            groups[-1] = [(one * n + other * m) / (n + m), n + m]
    placed = np.concatenate([middle + least * (np.arange(n) - (n - 1) / 2.0) for middle, n in groups])
    result = np.empty_like(placed)
    result[order] = placed
    return result
