"""Local metres ↔ any CRS: true north and true scale, measured by geodesics and by chords in space."""

import numpy as np
import pyproj
import pytest
from stillwater.siting.errors import InputError
from stillwater.siting.geometry.fresnel import first_zone, outline
from stillwater.siting.geometry.localframe import LocalFrame, crs_from_text, from_lonlat, to_lonlat, world_edges
from stillwater.siting.signals import wavelength_m

L1 = wavelength_m("GPS L1")
LENGTH_TOLERANCE = 1e-3
BEARING_TOLERANCE_DEG = 0.05
ROUND_TRIP_TOLERANCE = 1e-4  # of the reach
GEOD = pyproj.Geod(ellps="WGS84")
GEOCENTRIC = pyproj.Transformer.from_crs("EPSG:4979", "EPSG:4978", always_xy=True)

# CRS, longitude, latitude
PLACES = {
    "geographic": ("EPSG:4326", 14.2, 45.3),
    "geographic, ellipsoid GRS 80": ("EPSG:4258", 14.2, 45.3),
    "Web Mercator at 65° N": ("EPSG:3857", -22.0, 65.0),
    "edge of a UTM zone, where north converges": ("EPSG:32633", 17.95, 60.0),
    "far outside a UTM zone": ("EPSG:32633", 21.0, 65.0),
    "geographic at 179.99° E": ("EPSG:4326", 179.99, -16.8),
    "Web Mercator at 179.999° E": ("EPSG:3857", 179.999, -16.8),
    "UTM at 180°": ("EPSG:32601", -179.999, 52.0),
    "geographic at 89° S": ("EPSG:4326", 33.0, -89.0),
    "geographic, a kilometre from the pole": ("EPSG:4326", -120.0, 89.99),
    "polar stereographic at 89° S": ("EPSG:3031", 120.0, -89.0),
    "polar stereographic on the pole's doorstep": ("EPSG:3031", 120.0, -89.9999),
    "a grid in feet": ("EPSG:2272", -76.5, 41.2),
}
# height [m], elevation [°]: from a footprint of 5 m to one that ends 1.3 km out
FOOTPRINTS = [(2.0, 25.0), (5.0, 10.0), (100.0, 5.0)]


def measured(lon, lat, crs, ring_xy):
    """Measure a ring of 72 vertices on the ground: lengths of both axes [m] and the bearing from the site [°]."""
    back = pyproj.Transformer.from_crs(crs, "EPSG:4326", always_xy=True)
    ring_lon, ring_lat = back.transform(ring_xy[:, 0], ring_xy[:, 1])
    length = GEOD.inv(ring_lon[0], ring_lat[0], ring_lon[36], ring_lat[36])[2]
    width = GEOD.inv(ring_lon[18], ring_lat[18], ring_lon[54], ring_lat[54])[2]
    bearing, _back, far = GEOD.inv(lon, lat, ring_lon[0], ring_lat[0])
    return length, width, bearing % 360.0, far


def turned(a, b):
    """Return the angle between two bearings [°]."""
    return abs((a - b + 180.0) % 360.0 - 180.0)


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("height, elevation", FOOTPRINTS)
def test_axes_and_bearings_measured_by_geodesics_are_true(place, height, elevation):
    crs, lon, lat = PLACES[place]
    zone = first_zone(height, elevation, L1)
    frame = LocalFrame([lon], [lat], crs, float(zone.far_m))
    for azimuth in (0.0, 37.5, 90.0, 161.0, 180.0, 262.5, 359.0):
        x, y = frame.place(0, *np.moveaxis(outline(zone, azimuth), -1, 0))
        length, width, bearing, far = measured(lon, lat, crs, np.stack([x, y], axis=-1))
        assert length == pytest.approx(2 * float(zone.semi_major_m), rel=LENGTH_TOLERANCE)
        assert width == pytest.approx(2 * float(zone.semi_minor_m), rel=LENGTH_TOLERANCE)
        assert far == pytest.approx(float(zone.far_m), rel=LENGTH_TOLERANCE)
        assert turned(bearing, azimuth) < BEARING_TOLERANCE_DEG


