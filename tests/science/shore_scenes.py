"""Straight shores, basins and things in the water around one place, for tests whose answer a person can tell."""

import numpy as np
from stillwater.siting.ground.polygons import PolygonLayer, Ring
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.settings import Settings

UTM, EAST, NORTH = "EPSG:32633", 500_000.0, 4_980_000.0
"""A projected CRS, and a place on its central meridian, where grid north is true north."""
L1_M = 299_792_458.0 / 1575.42e6
"""Wavelength of GPS L1: the speed of light over the carrier's frequency (IS-GPS-200)."""
ANGLES = tuple(np.arange(5.0, 21.0))
SETTINGS = Settings(L1_M, ANGLES, bins=36)
FAR = 3000.0


def box(west, south, east, north, group=0):
    """Make a rectangle of metres around the place."""
    xy = np.array([[west, south], [east, south], [east, north], [west, north]], float) + (EAST, NORTH)
    return Ring(xy, False, group)


def layer(*rings, groups=1, name="water"):
    """Make a polygon layer of rings."""
    return PolygonLayer([*rings], UTM, name, groups)


def sea(west=-FAR, **more):
    """Make layers of water everywhere east of a straight shore."""
    return SurfaceLayers(**{"water": layer(box(west, -FAR, FAR, FAR)), "is_sea": True, **more})


def avoiding(ring, name, share=1.0, **more):
    """Make open water with one area to avoid, spoiled a share of the time."""
    return sea(avoid=layer(ring, name="avoid"), avoid_names=[name], avoid_shares=np.array([share]), **more)


def towards(azimuth_deg, settings=SETTINGS):
    """Return the bin that holds an azimuth [°]."""
    return int(azimuth_deg % 360.0 // settings.bin_width_deg)
