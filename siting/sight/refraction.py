"""How far radio refraction lifts a satellite near the horizon."""
from __future__ import annotations

import numpy as np

from ..arrays import Array, ArrayLike

RADIO_OVER_LIGHT = 1.16
"""Radio refraction over that of light: ITU-R P.834 gives 11.43′ at 5° where Bennett gives 9.9′ (as other software
cites it)."""


def refraction_deg(elevation_deg: ArrayLike) -> Array:
    """Return by how much a satellite stands higher than geometry has it [°].

    Parameters
    ----------
    elevation_deg : array_like
        Elevation angle without refraction, from about -1° up [°].

    Returns
    -------
    ndarray
        Source: Saemundsson's counterpart (1986) of Bennett's formula (1982), as in Meeus, Astronomical Algorithms,
        equation 16.4 (from memory), raised by 16 % for radio.
    """
    e = np.asarray(elevation_deg, float)
    minutes = 1.02 / np.tan(np.radians(e + 10.3 / (e + 5.11)))
    return RADIO_OVER_LIGHT * np.maximum(minutes, 0.0) / 60.0
