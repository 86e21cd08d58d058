"""YUMA and SEM almanacs against the tests' own solver; weeks, health and damage."""

import numpy as np
import pytest
from stillwater.siting.errors import InputError
from stillwater.siting.sky.clock import read_date
from stillwater.siting.sky.orbitfiles import read_orbits
from stillwater.tests.science import orbitfile_samples as samples

DAY = (samples.EPOCH_S, samples.EPOCH_S + 86_400)
SINCE = np.arange(-86_400, 2 * 86_400, 1800.0)
ALL = samples.SATELLITES
EARTH_CENTRE_DEGREES = {"yuma": 1e-5, "sem": 1e-9}
"""What the printed digits leave: ten in YUMA's angles, six decimals of the root of the axis, fifteen in SEM."""


@pytest.fixture
def read(tmp_path):
    """Give a function that writes an almanac and reads it."""
    def read(text, systems=("GPS",), start_s=DAY[0]):
        path = tmp_path / "almanac.txt"
        path.write_text(text)
        return read_orbits(str(path), list(systems), start_s, start_s + 86_400)
    return read


@pytest.mark.parametrize("kind", ["yuma", "sem"])
def test_positions_are_those_of_rotations_one_after_the_other(read, kind):
    orbits = read(getattr(samples, kind)(ALL))
    ours = orbits.positions_m(samples.EPOCH_S + SINCE)
    for one, position in zip(ALL, ours):
        theirs = samples.kepler_positions_m(samples.almanac_values(one), SINCE)
        apart = np.linalg.norm(position - theirs, axis=1) / np.linalg.norm(theirs, axis=1)
        assert np.degrees(apart.max()) < EARTH_CENTRE_DEGREES[kind]


def test_the_fitted_almanac_keeps_the_node_and_rate_of_the_mean_elements():
    """The samples' fit did not hide a wrong sense of an angle: it moved the node by hardly more than 0.02°."""
    for one in ALL:
        fitted, mean = samples.almanac_values(one), samples.secular_values(one)
        assert abs(np.sin(fitted["node"] - mean["node"])) < np.radians(0.03)
        assert abs(fitted["inclination"] - mean["inclination"]) < np.radians(0.03)
        assert fitted["rate"] / mean["rate"] == pytest.approx(1, abs=0.06)
        assert abs(fitted["eccentricity"] - mean["eccentricity"]) < 3e-4


def test_the_period_is_keplers_and_the_orbit_is_as_eccentric_as_told(read):
    one = samples.Elements(7, 0.0, 0.0, 0.0, 0.02)
    orbits = read(samples.sem([one]))
    value = samples.almanac_values(one)
    radius = np.linalg.norm(orbits.positions_m(samples.EPOCH_S + np.arange(0, 86_400, 60.0))[0], axis=1)
    assert radius.min() == pytest.approx(value["root"] ** 2 * (1 - value["eccentricity"]), rel=1e-6)
    assert radius.max() == pytest.approx(value["root"] ** 2 * (1 + value["eccentricity"]), rel=1e-6)


@pytest.mark.parametrize("start, week, date", [
    # GPS weeks began anew on 1999-08-22 and 2019-04-07 (IS-GPS-200 counts modulo 1024; dates: common knowledge)
    ("2019-04-07", 0, "2019-04-07"), ("2019-04-06", 1023, "2019-03-31"), ("1999-08-23", 0, "1999-08-22"),
    ("2026-06-01", 373, "2026-05-31"), ("2019-04-07", 1023, "2019-03-31")])
def test_a_week_modulo_1024_becomes_the_nearest_and_is_told(read, start, week, date):
    for text in (samples.sem(ALL, week), samples.yuma(ALL, week)):
        orbits = read(text, start_s=read_date(start))
        assert any(f"its week {week} was taken for GPS week" in note and f"begins {date}" in note
                   for note in orbits.notes)
        assert f"epoch {read_date_text(date)}" in orbits.source


def read_date_text(sunday):
    """Return the day after a Sunday, where the samples' time of applicability lies."""
    return str(np.datetime64(sunday) + 1)


def test_a_full_week_is_taken_as_it_is_and_old_ones_are_told(read):
    orbits = read(samples.yuma(ALL))
    assert orbits.notes == [] and "epoch 2026-06-01T00:00:00Z" in orbits.source
    note, = read(samples.yuma(ALL), start_s=samples.EPOCH_S + 100 * 86_400).notes
    assert "almanac data of 8 of 8 satellites are up to 100 days from DATE" in note


def test_a_leap_second_between_the_epoch_and_now_does_not_move_the_satellites(read):
    """Across 2016-12-31T23:59:60Z GPS time goes on evenly, UTC does not (IERS Bulletin C 52)."""
    week = 1929  # begins 2016-12-25
    orbits = read(samples.yuma(ALL[:1], week, in_week_s=600_000.0), start_s=read_date("2016-12-31"))
    value = {**samples.almanac_values(ALL[0])}
    midnight = read_date("2017-01-01")
    # GPS was 17 s ahead of UTC before, 18 s after it
    gps_s = np.array([midnight - 1 + 17, midnight + 18]) - (315_964_800 + week * 604_800 + 600_000)
    theirs = samples.kepler_positions_m(value, gps_s, in_week_s=600_000.0)
    np.testing.assert_allclose(orbits.positions_m(np.array([midnight - 1, midnight]))[0], theirs, atol=5.0)


