"""Choosing the layers that the bench looks at."""
from __future__ import annotations

from typing import Any

from qgis.core import Qgis, QgsFieldProxyModel, QgsMapLayerProxyModel
from qgis.gui import QgsFieldComboBox, QgsMapLayerComboBox
from qgis.PyQt.QtWidgets import QLineEdit

from ..model.settings import BenchSettings
from .formsection import Desk, FormSection, choice_box, show_choice

KINDS = {"DEM": "RasterLayer", "LANDCOVER": "RasterLayer", "WATER": "PolygonLayer", "AVOID": "PolygonLayer",
         "BARRIERS": "PolygonLayer", "DEM_FAR": "RasterLayer", "GEOID": "RasterLayer"}
OF_LAYER = {"DEM_WATER": "DEM", "TARGET_CLASSES": "LANDCOVER", "WATER_IS": "WATER", **BenchSettings.FIELDS_OF}
"""What is asked only where a layer is chosen."""


def layer_kind(name: str) -> Any:
    """Return a filter of layer boxes: they stood elsewhere before QGIS 3.34."""
    return getattr(getattr(Qgis, "LayerFilter", QgsMapLayerProxyModel.Filter), name)


class LayersForm(FormSection):
    """Layers, and what is to be known of each.

    Parameters
    ----------
    desk : Desk
    """

    def __init__(self, desk: Desk, parent=None):
        super().__init__("layers", desk, parent)
        self.setTitle(self.tr("Layers"))
        writer = desk.writer
        self.layers = {name: self._layer_box(name) for name in KINDS}
        self.fields = {name: self._field_box(name) for name in BenchSettings.FIELDS_OF}
        words = {"DEM_WATER": {"surface": self.tr("surface or nothing"), "bed": self.tr("the bed")},
                 "WATER_IS": {"target": self.tr("the surface"), "land": self.tr("everything else")}}
        self.choices = {name: choice_box(name, offered, writer) for name, offered in words.items()}
        self.classes = QLineEdit()
        self.classes.setPlaceholderText(self.tr("such as 80, 90-95"))
        self.classes.textEdited.connect(lambda text: writer.put(TARGET_CLASSES=text.strip()))
        self.classes.editingFinished.connect(writer.flush)
        every = {**self.layers, **self.fields, **self.choices, "TARGET_CLASSES": self.classes}
        for name in ("DEM", "DEM_WATER", "LANDCOVER", "TARGET_CLASSES", "WATER", "WATER_IS", "AVOID", "AVOID_FIELD",
                     "AVOID_NAME", "BARRIERS", "BARRIER_HEIGHT", "DEM_FAR", "GEOID"):
            self.add(name, every[name])
        self.follow_bench()

    def _layer_box(self, name):
        box = QgsMapLayerComboBox()
        box.setFilters(layer_kind(KINDS[name]))
        box.setAllowEmptyLayer(True)
        box.setCurrentIndex(0)
        # by the user alone: a box jumps to a neighbour by itself when its layer is taken away
        box.activated.connect(lambda _index: self._take_layer(name))
        return box

    def _field_box(self, name):
        box, definition = QgsFieldComboBox(), self.desk.texts.definition
        box.setAllowEmptyFieldName(True)
        if definition(name).dataType() == definition("AVOID_FIELD").dataType():
            box.setFilters(QgsFieldProxyModel.Filter.Numeric)
        box.activated.connect(lambda _index: self.desk.writer.put(True, **{name: box.currentField()}))
        return box

    def _take_layer(self, name):
        layer = self.layers[name].currentLayer()
        changes = {name: "" if layer is None else layer.id()}
        for field, parent in BenchSettings.FIELDS_OF.items():
            if parent == name:
                self.fields[field].setLayer(layer)
                known = [] if layer is None else layer.fields().names()
                wanted = getattr(self.desk.bench.settings, field)
                changes[field] = wanted if wanted in known else ""
        self.desk.writer.put(True, **changes)

    def load(self, settings: BenchSettings) -> None:
        """Show settings."""
        for name, box in self.layers.items():
            layer = self.desk.bench.project.mapLayer(getattr(settings, name))
            if box.currentLayer() is not layer:
                box.setLayer(layer)
        for name, box in self.fields.items():
            box.setLayer(self.layers[BenchSettings.FIELDS_OF[name]].currentLayer())
            box.setField(getattr(settings, name))
        for name, box in self.choices.items():
            show_choice(box, getattr(settings, name))
        if self.classes.text().strip() != settings.TARGET_CLASSES:
            self.classes.setText(settings.TARGET_CLASSES)
        for name, parent in OF_LAYER.items():
            self.show_row(name, bool(getattr(settings, parent)))
        self.show_row("GEOID", bool(settings.GEOID) or settings.HEIGHT_REFERENCE == "ellipsoid")
