"""The row on top of the dock: placing the antenna, its height, steps back and forth, and what the map shows."""
from __future__ import annotations

from qgis.core import QgsApplication
from qgis.PyQt.QtCore import QSignalBlocker, Qt, QTimer
from qgis.PyQt.QtGui import QIcon
from qgis.PyQt.QtWidgets import QAction, QDoubleSpinBox, QFormLayout, QHBoxLayout, QMenu, QToolButton, QWidget

from ..model.bench import LEAST_HEIGHT_M, MOST_HEIGHT_M, SHAPES
from ..widgets.links import Links
from ..widgets.wordbutton import WordButton
from .formsection import Desk, choice_box, describe, show_choice, show_number

REST_MS = 400
"""A height that has not changed for so long is one step to undo."""


class PlaceControls(QWidget):
    """What is needed while placing; always in view.

    Parameters
    ----------
    desk : Desk
    """

    def __init__(self, desk: Desk, parent=None):
        super().__init__(parent)
        self._bench = bench = desk.bench
        self.place = WordButton("place", QIcon(), self.tr("Place"),
                                self.tr("Place the antenna: click on the map, drag it, turn the wheel over it for its "
                                        "height (also ↑ and ↓); Esc leaves"))
        self.place.setCheckable(True)
        self.place.setEnabled(False)
        self.undo = self._step_button(bench.undo_stack.createUndoAction(self, self.tr("Undo:")), bench.undo,
                                      "mActionUndo.svg", self.tr("Take a step back (on the map: Ctrl+Z)"))
        self.redo = self._step_button(bench.undo_stack.createRedoAction(self, self.tr("Redo:")), bench.redo,
                                      "mActionRedo.svg", self.tr("Take the step again (on the map: Ctrl+Y)"))
        self.height = QDoubleSpinBox()
        describe(self.height, "ANTENNA_HEIGHT", desk.texts)
        self.height.setObjectName("height")
        self.height.setRange(LEAST_HEIGHT_M, MOST_HEIGHT_M)
        self.height.setDecimals(2)
        self.height.setSingleStep(0.1)
        self.height.setSuffix(self.tr(" m"))
        self.height.setKeyboardTracking(False)
        self.reference = choice_box("HEIGHT_REFERENCE", {
            "surface": self.tr("above the surface"), "ground": self.tr("above the ground"),
            "datum": self.tr("as an elevation"), "ellipsoid": self.tr("above the ellipsoid")}, desk.writer)
        describe(self.reference, "HEIGHT_REFERENCE", desk.texts)
        self._lay_out(self._show_button())
        self._rest = QTimer(self, singleShot=True, interval=REST_MS)
        self._rest.timeout.connect(self._settle)
        self.height.valueChanged.connect(self._raise)
        self.height.editingFinished.connect(self._settle)
        self._links = Links((bench.place_changed, self._follow_place), (bench.settings_changed, self._load),
                            (bench.shown_changed, self._follow_shown))
        self._action_links = Links()
        self._follow_place()
        self._load(bench.settings)

    @staticmethod
    def _step_button(action, step, icon, tip):
        # by the bench, which ends an open move first
        action.triggered.disconnect()
        action.triggered.connect(step)
        action.setToolTip(tip)
        action.setIcon(QgsApplication.getThemeIcon("/" + icon))
        made = QToolButton()
        made.setDefaultAction(action)
        made.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonIconOnly)
        return made

    def _show_button(self):
        words = {"sectors": self.tr("Ground of the directions"), "footprints": self.tr("Footprints"),
                 "skyline": self.tr("Skyline"), "passes": self.tr("Passes")}
        self.show_menu = QMenu(self)
        self.shapes = {}
        for name in SHAPES:
            action = self.show_menu.addAction(words[name])
            action.setObjectName(name)
            action.setCheckable(True)
            action.toggled.connect(self._show_shapes)
            self.shapes[name] = action
        self._follow_shown(self._bench.shown)
        made = QToolButton()
        made.setObjectName("show")
        made.setText(self.tr("Show"))
        made.setToolTip(self.tr("What is drawn on the map"))
        made.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        made.setMenu(self.show_menu)
        return made

    def _lay_out(self, show_button):
        layout = QFormLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
        row = QHBoxLayout()
        for control in (self.place, self.undo, self.redo):
            row.addWidget(control)
        row.addStretch(1)
        row.addWidget(show_button)
        layout.addRow(row)
        layout.addRow(self.tr("Antenna"), self.height)
        layout.addRow(self.reference)
        for button in (self.place, self.undo, self.redo, show_button):
            button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)

    def set_place_action(self, action: QAction) -> None:
        """Take the action that switches the map tool; the button follows it, and it the button.

        Parameters
        ----------
        action : QAction
            Checkable.
        """
        self.place.setIcon(action.icon())
        self.place.setChecked(action.isChecked())
        self.place.setEnabled(True)
        self._action_links = Links((self.place.toggled, action.setChecked), (action.toggled, self.place.setChecked))

    def _raise(self, height_m):
        """Follow the box at once; a series of changes is one step to undo."""
        if self._bench.place is None:
            self._bench.set_height(height_m)
        else:
            self._rest.start()
            self._bench.set_height(height_m, True)

    def _settle(self):
        if self._rest.isActive() or self.sender() is self._rest:
            self._rest.stop()
            self._bench.set_height(self.height.value())

    def _follow_place(self, *_place):
        if round(self._bench.height_m, 2) != round(self.height.value(), 2):
            # somebody else has set it: nothing of ours is to be settled any more
            self._rest.stop()
            show_number(self.height, self._bench.height_m)

    def _load(self, settings):
        show_choice(self.reference, settings.HEIGHT_REFERENCE)

    def _show_shapes(self, *_on):
        self._bench.show_shapes({name for name, action in self.shapes.items() if action.isChecked()})

    def _follow_shown(self, shown):
        for name, action in self.shapes.items():
            with QSignalBlocker(action):
                action.setChecked(name in shown)

    def close_controls(self) -> None:
        """Let go of the bench and of the action."""
        self._rest.stop()
        self._links.let_go()
        self._action_links.let_go()
