"""The algorithm `skyarcs`: where and when the reflection points of satellites pass, held to skyfield and geodesics."""

import re
import shutil
import subprocess
import time
from datetime import datetime, timedelta, timezone
from pathlib import Path

import numpy as np
import pytest
from pyproj import Geod, Transformer
from qgis.core import QgsGeometry, QgsWkbTypes
from qgis.PyQt.QtCore import QDateTime, Qt
from scenes import Feedback, column, points, raster, refusal, rows, run
from skyfield.api import EarthSatellite, load, wgs84
from skyfield.toposlib import ITRSPosition
from skyfield.units import Distance
from stillwater.processing_algs.layers.geometries import lines
from stillwater.siting.sky.clock import read_date
from stillwater.siting.sky.nominal import NominalOrbits
from stillwater.tests.science import orbitfile_samples as samples

pytestmark = pytest.mark.usefixtures("provider")

FIELDS = ["site", "satellite", "system", "t_start", "t_end", "rising", "az_start", "az_end", "el_from", "el_to",
          "minutes", "int_max_s"]
GEOD = Geod(ellps="WGS84")
TIMESCALE = load.timescale(builtin=True)
LON, LAT, HEIGHT = -39.0, 45.0, 10.0
WHOLE_SECOND_DEG = 0.01
"""In the half second that a time in the table may be off, a satellite moves less than this."""
ON_THE_GROUND_M = 0.02
"""A thousandth of a degree at 5° and 10 m of height."""
SATDATA = Path("/usr/share/gpredict/data/satdata")


def arcs(lon=LON, lat=LAT, crs="EPSG:4326", feedback=None, **parameters):
    """Run over one site, at first over GPS only."""
    parameters = {"INPUT": points((lon, lat), crs=crs), "ANTENNA_HEIGHT": HEIGHT, "CONSTELLATIONS": ["GPS"],
                  **parameters}
    return run("skyarcs", feedback, **parameters)["OUTPUT"]


def moment(text):
    """Read a time of the table."""
    return datetime.strptime(text, "%Y-%m-%dT%H:%M:%SZ").replace(tzinfo=timezone.utc)


def ends_deg(row):
    """Return the elevation angle at the start and at the end."""
    return (row["el_from"], row["el_to"]) if row["rising"] else (row["el_to"], row["el_from"])


def on_the_ground(layer, lon=LON, lat=LAT):
    """Return distance [m] and azimuth [°] of the vertices of each line."""
    back = Transformer.from_crs(layer.crs().authid(), "EPSG:4326", always_xy=True)
    found = []
    for feature in layer.getFeatures():
        x, y = np.array([[v.x(), v.y()] for v in feature.geometry().vertices()]).T
        there = back.transform(x, y)
        azimuth, _back, distance = GEOD.inv(np.full(len(x), lon), np.full(len(x), lat), *there)
        found.append((distance, np.mod(azimuth, 360.0)))
    return found


def turn(one, other):
    """Return the angle between azimuths [°]."""
    return np.abs((np.asarray(one) - other + 180.0) % 360.0 - 180.0)


def in_skyfield(satellite, moments):
    """Return elevation and azimuth [°] of a nominal satellite, from our position but by skyfield's geometry."""
    orbits, places = NominalOrbits(["GPS"]), []
    at = orbits.one_position_m(orbits.names.index(satellite), np.array([m.timestamp() for m in moments]))
    for position, when in zip(at, moments):
        seen = (ITRSPosition(Distance(m=position)) - wgs84.latlon(LAT, LON)).at(TIMESCALE.from_datetime(when))
        places.append([angle.degrees for angle in seen.altaz()[:2]])
    return np.array(places).T


def test_fields_types_and_order():
    layer = arcs(CONSTELLATIONS=["GPS", "Galileo"])
    assert [field.name() for field in layer.fields()] == FIELDS
    assert layer.wkbType() == QgsWkbTypes.Type.LineString and layer.crs().authid() == "EPSG:4326"
    table = rows(layer)
    assert {r["system"] for r in table} == {"GPS", "Galileo"} and {r["site"] for r in table} == {"1"}
    assert [r["t_start"] for r in table] == sorted(r["t_start"] for r in table)
    for row in table:
        for name in ("t_start", "t_end"):
            assert re.fullmatch(r"2026-06-0[12]T\d\d:\d\d:\d\dZ", row[name])
        assert row["rising"] in (True, False) and 5.0 <= row["el_from"] < row["el_to"] <= 20.0
        assert 0 <= row["az_start"] < 360 and 0 <= row["az_end"] < 360
        seconds = (moment(row["t_end"]) - moment(row["t_start"])).total_seconds()
        assert row["minutes"] * 60 == pytest.approx(seconds, abs=1.1)
    # limits read as they were given
    assert all(np.count_nonzero(column(table, name) == limit) > len(table) / 2
               for name, limit in (("el_from", 5.0), ("el_to", 20.0)))


