"""Setting up the sky of a run: satellites, time and elevation angles from the parameters."""
from __future__ import annotations

from qgis.core import NULL
from qgis.PyQt.QtCore import QDateTime, Qt

from ...siting.errors import InputError
from ...siting.sky.clock import DAY_S, iso_text, read_date
from ...siting.sky.nominal import NominalOrbits
from ...siting.sky.orbits import Orbits, wanted_systems
from ...siting.sky.sky import Sky
from ...siting.windows import elevation_angles
from .given import Given

POSITIONS_PART = 10.0
"""Part of the progress bar that the satellites' positions take [%]."""


def read_sky(given: Given, margin_s: float = 0.0) -> Sky:
    """Read CONSTELLATIONS, ORBITS, DATE, DAYS and the elevation angles, and compute the satellites' positions.

    Parameters
    ----------
    margin_s : float
        Time before and after that is computed too [s].

    Returns
    -------
    Sky
        What its orbits have to say has been written to the log.

    Raises
    ------
    InputError
    Cancelled
    """
    low, high = (given.real(name) for name in ("MIN_ELEVATION", "MAX_ELEVATION"))
    elevation_angles(low, high, max(high - low, 1.0))
    path = given.file("ORBITS")
    systems = wanted_systems(given.choices("CONSTELLATIONS"), bool(path))
    start = start_s(given)
    days = given.whole("DAYS", 1)
    if path:
        # readers of files are loaded only where a file is read
        from ...siting.sky.orbitfiles import read_orbits
    orbits = read_orbits(path, systems, start, start + days * DAY_S) if path else NominalOrbits(systems)
    sky = Sky(orbits, start, days, low, high, margin_s,
              given.progress(0.0, POSITIONS_PART), given.is_cancelled)
    until = iso_text(start + days * DAY_S)
    given.note(f"{satellites_words(orbits)} from {iso_text(start)} to {until}: {orbits.source}.")
    for note in orbits.notes:
        given.warn(note)
    if orbits.is_nominal:
        given.note("With nominal orbits the geometry of the arcs is right and clock times are indicative. "
                          "Give real orbits in ORBITS to plan by the clock.")
    return sky


def satellites_words(orbits: Orbits) -> str:
    """Say how many satellites there are, such as “51 satellites (GPS 27, GLONASS 24)”."""
    each = ", ".join(f"{system} {orbits.systems.count(system)}" for system in dict.fromkeys(orbits.systems))
    return f"{len(orbits.names)} satellites ({each})"


def start_s(given: Given) -> float:
    """Read DATE as UTC [s]; without an offset it is UTC, and the machine's time zone never enters.

    Raises
    ------
    InputError
        If it is no date and time.
    """
    value = given.parameters.get("DATE")
    if isinstance(value, str) and value.strip():
        return read_date(value)
    if value is None or value == NULL or not isinstance(value, QDateTime):
        value = given.algorithm.parameterAsDateTime(given.parameters, "DATE", given.context)
    if not value.isValid():
        raise InputError("DATE is no date and time. Write it as 2026-06-01T00:00:00, in UTC.")
    if value.timeSpec() == Qt.TimeSpec.LocalTime:
        return read_date(value.toString("yyyy-MM-ddTHH:mm:ss"))
    return value.toMSecsSinceEpoch() / 1000.0
