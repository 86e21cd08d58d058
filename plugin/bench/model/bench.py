"""The bench itself, without any widget: where the antenna stands, what was found there, and what was pinned."""
from __future__ import annotations

from dataclasses import dataclass, replace

from qgis.core import (
    QgsCoordinateReferenceSystem,
    QgsCoordinateTransform,
    QgsCsException,
    QgsPointXY,
    QgsProject,
    QgsSettings,
)
from qgis.PyQt.QtCore import QObject, pyqtSignal

try:  # Qt 6 has them here, and QGIS 4 does not put them back
    from qgis.PyQt.QtGui import QUndoCommand, QUndoStack
except ImportError:  # Qt 5
    from qgis.PyQt.QtWidgets import QUndoCommand, QUndoStack

from .engine import LookEngine
from .layerwatch import LayerWatch
from .parameters import default_of
from .settings import BenchSettings

SHAPES = ("sectors", "footprints", "skyline", "passes")
HIDDEN_KEY = "stillwater/bench/hidden"
LEAST_HEIGHT_M, MOST_HEIGHT_M = 0.1, 200.0
"""Antenna heights that can be chosen; higher ones are no masts."""


@dataclass(frozen=True)
class AntennaPlace:
    """Where the antenna stands.

    Attributes
    ----------
    point : QgsPointXY
        In `crs`.
    crs : QgsCoordinateReferenceSystem
        The map's when it was placed.
    height_m : float
        From HEIGHT_REFERENCE [m].
    """

    point: QgsPointXY
    crs: QgsCoordinateReferenceSystem
    height_m: float


@dataclass
class Pin:
    """A position that was pinned, with what was found there and the settings that it was found with."""

    name: str
    place: AntennaPlace
    spot: object
    settings: BenchSettings


