"""SP3 tables: interpolation, gaps, spans, time systems and damage."""

from datetime import timedelta

import numpy as np
import pytest
from scipy.interpolate import BarycentricInterpolator
from stillwater.siting.errors import InputError
from stillwater.siting.sky.orbitfiles import read_orbits
from stillwater.tests.science import orbitfile_samples as samples

START_S = samples.EPOCH_S
STEP_S = 900.0
ONE = samples.SATELLITES[0]
VALUE = samples.almanac_values(ONE)
GPS_FIRST = samples.EPOCH + timedelta(seconds=18)
"""The start of the tables in GPS time, 18 s ahead of UTC since 2017 (IERS Bulletin C 52)."""


def truth_m(since_s):
    """Return where a Kepler orbit has the satellite, which a table is made of."""
    return samples.kepler_positions_m(VALUE, np.asarray(since_s, float))


def table(count=97, step_s=STEP_S):
    return truth_m(np.arange(count) * step_s)


@pytest.fixture
def read(tmp_path):
    """Give a function that writes a text and reads it."""
    def read(text, systems=("GPS",), start_s=START_S, end_s=START_S + 86_400):
        path = tmp_path / "table.txt"
        path.write_text(text)
        return read_orbits(str(path), list(systems), start_s, end_s)
    return read


@pytest.mark.parametrize("step_s, count, metres", [(300.0, 289, 0.01), (900.0, 97, 0.01), (1800.0, 49, 5.0)])
def test_positions_between_the_epochs_follow_the_orbit(read, step_s, count, metres):
    """Millimetres in the file and degree 10; half an hour's spacing, the widest that is read, stays below 0.001°."""
    since = np.arange(0, 86_401, 30.0)
    ours = read(samples.sp3({"G01": table(count, step_s)}, GPS_FIRST, step_s)).positions_m(START_S + since)[0]
    assert np.linalg.norm(ours - truth_m(since), axis=1).max() < metres
    assert np.degrees(metres / 26.5e6) < 0.001


def test_the_polynomial_is_scipys(read):
    orbits = read(samples.sp3({"G01": table()}, GPS_FIRST, STEP_S))
    for since, first in ((40_123.0, 39), (100.0, 0), (86_399.0, 86)):
        nodes = np.arange(first, first + 11)
        rounded = np.round(table()[nodes], 3)
        theirs = BarycentricInterpolator(nodes * STEP_S, rounded)(since)
        np.testing.assert_allclose(orbits.positions_m(np.array([START_S + since]))[0, 0], theirs, atol=1e-5)


def test_the_epochs_themselves_are_met_and_nothing_lies_beyond_them(read):
    orbits = read(samples.sp3({"G01": table()}, GPS_FIRST, STEP_S))
    since = np.array([-3600.0, -1.0, 0.0, 900.0, 43_200.0, 86_400.0, 86_401.0, 90_000.0])
    ours = orbits.positions_m(START_S + since)[0]
    np.testing.assert_allclose(ours[2:6], truth_m(since[2:6]), atol=0.001)
    assert np.isnan(ours[[0, 1, 6, 7]]).all() and orbits.notes == []


@pytest.mark.parametrize("system, ahead_s", [
    # seconds ahead of UTC in 2026: Hilla 2016 names the systems; BDT is 14 s behind GPS, TAI 19 s ahead (from memory)
    ("GPS", 18), ("GAL", 18), ("QZS", 18), ("IRN", 18), ("BDT", 4), ("TAI", 37), ("UTC", 0), ("GLO", 0)])
def test_each_time_system_is_brought_to_utc(read, system, ahead_s):
    text = samples.sp3({"G01": table()}, samples.EPOCH + timedelta(seconds=ahead_s), STEP_S, system=system)
    since = np.array([0.0, 1234.0, 86_400.0])
    np.testing.assert_allclose(read(text).positions_m(START_S + since)[0], truth_m(since), atol=0.01)


def test_a_gap_stays_empty_and_is_not_bridged(read):
    values = table()
    values[40] = np.nan
    text = samples.sp3({"G01": values, "G02": table()}, GPS_FIRST, STEP_S)
    since = np.arange(0, 86_401, 60.0)
    first, second = read(text).positions_m(START_S + since)
    empty = (since > 39 * STEP_S) & (since < 41 * STEP_S)
    np.testing.assert_array_equal(np.isnan(first).any(axis=1), empty)
    assert np.linalg.norm((first - truth_m(since))[~empty], axis=1).max() < 0.1
    assert np.isfinite(second).all()
    # the same where the record, or the epoch, is not there at all
    lines = text.splitlines()
    at = [number for number, line in enumerate(lines) if line.startswith("*")][40]
    for cut in (lines[:at + 1] + lines[at + 2:], lines[:at] + lines[at + 3:]):
        again = read("\n".join(cut)).positions_m(START_S + since)[0]
        np.testing.assert_array_equal(np.isnan(again).any(axis=1), empty)


def test_satellites_without_enough_positions_are_told(read):
    few = table()
    few[8:] = np.nan
    orbits = read(samples.sp3({"G01": table(), "G02": few, "G03": np.full((97, 3), np.nan)}, GPS_FIRST, STEP_S))
    assert orbits.names == ["G01"]
    assert orbits.notes == ["1 satellite left out, with no position in the file: G03.",
                            "1 satellite left out, with fewer than 9 epochs without a gap: G02."]