def test_prn_numbers_tell_gps_and_qzss(read):
    some = [samples.Elements(3, 0.0, 0.0, 0.0, 0.01), samples.Elements(194, 0.0, 0.0, 270.0, 0.075, 41.0, 1.00273),
            samples.Elements(199, 0.0, 0.0, 0.0, 0.0, 0.1, 1.00273), samples.Elements(120, 9.0, 0.0, 0.0, 0.01)]
    orbits = read(samples.yuma(some), ["GPS", "QZSS"])
    assert (orbits.names, orbits.systems) == (["G03", "J02"], ["GPS", "QZSS"])
    assert orbits.notes == ["1 satellite left out, of unknown system: PRN 120.",
                            "1 satellite left out, geostationary, which make no arcs: J07."]
    orbits = read(samples.sem(some), ["GPS"])
    assert orbits.names == ["G03"] and "3 satellites left out, of unknown system" in " ".join(orbits.notes)


@pytest.mark.parametrize("kind", ["yuma", "sem"])
def test_unhealthy_satellites_are_left_out_and_told(read, kind):
    write = getattr(samples, kind)
    both = write(ALL, health=63)
    with pytest.raises(InputError, match="no satellite of GPS that can be used.*8 satellites left out, told to be unh"):
        read(both)
    healthy = samples.yuma(ALL[:3]) + samples.yuma(ALL[3:], health=63)
    orbits = read(healthy)
    assert orbits.names == ["G01", "G02", "G05"]
    assert orbits.notes == ["5 satellites left out, told to be unhealthy: G09, G13, G17 and 2 more."]


def test_of_two_almanacs_in_one_file_the_nearer_is_used(read):
    orbits = read(samples.yuma(ALL, 2400) + samples.yuma(ALL, 2421))
    assert "epoch 2026-06-01T00:00:00Z" in orbits.source and "holds 8 sets of elements besides" in orbits.notes[0]


YUMA = samples.yuma(ALL[:2])


@pytest.mark.parametrize("old, new, line, words", [
    ("ID:                         02\n", "", 16, "begins here lacks ID"),
    ("Health:                     000\n", "", 1, "begins here lacks health"),
    ("Eccentricity:               ", "Eccentricity:               x", 4, "eccentricity “x.*” is no number"),
    ("Mean Anom(rad):", "Average Anom(rad):", 11, "“Average Anom.*is no field of a YUMA almanac"),
    ("Af0(s):", "week: 1\nAf0(s):", 15, "week stands twice"), ("Health:  ", "\x201 24876U ", 3, "is no field"),
    ("week:                        2421\n", "week:                        2421.5\n", 14, "week 2421.5 is no whole"),
    ("Eccentricity:               ", "Eccentricity:               -", 1, "PRN 1 has an eccentricity of"),
    ("SQRT(A)  (m 1/2):           ", "SQRT(A)  (m 1/2):           1", 1, "PRN 1 has a square root of the axis"),
    ("Applicability(s):  ", "Applicability(s):  9", 1, "PRN 1 has a time of applicability of 986418")])
def test_damage_in_yuma_is_named(read, old, new, line, words):
    assert old in YUMA
    with pytest.raises(InputError, match=f"ORBITS “almanac.txt”, line {line}: .*{words}"):
        read(YUMA.replace(old, new, 1))


def test_a_yuma_almanac_cut_off_is_named(read):
    with pytest.raises(InputError, match="line 16: the record of a satellite that begins here lacks .*week"):
        read("\n".join(YUMA.splitlines()[:26]))
    with pytest.raises(InputError, match="line 16: this heading is not followed by the fields"):
        read("\n".join(YUMA.splitlines()[:16]))


SEM = samples.sem(ALL[:2]).splitlines()


@pytest.mark.parametrize("edit, line, words", [
    (lambda lines: lines[:-1], 19, "the file ends before the configuration"),
    (lambda lines: lines[:6] + lines[7:], 9,
     r"1 of 3 values expected here: mean anomaly, Af0, Af1 \(PRN 1\)"),
    (lambda lines: lines[:6] + ["0.01 x 0"] + lines[7:], 7, "the inclination offset “x” is no number"),
    (lambda lines: lines[:6] + ["0.01 0"] + lines[7:], 7, r"2 of 3 values expected here: ecc.* \(PRN 1\)"),
    (lambda lines: [" 3  CURRENT.ALM"] + lines[1:], 1, "says that it holds 3 satellites, but holds 2"),
    (lambda lines: lines[:3] + ["1.5"] + lines[4:], 4, "PRN 1.5 is no whole number"),
    (lambda lines: lines + ["1 24876U 97035A   18020.44858769  .00000075  00000-0  00000-0 0  9995"], 21,
     "9 of 1 values expected here: PRN")])
def test_damage_in_sem_is_named(read, edit, line, words):
    lines = list(SEM)
    while not lines[-1]:
        lines.pop()
    with pytest.raises(InputError, match=f"ORBITS “almanac.txt”, line {line}: .*{words}"):
        read("\n".join(edit(lines)))
