"""Antenna patterns from files, against the closed forms that the files were written from."""

import numpy as np
import pytest
from stillwater.siting.errors import InputError
from stillwater.siting.precision.patternfiles import read_pattern

ANGLES = np.arange(-90.0, 91.0, 5.0)


def table(tmp_path, text, name="antenna.csv"):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return str(path)


def csv_of(gain, cross, mark=",", head=("elevation", "rhcp_db", "lhcp_db")):
    rows = [mark.join(head)] + [mark.join(f"{v:.6f}" for v in (e, gain(e), cross(e))) for e in ANGLES]
    return "\n".join(rows) + "\n"


def cut(gain_dbi, zenith, unit="dBi", greatest=None):
    """Write an .msi file whose vertical cut has the zenith at an angle."""
    angle = np.arange(360.0)
    elevation = 90.0 - np.abs((angle - zenith + 180.0) % 360.0 - 180.0)
    values = gain_dbi(elevation)
    top = values.max() if greatest is None else greatest
    told = top if unit == "dBi" else top - 2.15
    lines = ["NAME invented", "FREQUENCY 1575", f"GAIN {told:.3f} {unit}", "HORIZONTAL 360"]
    lines += [f"{a:.1f} 0.0" for a in angle] + ["VERTICAL 360"]
    lines += [f"{a:.1f} {top - v:.4f}" for a, v in zip(angle, values)]
    return "\n".join(lines) + "\n"


def smooth(elevation):
    """A cosine squared of half the zenith angle, 30 dB down below."""
    return 20.0 * np.log10(np.maximum(np.cos(np.radians((90.0 - elevation) / 2.0))**2, 10**-1.5))


@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_a_table_is_read_against_its_zenith(tmp_path, mark):
    path = table(tmp_path, csv_of(lambda e: 5.0 + smooth(e), lambda e: smooth(e) - 20.0, mark))
    found = read_pattern(path)
    assert found.name == "antenna.csv"
    assert 20 * np.log10(found.co_polar(ANGLES)) == pytest.approx(smooth(ANGLES), abs=1e-4)
    assert 20 * np.log10(found.cross_polar(ANGLES)) == pytest.approx(smooth(ANGLES) - 25.0, abs=1e-4)


def test_columns_may_stand_in_any_order_and_case_and_rows_too(tmp_path):
    text = (' "LHCP_dB" ; Elevation;note;RHCP_ dB\n-20;90;up;3\n-25;-30;down;-30\n-18;0;side;-5\n'
            '"-18";"30";;" 1"\n-19;60;high;2\n')
    found = read_pattern(table(tmp_path, text))
    assert found.elevation_deg.tolist() == [-30, 0, 30, 60, 90] and found.co_db.tolist() == [-33, -8, -2, -1, 0]
    assert found.cross_db.tolist() == [-28, -21, -21, -22, -23]


@pytest.mark.parametrize("zenith", [0.0, 90.0, 270.0])
@pytest.mark.parametrize("given", ["rhcp", "lhcp"])
def test_a_pair_is_found_by_its_names_and_turned_upright(tmp_path, zenith, given):
    table(tmp_path, cut(lambda e: 6.0 + smooth(e), zenith), "mast_RHCP_L1.msi")
    table(tmp_path, cut(lambda e: smooth(e) - 14.0, zenith, "dBd"), "mast_LHCP_L1.msi")
    found = read_pattern(str(tmp_path / f"mast_{given.upper()}_L1.msi"))
    assert 20 * np.log10(found.co_polar(ANGLES)) == pytest.approx(smooth(ANGLES), abs=0.02)
    assert 20 * np.log10(found.cross_polar(ANGLES)) == pytest.approx(smooth(ANGLES) - 20.0, abs=0.02)


def test_both_sides_of_a_cut_are_averaged_in_power(tmp_path):
    text = cut(smooth, 0.0).splitlines()
    start = text.index("VERTICAL 360") + 1
    # 3.0103 dB less on the right side: half the power
    for i in range(start + 91, start + 180):
        angle, loss = text[i].split()
        text[i] = f"{angle} {float(loss) + 3.0103:.4f}"
    table(tmp_path, "\n".join(text), "a_rhcp.msi")
    table(tmp_path, cut(lambda e: smooth(e) - 20.0, 0.0), "a_lhcp.msi")
    found = read_pattern(str(tmp_path / "a_rhcp.msi"))
    below = np.array([-10.0, -30.0])
    assert 20 * np.log10(found.co_polar(below)) == pytest.approx(smooth(below) + 10 * np.log10(0.75), abs=0.02)


GOOD = csv_of(smooth, lambda e: smooth(e) - 20.0)


