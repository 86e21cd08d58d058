"""Local east/north metres at a site ↔ coordinates of any CRS, with true north and true scale.

East and north are the geodesic polar coordinates of a point seen from the site
(azimuth from true north, distance along the WGS 84 ellipsoid), so a metre is a
metre and north is north whatever the CRS does with them. Near the site the map
is a polynomial of second degree, fitted for each site at its own reach and
checked there; where it would be off by more than `TOLERANCE` of the reach,
every point goes through the geodesic.
"""
from __future__ import annotations

import threading
from functools import lru_cache

import numpy as np
import pyproj

from ..earth import GEOD
from ..errors import InputError

TOLERANCE = 2e-5
"""Largest accepted error of the polynomial, as a share of the reach."""

_held: list = []
_this_thread = threading.local()


def _hold_context() -> None:
    """Keep PROJ's context of this thread alive as long as the process.

    pyproj finds a thread's context by the thread of the operating system (3.7, `_context.pyx`), but frees it with
    Python's state of that thread. A worker thread of QGIS gets a new state for each run, so the second run in a
    thread would use what the first has freed. An object that holds the context prevents it; a context is made once
    for a thread.
    """
    if not hasattr(_this_thread, "held"):
        _this_thread.held = True
        _held.append(pyproj.crs.Ellipsoid.from_name("WGS 84"))


@lru_cache(maxsize=64)
def crs_from_text(text: str) -> pyproj.CRS:
    """Read a CRS from WKT, an authority code or a PROJ string.

    Raises
    ------
    InputError
        If it cannot be read or is not tied to the Earth.
    """
    _hold_context()
    try:
        crs = pyproj.CRS.from_user_input(text)
    except pyproj.exceptions.CRSError as error:
        raise InputError(f"The coordinate reference system cannot be read: {error}") from None
    if crs.geodetic_crs is None:
        raise InputError(
            f"The coordinate reference system “{crs.name}” is not tied to the Earth. "
            "Assign the layer a geographic or projected CRS.")
    if crs.is_geocentric:
        raise InputError(
            f"The coordinate reference system “{crs.name}” is geocentric (X, Y, Z). "
            "Reproject the layer to a geographic or projected CRS.")
    return crs


@lru_cache(maxsize=64)
def _transformer(source: str, target: str) -> pyproj.Transformer:
    return pyproj.Transformer.from_crs(
        crs_from_text(source), crs_from_text(target), always_xy=True)


def _transform(source: str, target: str, x, y) -> tuple[np.ndarray, np.ndarray]:
    x, y = np.broadcast_arrays(np.asarray(x, dtype=float), np.asarray(y, dtype=float))
    _hold_context()
    transformer = _transformer(source, target)
    if x.size == 1:
        # pyproj takes an array of one number for a point, by a conversion that numpy will refuse
        return tuple(np.full(x.shape, value) for value in transformer.transform(x.item(), y.item()))
    return tuple(np.asarray(values) for values in transformer.transform(x, y))


def to_lonlat(x, y, crs: str) -> tuple[np.ndarray, np.ndarray]:
    """Convert coordinates of a CRS to WGS 84 longitude and latitude.

    Parameters
    ----------
    x, y : array_like
        Coordinates in the order east, north (longitude, latitude).
    crs : str
        WKT or authority code.

    Returns
    -------
    lon, lat : ndarray
        Degrees; infinite where the CRS does not reach.
    """
    return _transform(crs, "EPSG:4326", x, y)


def from_lonlat(lon, lat, crs: str) -> tuple[np.ndarray, np.ndarray]:
    """Convert WGS 84 longitude and latitude [°] to a CRS, east first."""
    return _transform("EPSG:4326", crs, lon, lat)


@lru_cache(maxsize=64)
def world_edges(crs: str) -> tuple[float, float] | None:
    """Find where a CRS cuts the world along the meridian of 180°.

    Returns
    -------
    (west, east) : tuple of float, or None
        The x coordinates on both sides of the cut, for a geographic CRS or a
        cylindrical projection; None where nothing is cut or the cut is no
        line of constant x.
    """
    x, y = from_lonlat([-180 + 1e-9, 180 - 1e-9, -180 + 1e-9, 180 - 1e-9], [0, 0, 40, 40], crs)
    if not np.all(np.isfinite([x, y])):
        return None
    width, other = x[1] - x[0], x[3] - x[2]
    if width > 100 and abs(width - other) < 1e-6 * width and abs(y[0] - y[1]) < 1e-6 * width:
        return float(x[0]), float(x[1])
    return None


