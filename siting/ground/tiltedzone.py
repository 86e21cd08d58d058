r"""The first Fresnel zone on a tilted plane, as it lies on the map.

The plane passes below (or above) the site's foot; everything is turned into the
plane, where the zone is the ellipse of `siting.geometry.fresnel.first_zone`, and laid
back on the horizontal::

      antenna P                         s: unit vector to the satellite
         |\\                             n: upward unit normal of the plane
       H |  \\ h' = H·n_z               sin e' = n·s
         |    F____                     F: foot of the perpendicular from P
         |         ‾‾‾‾‾====‾‾‾‾        the ellipse R(h', e') lies from F
         O foot of the site             along s - (n·s)·n

Seen from above an ellipse stays an ellipse: a centre and two conjugate half
axes, the image of the unit disc.
"""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..geometry.fresnel import first_zone

GRAZING = 1e-9
"""Sine of the elevation angle over the plane below which the satellite counts as in it: rounding."""


class TiltedZone(NamedTuple):
    """First Fresnel zones of shape S on tilted planes, seen from above.

    A point (u, v) of the unit disc stands for centre + u·major + v·minor.

    Attributes
    ----------
    centre_m, major_m, minor_m : ndarray, shape S + (2,)
        Centre and two conjugate half axes, east and north of the site [m]; `major_m` points away from the
        perpendicular's foot. NaN where there is no reflection.
    reflection_m : ndarray, shape S + (2,)
        The reflection point, east and north [m].
    elevation_deg : ndarray, shape S
        Elevation angle of the satellite over the plane [°]; at most 0 where the plane is turned away.
    """

    centre_m: np.ndarray
    major_m: np.ndarray
    minor_m: np.ndarray
    reflection_m: np.ndarray
    elevation_deg: np.ndarray

    @property
    def far_m(self) -> np.ndarray:
        """Distance [m] from the site to the farther end of the long axis, shape S."""
        return np.linalg.norm(self.centre_m + self.major_m, axis=-1)

    @property
    def near_m(self) -> np.ndarray:
        """Distance [m] from the site to the nearer end of the long axis, shape S; negative behind the site."""
        near, far = self.centre_m - self.major_m, self.centre_m + self.major_m
        side = np.where(np.sum(near * far, axis=-1) < 0, -1.0, 1.0)
        return side * np.linalg.norm(near, axis=-1)

    @property
    def area_m2(self) -> np.ndarray:
        """Area seen from above [m²], shape S."""
        a, b = self.major_m, self.minor_m
        return np.pi * np.abs(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])

    def at(self, index) -> TiltedZone:
        """Return some of the zones; `index` picks from shape S."""
        return TiltedZone(*(part[index] for part in self))

    def where(self, condition, other: TiltedZone) -> TiltedZone:
        """Return these zones where a condition of shape S holds, other ones elsewhere."""
        condition = np.asarray(condition)
        return TiltedZone(*(np.where(condition if mine.ndim == condition.ndim else condition[..., None], mine, its)
                            for mine, its in zip(self, other)))

    def outline(self, vertices: int = 72) -> np.ndarray:
        """Trace the zones as closed rings, shape S + (vertices + 1, 2), east and north [m]; counter-clockwise."""
        angle = -np.linspace(0.0, 2.0 * np.pi, vertices + 1)[:, None]
        ring = (self.centre_m[..., None, :] + self.major_m[..., None, :] * np.cos(angle)
                + self.minor_m[..., None, :] * np.sin(angle))
        ring[..., -1, :] = ring[..., 0, :]
        return ring


def tilted_zone(height_m, slope_east, slope_north, azimuth_deg, elevation_deg, wavelength_m) -> TiltedZone:
    """Compute the first Fresnel zone on a tilted plane below an antenna.

    Parameters
    ----------
    height_m : array_like
        Vertical height of the antenna over the plane, at the site's foot [m].
    slope_east, slope_north : array_like
        Rise of the plane towards east and towards north [m/m].
    azimuth_deg, elevation_deg : array_like
        Satellite [°]; the elevation angle over the horizontal, 0 < e <= 90.
    wavelength_m : array_like
        Carrier wavelength [m]. All of them broadcast to one shape S.

    Returns
    -------
    TiltedZone
        Of shape S; NaN where the antenna is not above the plane, or the satellite is not (e' <= 0).

    Notes
    -----
    Exact for an endless plane and a source at infinity (derived; the tests compare it with path lengths
    minimised numerically).

    Examples
    --------
    Ground that falls by 5° towards a satellite in the north brings the reflection nearer:

    >>> import numpy as np
    >>> z = tilted_zone(5.0, 0.0, -np.tan(np.radians(5.0)), 0.0, 10.0, 0.190293673)
    >>> [round(float(v), 2) for v in z.reflection_m]
    [0.0, 18.08]
    """
    height, east, north, azimuth, elevation, wavelength = np.broadcast_arrays(
        *(np.asarray(v, dtype=float) for v in (
            height_m, slope_east, slope_north, np.radians(azimuth_deg), np.radians(elevation_deg), wavelength_m)))
    up = 1.0 / np.sqrt(1.0 + east**2 + north**2)
    normal = (-east * up, -north * up, up)
    cosine = np.cos(elevation)
    to_satellite = (np.sin(azimuth) * cosine, np.cos(azimuth) * cosine, np.sin(elevation))
    sine = np.clip(sum(n * s for n, s in zip(normal, to_satellite)), -1.0, 1.0)
    local_deg = np.degrees(np.arcsin(sine))
    over = height * up
    is_lit = (elevation > 0) & (sine > GRAZING)
    zone = first_zone(over, np.where(is_lit, local_deg, np.nan), wavelength)

    along = np.stack([s - sine * n for s, n in zip(to_satellite, normal)])
    length = np.sqrt(np.sum(along**2, axis=0))
    # the satellite in the plane's zenith: a circle, any direction in the plane is as good
    zenith = length < 1e-9
    with np.errstate(invalid="ignore", divide="ignore"):
        along = np.where(zenith, np.stack([np.zeros_like(up), normal[2], -normal[1]]), along)
        along = along / np.sqrt(np.sum(along**2, axis=0))
        reach = np.where(np.isfinite(zone.centre_m), over * length / sine, np.nan)
    # along × n: to the right of it, seen from above
    across = (along[1] * normal[2] - along[2] * normal[1], along[2] * normal[0] - along[0] * normal[2])
    foot = np.stack([-over * normal[0], -over * normal[1]], axis=-1)
    ahead = np.stack([along[0], along[1]], axis=-1)
    return TiltedZone(
        foot + zone.centre_m[..., None] * ahead, zone.semi_major_m[..., None] * ahead,
        zone.semi_minor_m[..., None] * np.stack(across, axis=-1),
        foot + reach[..., None] * ahead, local_deg)
