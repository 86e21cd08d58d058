"""Two-line element sets, with or without a line for the name.

References
----------
1. Hoots, Roehrich 1980, Spacetrack Report No. 3, and Vallado and others 2006, Revisiting Spacetrack Report #3,
   AIAA 2006-6753: columns of the two lines.
"""
from __future__ import annotations

import re
from typing import Optional

from ..clock import DAY_S, read_date
from .meanelements import MeanElements
from .selection import FoundOrbit, orbit_kind, system_of_name
from .textfile import OrbitText

LINE_LENGTH = 69
NAME = "two-line elements"

# (field, first column counted from 0, end, pattern)
_EXPONENT = r"[ +-]\d{5}[ +-]\d"
_FIELDS = {
    "1": (("satellite number", 2, 7, r"[ \dA-Z][ \d]{3}\d"), ("epoch year", 18, 20, r"[ \d]\d"),
          ("epoch day", 20, 32, r" *\d+\.\d{8}"),
          ("first derivative of the mean motion", 33, 43, r"[ +-]\.\d{8}"),
          ("second derivative of the mean motion", 44, 52, _EXPONENT), ("drag term", 53, 61, _EXPONENT),
          ("checksum", 68, 69, r"\d")),
    "2": (("satellite number", 2, 7, r"[ \dA-Z][ \d]{3}\d"), ("inclination", 8, 16, r" *\d+\.\d{4}"),
          ("right ascension of the node", 17, 25, r" *\d+\.\d{4}"), ("eccentricity", 26, 33, r"[ \d]{6}\d"),
          ("argument of perigee", 34, 42, r" *\d+\.\d{4}"), ("mean anomaly", 43, 51, r" *\d+\.\d{4}"),
          ("mean motion", 52, 63, r" *\d+\.\d{8}"), ("checksum", 68, 69, r"\d")),
}
_GAPS = {"1": (1, 8, 17, 32, 43, 52, 61, 63), "2": (1, 7, 16, 25, 33, 42, 51)}


def checksum(line: str) -> int:
    """Return the last digit of a line: digits added, a minus as one, modulo 10.

    Examples
    --------
    >>> checksum("1 24876U 97035A   18020.44858769  .00000075  00000-0  00000-0 0  999")
    5
    """
    return sum(int(sign) if sign.isdigit() else sign == "-" for sign in line[:LINE_LENGTH - 1]) % 10


def looks_like_elements(line: str) -> bool:
    """Tell whether a line begins as one of the two lines does."""
    return bool(re.match(r"[12] [ \dA-Z][ \d]{4}", line))


def read_twoline(file: OrbitText) -> list[FoundOrbit]:
    """Read all sets.

    Raises
    ------
    InputError
        With the line that is damaged or out of order.
    """
    found: list[FoundOrbit] = []
    name: Optional[tuple[int, str]] = None
    first: Optional[tuple[int, str]] = None
    for number, line in file.numbered():
        kind = line[0] if looks_like_elements(line) else ""
        if first is not None and kind != "2":
            raise file.damaged(first[0], f"line 1 of a set is not followed by its line 2: line {number} is "
                                         f"“{line[:30]}”.")
        if kind == "1":
            first = (number, line)
        elif kind == "2":
            if first is None:
                before = f", but by “{name[1][:30]}” in line {name[0]}" if name else ""
                raise file.damaged(number, f"line 2 of a set is not preceded by its line 1{before}.")
            found.append(_satellite(file, name, first, (number, line)))
            name = first = None
        elif name is not None:
            raise file.damaged(name[0], f"“{name[1][:30]}” is not followed by line 1 of a set: line {number} is "
                                        f"“{line[:30]}”.")
        else:
            name = (number, line)
    if first is not None:
        raise file.damaged(first[0], "line 1 of a set is not followed by its line 2: the file ends.")
    if name is not None:
        raise file.damaged(name[0], f"“{name[1][:30]}” is not followed by elements: the file ends.")
    return found


def _fields(file: OrbitText, number: int, line: str) -> dict[str, str]:
    """Check one line and return the text of its fields."""
    if len(line) != LINE_LENGTH:
        raise file.damaged(number, f"a line of two-line elements has {LINE_LENGTH} characters, this one {len(line)}.")
    fields = {}
    for field, start, end, pattern in _FIELDS[line[0]]:
        text = line[start:end]
        if not re.fullmatch(pattern, text):
            raise file.damaged(number, f"the {field} “{text}” in columns {start + 1} to {end} is no such number.")
        fields[field] = text
    if any(line[gap] != " " for gap in _GAPS[line[0]]):
        raise file.damaged(number, "a column that separates two numbers is not blank.")
    if checksum(line) != int(fields["checksum"]):
        raise file.damaged(number, f"the checksum is {fields['checksum']}, but the line adds up to {checksum(line)}.")
    return fields


def _exponent(text: str) -> float:
    """Read a number with an assumed decimal point, such as 10617-3 for 0.10617e-3."""
    return float(f"{text[0].strip()}0.{text[1:6]}e{text[6:].replace(' ', '+')}")


def _satellite(file: OrbitText, name: Optional[tuple[int, str]], first: tuple[int, str],
               second: tuple[int, str]) -> FoundOrbit:
    one, two = _fields(file, *first), _fields(file, *second)
    identity = one["satellite number"].strip()
    if two["satellite number"].strip() != identity:
        raise file.damaged(second[0], f"line 2 is of satellite {two['satellite number'].strip()}, line 1 before it "
                                      f"of {identity}.")
    value = {key: float(text.replace(" ", "")) for key, text in {**one, **two}.items()
             if key not in ("satellite number", "drag term", "second derivative of the mean motion", "eccentricity",
                            "first derivative of the mean motion")}
    year, day = int(value["epoch year"]), value["epoch day"]
    if not 1.0 <= day < 367.0:
        raise file.damaged(first[0], f"day {day} is in no year.")
    # two-digit years: 57 to 99 are 1957 to 1999, reference 1
    epoch_s = read_date(f"{year + (1900 if year >= 57 else 2000)}-01-01") + (day - 1.0) * DAY_S
    elements = MeanElements(
        epoch_s, value["mean motion"], float("0." + two["eccentricity"].replace(" ", "0")), value["inclination"],
        value["right ascension of the node"], value["argument of perigee"], value["mean anomaly"],
        _exponent(one["drag term"]))
    wrong = elements.what_is_wrong()
    if wrong:
        raise file.damaged(second[0], wrong)
    text = " ".join(re.sub(r"^0 ", "", name[1].strip()).split()) if name else ""
    return FoundOrbit(text or f"satellite {identity}", system_of_name(text), identity, epoch_s, elements,
                 **orbit_kind(elements.revs_per_day, elements.inclination_deg, elements.eccentricity))
