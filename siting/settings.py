"""What is looked at around each site, and what counts."""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .arrays import Array


@dataclass(frozen=True)
class Settings:
    """What is looked at, and what counts.

    Attributes
    ----------
    wavelength_m : float
        Carrier wavelength [m].
    elevation_deg : tuple of float
        Elevation angles looked at, rising [°].
    bins : int
        Number of azimuth bins.
    min_share : float
        Least usable share of a footprint.
    min_cycles : float
        Oscillations from which a bin counts.
    max_res_m : float or None
        Separation from which a bin counts [m]; None where it does not apply.
    noise_m : float
        The DEM's own noise [m], which is not the ground's roughness.
    is_complete : bool
        Whether what the satellite does not light is looked for in every footprint, not only where an angle would
        else be good.
    refine : float
        Multiplies the polar grid's density; for tests of convergence.
    """

    wavelength_m: float
    elevation_deg: tuple
    bins: int = 72
    min_share: float = 0.95
    min_cycles: float = 3.0
    max_res_m: float | None = 1.0
    noise_m: float = 0.1
    is_complete: bool = False
    refine: float = 1.0

    @property
    def bin_width_deg(self) -> float:
        """Width of an azimuth bin [°]."""
        return 360.0 / self.bins

    @property
    def bin_centre_deg(self) -> Array:
        """Centres of the azimuth bins [°]."""
        return (np.arange(self.bins) + 0.5) * self.bin_width_deg
