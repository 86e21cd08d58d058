"""YUMA and SEM almanacs.

References
----------
1. IS-GPS-200, sections 20.3.3.5 and 20.3.3.5.2: almanac parameters, their units, and weeks modulo 1024.
2. U.S. Coast Guard Navigation Center, definitions of the YUMA and the SEM almanac (from memory).

Neither format names a satellite system. PRN 1 to 32 are GPS; in YUMA, 193 to 202 are QZSS (common practice, no
source); others are of unknown system. SEM counts the inclination from 54°, where QZSS does not, so there QZSS is
unknown too.
"""
from __future__ import annotations

import re
from typing import NamedTuple, Optional

import numpy as np

from ..clock import DAY_S, GPS_EPOCH_S, iso_text, utc_of_gps_s
from ..nominal import GM
from .selection import FoundOrbit, orbit_kind
from .textfile import OrbitText, number_in

WEEK_S = 604_800.0
WEEKS = 1024
"""Weeks after which the count begins anew, reference 1."""
SEM_INCLINATION = 0.30
"""What SEM's inclination is counted from [semicircles], reference 1: 54°."""


class AlmanacElements(NamedTuple):
    """Almanac parameters of reference 1.

    Attributes
    ----------
    reference_s : float
        Time of applicability as GPS time, written as seconds since 1970.
    in_week_s : float
        The same in its GPS week [s].
    eccentricity, inclination, node_rate, root_axis, node, perigee, anomaly : float
        Eccentricity; inclination [rad]; rate of right ascension [rad/s]; square root of the semi-major axis [√m];
        longitude of the node at the beginning of the week, argument of perigee, mean anomaly [rad].
    """

    reference_s: float
    in_week_s: float
    eccentricity: float
    inclination: float
    node_rate: float
    root_axis: float
    node: float
    perigee: float
    anomaly: float


# YUMA: how a line's label begins, in lower case, and what it is
_YUMA = (("id", "ID"), ("health", "health"), ("eccentricity", "eccentricity"),
         ("time of applicability", "time of applicability"), ("orbital inclination", "orbital inclination"),
         ("rate of right ascen", "rate of right ascension"), ("sqrt(a)", "square root of the axis"),
         ("right ascen at week", "right ascension at week"), ("argument of perigee", "argument of perigee"),
         ("mean anom", "mean anomaly"), ("af0", "Af0"), ("af1", "Af1"), ("week", "week"))
_UNUSED = ("Af0", "Af1")


def looks_like_yuma(lines: list[str]) -> bool:
    """Tell whether the first lines that are not blank are of a YUMA almanac."""
    return any(re.match(r"\*+.*almanac|ID\s*:\s*\d", line.strip(), re.IGNORECASE) for line in lines[:3])


def looks_like_sem(lines: list[str]) -> bool:
    """Tell whether the first lines that are not blank are of a SEM almanac."""
    return (len(lines) >= 2 and bool(re.match(r"\s*\d{1,3}\s+\S*[A-Za-z]", lines[0]))
            and bool(re.fullmatch(r"\s*\d{1,4}\s+\d{1,6}(\.0*)?\s*", lines[1])))


class _Weeks:
    """Full weeks from weeks modulo 1024, and what to tell about them."""

    def __init__(self, start_s: float):
        self.start_s = start_s
        self.rolled: dict[int, int] = {}

    def reference_s(self, week: int, in_week_s: float) -> float:
        """Return the time of applicability nearest to the start, as GPS time."""
        plain = GPS_EPOCH_S + week * WEEK_S + in_week_s
        if week >= WEEKS:
            return plain
        turns = max(0, round((self.start_s - plain) / (WEEKS * WEEK_S)))
        if turns:
            self.rolled[week] = week + turns * WEEKS
        return plain + turns * WEEKS * WEEK_S

    def notes(self) -> list[str]:
        return [f"The almanac counts weeks modulo {WEEKS}: its week {week} was taken for GPS week {full}, which begins "
                f"{iso_text(GPS_EPOCH_S + full * WEEK_S)[:10]}, the nearest to DATE."
                for week, full in self.rolled.items()]


def read_yuma(file: OrbitText, start_s: float) -> tuple[list[FoundOrbit], list[str]]:
    """Read a YUMA almanac.

    Returns
    -------
    found : list of FoundOrbit
        Their `data` are `AlmanacElements`.
    notes : list of str

    Raises
    ------
    InputError
        With the line that cannot be read, or the record that lacks a field.
    """
    weeks, found = _Weeks(start_s), []
    record: dict[str, tuple[int, float]] = {}
    begun: Optional[int] = None
    heading = ""
    for number, line in file.numbered() + [(0, "*")]:
        if line.lstrip().startswith("*"):
            if record:
                found.append(_yuma_satellite(file, begun, record, weeks))
            elif "almanac" in heading:
                raise file.damaged(begun, "this heading is not followed by the fields of a satellite.")
            record, begun, heading = {}, number, line.lower()
            continue
        label, colon, text = line.partition(":")
        field = next((name for start, name in _YUMA if label.strip().lower().startswith(start)), None)
        if not colon or field is None:
            raise file.damaged(number, f"“{line.strip()[:40]}” is no field of a YUMA almanac.")
        if field == "ID" and "ID" in record:  # records without headings between them
            found.append(_yuma_satellite(file, begun, record, weeks))
            record, begun = {}, number
        if field in record:
            raise file.damaged(number, f"{field} stands twice in the record of one satellite.")
        value = number_in(text)
        if value is None:
            raise file.damaged(number, f"the {field} “{text.strip()[:30]}” is no number.")
        begun = begun or number
        record[field] = (number, value)
    return found, weeks.notes()


