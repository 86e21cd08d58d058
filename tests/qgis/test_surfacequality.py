"""The algorithm `surfacequality`: its rows, windows and worst level."""

import numpy as np
import pytest
from qgis.core import QgsWkbTypes
from scenes import SEA_POLYGON, SHORE_X, Feedback, column, offshore, points, polygons, raster, rows, run

pytestmark = pytest.mark.usefixtures("provider")

FIELDS = ["site", "az_deg", "quality", "el_from", "el_to", "target", "avoid", "hidden", "unknown", "usable",
          "busy", "near_m", "far_m", "height_m", "reason"]
DETAIL_FIELDS = ["site", "az_deg", "el_deg", "level_m", "height_m", "target", "avoid", "hidden", "unknown", "usable",
                 "rough_m", "tilt_deg", "loss_db", "return_db"]
SHARE_TOLERANCE = 0.005
WAVELENGTH_M = 299_792_458.0 / 1575.42e6


def bed(tmp_path, depth_at_shore=0.0, slope=0.02):
    """Write a DEM that falls eastwards from the shore, and rises westwards."""
    x = 499_000 + 2.0 * (np.arange(1000) + 0.5)
    line = (-depth_at_shore - slope * (x - SHORE_X)).astype(np.float32)
    return raster(tmp_path / "bed.tif", np.tile(line, (1000, 1)))


def test_gives_a_sector_for_each_site_and_bin(coast):
    layer = run("surfacequality", INPUT=points((500300, 4982000), (500400, 4982000)), **coast)["OUTPUT"]
    assert [field.name() for field in layer.fields()] == FIELDS
    assert layer.wkbType() == QgsWkbTypes.Type.MultiPolygon
    assert layer.crs().authid() == "EPSG:32624"
    table = rows(layer)
    assert len(table) == 2 * 72
    assert [r["az_deg"] for r in table if r["site"] == "1"] == [2.5 + 5 * i for i in range(72)]
    assert all(feature.geometry().isGeosValid() for feature in layer.getFeatures())


def test_over_open_water_every_bin_is_perfect_and_silent(coast):
    for row in rows(run("surfacequality", INPUT=offshore(), **coast)["OUTPUT"]):
        assert row["quality"] == pytest.approx(1.0, abs=1e-4)
        assert (row["el_from"], row["el_to"]) == (5.0, 20.0)
        assert row["target"] == row["usable"] == pytest.approx(1.0, abs=1e-4)
        assert row["avoid"] == row["unknown"] == 0.0
        assert row["height_m"] == 5.0
        assert row["reason"] == ""


def test_inland_a_bin_has_no_window_and_says_why(coast):
    for row in rows(run("surfacequality", INPUT=offshore(-500), **coast)["OUTPUT"]):
        assert row["quality"] == row["usable"] == row["target"] == 0.0
        assert row["el_from"] is None and row["el_to"] is None
        assert row["near_m"] is None and row["far_m"] is None
        assert "land-cover class 10" in row["reason"] and "100 %" in row["reason"]


def test_quality_is_the_window_in_sine_times_the_mean_share(coast):
    parameters = dict(INPUT=offshore(-30), MIN_SHARE=0.9, **coast)
    result = run("surfacequality", DETAIL="TEMPORARY_OUTPUT", **parameters)
    detail = rows(result["DETAIL"])
    seen = 0
    for row in rows(result["OUTPUT"]):
        mine = [d for d in detail if d["az_deg"] == row["az_deg"]]
        sine, share = np.sin(np.radians(column(mine, "el_deg"))), column(mine, "usable")
        if row["el_from"] is None:
            assert row["quality"] == 0.0 and not np.any((share[1:] >= 0.9) & (share[:-1] >= 0.9))
            continue
        seen += 1
        inside = (column(mine, "el_deg") >= row["el_from"]) & (column(mine, "el_deg") <= row["el_to"])
        assert np.all(share[inside] >= 0.9 - 1e-6)
        width = sine[inside][-1] - sine[inside][0]
        mean = np.sum((share[inside][1:] + share[inside][:-1]) / 2 * np.diff(sine[inside])) / width
        assert row["quality"] == pytest.approx(width / (sine[-1] - sine[0]) * mean, abs=1e-6)
    assert seen > 5


