"""Roughness: what waves and uneven ground take from the coherent reflection."""
from __future__ import annotations

import numpy as np

from ..arrays import Array, ArrayLike
from ..errors import InputError

WAVE_HEIGHT_PER_RMS = 4.0
"""Significant wave height over rms height of the water (AMS Glossary of Meteorology, significant wave height)."""

SEARCHED_POWERS = (-15.0, 40.0)
"""Powers of ten between which `greatest_angle_deg` looks for the argument of the Bessel function."""


def _not_negative(value: ArrayLike, what: str, unit: str = "m") -> Array:
    """Return a value as an array, or tell that it is negative; NaN, unknown, passes."""
    array = np.asarray(value, dtype=float)
    if (array < 0).any():
        raise InputError(f"The {what} cannot be negative, but is {array[array < 0].flat[0]:g} {unit}.")
    return array


def _positive(value: ArrayLike, what: str, unit: str = "m") -> Array:
    """Return a value as an array, or tell that it is not above zero."""
    array = np.asarray(value, dtype=float)
    if not (array > 0).all():
        raise InputError(f"The {what} must be above zero, but is {array[~(array > 0)].flat[0]:g} {unit}.")
    return array


def wave_rms_m(significant_wave_height_m: ArrayLike) -> Array:
    """Compute the rms height of water from its significant wave height, a quarter of it.

    Parameters
    ----------
    significant_wave_height_m : array_like
        Significant wave height [m], >= 0; NaN stays NaN.

    Returns
    -------
    ndarray
        Standard deviation of the surface's height [m].

    Raises
    ------
    InputError
        If it is negative.
    """
    return _not_negative(significant_wave_height_m, "significant wave height") / WAVE_HEIGHT_PER_RMS


def ground_rms_m(residual_rms_m: ArrayLike, noise_m: ArrayLike) -> Array:
    """Compute the rms height of the ground itself from that of a DEM, which has noise of its own.

    Parameters
    ----------
    residual_rms_m : array_like
        Rms of the DEM's residuals from its plane [m], >= 0; NaN stays NaN.
    noise_m : array_like
        Rms error of the DEM from cell to cell [m], >= 0; broadcasts.

    Returns
    -------
    ndarray
        sqrt(max(0, rms² - noise²)) [m], for errors that are independent of the ground.

    Raises
    ------
    InputError
        If one is negative.
    """
    rms = _not_negative(residual_rms_m, "rms height of the ground")
    noise = _not_negative(noise_m, "noise of the elevation model")
    left: Array = np.sqrt(np.maximum(rms**2 - noise**2, 0.0))
    return left


def scaled_bessel_i0(x: ArrayLike) -> Array:
    """Compute exp(-x) I0(x) for x >= 0 without overflow.

    Parameters
    ----------
    x : array_like
        Argument, >= 0.

    Returns
    -------
    ndarray
        Within 2e-7 of the truth, relatively within 5e-7.

    Notes
    -----
    Abramowitz & Stegun, Handbook of Mathematical Functions, 9.8.1 and 9.8.2 [memory; the tests
    compare with SciPy].
    """
    x = np.asarray(x, dtype=float)
    small = np.minimum(x, 3.75)
    t = (small / 3.75)**2
    near = np.exp(-small) * np.polyval([0.0045813, 0.0360768, 0.2659732, 1.2067492, 3.0899424, 3.5156229, 1.0], t)
    large = np.maximum(x, 3.75)
    far = np.polyval([0.00392377, -0.01647633, 0.02635537, -0.02057706, 0.00916281, -0.00157565, 0.00225319,
                      0.01328592, 0.39894228], 3.75 / large) / np.sqrt(large)
    found: Array = np.where(x > 3.75, far, near)
    return found


def phase_roughness(rms_m: ArrayLike, elevation_deg: ArrayLike, wavelength_m: ArrayLike) -> Array:
    """Compute g = 2π σ sin e / λ, half the rms phase [rad] that heights σ give the reflection.

    Parameters
    ----------
    rms_m : array_like
        Rms height σ [m], >= 0; NaN stays NaN.
    elevation_deg : array_like
        Grazing angle e [°].
    wavelength_m : array_like
        Wavelength λ [m], > 0; all broadcast.

    Raises
    ------
    InputError
        If the rms height is negative or the wavelength not above zero.
    """
    rms = _not_negative(rms_m, "rms height of the surface")
    wavelength = _positive(wavelength_m, "wavelength")
    g: Array = 2.0 * np.pi * rms * np.sin(np.radians(np.asarray(elevation_deg, dtype=float))) / wavelength
    return g


