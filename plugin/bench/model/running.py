"""Running Stillwater's algorithms for the place of the bench, in the background, so that it can always be stopped."""
from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Callable

from qgis.core import (
    QgsApplication,
    QgsFeature,
    QgsGeometry,
    QgsMapLayer,
    QgsProcessingAlgorithm,
    QgsProcessingAlgRunnerTask,
    QgsProcessingContext,
    QgsProcessingFeedback,
    QgsProcessingOutputLayerDefinition,
    QgsProject,
    QgsVectorLayer,
)
from qgis.PyQt.QtCore import QObject, pyqtSignal

from ....processing_algs.layers.fields import Column, fields_of

if TYPE_CHECKING:
    from .bench import AntennaPlace, Bench, Pin

PROVIDER = "stillwater"
NAME_FIELD = "name"
WAIT_MS = 10_000
"""So long is waited for a run that was told to stop."""

_kept: set = set()
"""Runs whose tasks have not ended: QGIS keeps neither context nor feedback of them."""


class Run(QObject):
    """One run of an algorithm.

    Attributes
    ----------
    algorithm : QgsProcessingAlgorithm
    parameters : dict
    context : QgsProcessingContext
        Holds the outputs once it has ended.
    feedback : RunFeedback
    results : dict
        By the names of the outputs.
    """

    ended = pyqtSignal(object, bool)

    def __init__(self, algorithm, parameters, project):
        super().__init__()
        self.algorithm, self.parameters, self.results = algorithm, parameters, {}
        self.context, self.feedback = QgsProcessingContext(), RunFeedback()
        self.context.setProject(project)
        self.context.setFeedback(self.feedback)
        self.task = None

    def begin(self) -> bool:
        """Have QGIS run it; False where the algorithm does not even begin."""
        self.task = QgsProcessingAlgRunnerTask(self.algorithm, self.parameters, self.context, self.feedback)
        if self.task.isCanceled():
            return False
        _kept.add(self)
        self.task.executed.connect(self._end)
        QgsApplication.taskManager().addTask(self.task)
        return True

    def stop(self) -> None:
        """Tell it to stop."""
        self.feedback.cancel()
        if self.task is not None:
            self.task.cancel()

    def wait(self) -> None:
        """Wait until it does nothing any more."""
        if self.task is not None:
            self.task.waitForFinished(WAIT_MS)

    def layer_ids(self) -> set:
        """Return the ids of the layers of the project that it reads."""
        ids = set()
        for value in self.parameters.values():
            if isinstance(value, QgsMapLayer):
                ids.add(value.id())
            elif isinstance(value, str):
                ids.add(value)
        return ids

    def layer(self, output: str) -> QgsVectorLayer | None:
        """Take an output that was not to be loaded."""
        return self.context.takeResultLayer(self.results.get(output) or "")

    def load(self) -> bool:
        """Load its outputs into the project as Processing does, styled and grouped; False where that fails."""
        try:
            from processing.gui.Postprocessing import handleAlgorithmResults
        except ImportError as error:
            self.feedback.reportError(str(error))
            return False
        return bool(handleAlgorithmResults(self.algorithm, self.context, self.feedback, parameters=self.results))

    def _end(self, is_done, results):
        # the task is QGIS's, which takes it away after this
        self.task, self.results = None, dict(results)
        _kept.discard(self)
        self.ended.emit(self, is_done)


class RunFeedback(QgsProcessingFeedback):
    """Keeps errors; is cancelled with its run."""

    def __init__(self):
        super().__init__(False)
        self.errors: list[str] = []

    def reportError(self, text: str, _is_fatal: bool = False) -> None:
        self.errors.append(text)


