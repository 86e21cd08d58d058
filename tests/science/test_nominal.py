"""The nominal constellations against what is published of them."""
import numpy as np
import pytest
from stillwater.siting.sky.clock import SIDEREAL_DAY_S, read_date
from stillwater.siting.sky.nominal import NominalOrbits, nominal_slots

TOLERANCE_PER_DAY = 0.002

# Revolutions in sidereal days until the track repeats, each from its system's open service documents as other texts
# cite them (GPS: SPS Performance Standard; Galileo: 17 in 10 days; GLONASS: 17 in 8; BeiDou: 13 in 7)
PUBLISHED = [("GPS", 2, 1), ("GLONASS", 17, 8), ("Galileo", 17, 10), ("BeiDou", 13, 7)]


@pytest.mark.parametrize("system, revolutions, days", PUBLISHED)
def test_revolutions_in_a_sidereal_day_are_the_published_ones(system, revolutions, days):
    slots = nominal_slots([system])[0]
    assert np.abs(slots.per_sidereal_day - revolutions / days).max() < TOLERANCE_PER_DAY


@pytest.mark.parametrize("system, revolutions, days", PUBLISHED)
def test_ground_tracks_come_back(system, revolutions, days):
    """The same from the positions: after that time a satellite stands over the same spot, to what the period leaves."""
    orbits = NominalOrbits([system])
    start = read_date("2026-06-01")
    positions = orbits.positions_m(start + np.array([0.0, days * SIDEREAL_DAY_S]))[:24]
    before, after = positions[:, 0], positions[:, 1]
    apart = np.degrees(2 * np.arcsin(np.linalg.norm(after - before, axis=-1) / 2 / np.linalg.norm(before, axis=-1)))
    assert apart.max() < 360 * TOLERANCE_PER_DAY * days


# Inclination [°] and mean radius [km]: GPS SPS Performance Standard 2001, table 3-1 (read); Galileo and BeiDou as other
# software cites their documents; GLONASS from its draconic period of 40 544 s, of which texts give 25 510 km
@pytest.mark.parametrize("system, inclination, radius_km, tolerance_km", [
    ("GPS", 55.0, 26_559.7, 0.1), ("Galileo", 56.0, 29_599.8, 0.1), ("GLONASS", 64.8, 25_510.0, 5.0),
    ("BeiDou", 55.1, 27_906.0, 0.1)])
def test_satellites_reach_the_latitude_of_their_inclination(system, inclination, radius_km, tolerance_km):
    positions = NominalOrbits([system]).positions_m(read_date("2026-06-01") + np.arange(0.0, 86_400.0, 60.0))[:24]
    radius = np.linalg.norm(positions, axis=-1)
    assert np.abs(radius / 1000 - radius_km).max() < tolerance_km
    latitude = np.degrees(np.arcsin(positions[..., 2] / radius))
    assert latitude.max() == pytest.approx(inclination, abs=0.02)
    assert latitude.min() == pytest.approx(-inclination, abs=0.02)


def test_numbers_of_satellites():
    """GPS baseline 24 slots, three of them expanded (27 or more fly; later editions of the standard, from memory),
    GLONASS 3 × 8, Galileo 24/3/1, BeiDou 24 and 3 inclined geosynchronous."""
    orbits = NominalOrbits(["GPS", "GLONASS", "Galileo", "BeiDou"])
    assert {one: orbits.systems.count(one) for one in orbits.systems} == {
        "GPS": 27, "GLONASS": 24, "Galileo": 24, "BeiDou": 27}
    assert len(set(orbits.names)) == len(orbits.names)


def test_expanded_slots_stand_on_either_side_of_the_one_they_replace():
    """B1, D2 and F2 of the table of 2001 at 80.956, 265.446 and 345.226°; the pair of each stands around it, so that
    its middle is within 6° of the old place."""
    slots = nominal_slots(["GPS"])[0]
    argument = dict(zip(slots.names, np.degrees(slots.argument)))
    for name, single in (("B1", 80.956), ("D2", 265.446), ("F2", 345.226)):
        forward, aft = argument[f"{name}F"], argument[f"{name}A"]
        apart = (forward - aft) % 360.0
        assert 24.0 < apart < 30.0 and name not in argument
        assert abs((aft + apart / 2.0 - single + 180.0) % 360.0 - 180.0) < 6.0


def test_gps_slots_at_their_epoch():
    """Table 3-1 of the SPS Performance Standard of 2001, at its epoch, turned by the sidereal time of that hour.

    Greenwich mean sidereal time at 1993-07-01 0 h UT1 was 18 h 36 min 14 s (skyfield, below), so plane A's node at
    right ascension 272.847° stands over 272.847 - 279.06°.
    """
    from skyfield.api import load
    time = load.timescale(builtin=True).utc(1993, 7, 1)
    orbits = NominalOrbits(["GPS"])
    at = orbits.positions_m(np.array([read_date("1993-07-01")]))[orbits.names.index("A1"), 0]
    node, argument = np.radians(272.847 - 15 * time.gmst), np.radians(268.126)
    x, y = np.cos(argument), np.sin(argument) * np.cos(np.radians(55))
    expected = 26_559_700 * np.array([x * np.cos(node) - y * np.sin(node), x * np.sin(node) + y * np.cos(node),
                                      np.sin(argument) * np.sin(np.radians(55))])
    assert np.linalg.norm(at - expected) < 2000  # UT1 taken for UTC: 0.4 s, 1.4 km at the satellite


def test_inclined_geosynchronous_satellites_stand_over_asia():
    """Three on one figure of eight that crosses the equator at 118° E (from memory)."""
    positions = NominalOrbits(["BeiDou"]).positions_m(read_date("2026-06-01") + np.arange(0.0, 86_400.0, 60.0))[24:]
    longitude = np.degrees(np.arctan2(positions[..., 1], positions[..., 0]))
    assert longitude.min() > 95 and longitude.max() < 141
    assert np.ptp(longitude.mean(axis=1)) < 1.0