@pytest.mark.parametrize("text, words", [
    ("", ["is empty"]), ("elevation,rhcp_db\n0,1\n", ["line 1", "lhcp_db"]),
    (GOOD + "nan,0,0\n", ["line 39", "no finite number"]), (GOOD + "100,0,0\n", ["line 39", "100°"]),
    (GOOD + "0,0\n", ["line 39", "2 columns"]), (GOOD + "0,1,1\n", ["line 39", "0° stands twice", "line 20"]),
    (GOOD + "-90,0,-30,5,-38,0\n", ["line 39", "6 columns", "decimal point"]),
    (GOOD.replace(",", ";") + "1,5;0;0\n", ["line 39", "“1,5”", "decimal point"]),
    (GOOD + "1,500,0\n", ["line 39", "300 dB"]),
    ("elevation,rhcp_db,lhcp_db,RHCP_DB\n0,0,0,0\n", ["line 1", "rhcp_db twice"]),
    ("elevation,rhcp_db,lhcp_db\n0,0,0\n30,0,0\n60,0,0\n90,0,0\n", ["0 to 90°", "missing: below 0°"]),
    ("elevation,rhcp_db,lhcp_db\n-30,0,0\n0,0,0\n30,0,0\n60,0,0\n", ["-30 to 60°", "missing: above 60°"]),
    ("elevation,rhcp_db,lhcp_db\n-90,0,0\n90,0,0\n", ["from -90 to 90°", "30°"]),
    ("elevation,rhcp_db,lhcp_db\n", ["no row"]), ("a\0b", ["no text"])])
def test_a_bad_table_is_refused_by_name_and_line(tmp_path, text, words):
    with pytest.raises(InputError) as caught:
        read_pattern(table(tmp_path, text))
    assert all(word in str(caught.value) for word in ["“antenna.csv”", *words]), caught.value


def test_bad_pairs_are_refused_by_name(tmp_path):
    for name, words in (("plain.msi", "“rhcp” in its name"), ("a_rhcp.msi", "“a_lhcp.msi”, is not in the same folder")):
        with pytest.raises(InputError, match=words):
            read_pattern(table(tmp_path, cut(smooth, 0.0), name))
    table(tmp_path, cut(smooth, 0.0), "b_lhcp.msi")
    with pytest.raises(InputError, match="strongest at 45°"):
        read_pattern(table(tmp_path, cut(smooth, 45.0), "b_rhcp.msi"))
    with pytest.raises(InputError, match="ends 100 lines too soon"):
        read_pattern(table(tmp_path, "\n".join(cut(smooth, 0.0).splitlines()[:-100]), "b_rhcp.msi"))
    with pytest.raises(InputError, match="is no file"):
        read_pattern(str(tmp_path / "missing.csv"))


def decibels(field):
    return 20.0 * np.log10(field)


def test_isotropic_antennas_gain_alike_everywhere(tmp_path):
    """No direction is strongest, so any angle may be the zenith; the closed form is a constant."""
    table(tmp_path, cut(lambda e: 0.0 * e + 3.0, 0.0), "i_rhcp.msi")
    table(tmp_path, cut(lambda e: 0.0 * e - 7.0, 0.0), "i_lhcp.msi")
    found = read_pattern(str(tmp_path / "i_rhcp.msi"))
    assert decibels(found.co_polar(ANGLES)) == pytest.approx(0.0, abs=1e-6)
    assert decibels(found.cross_polar(ANGLES)) == pytest.approx(-10.0, abs=1e-3)


def test_a_flat_top_points_to_its_middle(tmp_path):
    """Equal over 60°: its first angle lies 30° from the zenith, its middle on it."""
    def flat(e):
        return np.minimum(smooth(e), smooth(np.array(60.0)))
    table(tmp_path, cut(flat, 90.0), "f_rhcp.msi")
    table(tmp_path, cut(lambda e: flat(e) - 20.0, 90.0), "f_lhcp.msi")
    found = read_pattern(str(tmp_path / "f_rhcp.msi"))
    assert decibels(found.co_polar(ANGLES)) == pytest.approx(flat(ANGLES) - flat(np.array(90.0)), abs=0.02)


def test_the_partner_is_found_whatever_its_case(tmp_path):
    table(tmp_path, cut(smooth, 0.0), "Mast_RHCP.msi")
    table(tmp_path, cut(lambda e: smooth(e) - 20.0, 0.0), "mast_lhcp.MSI")
    assert decibels(read_pattern(str(tmp_path / "Mast_RHCP.msi")).cross_polar(90.0)) == pytest.approx(-20.0, abs=0.01)
    assert decibels(read_pattern(str(tmp_path / "mast_lhcp.MSI")).co_polar(0.0)) == pytest.approx(
        smooth(np.array(0.0)), abs=0.01)


