"""Azimuth and elevation angle of satellites from places on the Earth."""
from __future__ import annotations

import numpy as np

from ..arrays import Array, ArrayLike, Numbers
from ..earth import AXIS_M, FLATTENING


def place_m(lon_deg: ArrayLike, lat_deg: ArrayLike, height_m: Numbers = 0.0) -> Array:
    """Return Earth-centred, Earth-fixed coordinates of places on WGS 84 [m], shape (..., 3)."""
    lon, lat = np.radians(lon_deg), np.radians(lat_deg)
    square = FLATTENING * (2.0 - FLATTENING)
    radius = AXIS_M / np.sqrt(1.0 - square * np.sin(lat) ** 2)
    return np.stack(np.broadcast_arrays(
        (radius + height_m) * np.cos(lat) * np.cos(lon), (radius + height_m) * np.cos(lat) * np.sin(lon),
        (radius * (1.0 - square) + height_m) * np.sin(lat)), axis=-1)


def axes(lon_deg: float, lat_deg: float) -> Array:
    """Return the unit vectors east, north and up (along the ellipsoid's normal) at a place, shape (3, 3)."""
    lon, lat = np.radians(lon_deg), np.radians(lat_deg)
    return np.array([
        [-np.sin(lon), np.cos(lon), 0.0],
        [-np.sin(lat) * np.cos(lon), -np.sin(lat) * np.sin(lon), np.cos(lat)],
        [np.cos(lat) * np.cos(lon), np.cos(lat) * np.sin(lon), np.sin(lat)]])


def directions(positions_m: Array, lon_deg: float, lat_deg: float,
               height_m: float = 0.0) -> tuple[Array, Array]:
    """Return where satellites stand in the sky, without refraction.

    Parameters
    ----------
    positions_m : ndarray, shape (..., 3)
        Earth-centred, Earth-fixed [m].
    lon_deg, lat_deg : float
        The place, WGS 84 [°]. At a pole azimuth counts from the meridian of `lon_deg`.
    height_m : float
        Above the ellipsoid [m].

    Returns
    -------
    azimuth_deg : ndarray, shape (...,)
        From true north, clockwise [°], in [0, 360).
    sine : ndarray, shape (...,)
        Sine of the elevation angle above the plane perpendicular to the ellipsoid's normal.
    """
    east, north, up = np.moveaxis((positions_m - place_m(lon_deg, lat_deg, height_m)) @ axes(lon_deg, lat_deg).T,
                                  -1, 0)
    azimuth = np.degrees(np.arctan2(east, north))
    return np.where(azimuth < 0, azimuth + 360.0, azimuth) % 360.0, up / np.sqrt(east**2 + north**2 + up**2)
