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
    text = "LHCP_dB;Elevation;note;RHCP_dB\n-20;90;up;3\n-25;-90;down;-30\n-18;0;side;-5\n"
    found = read_pattern(table(tmp_path, text))
    assert found.elevation_deg.tolist() == [-90, 0, 90] and found.co_db.tolist() == [-33, -8, 0]
    assert found.cross_db.tolist() == [-28, -21, -23]


@pytest.mark.parametrize("zenith", [0.0, 90.0, 270.0])
@pytest.mark.parametrize("given", ["rhcp", "lhcp"])
def test_a_pair_is_found_by_its_names_and_turned_upright(tmp_path, zenith, given):
    table(tmp_path, cut(lambda e: 6.0 + smooth(e), zenith), "mast_RHCP_L1.msi")
    table(tmp_path, cut(lambda e: smooth(e) - 14.0, zenith, "dBd"), "mast_LHCP_L1.msi")
    found = read_pattern(str(tmp_path / f"mast_{given.upper()}_L1.msi"))
    assert 20 * np.log10(found.co_polar(ANGLES)) == pytest.approx(smooth(ANGLES), abs=0.02)
    assert 20 * np.log10(found.cross_polar(ANGLES)) == pytest.approx(smooth(ANGLES) - 20.0, abs=0.02)


def test_both_sides_of_a_cut_are_averaged_in_power(tmp_path):
    text = cut(lambda e: smooth(e), 0.0).splitlines()
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
    (GOOD + "0,0\n", ["line 39", "2 columns"]), (GOOD + "0,1,1\n", ["0° stands twice"]),
    ("elevation,rhcp_db,lhcp_db\n0,0,0\n90,0,0\n", ["0 to 90°", "-45 or lower"]),
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
