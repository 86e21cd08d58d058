"""What hides and roughens, in `surfacequality` and `rankcandidates`: roofs, cliffs, barriers, waves, slopes, snow."""

import numpy as np
import pytest
from scenes import MIDDLE_Y, SEA_POLYGON, Feedback, column, offshore, points, polygons, raster, refusal, rows, run

pytestmark = pytest.mark.usefixtures("provider")

L1_M = 299_792_458.0 / 1575.42e6


def quality(feedback=None, **parameters):
    return rows(run("surfacequality", feedback, **{"INPUT": offshore(60), **parameters})["OUTPUT"])


def ranked(feedback=None, **parameters):
    row, = rows(run("rankcandidates", feedback, **{"INPUT": offshore(60), **parameters})["OUTPUT"])
    return row


def towards(table, azimuth):
    return min(table, key=lambda row: abs((row["az_deg"] - azimuth + 180) % 360 - 180))


def ground(path, land=1.0, cell=2.0, size=2000.0, bed=-8.0, change=None):
    """A coast as the `coast` fixture has it, as heights: land to the west, the bed to the east."""
    number = int(size / cell)
    cells = np.full((number, number), bed, np.float32)
    cells[:, :number // 2] = land
    if change is not None:
        change(cells)
    return raster(path, cells, cell=cell)


def test_open_water_hides_nothing(tmp_path, coast):
    dem = ground(tmp_path / "dem.tif")
    table = quality(INPUT=offshore(400), DEM=dem, DEM_WATER="bed", HEIGHT_REFERENCE="surface", **coast)
    assert max(row["hidden"] for row in table) < 0.001
    assert min(row["usable"] for row in table) > 0.999


def test_a_barrier_in_front_hides_the_water_behind_it(coast):
    """A wall of 4 m, 10 m east of an antenna of 6 m: water is hidden to 10 × 6/(6 − 4) = 30 m."""
    wall = polygons(f"POLYGON((500410 {MIDDLE_Y - 100},500411 {MIDDLE_Y - 100},500411 {MIDDLE_Y + 100},"
                    f"500410 {MIDDLE_Y + 100},500410 {MIDDLE_Y - 100}))", fields="name:string(9)|height:double",
                    rows=[["wall", 4.0]])
    parameters = dict(INPUT=offshore(400), ANTENNA_HEIGHT=6.0, BARRIERS=wall, BARRIER_HEIGHT="height", **coast)
    result = run("surfacequality", DETAIL="TEMPORARY_OUTPUT", **parameters)
    east = [row for row in rows(result["DETAIL"]) if row["az_deg"] == 92.5]
    hidden = {row["el_deg"]: row["hidden"] for row in east}
    # the wall's own skyline is below 0, so only what it hides counts: 20° reflects 9 to 23 m out, 5° from 31 m on
    assert hidden[20.0] > 0.9 and hidden[5.0] < 0.12
    assert towards(rows(result["OUTPUT"]), 270)["hidden"] < 0.001
    assert "hidden by" in towards(rows(result["OUTPUT"]), 90)["reason"]


def test_a_cliff_behind_the_water_shuts_the_satellite_out(tmp_path, coast):
    """A cliff of 60 m, 200 m east: its foot stands at 200 m, its top at atan(54/200) = 15.1° over the antenna."""
    def cliff(cells):
        cells[:, 630:] = 60.0  # 260 m east of the shore, 200 m of the antenna
    dem = ground(tmp_path / "dem.tif", change=cliff)
    parameters = dict(DEM=dem, DEM_WATER="bed", ANTENNA_HEIGHT=6.0, MAX_ELEVATION=25, **coast)
    table = quality(**parameters)
    east = towards(table, 90)
    assert "skyline 1" in east["reason"] and "hides the satellites from 5 to" in east["reason"]
    assert east["el_from"] is None or east["el_from"] >= 15
    assert ranked(**parameters)["quality"] < ranked(ANTENNA_HEIGHT=6.0, MAX_ELEVATION=25, **coast)["quality"] - 0.1


def test_a_roof_hides_the_water_below_its_edge(tmp_path, coast):
    """From the middle of a roof of 12 m, 30 m to each edge, 2 m over it, the water begins 30 × 14/2 = 210 m out."""
    def roof(cells):
        cells[485:515, 515:545] = 12.0
    dem = ground(tmp_path / "dem.tif", change=roof)
    centre = dict(INPUT=offshore(60), DEM=dem, DEM_WATER="bed", ANTENNA_HEIGHT=2.0, HEIGHT_REFERENCE="ground",
                  MIN_ELEVATION=3, **coast)
    corner = {**centre, "INPUT": offshore(88)}
    middle, edge = ranked(**centre), ranked(**corner)
    assert middle["az_span"] == 0 and edge["az_span"] > 90
    assert "which hides what lies behind it" in middle["limit_by"]
    assert middle["advice"].startswith("raise it or move it")


@pytest.mark.parametrize("waves, loss", [(0.5, {5: 2.10, 10: 6.77, 20: 13.66})])
def test_waves_cost_what_the_formula_says(coast, waves, loss):
    """Miller, Brown and Vegh 1984 (from memory), with a quarter of the wave height as rms (AMS Glossary)."""
    detail = rows(run("surfacequality", INPUT=offshore(400), WAVE_HEIGHT=waves, DETAIL="TEMPORARY_OUTPUT", **coast
                      )["DETAIL"])
    for angle, expected in loss.items():
        mine = [row for row in detail if row["el_deg"] == angle]
        assert {round(row["loss_db"], 2) for row in mine} == {expected}
        assert column(mine, "rough_m") == pytest.approx(waves / 4)
        assert {row["tilt_deg"] for row in mine} == {None}


def test_what_the_sea_returns_is_told_and_falls_with_the_angle(coast):
    """Handbook table of sea reflection at 1.5 GHz (Goldhirsh and Vogel): −5.39 dB at 5°, −8.92 dB at 10°; its sea is
    another than ours by some tenths."""
    feedback = Feedback()
    detail = rows(run("surfacequality", feedback, INPUT=offshore(400), DETAIL="TEMPORARY_OUTPUT", **coast)["DETAIL"])
    returns = {row["el_deg"]: row["return_db"] for row in detail}
    assert returns[5.0] == pytest.approx(-5.39, abs=0.5) and returns[10.0] == pytest.approx(-8.92, abs=0.5)
    assert "What sea returns when smooth" in feedback.log


def test_waves_weaken_arcs_and_end_no_window(coast):
    """What is lost to roughness is lost of the amplitude: noise grows by as much, until no peak is clear any more."""
    table, calm = (quality(INPUT=offshore(400), **given, **coast) for given in ({"WAVE_HEIGHT": 0.5}, {}))
    assert {(row["el_to"], row["reason"]) for row in table + calm} == {(20.0, "")}
    assert table[0]["usable"] == pytest.approx(calm[0]["usable"], abs=1e-6)
    found = [ranked(INPUT=offshore(400), WAVE_HEIGHT=waves, INTERVAL=15, **coast) for waves in (0.0, 0.5, 1.0, 3.0)]
    noise, score = column(found, "noise_cm"), column(found, "score")
    assert (np.diff(noise[:3]) > 0).all() and (np.diff(score) < 0).all()
    # losses of 2.1 dB at 5° and 13.7 dB at 20°: between them lies what the noise grows by
    assert 10**(2.1 / 20) < noise[1] / noise[0] < 10**(13.7 / 20)
    assert found[0]["verdict"] == "suitable" and found[3]["verdict"] == "unsuitable" and found[3]["arcs_day"] == 0
    assert "waves of 3.00 m" in found[3]["limit_by"] and "find shelter" in found[3]["advice"]


def test_without_a_wave_height_the_roughness_is_not_known(coast):
    detail = rows(run("surfacequality", INPUT=offshore(400), DETAIL="TEMPORARY_OUTPUT", **coast)["DETAIL"])
    assert {(row["rough_m"], row["loss_db"]) for row in detail} == {(None, None)}
    feedback = Feedback()
    quality(feedback, INPUT=offshore(400), **coast)
    assert "waves (no wave height is given)" in feedback.log and "line of sight and terrain" in feedback.log


def test_each_water_polygon_may_have_its_own_waves():
    """A sheltered basin to the north, surf to the south; the candidates' own where a polygon has none."""
    north = "POLYGON((499500 4982000,501500 4982000,501500 4983000,499500 4983000,499500 4982000))"
    south = "POLYGON((499500 4981000,501500 4981000,501500 4982000,499500 4982000,499500 4981000))"
    water = polygons(north, south, fields="name:string(9)|wave:double", rows=[["basin", 0.0], ["surf", 1.5]])

    def losses(**given):
        detail = rows(run("surfacequality", INPUT=offshore(400), DETAIL="TEMPORARY_OUTPUT", WATER_WAVE="wave", **given)
                      ["DETAIL"])
        return [next(r["loss_db"] for r in detail if abs(r["az_deg"] - azimuth) < 3 and r["el_deg"] == 10)
                for azimuth in (0, 180)]

    calm, surf = losses(WATER=water)
    assert calm == 0.0 and surf > 10.0
    unknown = polygons(north, south, fields="name:string(9)|wave:double", rows=[["basin", 0.0], ["surf", None]])
    assert losses(WATER=unknown, WAVE_HEIGHT=0.5) == [0.0, pytest.approx(6.77, abs=0.01)]


def test_each_candidate_may_have_its_own_waves(coast):
    sites = points((500_400, MIDDLE_Y), (500_410, MIDDLE_Y), fields="name:string(9)|wave:double",
                   rows=[["calm", 0.0], ["surf", 0.5]])
    table = {row["site"]: row for row in rows(run("rankcandidates", INPUT=sites, SITE_FIELD="name", WAVE_FIELD="wave",
                                                  INTERVAL=15, **coast)["OUTPUT"])}
    assert table["surf"]["noise_cm"] > 1.5 * table["calm"]["noise_cm"]
    assert table["calm"]["rank"] == 1 and "waves of 0.50 m" not in table["calm"]["limit_by"]


def plane(path, tilt_deg, towards_deg, noise=0.0, cell=1.0):
    """Ground that falls towards an azimuth."""
    index = (np.arange(1000) + 0.5) * cell
    east, north = np.meshgrid(index - 500, 500 - index)
    azimuth = np.radians(towards_deg)
    height = 100 - np.tan(np.radians(tilt_deg)) * (east * np.sin(azimuth) + north * np.cos(azimuth))
    height += np.random.default_rng(1).normal(0, noise, height.shape) if noise else 0.0
    return raster(path, height.astype(np.float32), west=500_000, north=MIDDLE_Y + 500, cell=cell)


def test_tilt_and_roughness_of_snow_are_those_of_the_ground(tmp_path):
    smooth = plane(tmp_path / "smooth.tif", 4.0, 90, noise=0.005)
    detail = rows(run("surfacequality", INPUT=points((500_500, MIDDLE_Y)), PURPOSE="snow depth", DEM=smooth,
                      DETAIL="TEMPORARY_OUTPUT", MAX_ELEVATION=12, AZIMUTH_STEP=45)["DETAIL"])
    # uphill, and only there, the lowest footprint lies farther out than is looked: not known, rather than a guess
    unknown = [(row["az_deg"], row["el_deg"]) for row in detail if row["tilt_deg"] is None]
    assert unknown == [(247.5, 5.0), (292.5, 5.0)]
    detail = [row for row in detail if row["tilt_deg"] is not None]
    assert column(detail, "tilt_deg") == pytest.approx(4.0, abs=0.1)
    assert set(column(detail, "rough_m")) == {0.0}, "smoother than the DEM's noise"
    dem = plane(tmp_path / "dem.tif", 4.0, 90, noise=0.15)
    detail = rows(run("surfacequality", INPUT=points((500_500, MIDDLE_Y)), PURPOSE="snow depth", DEM=dem,
                      DETAIL="TEMPORARY_OUTPUT", MAX_ELEVATION=12, AZIMUTH_STEP=45)["DETAIL"])
    # sqrt(0.15² − 0.1²): the DEM's own noise is taken off
    assert np.nanmedian(column(detail, "rough_m")) == pytest.approx(np.sqrt(0.15**2 - 0.1**2), rel=0.1)
    loss = column([row for row in detail if row["loss_db"] is not None], "loss_db")
    assert len(loss) == len(detail) - 2 and (loss > 0).all()


def test_too_few_cells_give_null(tmp_path):
    dem = plane(tmp_path / "dem.tif", 0.0, 0, cell=25.0)
    detail = rows(run("surfacequality", INPUT=points((512_500, MIDDLE_Y - 12_000)), PURPOSE="snow depth", DEM=dem,
                      ANTENNA_HEIGHT=3, DETAIL="TEMPORARY_OUTPUT", MIN_ELEVATION=15, AZIMUTH_STEP=45)["DETAIL"])
    assert {(row["tilt_deg"], row["rough_m"], row["loss_db"]) for row in detail} == {(None, None, None)}


def test_snow_must_be_good_bare_and_covered(tmp_path):
    """The mast is high enough over bare ground, but not over the snow: 1 m (common practice, no source)."""
    dem = plane(tmp_path / "dem.tif", 0.0, 0)
    bare = ranked(INPUT=points((500_500, MIDDLE_Y)), PURPOSE="snow depth", DEM=dem, ANTENNA_HEIGHT=3)
    assert bare["verdict"] == "suitable"
    deep = ranked(INPUT=points((500_500, MIDDLE_Y)), PURPOSE="snow depth", DEM=dem, ANTENNA_HEIGHT=3, LEVEL_HIGH=2.5)
    assert deep["verdict"] == "unsuitable"
    assert deep["limit_by"] == "clearance: 0.50 m over the highest level (1 m needed)"
    assert ranked(INPUT=points((500_500, MIDDLE_Y)), PURPOSE="snow depth", DEM=dem, ANTENNA_HEIGHT=3, LEVEL_HIGH=2.5,
                  MIN_CLEARANCE=0.2)["limit_by"] != deep["limit_by"]


def test_a_pier_deck_at_nearly_the_water_s_height_is_named(tmp_path, coast):
    """A deck 0.6 m over the water takes the high angles, and the window left tells no less than that apart."""
    def deck(cells):
        cells[:, 522:529] = 0.6  # 4 to 18 m east of the antenna
    dem = ground(tmp_path / "dem.tif", change=deck)
    cover = np.full((1000, 1000), 80, np.uint8)
    cover[:, :500] = 10
    cover[:, 522:529] = 33
    table = quality(INPUT=offshore(40), LANDCOVER=raster(tmp_path / "cover.tif", cover), TARGET_CLASSES="80", DEM=dem,
                    DEM_WATER="bed")
    east = towards(table, 90)
    assert east["el_to"] is not None
    assert "0.6 m higher fills" in east["reason"] and "this window tells apart" in east["reason"]


@pytest.mark.parametrize("wrong, words", [
    ({"WAVE_HEIGHT": -1}, ["WAVE_HEIGHT"]),
    ({"MAX_LOSS": -1}, ["MAX_LOSS"]), ({"DEM_NOISE": -1}, ["DEM_NOISE"]),
    ({"LEVEL_LOW": 2, "LEVEL_HIGH": 1}, ["LEVEL_LOW", "LEVEL_HIGH"]),
    ({"MAX_DISTANCE": 0, "BARRIERS": SEA_POLYGON}, ["MAX_DISTANCE"])])
@pytest.mark.parametrize("algorithm", ["surfacequality", "rankcandidates"])
def test_wrong_numbers_are_refused(coast, algorithm, wrong, words):
    wrong = {name: polygons(value) if name == "BARRIERS" else value for name, value in wrong.items()}
    text = refusal(algorithm, INPUT=offshore(400), **{**coast, **wrong})
    for word in words:
        assert word in text


def test_a_negative_wave_height_is_named(coast):
    sites = points((500_400, MIDDLE_Y), (500_410, MIDDLE_Y), fields="name:string(9)|wave:double",
                   rows=[["calm", 0.0], ["wrong", -0.5]])
    feedback = Feedback()
    run("surfacequality", feedback, INPUT=sites, SITE_FIELD="name", WAVE_FIELD="wave", **coast)
    assert any("“wrong”" in text and "wave height" in text for text in feedback.warnings)
    water = polygons(SEA_POLYGON, fields="name:string(9)|wave:double", rows=[["sea", -1.0]])
    text = refusal("surfacequality", INPUT=offshore(400), WATER=water, WATER_WAVE="wave")
    assert "WATER" in text and "feature 1" in text and "wave height" in text


@pytest.mark.parametrize("height", [None, -2.0])
def test_a_barrier_without_a_height_is_named(coast, height):
    wall = polygons(SEA_POLYGON, fields="name:string(9)|height:double", rows=[["wall", height]])
    text = refusal("rankcandidates", INPUT=offshore(400), BARRIERS=wall, BARRIER_HEIGHT="height", **coast)
    assert "BARRIERS" in text and "feature 1" in text and "height" in text
    assert "BARRIER_HEIGHT" in refusal("rankcandidates", INPUT=offshore(400), BARRIERS=wall, **coast)


def test_an_antenna_below_the_ground_is_named(tmp_path, coast):
    dem = ground(tmp_path / "dem.tif", land=9.0)
    text = refusal("rankcandidates", INPUT=offshore(-20), DEM=dem, ANTENNA_HEIGHT=5, **coast)
    assert "4.00 m below the ground" in text


@pytest.mark.parametrize("algorithm", ["surfacequality", "rankcandidates"])
def test_a_dem_that_ends_too_soon_is_told_by_azimuth(tmp_path, coast, algorithm):
    feedback = Feedback()
    dem = ground(tmp_path / "dem.tif")
    run(algorithm, feedback, INPUT=offshore(400), DEM=dem, DEM_WATER="bed", **coast)
    said, = [text for text in feedback.warnings if "end before MAX_DISTANCE" in text]
    assert "all around" in said and "from 6" in said and "Give DEM_FAR" in said  # 600 m to the eastern rim
    feedback = Feedback()
    run(algorithm, feedback, INPUT=offshore(400), DEM=dem, DEM_WATER="bed", MAX_DISTANCE=500, **coast)
    assert not any("MAX_DISTANCE" in text for text in feedback.warnings)


def test_a_site_on_a_cell_without_data(tmp_path, coast):
    def hole(cells):
        cells[495:505, 525:535] = np.nan
    dem = ground(tmp_path / "dem.tif", change=hole)
    feedback = Feedback()
    row = ranked(feedback, DEM=dem, **coast)
    assert row["verdict"] != "not assessed"
    assert "no data at the very site" in feedback.log
    text = refusal("rankcandidates", INPUT=offshore(60), DEM=dem, PURPOSE="snow depth")
    assert "no data at the site" in text


def test_an_antenna_under_water_at_the_highest_level(coast):
    text = refusal("rankcandidates", INPUT=offshore(400), ANTENNA_HEIGHT=2, LEVEL_HIGH=3, **coast)
    assert "under the surface" in text
