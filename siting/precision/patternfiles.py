"""Antenna patterns from files: a CSV table, or a pair of .msi files.

The .msi format is the open text format in which antenna makers give patterns to radio
planners: keywords, then the attenuation of a horizontal and of a vertical cut by angle,
in decibels below the greatest gain (from memory). One file holds one polarisation, so a
pair is needed.
"""
from __future__ import annotations

import math
import os
import re
from pathlib import Path

import numpy as np

from ..arrays import Array
from ..errors import InputError
from .pattern import AntennaPattern

MOST_BYTES = 5_000_000
COLUMNS = ("elevation", "rhcp_db", "lhcp_db")
HIGHEST_DEG = 85.0
"""A pattern must reach so high, for gains are told against the zenith's [°]."""
WIDEST_STEP_DEG = 30.0
"""Widest step between angles; a convention. Between rows a pattern is a straight line in decibels."""
MOST_DB = 300.0
"""Gains and attenuations beyond this are slips, such as a missing decimal point."""
DBI_OVER_DBD = 2.15
"""Gain over an isotropic antenna, less that over a half-wave dipole [dB] (common knowledge)."""
NEAR_ZENITH_DEG = 15.0
"""How near to 0, 90 or 270° of its vertical cut a pattern's strongest direction must lie to be the zenith."""
AS_STRONG_DB = 0.01
"""Angles that are weaker than the strongest by no more belong to the same flat top."""
LEAST_LOSS_DB = -0.5
"""Attenuations a little below 0 come from smoothing; what lies lower is gain, not attenuation. A convention."""


def read_pattern(path: str, max_elevation_deg: float = 30.0) -> AntennaPattern:
    """Read an antenna's pattern, gains relative to the co-polar gain at the zenith.

    Parameters
    ----------
    path : str
        A CSV file with the columns elevation [°], rhcp_db and lhcp_db [dB], or one of a pair of .msi files whose
        names differ in “rhcp” and “lhcp”.
    max_elevation_deg : float
        Highest elevation angle of satellites that is looked at: their reflections come from so far below the
        horizon, and the pattern must reach down to there [°].

    Returns
    -------
    AntennaPattern

    Raises
    ------
    InputError
        If a file cannot be read, is damaged (with its line), or does not reach far enough.
    """
    read = _read_pair if path.lower().endswith(".msi") else _read_table
    return read(path, -min(max_elevation_deg, 90.0))


class _Text:
    """Lines of a file that hold anything, with their numbers.

    Raises
    ------
    InputError
        If it cannot be read, is no text, empty or huge.
    """

    def __init__(self, path: str):
        self.name = os.path.basename(path)
        what = "Give a pattern of an antenna as CSV or .msi."
        if not os.path.isfile(path):
            raise self.error(f"is no file. {what}")
        try:
            if os.path.getsize(path) > MOST_BYTES:
                raise self.error(f"is larger than {MOST_BYTES // 1_000_000} MB. {what}")
            data = Path(path).read_bytes()
        except OSError as error:
            raise self.error(f"cannot be read: {error.strerror}.") from None
        try:
            text = data.decode("utf-8-sig")
        except UnicodeDecodeError:
            text = data.decode("latin-1")
        if "\0" in text:
            raise self.error(f"is no text. {what}")
        self.lines = [(number, line.strip(" \r")) for number, line in enumerate(text.split("\n"), 1) if line.strip()]
        if not self.lines:
            raise self.error(f"is empty. {what}")

    def error(self, what: str) -> InputError:
        """Return an error about the whole file."""
        return InputError(f"ANTENNA_PATTERN “{self.name}” {what}")

    def damaged(self, line: int, what: str) -> InputError:
        """Return an error about one line."""
        return InputError(f"ANTENNA_PATTERN “{self.name}”, line {line}: {what}")

    def number(self, text: str, line: int, most: float = MOST_DB, unit: str = " dB") -> float:
        """Read a finite number within ± `most`."""
        text = text.strip().strip('"').strip()
        try:
            value = float(text)
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            raise self.damaged(line, f"“{text}” is no finite number. Write numbers with a decimal point, such as "
                                     "-12.5.")
        if abs(value) > most:
            raise self.damaged(line, f"{value:g}{unit} is beyond ±{most:g}{unit}. Correct it.")
        return value


