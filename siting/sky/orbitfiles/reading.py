"""Recognises the format of an orbit file from its content, and reads it."""
from __future__ import annotations

import re
from collections.abc import Sequence

from ...errors import InputError
from ..orbits import Orbits
from .almanac import looks_like_sem, looks_like_yuma, read_sem, read_yuma
from .almanacorbits import AlmanacOrbits
from .meanelements import MeanElementOrbits
from .omm import looks_like_csv, read_omm_csv, read_omm_json, read_omm_xml
from .selection import ALMANAC_STALE_DAYS, ELEMENTS_STALE_DAYS, choose, epoch_range, stale_note
from .sp3 import check_span, looks_like_sp3, read_sp3
from .tabulated import TabulatedOrbits
from .textfile import FORMATS, OrbitText, read_text
from .twoline import looks_like_elements, read_twoline

_MEAN_ELEMENTS = {"two-line elements": read_twoline, "OMM, XML": read_omm_xml, "OMM, JSON": read_omm_json,
                  "OMM, CSV": read_omm_csv}
_ALMANACS = {"YUMA almanac": read_yuma, "SEM almanac": read_sem}


def read_orbits(path: str, systems: Sequence[str], start_s: float, end_s: float) -> Orbits:
    """Read the satellites of some systems from a file of real orbits.

    The format is recognised from the content: two-line elements (with or without names), CCSDS OMM in XML, JSON or
    CSV, YUMA and SEM almanacs, SP3-c and SP3-d.

    Parameters
    ----------
    path : str
    systems : sequence of str
        Out of `siting.sky.orbits.SYSTEMS`.
    start_s, end_s : float
        The time looked at, UTC [s]. Elements are told as old and the weeks of almanacs are resolved by it; an
        SP3 file must cover some of it.

    Returns
    -------
    Orbits
        Its `notes` say what was left out, what is missing, and how old elements are.

    Raises
    ------
    InputError
        If the file cannot be read, is of no format that is read, is damaged (with the line), holds no satellite or
        none of these systems, or is an SP3 file for another time.
    MissingPackageError
        If it holds two-line elements or OMM, and sgp4 or skyfield is missing.
    """
    file = read_text(path)
    kind = recognise(file)
    notes: list[str] = []
    if kind in _MEAN_ELEMENTS:
        found = _MEAN_ELEMENTS[kind](file)
    elif kind in _ALMANACS:
        found, notes = _ALMANACS[kind](file, start_s)
    else:
        return _tables(file, kind, systems, start_s, end_s)
    chosen, more = choose(file, kind, found, systems, start_s)
    epochs_s = [orbit.epoch_s for orbit in chosen]
    source = f"{file.name} ({kind}, {epoch_range(epochs_s)})"
    if kind in _ALMANACS:
        orbits: Orbits = AlmanacOrbits(chosen, source)
        stale = stale_note("almanac data", epochs_s, start_s, end_s, ALMANAC_STALE_DAYS)
    else:
        orbits = MeanElementOrbits(chosen, source)
        stale = stale_note("elements", epochs_s, start_s, end_s, ELEMENTS_STALE_DAYS)
    orbits.notes[:0] = notes + more + stale
    return orbits


def _tables(file: OrbitText, kind: str, systems: Sequence[str], start_s: float, end_s: float) -> Orbits:
    content = read_sp3(file)
    span_note = check_span(file, content, start_s, end_s)
    chosen, notes = choose(file, kind, content.found, systems, start_s)
    orbits = TabulatedOrbits(chosen, f"{file.name} ({kind}, {epoch_range([content.first_s, content.last_s])})")
    orbits.notes += content.notes + notes + span_note
    return orbits


def recognise(file: OrbitText) -> str:
    """Return the format of a file, in words.

    Raises
    ------
    InputError
        If it is empty or of no format that is read.
    """
    lines = [line for _, line in file.numbered()]
    if not lines:
        raise file.error("is empty. Give a file with orbits, or leave ORBITS empty for the nominal constellations.")
    first = lines[0].lstrip()
    if looks_like_sp3(first):
        return f"SP3-{first[1]}"
    if first.startswith("<"):
        return "OMM, XML"
    if first.startswith(("{", "[")):
        return "OMM, JSON"
    if looks_like_csv(first):
        return "OMM, CSV"
    if looks_like_yuma(lines):
        return "YUMA almanac"
    if looks_like_sem(lines):
        return "SEM almanac"
    if any(looks_like_elements(line) for line in lines):
        return "two-line elements"
    raise _unknown(file, lines)


def _unknown(file: OrbitText, lines: Sequence[str]) -> InputError:
    what = ""
    if lines[0].lstrip().startswith("CCSDS_OMM_VERS"):
        what = ": it is an OMM of lines with “=”. Get it as XML, JSON or CSV"
    elif re.search("RINEX VERSION", lines[0]):
        what = ": it is a RINEX file"
    return file.error(f"is in no format that is read here{what}. These are read, whatever the file's name: {FORMATS}.")
