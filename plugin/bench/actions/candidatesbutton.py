"""The button that adds the place to a layer of candidates, and the menu that chooses which."""
from __future__ import annotations

import os
from functools import partial
from html import escape

from qgis.core import QgsApplication, QgsVectorLayer
from qgis.PyQt.QtWidgets import QFileDialog, QMenu, QToolButton

from ....siting.errors import InputError
from ..model.running import pin_at
from ..widgets.wordbutton import WordButton
from .candidateslayer import add_place, layers_that_serve, names_in, new_file_layer, new_layer, serves, values_of


class CandidatesButton(WordButton):
    """Adds the bench's place to the layer that was chosen last; asks where none was.

    Parameters
    ----------
    bench : Bench
    voice : Voice
    """

    def __init__(self, bench, voice, parent=None):
        super().__init__("candidates", QgsApplication.getThemeIcon("/mActionCapturePoint.svg"), parent=parent)
        self._bench, self._voice, self._chosen = bench, voice, ""
        self.setText(self.tr("Add to candidates"))
        self.setPopupMode(QToolButton.ToolButtonPopupMode.MenuButtonPopup)
        self._menu = QMenu(self)
        self._menu.aboutToShow.connect(self._fill_menu)
        self.setMenu(self._menu)
        self.clicked.connect(self._add_again)
        self._explain()

    def _explain(self):
        layer = self._bench.project.mapLayer(self._chosen)
        text = self.tr("Add the place to a layer of candidates of your choice") if layer is None else \
            self.tr("Add the place to layer “{}”; the arrow chooses another").format(layer.name())
        self.setToolTip(f"<p>{escape(text)}</p>")

    def _fill_menu(self):
        self._menu.clear()
        for layer in layers_that_serve(self._bench.project):
            action = self._menu.addAction(layer.name().replace("&", "&&"), partial(self._add_to_id, layer.id()))
            action.setCheckable(True)
            action.setChecked(layer.id() == self._chosen)
        self._menu.addSeparator()
        self._menu.addAction(self.tr("New temporary layer"), self.add_to_new)
        self._menu.addAction(self.tr("New GeoPackage layer …"), self.add_to_new_file)

    def _add_again(self):
        layer = self._bench.project.mapLayer(self._chosen)
        if serves(layer):
            self.add_to(layer)
        else:
            self.showMenu()

    def _add_to_id(self, layer_id):
        layer = self._bench.project.mapLayer(layer_id)
        if layer is not None:
            self.add_to(layer)

    def add_to(self, layer: QgsVectorLayer) -> bool:
        """Add the place to a layer of the project; what hinders it is said.

        Returns
        -------
        bool
            Whether it was added.
        """
        bench = self._bench
        if bench.place is None or bench.spot is None or bench.spot.is_rough:
            return False
        name = self._name_for(layer)
        try:
            add_place(layer, bench.place, values_of(name, bench.place, bench.spot, bench.settings), bench.project,
                      self.tr("Add a candidate"))
        except InputError as error:
            self._voice.say("error", str(error))
            return False
        self._chosen = layer.id()
        self._explain()
        self._voice.say("hint", self.tr("“{}” was added to layer “{}”.").format(name, layer.name()))
        return True

    def add_to_new(self) -> None:
        """Add the place to a new temporary layer."""
        if self._bench.place is not None:
            self._take(new_layer(self._bench.place.crs, self._free_title()))

    def add_to_new_file(self) -> None:
        """Ask for a GeoPackage, and add the place to a new layer in it."""
        place, folder = self._bench.place, self._bench.project.homePath()
        path, _kind = QFileDialog.getSaveFileName(
            self, self.tr("GeoPackage for a new layer"), os.path.join(folder, "candidates.gpkg"),
            self.tr("GeoPackage (*.gpkg)"), options=QFileDialog.Option.DontConfirmOverwrite)
        if not path or place is None:
            return
        if not path.lower().endswith(".gpkg"):
            path += ".gpkg"
        try:
            layer = new_file_layer(path, place.crs, self._free_title(), self._bench.project)
        except InputError as error:
            self._voice.say("error", str(error))
            return
        self._take(layer)

    def _take(self, layer):
        project = self._bench.project
        project.addMapLayer(layer, False)
        # on top, whatever group the current layer is in
        project.layerTreeRoot().insertLayer(0, layer)
        self.add_to(layer)

    def _free_title(self):
        title, number = self.tr("Candidates"), 1
        while self._bench.project.mapLayersByName(title if number == 1 else f"{title} {number}"):
            number += 1
        return title if number == 1 else f"{title} {number}"

    def _name_for(self, layer):
        """Return the pin's name, or one that the layer does not hold."""
        pin, taken, number = pin_at(self._bench), names_in(layer), 1
        if pin is not None and pin.name not in taken:
            return pin.name
        while self.tr("Spot {}").format(number) in taken:
            number += 1
        return self.tr("Spot {}").format(number)
