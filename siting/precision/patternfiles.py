"""Antenna patterns from files: a CSV table, or a pair of .msi files.

The .msi format is the open text format in which antenna makers give patterns to radio
planners: keywords, then the attenuation of a horizontal and of a vertical cut by angle,
in decibels below the greatest gain (from memory). One file holds one polarisation, so a
pair is needed.
"""
from __future__ import annotations

import os
import re
from pathlib import Path

import numpy as np

from ..errors import InputError
from .pattern import AntennaPattern

MOST_BYTES = 5_000_000
COLUMNS = ("elevation", "rhcp_db", "lhcp_db")
LOWEST_DEG, HIGHEST_DEG = -45.0, 85.0
"""A pattern must reach from the first to the second: reflections come from below the horizon, and the zenith is what
gains are told against [°]."""
DBI_OVER_DBD = 2.15
"""Gain over an isotropic antenna, less that over a half-wave dipole [dB] (common knowledge)."""
NEAR_ZENITH_DEG = 15.0
"""How near to 0, 90 or 270° of its vertical cut a pattern's strongest direction must lie to be the zenith."""


def read_pattern(path: str) -> AntennaPattern:
    """Read an antenna's pattern, gains relative to the co-polar gain at the zenith.

    Parameters
    ----------
    path : str
        A CSV file with the columns elevation [°], rhcp_db and lhcp_db [dB], or one of a pair of .msi files whose
        names differ in “rhcp” and “lhcp”.

    Returns
    -------
    AntennaPattern

    Raises
    ------
    InputError
        If a file cannot be read, is damaged (with its line), or does not reach far enough.
    """
    if path.lower().endswith(".msi"):
        return _read_pair(path)
    return _read_table(path)


def _lines(path: str) -> list[tuple[int, str]]:
    """Read the lines that hold anything, with their numbers."""
    name = os.path.basename(path)
    try:
        data = Path(path).read_bytes() if os.path.isfile(path) and os.path.getsize(path) <= MOST_BYTES else None
    except OSError as error:
        raise InputError(f"ANTENNA_PATTERN “{name}” cannot be read: {error.strerror}.") from None
    if data is None:
        why = "is no file" if not os.path.isfile(path) else f"is larger than {MOST_BYTES // 1_000_000} MB"
        raise InputError(f"ANTENNA_PATTERN “{name}” {why}. Give a pattern of an antenna as CSV or .msi.")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("latin-1")
    if "\0" in text:
        raise InputError(f"ANTENNA_PATTERN “{name}” is no text. Give a pattern of an antenna as CSV or .msi.")
    found = [(number, line.strip()) for number, line in enumerate(text.splitlines(), 1) if line.strip()]
    if not found:
        raise InputError(f"ANTENNA_PATTERN “{name}” is empty. Give a pattern of an antenna as CSV or .msi.")
    return found


def _number(text: str, name: str, line: int) -> float:
    try:
        value = float(text)
    except ValueError:
        value = np.nan
    if not np.isfinite(value):
        raise InputError(f"ANTENNA_PATTERN “{name}”, line {line}: “{text.strip()}” is no finite number.")
    return value


def _read_table(path: str) -> AntennaPattern:
    name, lines = os.path.basename(path), _lines(path)
    number, head = lines[0]
    mark = next((mark for mark in ("\t", ";", ",") if mark in head), ",")
    columns = [part.strip().strip('"').lower() for part in head.split(mark)]
    missing = [one for one in COLUMNS if one not in columns]
    if missing:
        raise InputError(f"ANTENNA_PATTERN “{name}”, line {number}: the head names no column {', '.join(missing)}. It "
                         f"must name {', '.join(COLUMNS)}.")
    place = [columns.index(one) for one in COLUMNS]
    rows = []
    for number, line in lines[1:]:
        parts = line.split(mark)
        if len(parts) <= max(place):
            raise InputError(f"ANTENNA_PATTERN “{name}”, line {number}: it has {len(parts)} columns, not "
                             f"{len(columns)}.")
        row = [_number(parts[i], name, number) for i in place]
        if not -90.0 <= row[0] <= 90.0:
            raise InputError(f"ANTENNA_PATTERN “{name}”, line {number}: {row[0]:g}° is no elevation angle from -90 to "
                             "90°.")
        rows.append(row)
    return _pattern(np.array(rows).reshape(-1, 3), name)