@pytest.mark.parametrize("place", PLACES)
def test_chords_in_space_agree_with_local_metres(place):
    """No geodesic here: east and north are projections of geocentric vectors on the site's own axes."""
    crs, lon, lat = PLACES[place]
    reach = 100.0
    frame = LocalFrame([lon], [lat], crs, reach)
    azimuth = np.radians(np.arange(0.0, 360.0, 15.0))
    east, north = reach * np.sin(azimuth), reach * np.cos(azimuth)
    x, y = frame.place(0, east, north)
    back = pyproj.Transformer.from_crs(crs, "EPSG:4326", always_xy=True)
    points = np.stack(GEOCENTRIC.transform(*back.transform(x, y), np.zeros_like(x)), axis=-1)
    points = points - np.array(GEOCENTRIC.transform(lon, lat, 0.0))
    lam, phi = np.radians(lon), np.radians(lat)
    east_axis = np.array([-np.sin(lam), np.cos(lam), 0.0])
    north_axis = np.array([-np.sin(phi) * np.cos(lam), -np.sin(phi) * np.sin(lam), np.cos(phi)])
    assert np.abs(points @ east_axis - east).max() < LENGTH_TOLERANCE * reach
    assert np.abs(points @ north_axis - north).max() < LENGTH_TOLERANCE * reach


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("reach", [30.0, 1300.0])
def test_locate_is_the_way_back_of_place(place, reach):
    crs, lon, lat = PLACES[place]
    frame = LocalFrame([lon], [lat], crs, reach)
    azimuth = np.radians(np.arange(0.0, 360.0, 15.0))
    radius = np.array([0.0, 0.1, 0.5, 1.0])[:, None] * reach
    east, north = radius * np.sin(azimuth), radius * np.cos(azimuth)
    local = frame.locate(0, *frame.place(0, east, north))
    assert np.abs(local[..., 0] - east).max() < ROUND_TRIP_TOLERANCE * reach
    assert np.abs(local[..., 1] - north).max() < ROUND_TRIP_TOLERANCE * reach


def test_a_footprint_across_180_degrees_keeps_its_form():
    frame = LocalFrame([179.999], [0.0], "EPSG:4326", 1000.0)
    x, _y = frame.place(0, np.array([0.0, 500.0, 1000.0]), np.zeros(3))
    assert np.all(np.diff(x) > 0) and x[-1] > 180.0
    assert frame.edges == pytest.approx((-180.0, 180.0))


def test_the_cut_of_the_world_is_known_where_the_map_has_one():
    half = np.pi * 6_378_137.0  # Web Mercator's half width, EPSG Guidance Note 7-2 (from memory)
    assert world_edges("EPSG:3857") == pytest.approx((-half, half))
    assert world_edges("EPSG:3031") is None
    assert world_edges("EPSG:32633") is None


def test_each_site_has_its_own_frame():
    lon, lat = [14.0, -22.0, 179.99], [45.0, 65.0, -16.0]
    together = LocalFrame(lon, lat, "EPSG:3857", [50.0, 500.0, 5.0])
    for i in range(3):
        alone = LocalFrame([lon[i]], [lat[i]], "EPSG:3857", together.reach_m[i])
        assert np.allclose(together.place(i, 3.0, 4.0), alone.place(0, 3.0, 4.0), rtol=0, atol=1e-6)


def test_web_mercator_at_60_north_draws_a_metre_twice_as_long():
    # 1/cos 60° on a sphere; the ellipsoid changes it by less than 0.5 % (derived here)
    assert LocalFrame([10.0], [60.0], "EPSG:3857", 10.0).units_per_metre(0) == pytest.approx(2.0, rel=0.005)


def test_a_site_without_a_position_spoils_only_itself():
    frame = LocalFrame([np.nan, 14.0], [np.nan, 45.0], "EPSG:4326", 50.0)
    assert np.isnan(frame.place(0, 1.0, 1.0)).all()
    assert np.isfinite(frame.place(1, 1.0, 1.0)).all()


def test_a_position_that_a_crs_cannot_express_is_not_finite():
    lon, lat = to_lonlat([1e12], [1e12], "EPSG:32633")
    assert not np.isfinite([lon[0], lat[0]]).all()
    assert np.allclose(from_lonlat(*to_lonlat(500000.0, 4980000.0, "EPSG:32633"), "EPSG:32633"),
                       [500000.0, 4980000.0], atol=1e-4)


ENGINEERING = 'LOCAL_CS["site grid",UNIT["metre",1],AXIS["Easting",EAST],AXIS["Northing",NORTH]]'


def test_an_engineering_crs_is_refused_because_it_is_not_tied_to_the_earth():
    with pytest.raises(InputError, match="site grid.*not tied to the Earth"):
        crs_from_text(ENGINEERING)
    with pytest.raises(InputError, match="not tied to the Earth"):
        LocalFrame([14.0], [45.0], ENGINEERING, 10.0)


def test_a_geocentric_crs_and_nonsense_are_refused():
    with pytest.raises(InputError, match="geocentric"):
        crs_from_text("EPSG:4978")
    with pytest.raises(InputError, match="cannot be read"):
        crs_from_text("no such system")
