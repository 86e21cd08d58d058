"""CCSDS Orbit Mean-Elements Messages in XML, JSON and CSV.

References
----------
1. CCSDS 502.0-B, Orbit Data Messages: keywords of an OMM and its XML form.
2. JSON and CSV with the same keywords, as catalogues publish them (common practice, no source).
"""
from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterator
from typing import Any, NamedTuple, Optional

# An OMM needs no document type, so none is let through to the parser: no entity can be defined.
from xml.etree import ElementTree  # nosec B405

from ...errors import InputError
from ..clock import DAY_S, read_date
from .meanelements import MeanElements
from .selection import FoundOrbit, orbit_kind, system_of_name
from .textfile import OrbitText, number_in

NAME = "OMM"
NUMBERS = ("MEAN_MOTION", "ECCENTRICITY", "INCLINATION", "RA_OF_ASC_NODE", "ARG_OF_PERICENTER", "MEAN_ANOMALY", "BSTAR")
"""Keywords of the elements, in the order of `MeanElements` after the epoch."""

# what SGP4's elements are; a message that says otherwise would be computed wrongly
_FIXED = {"CENTER_NAME": ("EARTH",), "REF_FRAME": ("TEME", "TEMEOFDATE", "TEMEOFEPOCH"), "TIME_SYSTEM": ("UTC",),
          "MEAN_ELEMENT_THEORY": ("SGP4", "SGP/SGP4"), "EPHEMERIS_TYPE": ("0", "2")}


class Message(NamedTuple):
    """Keywords and values of one OMM, and where it stands: its line where known, and its count from 1."""

    values: dict[str, Any]
    line: Optional[int]
    count: int  # type: ignore[assignment]  # hides tuple's own count, which nobody asks for


def looks_like_csv(line: str) -> bool:
    """Tell whether a line is the heading of an OMM table."""
    return len({part.strip().strip('"').upper() for part in line.split(",")} & {"EPOCH", "OBJECT_NAME", *NUMBERS}) >= 3


def read_omm_xml(file: OrbitText) -> list[FoundOrbit]:
    """Read an XML document of one or several OMM; see `read_omm_json` for the errors."""
    if re.search(r"<!(DOCTYPE|ENTITY)", file.text, re.IGNORECASE):
        raise file.error("is XML with a document type, which no OMM has, and is not read.")
    text = file.text.lstrip()  # nothing may stand before an XML declaration
    try:
        root = ElementTree.fromstring(text)  # nosec B314
    except ElementTree.ParseError as error:
        before = len(file.text[:len(file.text) - len(text)].splitlines())
        raise file.damaged(before + error.position[0], "this is no well-formed XML.") from None
    if not any(_tag(element) == "omm" for element in root.iter()):
        raise file.error("is XML, but holds no element “omm” of a CCSDS OMM. Give an OMM, or another format.")
    messages: list[Message] = []
    for omm in (element for element in root.iter() if _tag(element) == "omm"):
        segments = [element for element in omm.iter() if _tag(element) == "segment"]
        if not segments:
            raise file.damaged(None, f"object {len(messages) + 1} has no element “segment”.")
        for segment in segments:
            values: dict[str, Any] = {}
            for part in (element for element in segment.iter() if not len(element) and _tag(element) != "COMMENT"):
                if _tag(part) in values and _tag(part) != "USER_DEFINED":
                    raise file.damaged(None, f"object {len(messages) + 1} gives {_tag(part)} twice.")
                values[_tag(part)] = part.text
            messages.append(Message(values, None, len(messages) + 1))
    return [_satellite(file, message) for message in messages]


def _tag(element: ElementTree.Element) -> str:
    """Return the element's name without its namespace."""
    return str(element.tag).rpartition("}")[2]