def test_a_set_back_antenna_loses_the_high_angles():
    """From the ellipse (derived): 3.5 m above the water, 15 m back from a straight shore that it faces."""
    for share, highest in ((1.0, 6.8), (0.95, 8.9), (0.8, 11.4)):
        table = rows(run("surfacequality", INPUT=offshore(-15), ANTENNA_HEIGHT=3.5, WATER=polygons(SEA_POLYGON),
                         MIN_SHARE=share, ELEVATION_STEP=0.1, AZIMUTH_STEP=4)["OUTPUT"])
        facing, = (r for r in table if r["az_deg"] == 90)
        assert facing["el_from"] == 5.0
        assert facing["el_to"] == pytest.approx(highest, abs=0.2)
        assert "land" in facing["reason"]


def test_the_sector_covers_the_ground_of_its_window(coast):
    layer = run("surfacequality", INPUT=offshore(), **coast)["OUTPUT"]
    row = rows(layer)[0]
    # ends of the ellipse's long axis at 20 and 5° for 5 m (closed form of the excess path)
    ends = []
    for angle, sign in ((20.0, -1), (5.0, 1)):
        sine, tangent = np.sin(np.radians(angle)), np.tan(np.radians(angle))
        minor = np.sqrt(WAVELENGTH_M * 5.0 / sine + (WAVELENGTH_M / (2 * sine)) ** 2)
        ends.append(5.0 / tangent + WAVELENGTH_M / (2 * sine * tangent) + sign * minor / sine)
    assert (row["near_m"], row["far_m"]) == pytest.approx(ends, abs=0.01)
    for feature in layer.getFeatures():
        area = np.pi * (row["far_m"] ** 2 - row["near_m"] ** 2) / 72
        assert feature.geometry().area() == pytest.approx(area, rel=0.005)


def test_detail_has_a_row_for_each_bin_angle_and_level(coast):
    result = run("surfacequality", INPUT=offshore(-30), LEVEL_LOW=-1, LEVEL_HIGH=1, AZIMUTH_STEP=30,
                 MAX_ELEVATION=9.5, DETAIL="TEMPORARY_OUTPUT", **coast)
    layer = result["DETAIL"]
    assert [field.name() for field in layer.fields()] == DETAIL_FIELDS
    assert layer.wkbType() == QgsWkbTypes.Type.NoGeometry
    table = rows(layer)
    levels = sorted({r["level_m"] for r in table})
    assert {-1.0, 0.0, 1.0} <= set(levels)
    # at most max(0.25 m, least height / 10) apart: 4 m over the highest level
    assert np.diff(levels).max() <= 0.4 + 1e-9
    angles = [5, 6, 7, 8, 9, 9.5]
    assert len(table) == 12 * len(angles) * len(levels)
    assert {(r["az_deg"], r["el_deg"], r["level_m"]) for r in table} == {
        (15 + 30 * i, angle, level) for i in range(12) for angle in angles for level in levels}
    for row in table:
        assert row["height_m"] == pytest.approx(5 - row["level_m"], abs=1e-3)


def test_detail_is_absent_unless_asked_for(coast):
    assert set(run("surfacequality", INPUT=offshore(), **coast)) == {"OUTPUT"}
    assert set(run("surfacequality", INPUT=offshore(), DETAIL=None, **coast)) == {"OUTPUT"}


def test_an_angle_is_only_as_good_as_at_its_worst_level(coast):
    result = run("surfacequality", INPUT=offshore(-20), LEVEL_LOW=-1.5, LEVEL_HIGH=1.5,
                 DETAIL="TEMPORARY_OUTPUT", **coast)
    detail, checked = rows(result["DETAIL"]), 0
    for row in rows(result["OUTPUT"]):
        mine = [d for d in detail if d["az_deg"] == row["az_deg"]]
        angles = sorted({d["el_deg"] for d in mine})
        worst = [min((d for d in mine if d["el_deg"] == angle), key=lambda d: d["usable"]) for angle in angles]
        for name in ("usable", "target", "unknown", "avoid"):
            assert row[name] == pytest.approx(np.mean(column(worst, name)), abs=1e-6)
        if row["el_from"] is not None:
            good = [d["usable"] for d in worst if row["el_from"] <= d["el_deg"] <= row["el_to"]]
            assert min(good) >= 0.95 - 1e-6
            checked += 1
        assert row["height_m"] == pytest.approx(3.5)
    assert checked


