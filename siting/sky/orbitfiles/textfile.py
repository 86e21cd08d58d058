"""The text of an orbit file, and errors that name the file and the line."""
from __future__ import annotations

import math
import os
import re
from typing import Optional

from ...errors import InputError

FORMATS = ("two-line elements, CCSDS OMM (XML, JSON or CSV), YUMA almanac, SEM almanac, SP3-c and SP3-d")
"""What is read, in words."""

_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eEdD][+-]?\d+)?")


class OrbitText:
    """Lines of a file.

    Parameters
    ----------
    name : str
        The file's name without its folder, as messages give it.
    text : str

    Attributes
    ----------
    lines : list of str
        Without the ends of lines; line n of messages is `lines[n - 1]`.
    """

    def __init__(self, name: str, text: str):
        self.name, self.text = name, text
        self.lines = [line.rstrip() for line in text.splitlines()]

    def numbered(self) -> list[tuple[int, str]]:
        """Return the lines that are not blank, with their numbers."""
        return [(number, line) for number, line in enumerate(self.lines, 1) if line]

    def error(self, message: str) -> InputError:
        """Return an error about the file as a whole."""
        return InputError(f"ORBITS “{self.name}” {message}")

    def damaged(self, line: Optional[int], what: str) -> InputError:
        """Return an error about one line, or about the file where no line is known."""
        where = f", line {line}" if line else ""
        return InputError(f"ORBITS “{self.name}”{where}: {what} Get the file anew, or repair it.")


def number_in(text) -> Optional[float]:
    """Read a decimal number, also with Fortran's D before the exponent; None if it is none.

    Examples
    --------
    >>> number_in(" 0.25D+01")
    2.5
    >>> number_in("nan") is None
    True
    """
    text = str(text).strip()
    if not _NUMBER.fullmatch(text):
        return None
    value = float(re.sub("[dD]", "e", text))
    return value if math.isfinite(value) else None


def read_text(path: str) -> OrbitText:
    """Read a text file in UTF-8, UTF-16 with a mark, or else Latin-1.

    Raises
    ------
    InputError
        If it cannot be read, is compressed, or is no text.
    """
    name = os.path.basename(path) or path
    try:
        with open(path, "rb") as file:
            raw = file.read()
    except OSError as error:
        raise InputError(f"ORBITS “{path}” cannot be read: {error.strerror or error}.") from None
    for start, kind in ((b"\x1f\x8b", "gzip"), (b"PK\x03\x04", "zip"), (b"\x1f\x9d", "compress (.Z)"),
                        (b"BZh", "bzip2"), (b"\xfd7zXZ", "xz")):
        if raw.startswith(start):
            raise InputError(f"ORBITS “{name}” is compressed with {kind}. Unpack it first, and give the file inside.")
    try:
        text = raw.decode("utf-16" if raw.startswith((b"\xff\xfe", b"\xfe\xff")) else "utf-8-sig")
    except UnicodeDecodeError:
        text = raw.decode("latin-1")  # names of satellites may hold such letters; elements are digits
    if "\0" in text:
        raise InputError(f"ORBITS “{name}” is no text. These formats are read: {FORMATS}.")
    return OrbitText(name, text)
