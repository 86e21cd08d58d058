"""Carrier frequencies and wavelengths of the satellite signals.

Frequencies are those of the systems' interface documents (IS-GPS-200,
IS-GPS-705, GLONASS ICD, Galileo OS SIS ICD, BDS-SIS-ICD, IS-QZSS-PNT), copied
from secondary texts that agree with one another. The GLONASS FDMA carriers
stand for channel 0.
"""
from __future__ import annotations

from .errors import InputError

SPEED_OF_LIGHT_M_S = 299_792_458.0
"""Speed of light in vacuum [m/s], exact by the definition of the metre (SI)."""

CARRIER_MHZ = {
    "GPS L1": 1575.42,
    "GPS L2": 1227.60,
    "GPS L5": 1176.45,
    "GLONASS G1": 1602.0,
    "GLONASS G2": 1246.0,
    "GLONASS G3": 1202.025,
    "Galileo E1": 1575.42,
    "Galileo E5a": 1176.45,
    "Galileo E5b": 1207.14,
    "Galileo E5": 1191.795,
    "Galileo E6": 1278.75,
    "BeiDou B1I": 1561.098,
    "BeiDou B1C": 1575.42,
    "BeiDou B2a": 1176.45,
    "BeiDou B2b": 1207.14,
    "BeiDou B3I": 1268.52,
    "QZSS L1": 1575.42,
    "QZSS L2": 1227.60,
    "QZSS L5": 1176.45,
    "QZSS L6": 1278.75,
}
"""Carrier frequency [MHz] by signal name, in the order users see them."""

SIGNALS = list(CARRIER_MHZ)
DEFAULT_SIGNAL = "GPS L1"


def wavelength_m(signal: str) -> float:
    """Return the carrier wavelength of a signal.

    Parameters
    ----------
    signal : str
        One of `SIGNALS`, for example ``"GPS L1"``.

    Returns
    -------
    float
        Wavelength in vacuum [m].

    Raises
    ------
    InputError
        If the signal is not known.

    Examples
    --------
    >>> round(wavelength_m("GPS L1"), 6)
    0.190294
    """
    try:
        return SPEED_OF_LIGHT_M_S / (CARRIER_MHZ[signal] * 1e6)
    except KeyError:
        raise InputError(
            f"Signal “{signal}” is not known. Choose one of: {', '.join(SIGNALS)}."
        ) from None