def _pattern(rows: np.ndarray, name: str) -> AntennaPattern:
    """Check rows of elevation, co-polar and cross-polar gain, and tell gains against the zenith's."""
    rows = rows[np.argsort(rows[:, 0], kind="stable")]
    angle = rows[:, 0]
    twice = np.flatnonzero(np.diff(angle) == 0)
    if len(twice):
        raise InputError(f"ANTENNA_PATTERN “{name}”: {angle[twice[0]]:g}° stands twice. Give each angle once.")
    if not len(angle) or angle[0] > LOWEST_DEG or angle[-1] < HIGHEST_DEG:
        told = f"it holds {angle[0]:g} to {angle[-1]:g}°" if len(angle) else "it holds no row"
        raise InputError(f"ANTENNA_PATTERN “{name}”: {told}; elevation angles from {LOWEST_DEG:g} or lower to "
                         f"{HIGHEST_DEG:g}° or higher are needed, best -90 to 90.")
    zenith = rows[-1, 1]
    return AntennaPattern(angle, rows[:, 1] - zenith, rows[:, 2] - zenith, name)


def _read_pair(path: str) -> AntennaPattern:
    name = os.path.basename(path)
    found = re.search("rhcp|lhcp", name, re.IGNORECASE)
    if found is None:
        raise InputError(f"ANTENNA_PATTERN “{name}”: of a pair of .msi files one must have “rhcp” in its name, the "
                         "other “lhcp”. Rename them, or give a CSV file.")
    word = found.group()
    other = name[:found.start()] + _as(word, "lhcp" if word.lower() == "rhcp" else "rhcp") + name[found.end():]
    beside = os.path.join(os.path.dirname(path), other)
    if not os.path.isfile(beside):
        raise InputError(f"ANTENNA_PATTERN “{name}”: the other one of the pair, “{other}”, is not in the same folder.")
    co_path, cross_path = (path, beside) if word.lower() == "rhcp" else (beside, path)
    co_angle, co_db = _read_cut(co_path)
    cross_angle, cross_db = _read_cut(cross_path)
    zenith = _zenith(co_angle, co_db, os.path.basename(co_path))
    elevation = np.arange(-90.0, 91.0)
    return _pattern(np.stack([elevation, _around(co_angle, co_db, zenith, elevation),
                              _around(cross_angle, cross_db, zenith, elevation)], axis=-1), name)


def _as(like: str, word: str) -> str:
    """Write a word in the case of another."""
    return word.upper() if like.isupper() else word.capitalize() if like[:1].isupper() else word


def _read_cut(path: str) -> tuple[np.ndarray, np.ndarray]:
    """Read the vertical cut of an .msi file: angles, rising [°], and gains [dBi]."""
    name, lines = os.path.basename(path), _lines(path)
    gain, angles, losses, wanted = 0.0, [], [], 0
    for number, line in lines:
        parts = line.split()
        word = parts[0].upper()
        if wanted:
            if len(parts) < 2:
                raise InputError(f"ANTENNA_PATTERN “{name}”, line {number}: an angle and an attenuation are expected.")
            angles.append(_number(parts[0], name, number) % 360.0)
            losses.append(_number(parts[1], name, number))
            wanted -= 1
        elif word == "GAIN" and len(parts) > 1:
            gain = _number(parts[1], name, number) + (0.0 if line.upper().endswith("DBI") else DBI_OVER_DBD)
        elif word == "VERTICAL":
            wanted = int(_number(parts[1] if len(parts) > 1 else "360", name, number))
    if not angles or wanted:
        raise InputError(f"ANTENNA_PATTERN “{name}”: its vertical cut "
                         + ("is missing." if not angles else f"ends {wanted} lines too soon.")
                         + " Give the whole file as the maker wrote it.")
    order = np.argsort(angles, kind="stable")
    return np.array(angles)[order], gain - np.array(losses)[order]


def _zenith(angle: np.ndarray, gain_db: np.ndarray, name: str) -> float:
    """Find which angle of a vertical cut is the zenith: where an antenna that points up is strongest."""
    strongest = angle[np.argmax(gain_db)]
    for zenith in (0.0, 90.0, 270.0):
        if abs((strongest - zenith + 180.0) % 360.0 - 180.0) <= NEAR_ZENITH_DEG:
            return zenith
    raise InputError(f"ANTENNA_PATTERN “{name}”: its vertical cut is strongest at {strongest:g}°, which is near none of "
                     "0, 90 and 270°, so it cannot be told where the zenith is. Give a CSV file.")


def _around(angle, gain_db, zenith, elevation) -> np.ndarray:
    """Average the power of both sides of a cut at elevation angles [dB]."""
    around = np.concatenate([angle - 360.0, angle, angle + 360.0])
    gains = np.tile(gain_db, 3)
    sides = [np.interp(zenith + sign * (90.0 - elevation), around, gains) for sign in (1.0, -1.0)]
    return 10.0 * np.log10(np.mean([10.0**(side / 10.0) for side in sides], axis=0))
