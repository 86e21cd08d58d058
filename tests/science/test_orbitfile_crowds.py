"""Files with more satellites than a system has in service: told, with how to leave the others out."""

import pytest
from stillwater.siting.sky.orbitfiles import read_orbits
from stillwater.tests.science import orbitfile_samples as samples

DAY = (samples.EPOCH_S, samples.EPOCH_S + 86_400)

# The greatest numbers that can be in service: a convention, above what flew on 1 December 2020 (GPS 31, GLONASS 24,
# Galileo 24, BeiDou 37 without geostationary ones, from package data)
MOST = [("GPS", "NAVSTAR", 36), ("GLONASS", "COSMOS", 30), ("Galileo", "GSAT", 36), ("BeiDou", "BEIDOU", 50)]


def write(tmp_path, *crowds):
    lines = []
    for word, count in crowds:
        for _ in range(count):
            number = len(lines) // 3 + 1
            lines += [f"{word} {number}", *samples.two_lines(samples.Elements(number, number * 3.5, 10.0, 20.0, 0.005))]
    path = tmp_path / "catalogue.txt"
    path.write_text("\n".join(lines) + "\n")
    return str(path)


@pytest.mark.parametrize("system, word, most", MOST)
def test_one_too_many_is_told_and_as_many_as_can_be_are_not(tmp_path, system, word, most):
    assert read_orbits(write(tmp_path, (word, most)), [system], *DAY).notes == []
    orbits = read_orbits(write(tmp_path, (word, most + 1)), [system], *DAY)
    note, = orbits.notes
    assert len(orbits.names) == most + 1
    assert f"“catalogue.txt” holds {most + 1} of {system} (at most {most} are in service)" in note
    assert "satellites out of service are in it" in note and "operational" in note and "CONSTELLATIONS" in note


def test_only_systems_that_are_asked_for_and_crowded_are_named(tmp_path):
    path = write(tmp_path, ("NAVSTAR", 40), ("COSMOS", 24), ("GSAT", 38))
    note, = read_orbits(path, ["GPS", "GLONASS"], *DAY).notes
    assert "40 of GPS" in note and "GLONASS" not in note and "Galileo" not in note
    note, = read_orbits(path, ["GPS", "GLONASS", "Galileo"], *DAY).notes
    assert "40 of GPS" in note and "38 of Galileo" in note and "GLONASS" not in note
    assert read_orbits(path, ["GLONASS"], *DAY).notes == []
