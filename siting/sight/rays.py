"""Rays from a site over a raster: which cell lies under a given azimuth and distance.

Near the site the quadratic map of `LocalFrame` serves, beyond `NEAR_M` polynomials in distance
through points that are placed by geodesic, one for each azimuth; where the map is too bent even
for those (beside a pole), each point goes through the geodesic.
"""
from __future__ import annotations

import numpy as np

from ..ground.rasters import Raster
from ..ground.rastersampling import RasterSampler

NEAR_M = 3000.0
"""Up to here the quadratic map is exact enough for single cells [m]."""
PLACING_TOLERANCE = 0.1
"""Largest accepted error of a polynomial [cells]."""
DEGREES = (5, 10)
CHECKED_AT = np.array([0.12, 0.45, 0.8])


class RayMap:
    """Places rays of many sites on one raster.

    Parameters
    ----------
    raster : Raster
    lon, lat : ndarray, shape (n,)
        The sites, WGS 84 [°].
    reach_m : float
        Length of the rays [m].
    """

    def __init__(self, raster: Raster, lon, lat, reach_m: float):
        self.raster, self.reach_m = raster, float(reach_m)
        self.near = RasterSampler(raster, lon, lat, min(NEAR_M, self.reach_m))
        self.far = RasterSampler(raster, lon, lat, self.reach_m)
        self.world_cols = self._world_cols()

    def _world_cols(self) -> int:
        """Return how many columns go round the world; 0 where columns do not repeat."""
        _a, b, c, _d, e, _f = self.raster.affine
        edges = self.near.frame.edges
        return 0 if edges is None or c or e else int(round((edges[1] - edges[0]) / abs(b)))

    def rays(self, site: int, azimuth_deg) -> Rays | None:
        """Return the rays of a site; None where the raster's CRS cannot show it."""
        return Rays(self, site, azimuth_deg) if self.near.is_on_map(site) else None

    def wrapped(self, col):
        """Turn columns by a full circle where that brings them onto the raster."""
        if not self.world_cols:
            return col
        width = self.raster.shape[1]
        for turn in (self.world_cols, -self.world_cols):
            moved = col + turn
            col = np.where(((col < 0) | (col >= width)) & (moved >= 0) & (moved < width), moved, col)
        return col

    def exact(self, site, east, north):
        """Place points by geodesic; fractional columns and rows, NaN off the map."""
        east, north = np.broadcast_arrays(np.asarray(east, float), np.asarray(north, float))
        if east.size == 1:
            # pyproj takes an array of one number for a point, by a conversion that numpy will refuse
            return tuple(part[:1].reshape(east.shape) for part in self.exact(
                site, np.repeat(east.ravel(), 2), np.repeat(north.ravel(), 2)))
        x, y = (np.where(np.isfinite(v), v, np.nan) for v in self.near.frame.place_exactly(site, east, north))
        return self.raster.pixel_of(x + self.near.turn[site], y)


