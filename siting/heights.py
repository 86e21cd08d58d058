"""From the height a user knows to the height above the reflecting surface, level by level."""
from __future__ import annotations

import numpy as np

from .arrays import Array
from .errors import InputError, SiteError

REFERENCES = ["surface", "ground", "datum", "ellipsoid"]
LEVEL_STEP_M = 0.25
"""Levels looked at lie at most max(0.25 m, height/10) apart (a convention)."""

MOST_LEVELS = 200
"""More levels than this are a mistake of units, and would fill the memory."""


def height_over_zero(reference: str, height_m: float, zero_level_m: float | None,
                     ground_m: float | None, undulation_m: float | None) -> float:
    """Convert an antenna height to the height over the zero level of the surface.

    Parameters
    ----------
    reference : str
        One of `REFERENCES`: what `height_m` is measured from.
    height_m : float
        The height given [m].
    zero_level_m : float or None
        Zero level of the surface in the DEM's vertical datum [m]; None where it
        is the DEM's ground below the antenna (snow, soil).
    ground_m : float or None
        The DEM at the site [m]; None where it has no data.
    undulation_m : float or None
        Height of the DEM's zero over the WGS 84 ellipsoid at the site [m].

    Returns
    -------
    float
        Height [m]; it may be zero or negative (an antenna under water).

    Raises
    ------
    SiteError
        If a height is not finite, or the DEM or the geoid has no data at the site.
    """
    if height_m is None or not np.isfinite(height_m):
        raise SiteError("the antenna height is not a number")
    needs_ground = reference == "ground" and zero_level_m is not None
    needs_ground |= reference in ("datum", "ellipsoid") and zero_level_m is None
    if needs_ground and (ground_m is None or not np.isfinite(ground_m)):
        raise SiteError("the DEM has no data at the site, so its ground is not known")
    if reference == "surface":
        return float(height_m)
    if reference == "ground":
        return float(height_m) if zero_level_m is None else float(height_m + ground_m - zero_level_m)
    if reference == "ellipsoid":
        if undulation_m is None or not np.isfinite(undulation_m):
            raise SiteError("GEOID has no data at the site, so its ellipsoidal height means nothing")
        height_m = height_m - undulation_m
    elif reference != "datum":
        raise InputError(f"HEIGHT_REFERENCE “{reference}” is not known. Choose one of: {', '.join(REFERENCES)}.")
    return float(height_m - (ground_m if zero_level_m is None else zero_level_m))


def levels_between(low_m: float, high_m: float, height_m: float) -> Array:
    """List the levels at which a surface is looked at.

    Parameters
    ----------
    low_m, high_m : float
        Ordinary lowest and highest level relative to the zero level [m].
    height_m : float
        Antenna height over the zero level [m].

    Returns
    -------
    ndarray
        Rising, from `low_m` to `high_m`, with 0 where it lies between, and steps
        of at most max(0.25 m, least height / 10).

    Raises
    ------
    SiteError
        If a level is not finite, the lowest lies above the highest, or they are so far
        apart that there would be over `MOST_LEVELS` levels.
    """
    if not (np.isfinite(low_m) and np.isfinite(high_m)):
        raise SiteError("LEVEL_LOW or LEVEL_HIGH is not a number")
    if low_m > high_m:
        raise SiteError(
            f"the lowest level ({low_m:g} m) lies above the highest ({high_m:g} m); exchange them")
    step = max(LEVEL_STEP_M, (height_m - high_m) / 10.0)
    if (high_m - low_m) / step > MOST_LEVELS:
        raise SiteError(
            f"the lowest level ({low_m:g} m) and the highest ({high_m:g} m) lie too far apart for an antenna at "
            f"{height_m:g} m; levels are given in metres")
    marks = sorted({float(low_m), float(high_m)} | ({0.0} if low_m < 0.0 < high_m else set()))
    parts = [np.array([marks[0]])]
    for start, stop in zip(marks[:-1], marks[1:]):
        number = int(np.ceil((stop - start) / step - 1e-9))
        parts.append(np.linspace(start, stop, number + 1)[1:])
    return np.concatenate(parts)


def check_geoid(values: Array, valid: Array, name: str) -> None:
    """Refuse a geoid that is missing or all zero where the sites are.

    Parameters
    ----------
    values, valid : ndarray
        Undulations [m] at the sites, and where there are any.
    name : str
        The raster's name, for the message.

    Raises
    ------
    InputError
        Ellipsoidal heights would silently be taken for heights above the sea.
    """
    if not np.any(valid):
        raise InputError(f"GEOID “{name}” has no data at any candidate. Give a geoid that covers them.")
    if np.all(values[valid] == 0):
        raise InputError(
            f"GEOID “{name}” is zero at every candidate, which no geoid is. "
            "Give the height of the DEM's zero above the WGS 84 ellipsoid [m].")
