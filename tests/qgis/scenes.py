"""Small layers for the tests inside QGIS, and short ways to run an algorithm on them.

The coast: a straight shore along x = 500 000 m of UTM zone 24N (its central meridian, so map
north is true north), land (class 10) to the west, sea (class 80) to the east.
"""

from pathlib import Path

import numpy as np
from osgeo import gdal, osr
from qgis.core import (
    QgsFeature,
    QgsGeometry,
    QgsPointXY,
    QgsProcessingException,
    QgsProcessingFeedback,
    QgsVectorLayer,
)

UTM = "EPSG:32624"
SHORE_X, MIDDLE_Y = 500_000.0, 4_982_000.0
LAND, SEA = 10, 80
SEA_POLYGON = "POLYGON((500000 4981000,501000 4981000,501000 4983000,500000 4983000,500000 4981000))"
LAND_POLYGON = "POLYGON((499000 4981000,500000 4981000,500000 4983000,499000 4983000,499000 4981000))"
SAMPLE = Path(__file__).resolve().parents[2] / "sample_layers"


class Feedback(QgsProcessingFeedback):
    """Keeps what an algorithm says; cancels itself from a given progress [%] on."""

    def __init__(self, cancel_at=None):
        super().__init__(False)
        self.texts, self.warnings, self.progress, self._cancel_at = [], [], [], cancel_at

    def pushInfo(self, text):
        self.texts.append(text)

    def pushWarning(self, text):
        self.texts.append(text)
        self.warnings.append(text)

    def reportError(self, text, fatalError=False):
        self.texts.append(text)

    def setProgress(self, percent):
        self.progress.append(percent)
        if self._cancel_at is not None and percent >= self._cancel_at:
            self.cancel()

    @property
    def log(self) -> str:
        """Everything said, as one text."""
        return "\n".join(self.texts)


def layer(kind, shapes, crs=UTM, fields="name:string(60)", rows=None, name="layer") -> QgsVectorLayer:
    """Make a memory layer of well-known texts (None: no geometry)."""
    made = QgsVectorLayer(f"{kind}?crs={crs}&" + "&".join(f"field={f}" for f in fields.split("|")), name, "memory")
    features = []
    for number, shape in enumerate(shapes):
        feature = QgsFeature(made.fields())
        if isinstance(shape, str):
            feature.setGeometry(QgsGeometry.fromWkt(shape))
        elif shape is not None:
            feature.setGeometry(QgsGeometry.fromPointXY(QgsPointXY(*shape)))
        feature.setAttributes(list(rows[number]) if rows else [f"site {number + 1}"])
        features.append(feature)
    ok, _added = made.dataProvider().addFeatures(features)
    assert ok and made.featureCount() == len(shapes), made.dataProvider().lastError()
    return made


def points(*shapes, kind="Point", name="candidates", **options) -> QgsVectorLayer:
    """Make a layer of candidates from (x, y) pairs, well-known texts or None."""
    return layer(kind, shapes, name=name, **options)


def polygons(*shapes, rows=None, fields="name:string(60)|share:double", name="areas", **options) -> QgsVectorLayer:
    """Make a layer of polygons with a name and a share of the time."""
    rows = rows or [[f"area {number + 1}", 1.0] for number in range(len(shapes))]
    return layer("Polygon", shapes, fields=fields, rows=rows, name=name, **options)


def offshore(distance_m=300.0, **options) -> QgsVectorLayer:
    """Make one candidate that far east of the shore."""
    return points((SHORE_X + distance_m, MIDDLE_Y), **options)


def raster(path, array, west=499_000.0, north=4_983_000.0, cell=2.0, crs=UTM, nodata=None, transform=None) -> str:
    """Write a GeoTIFF; `crs` None leaves it out."""
    array = np.asarray(array)
    kind = {"uint8": gdal.GDT_Byte, "int16": gdal.GDT_Int16, "float32": gdal.GDT_Float32}[array.dtype.name]
    dataset = gdal.GetDriverByName("GTiff").Create(str(path), array.shape[1], array.shape[0], 1, kind)
    dataset.SetGeoTransform(transform or (west, cell, 0.0, north, 0.0, -cell))
    if crs:
        reference = osr.SpatialReference()
        reference.SetFromUserInput(crs)
        dataset.SetProjection(reference.ExportToWkt())
    if nodata is not None:
        dataset.GetRasterBand(1).SetNoDataValue(nodata)
    dataset.GetRasterBand(1).WriteArray(array)
    dataset = None
    return str(path)


def coast_cells(cell=2.0, size_m=2000.0) -> np.ndarray:
    """Return the classes of the coast, west half land."""
    number = int(round(size_m / cell))
    cells = np.full((number, number), SEA, np.uint8)
    cells[:, :number // 2] = LAND
    return cells


def run(algorithm, feedback=None, context=None, **parameters) -> dict:
    """Run an algorithm of Stillwater; outputs are memory layers unless told otherwise."""
    import processing
    parameters.setdefault("OUTPUT", "TEMPORARY_OUTPUT")
    if algorithm == "rankcandidates":
        # trust in ranks has tests of its own and takes many times as long
        parameters.setdefault("TRIALS", 0)
    options = {"context": context} if context is not None else {}
    return processing.run(f"stillwater:{algorithm}", parameters, feedback=feedback or Feedback(), **options)


def refusal(algorithm, feedback=None, **parameters) -> str:
    """Run an algorithm that must refuse, and return what it says; no traceback may be in it."""
    feedback = feedback or Feedback()
    try:
        run(algorithm, feedback, **parameters)
    except QgsProcessingException as error:
        text = f"{error}\n{feedback.log}"
        assert "Traceback" not in text and "an error of its own" not in text, text
        return text
    raise AssertionError(f"{algorithm} accepted it; its log: {feedback.log}")


def rows(source) -> list:
    """Return a layer's or file's features as dicts, NULL as None."""
    if isinstance(source, (str, Path)):
        source = QgsVectorLayer(str(source), "result", "ogr")
        assert source.isValid()
    names = [field.name() for field in source.fields()]
    return [{name: None if value is None or (hasattr(value, "isNull") and value.isNull()) else value
             for name, value in zip(names, feature.attributes())} for feature in source.getFeatures()]


def column(table, name) -> np.ndarray:
    """Return one field of rows as numbers, NaN for NULL."""
    return np.array([np.nan if row[name] is None else row[name] for row in table], dtype=float)
