"""The bench without its widgets: looking, undoing, remembering, and letting go."""

from dataclasses import replace

import pytest
from bench_scene import COVE, CRS, PIER, bench_on, looked, pump, sample_layers
from qgis.core import (
    QgsCoordinateReferenceSystem,
    QgsFeature,
    QgsFeatureRequest,
    QgsGeometry,
    QgsPointXY,
)
from stillwater.plugin.bench.model.bench import LEAST_HEIGHT_M, Bench
from stillwater.plugin.bench.model.engine import HEADROOM_M, KEEP_M, LookTask
from stillwater.plugin.bench.model.layerwatch import REST_MS as CHANGES_MS
from stillwater.plugin.bench.model.settings import BenchSettings

pytest_plugins = ["bench_fixtures"]
INLAND = QgsPointXY(499150, 4983300)


class Ears:
    """Keeps what a bench says and finds."""

    def __init__(self, bench):
        self.said, self.spots = [], []
        bench.said.connect(lambda kind, text: self.said.append((kind, text)))
        bench.spot_changed.connect(self.spots.append)

    @property
    def errors(self):
        return [text for kind, text in self.said if kind == "error"]


def test_a_place_is_looked_at_fully_and_the_pier_head_is_suitable(bench):
    bench.move_to(PIER, CRS)
    spot = looked(bench)
    assert spot.row.verdict == "suitable" and not spot.is_rough and spot.shapes.usable_passes
    assert bench.place.point == PIER and bench.place.height_m == 4.5


def test_while_it_moves_it_is_glanced_at_and_when_it_rests_looked_at_fully(bench):
    bench.move_to(PIER, CRS)
    looked(bench)
    ears = Ears(bench)
    for step in range(5):
        bench.move_to(QgsPointXY(PIER.x() - step, PIER.y()), CRS, True)
        assert ears.spots[-1].is_rough and ears.spots[-1].candidate.x == PIER.x() - step
    assert looked(bench).is_rough is False
    # the mouse button is still down: a rest shows the full picture, and it is no step to undo yet
    assert bench.undo_stack.count() == 1
    bench.move_to(QgsPointXY(PIER.x() - 4, PIER.y()), CRS)
    assert bench.undo_stack.count() == 2


def test_only_the_newest_place_is_told(bench):
    bench.move_to(PIER, CRS)
    looked(bench)
    ears = Ears(bench)
    for point in (COVE, INLAND, PIER):
        bench.move_to(point, CRS)
    looked(bench)
    full = [spot for spot in ears.spots if spot is not None and not spot.is_rough]
    assert [(spot.candidate.x, spot.candidate.y) for spot in full] == [(PIER.x(), PIER.y())]


def test_far_away_and_far_above_the_layers_are_read_anew(bench):
    bench.move_to(PIER, CRS)
    looked(bench)
    first = bench.engine._looker
    bench.move_to(QgsPointXY(PIER.x() + 40, PIER.y() + 400), CRS)
    looked(bench)
    assert bench.engine._looker is first
    assert COVE.distance(PIER) > KEEP_M
    bench.set_height(4.3)
    bench.move_to(COVE, CRS)
    cove = looked(bench).row
    assert cove.quality > 0.85 and cove.az_span_deg == 50
    second = bench.engine._looker
    assert second is not first
    bench.set_height(4.3 + HEADROOM_M + 1)
    assert looked(bench).row.h_high_m > HEADROOM_M
    assert bench.engine._looker is not second


def test_each_step_can_be_undone_and_done_again(bench):
    bench.move_to(PIER, CRS)
    bench.set_height(6.0)
    bench.move_to(INLAND, CRS)
    bench.clear()
    assert bench.place is None and bench.spot is None
    bench.undo_stack.undo()
    assert bench.place.point == INLAND
    bench.undo_stack.undo()
    assert bench.place.point == PIER and bench.place.height_m == 6.0
    bench.undo_stack.undo()
    assert bench.height_m == 4.5
    bench.undo_stack.redo()
    assert bench.height_m == 6.0
    assert looked(bench).candidate.height_m == 6.0


def test_a_drag_can_be_called_off(bench):
    bench.move_to(PIER, CRS)
    bench.move_to(INLAND, CRS, True)
    bench.move_to(COVE, CRS, True)
    bench.cancel_move()
    assert bench.place.point == PIER and bench.undo_stack.count() == 1
    assert looked(bench).candidate.x == PIER.x()


