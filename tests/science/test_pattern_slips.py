"""Slips in antenna patterns: just allowed, just not, and told in words that help; gains by hand in decibels."""
from pathlib import Path

import numpy as np
import pytest
from stillwater.siting.errors import InputError
from stillwater.siting.precision.patternfiles import read_pattern

HEAD = "elevation,rhcp_db,lhcp_db\n"
ROWS = [(-90, -30, -40), (-60, -25, -40), (-30, -20, -38), (0, -6, -30), (30, -3, -25), (60, -1, -22), (90, 0, -20)]


def csv(tmp_path, rows, head=HEAD, name="made.csv"):
    path = tmp_path / name
    path.write_text(head + "".join(",".join(f"{v:g}" for v in row) + "\n" for row in rows), encoding="utf-8")
    return str(path)


def cut(tmp_path, name, losses, gain="GAIN 5.0 dBi", step=10.0, extra=""):
    """Write an .msi file: losses by the angle of its vertical cut, the horizontal one flat."""
    angles = np.arange(0.0, 360.0, step)
    lines = ["NAME made", gain, "HORIZONTAL 2", "0 0", "180 0", f"VERTICAL {len(angles)}"]
    lines += [f"{angle:g} {losses(angle):.3f}" for angle in angles]
    path = tmp_path / name
    path.write_text("\n".join(line for line in lines if line) + "\n" + extra, encoding="utf-8")
    return str(path)


def upright(angle):
    """20 dB less at the nadir than at the zenith, which is 0°, evenly by angle."""
    return 20.0 * min(angle, 360.0 - angle) / 180.0


def refused(path, *said, **given):
    with pytest.raises(InputError) as caught:
        read_pattern(path, **given)
    assert str(caught.value).startswith("ANTENNA_PATTERN “")
    for one in said:
        assert one in str(caught.value), caught.value


def decibels(field):
    return 20.0 * np.log10(field)


def test_gains_are_told_against_the_zenith_wherever_the_table_ends(tmp_path):
    found = read_pattern(csv(tmp_path, [*ROWS[:-1], (85, 4, -16)]))
    assert found.elevation_deg[-1] == 85 and found.co_db[-1] == 0 and found.cross_db[-1] == -20
    assert found.co_db[0] == -34
    refused(csv(tmp_path, [*ROWS[:-1], (84.9, 4, -16)]), "holds -90 to 84.9°", "to 85° or higher", "above 84.9°")


def test_a_table_must_reach_down_to_where_reflections_come_from(tmp_path):
    above = [row for row in ROWS if row[0] >= -30]
    assert read_pattern(csv(tmp_path, above)).elevation_deg[0] == -30, "by default 30°"
    refused(csv(tmp_path, above), "from -31 or lower", "missing: below -30°", max_elevation_deg=31.0)
    refused(csv(tmp_path, [(-29.5, -20, -38), *above[1:]]), "from -30 or lower", "below -29.5°")
    # satellites stand at 90° at most
    assert len(read_pattern(csv(tmp_path, ROWS), 95.0).co_db) == 7
    refused(csv(tmp_path, above[:-1]), "missing: below -30° and above 60°", max_elevation_deg=40.0)


def test_steps_may_be_30_degrees_wide_where_the_pattern_is_used(tmp_path):
    assert len(read_pattern(csv(tmp_path, ROWS)).co_db) == 7
    refused(csv(tmp_path, [row for row in ROWS if row[0] != 30]), "tells nothing from 0 to 60°", "every 30° or closer")
    refused(csv(tmp_path, [*ROWS[:3], (0.5, 0, 0), *ROWS[4:]]), "from -30 to 0.5°")
    # below what is looked at nobody asks
    gap = [row for row in ROWS if row[0] != -60]
    assert len(read_pattern(csv(tmp_path, gap)).co_db) == 6
    refused(csv(tmp_path, gap), "tells nothing from -90 to -30°", max_elevation_deg=31.0)


@pytest.mark.parametrize("row, said", [
    ((10, 300, 0), None), ((10, 300.1, 0), "line 9: 300.1 dB is beyond ±300 dB. Correct it."),
    ((10, 0, -300.1), "line 9: -300.1 dB is beyond"), ((90.5, 0, 0), "line 9: 90.5° is beyond ±90°"),
    ((-90.5, 0, 0), "line 9: -90.5° is beyond ±90°"), ((30, 1, 1), "line 9: 30° stands twice, first in line 6."),
    ((10, np.inf, 0), "line 9: “inf” is no finite number. Write numbers with a decimal point, such as -12.5.")])
def test_figures_are_kept_within_what_can_be(tmp_path, row, said):
    path = csv(tmp_path, [*ROWS, row])
    if said is None:
        assert read_pattern(path).co_db[5 - 1] == 300.0
    else:
        refused(path, said)


