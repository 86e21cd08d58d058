"""Two-line elements: real ones against skyfield, and what is wrong with others."""

import sys
from datetime import datetime, timezone

import numpy as np
import pytest
import sgp4.api
import sgp4.model
from skyfield.api import EarthSatellite, load, wgs84
from stillwater.siting.errors import Cancelled, InputError, MissingPackageError
from stillwater.siting.sky.orbitfiles import read_orbits
from stillwater.tests.science import orbitfile_samples as samples

DAY = (samples.EPOCH_S, samples.EPOCH_S + 86_400)
REAL_START_S = samples.gpredict_start_s()
REAL = (REAL_START_S, REAL_START_S + 86_400)
CATALOGUES = ("gps-ops", "glo-ops", "galileo")
SYSTEMS = ["GPS", "GLONASS", "Galileo", "BeiDou"]
ONE = samples.SATELLITES[0]
FIRST, SECOND = samples.two_lines(ONE)
EARTH_CENTRE_DEGREES = 1e-5


@pytest.fixture
def written(tmp_path):
    """Give a function that writes lines and returns the path."""
    def write(*lines):
        path = tmp_path / "elements.txt"
        path.write_text("\n".join(lines) + "\n")
        return str(path)
    return write


def test_real_elements_lie_where_skyfield_has_them(tmp_path):
    # Two-line elements as Debian's gpredict carries them; of 2018: 31 GPS, 25 GLONASS, 22 Galileo
    orbits = read_orbits(str(samples.write_gpredict(tmp_path / "real", *CATALOGUES)), SYSTEMS, *REAL)
    assert [orbits.systems.count(system) for system in SYSTEMS] == [
        *(len(samples.gpredict_sets(catalogue)) for catalogue in CATALOGUES), 0]
    assert len(orbits.names) >= 78
    times = REAL_START_S + np.arange(0, 86_400, 600.0)
    ours = orbits.positions_m(times)
    assert np.isfinite(ours).all()
    sets = {name: lines for catalogue in CATALOGUES for name, *lines in samples.gpredict_sets(catalogue)}
    for name, position in zip(orbits.names, ours):
        lines = next(lines for real, lines in sets.items() if " ".join(real.split()) == name)
        theirs = samples.skyfield_positions_m(*lines, times)
        apart = np.linalg.norm(position - theirs, axis=1) / np.linalg.norm(theirs, axis=1)
        assert np.degrees(apart.max()) < EARTH_CENTRE_DEGREES


def test_longitude_and_latitude_agree_with_skyfields_wgs84(tmp_path):
    orbits = read_orbits(str(samples.write_gpredict(tmp_path / "real", "galileo")), ["Galileo"], *REAL)
    name, first, second = samples.gpredict_sets("galileo")[4]
    scale = load.timescale(builtin=True)
    moment = datetime.fromtimestamp(REAL_START_S + 23_415, timezone.utc)
    below = wgs84.subpoint_of(EarthSatellite(first, second, ts=scale).at(scale.from_datetime(moment)))
    x, y, z = orbits.positions_m(np.array([REAL_START_S + 23_415]))[orbits.names.index(name), 0]
    assert np.degrees(np.arctan2(y, x)) == pytest.approx(below.longitude.degrees, abs=EARTH_CENTRE_DEGREES)
    # geocentric against geodetic latitude of the same point: WGS 84 flattening, at 23 000 km up at most 0.05°
    assert np.degrees(np.arctan2(z, np.hypot(x, y))) == pytest.approx(below.latitude.degrees, abs=0.05)


def test_fresh_elements_bring_no_note_but_what_is_missing(tmp_path):
    orbits = read_orbits(str(samples.write_gpredict(tmp_path / "real", *CATALOGUES)), SYSTEMS, *REAL)
    assert len(orbits.notes) == 1 and orbits.notes[0].startswith("Of BeiDou")


def test_old_elements_are_told_with_the_days(tmp_path):
    path = str(samples.write_gpredict(tmp_path / "real", "gps-ops"))
    start = REAL_START_S + 40 * 86_400
    note, = read_orbits(path, ["GPS"], start, start + 86_400).notes
    number = len(samples.gpredict_sets("gps-ops"))
    assert f"{number} of {number} satellites" in note and "days from DATE" in note and "(epochs 20" in note
    assert 38 <= float(note.split("up to ")[1].split(" days")[0]) <= 48