def test_a_cut_may_close_with_the_angle_it_began_with(tmp_path):
    text = cut(smooth, 0.0).rstrip().replace("VERTICAL 360", "VERTICAL 361") + "\n360.0 0.0000\n"
    table(tmp_path, text, "c_rhcp.msi")
    table(tmp_path, cut(smooth, 0.0), "c_lhcp.msi")
    assert decibels(read_pattern(str(tmp_path / "c_rhcp.msi")).co_polar(ANGLES)) == pytest.approx(
        smooth(ANGLES), abs=0.02)


def test_without_units_both_gains_count_alike(tmp_path):
    for word, least in (("rhcp", 0.0), ("lhcp", 20.0)):
        table(tmp_path, cut(lambda e, least=least: smooth(e) - least, 0.0).replace(" dBi", ""), f"u_{word}.msi")
    found = read_pattern(str(tmp_path / "u_rhcp.msi"))
    assert decibels(found.cross_polar(90.0)) == pytest.approx(-20.0, abs=0.01)


def test_a_pattern_must_reach_as_far_below_the_horizon_as_satellites_stand_above(tmp_path):
    rows = [row for row in GOOD.splitlines() if not row.startswith(("-9", "-8", "-7", "-6", "-5", "-4", "-3"))]
    path = table(tmp_path, "\n".join(rows))
    assert read_pattern(path, 25.0).elevation_deg[0] == -25.0
    with pytest.raises(InputError, match="-25 to 90°.*from -40 .*missing: below -25°"):
        read_pattern(path, 40.0)


def damaged(find, put):
    return lambda text: text.replace(find, put, 1)


@pytest.mark.parametrize("damage, words", [
    (damaged("GAIN 0.000 dBi\n", ""), ["GAIN", "missing"]),
    (damaged("GAIN 0.000 dBi", "GAIN 0 dBx"), ["line 3", "dBi or dBd"]),
    (damaged("GAIN 0.000 dBi", "GAIN nan dBi"), ["line 3", "no finite number"]),
    (damaged("GAIN 0.000 dBi", "GAIN 0.000 dBi\nGAIN 1 dBi"), ["line 4", "GAIN", "twice"]),
    (damaged("GAIN 0.000 dBi", "GAIN 0.000"), ["unit", "dBi or dBd"]),
    (damaged("VERTICAL 360", "VERTICAL -5"), ["line 365", "number of lines"]),
    (damaged("VERTICAL 360", "VERTICAL many"), ["line 365", "“many”"]),
    (damaged("VERTICAL 360", "VERTICAL 350"), ["line 716", "no cut"]),
    (lambda text: text[:text.index("VERTICAL")], ["vertical cut is missing"]),
    (lambda text: text[:text.index("VERTICAL")] + "VERTICAL 9\n" + "".join(f"{a} {a}\n" for a in range(9)),
     ["from 8 to 360°", "30°"]),
    (lambda text: text.rstrip().rsplit(" ", 1)[0], ["line 725", "an angle and an attenuation"]),
    (lambda text: text.rstrip().rsplit("\n", 9)[0], ["vertical cut ends 9 lines too soon"]),
    (lambda text: text.rsplit("\n359.0", 1)[0] + "\n358.0 9.0\n", ["line 725", "358° stands twice"]),
    (lambda text: text.rsplit("\n359.0", 1)[0] + "\n359,0 9,0\n", ["line 725", "“359,0”", "decimal point"]),
    (lambda text: text.rsplit("\n359.0", 1)[0] + "\n359.0 -9.0\n", ["line 725", "below 0"]),
    (lambda text: text.rsplit("\n359.0", 1)[0] + "\n359.0 inf\n", ["line 725", "no finite number"]),
    (lambda text: text.rsplit("\n359.0", 1)[0] + "\n359.0 1e9\n", ["line 725", "300 dB"])])
def test_a_bad_cut_is_refused_by_name_and_line(tmp_path, damage, words):
    good = cut(smooth, 0.0)
    text = damage(good)
    assert text != good
    table(tmp_path, text, "b_rhcp.msi")
    table(tmp_path, good, "b_lhcp.msi")
    with pytest.raises(InputError) as caught:
        read_pattern(str(tmp_path / "b_rhcp.msi"))
    assert all(word in str(caught.value) for word in ["b_rhcp.msi”", *words]), caught.value


def test_a_pattern_is_not_read_where_it_cannot_be_one(tmp_path):
    with pytest.raises(InputError, match="larger than 5 MB"):
        read_pattern(table(tmp_path, "0,0,0\n" * 1_000_000))
    junk = tmp_path / "junk.csv"
    junk.write_bytes(bytes(range(1, 256)))
    with pytest.raises(InputError, match="“junk.csv”, line 1: the head names no column"):
        read_pattern(str(junk))
    with pytest.raises(InputError, match="is no file"):
        read_pattern(str(tmp_path))