@pytest.mark.parametrize("text, said", [
    (HEAD + "0,0\n", "line 2: it has 2 columns, not 3."),
    (HEAD + "0,0,0,5\n", "line 2: it has 4 columns, not 3."), (HEAD, "holds no row under its head."),
    ("elevation,rhcp_db\n0,0\n", "line 1: the head names no column lhcp_db. It must name elevation, rhcp_db, lhcp_db."),
    ("note\n", "line 1: the head names no column elevation, rhcp_db, lhcp_db."),
    ("elevation,rhcp_db,lhcp_db,elevation\n0,0,0,0\n", "line 1: the head names elevation twice. Name each")])
def test_a_table_that_is_none_is_told_with_its_line(tmp_path, text, said):
    path = tmp_path / "made.csv"
    path.write_text(text, encoding="utf-8")
    refused(str(path), "made.csv”", said)


def test_what_stands_empty_behind_the_columns_is_no_value(tmp_path):
    lines = (HEAD + "".join(f"{a},{b},{c}, , \n" for a, b, c in ROWS)).replace("\n", "\r\n")
    path = tmp_path / "made.csv"
    path.write_bytes(b"\xef\xbb\xbf\r\n" + lines.encode())  # a byte-order mark and an empty line before the head
    found = read_pattern(str(path))
    assert found.elevation_deg.tolist() == [row[0] for row in ROWS] and found.name == "made.csv"


def test_old_encodings_are_read_and_huge_files_not(tmp_path):
    path = tmp_path / "made.csv"
    path.write_bytes((HEAD.strip() + ",Höhe\n" + "".join(f"{a},{b},{c},1\n" for a, b, c in ROWS)).encode("latin-1"))
    assert len(read_pattern(str(path)).co_db) == 7
    text = HEAD + "".join(f"{a},{b},{c}\n" for a, b, c in ROWS)
    path.write_text(text + "\n" * (5_000_000 - len(text)))
    assert len(read_pattern(str(path)).co_db) == 7
    path.write_text(text + "\n" * (5_000_001 - len(text)))
    refused(str(path), "is larger than 5 MB. Give a pattern of an antenna as CSV or .msi.")


def test_a_pair_is_told_against_the_co_polar_zenith(tmp_path):
    """5 dBi and 15 dB less: the cross-polar gain is -15 dB at the zenith; both fall by 20 dB to the nadir."""
    cut(tmp_path, "a_rhcp.msi", upright)
    found = read_pattern(cut(tmp_path, "a_lhcp.msi", upright, "GAIN -10.0 dBi"))
    at = np.array([90.0, 45.0, 0.0, -45.0, -90.0])
    assert decibels(found.co_polar(at)) == pytest.approx([0, -5, -10, -15, -20], abs=0.01)
    assert decibels(found.cross_polar(at)) == pytest.approx([-15, -20, -25, -30, -35], abs=0.01)
    assert len(found.elevation_deg) == 181 and (found.elevation_deg[0], found.elevation_deg[-1]) == (-90, 90)


def test_gain_over_a_dipole_is_2_15_less_than_over_an_isotropic_antenna(tmp_path):
    """A half-wave dipole has 2.15 dBi (antenna textbooks)."""
    cut(tmp_path, "a_rhcp.msi", upright, "GAIN 5.0 dBd")
    found = read_pattern(cut(tmp_path, "a_lhcp.msi", upright, "gain 5.0DBI"))
    assert decibels(found.cross_polar(90.0)) == pytest.approx(-2.15, abs=0.001)


@pytest.mark.parametrize("turned, zenith", [(0, 0), (14.5, 0), (345.5, 0), (90, 90), (75.5, 90), (104.5, 90),
                                            (270, 270), (255.5, 270), (284.5, 270)])
def test_the_zenith_is_where_it_is_strongest_to_15_degrees(tmp_path, turned, zenith):
    def losses(angle):
        return upright((angle - turned) % 360.0)
    cut(tmp_path, "a_lhcp.msi", losses, step=0.5)
    found = read_pattern(cut(tmp_path, "a_rhcp.msi", losses, step=0.5))
    # both sides are averaged, so seen from the zenith told both are as far off
    side = np.mean([10**(-upright((90.0 + sign * (turned - zenith)) % 360.0) / 10.0) for sign in (1, -1)])
    top = 10**(-upright((turned - zenith) % 360.0) / 10.0)
    assert decibels(found.co_polar(0.0)) == pytest.approx(10 * np.log10(side / top), abs=0.01)


@pytest.mark.parametrize("turned", [16, 74, 106, 180, 254, 286, 344])
def test_what_is_strongest_elsewhere_does_not_point_up(tmp_path, turned):
    cut(tmp_path, "a_lhcp.msi", upright, step=2.0)
    path = cut(tmp_path, "a_rhcp.msi", lambda angle: upright((angle - turned) % 360.0), step=2.0)
    refused(path, "a_rhcp.msi”", f"its vertical cut is strongest at {turned}°, which is near none of 0, 90 and 270°")


