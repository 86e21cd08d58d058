"""The same figures from Python, in a model, by the dialog's parameters and by qgis_process."""

import json
import shutil
import subprocess
from pathlib import Path

import pytest
from qgis.core import (
    QgsProcessingContext,
    QgsProcessingFeatureSourceDefinition,
    QgsProcessingModelAlgorithm,
    QgsProcessingModelChildAlgorithm,
    QgsProcessingModelChildParameterSource,
    QgsProcessingModelOutput,
    QgsProcessingModelParameter,
    QgsProcessingParameterFeatureSource,
    QgsProcessingParameterRasterLayer,
    QgsProject,
    QgsVectorLayer,
)
from qgis.gui import QgsBrowserGuiModel
from qgis.PyQt import sip
from scenes import SAMPLE, Feedback, column, rows, run

pytestmark = pytest.mark.usefixtures("provider")

ROOT = Path(__file__).resolve().parents[2]
SETTINGS = {
    "SITE_FIELD": "name", "HEIGHT_FIELD": "height_m", "HEIGHT_REFERENCE": "ground", "DEM_WATER": "bed",
    "LOW_FIELD": "low_m", "HIGH_FIELD": "high_m", "TARGET_CLASSES": "1-2", "AZIMUTH_STEP": 10,
    "AVOID_FIELD": "share", "AVOID_NAME": "name"}
LAYERS = {
    "INPUT": f"{SAMPLE}/coast.gpkg|layername=candidates", "DEM": f"{SAMPLE}/elevation.tif",
    "LANDCOVER": f"{SAMPLE}/landcover.tif", "WATER": f"{SAMPLE}/coast.gpkg|layername=water",
    "AVOID": f"{SAMPLE}/coast.gpkg|layername=avoid"}
FIGURES = ["az_deg", "quality", "el_from", "el_to", "target", "avoid", "unknown", "usable", "near_m", "far_m",
           "height_m"]


def same(table, wanted):
    """Check that two tables tell the same, site by site."""
    assert [(r["site"], r["reason"]) for r in table] == [(r["site"], r["reason"]) for r in wanted]
    for name in FIGURES:
        assert column(table, name) == pytest.approx(column(wanted, name), abs=1e-6, nan_ok=True), name


@pytest.fixture(scope="module")
def in_python(provider):
    """Give the sectors of the sample's candidates as processing.run makes them."""
    table = rows(run("surfacequality", **LAYERS, **SETTINGS)["OUTPUT"])
    assert len(table) == 15 * 36
    return table


def model() -> QgsProcessingModelAlgorithm:
    """Build a model with `surfacequality` inside; candidates and land cover are its inputs."""
    made = QgsProcessingModelAlgorithm("sectors", "tests")
    for definition in (QgsProcessingParameterFeatureSource("SITES", "Sites"),
                       QgsProcessingParameterRasterLayer("COVER", "Land cover")):
        made.addModelParameter(definition, QgsProcessingModelParameter(definition.name()))
    child = QgsProcessingModelChildAlgorithm("stillwater:surfacequality")
    child.setChildId("quality")
    for name, value in {**LAYERS, **SETTINGS}.items():
        child.addParameterSources(name, [QgsProcessingModelChildParameterSource.fromStaticValue(value)])
    for name, parameter in (("INPUT", "SITES"), ("LANDCOVER", "COVER")):
        child.addParameterSources(name, [QgsProcessingModelChildParameterSource.fromModelParameter(parameter)])
    output = QgsProcessingModelOutput("Sectors", "Sectors")
    output.setChildId("quality")
    output.setChildOutputName("OUTPUT")
    child.setModelOutputs({"Sectors": output})
    made.addChildAlgorithm(child)
    made.updateDestinationParameters()
    return made


def test_a_model_gives_the_same(in_python, tmp_path):
    import processing
    inside = model()
    destination, = inside.destinationParameterDefinitions()
    result = processing.run(inside, {
        "SITES": LAYERS["INPUT"], "COVER": LAYERS["LANDCOVER"], destination.name(): str(tmp_path / "model.gpkg")},
        feedback=Feedback())
    same(rows(result[destination.name()]), in_python)


def test_a_model_ends_with_the_same_clear_message(tmp_path):
    import processing
    from qgis.core import QgsProcessingException
    inside = model()
    child = inside.childAlgorithm("quality")
    child.addParameterSources("AZIMUTH_STEP", [QgsProcessingModelChildParameterSource.fromStaticValue(7)])
    inside.setChildAlgorithm(child)
    destination, = inside.destinationParameterDefinitions()
    feedback = Feedback()
    with pytest.raises(QgsProcessingException) as raised:
        processing.run(inside, {"SITES": LAYERS["INPUT"], "COVER": LAYERS["LANDCOVER"],
                                destination.name(): str(tmp_path / "model.gpkg")}, feedback=feedback)
    assert "360 must be a multiple of it" in f"{raised.value}{feedback.log}"
    assert list(tmp_path.iterdir()) == []