class Bench(QObject):
    """Holds place, height, settings and pins, and has the engine look whenever one of them changes.

    Signals
    -------
    place_changed(AntennaPlace or None)
        At once, while dragging too.
    spot_changed(siting.live.looker.Spot or None)
        What was found at the place; a rough one (`is_rough`) while it moves, a full one when it rests.
    said(kind, text)
        A message to show in the dock, in place: kind is `busy`, `hint`, `warning`, `error` or ``
        (nothing to say).
    settings_changed(BenchSettings)
    pins_changed()
    shown_changed(set of str)
        Which of `SHAPES` are drawn on the map.
    """

    place_changed = pyqtSignal(object)
    spot_changed = pyqtSignal(object)
    said = pyqtSignal(str, str)
    settings_changed = pyqtSignal(object)
    pins_changed = pyqtSignal()
    shown_changed = pyqtSignal(object)

    def __init__(self, project: QgsProject, parent=None):
        super().__init__(parent)
        self.project = project
        self.settings = BenchSettings.from_project(project)
        self.place: AntennaPlace | None = None
        self.spot = None
        self.pins: list[Pin] = []
        self.height_m = default_of("ANTENNA_HEIGHT", float)
        hidden = QgsSettings().value(HIDDEN_KEY, "", str).split(",")
        self.shown = {shape for shape in SHAPES if shape not in hidden}
        self.undo_stack = QUndoStack(self)
        self.engine = LookEngine(project, self)
        self.engine.looked.connect(self._take)
        self.engine.said.connect(self.said)
        self._before: AntennaPlace | None = None
        self._crs = QgsCoordinateReferenceSystem()
        self._is_moving = False
        project.layersWillBeRemoved.connect(self._lose_layers)
        self._watch = LayerWatch(project, self)
        self._watch.changed.connect(self._look_anew)
        self._watch.watch(self.settings.layer_ids())
        project.readProject.connect(self._read_project)
        project.cleared.connect(self._start_afresh)

    # -- where the antenna stands --------------------------------------------------------------------------------

    def move_to(self, point: QgsPointXY, crs: QgsCoordinateReferenceSystem, is_moving: bool = False) -> None:
        """Put the antenna on a point of the map.

        Parameters
        ----------
        point : QgsPointXY
            In `crs`.
        crs : QgsCoordinateReferenceSystem
        is_moving : bool
            While it is dragged: looked at roughly, and not a step to undo. End a drag by a call without it.
        """
        self._crs = QgsCoordinateReferenceSystem(crs)
        self._change(AntennaPlace(QgsPointXY(point), crs, self.height_m), is_moving)

    def set_height(self, height_m: float, is_moving: bool = False) -> None:
        """Set the antenna's height from HEIGHT_REFERENCE [m]; limited to what can be chosen."""
        height = min(max(round(float(height_m), 2), LEAST_HEIGHT_M), MOST_HEIGHT_M)
        if self.place is None:
            self.height_m = height
            self.place_changed.emit(None)
        else:
            self._change(replace(self.place, height_m=height), is_moving)

    def clear(self) -> None:
        """Take the antenna off the map."""
        self._change(None, False)

    def cancel_move(self) -> None:
        """Put it back where a drag began."""
        if self._is_moving:
            self._is_moving = False
            self._show(self._before)

    def settle(self) -> None:
        """End a move that is still open, as a step to undo."""
        if self._is_moving:
            self._change(self.place, False)

    def undo(self) -> None:
        """Take the last step back."""
        self.settle()
        self.undo_stack.undo()

    def redo(self) -> None:
        """Take a step again that was taken back."""
        self.settle()
        self.undo_stack.redo()

    def step_to(self, place: AntennaPlace | None) -> None:
        """Go to a place of a step, in the CRS that the map has by now."""
        moved = place
        if place is not None and self._crs.isValid():
            moved = in_crs(place, self._crs, self.project) or place
        self._show(moved)

    def _change(self, place, is_moving):
        if not self._is_moving:
            self._before = self.place
        self._is_moving = is_moving
        if is_moving:
            self._show(place, True)
        elif place != self._before:
            self.undo_stack.push(_Step(self, self._before, place))
        else:
            self._show(place)

    def _show(self, place, is_moving=False):
        self.place = place
        if place is not None:
            self.height_m = place.height_m
        self.place_changed.emit(place)
        if place is None:
            self.engine.stop()
            self._take(None)
            self.said.emit("", "")
        else:
            self.engine.look_at(place, self.settings, is_moving)

    def _take(self, spot):
        self.spot = spot
        self.spot_changed.emit(spot)

    def step_text(self, after: AntennaPlace | None) -> str:
        """Return what a step to undo is called."""
        return self.tr("Take the antenna off") if after is None else self.tr("Move the antenna")

    def show_in(self, crs: QgsCoordinateReferenceSystem) -> None:
        """Follow the map into another CRS; where it cannot express the place, the antenna is taken off."""
        if not crs.isValid():
            return
        self._crs = QgsCoordinateReferenceSystem(crs)
        if self.place is None or crs == self.place.crs:
            return
        moved = in_crs(self.place, crs, self.project)
        if moved is None:
            self.clear()
            self.said.emit("error", self.tr("The map's new coordinate reference system cannot express the place. "
                                            "Place the antenna anew."))
            return
        self._is_moving = False
        self._show(moved)

    # -- what it is looked at with --------------------------------------------------------------------------------

    def set_settings(self, settings: BenchSettings) -> None:
        """Take other layers, purpose, levels …; the project remembers them."""
        if settings == self.settings:
            return
        self.settings = settings
        settings.to_project(self.project)
        self._watch.watch(settings.layer_ids())
        self.settings_changed.emit(settings)
        if self.place is not None:
            self.engine.look_at(self.place, settings, False)

    def _look_anew(self):
        """Read the layers again, for one of them has changed."""
        self.engine.forget()
        if self.place is not None:
            self.engine.look_at(self.place, self.settings, False)

    def _lose_layers(self, ids):
        settings = self.settings
        for layer_id in set(ids) & set(settings.layer_ids()):
            settings = settings.without(layer_id)
        if settings is not self.settings:
            self.engine.stop()
            self.set_settings(settings)

    def _start_afresh(self):
        # on the way to an empty project its layers went one by one, and what was chosen was written once more
        BenchSettings.forget(self.project)
        # an empty project holds nothing to save
        self.project.setDirty(False)
        self._read_project()

    def _read_project(self, *_unused):
        """Take what another project remembers, and an empty bench."""
        self.engine.stop()
        self.undo_stack.clear()
        self.pins.clear()
        self.pins_changed.emit()
        self.settings = BenchSettings.from_project(self.project)
        self._watch.watch(self.settings.layer_ids())
        self.settings_changed.emit(self.settings)
        self._before, self._is_moving = None, False
        self._show(None)

    def show_shapes(self, shown: set) -> None:
        """Choose what is drawn on the map; remembered in the user's settings."""
        self.shown = set(shown) & set(SHAPES)
        QgsSettings().setValue(HIDDEN_KEY, ",".join(shape for shape in SHAPES if shape not in self.shown))
        self.shown_changed.emit(self.shown)

    # -- pins -----------------------------------------------------------------------------------------------------

    def pin(self, name: str = "") -> Pin | None:
        """Keep the place with what was found there; None where a full look has not been had yet."""
        if self.place is None or self.spot is None or self.spot.is_rough:
            return None
        used = {pin.name for pin in self.pins}
        number = next(i for i in range(1, len(used) + 2) if self.tr("Spot {}").format(i) not in used)
        made = Pin(name or self.tr("Spot {}").format(number), self.place, self.spot, self.settings)
        self.pins.append(made)
        self.pins_changed.emit()
        return made

    def unpin(self, index: int) -> None:
        """Forget a pinned position."""
        del self.pins[index]
        self.pins_changed.emit()

    def go_to(self, place: AntennaPlace, crs: QgsCoordinateReferenceSystem) -> None:
        """Put the antenna on a place that is known, in the CRS of the map."""
        self._crs = QgsCoordinateReferenceSystem(crs)
        moved = in_crs(place, crs, self.project) or place
        self._is_moving = False
        self._change(moved, False)

    def close(self) -> None:
        """Stop everything and let go of the project."""
        self._watch.stop()
        self.engine.close()
        for signal, slot in ((self.project.layersWillBeRemoved, self._lose_layers),
                             (self.project.readProject, self._read_project),
                             (self.project.cleared, self._start_afresh)):
            signal.disconnect(slot)


class _Step(QUndoCommand):
    """One move, rise or removal."""

    def __init__(self, bench, before, after):
        super().__init__(bench.step_text(after))
        self._bench, self._before, self._after = bench, before, after

    def redo(self) -> None:
        self._bench.step_to(self._after)

    def undo(self) -> None:
        self._bench.step_to(self._before)


def in_crs(place: AntennaPlace, crs: QgsCoordinateReferenceSystem, project: QgsProject) -> AntennaPlace | None:
    """Convert a place to another CRS; None where that cannot express it."""
    if place.crs == crs:
        return place
    try:
        point = QgsCoordinateTransform(place.crs, crs, project).transform(place.point)
    except QgsCsException:
        return None
    if not (abs(point.x()) < float("inf") and abs(point.y()) < float("inf")):
        return None
    return replace(place, point=point, crs=crs)
