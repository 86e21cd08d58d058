"""What the satellites add to `rankcandidates`: arcs, gaps, intervals, and what is said of them."""

import numpy as np
import pytest
from scenes import Feedback, offshore, points, polygons, refusal, rows, run

pytestmark = pytest.mark.usefixtures("provider")


def ring(first, last, x=500_500.0, y=4_982_000.0, radius=400.0):
    """Water seen from (x, y) between two azimuths only."""
    azimuth = np.radians(np.linspace(first, last, 40))
    corners = [(x, y), *zip(x + radius * np.sin(azimuth), y + radius * np.cos(azimuth)), (x, y)]
    return polygons("POLYGON((" + ",".join(f"{a:.3f} {b:.3f}" for a, b in corners) + "))")


def site(**options):
    return points((500_500, 4_982_000), rows=[["here"]], **options)


def ranked(feedback=None, **parameters):
    row, = rows(run("rankcandidates", feedback, SITE_FIELD="name", **{"INPUT": site(), **parameters})["OUTPUT"])
    return row


def test_open_water_has_many_arcs_and_no_long_gap(coast):
    row = ranked(INPUT=offshore(500), **coast)
    assert row["arcs_day"] > 100 and 0 < row["gap_h"] < 3
    # 5 m and L1: some 30 s (common practice, no source: 30 s will do below 10 m)
    assert 20 < row["int_max_s"] < 100 and row["int_rec_s"] in (15, 30)
    assert f"from {row['arcs_day']:.0f} arcs a day; log every {row['int_rec_s']:g} s (at most" in row["advice"]


def test_fewer_systems_give_fewer_arcs(coast):
    counts = {system: ranked(INPUT=offshore(500), CONSTELLATIONS=[system], **coast)["arcs_day"]
              for system in ("GPS", "GLONASS", "Galileo", "BeiDou")}
    together = ranked(INPUT=offshore(500), **coast)["arcs_day"]
    assert min(counts.values()) > 20
    assert together == sum(counts.values())


def test_perfect_water_in_the_north_is_limited_by_an_empty_sky():
    """Common practice, no source: up to about 49° N GPS never comes low in the north."""
    row = ranked(WATER=ring(-30, 30), CONSTELLATIONS=["GPS"])
    assert row["quality"] > 0.9 and row["az_span"] > 15
    assert row["verdict"] == "unsuitable" and row["arcs_day"] == 0
    assert row["gap_h"] is None and row["int_max_s"] is None and row["int_rec_s"] is None
    assert "no satellite crosses the usable angles of 5 to 20°" in row["limit_by"]
    assert row["advice"].startswith("no arc counts: no satellite crosses")
    south = ranked(WATER=ring(150, 210), CONSTELLATIONS=["GPS"])
    assert south["verdict"] != "unsuitable" and south["arcs_day"] > 8


@pytest.mark.parametrize("purpose, needs_gap", [("sea level", True), ("lake level", False)])
def test_for_a_lake_a_daily_value_will_do(purpose, needs_gap):
    """One narrow sector: a few arcs of GPS a day, hours apart."""
    row = ranked(WATER=ring(115, 145), CONSTELLATIONS=["GPS"], PURPOSE=purpose, PRECISION=5)
    assert 3 <= row["arcs_day"] <= 8 and row["gap_h"] > 5
    if needs_gap:
        # at most times no arc is near enough: what is known then is how far the sea strays, 30 cm
        assert row["verdict"] == "unsuitable" and row["height_cm"] == pytest.approx(30.0)
        assert f"{row['gap_h']:.1f} h without an arc (a value every 3 h is wanted)" in row["limit_by"]
    else:
        # errors of 5 cm, four arcs in any day at least
        assert row["verdict"] == "suitable" and row["height_cm"] == pytest.approx(5.03 / 4**0.5, rel=0.15)


def test_a_higher_antenna_must_be_logged_faster(coast):
    low, high = (ranked(INPUT=offshore(500), ANTENNA_HEIGHT=h, **coast) for h in (5, 50))
    assert low["int_max_s"] == pytest.approx(10 * high["int_max_s"], rel=0.05)
    slow = ranked(INPUT=offshore(500), ANTENNA_HEIGHT=50, INTERVAL=15, **coast)
    assert slow["verdict"] == "unsuitable"
    # arcs that are not resolved do not count, the others do
    assert 0 < slow["arcs_day"] < 0.1 * high["arcs_day"]
    assert slow["limit_by"].startswith("logging every 15 s (") and "arcs too fast for it" in slow["limit_by"]
    assert slow["advice"].startswith(f"log faster: {high['int_max_s']:.2g} s resolves every arc")
    assert "the receiver's shortest is 15 s" in slow["advice"]


