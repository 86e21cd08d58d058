"""Complex relative permittivity of water, ice, snow and soil at the satellites' carriers.

Convention: ε = ε' - j ε'' with ε'' >= 0, time dependence exp(+jωt), as in radio engineering. Some
libraries use the conjugate; `coefficients.fresnel` refuses it rather than give a wrong phase.

Wet snow is left out on purpose: published models give 1.63 to 1.88 for the same snow. Whoever needs
it computes with both ends of that range.

References
----------
The coefficients marked [memory] were written down from memory; the tests hold the results to figures
from elsewhere.

.. [1] Klein & Swift, An improved model for the dielectric constant of sea water at microwave
   frequencies, IEEE Trans. Antennas Propag. 25 (1977), doi:10.1109/TAP.1977.1141539. [copied from
   a secondary text]
.. [2] Liebe, Hufford & Manabe, A model for the complex permittivity of water at frequencies below
   1 THz, Int. J. Infrared Millim. Waves 12 (1991), doi:10.1007/BF01008897; as in ITU-R P.840. [memory]
.. [3] Mätzler & Wegmüller, Dielectric properties of fresh-water ice at microwave frequencies,
   J. Phys. D 20 (1987), doi:10.1088/0022-3727/20/12/013. [memory]
.. [4] Hufford, A model for the complex permittivity of ice at frequencies below 1 THz, Int. J.
   Infrared Millim. Waves 12 (1991), doi:10.1007/BF01008898. [memory]
.. [5] Tiuri, Sihvola, Nyfors & Hallikainen, The complex dielectric constant of snow at microwave
   frequencies, IEEE J. Oceanic Eng. 9 (1984), doi:10.1109/JOE.1984.1145645. [memory]
.. [6] Hallikainen, Ulaby, Dobson, El-Rayes & Wu, Microwave dielectric behavior of wet soil, part I,
   IEEE Trans. Geosci. Remote Sens. 23 (1985), doi:10.1109/TGRS.1985.289497; the polynomials for
   1.4 GHz. [memory]
"""
from __future__ import annotations

import numpy as np

from ..arrays import Array, ArrayLike
from ..errors import InputError

VACUUM_PERMITTIVITY_F_M = 8.8541878e-12
"""Permittivity of vacuum [F/m] (CODATA, eight digits)."""

WATER_FREQUENCY_HZ = (0.3e9, 10e9)
"""Frequencies [Hz] at which water, ice and snow are offered; Klein & Swift do not claim more."""

SOIL_FREQUENCY_HZ = (1.0e9, 2.0e9)
"""Frequencies [Hz] at which the soil polynomials, measured at 1.4 GHz, are taken to hold."""


def _within(value: ArrayLike, low: float, high: float, what: str, unit: str) -> Array:
    """Return a value as an array, or tell which range it leaves."""
    array = np.asarray(value, dtype=float)
    wrong = ~((array >= low) & (array <= high))
    if wrong.any():
        raise InputError(f"The {what} of {array[wrong].flat[0]:g} {unit} is outside {low:g} to {high:g} {unit}, "
                         "where the model of the permittivity holds.")
    return array


def _frequency(frequency_hz: ArrayLike, limits_hz: tuple[float, float] = WATER_FREQUENCY_HZ) -> Array:
    """Return a frequency as an array [GHz], or tell which range it leaves."""
    ghz = np.asarray(frequency_hz, dtype=float) / 1e9
    return _within(ghz, limits_hz[0] / 1e9, limits_hz[1] / 1e9, "frequency", "GHz")