def read_omm_json(file: OrbitText) -> list[FoundOrbit]:
    """Read one object or a list of objects; numbers may stand as text.

    Raises
    ------
    InputError
        With the object and the keyword that is missing or unreadable.
    """
    try:
        content = json.loads(file.text)
    except json.JSONDecodeError as error:
        raise file.damaged(error.lineno, f"this is no JSON: {error.msg}.") from None
    except RecursionError:
        raise file.error("is JSON nested too deeply for an OMM.") from None
    objects = content if isinstance(content, list) else [content]
    for count, entry in enumerate(objects, 1):
        if not isinstance(entry, dict):
            raise file.damaged(None, f"entry {count} of the JSON list is no object with the keywords of an OMM.")
    return [_satellite(file, Message({str(key).upper(): value for key, value in entry.items()}, None, count))
            for count, entry in enumerate(objects, 1)]


def read_omm_csv(file: OrbitText) -> list[FoundOrbit]:
    """Read a table with a heading; see `read_omm_json` for the errors."""
    return [_satellite(file, row) for row in _rows(file)]


def _rows(file: OrbitText) -> Iterator[Message]:
    # strict=False never raises for bad quoting; a line too long for csv does
    reader = csv.reader(io.StringIO("\n".join(file.lines)))
    heading: list[str] = []
    count = 0
    try:
        for row in reader:
            if not any(cell.strip() for cell in row):
                continue
            if not heading:
                heading = [cell.strip().upper() for cell in row]
                continue
            count += 1
            if len(row) != len(heading):
                raise file.damaged(reader.line_num, f"{len(row)} values under {len(heading)} headings.")
            yield Message(dict(zip(heading, row)), reader.line_num, count)
    except csv.Error as error:
        raise file.damaged(reader.line_num, f"this is no CSV: {error}.") from None


def _text(value: object) -> str:
    return "" if value is None or isinstance(value, (dict, list, bool)) else str(value).strip()


def _satellite(file: OrbitText, message: Message) -> FoundOrbit:
    values = message.values
    name = " ".join(_text(values.get("OBJECT_NAME")).split())
    number = _text(values.get("NORAD_CAT_ID"))
    identity = number or _text(values.get("OBJECT_ID")) or name
    label = f"object {message.count}" + (f" ({name or identity})" if name or identity else "")
    for key, allowed in _FIXED.items():
        given = _text(values.get(key))
        if given and given.upper().replace(" ", "") not in allowed:
            raise file.damaged(message.line, f"{label} has {key} {given}; only {allowed[0]} is read, for SGP4.")
    read = {}
    for key in NUMBERS:
        text = _text(values.get(key))
        if not text:
            raise file.damaged(message.line, f"{label} has no {key}.")
        value = number_in(text)
        if value is None:
            raise file.damaged(message.line, f"{label} has {key} “{text[:30]}”, which is no number.")
        read[key] = value
    if not identity:
        raise file.damaged(message.line, f"{label} has neither OBJECT_NAME nor NORAD_CAT_ID nor OBJECT_ID.")
    elements = MeanElements(_epoch_s(file, message, label), *(read[key] for key in NUMBERS))
    wrong = elements.what_is_wrong()
    if wrong:
        raise file.damaged(message.line, f"{label}: {wrong}")
    return FoundOrbit(name or f"satellite {identity}", system_of_name(name), identity, elements.epoch_s, elements,
                 **orbit_kind(elements.revs_per_day, elements.inclination_deg, elements.eccentricity))


def _epoch_s(file: OrbitText, message: Message, label: str) -> float:
    """Read EPOCH, by calendar or by day of the year as reference 1 allows both."""
    text = _text(message.values.get("EPOCH"))
    if not text:
        raise file.damaged(message.line, f"{label} has no EPOCH.")
    by_day = re.fullmatch(r"(\d{4})-(\d{3})(T.*)", text)
    try:
        if by_day:
            return read_date(f"{by_day[1]}-01-01{by_day[3]}") + (int(by_day[2]) - 1) * DAY_S
        return read_date(text)
    except (InputError, ValueError, OverflowError):
        raise file.damaged(message.line, f"{label} has EPOCH “{text[:30]}”, which is no date and time.") from None