def test_loaded_layers_give_the_same_as_paths(in_python):
    given = {name: (QgsVectorLayer(path, name, "ogr") if "gpkg" in path else path) for name, path in LAYERS.items()}
    same(rows(run("surfacequality", **given, **SETTINGS)["OUTPUT"]), in_python)


def test_only_the_selected_candidates_are_taken(in_python):
    layer = QgsVectorLayer(LAYERS["INPUT"], "candidates", "ogr")
    layer.selectByExpression("\"name\" = 'Pier head'")
    project = QgsProject.instance()
    project.addMapLayer(layer)
    try:
        context = QgsProcessingContext()
        context.setProject(project)
        source = QgsProcessingFeatureSourceDefinition(layer.id(), True)
        table = rows(run("surfacequality", context=context, **{**LAYERS, "INPUT": source}, **SETTINGS)["OUTPUT"])
    finally:
        project.removeMapLayer(layer.id())
    same(table, [r for r in in_python if r["site"] == "Pier head"])


def test_the_dialog_gives_the_same(in_python, qgis_iface, monkeypatch):
    import processing
    browser = QgsBrowserGuiModel()
    # the stand-in for the window has no browser, which the dialog's layer widgets ask for
    monkeypatch.setattr(qgis_iface, "browserModel", lambda: browser, raising=False)
    dialog = processing.createAlgorithmDialog("stillwater:surfacequality", {**LAYERS, **SETTINGS})
    parameters = dialog.createProcessingParameters()
    # while Qt still lives, or the interpreter falls over it at its end
    sip.delete(dialog)
    assert {"INPUT", "TARGET_CLASSES", "MIN_SHARE"} <= set(parameters) and not parameters.get("DETAIL")
    same(rows(run("surfacequality", **{**parameters, "OUTPUT": "TEMPORARY_OUTPUT"})["OUTPUT"]), in_python)


def test_all_parameters_spelt_out_give_the_same(in_python, provider):
    """The batch window hands over every parameter, empty ones as None."""
    algorithm = provider.algorithm("surfacequality")
    everything = {p.name(): p.defaultValue() for p in algorithm.parameterDefinitions() if not p.isDestination()}
    everything.update(LAYERS, **SETTINGS, DETAIL=None)
    assert set(everything) == {p.name() for p in algorithm.parameterDefinitions()} - {"OUTPUT"}
    same(rows(run("surfacequality", **everything)["OUTPUT"]), in_python)


def test_a_run_leaves_the_algorithm_as_it_was(in_python):
    """Batch runs one after another; nothing of an earlier one may linger."""
    run("surfacequality", **{**LAYERS, **SETTINGS, "TARGET_CLASSES": "3", "SIGNAL": "GPS L5", "MIN_SHARE": 0.5})
    same(rows(run("surfacequality", **LAYERS, **SETTINGS)["OUTPUT"]), in_python)


@pytest.mark.skipif(shutil.which("qgis_process") is None, reason="this QGIS brings no qgis_process")
def test_qgis_process_gives_the_same(in_python, tmp_path):
    target = tmp_path / "out.gpkg"
    done = subprocess.run(
        [str(ROOT / "headless"), "run", "stillwater:surfacequality", "--",
         *(f"{name}={value}" for name, value in {**LAYERS, **SETTINGS, "OUTPUT": target}.items())],
        capture_output=True, text=True, timeout=120, stdin=subprocess.DEVNULL)
    assert done.returncode == 0, done.stdout + done.stderr
    same(rows(target), in_python)


@pytest.mark.skipif(shutil.which("qgis_process") is None, reason="this QGIS brings no qgis_process")
def test_qgis_process_fails_with_a_sentence(tmp_path):
    done = subprocess.run(
        [str(ROOT / "headless"), "run", "--json", "stillwater:surfacequality", "--",
         *(f"{name}={value}" for name, value in {**LAYERS, **SETTINGS, "AZIMUTH_STEP": 7,
                                                  "OUTPUT": tmp_path / "out.gpkg"}.items())],
        capture_output=True, text=True, timeout=120, stdin=subprocess.DEVNULL)
    said = done.stdout + done.stderr
    assert done.returncode != 0
    assert "360 must be a multiple of it" in said and "Traceback" not in said
    assert list(tmp_path.iterdir()) == []


def test_the_command_that_the_history_keeps_runs_again(in_python, provider):
    """QGIS writes each run down as a call of processing.run."""
    algorithm, context = provider.algorithm("surfacequality"), QgsProcessingContext()
    written = algorithm.asPythonCommand({**LAYERS, **SETTINGS, "OUTPUT": "TEMPORARY_OUTPUT"}, context)
    assert written.startswith("processing.run(\"stillwater:surfacequality\", {") and written.endswith("})")
    parameters = json.loads("{" + written.split("{", 1)[1][:-1].replace("'", '"'))
    same(rows(run("surfacequality", **parameters)["OUTPUT"]), in_python)
