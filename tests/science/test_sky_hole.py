"""The hole in the sky: where no satellite of an inclination and orbit radius can ever stand.

Outside check by spherical geometry alone: the subpoint of a satellite never lies beyond its inclination. The line of
sight of each direction is followed to the orbit's radius; where that point lies farther from the equator than the
inclination, the direction is in the hole.
"""
import numpy as np
import pymap3d
import pytest
from scipy.spatial import cKDTree
from stillwater.siting.sky.arcs import arcs_over
from stillwater.siting.sky.clock import read_date
from stillwater.siting.sky.empty import crossed_cells, empty_ranges
from stillwater.siting.sky.nominal import NominalOrbits, nominal_slots
from stillwater.siting.sky.sky import Sky

LATITUDES = [0.0, 20.0, 40.0, 58.0, -35.0, -70.0]
LOW, HIGH = 5.0, 20.0
DAYS = 10
TOLERANCE_DEG = 1.0


def beyond_deg(lat, azimuth, elevation, system):
    """How far beyond the inclination directions meet the orbit's sphere [°]; > 0 in the hole."""
    slots = nominal_slots([system])[0]
    radius = slots.axis_m[0]
    at = np.array(pymap3d.geodetic2ecef(lat, 0.0, 0.0))
    end = np.stack(pymap3d.aer2ecef(azimuth, elevation, 1.0, lat, 0.0, 0.0), axis=-1)
    sight = end - at
    along = sight @ at
    distance = -along + np.sqrt(along**2 + radius**2 - at @ at)
    latitude = np.degrees(np.arcsin((at + distance[..., None] * sight)[..., 2] / radius))
    return np.abs(latitude) - np.degrees(slots.inclination[0])


class _WalkerPart(NominalOrbits):
    """Only the satellites in medium orbit, of which the pattern speaks."""

    def __init__(self, system):
        super().__init__([system])
        self.names, self.systems = self.names[:24], self.systems[:24]


@pytest.fixture(scope="module", params=["GPS", "GLONASS", "Galileo", "BeiDou"])
def system_sky(request):
    return request.param, Sky(_WalkerPart(request.param), read_date("2026-06-01"), DAYS, 1.0, 26.0)


def cells(step_el):
    return np.meshgrid(np.arange(360) + 0.5, np.arange(LOW, HIGH + 1e-9, step_el), indexing="ij")


@pytest.mark.parametrize("lat", LATITUDES)
def test_no_satellite_ever_enters_the_hole(system_sky, lat):
    system, sky = system_sky
    arcs = arcs_over(sky, 0.0, lat)
    assert len(arcs.sine) > 10_000
    depth = beyond_deg(lat, arcs.azimuth_deg.astype(float), arcs.elevation_deg, system)
    assert depth.max() < 0.01  # the hole is exact; the samples are rounded
    # and by bins of 1°, as a mask shows it
    crossed = crossed_cells(arcs, 360, 1.0, 26.0)
    elevation = 1.0 + (np.arange(crossed.shape[1]) + 0.5) * 25.0 / crossed.shape[1]
    azimuth, elevation = np.meshgrid(np.arange(360) + 0.5, elevation, indexing="ij")
    assert beyond_deg(lat, azimuth, elevation, system)[crossed].max() < TOLERANCE_DEG


@pytest.mark.parametrize("lat", LATITUDES)
def test_galileo_fills_in_ten_days_what_geometry_allows(system_sky, lat):
    """Every direction outside the hole has a track within 1°; the other systems repeat sooner and leave more."""
    system, sky = system_sky
    arcs = arcs_over(sky, 0.0, lat)
    azimuth, elevation = cells(0.25)
    outside = beyond_deg(lat, azimuth, elevation, system) < 0

    def unit(a, e):
        a, e = np.radians(a), np.radians(e)
        return np.stack([np.cos(e) * np.sin(a), np.cos(e) * np.cos(a), np.sin(e)], axis=-1)

    tracks = cKDTree(unit(arcs.azimuth_deg, arcs.elevation_deg))
    chord, _index = tracks.query(unit(azimuth[outside], elevation[outside]))
    farthest = np.degrees(2 * np.arcsin(chord.max() / 2))
    # what the repeating tracks leave, measured here: Galileo 0.9°, BeiDou 1.8°, GPS 6.6°, GLONASS 7.5°
    limit = {"Galileo": TOLERANCE_DEG, "BeiDou": 2.0, "GPS": 7.0, "GLONASS": 8.0}[system]
    assert farthest < limit
    if system != "Galileo":
        assert farthest > TOLERANCE_DEG


@pytest.mark.parametrize("lat", [20.0, 40.0, -35.0])
def test_empty_directions_of_galileo_end_where_geometry_says(lat):
    sky = Sky(_WalkerPart("Galileo"), read_date("2026-06-01"), DAYS, LOW, HIGH)
    crossed = crossed_cells(arcs_over(sky, 0.0, lat), 360, LOW, HIGH)
    ranges = empty_ranges(crossed, LOW, HIGH, HIGH - LOW)
    azimuth, elevation = cells(0.25)
    by_geometry = np.flatnonzero((beyond_deg(lat, azimuth, elevation, "Galileo") > 0).all(axis=1))
    # counted from the pole's direction, so that a range over north is one
    turn = 180 if lat > 0 else 0
    found, expected = ((bins + turn) % 360 for bins in (ranges.bin, by_geometry))
    assert abs(found.min() - expected.min()) <= TOLERANCE_DEG and abs(found.max() - expected.max()) <= TOLERANCE_DEG
    assert len(found) == found.max() - found.min() + 1


def lowest_in_the_north(system, lat, sector=5.0):
    """Lowest angle within a sector towards the nearer pole, over ten days [°]."""
    sky = Sky(_WalkerPart(system), read_date("2026-06-01"), DAYS, 1.0, 89.0)
    arcs = arcs_over(sky, 0.0, lat)
    pole = 0.0 if lat > 0 else 180.0
    near = np.abs((arcs.azimuth_deg - pole + 180.0) % 360.0 - 180.0) <= sector
    return arcs.elevation_deg[near].min()


@pytest.mark.parametrize("lat", [20.0, 30.0, 40.0, 48.0, -27.0, -33.0, -38.0, -43.0])
def test_gps_never_comes_low_towards_the_pole(lat):
    """Common practice, no source: up to about 49° N GPS never comes low in the north; in southern Africa, South
    America and Australia never low in the south; GLONASS narrows that hole."""
    gps, glonass = lowest_in_the_north("GPS", lat), lowest_in_the_north("GLONASS", lat)
    assert gps > 40.0
    assert glonass < gps


def test_beyond_about_49_degrees_gps_comes_over_the_pole():
    assert lowest_in_the_north("GPS", 48.5) > 60.0
    assert lowest_in_the_north("GPS", 50.5) < 5.0