def sea_conductivity_s_m(temperature_c: ArrayLike, salinity_psu: ArrayLike) -> Array:
    """Compute the ionic conductivity of sea water.

    Parameters
    ----------
    temperature_c : array_like
        Temperature [°C], -2 to 40.
    salinity_psu : array_like
        Practical salinity [psu], 0 to 42 (measured 4 to 35); broadcasts.

    Returns
    -------
    ndarray
        Conductivity [S/m], after Klein & Swift [1]_.

    Raises
    ------
    InputError
        Outside those ranges, or for NaN.
    """
    t = _within(temperature_c, -2.0, 40.0, "water temperature", "°C")
    s = _within(salinity_psu, 0.0, 42.0, "salinity", "psu")
    below = 25.0 - t
    at_25 = s * (0.182521 - 1.46192e-3 * s + 2.09324e-5 * s**2 - 1.28205e-7 * s**3)
    beta: Array = (2.033e-2 + 1.266e-4 * below + 2.464e-6 * below**2
                   - s * (1.849e-5 - 2.551e-7 * below + 2.551e-8 * below**2))
    conductivity: Array = at_25 * np.exp(-below * beta)
    return conductivity


def sea_water(frequency_hz: ArrayLike, temperature_c: ArrayLike = 15.0, salinity_psu: ArrayLike = 35.0) -> Array:
    """Compute the permittivity of sea and brackish water.

    Parameters
    ----------
    frequency_hz : array_like
        Frequency [Hz], 0.3 to 10 GHz.
    temperature_c, salinity_psu : array_like
        As for `sea_conductivity_s_m`; all broadcast.

    Returns
    -------
    ndarray of complex
        ε' - j ε'', after Klein & Swift [1]_.

    Raises
    ------
    InputError
        Outside the ranges, or for NaN.

    Examples
    --------
    >>> print(f"{complex(sea_water(1575.42e6, 20.0, 35.0)):.1f}")
    71.9-60.7j
    """
    omega = 2e9 * np.pi * _frequency(frequency_hz)
    sigma = sea_conductivity_s_m(temperature_c, salinity_psu)
    t, s = np.asarray(temperature_c, dtype=float), np.asarray(salinity_psu, dtype=float)
    static = ((87.134 - 1.949e-1 * t - 1.276e-2 * t**2 + 2.491e-4 * t**3)
              * (1.0 + 1.613e-5 * s * t - 3.656e-3 * s + 3.210e-5 * s**2 - 4.232e-7 * s**3))
    relaxation_s = ((1.768e-11 - 6.086e-13 * t + 1.104e-14 * t**2 - 8.111e-17 * t**3)
                    * (1.0 + 2.282e-5 * s * t - 7.638e-4 * s - 7.760e-6 * s**2 + 1.105e-8 * s**3))
    found: Array = (4.9 + (static - 4.9) / (1.0 + 1j * omega * relaxation_s)
                    - 1j * sigma / (omega * VACUUM_PERMITTIVITY_F_M))
    return found


def fresh_water(frequency_hz: ArrayLike, temperature_c: ArrayLike = 10.0) -> Array:
    """Compute the permittivity of pure water, which also serves for lakes and rivers.

    Parameters
    ----------
    frequency_hz : array_like
        Frequency [Hz], 0.3 to 10 GHz.
    temperature_c : array_like
        Temperature [°C], -2 to 40; broadcasts.

    Returns
    -------
    ndarray of complex
        ε' - j ε'', after Liebe, Hufford & Manabe [2]_. The few hundredths of S/m of a lake add
        less than 1 to ε'' and are left out.

    Raises
    ------
    InputError
        Outside the ranges, or for NaN.
    """
    f = _frequency(frequency_hz)
    t = _within(temperature_c, -2.0, 40.0, "water temperature", "°C")
    x = 300.0 / (t + 273.15) - 1.0
    static, high = 77.66 + 103.3 * x, 3.52
    middle = 0.0671 * static
    first_ghz = 20.20 - 146.0 * x + 316.0 * x**2
    second_ghz = 39.8 * first_ghz
    found: Array = (high + (static - middle) / (1.0 + 1j * f / first_ghz)
                    + (middle - high) / (1.0 + 1j * f / second_ghz))
    return found


