"""The demonstration: what `make demo` leaves, run into a folder of its own."""

import hashlib
import os
import re
import subprocess
from pathlib import Path

import pytest
from osgeo import ogr
from qgis.core import QgsVectorLayer
from qgis.PyQt.QtGui import QImage

RENDERERS = {"candidates": "categorizedSymbol", "sectors": "graduatedSymbol", "footprints": "RuleRenderer"}


@pytest.fixture(scope="module")
def demo(repository_root, tmp_path_factory):
    """Run the demo from another working directory over what an earlier run left; give the folder and the print."""
    folder, elsewhere = tmp_path_factory.mktemp("demo"), tmp_path_factory.mktemp("elsewhere")
    (folder / "map.png").write_text("left by an earlier run")
    environment = {**os.environ, "LC_ALL": "C.UTF-8", "COLUMNS": "120"}
    environment.pop("QT_QPA_PLATFORM", None)
    inputs = [*(repository_root / "sample_layers").glob("*.tif"), repository_root / "sample_layers" / "coast.gpkg"]
    before = [hashlib.sha256(path.read_bytes()).hexdigest() for path in inputs]
    done = subprocess.run([str(repository_root / "sample_layers" / "demo.sh"), str(folder)], cwd=elsewhere,
                          env=environment, capture_output=True, text=True, timeout=900)
    assert done.returncode == 0, done.stderr
    assert [hashlib.sha256(path.read_bytes()).hexdigest() for path in inputs] == before, "the demo changed its input"
    assert list(elsewhere.iterdir()) == []
    return folder, done.stdout


def layer_of(folder: Path, name: str) -> QgsVectorLayer:
    """Open a layer of the demo's GeoPackage as QGIS opens it by default: with the style saved in it."""
    layer = QgsVectorLayer(f"{folder / 'stillwater_demo.gpkg'}|layername={name}", name, "ogr")
    assert layer.isValid()
    return layer


def test_it_leaves_what_it_promises_and_nothing_half_written(demo):
    folder, _printed = demo
    assert {p.name for p in folder.iterdir()} == {
        "stillwater_demo.gpkg", "map.png", "ranking.html", "ranking_lake_level.html", "ranking_snow_depth.html",
        "site_sheet.html", "site_sheet.pdf", "site_mask.csv"}


@pytest.mark.parametrize("name", RENDERERS)
def test_the_geopackage_opens_styled(demo, name):
    layer = layer_of(demo[0], name)
    assert layer.renderer().type() == RENDERERS[name]
    assert layer.attributeAlias(layer.fields().lookupField("site")) == "Site"
    assert layer.crs().authid() == "EPSG:32624"


def test_every_candidate_is_ranked_and_has_its_sectors_and_footprints(demo, repository_root):
    sample = ogr.Open(str(repository_root / "sample_layers" / "coast.gpkg"))
    names = {feature["name"] for feature in sample.GetLayerByName("candidates")}
    sample = None
    for name, each in (("candidates", 1), ("sectors", 72), ("footprints", 24 * 4)):
        sites = [feature["site"] for feature in layer_of(demo[0], name).getFeatures()]
        assert set(sites) == names
        assert len(sites) == each * len(names)


def test_the_pier_head_ranks_first_and_what_should_fail_does(demo):
    rows = {f["site"]: f for f in layer_of(demo[0], "candidates").getFeatures()}
    sea = sorted((f for f in rows.values() if f["purpose"] == "sea level"), key=lambda f: f["rank"])
    assert sea[0]["site"] == "Pier head"
    assert [f["rank"] for f in sea] == sorted(f["rank"] for f in sea) and sea[-1]["rank"] == len(sea)
    for name in ("Pier head", "Lake jetty", "Plateau mast"):
        assert rows[name]["verdict"] == "suitable"
    for name in ("Promenade", "Flat beacon", "Sallow Hollow", "Ferry steps", "Shut cove"):
        assert rows[name]["verdict"] == "unsuitable"


def test_it_prints_the_ranking_in_order_and_says_where_to_look(demo):
    folder, printed = demo
    sea = printed[printed.index("Sea level"):printed.index("Lake level")]
    ranks = [(int(m[1]), m[2].strip()) for m in re.finditer(r"^ {2,3}(\d+)  (.{18})", sea, re.MULTILINE)]
    expected = sorted((f["rank"], f["site"]) for f in layer_of(folder, "candidates").getFeatures()
                      if f["purpose"] == "sea level")
    assert ranks == expected
    for name in ("stillwater_demo.gpkg", "ranking.html", "map.png", str(folder)):
        assert name in printed
    assert max(len(line) for line in printed.splitlines() if str(folder) not in line) <= 120


def test_the_pages_stand_alone(demo):
    for page, site in (("ranking.html", "Pier head"), ("ranking_lake_level.html", "Lake jetty"),
                       ("ranking_snow_depth.html", "Plateau mast"), ("site_sheet.html", "Observation mask")):
        text = (demo[0] / page).read_text(encoding="utf-8")
        assert site in text and "<svg" in text
        # what it links to stands in the page, or is a picture written out
        assert not re.search(r"<(link|iframe)\b|<script[^>]|\b(src|href)=.(?!#|data:)|url\((?!#|data:)", text), (
            f"{page} needs another file")


def test_the_chain_ends_in_a_sheet_its_print_and_the_observation_mask(demo):
    folder = demo[0]
    assert (folder / "site_sheet.pdf").read_bytes().startswith(b"%PDF")
    head, *lines = (folder / "site_mask.csv").read_text(encoding="utf-8").splitlines()
    assert head.startswith("site,lon,lat,az_from,az_to,el_from,el_to") and lines


def test_the_map_shows_a_picture_and_not_one_colour(demo):
    picture = QImage(str(demo[0] / "map.png"))
    assert picture.width() > 1500 and picture.height() > 1000
    middle = [picture.pixelColor(x, y).name() for x in range(100, 1500, 20) for y in range(100, 1500, 20)]
    assert len(set(middle)) > 500
