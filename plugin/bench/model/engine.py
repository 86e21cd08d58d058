"""Having the bench's place looked at: roughly at once while it moves, fully by a task of its own when it rests."""
from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from qgis.core import (
    QgsApplication,
    QgsFeatureRequest,
    QgsProcessingContext,
    QgsProcessingFeedback,
    QgsProject,
    QgsTask,
    QgsVectorLayer,
)
from qgis.PyQt.QtCore import QObject, QTimer, pyqtSignal

from ....processing_algs.algorithms.rankcandidates import given_to_rank
from ....processing_algs.reading.world import prepare_looker
from ....siting.candidates import Candidate
from ....siting.errors import AllUnfitError, Cancelled, StillwaterError
from ....siting.ground.rasters import bounded_cache
from ....siting.sky.sky import Sky
from .running import NAME_FIELD, place_layer
from .settings import BenchSettings
from .words import sentence

if TYPE_CHECKING:
    from .bench import AntennaPlace

REST_MS = 150
"""A place that has not moved for so long rests."""
RADIUS_M, KEEP_M = 1500.0, 1200.0
"""Layers are read so far around a place, and anew when it has moved so far."""
HEADROOM_M = 30.0
"""Antenna heights up to so much above the one at hand are prepared for [m]."""


class LookEngine(QObject):
    """Looks at places one after the other; the newest is the only one that matters.

    Signals
    -------
    looked(siting.live.looker.Spot)
    said(kind, text)
        See `Bench.said`.
    """

    looked = pyqtSignal(object)
    said = pyqtSignal(str, str)

    def __init__(self, project: QgsProject, parent=None):
        super().__init__(parent)
        self._project = project
        self._looker = self._glancer = None
        self._origin = self._settings = self._place = None
        self._as_read: Candidate | None = None
        self._task: LookTask | None = None
        self._running: list[LookTask] = []
        self._is_waiting = False
        self._highest_m = 0.0
        self._notes: list[str] = []
        self._rest = QTimer(self, singleShot=True, interval=REST_MS)
        self._rest.timeout.connect(self._look_fully)

    def look_at(self, place: AntennaPlace, settings: BenchSettings, is_moving: bool) -> None:
        """Look at a place: at once by a glance where layers are read already, fully as soon as it rests.

        Parameters
        ----------
        place : AntennaPlace
        settings : BenchSettings
        is_moving : bool
        """
        if settings != self._settings or (self._place is not None and place.crs != self._place.crs):
            self.forget()
        self._place, self._settings = place, settings
        self._cancel()
        if self._can_look():
            self._look_roughly()
        else:
            self.said.emit("busy", self.tr("Reading the layers …"))
        if is_moving:
            self._rest.start()
        else:
            self._rest.stop()
            self._look_fully()

    def forget(self) -> None:
        """Let go of all layers that were read."""
        self.stop()
        self._looker = self._glancer = self._origin = None

    def stop(self) -> None:
        """Stop looking."""
        was_busy = self.is_busy()
        self._rest.stop()
        self._cancel()
        if was_busy:
            self.said.emit("", "")

    def _cancel(self) -> None:
        self._is_waiting = False
        if self._task is not None:
            self._task.cancel()
            self._task = None

    def close(self) -> None:
        """Stop, and wait until nothing runs any more."""
        self.forget()
        for task in list(self._running):
            task.waitForFinished(10_000)

    def sky(self) -> Sky | None:
        """Return the sky that the last full look looked at; None where there was none."""
        look = None if self._looker is None else self._looker.setup.look
        return None if look is None else look.sky

    def is_busy(self) -> bool:
        """Tell whether a full look is on its way."""
        return self._task is not None or self._is_waiting or self._rest.isActive()

    # -- looking ----------------------------------------------------------------------------------------------------

    def _can_look(self) -> bool:
        """Tell whether the layers read serve the place."""
        if self._looker is None or self._place.height_m > self._highest_m:
            return False
        return self._far_m() <= KEEP_M

    def _far_m(self) -> float:
        here, there = self._origin, self._place.point
        x, y = there.x() - here.point.x(), there.y() - here.point.y()
        return (x * x + y * y) ** 0.5 / self._units_per_m

    def _candidate(self) -> Candidate:
        point = self._place.point
        return replace(self._as_read, x=point.x(), y=point.y(), height_m=self._place.height_m)

    def _look_roughly(self) -> None:
        if self._glancer is None or self._place is None:
            return
        try:
            spot = self._glancer.look(self._candidate(), with_passes=False)
        except StillwaterError as error:
            self.said.emit("error", str(error))
            return
        self.looked.emit(spot)
        self._say_problem(spot)

    def _say_problem(self, spot) -> bool:
        problem = spot.candidate.problem
        if problem:
            self.said.emit("error", f"{sentence(problem)}.")
        return bool(problem)

    def _look_fully(self) -> None:
        if self._place is None:
            return
        self._is_waiting = bool(self._running)
        if self._is_waiting:
            return  # one at a time; the one that was called off ends soon
        looker = self._looker if self._can_look() else None
        candidate = self._candidate() if looker is not None else None
        task = LookTask(self.tr("Stillwater: look from here"), self._project, self._place, self._settings, looker,
                        candidate)
        task.ended.connect(self._end)
        self._task = task
        self._running.append(task)
        QgsApplication.taskManager().addTask(task)

    def _end(self) -> None:
        task = self.sender()
        if task in self._running:
            self._running.remove(task)
        if self._is_waiting:
            self._look_fully()
        if task is not self._task:
            return
        self._task = None
        if task.looker is not None and task.looker is not self._looker:
            self._looker, self._glancer = task.looker, task.glancer
            self._origin, self._as_read = task.place, task.candidate
            self._highest_m, self._units_per_m = task.place.height_m + HEADROOM_M, task.units_per_m
            self._notes = task.notes
        if task.error:
            self.looked.emit(None)
            self.said.emit("error", task.error)
            return
        if task.spot is None:
            return
        self._glancer.remember(task.spot)
        self.looked.emit(task.spot)
        if not self._say_problem(task.spot):
            self.said.emit("warning" if self._notes else "", "\n".join(self._notes))