def test_a_whole_catalogue_is_sorted_out(tmp_path):
    """All of gpredict's satellites: COSMOS also names low military ones, which are not GLONASS."""
    path = tmp_path / "all"
    block = [line for line in (samples.SATDATA / "satellites.dat").read_text().splitlines()
             if line.startswith(("NAME=", "TLE1=", "TLE2="))]
    path.write_text("\n".join(line.partition("=")[2] for line in block) + "\n")
    orbits = read_orbits(str(path), SYSTEMS, *REAL)
    assert min(orbits.systems.count(system) for system in SYSTEMS[:3]) >= 22
    assert any("of unknown system" in note and "more" in note for note in orbits.notes)
    assert any("on orbits that no such satellite has: " in note and "COSMOS" in note for note in orbits.notes)
    radius = np.linalg.norm(orbits.positions_m(np.array([REAL_START_S])), axis=-1)
    assert radius.min() > 20e6


def test_names_may_begin_with_0_or_be_missing(written):
    second = samples.two_lines(samples.SATELLITES[1])
    orbits = read_orbits(written("0 NAVSTAR 77", FIRST, SECOND, *second), ["GPS"], *DAY)
    assert orbits.names == ["NAVSTAR 77"]
    assert orbits.notes == ["1 satellite left out, of unknown system: satellite 90002."]
    with pytest.raises(InputError, match="holds no satellite of GPS.*2 of unknown system.*read from the sat.*names"):
        read_orbits(written(FIRST, SECOND, *second), ["GPS"], *DAY)


@pytest.mark.parametrize("name, system", [
    ("gps biif-1", "GPS"), ("NAVSTAR 43", "GPS"), ("GLONASS-M 51", "GLONASS"), ("COSMOS 2425 (716)", "GLONASS"),
    ("GALILEO 5", "Galileo"), ("gsat0101", "Galileo"), ("BEIDOU-3 M1", "BeiDou"), ("QZS-2 (MICHIBIKI-2)", "QZSS")])
def test_the_name_tells_the_system(written, name, system):
    orbits = read_orbits(written(name, FIRST, SECOND), ["GPS", "GLONASS", "Galileo", "BeiDou", "QZSS"], *DAY)
    assert orbits.systems == [system]


def test_geostationary_satellites_are_left_out_and_inclined_ones_stay(written):
    def lines(prn, inclination, revs):
        return samples.two_lines(samples.Elements(prn, 100.0, 50.0, 20.0, 0.01, inclination, revs))
    path = written("BEIDOU G1", *lines(1, 1.5, 1.00272), "BEIDOU I1", *lines(2, 55.0, 1.00272),
                   "QZS-2", *lines(3, 41.0, 1.00272), "QZS-3", *lines(4, 0.1, 1.0027))
    orbits = read_orbits(path, ["BeiDou", "QZSS"], *DAY)
    assert orbits.names == ["BEIDOU I1", "QZS-2"]
    assert orbits.notes == ["2 satellites left out, geostationary, which make no arcs: BEIDOU G1, QZS-3."]


def test_of_several_sets_the_one_nearest_to_the_start_is_used(written):
    late = samples.two_lines(ONE, day="26154.00000000")
    early = samples.two_lines(ONE, day="26140.00000000")
    orbits = read_orbits(written("GPS 1", *early, "GPS 1", *late, "GPS 1", FIRST, SECOND), ["GPS"], *DAY)
    assert "epoch 2026-06-01T00:00:00Z" in orbits.source and len(orbits.names) == 1
    assert "holds 2 sets of elements besides others" in orbits.notes[0]


def test_satellites_of_one_name_are_told_apart(written):
    other = samples.two_lines(samples.SATELLITES[1])
    orbits = read_orbits(written("GPS", FIRST, SECOND, "GPS", *other), ["GPS"], *DAY)
    assert orbits.names == ["GPS [90001]", "GPS [90002]"]


OTHER_SECOND = samples.two_lines(samples.SATELLITES[1])[1]