def ice(frequency_hz: ArrayLike, temperature_c: ArrayLike = -5.0) -> Array:
    """Compute the permittivity of pure, fresh-water ice.

    Parameters
    ----------
    frequency_hz : array_like
        Frequency [Hz], 0.3 to 10 GHz.
    temperature_c : array_like
        Temperature [°C], -40 to 0; broadcasts.

    Returns
    -------
    ndarray of complex
        ε' after Mätzler & Wegmüller [3]_, ε'' after Hufford [4]_. Sea ice, which holds brine, is lossier.

    Raises
    ------
    InputError
        Outside the ranges, or for NaN.
    """
    f = _frequency(frequency_hz)
    t = _within(temperature_c, -40.0, 0.0, "ice temperature", "°C")
    x = 300.0 / (t + 273.15) - 1.0
    alpha = (0.00504 + 0.0062 * x) * np.exp(-22.1 * x)
    beta = (0.502 - 0.131 * x) / (1.0 + x) * 1e-4 + 0.542e-6 * ((1.0 + x) / (x + 0.0073))**2
    found: Array = 3.1884 + 9.1e-4 * t - 1j * (alpha / f + beta * f)
    return found


def dry_snow(frequency_hz: ArrayLike, density_g_cm3: ArrayLike = 0.3, temperature_c: ArrayLike = -5.0) -> Array:
    """Compute the permittivity of dry snow.

    Parameters
    ----------
    frequency_hz : array_like
        Frequency [Hz], 0.3 to 10 GHz.
    density_g_cm3 : array_like
        Density [g/cm³], 0.05 to 0.6.
    temperature_c : array_like
        Temperature [°C], -40 to 0; all broadcast.

    Returns
    -------
    ndarray of complex
        ε' - j ε'', after Tiuri et al. [5]_ with the loss of `ice`. Models of ε' differ by 0.04 at
        0.3 g/cm³. Dry snow is transparent: the ground below returns as well.

    Raises
    ------
    InputError
        Outside the ranges, or for NaN.
    """
    rho = _within(density_g_cm3, 0.05, 0.6, "snow density", "g/cm³")
    loss = -ice(frequency_hz, temperature_c).imag
    found: Array = 1.0 + 1.7 * rho + 0.7 * rho**2 - 1j * loss * (0.52 * rho + 0.62 * rho**2)
    return found


def soil(frequency_hz: ArrayLike, moisture_m3_m3: ArrayLike = 0.2, sand_percent: ArrayLike = 40.0,
         clay_percent: ArrayLike = 20.0) -> Array:
    """Compute the permittivity of bare, unfrozen mineral soil.

    Parameters
    ----------
    frequency_hz : array_like
        Frequency [Hz], 1 to 2 GHz.
    moisture_m3_m3 : array_like
        Volumetric moisture [m³/m³], 0 to 0.5.
    sand_percent, clay_percent : array_like
        Parts of the mineral soil by mass [%], together at most 100; a loam by default. All broadcast.

    Returns
    -------
    ndarray of complex
        ε' - j ε'', after Hallikainen et al. [6]_ at 1.4 GHz; it does not depend on the frequency.
        For loams models agree on ε' to a fifth, for heavy clay to two fifths; on ε'' to a factor of
        two and a half.

    Raises
    ------
    InputError
        Outside the ranges, or for NaN.
    """
    f = _frequency(frequency_hz, SOIL_FREQUENCY_HZ)
    m = _within(moisture_m3_m3, 0.0, 0.5, "soil moisture", "m³/m³")
    s = _within(sand_percent, 0.0, 100.0, "sand content", "%")
    c = _within(clay_percent, 0.0, 100.0, "clay content", "%")
    _within(s + c, 0.0, 100.0, "sum of sand and clay", "%")
    real = ((2.862 - 0.012 * s + 0.001 * c) + (3.803 + 0.462 * s - 0.341 * c) * m
            + (119.006 - 0.500 * s + 0.633 * c) * m**2)
    loss = ((0.356 - 0.003 * s - 0.008 * c) + (5.507 + 0.044 * s - 0.002 * c) * m
            + (17.753 - 0.313 * s + 0.206 * c) * m**2)
    # the intercept of the loss dips below zero in dry soils rich in clay or sand
    found: Array = real - 1j * np.maximum(loss, 0.0) + 0.0 * f
    return found
