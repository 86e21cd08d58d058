"""Whatever ends a run early, no half-written file is left, and nothing that was there before is lost."""

import os

import pytest
from osgeo import ogr
from qgis.core import QgsProject, QgsVectorFileWriter, QgsVectorLayer
from scenes import MIDDLE_Y, SEA_POLYGON, Feedback, offshore, points, polygons, refusal, rows, run

pytestmark = pytest.mark.usefixtures("provider")

ALL = ("footprints", "surfacequality", "rankcandidates")


def many(number=120):
    """Make candidates in a row on the open water."""
    return points(*[(500300 + i, MIDDLE_Y) for i in range(number)])


def surface(algorithm, coast):
    """Return what an algorithm needs besides INPUT."""
    return {} if algorithm == "footprints" else coast


def tables(path) -> dict:
    """Return the number of rows of each table of a file."""
    source = ogr.Open(str(path))
    return {source.GetLayer(i).GetName(): source.GetLayer(i).GetFeatureCount() for i in range(source.GetLayerCount())}


@pytest.fixture
def no_folder(tmp_path):
    """Give a path that no one, not even root, can write below: it is a file."""
    path = tmp_path / "a file"
    path.write_bytes(b"")
    return path


@pytest.fixture
def package(tmp_path):
    """Give a GeoPackage of the user's with candidates in the table `mine`."""
    path = tmp_path / "mine.gpkg"
    save(points((500300, 4982000), (500400, 4982000)), path, "GPKG", "mine")
    return path


def save(layer, path, driver, table=""):
    """Write a layer to a file."""
    options = QgsVectorFileWriter.SaveVectorOptions()
    options.driverName, options.layerName = driver, table
    status = QgsVectorFileWriter.writeAsVectorFormatV3(
        layer, str(path), QgsProject.instance().transformContext(), options)
    assert status[0] == QgsVectorFileWriter.WriterError.NoError, status


@pytest.mark.parametrize("algorithm", ALL)
@pytest.mark.parametrize("name", ["out.gpkg", "out.shp", "out.geojson", "out.csv", "out.fgb"])
@pytest.mark.parametrize("percent", [0, 50])
def test_cancel_leaves_no_file(algorithm, name, percent, coast, tmp_path):
    feedback = Feedback(cancel_at=percent)
    extra = {"DETAIL": str(tmp_path / "detail.gpkg")} if algorithm == "surfacequality" else {}
    result = run(algorithm, feedback, INPUT=many(), OUTPUT=str(tmp_path / name), **extra, **surface(algorithm, coast))
    assert result == {}
    assert "Cancelled; nothing was written." in feedback.log
    assert list(tmp_path.iterdir()) == []
    assert max(feedback.progress) < percent + 10, "it went on for a while"


@pytest.mark.parametrize("algorithm", ALL)
def test_cancel_leaves_the_other_tables_of_a_geopackage(algorithm, coast, package):
    target = f"ogr:dbname='{package}' table=\"result\" (geom)"
    run(algorithm, Feedback(cancel_at=50), INPUT=many(), OUTPUT=target, **surface(algorithm, coast))
    assert tables(package) == {"mine": 2}
    run(algorithm, INPUT=many(3), OUTPUT=target, **surface(algorithm, coast))
    assert set(tables(package)) == {"mine", "result"} and tables(package)["mine"] == 2


def test_cancel_leaves_no_page(coast, tmp_path):
    run("rankcandidates", Feedback(cancel_at=50), INPUT=many(), OUTPUT=str(tmp_path / "o.gpkg"),
        OUTPUT_HTML=str(tmp_path / "page.html"), **coast)
    assert list(tmp_path.iterdir()) == []


def test_progress_rises(coast):
    for algorithm in ALL:
        feedback = Feedback()
        run(algorithm, feedback, INPUT=many(10), **surface(algorithm, coast))
        assert feedback.progress == sorted(feedback.progress) and len(set(feedback.progress)) >= 10


@pytest.mark.parametrize("algorithm", ALL)
@pytest.mark.parametrize("name", ["x.gpkg", "x.shp", "no such folder/x.geojson"])
def test_an_output_that_cannot_be_written_is_told(algorithm, name, coast, no_folder):
    text = refusal(algorithm, INPUT=offshore(), OUTPUT=str(no_folder / name), **surface(algorithm, coast))
    assert "OUTPUT cannot be created" in text and os.path.basename(name) in text and "Choose another" in text
    assert no_folder.read_bytes() == b""