@pytest.mark.parametrize("lines, number, words", [
    (["GPS 1", FIRST[:-1], SECOND], 2, "has 69 characters, this one 68"),
    (["GPS 1", FIRST, SECOND + "0"], 3, "has 69 characters, this one 70"),
    (["GPS 1", FIRST, SECOND[:-1] + str((int(SECOND[-1]) + 1) % 10)], 3, "checksum is .*adds up to"),
    (["GPS 1", FIRST, OTHER_SECOND], 3, "line 2 is of satellite 90002, line 1 before it of 90001"),
    (["GPS 1", FIRST, "GPS 2", FIRST, SECOND], 2, "not followed by its line 2: line 3 is “GPS 2”"),
    (["GPS 1", FIRST], 2, "not followed by its line 2: the file ends"),
    (["GPS 1", SECOND], 2, "not preceded by its line 1, but by “GPS 1” in line 1"),
    (["GPS 1", "GPS 2", FIRST, SECOND], 1, "“GPS 1” is not followed by line 1"),
    (["GPS 1", FIRST, SECOND, "GPS 2"], 4, "not followed by elements: the file ends"),
    (["GPS 1", FIRST, samples.closed(SECOND[:8] + " 5x.0000" + SECOND[16:68])], 3, "inclination “ 5x.0000” in columns"),
    (["GPS 1", samples.closed(FIRST[:20] + "400.00000000" + FIRST[32:68]), SECOND], 2, "day 400.0 is in no year"),
    (["GPS 1", FIRST, samples.closed(SECOND[:52] + " 0.00000000" + SECOND[63:68])], 3, "mean motion of 0 rev"),
    (["GPS 1", FIRST, SECOND, "******** Week 373 almanac for PRN-01 ********", "ID:   01"], 4, "not followed by line"),
])
def test_damaged_and_mixed_lines_are_named(written, lines, number, words):
    with pytest.raises(InputError, match=f"ORBITS “elements.txt”, line {number}: .*{words}"):
        read_orbits(written(*lines), ["GPS"], *DAY)


def test_a_satellite_that_decays_is_named_and_ends(written):
    orbits = read_orbits(written("GPS GONE", *samples.decaying(), "GPS 1", FIRST, SECOND), ["GPS"], *DAY)
    times = samples.EPOCH_S + np.arange(0, 2 * 86_400, 600.0)
    positions = orbits.positions_m(times)
    gone = np.isnan(positions[0]).any(axis=1)
    end = int(np.argmax(gone))
    assert 0 < end < len(times) and gone[end:].all() and not gone[:end].any()
    assert np.isfinite(positions[1]).all()
    orbits.positions_m(times)
    note, = orbits.notes
    assert note.startswith("GPS GONE has no position from 2026-06-0") and "decays" in note and "(SGP4: " in note


def test_the_slow_form_of_sgp4_is_told_and_gives_the_same(written, monkeypatch):
    path = written("GPS GONE", *samples.decaying(), "GPS 1", FIRST, SECOND)
    times = samples.EPOCH_S + np.arange(0, 2 * 86_400, 3600.0)
    assert sgp4.api.accelerated  # .ci/requirements.txt brings the compiled one
    quick = read_orbits(path, ["GPS"], *DAY)
    monkeypatch.setattr(sgp4.api, "accelerated", False)
    monkeypatch.setattr(sgp4.api, "Satrec", sgp4.model.Satrec)
    slow = read_orbits(path, ["GPS"], *DAY)
    assert any("slow pure-Python form" in note for note in slow.notes) and not quick.notes
    np.testing.assert_allclose(slow.positions_m(times), quick.positions_m(times), atol=0.001)


@pytest.mark.parametrize("module, name", [("sgp4.api", "sgp4"), ("skyfield.api", "skyfield")])
def test_a_missing_package_is_named_with_what_to_do(written, monkeypatch, module, name):
    monkeypatch.setitem(sys.modules, module, None)
    with pytest.raises(MissingPackageError, match=f"package {name} is missing.*only for two-line elements and OMM.*"
                                                  "python -m pip install skyfield.*almanac"):
        read_orbits(written("GPS 1", FIRST, SECOND), ["GPS"], *DAY)


def test_progress_is_told_and_cancel_heard_between_satellites(tmp_path):
    orbits = read_orbits(str(samples.write_gpredict(tmp_path / "real", "gps-ops")), ["GPS"], *REAL)
    seen = []
    with pytest.raises(Cancelled):
        orbits.positions_m(np.array([REAL_START_S]), lambda fraction, name: seen.append(name), lambda: len(seen) == 3)
    assert seen == orbits.names[:3]


def test_nothing_is_given_beyond_a_failure_even_where_sgp4_recovers(written, monkeypatch):
    class Failing:
        def sgp4_array(self, whole, fraction):
            return np.array([0, 1, 0, 0, 0, 6, 0]), np.full((7, 3), 2e4), None

    orbits = read_orbits(written("GPS 1", FIRST, SECOND), ["GPS"], *DAY)
    monkeypatch.setattr(orbits, "_models", [Failing()])
    there = np.isfinite(orbits.positions_m(samples.EPOCH_S + 3600.0 * np.arange(-3, 4))[0, :, 0])
    assert there.tolist() == [False, False, True, True, True, False, False]
    assert [note[:51] for note in orbits.notes] == ["GPS 1 has no position from 2026-06-01T02:00:00Z: it",
                                                    "GPS 1 has no position until 2026-05-31T22:00:00Z: i"]