class LocalFrame:
    """East/north metres at many sites, and their place in one CRS.

    Parameters
    ----------
    lon, lat : array_like, shape (n,)
        The sites, WGS 84 [°].
    crs : str
        The CRS to place points in.
    reach_m : array_like
        How far from each site points will be placed [m]; a scalar or shape (n,).
    """

    def __init__(self, lon, lat, crs: str, reach_m):
        self.lon, self.lat = np.atleast_1d(lon).astype(float), np.atleast_1d(lat).astype(float)
        self.crs = crs
        self.reach_m = np.broadcast_to(np.asarray(reach_m, dtype=float), self.lon.shape)
        self.edges = world_edges(crs)
        self._fit()

    def _fit(self):
        unit = np.array([[0, 0], [1, 0], [-1, 0], [0, 1], [0, -1],
                         [.7, .7], [-.7, .7], [-.7, -.7], [.7, -.7],
                         [.5, .8], [-.8, .5], [-.5, -.8], [.8, -.5]], dtype=float)
        east = unit[:, :1] * self.reach_m
        north = unit[:, 1:] * self.reach_m
        x, y = self.place_exactly(np.arange(len(self.lon)), east, north)
        design = self._terms(unit[:, 0], unit[:, 1])
        solve = np.linalg.pinv(design[:9])
        scaled = np.stack([solve @ x[:9], solve @ y[:9]])  # (2, 6, n)
        with np.errstate(invalid="ignore"):
            miss = np.hypot(*(np.stack([x[9:], y[9:]]) - design[9:] @ scaled))
            scale = np.hypot(scaled[:, 1], scaled[:, 2]).max(axis=0)
            self.is_exact_needed = ~(np.max(miss, axis=0) <= TOLERANCE * scale)
        self.origin = np.stack([x[0], y[0]], axis=-1)
        scaled[:, 0] = self.origin.T
        power = np.array([0, 1, 1, 2, 2, 2])[:, None]
        self.coefficients = np.moveaxis(scaled / self.reach_m**power, -1, 0)  # (n, 2, 6)

    @staticmethod
    def _terms(east, north):
        return np.stack([np.ones_like(east), east, north, east**2, east * north, north**2], axis=-1)

    def place_exactly(self, site, east, north):
        """Place points by geodesic; `site` broadcasts with the points."""
        east, north = np.broadcast_arrays(np.asarray(east, float), np.asarray(north, float))
        lon0 = np.broadcast_to(self.lon[site], east.shape)
        lat0 = np.broadcast_to(self.lat[site], east.shape)
        azimuth = np.degrees(np.arctan2(east, north))
        finite = np.isfinite(lon0) & np.isfinite(lat0)
        lon, lat, _ = GEOD.fwd(np.where(finite, lon0, 0.0), np.where(finite, lat0, 0.0),
                                azimuth, np.hypot(east, north))
        x, y = from_lonlat(lon, lat, self.crs)
        x, y = np.where(finite, x, np.nan), np.where(finite, y, np.nan)
        if self.edges is not None:
            x0 = np.broadcast_to(from_lonlat(self.lon, self.lat, self.crs)[0][site], x.shape)
            width = self.edges[1] - self.edges[0]
            with np.errstate(invalid="ignore"):
                x = x - width * np.round((x - x0) / width)
        return x, y

    def place(self, site, east_m, north_m) -> tuple[np.ndarray, np.ndarray]:
        """Place local points in the CRS.

        Parameters
        ----------
        site : int
            Index of the site.
        east_m, north_m : array_like
            Points [m], one common shape.

        Returns
        -------
        x, y : ndarray
            Coordinates in the CRS. Across the meridian of 180° they run on
            beyond the edge of the map (see `world_edges`), so that shapes keep
            their form; the writer splits them.
        """
        if self.is_exact_needed[site]:
            return self.place_exactly(site, east_m, north_m)
        east, north = np.asarray(east_m, float), np.asarray(north_m, float)
        k = self.coefficients[site]
        return tuple(
            c[0] + east * (c[1] + c[3] * east + c[4] * north) + north * (c[2] + c[5] * north)
            for c in k)

    def locate(self, site, x, y) -> np.ndarray:
        """Find the local metres of CRS coordinates near a site (the inverse of `place`).

        Returns
        -------
        ndarray, shape (..., 2)
            East and north [m].
        """
        if self.is_exact_needed[site]:
            return self._locate_exact(site, x, y)
        k = self.coefficients[site]
        inverse = np.linalg.inv(k[:, 1:3])
        delta = np.stack([x - k[0, 0], y - k[1, 0]], axis=-1)
        local = delta @ inverse.T
        for _ in range(2):
            # far points would make the correction run away; they are clipped off later anyway
            near = np.clip(local, -4 * self.reach_m[site], 4 * self.reach_m[site])
            bend = self._terms(near[..., 0], near[..., 1])[..., 3:] @ k[:, 3:].T
            local = (delta - bend) @ inverse.T
        return local

    def _locate_exact(self, site, x, y):
        lon, lat = to_lonlat(x, y, self.crs)
        finite = np.isfinite(lon) & np.isfinite(lat)
        azimuth, _back, distance = GEOD.inv(
            np.full(lon.shape, self.lon[site]), np.full(lon.shape, self.lat[site]),
            np.where(finite, lon, 0.0), np.where(finite, lat, 0.0))
        azimuth = np.radians(azimuth)
        local = np.stack([distance * np.sin(azimuth), distance * np.cos(azimuth)], axis=-1)
        return np.where(finite[..., None], local, np.nan)

    def units_per_metre(self, site) -> float:
        """Return the mean length of a metre in CRS units at a site."""
        k = self.coefficients[site]
        return float(np.sqrt(abs(np.linalg.det(k[:, 1:3]))))
