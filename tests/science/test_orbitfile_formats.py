"""One set of elements in every format: recognised from the content, and the same positions."""

import gzip

import numpy as np
import pytest
from stillwater.siting.errors import InputError
from stillwater.siting.sky.orbitfiles import read_orbits
from stillwater.tests.science import orbitfile_samples as samples

DAY = (samples.EPOCH_S, samples.EPOCH_S + 86_400)
TIMES = samples.EPOCH_S + np.arange(0, 86_401, 300.0)
KINDS = {"tle": "two-line elements", "omm_xml": "OMM, XML", "omm_json": "OMM, JSON", "omm_csv": "OMM, CSV",
         "yuma": "YUMA almanac", "sem": "SEM almanac", "sp3c": "SP3-c", "sp3d": "SP3-d"}
# Largest distance from where skyfield has the same two-line elements [m], and why:
METRES = {
    # the times are rounded to less than 1e-6 s, 4 mm along the orbit
    "tle": 0.01, "omm_xml": 0.01, "omm_json": 0.01, "omm_csv": 0.01,
    # millimetres in the table, and a polynomial of degree 10 through 15 minutes
    "sp3c": 0.01, "sp3d": 0.01,
    # seven numbers for a day: what the Earth's flattening does twice a revolution stays out, about 1 km or 0.002°
    "yuma": 1000.0, "sem": 1000.0,
}


@pytest.fixture(scope="module")
def paths(tmp_path_factory):
    return samples.write_all(tmp_path_factory.mktemp("formats"))


@pytest.fixture(scope="module")
def truth_m():
    return np.array([samples.skyfield_positions_m(*samples.two_lines(one), TIMES) for one in samples.SATELLITES])


@pytest.mark.parametrize("kind", METRES)
def test_every_format_puts_the_satellites_where_skyfield_has_them(paths, truth_m, kind):
    orbits = read_orbits(str(paths[kind]), ["GPS"], *DAY)
    apart = np.linalg.norm(orbits.positions_m(TIMES) - truth_m, axis=-1)
    assert apart.max() < METRES[kind]
    assert orbits.source.startswith(f"{paths[kind].name} ({KINDS[kind]}, epoch")
    assert orbits.systems == ["GPS"] * 8 and not orbits.is_nominal
    assert [name[-3:].strip("G)").zfill(2) for name in orbits.names] == [f"{s.prn:02d}" for s in samples.SATELLITES]
    assert not [note for note in orbits.notes if "modulo" not in note]


@pytest.mark.parametrize("kind", METRES)
def test_marks_line_ends_and_blank_lines_change_nothing(paths, tmp_path, kind):
    text = paths[kind].read_text(encoding="utf-8")
    plain = read_orbits(str(paths[kind]), ["GPS"], *DAY)
    path = tmp_path / "other.dat"
    for data in (b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode(), ("\n\n" + text + "\n \n").encode(),
                 text.encode("utf-16")):
        path.write_bytes(data)
        again = read_orbits(str(path), ["GPS"], *DAY)
        np.testing.assert_array_equal(again.positions_m(TIMES[:3]), plain.positions_m(TIMES[:3]))
        assert again.names == plain.names


@pytest.mark.parametrize("kind", METRES)
def test_a_file_without_the_system_says_what_it_holds(paths, kind):
    with pytest.raises(InputError, match=rf"ORBITS “{kind}.txt”.*no satellite of Galileo, QZSS.*8 of GPS.*CONSTELL"):
        read_orbits(str(paths[kind]), ["Galileo", "QZSS"], *DAY)


def test_a_system_that_is_missing_beside_another_is_told(paths):
    orbits = read_orbits(str(paths["tle"]), ["GPS", "BeiDou"], *DAY)
    assert len(orbits.names) == 8
    assert [note for note in orbits.notes if note.startswith("Of BeiDou, which was asked for")]


@pytest.mark.parametrize("content, words", [
    (b"", "is empty"), (b"  \r\n\n", "is empty"), (b"hello\nworld\n", "no format that is read here.*two-line.*SP3-d"),
    (gzip.compress(b"1"), "compressed with gzip. Unpack"), (b"PK\x03\x04..", "compressed with zip"),
    (b"\x00\x01\x02", "is no text"), (b"CCSDS_OMM_VERS = 2.0\n", "lines with “=”. Get it as XML"),
    (b"     3.04           N: GNSS NAV DATA    M: MIXED            RINEX VERSION / TYPE\n", "is a RINEX file"),
    (b"<html><body>Not found</body></html>", "no element “omm”"), (b"[]", "holds no satellite"),
    (b"<ndm></ndm>", "no element “omm”"), (b"0  EMPTY.ALM\n 373 86418\n", "holds no satellite"),
    (b"OBJECT_NAME,EPOCH,MEAN_MOTION,BSTAR\n", "holds no satellite"),
    (b"#aP2026  6  1  0  0  0.00000000      96 ORBIT IGS20 FIT  IGS\n", "is SP3-a; SP3-c and SP3-d are read"),
    (b"#dP2026  6  1  0  0  0.00000000      96 ORBIT IGS20 FIT  IGS\n", "holds no epoch")])
def test_what_holds_no_orbits_is_refused_by_name(tmp_path, content, words):
    path = tmp_path / "orbits.xyz"
    path.write_bytes(content)
    with pytest.raises(InputError, match="ORBITS “orbits.xyz” .*" + words):
        read_orbits(str(path), ["GPS"], *DAY)


def test_a_file_that_is_not_there_is_named(tmp_path):
    with pytest.raises(InputError, match="nowhere.txt” cannot be read: No such file"):
        read_orbits(str(tmp_path / "nowhere.txt"), ["GPS"], *DAY)


@pytest.mark.parametrize("kind", METRES)
def test_no_damage_ends_in_another_error(paths, tmp_path, kind):
    """Cut, doubled and overwritten lines give either orbits or an error that names the file."""
    lines = paths[kind].read_text(encoding="utf-8").splitlines()[:80]
    random = np.random.default_rng(3)
    path = tmp_path / "damaged.txt"
    refused = 0
    for _ in range(60):
        damaged = list(lines)
        at = int(random.integers(len(damaged)))
        line = damaged[at]
        cut = int(random.integers(len(line) + 1))
        damaged[at:at + 1] = [[line[:cut]], [line, line], [], [line[:cut] + "x" + line[cut + 1:]],
                              [line[:cut] + "9" + line[cut:]]][int(random.integers(5))]
        path.write_text("\n".join(damaged) + "\n", encoding="utf-8")
        try:
            read_orbits(str(path), ["GPS"], *DAY).positions_m(TIMES[:2])
        except InputError as error:
            assert "ORBITS “damaged.txt”" in str(error)
            refused += 1
    assert refused > 10
