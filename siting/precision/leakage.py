"""Leakage: what detrending and few oscillations do to the height of an arc without noise.

Only the number of oscillations and the way in which the amplitude falls over the
window matter, so it is tabulated by these two: noise-free patterns at all phases,
with amplitudes that fall exponentially, are retrieved as an arc is. The shape is told
by where in the window the amplitude's middle lies.
"""
from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np

from ..arrays import Array, ArrayLike
from .periodogram import detrended, peak_of, power

SAMPLES = 64
PHASES = 8
FIRST_CYCLES, LAST_CYCLES = 1.0, 12.0
"""Oscillations tabulated; beyond the last the leakage falls with the square of their number."""
STEP_CYCLES = 0.1
AVERAGED = 5
"""Steps on either side that are averaged: whether the pattern ends on a whole oscillation is chance, for heights and
windows are not known so exactly."""
FALLS = np.array([0.0, 1.0, 2.0, 3.0, 4.0, 6.0])
"""Exponents by which the amplitude falls over the window; what rises leaks as much as what falls."""
LOW_PART, HIGH_PART = 0.4, 1.6
"""Range of heights searched, as parts of the true one."""
FREQUENCY_STEP = 0.04


class LeakageTable(NamedTuple):
    """Leakage by oscillations and shape.

    Attributes
    ----------
    cycles : ndarray, shape (numbers,)
        Oscillations over the window, rising evenly.
    middle : ndarray, shape (shapes,)
        Where the amplitude's middle lies in the window, 0 to 1, rising.
    turns : ndarray, shape (numbers, shapes)
        Root mean square error of the number of oscillations: of the height in units of the separation λ/2W.
    phase_rad : ndarray, shape (numbers, shapes)
        The same of the phase where the height is known [rad].
    """

    cycles: Array
    middle: Array
    turns: Array
    phase_rad: Array


@lru_cache(maxsize=1)
def table() -> LeakageTable:
    """Retrieve noise-free patterns and tabulate their errors."""
    place = (np.arange(SAMPLES) + 0.5) / SAMPLES
    phase = (np.arange(PHASES) + 0.5) * 2.0 * np.pi / PHASES
    # so far beyond both ends as is averaged
    number = int(round((LAST_CYCLES - FIRST_CYCLES) / STEP_CYCLES)) + 1
    cycles = FIRST_CYCLES + STEP_CYCLES * np.arange(-AVERAGED, number + AVERAGED)
    amplitude = np.exp(-FALLS[:, None] * place)
    middle = amplitude @ place / amplitude.sum(axis=1)
    frequency = np.arange(LOW_PART * cycles[0], HIGH_PART * cycles[-1] + FREQUENCY_STEP, FREQUENCY_STEP)
    # (numbers, shapes, phases, samples)
    turned = 2.0 * np.pi * cycles[:, None, None] * place + phase[:, None]
    series = detrended(place, amplitude[:, None, :] * np.cos(turned)[:, None])
    powers = power(place, series, frequency)
    allowed = (frequency >= LOW_PART * cycles[:, None]) & (frequency <= HIGH_PART * cycles[:, None])
    # a parabola needs neighbours: outside the range they count as nothing
    found = peak_of(frequency, np.where(allowed[:, None, None, :], powers, 0.0)).cycles
    wave = np.exp(-2j * np.pi * cycles[:, None] * place)
    told = np.angle(np.einsum("nspi,ni->nsp", series, wave) * np.exp(-1j * phase))
    window = np.full(2 * AVERAGED + 1, 1.0 / (2 * AVERAGED + 1))

    def spread(errors: Array) -> Array:
        squares = np.mean(errors**2, axis=-1)
        mean = np.sqrt(np.stack([np.convolve(one, window, "valid") for one in squares.T], axis=-1))
        return np.concatenate([mean[:, :0:-1], mean], axis=1)

    # the middle of what falls lies before the window's, of what rises behind it
    order = np.argsort(np.concatenate([middle[:0:-1], 1.0 - middle]))
    return LeakageTable(cycles[AVERAGED:-AVERAGED], np.concatenate([middle[:0:-1], 1.0 - middle])[order],
                 spread(found - cycles[:, None, None])[:, order], spread(told)[:, order])


def leakage(cycles: ArrayLike, middle: ArrayLike, of: str = "turns") -> Array:
    """Look up the leakage of arcs.

    Parameters
    ----------
    cycles : array_like
        Oscillations over the window.
    middle : array_like
        Where in the window the amplitude's middle lies, 0 to 1; broadcasts.
    of : str
        ``turns``: error of the height in units of λ/2W; ``phase_rad``: error of the phase at a known height [rad].

    Returns
    -------
    ndarray
    """
    known = table()
    cycles, middle = np.asarray(cycles, float), np.asarray(middle, float)
    within = np.minimum(np.maximum(cycles, FIRST_CYCLES), LAST_CYCLES)
    row = (within - FIRST_CYCLES) / STEP_CYCLES
    column = np.interp(middle, known.middle, np.arange(len(known.middle)))
    r, c = np.minimum(row.astype(int), len(known.cycles) - 2), np.minimum(column.astype(int), len(known.middle) - 2)
    u, v = row - r, column - c
    beyond = (within / np.maximum(cycles, FIRST_CYCLES))**2
    values = getattr(known, of)
    width = values.shape[1]
    at, flat = r * width + c, values.ravel()
    first, second = flat.take(at), flat.take(at + width)
    low = first + v * (flat.take(at + 1) - first)
    high = second + v * (flat.take(at + width + 1) - second)
    found: Array = (low + u * (high - low)) * beyond
    return found
