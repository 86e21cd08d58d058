r"""The footprint: the first Fresnel zone of a reflection on a horizontal plane.

The points of the plane whose reflected path is longer than the specular one by
at most half a wavelength fill an ellipse, its long axis along the satellite's
azimuth::

        antenna                        satellite, azimuth A, elevation angle e
           |  \\                      /
         h |     \\               /
           |        \\ e      e /
    -------o-----------(====x====)------------->  towards A
           site         <-- 2a -->
           |<---- R ---->|            full length 2a, full width 2b

The expressions are exact for a plane and a source at infinity; they follow from
the path length sqrt(h² + d²) - d·cos e (derived, and checked numerically in the
tests against contours of that path length and against ITU-R P.526 section 2).
"""
from __future__ import annotations

from typing import NamedTuple

import numpy as np


class Ellipse(NamedTuple):
    """First Fresnel zones on a plane; each member is an array of one common shape [m]."""

    semi_major_m: np.ndarray
    semi_minor_m: np.ndarray
    centre_m: np.ndarray

    @property
    def near_m(self) -> np.ndarray:
        """Distance [m] from the site to the nearer end of the long axis; negative behind the site."""
        return self.centre_m - self.semi_major_m

    @property
    def far_m(self) -> np.ndarray:
        """Distance [m] from the site to the farther end of the long axis."""
        return self.centre_m + self.semi_major_m

    @property
    def area_m2(self) -> np.ndarray:
        """Area [m²]."""
        return np.pi * self.semi_major_m * self.semi_minor_m


def first_zone(height_m, elevation_deg, wavelength_m) -> Ellipse:
    """Compute the first Fresnel zone on a horizontal plane below an antenna.

    Parameters
    ----------
    height_m : array_like
        Height of the antenna's phase centre above the plane [m], > 0.
    elevation_deg : array_like
        Elevation angle of the satellite [°], 0 < e <= 90; broadcasts with `height_m`.
    wavelength_m : array_like
        Carrier wavelength [m]; broadcasts too.

    Returns
    -------
    Ellipse
        Semi-axes and centre distance [m], of the broadcast shape. NaN where the
        height is not above zero or the angle is outside (0, 90].

    Notes
    -----
    b = sqrt(λh/sin e + (λ/(2 sin e))²), a = b/sin e,
    R = h/tan e + λ/(2 sin e tan e).

    Examples
    --------
    >>> z = first_zone(10.0, 15.0, 0.190293673)
    >>> [round(float(v), 4) for v in z]
    [10.5724, 2.7363, 38.6925]
    """
    h = np.asarray(height_m, dtype=float)
    e = np.radians(np.asarray(elevation_deg, dtype=float))
    lam = np.asarray(wavelength_m, dtype=float)
    with np.errstate(invalid="ignore", divide="ignore"):
        ok = (h > 0) & (e > 0) & (e <= np.pi / 2 + 1e-12)
        h = np.where(ok, h, np.nan)
        sin_e, cos_e = np.sin(e), np.cos(e)
        half = lam / (2.0 * sin_e)
        b = np.sqrt(lam * h / sin_e + half**2)
        a = b / sin_e
        r = (h + half) * cos_e / sin_e
    return Ellipse(a, b, r)


def outline(ellipse: Ellipse, azimuth_deg, vertices: int = 72) -> np.ndarray:
    """Trace ellipses as closed rings in local metres.

    Parameters
    ----------
    ellipse : Ellipse
        Ellipses of shape S.
    azimuth_deg : array_like
        Azimuth of each [° clockwise from north]; broadcasts with S.
    vertices : int
        Number of distinct vertices of each ring.

    Returns
    -------
    ndarray, shape (..., vertices + 1, 2)
        East and north [m] from the site; the last vertex repeats the first. The
        rings run counter-clockwise.
    """
    azimuth = np.radians(np.asarray(azimuth_deg, dtype=float))[..., None]
    angle = -np.linspace(0.0, 2.0 * np.pi, vertices + 1)
    along = ellipse.centre_m[..., None] + ellipse.semi_major_m[..., None] * np.cos(angle)
    across = ellipse.semi_minor_m[..., None] * np.sin(angle)
    along, across, azimuth = np.broadcast_arrays(along, across, azimuth)
    east = along * np.sin(azimuth) + across * np.cos(azimuth)
    north = along * np.cos(azimuth) - across * np.sin(azimuth)
    ring = np.stack([east, north], axis=-1)
    ring[..., -1, :] = ring[..., 0, :]
    return ring


def half_width_rad(ellipse: Ellipse, radius_m) -> np.ndarray:
    """Measure how wide an ellipse is, in azimuth, on circles around the site.

    Parameters
    ----------
    ellipse : Ellipse
        Ellipses of shape S.
    radius_m : array_like
        Radii [m], > 0; broadcasts with S.

    Returns
    -------
    ndarray
        Half the arc of azimuth [rad] that lies inside the ellipse: 0 where the
        circle misses it, π where the whole circle lies inside.

    Notes
    -----
    Put (r cos φ, r sin φ) into the ellipse's equation: a quadratic in cos φ whose
    root on the far side of -1 … 1 is the edge.
    """
    a, b, c = ellipse
    r = np.asarray(radius_m, dtype=float)
    # cos φ from  k cos² φ + 2 m cos φ - n = 0,  k >= 0 since a >= b
    k = r**2 * (1.0 / b**2 - 1.0 / a**2)
    m = r * c / a**2
    n = r**2 / b**2 + c**2 / a**2 - 1.0
    # the stable form n / (m + sqrt(m² + k n)) also serves k -> 0 (e near 90°)
    disc = m**2 + k * n
    with np.errstate(invalid="ignore", divide="ignore"):
        cosine = n / (m + np.sqrt(np.maximum(disc, 0.0)))
    cosine = np.where(disc < 0, -1.0, cosine)
    # m = k = 0 only straight overhead: the circle is inside or it is not
    cosine = np.where(np.isnan(cosine), np.where(n <= 0, -1.0, 1.0), cosine)
    return np.arccos(np.clip(cosine, -1.0, 1.0))


def path_excess_m(height_m, elevation_deg, azimuth_deg, east_m, north_m) -> np.ndarray:
    """Compute how much longer a path by a ground point is than the specular one.

    Parameters
    ----------
    height_m, elevation_deg, azimuth_deg : array_like
        Antenna height [m], elevation angle [°] and azimuth [°] of the satellite.
    east_m, north_m : array_like
        The ground point, from the site [m].

    Returns
    -------
    ndarray
        Excess path [m]; the first Fresnel zone is where it is at most λ/2.
    """
    e, az = np.radians(elevation_deg), np.radians(azimuth_deg)
    along = east_m * np.sin(az) + north_m * np.cos(az)
    path = np.sqrt(east_m**2 + north_m**2 + height_m**2) - along * np.cos(e)
    return path - height_m * np.sin(e)