def test_letters_tell_the_system_and_geostationary_ones_are_left_out(read):
    def circle(inclination, root=6493.4, perigee=0.0, eccentricity=0.0):
        value = {**VALUE, "inclination": np.radians(inclination), "root": root, "perigee": perigee,
                 "eccentricity": eccentricity}
        return samples.kepler_positions_m(value, np.arange(97) * STEP_S)
    text = samples.sp3({"C01": circle(2.0), "C06": circle(55.0), "J02": circle(41.0, perigee=-1.57, eccentricity=0.075),
                        "J07": circle(0.1), "R05": table(), "E11": table(), "G01": table(), "I02": circle(29.0)},
                       GPS_FIRST, STEP_S)
    orbits = read(text, ["QZSS", "GPS", "GLONASS", "Galileo", "BeiDou"])
    assert list(zip(orbits.names, orbits.systems)) == [
        ("G01", "GPS"), ("R05", "GLONASS"), ("E11", "Galileo"), ("C06", "BeiDou"), ("J02", "QZSS")]
    assert orbits.notes == ["1 satellite left out, of unknown system: I02.",
                            "2 satellites left out, geostationary, which make no arcs: C01, J07."]


def test_a_file_for_another_time_is_refused_with_its_span(read):
    text = samples.sp3({"G01": table()}, GPS_FIRST, STEP_S)
    for start in (START_S - 10 * 86_400, START_S + 86_400):
        with pytest.raises(InputError, match="“table.txt”.*from 2026-06-01T00:00:00Z to 2026-06-02T00:00:00Z only.*"
                                             "DATE.*Set DATE within the file"):
            read(text, start_s=start, end_s=start + 86_400)
    note, = read(text, start_s=START_S + 43_200, end_s=START_S + 129_600).notes
    assert "is part of 2026-06-01T12:00:00Z to 2026-06-02T12:00:00Z" in note


def test_a_leap_second_inside_the_file_is_crossed_evenly(read):
    """2016-12-31T23:59:60Z (IERS Bulletin C 52): a second more between two epochs of UTC."""
    first = samples.EPOCH.replace(year=2016, month=12, day=31, hour=12, minute=0, second=17)
    text = samples.sp3({"G01": table()}, first, STEP_S)
    noon = 1_483_185_600.0  # 2016-12-31T12:00:00Z
    orbits = read(text, start_s=noon, end_s=noon + 86_400)
    before, after = orbits.positions_m(noon + np.array([43_199.0, 43_200.0]))[0]
    np.testing.assert_allclose([before, after], truth_m([43_199.0, 43_201.0]), atol=0.01)


def test_too_few_or_too_sparse_epochs_are_refused(read):
    with pytest.raises(InputError, match="holds 8 epochs; at least 9"):
        read(samples.sp3({"G01": table(8)}, GPS_FIRST, STEP_S))
    with pytest.raises(InputError, match="an epoch every 7200 s; at most 1800 s"):
        read(samples.sp3({"G01": table(13, 7200.0)}, GPS_FIRST, 7200.0))


def test_a_file_cut_off_is_told(read):
    note, = read(samples.sp3({"G01": table()}, GPS_FIRST, STEP_S, ended=False)).notes
    assert "no last line “EOF”: it may have been cut off" in note


TEXT = samples.sp3({"G01": table(12), "G02": table(12)}, GPS_FIRST, STEP_S)
BEGIN = TEXT.splitlines().index(next(line for line in TEXT.splitlines() if line.startswith("*"))) + 1


@pytest.mark.parametrize("offset, new, words", [
    (0, "*  2026 13  1  0  0  0.00000000", "is no epoch"), (0, "*  2026  6  1", "is no epoch"),
    (3, "*  2026  6  1  0  0 18.00000000", "not later than the one before"),
    (1, "PG01  12345.678901  x2345.678901  12345.678901", "y of G01, “x2345.678901”, is no number"),
    (1, "PG01  12345.678901", "y of G01, “”, is no number"), (1, "P?1   1.0", "“.1 ” is no satellite|no satellite"),
    (2, TEXT.splitlines()[BEGIN], "G01 stands twice in one epoch"),
    (1, "PG01      1.000000      1.000000      1.000000", "G01 lies inside the Earth"),
    (1, "1 24876U 97035A   18020.44858769", "“1 24876U 97035A   18020.448587” is no record of SP3"),
    (-3, "hello", "“hello” is no line of the heading")])
def test_damaged_records_are_named(read, offset, new, words):
    lines = TEXT.splitlines()
    lines[BEGIN - 1 + offset] = new
    with pytest.raises(InputError, match=f"ORBITS “table.txt”, line {BEGIN + offset}: .*{words}"):
        read("\n".join(lines))


def test_an_unknown_time_system_is_refused(read):
    with pytest.raises(InputError, match="time system “ccc” is none of GPS, GAL"):
        read(samples.sp3({"G01": table()}, GPS_FIRST, STEP_S, system="ccc"))


def test_what_follows_the_end_is_refused(read):
    with pytest.raises(InputError, match="there is more after the line “EOF”"):
        read(TEXT + "PG01\n")


def test_an_inclined_satellite_over_the_equator_is_not_taken_for_geostationary_in_a_short_file(read):
    value = {**VALUE, "inclination": np.radians(55.0), "root": 6493.4, "perigee": 0.0, "anomaly": 0.0,
             "eccentricity": 0.0}
    crossing = samples.kepler_positions_m(value, np.arange(9) * 180.0)  # 24 minutes, up to 5° north
    assert np.degrees(np.arcsin(crossing[:, 2] / 42.165e6)).max() < 10
    text = samples.sp3({"C06": crossing}, GPS_FIRST, 180.0)
    assert read(text, ["BeiDou"], end_s=START_S + 600).names == ["C06"]