def _read_table(path: str, lowest_deg: float) -> AntennaPattern:
    text = _Text(path)
    number, head = text.lines[0]
    mark = next((mark for mark in ("\t", ";", ",") if mark in head), ",")
    columns = ["".join(part.replace('"', "").split()).lower() for part in head.split(mark)]
    missing = [column for column in COLUMNS if column not in columns]
    if missing:
        raise text.damaged(number, f"the head names no column {', '.join(missing)}. It must name "
                                   f"{', '.join(COLUMNS)}.")
    for column in COLUMNS:
        if columns.count(column) > 1:
            raise text.damaged(number, f"the head names {column} twice. Name each column once.")
    place = [columns.index(column) for column in COLUMNS]
    rows: list[list[float]] = []
    line_of: dict[float, int] = {}
    for number, line in text.lines[1:]:
        parts = line.split(mark)
        if len(parts) <= max(place) or any(part.strip() for part in parts[len(columns):]):
            raise text.damaged(number, f"it has {len(parts)} columns, not {len(columns)}. Write numbers with a decimal "
                                       "point, and a value for each column.")
        angle = text.number(parts[place[0]], number, 90.0, "°")
        if angle in line_of:
            raise text.damaged(number, f"{angle:g}° stands twice, first in line {line_of[angle]}. Give each angle "
                                       "once.")
        line_of[angle] = number
        rows.append([angle, *(text.number(parts[i], number) for i in place[1:])])
    if not rows:
        raise text.error("holds no row under its head. Give gains by elevation angle, best from -90 to 90°.")
    table = np.array(sorted(rows))
    _check_reach(text, table[:, 0], lowest_deg)
    return _pattern(table, text.name)


def _check_reach(text: _Text, angle: Array, lowest_deg: float) -> None:
    """Refuse rising elevation angles that do not reach far enough, or leave too much between them."""
    gaps = [f"below {angle[0]:g}°"] if angle[0] > lowest_deg else []
    gaps += [f"above {angle[-1]:g}°"] if angle[-1] < HIGHEST_DEG else []
    if gaps:
        raise text.error(f"holds {angle[0]:g} to {angle[-1]:g}°; with this MAX_ELEVATION elevation angles from "
                         f"{lowest_deg:g} or lower to {HIGHEST_DEG:g}° or higher are needed, best -90 to 90. What is "
                         f"missing: {' and '.join(gaps)}.")
    used = angle[max(np.searchsorted(angle, lowest_deg, "right") - 1, 0):]
    _check_steps(text, used)


def _check_steps(text: _Text, angle: Array) -> None:
    """Refuse rising angles with a step that is too wide."""
    step = np.diff(angle)
    if len(step) and step.max() > WIDEST_STEP_DEG:
        at = int(step.argmax())
        raise text.error(f"tells nothing from {angle[at]:g} to {angle[at + 1]:g}°. Give an angle every "
                         f"{WIDEST_STEP_DEG:g}° or closer.")


def _pattern(rows: Array, name: str) -> AntennaPattern:
    """Tell rising rows of elevation, co-polar and cross-polar gain against the co-polar gain at the zenith."""
    zenith = rows[-1, 1]
    return AntennaPattern(rows[:, 0], rows[:, 1] - zenith, rows[:, 2] - zenith, name)


def _read_pair(path: str, _lowest_deg: float) -> AntennaPattern:
    text = _Text(path)
    name = text.name
    found = re.search("rhcp|lhcp", name, re.IGNORECASE)
    if found is None:
        raise InputError(f"ANTENNA_PATTERN “{name}”: of a pair of .msi files one must have “rhcp” in its name, the "
                         "other “lhcp”. Rename them, or give a CSV file.")
    is_co = found.group().lower() == "rhcp"
    other = name[:found.start()] + _as(found.group(), "lhcp" if is_co else "rhcp") + name[found.end():]
    beside = _Text(_beside(path, other))
    co, cross = (text, beside) if is_co else (beside, text)
    co_angle, co_db, co_unit = _read_cut(co)
    cross_angle, cross_db, cross_unit = _read_cut(cross)
    if bool(co_unit) != bool(cross_unit):
        # where both have none, only their difference enters, and it is the same in any unit
        raise (cross if co_unit else co).error("has a GAIN without a unit, the other one of the pair has one. Write "
                                               "dBi or dBd behind the number.")
    zenith = _zenith(co, co_angle, co_db)
    elevation = np.arange(-90.0, 91.0)
    return _pattern(np.stack([elevation, _around(co_angle, co_db, zenith, elevation),
                              _around(cross_angle, cross_db, zenith, elevation)], axis=-1), name)


def _as(like: str, word: str) -> str:
    """Write a word in the case of another."""
    return word.upper() if like.isupper() else word.capitalize() if like[:1].isupper() else word


def _beside(path: str, other: str) -> str:
    """Find a file in the folder of another one; where its very name is missing, one that differs in case serves."""
    folder = os.path.dirname(path)
    alike = sorted(one for one in os.listdir(folder or ".") if one.lower() == other.lower())
    if other in alike:
        alike = [other]
    if len(alike) != 1:
        name = os.path.basename(path)
        if alike:
            raise InputError(f"ANTENNA_PATTERN “{name}”: which of {', '.join(alike)} is the other one of the pair? "
                             f"Name it “{other}”.")
        raise InputError(f"ANTENNA_PATTERN “{name}”: the other one of the pair, “{other}”, is not in the same folder. "
                         "Put it there, or give a CSV file.")
    return os.path.join(folder, alike[0])


