"""One way to a number: bench, dialog, model and headless runner give the same figures for the same place."""

import subprocess
from pathlib import Path

import pytest
from bench_scene import bench_on, looked
from qgis.core import (
    QgsApplication,
    QgsCoordinateReferenceSystem,
    QgsPointXY,
    QgsProcessingModelAlgorithm,
    QgsProcessingModelChildAlgorithm,
    QgsProcessingModelChildParameterSource,
    QgsProcessingModelOutput,
    QgsProject,
    QgsVectorFileWriter,
)
from qgis.gui import QgsBrowserGuiModel
from qgis.PyQt import sip
from scenes import UTM, points, rows

ROOT = Path(__file__).resolve().parents[2]
PLACES = {"Pier head": (499485.0, 4982419.0, 4.5), "North cove": (501140.0, 4982934.0, 4.3),
          "Shut cove": (500940.0, 4982801.0, 2.9), "Promenade": (499345.0, 4982827.0, 3.0)}
WORDS = ("verdict", "limit_by", "advice")


@pytest.fixture(scope="module")
def seen(provider):
    """Look at each place on the bench; give its settings' parameters and what was found, by name."""
    bench = bench_on(QgsProject.instance())
    found, crs = {}, QgsCoordinateReferenceSystem(UTM)
    for name, (x, y, height) in PLACES.items():
        bench.set_height(height)
        bench.move_to(QgsPointXY(x, y), crs)
        found[name] = looked(bench)
    parameters = bench.settings.parameters()
    layers = {name: QgsProject.instance().mapLayer(parameters[name]) for name in ("DEM", "LANDCOVER", "AVOID")}
    sources = {name: layer.source() for name, layer in layers.items()}
    bench.close()
    yield {**parameters, **sources}, found
    QgsProject.instance().clear()


@pytest.fixture(scope="module")
def candidates(tmp_path_factory) -> str:
    """Give a file with the same places."""
    layer = points(*[place[:2] for place in PLACES.values()], fields="name:string(60)|height_m:double",
                   rows=[[name, place[2]] for name, place in PLACES.items()])
    path = str(tmp_path_factory.mktemp("places") / "places.gpkg")
    options = QgsVectorFileWriter.SaveVectorOptions()
    QgsVectorFileWriter.writeAsVectorFormatV3(layer, path, QgsProject.instance().transformContext(), options)
    return path


def given(seen, candidates):
    return {**seen[0], "INPUT": candidates, "SITE_FIELD": "name", "HEIGHT_FIELD": "height_m", "TRIALS": 0}


def compare(seen, ranked):
    """Every figure of every place must be the bench's own."""
    assert {row["site"] for row in ranked} == set(PLACES)
    for row in ranked:
        mine = seen[1][row["site"]].row
        sky = mine.sky
        figures = {"score": mine.result.score, "quality": mine.quality, "az_span": mine.az_span_deg,
                   "el_from": mine.el_from_deg, "el_to": mine.el_to_deg, "h_low_m": mine.h_low_m,
                   "h_high_m": mine.h_high_m, "res_m": mine.res_m, "arcs_day": sky.arcs_day,
                   "int_rec_s": sky.int_rec_s, "height_cm": mine.result.precision}
        if sky.arcs_day:
            figures.update(gap_h=sky.gap_h, int_max_s=sky.int_max_s, tide_err_m=max(sky.shift_m), arc_cm=sky.arc_error,
                           noise_cm=sky.arc_noise, bend_cm=sky.bend_cm, busy=sky.busy)
        for name, value in figures.items():
            assert row[name] == (None if value is None else pytest.approx(value, rel=1e-9, abs=1e-9)), (
                row["site"], name)
        assert (row["verdict"], row["limit_by"], row["advice"]) == (mine.verdict, mine.limit_by, mine.advice)


def test_the_bench_tells_apart_what_should_be_told_apart(seen):
    verdicts = {name: spot.row.verdict for name, spot in seen[1].items()}
    assert verdicts == {"Pier head": "suitable", "North cove": "unsuitable", "Shut cove": "unsuitable",
                        "Promenade": "unsuitable"}


def test_the_algorithm_as_its_dialog_runs_it(seen, candidates, qgis_iface, monkeypatch):
    import processing
    browser = QgsBrowserGuiModel()
    # the stand-in for the window has no browser, which the dialog's layer widgets ask for
    monkeypatch.setattr(qgis_iface, "browserModel", lambda: browser, raising=False)
    dialog = processing.createAlgorithmDialog("stillwater:rankcandidates", given(seen, candidates))
    parameters = dialog.createProcessingParameters()
    # while Qt still lives, or the interpreter falls over it at its end
    sip.delete(dialog)
    found = processing.run("stillwater:rankcandidates", {**parameters, "OUTPUT": "TEMPORARY_OUTPUT"})
    compare(seen, rows(found["OUTPUT"]))


def test_a_model_with_the_algorithm_in_it(seen, candidates):
    import processing
    model = QgsProcessingModelAlgorithm("ranking", "tests")
    step = QgsProcessingModelChildAlgorithm("stillwater:rankcandidates")
    step.setChildId("rank")
    for name, value in given(seen, candidates).items():
        step.addParameterSources(name, [QgsProcessingModelChildParameterSource.fromStaticValue(value)])
    out = QgsProcessingModelOutput("RANKED")
    out.setChildId("rank")
    out.setChildOutputName("OUTPUT")
    step.setModelOutputs({"RANKED": out})
    model.addChildAlgorithm(step)
    model.updateDestinationParameters()
    name, = [one.name() for one in model.destinationParameterDefinitions()]
    found = processing.run(model, {name: "TEMPORARY_OUTPUT"})
    compare(seen, rows(found[name]))


def test_the_headless_runner(seen, candidates, tmp_path):
    target = tmp_path / "ranked.gpkg"
    texts = []
    for name, value in {**given(seen, candidates), "OUTPUT": str(target)}.items():
        texts += [f"{name}={one}" for one in (value if isinstance(value, list) else [value])]
    done = subprocess.run([str(ROOT / "headless"), "run", "stillwater:rankcandidates", "--", *texts],
                          capture_output=True, text=True, timeout=120, stdin=subprocess.DEVNULL)
    assert done.returncode == 0, done.stdout + done.stderr
    compare(seen, rows(target))


def test_the_provider_is_the_one_that_is_installed():
    assert QgsApplication.processingRegistry().algorithmById("stillwater:rankcandidates") is not None