def coherent_loss_db(rms_m: ArrayLike, elevation_deg: ArrayLike, wavelength_m: ArrayLike) -> Array:
    """Compute what roughness takes from the coherent reflection.

    Parameters
    ----------
    rms_m, elevation_deg, wavelength_m : array_like
        Rms height [m], grazing angle [°] and wavelength [m], as for `phase_roughness`; all broadcast.

    Returns
    -------
    ndarray
        Loss of power [dB], >= 0: 0 for a smooth surface, NaN for an unknown one.

    Raises
    ------
    InputError
        As `phase_roughness`.

    Notes
    -----
    The field shrinks by exp(-2g²) I0(2g²): Miller, Brown & Vegh, New derivation for the rough-surface
    reflection coefficient and for the distribution of sea-wave elevations, IEE Proc. H 131 (1984)
    [memory]. For ground, whose heights are not those of waves, it serves as a convention.

    Examples
    --------
    >>> [float(round(v, 2)) for v in coherent_loss_db(wave_rms_m(0.5), [5, 10, 20], 0.190293673)]
    [2.1, 6.77, 13.66]
    """
    field = scaled_bessel_i0(2.0 * phase_roughness(rms_m, elevation_deg, wavelength_m)**2)
    return np.maximum(-20.0 * np.log10(field), 0.0)


def ament_loss_db(rms_m: ArrayLike, elevation_deg: ArrayLike, wavelength_m: ArrayLike) -> Array:
    """Compute what roughness takes from the coherent reflection by Ament's law, a field of exp(-2g²).

    Parameters
    ----------
    rms_m, elevation_deg, wavelength_m : array_like
        As for `coherent_loss_db`.

    Returns
    -------
    ndarray
        Loss of power [dB].

    Notes
    -----
    Ament, Toward a theory of reflection by a rough surface, Proc. IRE 41 (1953), as other texts cite it: the limit of
    `coherent_loss_db` for a small g and far darker for a large one. Which of them holds over waves is disputed.

    Examples
    --------
    >>> [float(round(v, 2)) for v in ament_loss_db(wave_rms_m(0.5), [5, 10, 20], 0.190293673)]
    [2.25, 8.92, 34.61]
    """
    loss: Array = 20.0 * np.log10(np.e) * 2.0 * phase_roughness(rms_m, elevation_deg, wavelength_m)**2
    return loss


def greatest_angle_deg(rms_m: ArrayLike, max_loss_db: ArrayLike, wavelength_m: ArrayLike) -> Array:
    """Find the greatest elevation angle at which the coherent loss stays within a limit.

    Parameters
    ----------
    rms_m : array_like
        Rms height [m], >= 0; NaN stays NaN.
    max_loss_db : array_like
        Greatest loss [dB], > 0.
    wavelength_m : array_like
        Wavelength [m], > 0; all broadcast.

    Returns
    -------
    ndarray
        Angle [°]; 90 where the limit is never reached.

    Raises
    ------
    InputError
        If the rms height is negative, or the limit or the wavelength not above zero.
    """
    rms = _not_negative(rms_m, "rms height of the surface")
    wavelength = _positive(wavelength_m, "wavelength")
    target = 10.0 ** (-_positive(max_loss_db, "greatest loss", "dB") / 20.0)
    # exp(-x) I0(x) falls steadily, so bisect the exponent of x = 2g²
    low, high = (np.full(target.shape, end) for end in SEARCHED_POWERS)
    for _ in range(60):
        middle = (low + high) / 2.0
        within = scaled_bessel_i0(10.0**middle) >= target
        low, high = np.where(within, middle, low), np.where(within, high, middle)
    g = np.sqrt(10.0**low / 2.0)
    with np.errstate(divide="ignore"):
        sine = g * wavelength / (2.0 * np.pi * rms)
    angle: Array = np.degrees(np.arcsin(np.minimum(sine, 1.0)))
    return angle


def rayleigh_height_m(elevation_deg: ArrayLike, wavelength_m: ArrayLike) -> Array:
    """Compute Rayleigh's limit of roughness.

    Parameters
    ----------
    elevation_deg : array_like
        Grazing angle [°], > 0.
    wavelength_m : array_like
        Wavelength [m], > 0; broadcasts.

    Returns
    -------
    ndarray
        Height difference λ/(8 sin e) [m] whose two-way path is a quarter of a wavelength.

    Raises
    ------
    InputError
        If one is not above zero.
    """
    e = np.radians(_positive(elevation_deg, "elevation angle", "°"))
    height: Array = _positive(wavelength_m, "wavelength") / (8.0 * np.sin(e))
    return height