def test_low_water_dries_the_bed(coast, tmp_path):
    parameters = dict(INPUT=offshore(60), DEM=bed(tmp_path), DEM_WATER="bed", AZIMUTH_STEP=30, **coast)
    always = column(rows(run("surfacequality", **parameters)["OUTPUT"]), "usable")
    result = run("surfacequality", LEVEL_LOW=-2, **parameters)
    spring = column(rows(result["OUTPUT"]), "usable")
    assert np.all(spring <= always + 1e-6) and (always - spring).max() > 0.3
    dry = [r for r in rows(result["OUTPUT"]) if "dry at this level" in r["reason"]]
    assert dry and all("at level -2.00 m" in r["reason"] for r in dry)


def test_bed_is_target_only_below_the_level(tmp_path):
    """Ground at exactly x = shore + 50·(-level): one bin looks straight at that line."""
    result = run("surfacequality", INPUT=offshore(50 - 20), DEM=bed(tmp_path), DEM_WATER="bed", SURFACE_LEVEL=-1,
                 WATER=polygons(SEA_POLYGON), ANTENNA_HEIGHT=3.5, AZIMUTH_STEP=4)
    shifted = run("surfacequality", INPUT=offshore(-20), WATER=polygons(SEA_POLYGON), ANTENNA_HEIGHT=3.5,
                  AZIMUTH_STEP=4)
    one, other = (column(rows(r["OUTPUT"]), "usable")[15:30] for r in (result, shifted))
    assert one == pytest.approx(other, abs=0.02)


def test_reasons_give_the_share_that_is_really_lost(coast):
    """Narrow bins: what spoils them lies beside them as well."""
    for step in (1, 5, 30):
        seen = 0
        for row in rows(run("surfacequality", INPUT=offshore(2), AZIMUTH_STEP=step, MIN_SHARE=1, **coast)["OUTPUT"]):
            if row["usable"] < 0.9:
                told = float(row["reason"].split(" takes ")[1].split(" %")[0]) / 100
                angles = row["reason"].split("footprints ")[1]
                if angles.startswith("from 5 to 20"):
                    assert told == pytest.approx(1 - row["usable"], abs=0.011), row
                    seen += 1
        assert seen > 1


def test_snow_with_a_dem_alone_is_everywhere_with_data(tmp_path):
    cells = np.full((1000, 1000), 7.0, np.float32)
    cells[:, :500] = -9999
    dem = raster(tmp_path / "ground.tif", cells, nodata=-9999)
    table = rows(run("surfacequality", INPUT=offshore(), PURPOSE="snow depth", DEM=dem)["OUTPUT"])
    assert np.all(column(table, "usable") > 0.999)
    table = rows(run("surfacequality", INPUT=offshore(1), PURPOSE="soil moisture", DEM=dem)["OUTPUT"])
    west = [r for r in table if 200 < r["az_deg"] < 340]
    assert all(r["unknown"] > 0.99 and "no data" in r["reason"] for r in west)


def test_rows_come_from_the_crs_of_input_and_agree(coast):
    projected = rows(run("surfacequality", INPUT=offshore(-20), **coast)["OUTPUT"])
    feedback = Feedback()
    # EPSG:32624's central meridian is 39° W; this is the same place to 1 mm (pyproj)
    from pyproj import Transformer
    place = Transformer.from_crs("EPSG:32624", "EPSG:4326", always_xy=True).transform(SHORE_X - 20, 4_982_000)
    result = run("surfacequality", feedback, INPUT=points(place, crs="EPSG:4326"), **coast)["OUTPUT"]
    assert result.crs().authid() == "EPSG:4326"
    assert column(rows(result), "usable") == pytest.approx(column(projected, "usable"), abs=SHARE_TOLERANCE)
    assert feedback.warnings == []
