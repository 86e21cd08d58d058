"""What of a run its page and its sheets tell."""
from __future__ import annotations

from dataclasses import dataclass

from ..candidates import Candidate
from ..purposes import Purpose
from ..settings import Settings


@dataclass(frozen=True)
class ReportedRun:
    """A run as it is told of.

    Attributes
    ----------
    purpose : Purpose
    candidates : list of Candidate
    settings : Settings
    missing : tuple of str
        What could spoil a site and was not looked at.
    crs_name : str
        Of the candidates as they were given.
    is_geographic, has_dem : bool
        Whether that CRS is in degrees, and whether a DEM tells the vertical datum.
    """

    purpose: Purpose
    candidates: list[Candidate]
    settings: Settings
    missing: tuple[str, ...]
    crs_name: str
    is_geographic: bool
    has_dem: bool