def test_attenuations_may_dip_a_little_below_0(tmp_path):
    cut(tmp_path, "a_lhcp.msi", upright)
    for least, is_fine in ((-0.5, True), (-0.501, False)):
        path = cut(tmp_path, "a_rhcp.msi", lambda angle, least=least: least if angle == 0 else upright(angle))
        if is_fine:
            assert decibels(read_pattern(path).co_polar(-90.0)) == pytest.approx(-20.5, abs=0.01)
        else:
            refused(path, "line 7: the attenuation -0.501 is below 0.")


@pytest.mark.parametrize("extra, count, said", [
    ("360 0\n", 37, None), ("-10 1.111\n", 37, None), ("360 0.2\n", 37, "line 43: 0° stands twice, first in line 7."),
    ("350 1.111\n", 37, "line 43: 350° stands twice, first in line 42."), ("361 0\n", 37, "361° is beyond ±360°"),
    ("5 1\n", 36, "line 43: this line belongs to no cut"), ("-5 1\n", 36, "belongs to no cut"),
    ("NOTE 1\n", 36, None), ("GAIN 1 dBi\n", 36, "line 43: GAIN stands there twice. Leave the right one."),
    ("5\n", 37, "line 43: an angle and an attenuation are expected."),
    ("", 39, "its vertical cut ends 3 lines too soon"),
    ("5 one\n", 37, "“one” is no finite number")])
def test_a_cut_is_as_long_as_it_says_and_tells_each_angle_once(tmp_path, extra, count, said):
    cut(tmp_path, "a_lhcp.msi", upright)
    path = Path(cut(tmp_path, "a_rhcp.msi", upright, extra=extra))
    path.write_text(path.read_text().replace("VERTICAL 36\n", f"VERTICAL {count}\n"))
    if said is None:
        assert decibels(read_pattern(str(path)).co_polar(0.0)) == pytest.approx(-10.0, abs=0.01)
    else:
        refused(str(path), said)


@pytest.mark.parametrize("gain, said", [
    ("GAIN", "line 2: GAIN “” is no gain. Write a number and dBi or dBd."), ("GAIN 5 dBx", "GAIN “5 dBx” is no gain."),
    ("GAIN 5 dBi peak", "GAIN “5 dBi peak” is no gain."), ("GAIN five dBi", "“five” is no finite number"),
    ("GAIN 301 dBi", "301 dB is beyond ±300 dB"), ("", "has no GAIN"),
    ("GAIN 5", "has a GAIN without a unit, the other one of the pair has one.")])
def test_a_gain_is_a_number_and_its_unit(tmp_path, gain, said):
    cut(tmp_path, "a_lhcp.msi", upright)
    refused(cut(tmp_path, "a_rhcp.msi", upright, gain), "a_rhcp.msi”", said)


@pytest.mark.parametrize("told", ["", " 0", " -3", " 3.5", " 100000", " many"])
def test_a_cut_says_of_how_many_lines_it_is(tmp_path, told):
    cut(tmp_path, "a_lhcp.msi", upright)
    path = Path(cut(tmp_path, "a_rhcp.msi", upright))
    path.write_text(path.read_text().replace("VERTICAL 36\n", f"VERTICAL{told}\n"))
    refused(str(path), f"line 6: “{told.strip()}” behind VERTICAL is no number of lines.", "such as 360")


def test_it_is_the_one_without_a_unit_that_is_blamed(tmp_path):
    cut(tmp_path, "a_lhcp.msi", upright, "GAIN 5")
    refused(cut(tmp_path, "a_rhcp.msi", upright), "“a_lhcp.msi” has a GAIN without a unit")


def test_partners_are_named_as_the_given_one_is(tmp_path):
    for given, wanted in (("X-RHCP.msi", "X-LHCP.msi"), ("x-Lhcp.msi", "x-Rhcp.msi"),
                          ("rhcp_lhcp.msi", "lhcp_lhcp.msi")):
        refused(cut(tmp_path, given, upright), given, f"the other one of the pair, “{wanted}”, is not")
        (tmp_path / given).unlink()
    refused(cut(tmp_path, "plain.msi", upright), "of a pair of .msi files one must have “rhcp” in its name")
    for name in ("y_LHCP.msi", "y_lHcp.msi"):
        cut(tmp_path, name, upright)
    refused(cut(tmp_path, "y_rhcp.msi", upright), "which of y_LHCP.msi, y_lHcp.msi is the", "Name it “y_lhcp.msi”")
    cut(tmp_path, "y_lhcp.msi", upright, "GAIN 1.0 dBi")
    found = read_pattern(str(tmp_path / "y_rhcp.msi"))
    assert decibels(found.cross_polar(90.0)) == pytest.approx(-4.0, abs=0.001), "its very name goes before all others"