class LookTask(QgsTask):
    """One full look, after reading the layers where that is needed.

    Attributes
    ----------
    looker, glancer : Looker or None
        None where layers could not be read.
    spot : Spot or None
    error : str
        What to tell the user; empty where nothing went wrong.
    notes : list of str
        Warnings of reading.
    """

    ended = pyqtSignal()

    def __init__(self, title, project, place, settings, looker, candidate):
        super().__init__(title, QgsTask.Flag.CanCancel)
        self.place, self.looker, self.candidate = place, looker, candidate
        self.glancer = self.spot = None
        self.units_per_m, self.error, self.notes = 1.0, "", []
        # what belongs to the window's thread is made in it; and the task gets copies of the layers and no project:
        # QGIS keeps expression scopes of a project that two threads may not ask for at the same time
        self._context = QgsProcessingContext()
        self._context.setTransformContext(project.transformContext())
        self._input, self._parameters = place_layer(place, self.tr("this place")), {}
        if looker is None:
            self._parameters = {**settings.parameters(), **_copies(project, settings), "INPUT": self._input,
                                "SITE_FIELD": NAME_FIELD, "ANTENNA_HEIGHT": place.height_m}
        self._feedback = _Listening(self)
        layers = [project.mapLayer(layer_id) for layer_id in settings.layer_ids()]
        self.setDependentLayers([layer for layer in layers if layer is not None])

    def run(self) -> bool:
        try:
            with bounded_cache():
                if self.looker is None:
                    self._prepare()
                self.spot = self.looker.look(self.candidate, self.isCanceled)
        except Cancelled:
            return False
        except AllUnfitError as error:
            self.error = f"{sentence(error.problem)}."
        except StillwaterError as error:
            self.error = str(error)
        except Exception as error:  # nothing may end in a traceback in the user's face
            self.error = f"{type(error).__name__}: {error}"
        return not self.isCanceled()

    def _prepare(self):
        looker, run = prepare_looker(given_to_rank(self._parameters, self._context, self._feedback), RADIUS_M,
                                     self.place.height_m + HEADROOM_M)
        self.candidate, = run.candidates
        self.units_per_m = looker.units_per_metre(self.candidate)
        self.glancer, self.notes = looker.glancing(), list(self._feedback.warnings)
        self.looker = looker

    def finished(self, _is_done: bool) -> None:
        # in the window's thread, where they were made
        self._input = self._context = None
        self._parameters.clear()
        self.ended.emit()

    def cancel(self) -> None:
        self._feedback.cancel()
        super().cancel()


class _Listening(QgsProcessingFeedback):
    """Collects warnings; is cancelled with its task."""

    def __init__(self, task):
        super().__init__(False)
        self.warnings: list[str] = []

    def pushWarning(self, text: str) -> None:
        self.warnings.append(text)


def _copies(project, settings) -> dict:
    """Copy the layers chosen, with edits that are not saved yet."""
    made = {}
    for name in settings.LAYERS:
        layer = project.mapLayer(getattr(settings, name)) if getattr(settings, name) else None
        if layer is None:
            continue
        # a clone knows no edits that are not saved, and that of a memory layer loses its filter
        by_feature = isinstance(layer, QgsVectorLayer) and (layer.isModified() or layer.providerType() == "memory")
        made[name] = layer.materialize(QgsFeatureRequest()) if by_feature else layer.clone()
        made[name].setName(layer.name())
    return made
