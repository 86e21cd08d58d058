"""SP3-c and SP3-d tables of positions.

References
----------
1. Hilla 2010, The Extended Standard Product 3 Orbit Format (SP3-c), and Hilla 2016, SP3-d; National Geodetic
   Survey (both from memory): columns, time systems, letters of the satellite systems, 0.000000 where there is no
   position.
"""
from __future__ import annotations

import re
from datetime import datetime, timezone
from typing import NamedTuple

import numpy as np

from ...arrays import Array
from ...errors import InputError
from ..clock import gps_minus_utc_s, iso_text, utc_of_gps_s
from .selection import GEOSTATIONARY_INCLINATION, FoundOrbit
from .tabulated import LEAST_POINTS, PositionTable
from .textfile import OrbitText, number_in

SYSTEM_OF_LETTER = {"G": "GPS", "R": "GLONASS", "E": "Galileo", "C": "BeiDou", "J": "QZSS"}
# seconds that GPS time is ahead of each time system; UTC apart. GAL, QZS and IRN differ from GPS by nanoseconds
_GPS_MINUS = {"GPS": 0.0, "GAL": 0.0, "QZS": 0.0, "IRN": 0.0, "BDT": 14.0, "TAI": -19.0}
_UTC = ("UTC", "GLO")
_COORDINATES = ((4, 18), (18, 32), (32, 46))
_SECONDS_IN_MINUTE = 61.0  # with a leap second
LARGEST_STEP_S = 1800.0
"""Widest spacing of epochs that is read: metres between them; an hour leaves kilometres near a table's ends."""
_GEOSTATIONARY_RADIUS_M = (41_000e3, 43_300e3)
# speed in the frame that turns, of a circular orbit of one sidereal day with GEOSTATIONARY_INCLINATION
_GEOSTATIONARY_SPEED_M_S = 2.0 * 3074.7 * np.sin(np.radians(GEOSTATIONARY_INCLINATION) / 2.0)


class Content(NamedTuple):
    """What an SP3 file holds: `found`, whose `data` are `PositionTable`, its span [UTC, s], and notes."""

    found: list[FoundOrbit]
    first_s: float
    last_s: float
    notes: list[str]


def looks_like_sp3(line: str) -> bool:
    """Tell whether a line is the first of an SP3 file, of whatever version."""
    return bool(re.match(r"#[a-z][PV][ \d]{4}", line))


def read_sp3(file: OrbitText) -> Content:
    """Read an SP3 file.

    Raises
    ------
    InputError
        If its version or time system is not read, or with the line that is damaged.
    """
    version = file.numbered()[0][1][1]
    if version not in "cd":
        raise file.error(f"is SP3-{version}; SP3-c and SP3-d are read. Get a newer product.")
    system = ""
    epochs: list[float] = []
    seen: set[str] = set()
    rows: dict[str, list[tuple[float, ...]]] = {}
    ended = False
    for number, line in file.numbered():
        if ended:
            raise file.damaged(number, "there is more after the line “EOF”.")
        if line.startswith("%c") and not system:
            system = line[9:12]
            if system not in _GPS_MINUS and system not in _UTC:
                raise file.damaged(number, f"the time system “{system}” is none of "
                                           f"{', '.join([*_GPS_MINUS, *_UTC])}.")
        elif line.startswith("*"):
            if not system:
                raise file.damaged(number, "an epoch comes before the line “%c” that names the time system.")
            epochs.append(_gps_s(file, number, line, system))
            seen = set()
            if len(epochs) > 1 and epochs[-1] <= epochs[-2]:
                raise file.damaged(number, "this epoch is not later than the one before it.")
        elif line.startswith("P") and epochs:
            satellite, position = _position(file, number, line)
            if satellite in seen:
                raise file.damaged(number, f"{satellite} stands twice in one epoch.")
            seen.add(satellite)
            rows.setdefault(satellite, []).append((len(epochs) - 1, *position))
        elif line == "EOF":
            ended = True
        elif epochs and not line.startswith(("V", "EP", "EV", "/*")):
            raise file.damaged(number, f"“{line[:30]}” is no record of SP3.")
        elif not epochs and not line.startswith(("#", "+", "%", "/*")):
            raise file.damaged(number, f"“{line[:30]}” is no line of the heading of SP3.")
    if not epochs:
        raise file.error("(SP3) holds no epoch. Get the file anew.")
    return _content(file, np.array(epochs), rows, ended)


