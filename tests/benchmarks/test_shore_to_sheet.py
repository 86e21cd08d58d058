"""Time the whole chain on the sample coast: from a bare shoreline with 500 candidates to a PDF, by the shipped model.

Printed; nothing asserts a time.
"""

import subprocess
import time
from pathlib import Path

from osgeo import ogr

ROOT = Path(__file__).resolve().parents[2]
SAMPLE = ROOT / "sample_layers"


def test_from_a_shoreline_to_a_pdf(tmp_path):
    listed = subprocess.run([str(ROOT / "headless"), "help", "stillwater:shoretosheet"], capture_output=True, text=True,
                            check=True).stdout
    step = (lambda name: name + ":") if "sheet:PRINT" in listed else (lambda name: "")
    begin = time.perf_counter()
    subprocess.run([
        str(ROOT / "headless"), "run", "stillwater:shoretosheet", "--",
        f"SHORE={SAMPLE}/coast.gpkg|layername=shoreline|subset=kind='sea'", "SIDE=left", "SPACING=18", "OFFSET=3",
        f"DEM={SAMPLE}/elevation.tif", "DEM_WATER=bed", f"LANDCOVER={SAMPLE}/landcover.tif", "TARGET_CLASSES=1-2",
        f"AVOID={SAMPLE}/coast.gpkg|layername=avoid", "AVOID_FIELD=share", "AVOID_NAME=name", "ANTENNA_HEIGHT=4",
        "HEIGHT_MIN=3", "HEIGHT_MAX=6", "LEVEL_LOW=-1.1", "LEVEL_HIGH=1.1", "RADIUS=25", "BEST=3",
        f"IMAGERY={SAMPLE}/aerial.tif", f"{step('rank')}RANKED={tmp_path}/ranked.gpkg",
        f"{step('improve')}IMPROVED={tmp_path}/improved.gpkg", f"{step('sheet')}PRINT={tmp_path}/sheet.pdf"],
        check=True, capture_output=True)
    spent = time.perf_counter() - begin
    ranked = ogr.Open(str(tmp_path / "ranked.gpkg"))
    candidates = ranked.GetLayer(0).GetFeatureCount()
    size = (tmp_path / "sheet.pdf").stat().st_size / 1e6
    print(f"\nfrom a bare shoreline to a PDF by the shipped model: {candidates} candidates, the best 3 improved and "
          f"printed, {spent:.0f} s in all, {size:.1f} MB")
    assert candidates >= 450 and size < 3.0