def test_heights_stay_within_what_can_be_chosen(bench):
    bench.move_to(PIER, CRS)
    bench.set_height(-3.0)
    assert bench.place.height_m == LEAST_HEIGHT_M
    bench.set_height(1e9)
    assert bench.place.height_m == 200.0


@pytest.mark.parametrize("code", ["EPSG:4326", "EPSG:3857"])
def test_another_map_crs_moves_nothing(bench, code):
    bench.move_to(PIER, CRS)
    before = looked(bench)
    bench.show_in(QgsCoordinateReferenceSystem(code))
    after = looked(bench)
    assert bench.place.crs.authid() == code
    assert after.row.verdict == before.row.verdict
    assert after.row.az_span_deg == before.row.az_span_deg
    assert after.row.quality == pytest.approx(before.row.quality, abs=0.002)
    assert after.shapes.centre[0] == pytest.approx(bench.place.point.x(), rel=1e-9)


def test_a_crs_that_cannot_express_the_place_takes_it_off_and_says_so(bench):
    bench.move_to(PIER, CRS)
    looked(bench)
    ears = Ears(bench)
    # Snyder 1987, section 22: a gnomonic map shows less than a hemisphere
    bench.show_in(QgsCoordinateReferenceSystem.fromProj("+proj=gnom +lat_0=-45 +lon_0=150 +datum=WGS84"))
    assert bench.place is None and "Place the antenna anew" in ears.errors[-1]


def test_the_project_remembers_what_was_chosen_and_forgets_lost_layers(bench, project, tmp_path):
    path = str(tmp_path / "bench.qgz")
    assert project.write(path)
    kept = bench.settings
    project.clear()
    assert bench.settings == BenchSettings() and not project.isDirty()
    assert project.read(path)
    assert bench.settings == kept and kept.AVOID_FIELD == "share"
    project.removeMapLayer(kept.AVOID)
    assert bench.settings == replace(kept, AVOID="")
    assert "AVOID_FIELD" not in bench.settings.parameters()
    assert BenchSettings.from_project(project) == bench.settings


def test_damaged_memory_of_a_project_is_no_error(project):
    for text in ("{", "[1]", '{"DEM": 3, "NONSENSE": 1}', '{"DEM": "gone"}'):
        project.writeEntry("stillwater", "bench", text)
        assert BenchSettings.from_project(project).parameters()["PURPOSE"] == "sea level"


def test_a_layer_removed_while_it_is_read_ends_the_look(bench, project):
    bench.move_to(PIER, CRS)
    assert bench.engine.is_busy()
    ears = Ears(bench)
    project.removeMapLayer(bench.settings.DEM)
    looked(bench)
    assert bench.settings.DEM == "" and bench.spot is None
    assert "needs DEM" in ears.errors[-1]


def test_the_task_holds_copies_of_the_layers_with_edits_not_saved_yet(bench, project):
    """A project's expression scopes may not be asked for by two threads; so nothing of it goes into the task."""
    from stillwater.plugin.bench.model.engine import _copies
    settings = bench.settings
    avoid = project.mapLayer(settings.AVOID)
    copies = _copies(project, settings)
    assert set(copies) == {"DEM", "LANDCOVER", "AVOID"}
    for name, copy in copies.items():
        original = project.mapLayer(getattr(settings, name))
        assert copy is not original and copy.name() == original.name() and copy.crs() == original.crs()
        assert project.mapLayer(copy.id()) is None
    assert copies["AVOID"].featureCount() == avoid.featureCount()
    memory = avoid.materialize(QgsFeatureRequest())
    project.addMapLayer(memory)
    memory.startEditing()
    memory.deleteFeature(next(memory.getFeatures()).id())
    edited = _copies(project, replace(settings, AVOID=memory.id()))["AVOID"]
    assert edited.featureCount() == avoid.featureCount() - 1 and edited.name() == memory.name()
    memory.rollBack()


def test_one_look_runs_at_a_time(bench, monkeypatch):
    running, most = [], []
    run = LookTask.run

    def watched(task):
        running.append(task)
        most.append(len(running))
        try:
            return run(task)
        finally:
            running.remove(task)
    monkeypatch.setattr(LookTask, "run", watched)
    for step in range(12):
        bench.engine.forget()
        bench.move_to(QgsPointXY(PIER.x() - step, PIER.y()), CRS)
        pump(step * 4)
    assert looked(bench).candidate.x == PIER.x() - 11
    assert max(most) == 1 < len(most)


