"""Real orbits from a user's file: two-line elements, CCSDS OMM, YUMA and SEM almanacs, SP3-c and SP3-d.

textfile        the text of the file, and errors that name file and line
reading         recognises the format from the content and reads it
twoline, omm    mean elements for SGP4
meanelements    satellites on mean elements, computed with SGP4
almanac         YUMA and SEM
almanacorbits   satellites on almanac elements, computed as IS-GPS-200 says
sp3             tables of positions
tabulated       satellites between tabulated positions
selection       which of the satellites found are used, and what the user is told about the others
"""
from .reading import read_orbits

__all__ = ["read_orbits"]