@pytest.mark.skipif(not os.path.ismount("/proc"), reason="here /proc is a folder like any other")
def test_a_system_folder_takes_no_output(coast):
    assert "OUTPUT cannot be created" in refusal("rankcandidates", INPUT=offshore(), OUTPUT="/proc/x.gpkg", **coast)


def test_a_page_that_cannot_be_written_ends_the_run_without_a_table(coast, tmp_path, no_folder):
    target = str(no_folder / "page.html")
    text = refusal("rankcandidates", INPUT=offshore(), OUTPUT=str(tmp_path / "o.gpkg"), OUTPUT_HTML=target, **coast)
    assert "OUTPUT_HTML" in text and target in text and "Choose another" in text
    assert list(tmp_path.iterdir()) == [no_folder]


def test_a_page_cannot_replace_a_folder(coast, tmp_path):
    assert "OUTPUT_HTML" in refusal("rankcandidates", INPUT=offshore(), OUTPUT_HTML=str(tmp_path), **coast)


def test_a_detail_that_cannot_be_written_takes_the_sectors_with_it(coast, tmp_path, no_folder):
    text = refusal("surfacequality", INPUT=offshore(), OUTPUT=str(tmp_path / "o.gpkg"),
                   DETAIL=str(no_folder / "d.gpkg"), **coast)
    assert "DETAIL cannot be created" in text
    assert list(tmp_path.iterdir()) == [no_folder]


def test_a_format_that_takes_no_fields_leaves_no_file(coast, tmp_path):
    text = refusal("rankcandidates", INPUT=offshore(), OUTPUT=str(tmp_path / "o.dxf"), **coast)
    assert "OUTPUT cannot be created" in text
    assert list(tmp_path.iterdir()) == []


def test_a_wrong_input_leaves_an_earlier_result_alone(coast, tmp_path):
    target = tmp_path / "o.gpkg"
    run("rankcandidates", INPUT=offshore(), OUTPUT=str(target), **coast)
    before = target.read_bytes()
    refusal("rankcandidates", INPUT=offshore(), OUTPUT=str(target), AZIMUTH_STEP=7, **coast)
    refusal("rankcandidates", INPUT=points(), OUTPUT=str(target), **coast)
    assert target.read_bytes() == before


def test_an_output_never_overwrites_the_file_it_is_read_from(coast, package):
    text = refusal("rankcandidates", INPUT=f"{package}|layername=mine", OUTPUT=str(package), **coast)
    assert "INPUT" in text and "Choose another file" in text
    loaded = QgsVectorLayer(f"{package}|layername=mine", "mine", "ogr")
    refusal("footprints", INPUT=loaded, OUTPUT=str(package))
    refusal("footprints", INPUT=loaded, OUTPUT=f"ogr:dbname='{package}' table=\"mine\" (geom)")
    areas = package.parent / "areas.geojson"
    save(polygons(SEA_POLYGON), areas, "GeoJSON")
    before = areas.read_bytes()
    assert "WATER" in refusal("surfacequality", INPUT=offshore(), WATER=str(areas), OUTPUT=str(areas))
    assert areas.read_bytes() == before
    assert tables(package) == {"mine": 2}


def test_a_result_may_go_into_the_geopackage_of_the_candidates(coast, package):
    run("rankcandidates", INPUT=f"{package}|layername=mine",
        OUTPUT=f"ogr:dbname='{package}' table=\"ranked\" (geom)", **coast)
    assert tables(package) == {"mine": 2, "ranked": 2}


def test_a_row_that_the_sink_refuses_ends_the_run(coast, tmp_path):
    """A name longer than the field: QGIS's file writer refuses the row."""
    sites = points((500300, 4982000), (500400, 4982000), fields="name:string(400)", rows=[["x" * 300], ["short"]])
    for algorithm in ALL:
        text = refusal(algorithm, INPUT=sites, SITE_FIELD="name", OUTPUT=str(tmp_path / "o.gpkg"),
                       **surface(algorithm, coast))
        assert "OUTPUT could not be written" in text and "254" in text
        assert list(tmp_path.iterdir()) == []


def test_a_field_that_the_format_cannot_hold_ends_the_run(coast, tmp_path):
    """A GeoPackage's geometry stands in a column of its own, `geom`."""
    sites = points((500300, 4982000), fields="geom:string(20)", rows=[["x"]])
    text = refusal("rankcandidates", INPUT=sites, OUTPUT=str(tmp_path / "o.gpkg"), **coast)
    assert "OUTPUT" in text and "geom" in text
    assert list(tmp_path.iterdir()) == []
    assert rows(run("rankcandidates", INPUT=sites, OUTPUT=str(tmp_path / "o.shp"), **coast)["OUTPUT"])[0]["geom"] == "x"
