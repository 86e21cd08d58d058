"""One metre plane for a whole shoreline."""
from __future__ import annotations

import numpy as np

from ..arrays import Array, ArrayLike
from ..earth import GEOD
from ..errors import InputError
from ..geometry.localframe import from_lonlat, to_lonlat, world_edges

MAX_RADIUS_M = 1_000_000.0
"""Farthest place of a shoreline from its middle: there the plane stretches lengths across by 0.4 %."""
LONGEST_STEP_M = 1000.0
"""Longest piece of a line that is taken for straight on the ground."""


def _each(solve, *given) -> tuple[Array, ...]:
    """Call a function of `pyproj.Geod` with arrays of one shape."""
    given = np.broadcast_arrays(*(np.asarray(values, float) for values in given))
    if given[0].size == 1:
        # pyproj takes an array of one number for a point, by a conversion that numpy will refuse
        return tuple(np.full(given[0].shape, value) for value in solve(*(values.item() for values in given)))
    return tuple(np.asarray(values) for values in solve(*given))


class ShorePlane:
    """Azimuthal equidistant metres around the middle of a shoreline.

    Distances from the middle are true, others to 0.1 % within 500 km and 0.4 %
    within 1000 km of it (1 + (r/R)²/6; Snyder 1987, USGS Professional Paper
    1395, p. 191). North is true at the middle only: take azimuths by `azimuth`.

    Parameters
    ----------
    lon, lat : ndarray
        Places of the shoreline, WGS 84 [°].

    Raises
    ------
    InputError
        If the shoreline is larger than the plane can hold.
    """

    def __init__(self, lon, lat):
        lon, lat = np.radians(lon), np.radians(lat)
        middle = [np.mean(np.cos(lat) * np.cos(lon)), np.mean(np.cos(lat) * np.sin(lon)), np.mean(np.sin(lat))]
        lon0 = np.degrees(np.arctan2(middle[1], middle[0]))
        lat0 = np.degrees(np.arctan2(middle[2], np.hypot(middle[0], middle[1])))
        self.crs = f"+proj=aeqd +lat_0={lat0:.6f} +lon_0={lon0:.6f} +datum=WGS84 +units=m +type=crs"
        radius = float(np.max(np.hypot(*self.project(np.degrees(lon), np.degrees(lat)).T)))
        if not radius <= MAX_RADIUS_M:
            raise InputError(
                f"SHORE reaches {radius / 1000:.0f} km from its middle, too far for one plane of true metres (at most "
                f"{MAX_RADIUS_M / 1000:.0f} km). Clip it to the coast that is looked at.")

    def project(self, lon: ArrayLike, lat: ArrayLike) -> Array:
        """Place longitudes and latitudes [°] on the plane; shape (..., 2) [m]."""
        return np.stack(from_lonlat(lon, lat, self.crs), axis=-1)

    def lonlat(self, xy: ArrayLike) -> tuple[Array, Array]:
        """Return longitude and latitude [°] of points of the plane."""
        xy = np.asarray(xy, float)
        return to_lonlat(xy[..., 0], xy[..., 1], self.crs)

    def azimuth(self, xy: ArrayLike, direction: ArrayLike) -> Array:
        """Return the azimuth from true north [°] of directions at points of the plane, both of shape (n, 2)."""
        length = np.hypot(*np.asarray(direction).T)[:, None]
        ahead = np.asarray(xy) + 10.0 * np.asarray(direction) / np.where(length > 0, length, 1.0)
        return np.mod(_each(GEOD.inv, *self.lonlat(xy), *self.lonlat(ahead))[0], 360.0)

    def moved(self, xy: ArrayLike, azimuth_deg: ArrayLike, dist_m: ArrayLike) -> Array:
        """Move points of the plane by an azimuth from true north [°] and a geodesic distance [m]."""
        lon, lat, _back = _each(GEOD.fwd, *self.lonlat(xy), azimuth_deg, dist_m)
        return self.project(lon, lat)

    def lengths(self, xy: ArrayLike) -> Array:
        """Return the geodesic length [m] of each step along vertices, shape (n - 1,)."""
        lon, lat = self.lonlat(xy)
        return _each(GEOD.inv, lon[:-1], lat[:-1], lon[1:], lat[1:])[2]


def dense_lonlat(x: Array, y: Array, crs: str) -> tuple[Array, Array]:
    """Convert the vertices of a line, with more between where it is straight on the map for long.

    Parameters
    ----------
    x, y : ndarray
        Vertices in a CRS. A step of more than half the map's width is taken
        to cross the cut of the map.

    Returns
    -------
    lon, lat : ndarray
        WGS 84 [°]; not finite where the CRS does not reach. No step is longer
        than `LONGEST_STEP_M`.
    """
    x, y = np.asarray(x, float), np.asarray(y, float)
    edges = world_edges(crs)
    if edges is not None and len(x) > 1:
        width = edges[1] - edges[0]
        x = x - width * np.concatenate([[0.0], np.cumsum(np.round(np.diff(x) / width))])
    lon, lat = to_lonlat(x, y, crs)
    if len(x) < 2 or not (np.isfinite(lon).all() and np.isfinite(lat).all()):
        return lon, lat
    length = _each(GEOD.inv, lon[:-1], lat[:-1], lon[1:], lat[1:])[2]
    pieces = np.maximum(np.ceil(length / LONGEST_STEP_M), 1).astype(int)
    if pieces.max() == 1:
        return lon, lat
    at = np.append(np.concatenate([k + np.arange(n) / n for k, n in enumerate(pieces)]), len(x) - 1.0)
    return to_lonlat(np.interp(at, np.arange(len(x)), x), np.interp(at, np.arange(len(x)), y), crs)
