"""Orbits of satellites, whatever they come from: positions in the frame that turns with the Earth."""
from __future__ import annotations

from collections.abc import Sequence
from typing import Callable

import numpy as np

from ..arrays import Array
from ..errors import Cancelled, InputError

SYSTEMS = ["GPS", "GLONASS", "Galileo", "BeiDou", "QZSS"]
"""Satellite systems, in the order of the parameter CONSTELLATIONS."""

Progress = Callable[[float, str], None]


class Orbits:
    """Satellites and where they are; the root of what each source of orbits gives.

    Attributes
    ----------
    names, systems : list of str
        Name and system of each satellite.
    source : str
        Where they come from, for the log and the outputs.
    is_nominal : bool
        Whether clock times are only indicative.
    notes : list of str
        What a user should know: what was left out, how old the elements are.
    """

    is_nominal = False

    def __init__(self, names: Sequence[str], systems: Sequence[str], source: str):
        self.names, self.systems, self.source = list(names), list(systems), source
        self.notes: list[str] = []

    def positions_m(self, utc_s: Array, progress: Progress = lambda fraction, message: None,
                    is_cancelled: Callable[[], bool] = lambda: False) -> Array:
        """Return all positions at all times.

        Parameters
        ----------
        utc_s : ndarray, shape (times,)
            Rising, see `siting.sky.clock`.
        progress, is_cancelled : callable
            Reported to and asked between satellites.

        Returns
        -------
        ndarray, shape (satellites, times, 3)
            Earth-centred, Earth-fixed (WGS 84 or ITRF) [m]; NaN where there is no position. What went wrong with
            a satellite is added to `notes`.

        Raises
        ------
        Cancelled
        """
        result = np.full((len(self.names), len(utc_s), 3), np.nan)
        for index in range(len(self.names)):
            if is_cancelled():
                raise Cancelled("stopped by the user")
            progress(index / len(self.names), self.names[index])
            result[index] = self.one_position_m(index, utc_s)
        return result

    def one_position_m(self, index: int, utc_s: Array) -> Array:
        """Return the positions of one satellite [m], shape (times, 3)."""
        raise NotImplementedError


def wanted_systems(chosen: Sequence[str], with_file: bool) -> list[str]:
    """Check the choice of satellite systems.

    Raises
    ------
    InputError
        If none is chosen, or QZSS without real orbits.
    """
    if not chosen:
        raise InputError("CONSTELLATIONS is empty. Choose at least one.")
    if "QZSS" in chosen and not with_file:
        raise InputError("CONSTELLATIONS holds QZSS, which has no nominal constellation here. Give its real orbits "
                         "in ORBITS, or leave it out.")
    return [system for system in SYSTEMS if system in chosen]