def _read_cut(text: _Text) -> tuple[Array, Array, str]:
    """Read the vertical cut of an .msi file: angles, rising [°], gains [dBi], and the unit that stood there."""
    gain, unit, cut, wanted = None, "", "", 0
    losses: dict[float, tuple[float, float, int]] = {}
    for number, line in text.lines:
        parts = line.split()
        word = parts[0].upper()
        if wanted:
            wanted -= 1
            if len(parts) < 2:
                raise text.damaged(number, "an angle and an attenuation are expected. Give the whole file as the maker "
                                           "wrote it.")
            angle, loss = text.number(parts[0], number, 360.0, "°"), text.number(parts[1], number)
            if cut == "VERTICAL":
                _add(text, losses, angle, loss, number)
        elif word in ("HORIZONTAL", "VERTICAL"):
            cut, wanted = word, _count(text, parts, number)
        elif word == "GAIN":
            if gain is not None:
                raise text.damaged(number, "GAIN stands there twice. Leave the right one.")
            gain, unit = _gain(text, parts, number)
        elif re.match(r"[-+.]?\d", word):
            raise text.damaged(number, "this line belongs to no cut: the number behind HORIZONTAL or VERTICAL is not "
                                       "the number of lines that follow. Correct it.")
    if wanted or not losses:
        what = f"{cut.lower()} cut ends {wanted} lines too soon" if wanted else "vertical cut is missing"
        raise InputError(f"ANTENNA_PATTERN “{text.name}”: its {what}. Give the whole file as the maker wrote it.")
    if gain is None:
        raise text.error("has no GAIN, which is missing to tell both of the pair against each other. Write a line such "
                         "as GAIN 5.0 dBi.")
    angles = np.array(sorted(losses))
    _check_steps(text, np.append(angles, angles[0] + 360.0))
    return angles, gain - np.array([losses[one][0] for one in angles]), unit


def _add(text: _Text, losses: dict[float, tuple[float, float, int]], angle: float, loss: float, number: int) -> None:
    """Put an attenuation among the others, by angle from 0 to 360°."""
    if loss < LEAST_LOSS_DB:
        raise text.damaged(number, f"the attenuation {loss:g} is below 0. Write how many decibels the gain lies below "
                                   "GAIN, 0 or more.")
    turned = angle % 360.0
    if turned in losses:
        first_loss, first_angle, first = losses[turned]
        # a cut may close with the angle that it began with, 0 and 360° or -180 and 180°
        if first_angle == angle or first_loss != loss:
            raise text.damaged(number, f"{turned:g}° stands twice, first in line {first}. Give each angle once.")
        return
    losses[turned] = loss, angle, number


def _count(text: _Text, parts: list[str], number: int) -> int:
    """Read how many lines a cut has."""
    told = parts[1] if len(parts) > 1 else ""
    if not re.fullmatch(r"0*[1-9]\d{0,4}", told):
        raise text.damaged(number, f"“{told}” behind {parts[0]} is no number of lines. It says how many lines of angle "
                                   "and attenuation follow, such as 360.")
    return int(told)


def _gain(text: _Text, parts: list[str], number: int) -> tuple[float, str]:
    """Read the greatest gain [dBi], and the unit that stands behind it; without one it is taken as it is."""
    found = re.fullmatch(r"(\S+?)\s*(dbi|dbd)?", " ".join(parts[1:]), re.IGNORECASE)
    if found is None:
        raise text.damaged(number, f"GAIN “{' '.join(parts[1:])}” is no gain. Write a number and dBi or dBd.")
    unit = (found.group(2) or "").lower()
    return text.number(found.group(1), number) + (DBI_OVER_DBD if unit == "dbd" else 0.0), unit


def _zenith(text: _Text, angle: Array, gain_db: Array) -> float:
    """Find which angle of a vertical cut is the zenith: where an antenna that points up is strongest."""
    top = np.exp(1j * np.radians(angle[gain_db >= gain_db.max() - AS_STRONG_DB])).mean()
    # as strong all around: any angle may be the zenith
    strongest = float(np.degrees(np.angle(top))) % 360.0 if abs(top) > 1e-6 else 0.0
    for zenith in (0.0, 90.0, 270.0):
        if abs((strongest - zenith + 180.0) % 360.0 - 180.0) <= NEAR_ZENITH_DEG:
            return zenith
    raise InputError(f"ANTENNA_PATTERN “{text.name}”: its vertical cut is strongest at {strongest:.0f}°, which is near "
                     "none of 0, 90 and 270°, so it cannot be told where the zenith is. Give a CSV file.")


def _around(angle: Array, gain_db: Array, zenith: float, elevation: Array) -> Array:
    """Average the power of both sides of a cut at elevation angles [dB]."""
    around = np.concatenate([angle - 360.0, angle, angle + 360.0])
    gains = np.tile(gain_db, 3)
    sides = [np.interp(zenith + sign * (90.0 - elevation), around, gains) for sign in (1.0, -1.0)]
    gain: Array = 10.0 * np.log10(np.mean([10.0**(side / 10.0) for side in sides], axis=0))
    return gain
