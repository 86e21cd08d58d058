"""Named materials that reflect: what is assumed where nobody has measured.

Their states are a convention: open sea, a cool lake, settled winter snow and moist loam. At 10° the co-polar return
shifts by half a dB over all the water there is, by 3 dB over snow of 0.1 to 0.5 g/cm³ and by 2.5 dB over soil of 0.05
to 0.45 m³/m³.
"""
from __future__ import annotations

from typing import Callable, NamedTuple

from ..arrays import Array, ArrayLike
from ..errors import InputError
from .permittivity import dry_snow, fresh_water, ice, sea_water, soil


class Substance(NamedTuple):
    """What reflects, in its conventional state."""

    label: str
    model: Callable[..., Array]
    state: dict[str, float]

    def permittivity(self, frequency_hz: ArrayLike, **given: float) -> Array:
        """Compute ε' - j ε'' [relative] at a frequency [Hz], its state overridden by what is given.

        Raises
        ------
        InputError
            If something is given that the surface does not have, or that is out of range.
        """
        unknown = sorted(set(given) - set(self.state))
        if unknown:
            raise InputError(f"“{unknown[0]}” says nothing about {self.label}; "
                             f"give {' or '.join(self.state)}.")
        return self.model(frequency_hz, **{**self.state, **given})


SEA = Substance("sea", sea_water, {"temperature_c": 15.0, "salinity_psu": 35.0})
LAKE = Substance("fresh water", fresh_water, {"temperature_c": 10.0})
ICE = Substance("ice", ice, {"temperature_c": -5.0})
SNOW = Substance("dry snow", dry_snow, {"density_g_cm3": 0.3, "temperature_c": -5.0})
SOIL = Substance("soil", soil, {"moisture_m3_m3": 0.2, "sand_percent": 40.0, "clay_percent": 20.0})
