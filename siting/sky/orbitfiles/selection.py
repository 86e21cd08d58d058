"""Which of the satellites in a file are used, and what the user is told about the others."""
from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Callable, NamedTuple

from ..clock import DAY_S, iso_text
from ..orbits import SYSTEMS
from .textfile import OrbitText

ELEMENTS_STALE_DAYS = 14.0
"""Two-line elements and OMM are told as old from so many days on. A convention of ours."""
ALMANAC_STALE_DAYS = 90.0
"""The same for almanacs. A convention of ours; IS-GPS-200 lets an almanac's error grow from week to week."""
GEOSTATIONARY_REVS = (0.98, 1.02)
"""Revolutions in a day (86 400 s) of what counts as geostationary. A convention of ours."""
GEOSTATIONARY_INCLINATION = 10.0
"""Least inclination [°] of a satellite with one revolution a day that is kept: inclined ones draw a figure of
eight and make arcs, so IGSO and QZSS stay. A convention of ours; left alone, a geostationary satellite's
inclination grows to about 15° (from memory), but it hardly moves before that."""
MOST_IN_SERVICE = {"GPS": 36, "GLONASS": 30, "Galileo": 36, "BeiDou": 50}
"""More satellites of a system than this are not in service at a time: on 1 December 2020 there were 31, 24, 24 and 37
(package data); the rest of a file that holds more is dead or being tested."""
NAVIGATION_REVS = (0.9, 2.5)
"""Revolutions in a day of satellites that can belong to a system: from IGSO, 1, to GLONASS, 2.13, and QZSS, 1."""
NAVIGATION_ECCENTRICITY = 0.25
"""Greatest eccentricity of such a satellite: the two Galileo satellites on wrong orbits have 0.16, QZSS 0.075
(from memory). COSMOS and GSAT also name military satellites, debris and television satellites."""


class FoundOrbit(NamedTuple):
    """A satellite in a file.

    Attributes
    ----------
    name : str
    system : str
        One of `SYSTEMS`, or empty where unknown.
    identity : str
        Equal for two sets of elements of the same satellite.
    epoch_s : float
        UTC of its elements [s].
    data : object
        Its elements, for the class that computes positions.
    is_geostationary, is_healthy, is_navigation : bool
        Whether it stands still in the sky; whether the almanac says it works; whether its orbit can be that of
        a satellite of its system.
    """

    name: str
    system: str
    identity: str
    epoch_s: float
    data: Any
    is_geostationary: bool = False
    is_healthy: bool = True
    is_navigation: bool = True


def system_of_name(name: str) -> str:
    """Return the system that a satellite's name tells, empty where it tells none.

    Examples
    --------
    >>> system_of_name("gps biif-2 (PRN 01)"), system_of_name("COSMOS 2514"), system_of_name("LAGEOS")
    ('GPS', 'GLONASS', '')
    """
    name = name.upper()
    for system, words in (("GPS", ("GPS", "NAVSTAR")), ("GLONASS", ("GLONASS", "COSMOS")),
                          ("Galileo", ("GALILEO", "GSAT")), ("BeiDou", ("BEIDOU",)), ("QZSS", ("QZS",))):
        if any(word in name for word in words):
            return system
    return ""


def orbit_kind(revs_per_day: float, inclination_deg: float, eccentricity: float) -> dict[str, bool]:
    """Return what an orbit says of a satellite, as attributes of `FoundOrbit`."""
    geostationary = (GEOSTATIONARY_REVS[0] <= revs_per_day <= GEOSTATIONARY_REVS[1]
                     and inclination_deg < GEOSTATIONARY_INCLINATION)
    navigation = (NAVIGATION_REVS[0] <= revs_per_day <= NAVIGATION_REVS[1]
                  and eccentricity <= NAVIGATION_ECCENTRICITY)
    return {"is_geostationary": geostationary, "is_navigation": navigation}


def some_names(names: Sequence[str]) -> str:
    """Write the first three names, and how many more there are.

    Examples
    --------
    >>> some_names(["A", "B", "C", "D"])
    'A, B, C and 1 more'
    """
    more = f" and {len(names) - 3} more" if len(names) > 3 else ""
    return ", ".join(names[:3]) + more


def _count(number: int, what: str) -> str:
    return f"{number} {what}" + ("" if number == 1 else "s")


def _holdings(found: Sequence[FoundOrbit]) -> str:
    parts = [f"{count} of {system}" for system in SYSTEMS
             if (count := sum(orbit.system == system for orbit in found))]
    unknown = sum(not orbit.system for orbit in found)
    return ", ".join(parts + ([f"{unknown} of unknown system"] if unknown else []))


def _newest(found: Sequence[FoundOrbit], start_s: float) -> list[FoundOrbit]:
    """Keep of each satellite the elements nearest to the start, in the file's order."""
    best: dict[str, FoundOrbit] = {}
    for orbit in found:
        held = best.get(orbit.identity)
        if held is None or abs(orbit.epoch_s - start_s) < abs(held.epoch_s - start_s):
            best[orbit.identity] = orbit
    return list(best.values())