def test_a_layer_that_is_edited_or_filtered_is_read_again(bench, project):
    """An area to avoid all around the pier, drawn while the bench is in use, must spoil it at once, saved or not."""
    avoid = project.mapLayer(bench.settings.AVOID).materialize(QgsFeatureRequest())
    project.addMapLayer(avoid)
    bench.set_settings(replace(bench.settings, AVOID=avoid.id()))
    bench.move_to(PIER, CRS)
    assert looked(bench).row.verdict == "suitable"

    def changed():
        pump(CHANGES_MS + 100)
        return looked(bench).row.verdict
    avoid.startEditing()
    feature = QgsFeature(avoid.fields())
    feature.setGeometry(QgsGeometry.fromPointXY(PIER).buffer(500, 16))
    feature.setAttribute("share", 1.0)
    assert avoid.addFeature(feature)
    assert changed() == "unsuitable"
    avoid.rollBack()
    assert changed() == "suitable"
    avoid.startEditing()
    assert avoid.addFeature(feature) and avoid.commitChanges()
    assert changed() == "unsuitable"
    avoid.setSubsetString("share < 1")
    assert changed() == "suitable"


def test_a_project_closed_while_it_is_looked_at_leaves_an_empty_bench(bench, project):
    bench.move_to(PIER, CRS)
    bench.pin()
    project.clear()
    looked(bench)
    assert bench.place is None and bench.spot is None and not bench.pins and not bench.undo_stack.count()


def test_a_bench_closed_while_it_looks_says_nothing_more(project, provider):
    bench = bench_on(project)
    bench.move_to(PIER, CRS)
    ears = Ears(bench)
    bench.close()
    pump(500)
    assert ears.spots == [] and not bench.engine.is_busy()
    project.clear()  # no slot of the closed bench may be called


def test_what_cannot_be_assessed_says_why(project, provider):
    bench = Bench(project)
    ears = Ears(bench)
    bench.move_to(PIER, CRS)
    looked(bench)
    assert "Neither LANDCOVER nor WATER nor DEM" in ears.errors[-1] and bench.spot is None
    bench.set_settings(replace(bench.settings, **sample_layers(project)))
    assert looked(bench).row.verdict == "suitable"
    bench.move_to(QgsPointXY(0, 0), CRS)
    looked(bench)
    assert "no data at the site" in ears.errors[-1] and "None of" not in ears.errors[-1] and bench.spot is None
    bench.move_to(PIER, CRS)
    bench.set_settings(replace(bench.settings, LEVEL_HIGH=9.0))
    looked(bench)
    assert "under the surface" in ears.errors[-1]
    bench.set_settings(replace(bench.settings, LEVEL_HIGH=-2.0))
    looked(bench)
    assert "LEVEL_LOW" in ears.errors[-1] and "Exchange them" in ears.errors[-1]
    bench.close()


def test_pins_keep_their_place_and_their_settings(bench):
    assert bench.pin() is None
    bench.move_to(PIER, CRS)
    assert bench.pin() is None, "not looked at fully yet"
    looked(bench)
    bench.pin()
    bench.set_settings(replace(bench.settings, LEVEL_HIGH=2.0))
    bench.set_height(5.0)
    looked(bench)
    bench.pin("Higher")
    bench.pin()
    assert [pin.name for pin in bench.pins] == ["Spot 1", "Higher", "Spot 2"]
    assert bench.pins[0].settings.LEVEL_HIGH == 1.1 and bench.pins[1].settings.LEVEL_HIGH == 2.0
    assert bench.pins[0].place.height_m == 4.5
    bench.unpin(0)
    bench.go_to(bench.pins[0].place, QgsCoordinateReferenceSystem("EPSG:3857"))
    assert bench.place.crs.authid() == "EPSG:3857" and bench.place.height_m == 5.0
    assert bench.pin() is None or not bench.spot.is_rough


def test_a_forced_stop_of_the_machine_s_own_failure_is_told_in_words(bench, monkeypatch):
    from stillwater.plugin.bench.model import engine

    def broken(*_args):
        raise RuntimeError("the disk is gone")
    monkeypatch.setattr(engine, "prepare_looker", broken)
    ears = Ears(bench)
    bench.move_to(PIER, CRS)
    looked(bench)
    assert "the disk is gone" in ears.errors[-1] and "Traceback" not in ears.errors[-1]