class Rays:
    """The rays of one site.

    Attributes
    ----------
    cells_per_m : float
        Most cells, in columns or rows, that a metre of any ray passes.
    radius_m : float
        Half the diagonal of a cell [m].
    own_cell : tuple of int
        Row and column under the site.
    """

    def __init__(self, rays_of: RayMap, site: int, azimuth_deg):
        self._map, self.site = rays_of, site
        azimuth = np.radians(np.asarray(azimuth_deg, float))
        self._sine, self._cosine = np.sin(azimuth), np.cos(azimuth)
        near, far = rays_of.near, rays_of.far
        linear = near.coefficients[site][:, 1:3]
        inverse = np.linalg.inv(linear)
        self.along = np.stack([self._sine, self._cosine], axis=-1) @ inverse  # metres ahead per column and row
        self.radius_m = 0.5 * float(max(np.hypot(*(inverse @ [1.0, 1.0])), np.hypot(*(inverse @ [1.0, -1.0]))))
        self.own_cell = tuple(int(np.floor(v)) for v in near.coefficients[site][::-1, 0])
        self._near = None if near.frame.is_exact_needed[site] else self._quadratic(near)
        speed = self._speed(linear)
        self._far = self._poly = None
        self._fitted = False
        bend = PLACING_TOLERANCE * 10.0 / max(speed, 1e-12)
        if not far.frame.is_exact_needed[site] and rays_of.reach_m * 2e-5 < bend:
            self._far = self._quadratic(far)
            k = far.coefficients[site]
            speed = max(speed, self._speed(k[:, 1:3]) + 2.0 * rays_of.reach_m * np.abs(k[:, 3:]).sum(axis=1).max())
        else:
            self._fit()
            speed = max(speed, self._speed_of_poly())
        self.cells_per_m = float(speed)

    @staticmethod
    def _speed(linear):
        return float(np.hypot(linear[:, 0], linear[:, 1]).max())

    def _speed_of_poly(self):
        if self._poly is None:
            far = self._map.reach_m
            one, other = (self._geodesic(np.arange(len(self._sine)), np.full(len(self._sine), d))
                          for d in (far - 100.0, far))
            with np.errstate(invalid="ignore"):
                steps = np.abs(np.array(one) - np.array(other)) / 100.0
            return float(np.nanmax(steps)) if np.isfinite(steps).any() else 0.0
        power = np.arange(self._poly.shape[-1])
        return float(np.abs(self._poly @ power).max() / self._map.reach_m)

    def _quadratic(self, sampler):
        """Chain the map with the azimuths: (2, rays, 3), columns and rows as polynomials of metres."""
        s, c = self._sine, self._cosine
        k = sampler.coefficients[self.site]
        return np.stack([np.stack([np.full_like(s, q[0]), q[1] * s + q[2] * c,
                                   (q[3] * s + q[4] * c) * s + q[5] * c * c], axis=-1) for q in k])

    def _geodesic(self, ray, distance):
        return self._map.exact(self.site, distance * self._sine[ray], distance * self._cosine[ray])

    def _fit(self):
        """Fit polynomials in distance over the reach; `_poly` stays None where none is good enough."""
        self._fitted = True
        rays = np.arange(len(self._sine))
        for degree in DEGREES:
            part = (1.0 - np.cos(np.pi * np.arange(degree + 1) / degree)) / 2.0
            place = np.stack(self._geodesic(rays[:, None], self._map.reach_m * part))
            if not np.isfinite(place).all():
                return
            poly = place @ np.linalg.inv(np.vander(part, increasing=True)).T
            some = rays[::max(len(rays) // 8, 1), None]
            truth = np.stack(self._geodesic(some, self._map.reach_m * CHECKED_AT))
            guess = poly[:, some[:, 0]] @ np.vander(CHECKED_AT, degree + 1, increasing=True).T
            if np.abs(truth - guess).max() <= PLACING_TOLERANCE:
                self._poly = poly
                return

    def roughly(self, ray, distance_m):
        """Place points to a cell or so, for looking up blocks of cells.

        Parameters
        ----------
        ray : ndarray of int
            Which azimuth; broadcasts with the distances.
        distance_m : ndarray

        Returns
        -------
        col, row : ndarray of float
            NaN off the map.
        """
        return self._evaluate(self._far, 1.0, ray, distance_m) if self._far is not None else self._by_geodesic(
            ray, distance_m)

    def exactly(self, ray, distance_m):
        """Place points to a tenth of a cell; like `roughly`."""
        is_near = distance_m <= min(NEAR_M, self._map.reach_m)
        if self._near is not None and np.all(is_near):
            return self._evaluate(self._near, 1.0, ray, distance_m)
        if not self._fitted:
            self._fit()
        col, row = self._by_geodesic(ray, distance_m)
        if self._near is not None and np.any(is_near):
            col1, row1 = self._evaluate(self._near, 1.0, ray, distance_m)
            col, row = np.where(is_near, col1, col), np.where(is_near, row1, row)
        return col, row

    def _by_geodesic(self, ray, distance):
        if self._poly is None:
            col, row = self._geodesic(ray, distance)
            return self._map.wrapped(col), row
        return self._evaluate(self._poly, self._map.reach_m, ray, distance)

    def _evaluate(self, poly, unit, ray, distance):
        t = distance / unit if unit != 1.0 else distance
        found = []
        for k in poly:
            mine = k[ray]
            value = mine[..., -1] * t
            for power in range(k.shape[-1] - 2, 0, -1):
                value += mine[..., power]
                value *= t
            value += mine[..., 0]
            found.append(value)
        return self._map.wrapped(found[0]), found[1]
