"""Writing outputs: in batches, every row accounted for, nothing half-written left behind."""
from __future__ import annotations

import os

from osgeo import gdal, ogr
from qgis.core import QgsFeature, QgsFeatureSink, QgsGeometry, QgsProcessingContext, QgsVectorFileWriter

from ...siting.errors import InputError

BATCH_ROWS = 5000


class Output:
    """One sink of an algorithm.

    Parameters
    ----------
    sink : QgsFeatureSink
    dest_id : str
        What `parameterAsSink` gave.
    name : str
        The parameter's name, for messages.
    fields : QgsFields
        Of its rows.
    """

    def __init__(self, sink, dest_id: str, name: str, fields):
        self._sink, self.dest_id, self.name, self._fields = sink, dest_id, name, fields
        self._rows: list = []
        self.written = 0

    def add(self, geometry: QgsGeometry | None, attributes: list) -> None:
        """Add a row; None becomes NULL."""
        feature = QgsFeature(self._fields)
        if geometry is not None:
            feature.setGeometry(geometry)
        feature.setAttributes(attributes)
        self._rows.append(feature)
        if len(self._rows) >= BATCH_ROWS:
            self.flush()

    def flush(self) -> None:
        """Hand the collected rows to the sink.

        Raises
        ------
        InputError
            If the sink refuses a row.
        """
        if self._rows and not self._sink.addFeatures(self._rows, QgsFeatureSink.Flag.FastInsert):
            reason = self._sink.lastError() or "no reason given"
            raise InputError(
                f"{self.name} could not be written: {reason}. Check the output's format, folder and free space.")
        self.written += len(self._rows)
        self._rows = []

    def close(self) -> None:
        """Finish the file."""
        self.flush()
        self._sink = None

    def discard(self, context: QgsProcessingContext) -> None:
        """Remove what this run has written, so that no half-written output is left."""
        self._rows, self._sink = [], None
        layer = context.temporaryLayerStore().mapLayer(self.dest_id)
        if layer is not None:
            context.temporaryLayerStore().removeMapLayer(layer)
            return
        path, _, table = self.dest_id.partition("|layername=")
        if path.lower().endswith(".shp"):
            # a table without geometry has no .shp, only its neighbours
            QgsVectorFileWriter.deleteShapeFile(path)
            return
        if not os.path.isfile(path):
            return
        if table:
            # other tables of the file are not ours to delete
            source = ogr.Open(path, 1)
            for index in range(source.GetLayerCount() if source is not None else 0):
                if source.GetLayer(index).GetName() == table and source.GetLayerCount() > 1:
                    source.DeleteLayer(index)
                    return
            source = None
        driver = gdal.IdentifyDriver(path)
        if driver is not None:
            driver.Delete(path)
        if os.path.isfile(path):
            os.remove(path)


def write_text_file(path: str, text: str, name: str) -> None:
    """Write a text file in one piece: a neighbour first, then renamed.

    Raises
    ------
    InputError
        If the folder cannot be written to.
    """
    partial = path + ".part"
    try:
        os.makedirs(os.path.dirname(os.path.abspath(path)), exist_ok=True)
        with open(partial, "w", encoding="utf-8") as file:
            file.write(text)
        os.replace(partial, path)
    except OSError as error:
        if os.path.exists(partial):
            os.remove(partial)
        raise InputError(f"{name} “{path}” cannot be written: {error.strerror}. Choose another folder.") from None


def check_writable(path: str, name: str) -> None:
    """Refuse a file output whose folder cannot be written to, before the work begins.

    Raises
    ------
    InputError
    """
    folder = os.path.dirname(os.path.abspath(path))
    while not os.path.exists(folder) and os.path.dirname(folder) != folder:
        folder = os.path.dirname(folder)
    if not os.path.isdir(folder) or not os.access(folder, os.W_OK) or os.path.isdir(path):
        raise InputError(f"{name} “{path}” cannot be written. Choose another file or folder.")
