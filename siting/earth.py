"""The Earth: its size, its ellipsoid, and what the air does to its curvature for radio."""
from __future__ import annotations

import pyproj

GEOD = pyproj.Geod(ellps="WGS84")
"""Distances and azimuths along the ellipsoid."""
AXIS_M, FLATTENING = 6_378_137.0, 1.0 / 298.257223563
"""WGS 84 ellipsoid (NGA.STND.0036; from memory)."""
RADIUS_M = 6_371_000.0
"""Mean radius [m]."""
LEAST_RADIUS_M = 6_335_000.0
"""Least radius of curvature of WGS 84, rounded down [m]: what is computed with it is never over-estimated."""
RADIO_K = 4.0 / 3.0
"""Effective radius of the Earth over the real one, for radio waves in a standard atmosphere (ITU-R P.526, section 1:
8500 km); 1 leaves refraction out."""
RADIO_RADIUS_M = RADIO_K * RADIUS_M
"""Effective radius for radio [m]."""
METRES_PER_DEGREE = 111_195.0
"""Of latitude, on a sphere of `RADIUS_M`."""