def choose(file: OrbitText, kind: str, found: Sequence[FoundOrbit], systems: Sequence[str],
           start_s: float) -> tuple[list[FoundOrbit], list[str]]:
    """Choose the satellites of some systems, in the order of `SYSTEMS`, and tell about the others.

    Parameters
    ----------
    file : OrbitText
        For messages.
    kind : str
        The format, in words.
    found : sequence of FoundOrbit
    systems : sequence of str
        Out of `SYSTEMS`.
    start_s : float
        UTC [s]: of several elements of one satellite those nearest to it are used.

    Returns
    -------
    chosen : list of FoundOrbit
        At least one; no two of the same name.
    notes : list of str

    Raises
    ------
    InputError
        If the file holds no satellite, or none of these systems that can be used.
    """
    if not found:
        raise file.error(f"({kind}) holds no satellite. Give a file with orbits, or leave ORBITS empty for the "
                         "nominal constellations.")
    notes = []
    single = _newest(found, start_s)
    if len(single) < len(found):
        notes.append(f"“{file.name}” holds {_count(len(found) - len(single), 'set')} of elements besides others of "
                     "the same satellite; of each satellite the elements nearest to the start are used.")

    def leave_out(left: list[FoundOrbit], out: Callable[[FoundOrbit], bool], why: str) -> list[FoundOrbit]:
        names = [orbit.name for orbit in left if out(orbit)]
        if names:
            notes.append(f"{_count(len(names), 'satellite')} left out, {why}: {some_names(names)}.")
        return [orbit for orbit in left if not out(orbit)]

    left = leave_out(single, lambda orbit: not orbit.system, "of unknown system")
    left = [orbit for orbit in left if orbit.system in systems]
    of_system = {orbit.system for orbit in left}
    left = leave_out(left, lambda orbit: not orbit.is_navigation,
                     "named like navigation satellites but on orbits that no such satellite has")
    left = leave_out(left, lambda orbit: orbit.is_geostationary, "geostationary, which make no arcs")
    left = leave_out(left, lambda orbit: not orbit.is_healthy, "told to be unhealthy")
    if not left:
        raise file.error(
            f"({kind}) holds no satellite of {', '.join(systems)} that can be used: it holds {_holdings(single)}. "
            + " ".join(notes) + (" " if notes else "") + _advice(single, of_system))
    for system in systems:
        if system not in {orbit.system for orbit in left}:
            why = "only such as were left out" if system in of_system else "none"
            notes.append(f"Of {system}, which was asked for, “{file.name}” holds {why}: it is missing from the "
                         "result.")
    notes += _crowds(file, left)
    left.sort(key=lambda orbit: SYSTEMS.index(orbit.system))
    return _told_apart(left), notes


def _crowds(file: OrbitText, left: Sequence[FoundOrbit]) -> list[str]:
    """Tell which systems have more satellites than can be in service."""
    count = {system: sum(orbit.system == system for orbit in left) for system in SYSTEMS}
    crowds = [f"{number} of {system} (at most {MOST_IN_SERVICE[system]} are in service)"
              for system, number in count.items() if number > MOST_IN_SERVICE.get(system, number)]
    if not crowds:
        return []
    return [f"“{file.name}” holds {', '.join(crowds)}: satellites out of service are in it, and arcs are counted that "
            "no receiver will see. Give a file of operational satellites only, such as an almanac or the operational "
            "list of a catalogue, or leave the system out of CONSTELLATIONS."]


def _advice(single: Sequence[FoundOrbit], of_system: set[str]) -> str:
    if not any(orbit.system for orbit in single):
        return ("The system is read from the satellite's name, such as GPS, NAVSTAR, GLONASS, COSMOS, GALILEO, GSAT, "
                "BEIDOU or QZS: give elements with names.")
    return ("Give another file in ORBITS" + ("" if of_system else ", or other CONSTELLATIONS") + ".")


def _told_apart(chosen: Sequence[FoundOrbit]) -> list[FoundOrbit]:
    names = [orbit.name for orbit in chosen]
    return [orbit._replace(name=f"{orbit.name} [{orbit.identity}]") if names.count(orbit.name) > 1 else orbit
            for orbit in chosen]


def stale_note(what: str, epochs_s: Sequence[float], start_s: float, end_s: float, limit_days: float) -> list[str]:
    """Return a note if elements lie further than a limit [days] from the time looked at."""
    days = [max(start_s - epoch, epoch - end_s, 0.0) / DAY_S for epoch in epochs_s]
    old = sum(age > limit_days for age in days)
    if not old:
        return []
    return [f"The {what} of {old} of {len(days)} satellites are up to {max(days):.0f} days from DATE "
            f"({epoch_range(epochs_s)}; told from {limit_days:.0f} days on): positions may be far off along the "
            "orbit and clock times with them, and satellites may have been moved or replaced. Give a file nearer to "
            "DATE."]


def epoch_range(epochs_s: Sequence[float]) -> str:
    """Write the first and last of some times."""
    first, last = iso_text(min(epochs_s)), iso_text(max(epochs_s))
    return f"epoch {first}" if first == last else f"epochs {first} to {last}"