@pytest.mark.parametrize("crs", ["EPSG:4326", "EPSG:3857", "EPSG:32624", "EPSG:3035"])
def test_lines_begin_and_end_at_h_over_tan_e_in_true_metres(crs):
    x, y = Transformer.from_crs("EPSG:4326", crs, always_xy=True).transform(LON, LAT)
    layer = arcs(x, y, crs)
    table = rows(layer)
    assert len(table) > 40
    for row, (distance, azimuth) in zip(table, on_the_ground(layer)):
        wanted = HEIGHT / np.tan(np.radians(ends_deg(row)))
        assert distance[[0, -1]] == pytest.approx(wanted, abs=ON_THE_GROUND_M)
        assert turn(azimuth[0], row["az_start"]) < 0.02 and turn(azimuth[-1], row["az_end"]) < 0.02
        outwards = np.diff(distance) * (-1 if row["rising"] else 1)
        assert outwards.min() > -ON_THE_GROUND_M and outwards.sum() > 0


def test_every_vertex_lies_where_skyfield_puts_the_reflection():
    layer = arcs()
    table, ground = rows(layer), on_the_ground(layer)
    for row, (distance, azimuth) in list(zip(table, ground))[3::9]:
        # between its ends a line has a vertex each whole half minute from the start of the day
        begin, end = (moment(row[name]) for name in ("t_start", "t_end"))
        seconds = np.arange(86_401 // 30 + 1) * 30.0
        midnight = moment("2026-06-01T00:00:00Z")
        inner = seconds[(seconds > (begin - midnight).total_seconds() + 1)
                        & (seconds < (end - midnight).total_seconds() - 1)]
        altitude, bearing = in_skyfield(row["satellite"], [midnight + timedelta(seconds=s) for s in inner])
        wanted = HEIGHT / np.tan(np.radians(altitude))
        nearest = np.argmin(np.abs(distance[:, None] - wanted), axis=0)
        assert distance[nearest] == pytest.approx(wanted, abs=ON_THE_GROUND_M)
        assert turn(azimuth[nearest], bearing).max() < 0.02
        assert len(inner) + 2 <= len(distance) <= len(inner) + 4


def test_real_elements_give_times_and_azimuths_as_skyfield_does(tmp_path):
    if not SATDATA.is_dir():
        pytest.skip("gpredict's elements are not installed")
    sets, section = {}, ""
    for line in (SATDATA / "satellites.dat").read_text().splitlines():
        section = line[1:-1] if line.startswith("[") else section
        key, _, value = line.partition("=")
        sets.setdefault(section, {})[key] = value
    wanted = [sets[number] for number in (SATDATA / "gps-ops.cat").read_text().split("\n")[1:] if number.strip()]
    path = tmp_path / "gps.txt"
    path.write_text("".join(f"{one['NAME']}\n{one['TLE1']}\n{one['TLE2']}\n" for one in wanted))
    feedback = Feedback()
    table = rows(arcs(ORBITS=str(path), DATE="2018-01-20T00:00:00", feedback=feedback))
    assert len(table) > 60 and "indicative" not in feedback.log
    satellites = {" ".join(one["NAME"].split()): EarthSatellite(one["TLE1"], one["TLE2"], one["NAME"], TIMESCALE)
                  for one in wanted}
    for row in table[::5]:
        for name, azimuth, elevation in zip(("t_start", "t_end"), (row["az_start"], row["az_end"]), ends_deg(row)):
            seen = (satellites[row["satellite"]] - wgs84.latlon(LAT, LON)).at(
                TIMESCALE.from_datetime(moment(row[name])))
            altitude, bearing, _distance = seen.altaz()
            assert altitude.degrees == pytest.approx(elevation, abs=WHOLE_SECOND_DEG)
            assert turn(bearing.degrees, azimuth) < 2 * WHOLE_SECOND_DEG


def test_midnight_does_not_cut_an_arc_but_the_ends_of_the_time_do():
    both = rows(arcs(DAYS=2))
    first, second = rows(arcs()), rows(arcs(DATE="2026-06-02T00:00:00"))
    midnight = "2026-06-02T00:00:00Z"
    across = [r for r in both if r["t_start"] < midnight < r["t_end"]]
    assert len(across) >= 2
    assert len(both) == len(first) + len(second) - len(across)
    for row in across:
        before, = (r for r in first if r["satellite"] == row["satellite"] and r["t_end"] == midnight)
        after, = (r for r in second if r["satellite"] == row["satellite"] and r["t_start"] == midnight)
        assert (before["t_start"], after["t_end"]) == (row["t_start"], row["t_end"])
        assert before["az_end"] == pytest.approx(after["az_start"], abs=0.01)
        assert before["minutes"] + after["minutes"] == pytest.approx(row["minutes"], abs=0.02)
    times = [r[name] for r in both for name in ("t_start", "t_end")]
    assert min(times) == "2026-06-01T00:00:00Z" and max(times) == "2026-06-03T00:00:00Z"


@pytest.mark.parametrize("zone", ["UTC", "Pacific/Auckland", "America/Anchorage"])
def test_a_date_is_utc_whatever_the_machine_s_time_zone(zone, monkeypatch):
    wanted = rows(arcs(DATE="2026-06-01T00:00:00Z"))
    monkeypatch.setenv("TZ", zone)
    time.tzset()
    try:
        utc = QDateTime.fromString("2026-06-01T00:00:00", Qt.DateFormat.ISODate)
        offset = QDateTime.fromString("2026-06-01T03:00:00+03:00", Qt.DateFormat.ISODate)
        for date in ("2026-06-01", "2026-06-01T00:00:00", "2026-06-01T02:00:00+02:00", "2026-05-31T17:30:00-06:30",
                     utc, offset):
            assert rows(arcs(DATE=date)) == wanted
        assert rows(arcs()) == wanted
    finally:
        monkeypatch.undo()
        time.tzset()


@pytest.mark.parametrize("crs, x, y, half_world, there", [
    ("EPSG:4326", 180.0, 10.0, 180.0, "EPSG:32660"), ("EPSG:4326", -179.9994, -40.0, 180.0, "EPSG:32701"),
    ("EPSG:3857", 20037500.0, 5.0e6, 20037508.342789244, "EPSG:32660")])
def test_across_180_degrees_lines_are_split_and_nothing_is_lost(crs, x, y, half_world, there):
    layer = arcs(x, y, crs)
    assert layer.wkbType() == QgsWkbTypes.Type.MultiLineString
    moved = Transformer.from_crs(crs, there, always_xy=True).transform(x, y)
    plain = [f.geometry() for f in arcs(*moved, there).getFeatures()]
    scale = Transformer.from_crs(crs, "EPSG:4326", always_xy=True)
    back = Transformer.from_crs(there, "EPSG:4326", always_xy=True)
    split = 0
    for feature, other in zip(layer.getFeatures(), plain):
        parts = [np.array([[v.x(), v.y()] for v in part]) for part in feature.geometry().asMultiPolyline()]
        lengths = [GEOD.line_length(*scale.transform(*part.T)) for part in parts]
        whole = np.array([[v.x(), v.y()] for v in other.vertices()])
        assert sum(lengths) == pytest.approx(GEOD.line_length(*back.transform(*whole.T)), abs=0.05)
        for part in parts:
            assert len(part) >= 2 and np.abs(part[:, 0]).max() <= half_world * (1 + 1e-9)
            assert np.ptp(part[:, 0]) < half_world / 100
        for one, next_one in zip(parts, parts[1:]):
            assert one[-1, 0] == pytest.approx(-next_one[0, 0]) and abs(one[-1, 0]) == pytest.approx(half_world)
            assert one[-1, 1] == pytest.approx(next_one[0, 1])
        split += len(parts) > 1
    assert split >= 2


def test_a_line_is_split_where_it_meets_the_edge_in_its_own_order():
    x = np.array([179.0, 180.0, 181.0, 179.5, 170.0, 180.0, 10.0, 20.0])
    shapes = lines(x, np.arange(8.0), np.array([0, 4, 6, 8]), True, (-180.0, 180.0))
    assert [s.asWkt(2) for s in shapes] == [
        "MultiLineString ((179 0, 180 1),(-180 1, -179 2, -180 2.67),(180 2.67, 179.5 3))",
        "MultiLineString ((170 4, 180 5))", "MultiLineString ((10 6, 20 7))"]
    assert all(isinstance(s, QgsGeometry) for s in shapes)


def test_at_the_pole_azimuths_count_from_a_meridian_and_that_is_told():
    feedback = Feedback()
    layer = arcs(0.0, 0.0, "EPSG:3995", feedback, CONSTELLATIONS=["GLONASS"], MAX_ELEVATION=40)
    assert "At a pole: “1”" in "\n".join(feedback.warnings) and "meridian" in feedback.log
    features = list(layer.getFeatures())
    assert len(features) > 40
    for feature in features[::5]:
        # in the arctic stereographic the meridian of 0° runs down the map, and a bearing is an angle on the map
        first = next(feature.geometry().vertices())
        assert turn(np.degrees(np.arctan2(first.x(), first.y())), feature["az_start"]) < 0.01
    feedback = Feedback()
    table = rows(arcs(25.0, 90.0, "EPSG:4326", feedback, CONSTELLATIONS=["GLONASS"]))
    assert len(table) > 40 and "At a pole" in feedback.log


def test_the_height_counts_from_the_zero_level_and_sets_the_interval(tmp_path):
    dem = raster(tmp_path / "dem.tif", np.full((100, 100), 7.0, np.float32), cell=20)
    sites = points((500300, 4982000))
    table = rows(run("skyarcs", INPUT=sites, ANTENNA_HEIGHT=4, HEIGHT_REFERENCE="ground", DEM=dem, SURFACE_LEVEL=1,
                     CONSTELLATIONS=["GPS"])["OUTPUT"])
    same = rows(run("skyarcs", INPUT=sites, ANTENNA_HEIGHT=10, CONSTELLATIONS=["GPS"])["OUTPUT"])
    assert table == same
    half = rows(run("skyarcs", INPUT=sites, ANTENNA_HEIGHT=20, CONSTELLATIONS=["GPS"])["OUTPUT"])
    assert column(half, "int_max_s") * 2 == pytest.approx(column(same, "int_max_s"), rel=1e-5)
    # the wave of GPS L5 is longer by 1575.42/1176.45 (IS-GPS-200, IS-GPS-705)
    longer = rows(run("skyarcs", INPUT=sites, ANTENNA_HEIGHT=10, CONSTELLATIONS=["GPS"], SIGNAL="GPS L5")["OUTPUT"])
    assert column(longer, "int_max_s") == pytest.approx(column(same, "int_max_s") * 1575.42 / 1176.45, rel=1e-5)


def test_never_low_in_the_north_at_45_degrees():
    """Common practice, no source: up to about 49° N GPS never comes low in the north."""
    table = rows(arcs(DAYS=3))
    azimuth = np.concatenate([column(table, "az_start"), column(table, "az_end")])
    assert turn(azimuth, 0.0).min() > 20


@pytest.mark.parametrize("parameters, words", [
    ({"CONSTELLATIONS": []}, "CONSTELLATIONS"), ({"CONSTELLATIONS": ["QZSS"]}, "Give its real orbits in ORBITS"),
    ({"CONSTELLATIONS": ["GPS", "Iridium"]}, "CONSTELLATIONS"), ({"MIN_ELEVATION": -1}, "MIN_ELEVATION"),
    ({"MIN_ELEVATION": 0}, "MIN_ELEVATION is 0°"), ({"MIN_ELEVATION": 90, "MAX_ELEVATION": 90}, "less than"),
    ({"MIN_ELEVATION": 30}, "MIN_ELEVATION (30°) must be less than MAX_ELEVATION (20°)"),
    ({"MAX_ELEVATION": 91}, "MAX_ELEVATION cannot be “91”"), ({"DAYS": 0}, "DAYS"), ({"DAYS": 9999}, "DAYS is 9999"),
    ({"DATE": "yesterday"}, "DATE"), ({"ORBITS": "/no/such/file.tle"}, "/no/such/file.tle"),
    ({"ELEVATION_STEP": 1}, "Unknown parameter ELEVATION_STEP"), ({"SIGNAL": "GPS L9"}, "SIGNAL")])
def test_a_bad_setting_is_refused_by_name(parameters, words, tmp_path):
    site = points((LON, LAT), crs="EPSG:4326")
    assert words in refusal("skyarcs", INPUT=site, OUTPUT=str(tmp_path / "o.gpkg"), **parameters)
    assert list(tmp_path.iterdir()) == []


def test_candidates_that_cannot_be_looked_at_are_named():
    sites = points((500300, 4982000), None, (500400, 4982000), fields="name:string(9)|h:double",
                   rows=[["good", 5], ["empty", 5], ["sunk", -1]])
    feedback = Feedback()
    table = rows(run("skyarcs", feedback, INPUT=sites, SITE_FIELD="name", HEIGHT_FIELD="h")["OUTPUT"])
    assert {r["site"] for r in table} == {"good"}
    for text in ("“empty” is not assessed: it has no geometry", "“sunk”", "2 of 3 candidates"):
        assert text in feedback.log


def test_a_site_without_arcs_is_named():
    feedback = Feedback()
    assert rows(arcs(MIN_ELEVATION=89.9, MAX_ELEVATION=90, feedback=feedback)) == []
    assert "No satellite passes between 89.9 and 90° over 1 of 1 candidates: “1”" in "\n".join(feedback.warnings)


@pytest.mark.parametrize("percent", [0, 5, 50])
@pytest.mark.parametrize("name", ["out.gpkg", "out.shp"])
def test_cancel_leaves_nothing(name, percent, tmp_path):
    feedback = Feedback(cancel_at=percent)
    many = points(*[(500300 + i, 4982000) for i in range(60)])
    assert run("skyarcs", feedback, INPUT=many, OUTPUT=str(tmp_path / name)) == {}
    assert "Cancelled; nothing was written." in feedback.log and list(tmp_path.iterdir()) == []
    assert max(feedback.progress) < percent + 10 and feedback.progress == sorted(feedback.progress)


def test_a_shapefile_holds_the_same(tmp_path):
    layer = arcs()
    table = rows(arcs(OUTPUT=str(tmp_path / "arcs.shp")))
    for read, wanted in zip(table, rows(layer)):
        assert list(read) == FIELDS
        assert [read[n] for n in FIELDS[:5]] == [wanted[n] for n in FIELDS[:5]]
        assert str(read["rising"]).lower() in (str(wanted["rising"]).lower(), str(int(wanted["rising"])))
        assert [read[n] for n in FIELDS[6:]] == pytest.approx([wanted[n] for n in FIELDS[6:]])


@pytest.mark.skipif(shutil.which("qgis_process") is None, reason="this QGIS brings no qgis_process")
def test_qgis_process_gives_the_same(tmp_path):
    source, target = tmp_path / "site.csv.geojson", tmp_path / "out.gpkg"
    source.write_text('{"type": "FeatureCollection", "features": [{"type": "Feature", "properties": {}, "geometry": '
                      '{"type": "Point", "coordinates": [-39.0, 45.0]}}]}')
    done = subprocess.run(
        [str(Path(__file__).resolve().parents[2] / "headless"), "run", "stillwater:skyarcs", "--", f"INPUT={source}",
         "ANTENNA_HEIGHT=10", "CONSTELLATIONS=GPS,Galileo", "DATE=2026-06-01T02:00:00+02:00", f"OUTPUT={target}"],
        capture_output=True, text=True, timeout=120, stdin=subprocess.DEVNULL)
    assert done.returncode == 0, done.stdout + done.stderr
    wanted = rows(arcs(CONSTELLATIONS=["GPS", "Galileo"]))
    table = rows(target)
    assert [(r["satellite"], r["t_start"], r["rising"]) for r in table] == [
        (r["satellite"], r["t_start"], r["rising"]) for r in wanted]
    assert read_date(table[0]["t_start"]) == read_date("2026-06-01")


def test_the_log_counts_the_satellites_of_each_system():
    """24 published slots of GPS with three expanded, GLONASS 3 × 8, Galileo 24/3/1, BeiDou 24 and 3 geosynchronous."""
    feedback = Feedback()
    arcs(feedback=feedback, CONSTELLATIONS=["GPS", "GLONASS", "Galileo", "BeiDou"])
    assert "102 satellites (GPS 27, GLONASS 24, Galileo 24, BeiDou 27) from 2026-06-01T00:00:00Z" in feedback.log


def test_an_orbit_file_with_satellites_out_of_service_is_told(tmp_path):
    """37 satellites of GPS, where at most 36 are in service."""
    lines = []
    for number in range(1, 38):
        one = samples.Elements(number, number * 9.0, 10.0, 20.0, 0.005)
        lines += [f"NAVSTAR {number}", *samples.two_lines(one)]
    path = tmp_path / "all.txt"
    path.write_text("\n".join(lines) + "\n")
    feedback = Feedback()
    arcs(feedback=feedback, ORBITS=str(path))
    assert "37 satellites (GPS 37)" in feedback.log
    told, = [text for text in feedback.warnings if "out of service" in text]
    assert "“all.txt” holds 37 of GPS" in told and "leave the system out of CONSTELLATIONS" in told