def test_the_tide_shortens_the_interval_and_shifts_arcs(coast):
    feedback = Feedback()
    still = ranked(INPUT=offshore(500), LEVEL_LOW=0, LEVEL_HIGH=0, ANTENNA_HEIGHT=8, **coast)
    tidal = ranked(feedback, INPUT=offshore(500), LEVEL_LOW=0, LEVEL_HIGH=4, ANTENNA_HEIGHT=8, **coast)
    lake = ranked(INPUT=offshore(500), LEVEL_LOW=0, LEVEL_HIGH=4, ANTENNA_HEIGHT=8, PURPOSE="lake level", **coast)
    assert tidal["int_max_s"] < still["int_max_s"]
    assert tidal["tide_err_m"] > 0.1 and still["tide_err_m"] == 0.0 == lake["tide_err_m"]
    assert "rising ones by up to" in feedback.log and "to opposite sides" in feedback.log
    assert f"only with tide-rate correction (the tide shifts single arcs by up to {tidal['tide_err_m']:.2f} m)" in (
        tidal["advice"])
    assert "tide-rate" not in still["advice"] and "tide-rate" not in lake["advice"]


def test_sea_level_without_levels_says_that_no_tide_was_looked_at(coast, tmp_path):
    page, feedback = tmp_path / "page.html", Feedback()
    ranked(feedback, INPUT=offshore(500), OUTPUT_HTML=str(page), **coast)
    told = "the tide (LEVEL_LOW and LEVEL_HIGH are both 0)"
    assert told in feedback.log and told in page.read_text(encoding="utf-8")
    for given in ({"LEVEL_HIGH": 1.0}, {"PURPOSE": "lake level"}):
        feedback = Feedback()
        ranked(feedback, INPUT=offshore(500), **given, **coast)
        assert told not in feedback.log


def test_the_worst_day_counts(coast):
    days = [ranked(INPUT=offshore(500), CONSTELLATIONS=["GLONASS"], DATE=f"2026-06-0{n}T00:00:00", **coast)["arcs_day"]
            for n in (1, 2, 3)]
    worst = ranked(INPUT=offshore(500), CONSTELLATIONS=["GLONASS"], DAYS=3, **coast)["arcs_day"]
    assert worst == min(days)


def test_a_date_with_an_offset_is_converted(coast):
    utc = ranked(INPUT=offshore(500), CONSTELLATIONS=["GPS"], DATE="2026-06-01T12:00:00Z", **coast)
    there = ranked(INPUT=offshore(500), CONSTELLATIONS=["GPS"], DATE="2026-06-01T21:00:00+09:00", **coast)
    assert (utc["arcs_day"], utc["gap_h"], utc["int_max_s"]) == (there["arcs_day"], there["gap_h"], there["int_max_s"])


def test_the_page_says_which_satellites_and_that_the_clock_is_indicative(coast, tmp_path):
    page = tmp_path / "page.html"
    run("rankcandidates", INPUT=offshore(500), OUTPUT_HTML=str(page), **coast)
    text = page.read_text(encoding="utf-8")
    assert "102 of GPS, GLONASS, Galileo, BeiDou" in text and "clock times are indicative" in text
    assert "Arcs<br>a day" in text and "Longest<br>gap [h]" in text


@pytest.mark.parametrize("wrong, words", [
    ({"CONSTELLATIONS": ["QZSS"]}, ["QZSS", "ORBITS"]),
    ({"CONSTELLATIONS": []}, ["CONSTELLATIONS"]),
    ({"DAYS": 0}, ["DAYS"]), ({"DAYS": 4000}, ["DAYS", "at most"]),
    ({"DATE": "yesterday"}, ["DATE"]),
    ({"INTERVAL": 0}, ["INTERVAL"]),
    ({"ORBITS": "/nowhere/at/all.tle"}, ["ORBITS"]),
    ({"MIN_ELEVATION": -1}, ["MIN_ELEVATION"]), ({"MIN_ELEVATION": 90, "MAX_ELEVATION": 90}, ["MIN_ELEVATION"]),
    ({"PRECISION": 0}, ["PRECISION"]), ({"PRECISION": float("nan")}, ["PRECISION"]), ({"CADENCE": -3}, ["CADENCE"]),
    ({"ARC_ERROR": -1}, ["ARC_ERROR"]), ({"CN0": 5}, ["CN0"]), ({"SNR_STEP": -1}, ["SNR_STEP"]),
    ({"ANTENNA_PATTERN": "/nowhere/at/all.csv"}, ["ANTENNA_PATTERN"])])
def test_wrong_inputs_end_the_run_with_a_reason(coast, wrong, words):
    text = refusal("rankcandidates", INPUT=offshore(500), **{**coast, **wrong})
    for word in words:
        assert word in text


def test_cancel_while_positions_are_computed(coast):
    feedback = Feedback(cancel_at=1.0)
    assert not run("rankcandidates", feedback, INPUT=offshore(500), **coast)
    assert "Cancelled; nothing was written" in feedback.log and max(feedback.progress) < 10


def test_a_site_at_the_pole_is_assessed():
    """Azimuth there counts from the meridian of its longitude."""
    here = points((0.0, 90.0), crs="EPSG:4326", rows=[["pole"]])
    ice = polygons("POLYGON((-2000000 -2000000,2000000 -2000000,2000000 2000000,-2000000 2000000,-2000000 -2000000))",
                   crs="EPSG:3413")
    row, = rows(run("rankcandidates", INPUT=here, WATER=ice, PURPOSE="snow depth")["OUTPUT"])
    assert row["arcs_day"] is None or row["arcs_day"] > 20