class Runner(QObject):
    """Runs one algorithm at a time.

    Signals
    -------
    progressed(float)
        [%]
    """

    progressed = pyqtSignal(float)

    def __init__(self, project: QgsProject, parent=None):
        super().__init__(parent)
        self._project = project
        self._now: Run | None = None
        self._on_done = self._on_failed = None
        self._running: list[Run] = []
        project.layersWillBeRemoved.connect(self._lose_layers)
        project.cleared.connect(self.cancel)
        # whoever forgets to close it may not leave runs behind
        self._forgotten = partial(_stop_all, self._running)
        self.destroyed.connect(self._forgotten)

    def is_running(self) -> bool:
        """Tell whether a run is on its way."""
        return self._now is not None

    def start(self, algorithm_id: str, parameters: dict, on_done: Callable, on_failed: Callable) -> None:
        """Run an algorithm; a run that is on its way is stopped first.

        Parameters
        ----------
        algorithm_id : str
            Without the provider.
        parameters : dict
            Those that the algorithm does not know are left out.
        on_done : callable
            Called with the `Run` when it has ended well; not after `cancel`.
        on_failed : callable
            Called with what to tell the user.
        """
        self.cancel()
        algorithm = QgsApplication.processingRegistry().createAlgorithmById(f"{PROVIDER}:{algorithm_id}")
        if algorithm is None:
            on_failed(self.tr("Processing does not know “{}”. Enable the plugins Processing and Stillwater.").format(
                f"{PROVIDER}:{algorithm_id}"))
            return
        run = Run(algorithm, known(algorithm, parameters), self._project)
        is_ok, text = algorithm.checkParameterValues(run.parameters, run.context)
        if not is_ok:
            on_failed(text)
            return
        if not run.begin():
            on_failed(self._reason(run))
            return
        self._now, self._on_done, self._on_failed = run, on_done, on_failed
        self._running.append(run)
        run.ended.connect(self._end)
        run.task.progressChanged.connect(self._tell_progress)

    def _tell_progress(self, percent):
        if self._now is not None:
            self.progressed.emit(percent)

    def _end(self, run, is_done):
        if run in self._running:
            self._running.remove(run)
        if run is not self._now:
            return
        on_done, on_failed = self._on_done, self._on_failed
        self._now = self._on_done = self._on_failed = None
        if is_done and not run.feedback.isCanceled():
            on_done(run)
        else:
            on_failed(self._reason(run))

    def _reason(self, run):
        return "\n".join(run.feedback.errors) or self.tr("“{}” ended without a result.").format(
            run.algorithm.displayName())

    def cancel(self) -> None:
        """Stop what is running; nobody is called."""
        run, self._now = self._now, None
        self._on_done = self._on_failed = None
        if run is not None:
            run.stop()

    def _lose_layers(self, ids):
        """Let no run read a layer that is taken away."""
        for run in list(self._running):
            if run.layer_ids() & set(ids):
                if run is self._now:
                    on_failed = self._on_failed
                    self.cancel()
                    on_failed(self.tr("A layer was removed while “{}” was reading it.").format(
                        run.algorithm.displayName()))
                run.stop()
                run.wait()

    def close(self) -> None:
        """Stop, wait until nothing runs any more, and let go of the project."""
        self.cancel()
        for run in list(self._running):
            run.wait()
        self._project.layersWillBeRemoved.disconnect(self._lose_layers)
        self._project.cleared.disconnect(self.cancel)
        # nothing is left to be stopped; and what Qt tells while it takes a tree of objects down may come too late
        self.destroyed.disconnect(self._forgotten)


def _stop_all(running, *_unused):
    for run in list(running):
        run.stop()


def known(algorithm: QgsProcessingAlgorithm, parameters: dict) -> dict:
    """Leave out the parameters that an algorithm does not know, for it would refuse them."""
    names = {definition.name() for definition in algorithm.parameterDefinitions()}
    return {name: value for name, value in parameters.items() if name in names}


def parameters_of(bench: Bench, layer: QgsVectorLayer | str) -> dict:
    """Return the parameters for the bench's place, for any Stillwater algorithm that takes sites.

    Parameters
    ----------
    bench : Bench
        With a place.
    layer : QgsVectorLayer or str
        See `place_layer`.
    """
    return {**bench.settings.parameters(), "INPUT": layer, "SITE_FIELD": NAME_FIELD,
            "ANTENNA_HEIGHT": bench.place.height_m}


def to_project(project: QgsProject) -> QgsProcessingOutputLayerDefinition:
    """Return the value of an output that is to be loaded as a temporary layer."""
    return QgsProcessingOutputLayerDefinition("TEMPORARY_OUTPUT", project)


def place_layer(place: AntennaPlace, name: str) -> QgsVectorLayer:
    """Make a layer that holds one place, named."""
    layer = QgsVectorLayer("Point", "place", "memory")
    layer.setCrs(place.crs)
    layer.dataProvider().addAttributes(fields_of([Column(NAME_FIELD, "text", "Name")]).toList())
    layer.updateFields()
    feature = QgsFeature(layer.fields())
    feature.setGeometry(QgsGeometry.fromPointXY(place.point))
    feature.setAttribute(NAME_FIELD, name)
    layer.dataProvider().addFeature(feature)
    return layer


def pin_at(bench: Bench) -> Pin | None:
    """Return the pin that stands where the antenna stands; None where there is none."""
    return next((pin for pin in bench.pins if pin.place == bench.place), None)
