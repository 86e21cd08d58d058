"""What a site is wanted for, and all that depends on it: one place for what a purpose means."""
from __future__ import annotations

from dataclasses import dataclass, field

from .errors import InputError
from .reflection.surfaces import LAKE, SEA, SNOW, SOIL, Substance


@dataclass(frozen=True)
class Purpose:
    """What is to be measured.

    Attributes
    ----------
    name : str
        The value of PURPOSE.
    substance : Substance
        What reflects, in its conventional state.
    level_names : tuple of str
        What the highest level, the zero level and the lowest level are called.
    clearance_from : str
        What the clearance is measured from, in words.
    precision, cadence_h : float
        Standard error that is usually wanted [cm; ° where `is_phase`], and how often a value is [h]: the trade's
        orders of magnitude; common practice, no source.
    least_clearance_m : float
        Least height over the highest level [m]; common practice, no source.
    is_water : bool
        Whether the surface is water, whose zero level the user gives; else it is the ground below the antenna.
    is_tidal : bool
        Whether the surface is the sea: it moves between its levels twice a day, and reaches an elevation model's rim.
    is_depth : bool
        Whether levels are depths over the ground.
    is_phase : bool
        Whether the phase of the pattern is wanted, not the height.
    """

    name: str
    substance: Substance = field(compare=False)
    level_names: tuple[str, str, str]
    clearance_from: str
    precision: float
    cadence_h: float
    least_clearance_m: float = 0.0
    is_water: bool = False
    is_tidal: bool = False
    is_depth: bool = False
    is_phase: bool = False

    def __str__(self) -> str:
        return self.name

    @property
    def needs_separation(self) -> bool:
        """Whether surfaces of different heights must be told apart (MAX_RES)."""
        return not self.is_phase


_WATER = ("highest water", "zero level", "lowest water")
SEA_LEVEL = Purpose("sea level", SEA, _WATER, "highest water", 5.0, 3.0, 3.0, is_water=True, is_tidal=True)
LAKE_LEVEL = Purpose("lake level", LAKE, _WATER, "highest water", 2.0, 24.0, is_water=True)
SNOW_DEPTH = Purpose("snow depth", SNOW, ("deepest snow", "ground", "least snow"), "deepest snow", 2.0, 24.0, 1.0,
                     is_depth=True)
SOIL_MOISTURE = Purpose("soil moisture", SOIL, ("highest level", "ground", "lowest level"), "ground", 2.0, 24.0,
                        is_phase=True)
PURPOSES = {purpose.name: purpose for purpose in (SEA_LEVEL, LAKE_LEVEL, SNOW_DEPTH, SOIL_MOISTURE)}
"""All purposes by name, in the order of the dialog."""


def purpose_of(name: str) -> Purpose:
    """Return the purpose of a name.

    Raises
    ------
    InputError
        If there is none.

    Examples
    --------
    >>> purpose_of("snow depth").least_clearance_m
    1.0
    """
    try:
        return PURPOSES[name]
    except KeyError:
        raise InputError(f"PURPOSE “{name}” is not known. Choose one of: {', '.join(PURPOSES)}.") from None