def _yuma_satellite(file: OrbitText, begun: Optional[int], record: dict[str, tuple[int, float]],
                    weeks: _Weeks) -> FoundOrbit:
    missing = [name for _, name in _YUMA if name not in record and name not in _UNUSED]
    if missing:
        raise file.damaged(begun, f"the record of a satellite that begins here lacks {', '.join(missing)}.")
    value = {name: record[name][1] for name in record}
    lines = {name: record[name][0] for name in record}
    prn, week = (_whole(file, lines[name], name, value[name]) for name in ("ID", "week"))
    in_week_s = value["time of applicability"]
    elements = AlmanacElements(
        weeks.reference_s(week, in_week_s), in_week_s, value["eccentricity"], value["orbital inclination"],
        value["rate of right ascension"], value["square root of the axis"], value["right ascension at week"],
        value["argument of perigee"], value["mean anomaly"])
    return _satellite(file, begun or 0, prn, True, value["health"] == 0, elements)


# SEM: the numbers of each line that is not blank, of one satellite
_SEM = (("PRN",), ("SVN",), ("average URA",),
        ("eccentricity", "inclination offset", "rate of right ascension"),
        ("square root of the axis", "longitude of the orbital plane", "argument of perigee"),
        ("mean anomaly", "Af0", "Af1"), ("health",), ("configuration",))


def read_sem(file: OrbitText, start_s: float) -> tuple[list[FoundOrbit], list[str]]:
    """Read a SEM almanac; see `read_yuma`."""
    lines = file.numbered()
    count = int(lines[0][1].split()[0])
    week, in_week_s = (float(part) for part in lines[1][1].split())
    weeks, found = _Weeks(start_s), []
    reference_s = weeks.reference_s(int(week), in_week_s)
    for begin in range(2, len(lines), len(_SEM)):
        record: dict[str, float] = {}
        for offset, fields in enumerate(_SEM):
            if begin + offset >= len(lines):
                raise file.damaged(lines[-1][0], f"the file ends before the {' and '.join(fields)} of a satellite.")
            number, line = lines[begin + offset]
            parts = line.split()
            if len(parts) != len(fields):
                raise file.damaged(number, f"{len(parts)} of {len(fields)} values expected here: {', '.join(fields)}"
                                           + (f" (PRN {record['PRN']:.0f})." if record else "."))
            for field, part in zip(fields, parts):
                value = number_in(part)
                if value is None:
                    raise file.damaged(number, f"the {field} “{part[:30]}” is no number.")
                record[field] = value
        prn = _whole(file, lines[begin][0], "PRN", record["PRN"])
        elements = AlmanacElements(
            reference_s, in_week_s, record["eccentricity"], np.pi * (SEM_INCLINATION + record["inclination offset"]),
            np.pi * record["rate of right ascension"], record["square root of the axis"],
            np.pi * record["longitude of the orbital plane"], np.pi * record["argument of perigee"],
            np.pi * record["mean anomaly"])
        found.append(_satellite(file, lines[begin][0], prn, False, record["health"] == 0, elements))
    if len(found) != count:
        raise file.damaged(lines[0][0], f"the almanac says that it holds {count} satellites, but holds {len(found)}.")
    return found, weeks.notes()


def _whole(file: OrbitText, line: int, field: str, value: float) -> int:
    if value != int(value) or value < 0:
        raise file.damaged(line, f"the {field} {value:g} is no whole number from 0 on.")
    return int(value)


def _satellite(file: OrbitText, line: int, prn: int, is_yuma: bool, is_healthy: bool,
               elements: AlmanacElements) -> FoundOrbit:
    """Check one satellite's elements."""
    if not 0.0 <= elements.eccentricity < 1.0:
        wrong = f"an eccentricity of {elements.eccentricity:g}, which is not in 0 to 1"
    elif not 1000.0 < elements.root_axis < 10_000.0:
        wrong = f"a square root of the axis of {elements.root_axis:g} √m, which is no navigation satellite's"
    elif not 0.0 <= elements.inclination <= np.pi:
        wrong = f"an inclination of {np.degrees(elements.inclination):.1f}°"
    elif not 0.0 <= elements.in_week_s <= WEEK_S:
        wrong = f"a time of applicability of {elements.in_week_s:g} s, which is in no week"
    else:
        wrong = ""
    if wrong:
        raise file.damaged(line, f"PRN {prn} has {wrong}.")
    system = "GPS" if 1 <= prn <= 32 else "QZSS" if is_yuma and 193 <= prn <= 202 else ""
    revs = np.sqrt(GM) / elements.root_axis**3 / (2.0 * np.pi) * DAY_S
    letter = {"GPS": "G", "QZSS": "J"}.get(system)
    number = prn - 192 if system == "QZSS" else prn
    return FoundOrbit(f"{letter}{number:02d}" if letter else f"PRN {prn}", system, str(prn),
                 float(utc_of_gps_s(elements.reference_s)), elements, is_healthy=is_healthy,
                 **orbit_kind(revs, float(np.degrees(elements.inclination)), elements.eccentricity))
