"""Adding the bench's place to layers of candidates: new ones, those of the project, and those that refuse."""

import pytest
from bench_parts_scene import choose, click, place
from bench_scene import COVE, CRS, PIER
from qgis.core import QgsCoordinateReferenceSystem, QgsVectorLayer
from qgis.PyQt.QtWidgets import QFileDialog
from scenes import UTM, rows, run

pytest_plugins = ["bench_parts_fixtures"]
FIELDS = "name:string(60)|height_m:double|level_m:double|low_m:double|high_m:double"


def test_a_new_temporary_layer_gives_the_ranking_the_same_figures(scene):
    spot = place(scene, PIER)
    choose(scene, "New temporary layer")
    layer, = scene.project.mapLayersByName("Candidates")
    row, = rows(layer)
    assert (row["name"], row["height_m"], row["low_m"], row["high_m"]) == ("Spot 1", 4.5, -1.1, 1.1)
    assert row["purpose"] == "sea level" and row["verdict"] == "suitable"
    assert row["score"] == spot.row.result.score and row["int_rec_s"] == spot.row.sky.int_rec_s
    assert layer.labelsEnabled() and layer.crs() == CRS
    assert scene.project.layerTreeRoot().children()[0].layer() is layer
    # the button alone adds to the same layer from now on, under another name
    place(scene, COVE, 4.3)
    click(scene.bar.candidates)
    assert [one["name"] for one in rows(layer)] == ["Spot 1", "Spot 2"]
    ranked = rows(run("rankcandidates", **{
        **scene.bench.settings.parameters(), "INPUT": layer, "SITE_FIELD": "name", "HEIGHT_FIELD": "height_m",
        "LOW_FIELD": "low_m", "HIGH_FIELD": "high_m", "SURFACE_FIELD": "level_m"})["OUTPUT"])
    found = {one["site"]: one for one in ranked}
    for name, seen in (("Spot 1", spot), ("Spot 2", scene.bench.spot)):
        assert found[name]["score"] == pytest.approx(seen.row.result.score, abs=1e-9)
        assert (found[name]["verdict"], found[name]["limit_by"], found[name]["arcs_day"]) == (
            seen.row.verdict, seen.row.limit_by, seen.row.sky.arcs_day)
        assert found[name]["h_low_m"] == pytest.approx(seen.row.h_low_m, abs=1e-9)


def existing(scene, crs=UTM, kind="Point", name="Sites <b>&"):
    layer = QgsVectorLayer(f"{kind}?crs={crs}&" + "&".join(f"field={one}" for one in FIELDS.split("|")), name,
                           "memory")
    scene.project.addMapLayer(layer)
    return layer


def test_a_layer_of_the_project_in_degrees_takes_the_place(scene):
    layer = existing(scene, "EPSG:4326", "MultiPoint")
    place(scene, PIER)
    click(scene.bar.pin)
    choose(scene, "Sites <b>&&")
    feature, = layer.getFeatures()
    # 515 m west of the meridian of 39° W, at 45° N where a degree is 78.8 km; a meridian degree is 111.1 km
    point = feature.geometry().asMultiPoint()[0]
    assert point.x() == pytest.approx(-39 - 0.515 / 78.8, abs=1e-4)
    assert point.y() == pytest.approx(45.0, abs=0.02)
    assert feature["name"] == "Spot 1" and feature["high_m"] == 1.1
    assert "Sites <b>&" in scene.ears.texts("hint")[-1]
    assert "<b>" not in scene.bar.candidates.toolTip()


def test_layers_without_the_fields_are_not_offered(scene):
    scene.project.addMapLayer(QgsVectorLayer("Point?crs=EPSG:32624&field=name:string", "Wells", "memory"))
    scene.project.addMapLayer(QgsVectorLayer(
        "Point?crs=EPSG:32624&field=name:string&field=height_m:string&field=level_m:double&field=low_m:double"
        "&field=high_m:double", "Words", "memory"))
    existing(scene, kind="Polygon", name="Plots")
    place(scene, PIER)
    menu = scene.bar.candidates.menu()
    menu.popup(scene.window.pos())
    texts = [one.text() for one in menu.actions()]
    menu.close()
    assert texts == ["", "New temporary layer", "New GeoPackage layer …"]


def test_in_edit_mode_it_is_a_step_that_can_be_undone(scene):
    layer = existing(scene, name="Sites")
    layer.startEditing()
    place(scene, PIER)
    choose(scene, "Sites")
    assert layer.featureCount() == 1 and layer.undoStack().count() == 1
    layer.undoStack().undo()
    assert layer.featureCount() == 0
    layer.undoStack().redo()
    assert layer.commitChanges() and layer.featureCount() == 1


def test_a_read_only_layer_is_told_and_nothing_is_added(scene):
    layer = existing(scene, name="Sites")
    layer.setReadOnly(True)
    place(scene, PIER)
    choose(scene, "Sites")
    assert layer.featureCount() == 0 and "“Sites” is read-only" in scene.ears.texts("error")[-1]


def test_a_layer_without_crs_is_told(scene):
    layer = existing(scene, name="Sites")
    layer.setCrs(QgsCoordinateReferenceSystem())
    place(scene, PIER)
    choose(scene, "Sites")
    assert layer.featureCount() == 0 and "no coordinate reference system" in scene.ears.texts("error")[-1]


def test_a_new_geopackage_layer_leaves_the_other_tables_alone(scene, tmp_path, monkeypatch):
    path = tmp_path / "mine.gpkg"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_args, **_options: (str(path)[:-5], ""))
    place(scene, PIER)
    for _ in range(2):
        choose(scene, "New GeoPackage layer …")
    for title, table in (("Candidates", "candidates"), ("Candidates 2", "candidates_2")):
        layer, = scene.project.mapLayersByName(title)
        assert layer.source() == f"{path}|layername={table}"
        row, = rows(layer)
        assert row["verdict"] == "suitable" and row["score"] == scene.bench.spot.row.result.score
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_args, **_options: (
        str(tmp_path / "no folder" / "mine.gpkg"), ""))
    choose(scene, "New GeoPackage layer …")
    assert "cannot be written" in scene.ears.texts("error")[-1]
    assert len(scene.project.mapLayersByName("Candidates 3")) == 0
