"""The command ./headless, as a user would type it, in a process of its own."""

import os
import shutil
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
HEADLESS = str(ROOT / "headless")
LONGEST_S = 120

pytestmark = pytest.mark.skipif(
    shutil.which("qgis_process") is None, reason="this QGIS brings no qgis_process")


def headless(*args, **options) -> subprocess.CompletedProcess:
    """Run ./headless and return what it said."""
    return subprocess.run(
        [HEADLESS, *args], capture_output=True, text=True, timeout=LONGEST_S, stdin=subprocess.DEVNULL, **options)


def test_lists_the_algorithms_from_any_folder_and_keeps_quiet(tmp_path):
    done = headless("list", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    for name in ("footprints", "surfacequality", "rankcandidates"):
        assert f"stillwater:{name}\t" in done.stdout
    assert done.stderr.strip() == ""


def test_help_shows_parameters_with_their_descriptions():
    done = headless("help", "stillwater:footprints")
    assert done.returncode == 0, done.stderr
    for name in ("INPUT", "ANTENNA_HEIGHT", "ELEVATIONS", "OUTPUT"):
        assert f"\n{name}:" in done.stdout


def test_the_exit_code_comes_through():
    done = headless("help", "stillwater:nosuchalgorithm")
    assert done.returncode != 0
    assert "nosuchalgorithm" in done.stdout + done.stderr
    assert "Traceback" not in done.stdout + done.stderr


def test_leaves_nothing_behind_and_takes_no_notice_of_the_users_profile(tmp_path):
    scratch, home = tmp_path / "scratch", tmp_path / "a home"
    scratch.mkdir()
    home.mkdir()
    environment = dict(os.environ, TMPDIR=str(scratch), HOME=str(home))
    for name in ("QGIS_CUSTOM_CONFIG_PATH", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME"):
        environment.pop(name, None)
    done = headless("list", env=environment)
    assert done.returncode == 0, done.stderr
    assert list(scratch.iterdir()) == []
    assert [path for path in home.rglob("*") if path.is_file()] == []


def test_two_at_once_do_not_meet():
    running = [
        subprocess.Popen([HEADLESS, "list"], stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                         stdin=subprocess.DEVNULL, text=True) for _ in range(2)]
    for one in running:
        out, err = one.communicate(timeout=LONGEST_S)
        assert one.returncode == 0, err
        assert "stillwater:footprints" in out


def test_arguments_with_blanks_and_quotes_arrive_whole(tmp_path):
    odd = tmp_path / "it's a \"folder\""
    odd.mkdir()
    source = odd / "two points.geojson"
    source.write_text(
        '{"type": "FeatureCollection", "features": [{"type": "Feature", "properties": {"name": "pier head"},'
        ' "geometry": {"type": "Point", "coordinates": [-31.5, 45.0]}}]}', encoding="utf-8")
    target = odd / "out put.geojson"
    done = headless(
        "run", "native:buffer", "--", f"INPUT={source}", "DISTANCE=0.001", "SEGMENTS=2", "END_CAP_STYLE=0",
        "JOIN_STYLE=0", "MITER_LIMIT=2", "DISSOLVE=false", f"OUTPUT={target}")
    assert done.returncode == 0, done.stdout + done.stderr
    assert "pier head" in target.read_text(encoding="utf-8")
