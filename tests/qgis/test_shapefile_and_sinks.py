"""Outputs go to any format that QGIS writes, every row and every field with them."""

import numpy as np
import pytest
from qgis.core import QgsVectorLayer, QgsWkbTypes
from scenes import SEA_POLYGON, column, points, polygons, refusal, rows, run

pytestmark = pytest.mark.usefixtures("provider")

FORMATS = ["out.shp", "out.gpkg", "out.geojson", "out.csv", "out.tab"]
IDS_OF_FORMATS = {"fid"}
"""Columns that a format adds by itself."""


def parameters_of(algorithm, coast) -> dict:
    """Return small runs of each algorithm; one candidate has awkward texts and a NULL."""
    sites = points((500300, 4982000), (500003, 4982000), fields="name:string(80)|note:string(40)|count:integer",
                   rows=[["Hólmur, \"pier; head\"\n2", None, None], ["Žižkov", "x", 7]])
    common = {"INPUT": sites, "SITE_FIELD": "name"}
    if algorithm == "footprints":
        return {**common, "AZIMUTH_STEP": 90}
    return {**common, "AZIMUTH_STEP": 30, **coast}


@pytest.mark.parametrize("algorithm", ["footprints", "surfacequality", "rankcandidates"])
@pytest.mark.parametrize("name", FORMATS)
def test_a_file_holds_what_a_memory_layer_holds(algorithm, name, coast, tmp_path):
    parameters = parameters_of(algorithm, coast)
    memory = run(algorithm, **parameters)["OUTPUT"]
    path = run(algorithm, OUTPUT=str(tmp_path / name), **parameters)["OUTPUT"]
    layer = QgsVectorLayer(path, "result", "ogr")
    assert layer.isValid() and layer.featureCount() == memory.featureCount()
    fields = [field.name() for field in memory.fields()]
    assert [f.name() for f in layer.fields() if f.name() not in IDS_OF_FORMATS] == fields
    if not name.endswith(".csv"):  # a CSV of QGIS holds no geometry unless it is told to
        assert layer.crs().isValid()
        assert QgsWkbTypes.geometryType(layer.wkbType()) == QgsWkbTypes.geometryType(memory.wkbType())
        for one, other in zip(layer.getFeatures(), memory.getFeatures()):
            assert one.geometry().boundingBox().center().distance(other.geometry().boundingBox().center()) < 0.05
    for one, other in zip(rows(layer), rows(memory)):
        for field in fields:
            same_value(one[field], other[field])


def same_value(read, wanted):
    """Check a value that came back from a file."""
    if wanted is None or wanted == "":
        # formats differ in how they keep an empty text and a NULL number
        assert read in (None, "", 0)
    elif isinstance(wanted, str):
        assert read == wanted or read == wanted.replace("\n", "\\n")
    else:
        assert float(read) == pytest.approx(float(wanted), rel=1e-6, abs=1e-6)


def test_every_field_name_fits_a_shapefile(coast):
    for algorithm in ("footprints", "surfacequality", "rankcandidates"):
        layer = run(algorithm, **parameters_of(algorithm, coast))["OUTPUT"]
        assert max(len(field.name()) for field in layer.fields()) <= 10


def test_detail_goes_to_a_table_without_geometry(coast, tmp_path):
    for name in ("detail.gpkg", "detail.csv", "detail.xlsx"):
        result = run("surfacequality", DETAIL=str(tmp_path / name), **parameters_of("surfacequality", coast))
        table = rows(result["DETAIL"])
        assert len(table) == 2 * 12 * 16
        assert np.all((column(table, "usable") >= 0) & (column(table, "usable") <= 1 + 1e-6))


def test_a_table_is_no_shapefile(coast, tmp_path):
    text = refusal("surfacequality", OUTPUT=str(tmp_path / "o.shp"), DETAIL=str(tmp_path / "d.shp"),
                   **parameters_of("surfacequality", coast))
    assert "DETAIL is a table without geometry" in text and ".gpkg" in text
    assert list(tmp_path.iterdir()) == []


def test_a_thousand_candidates_make_a_thousand_rows(coast, tmp_path):
    sites = points(*[(500300 + i % 40, 4982000 + i // 40) for i in range(1000)])
    path = run("rankcandidates", INPUT=sites, AZIMUTH_STEP=30, OUTPUT=str(tmp_path / "r.gpkg"), **coast)["OUTPUT"]
    table = rows(path)
    # what is equal shares its rank, and as many ranks are left out after it
    ranks = [r["rank"] for r in table]
    assert ranks == sorted(ranks) and ranks[0] == 1
    assert all(rank in (before, place) for place, (before, rank) in enumerate(zip(ranks, ranks[1:]), start=2))
    assert {r["site"] for r in table} == {str(i + 1) for i in range(1000)}


def test_long_words_are_cut_to_what_a_shapefile_holds(coast, tmp_path):
    name = "Ü" * 100 + " berth of the long name"
    areas = polygons(SEA_POLYGON, rows=[[name, 1.0]], fields="name:string(200)|share:double")
    parameters = {"INPUT": points((500300, 4982000)), "AVOID": areas, "AVOID_NAME": "name", **coast}
    for algorithm in ("surfacequality", "rankcandidates"):
        for row in rows(run(algorithm, OUTPUT=str(tmp_path / f"{algorithm}.shp"), **parameters)["OUTPUT"]):
            for text in (row.get("reason"), row.get("advice"), row.get("limit_by")):
                assert text is None or len(text.encode("utf-8")) <= 254
