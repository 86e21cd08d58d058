"""The model that ships with the plugin: from a bare shoreline to a site sheet, in one run."""

import subprocess
from pathlib import Path

import pytest
from qgis.core import Qgis, QgsApplication
from scenes import SAMPLE, Feedback, rows

pytestmark = pytest.mark.usefixtures("provider")

ROOT = Path(__file__).resolve().parents[2]
MODEL = "stillwater:shoretosheet"


def destination(name) -> str:
    """Return what this QGIS calls an output of the model: older ones put the step's name before it."""
    model = QgsApplication.processingRegistry().algorithmById(MODEL)
    found, = [one.name() for one in model.destinationParameterDefinitions() if one.name().split(":")[-1] == name]
    return found


def test_the_model_is_there_with_a_title_of_its_own():
    model = QgsApplication.processingRegistry().algorithmById(MODEL)
    assert model is not None and model.displayName() == "From a shoreline to site sheets"
    group = {one.group(): one.groupId() for one in model.provider().algorithms()
             if one.id() != MODEL}
    assert group[model.group()] == model.groupId(), "the toolbox would show the group twice"
    assert not model.icon().isNull()
    fine, why = model.canExecute()
    assert fine, why


@pytest.mark.skipif(Qgis.QGIS_VERSION_INT >= 32800, reason="models are made by the oldest QGIS that is supported")
def test_the_model_is_the_one_that_its_script_makes(tmp_path):
    subprocess.run(["/usr/bin/python3", str(ROOT / "plugin/models/make_models.py"), str(tmp_path)], check=True,
                   env={"QT_QPA_PLATFORM": "offscreen", "QT_HASH_SEED": "0", "HOME": str(tmp_path),
                        "PATH": "/usr/bin:/bin"}, capture_output=True)
    made = (tmp_path / "shoretosheet.model3").read_text(encoding="utf-8")
    assert made == (ROOT / "plugin/models/shoretosheet.model3").read_text(encoding="utf-8")


def test_from_a_bare_shoreline_to_a_sheet(tmp_path):
    import processing
    outputs = {name: str(tmp_path / file) for name, file in (
        ("RANKED", "ranked.gpkg"), ("IMPROVED", "improved.gpkg"), ("SHEET", "sheet.html"), ("PRINT", "sheet.pdf"),
        ("MASK", "mask.csv"))}
    feedback = Feedback()
    processing.run(MODEL, {
        "SHORE": f"{SAMPLE}/coast.gpkg|layername=shoreline|subset=kind='sea'", "SIDE": "left", "SPACING": 400,
        "OFFSET": 3, "DEM": f"{SAMPLE}/elevation.tif", "DEM_WATER": "bed", "LANDCOVER": f"{SAMPLE}/landcover.tif",
        "TARGET_CLASSES": "1-2", "AVOID": f"{SAMPLE}/coast.gpkg|layername=avoid", "AVOID_FIELD": "share",
        "AVOID_NAME": "name", "ANTENNA_HEIGHT": 4, "HEIGHT_MIN": 4, "HEIGHT_MAX": 4.5, "SURFACE_LEVEL": 0,
        "LEVEL_LOW": -1.1, "LEVEL_HIGH": 1.1, "RADIUS": 8, "BEST": 1,
        **{destination(name): path for name, path in outputs.items()}}, feedback=feedback)
    ranked, improved = rows(outputs["RANKED"]), rows(outputs["IMPROVED"])
    assert len(ranked) > 10 and len(improved) == 1
    best = next(row for row in ranked if row["rank"] == 1)
    # what was ranked is where the search began, and it ends no worse
    assert improved[0]["score_old"] == pytest.approx(best["score"], abs=1e-6)
    assert improved[0]["score_new"] >= improved[0]["score_old"]
    assert best["site"] in Path(outputs["SHEET"]).read_text(encoding="utf-8")
    assert Path(outputs["PRINT"]).read_bytes().startswith(b"%PDF")
    assert best["site"] in Path(outputs["MASK"]).read_text(encoding="utf-8")
