"""The files that the plugin repository reads, held to its published requirements.

Source: QGIS documentation, PyQGIS Developer Cookbook, chapter "Structuring Python Plugins", table
of metadata.txt keys; limit of the zip: plugins.qgis.org, publishing requirements (from memory).
"""

import configparser
import re
import shutil
import subprocess
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
REQUIRED_KEYS = {
    "name", "description", "version", "qgisMinimumVersion", "author", "email", "about", "tracker",
    "repository"}
LARGEST_ZIP_BYTES = 25_000_000
TOP_FOLDERS = ("siting", "processing_algs", "plugin")


@pytest.fixture(scope="module")
def metadata():
    """Read metadata.txt the way QGIS does, with Python's ConfigParser."""
    parser = configparser.ConfigParser()
    parser.optionxform = str
    parser.read(ROOT / "metadata.txt", encoding="utf-8")
    return dict(parser["general"])


def test_metadata_has_every_required_key(metadata):
    assert {key for key in REQUIRED_KEYS if not metadata.get(key)} == set()
    assert "plugin" not in metadata["name"].lower()
    assert re.fullmatch(r"\d+\.\d+\.\d+", metadata["version"])
    assert metadata["hasProcessingProvider"] == "yes"


def test_metadata_covers_qgis_3_22_to_4(metadata):
    assert (metadata["qgisMinimumVersion"], metadata["qgisMaximumVersion"]) == ("3.22", "4.99")


def test_metadata_names_the_external_dependencies(metadata):
    for name in ("numpy", "GDAL", "pyproj", "shapely", "rasterio", "skyfield"):
        assert name in metadata["about"]


def test_the_icon_that_metadata_names_is_there(metadata):
    assert (ROOT / metadata["icon"]).is_file()


def test_one_version_everywhere(metadata):
    tomllib = pytest.importorskip("tomllib", reason="Python 3.11 and later")
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    assert project["project"]["version"] == metadata["version"]
    packages = {"stillwater"} | {
        ".".join(["stillwater", *path.parent.relative_to(ROOT).parts])
        for top in TOP_FOLDERS for path in (ROOT / top).rglob("__init__.py")}
    assert set(project["tool"]["setuptools"]["packages"]) == packages


def test_the_zip_holds_one_installable_folder(tmp_path):
    if not (ROOT / ".git").exists() or shutil.which("zip") is None:
        pytest.skip("the zip is packed from a git checkout, with zip")
    made = tmp_path / "stillwater.zip"
    subprocess.run([ROOT / ".ci" / "package", made], check=True, timeout=120, capture_output=True)
    assert made.stat().st_size < LARGEST_ZIP_BYTES
    with zipfile.ZipFile(made) as archive:
        assert archive.testzip() is None
        names = archive.namelist()
    assert {name.split("/")[0] for name in names} == {"stillwater"}
    assert {"stillwater/__init__.py", "stillwater/metadata.txt", "stillwater/LICENSE"} <= set(names)
    unwanted = re.compile(r"stillwater/(tests|build|\.|CONTRIBUTING)|__pycache__|\.py[co]$|\.(so|dll|exe)$")
    assert [name for name in names if unwanted.search(name)] == []
    sources = {str(path.relative_to(ROOT)) for top in TOP_FOLDERS for path in (ROOT / top).rglob("*.py")}
    assert {name.removeprefix("stillwater/") for name in names} >= sources