def _content(file: OrbitText, gps_s: Array, rows: dict[str, list[tuple[float, ...]]], ended: bool) -> Content:
    notes = [] if ended else [f"“{file.name}” has no last line “EOF”: it may have been cut off."]
    if len(gps_s) < LEAST_POINTS:
        raise file.error(f"(SP3) holds {len(gps_s)} epochs; at least {LEAST_POINTS} are needed to find positions "
                         "between them. Give a longer file.")
    step = float(np.median(np.diff(gps_s)))
    if step > LARGEST_STEP_S:
        raise file.error(f"(SP3) has an epoch every {step:.0f} s; at most {LARGEST_STEP_S:.0f} s serve, to find "
                         "positions between them. Give a denser file.")
    utc_s = utc_of_gps_s(gps_s)
    found, empty, short = [], [], []
    for satellite, records in rows.items():
        values = np.array(records)
        position = np.full((len(gps_s), 3), np.nan)
        position[values[:, 0].astype(int)] = values[:, 1:]
        table = PositionTable(gps_s, position, step)
        if np.isnan(position).all():
            empty.append(satellite)
        elif not table.runs:
            short.append(satellite)
        else:
            found.append(FoundOrbit(satellite, SYSTEM_OF_LETTER.get(satellite[0], ""), satellite, float(utc_s[0]),
                                    table, is_geostationary=_is_geostationary(gps_s, position)))
    for names, why in ((empty, "no position in the file"),
                       (short, f"fewer than {LEAST_POINTS} epochs without a gap")):
        if names:
            notes.append(f"{len(names)} satellite{'s' * (len(names) > 1)} left out, with {why}: "
                         f"{', '.join(names[:3])}{' …' if len(names) > 3 else ''}.")
    return Content(found, float(utc_s[0]), float(utc_s[-1]), notes)


def _gps_s(file: OrbitText, number: int, line: str, system: str) -> float:
    """Read an epoch and return it as GPS time, written as seconds since 1970."""
    parts = line[1:].split()
    seconds = number_in(parts[5]) if len(parts) == 6 else None
    try:
        if seconds is None or not 0.0 <= seconds < _SECONDS_IN_MINUTE:
            raise ValueError
        year, month, day, hour, past = (int(part) for part in parts[:5])
        minute = datetime(year, month, day, hour, past, tzinfo=timezone.utc).timestamp()
    except ValueError:
        raise file.damaged(number, f"“{line[:31]}” is no epoch.") from None
    if system in _UTC:
        # asked at the beginning of the minute, so that a leap second counts to its own day
        return minute + float(gps_minus_utc_s(minute)) + seconds
    return minute + seconds + _GPS_MINUS[system]


def _position(file: OrbitText, number: int, line: str) -> tuple[str, list[float]]:
    satellite = line[1:4].replace(" ", "0")
    if not re.fullmatch(r"[A-Z]\d\d", satellite):
        raise file.damaged(number, f"“{line[1:4]}” is no satellite, such as G01.")
    position = []
    for (start, end), axis in zip(_COORDINATES, "xyz"):
        value = number_in(line[start:end])
        if value is None:
            raise file.damaged(number, f"the {axis} of {satellite}, “{line[start:end].strip()}”, is no number.")
        position.append(1000.0 * value)
    if not any(position):
        position = [np.nan] * 3
    elif not 6.3e6 < np.hypot(np.hypot(position[0], position[1]), position[2]) < 1e8:
        raise file.damaged(number, f"{satellite} lies inside the Earth or more than 100 000 km from its centre.")
    return satellite, position


def _is_geostationary(gps_s: Array, position: Array) -> bool:
    """Tell whether a satellite at the geostationary radius hardly moves over the ground, near the equator."""
    there = ~np.isnan(position[:, 0])
    gps_s, position = gps_s[there], position[there]
    radius = np.linalg.norm(position, axis=1)
    speed = np.linalg.norm(np.diff(position, axis=0), axis=1) / np.diff(gps_s)
    latitude = np.degrees(np.arcsin(np.abs(position[:, 2]) / radius))
    return bool(_GEOSTATIONARY_RADIUS_M[0] < radius.mean() < _GEOSTATIONARY_RADIUS_M[1]
                and speed.max() < _GEOSTATIONARY_SPEED_M_S and latitude.max() < GEOSTATIONARY_INCLINATION)


def check_span(file: OrbitText, content: Content, start_s: float, end_s: float) -> list[str]:
    """Return a note if a file covers only part of the time looked at.

    Raises
    ------
    InputError
        If it covers nothing of it.
    """
    span = f"{iso_text(content.first_s)} to {iso_text(content.last_s)}"
    if end_s <= content.first_s or start_s >= content.last_s:
        raise InputError(f"ORBITS “{file.name}” (SP3) holds positions from {span} only, and DATE and DAYS ask for "
                         f"{iso_text(start_s)} to {iso_text(end_s)}. Set DATE within the file, or give another file.")
    if start_s < content.first_s or end_s > content.last_s:
        return [f"“{file.name}” (SP3) holds positions from {span} only, which is part of {iso_text(start_s)} to "
                f"{iso_text(end_s)}: before and after it there is no satellite."]
    return []
