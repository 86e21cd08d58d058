"""What hides the surface, found and said: a pier, a skyline, a shadow and tilted ground, each where it was built."""

import re

import numpy as np
import pytest
from stillwater.siting.assess import assess
from stillwater.siting.earth import RADIO_RADIUS_M
from stillwater.siting.ground.arrayraster import ArrayRaster
from stillwater.siting.ground.classes import parse_classes
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.settings import Settings
from stillwater.siting.sight.looking import SightLayers, SightSampler
from stillwater.siting.sight.terrain import Terrain
from stillwater.siting.verdict.causes import find_causes
from stillwater.siting.verdict.walls import BEYOND, HIDDEN, SHADOW, SKYLINE, TURNED, blocked, hidden_causes
from stillwater.siting.words.hiding import blocked_words, hider_words
from stillwater.siting.words.reasons import bin_reasons
from stillwater.tests.science.shore_scenes import ANGLES, EAST, L1_M, NORTH, SETTINGS, UTM, sea, towards

HEIGHT_M, CELL, CELLS = 5.0, 1.0, 900
TO_EAST, TO_WEST = towards(95.0), towards(275.0)
PLACE = (np.arange(CELLS) + 0.5) * CELL - CELLS * CELL / 2.0
METRES_EAST, METRES_NORTH = np.meshgrid(PLACE, PLACE[::-1])


def raster(values, **options):
    """Make a raster in memory around the place."""
    half = CELLS * CELL / 2.0
    return ArrayRaster(values, (EAST - half, CELL, 0.0, NORTH + half, 0.0, -CELL), UTM, **options)


def looked_at(ground, one, layers=None, settings=SETTINGS, reach=2000.0, near=True):
    """Assess water, or what `layers` tell, with ground that may hide it."""
    dem = raster(ground.astype(np.float32))
    terrain = Terrain(dem, max_distance_m=reach, lon=[one.lon], lat=[one.lat])
    sight = SightLayers(dem if near else None, None, terrain, dem_shows_water=True)
    (_index, found), = assess([one], layers or sea(), settings, sight=sight)
    return found


# -- a pier in front ------------------------------------------------------------------------------------------------

PIER_M, PIER_HIGH_M = 12.0, 3.0


@pytest.fixture
def pier(candidate):
    """Give water with a pier of 3 m, 12 to 14 m east and 8 m long, which the land cover calls by its name."""
    is_pier = (METRES_EAST > PIER_M) & (METRES_EAST < PIER_M + 2.0) & (np.abs(METRES_NORTH) < 4.0)
    cover = raster(np.where(is_pier, 51, 80).astype(np.uint8))
    layers = SurfaceLayers(landcover=cover, classes=parse_classes("80"), class_names={51: "pier"})
    return looked_at(np.where(is_pier, PIER_HIGH_M, 0.0), candidate(HEIGHT_M), layers)


def test_a_pier_hides_the_water_to_where_the_line_over_its_top_meets_it(pier):
    """From 5 m over the water past a top of 3 m at distance d the line meets the water at d·5/(5 − 3)."""
    cause, = hidden_causes(pier, 0)
    assert (cause.name, cause.kind) == ("pier", HIDDEN)
    assert cause.out_m == pytest.approx(PIER_M, abs=2.0)
    grid = pier.kernels.grid
    columns = slice(TO_EAST * grid.rays_per_bin, (TO_EAST + 1) * grid.rays_per_bin)
    hidden = grid.radius_m[(cause.share[:, columns] > 0.5).all(axis=1)]
    step = 1.5  # a ring and a cell
    assert hidden.min() == pytest.approx(PIER_M + 2.0, abs=step)
    assert hidden.max() == pytest.approx((PIER_M + 2.0) * HEIGHT_M / (HEIGHT_M - PIER_HIGH_M), abs=2.5 * step)
    west = slice(TO_WEST * grid.rays_per_bin, (TO_WEST + 1) * grid.rays_per_bin)
    assert not cause.share[:, west].any()


def test_the_reason_names_what_hides_and_how_far_out_it_stands(pier):
    reason = bin_reasons(pier, find_causes(pier))[TO_EAST]
    match = re.match(r"hidden by pier ([\d.]+) m out from ([\d.]+) to ([\d.]+) m out takes (\d+) %", reason)
    assert match, reason
    assert float(match[1]) == pytest.approx(PIER_M, abs=2.0) and float(match[2]) >= PIER_M
    assert bin_reasons(pier, find_causes(pier))[TO_WEST] == ""


def test_on_open_water_nothing_hides(candidate):
    found = looked_at(np.zeros((CELLS, CELLS)), candidate(HEIGHT_M))
    assert hidden_causes(found, 0) == [] and blocked(found, 0, ~found.good) == []
    (_index, alone), = assess([candidate(HEIGHT_M)], sea(), SETTINGS)
    assert hidden_causes(alone, 0) == [], "and where nobody looked, nothing is told"


def test_words_of_a_hider():
    assert hider_words("pier or quay", 9.93) == "pier or quay 9.9 m out"
    assert hider_words("mole", 1234.0) == "mole 1230 m out"


# -- a hill on the horizon ------------------------------------------------------------------------------------------

HILL_M, HILL_HIGH_M = 320.0, 60.0


@pytest.fixture
def hill(candidate):
    """Give water with a ridge of 60 m across, 320 to 340 m east."""
    ridge = (METRES_EAST > HILL_M) & (METRES_EAST < HILL_M + 20.0) & (np.abs(METRES_NORTH) < 120.0)
    return looked_at(np.where(ridge, HILL_HIGH_M, 0.0), candidate(HEIGHT_M))


def test_the_skyline_is_named_with_its_angle_azimuth_and_distance(hill):
    """Towards 95° its face stands 320/cos 5° off; the Earth's curve, refraction allowed for, takes d²/2R away."""
    dist = HILL_M / np.cos(np.radians(5.0))
    angle = np.degrees(np.arctan((HILL_HIGH_M - HEIGHT_M - dist**2 / (2 * RADIO_RADIUS_M)) / dist))
    east = np.arange(SETTINGS.bins) == TO_EAST
    match = re.fullmatch(r"skyline ([\d.]+)° \(at 95°, (\d+) m off\)", blocked_words(hill, SKYLINE, east))
    assert match, blocked_words(hill, SKYLINE, east)
    assert float(match[1]) == pytest.approx(angle, abs=0.06) and float(match[2]) == pytest.approx(dist, abs=1.0)
    several = blocked_words(hill, SKYLINE, np.isin(np.arange(SETTINGS.bins), (TO_EAST, TO_EAST + 1)))
    assert several.startswith("skyline up to ")


def test_the_skyline_takes_whole_footprints_below_it_and_no_others(hill):
    bad = ~hill.good
    told = {one.kind: one.weight for one in blocked(hill, 0, bad)}
    assert told[SKYLINE][TO_WEST] == 0 and told[SKYLINE][TO_EAST] > 0
    limit = float(hill.skyline_deg[TO_EAST])
    below = np.array(ANGLES) < limit - 0.1
    assert bad[below, TO_EAST].all()
    # above it the ridge still shades some of the water
    assert hill.is_clear[~below, TO_EAST].all() and not hill.is_clear[below, TO_EAST].any()
    assert told[SKYLINE][TO_EAST] == pytest.approx(below.sum(), abs=0.01)
    reason = bin_reasons(hill, find_causes(hill))[TO_EAST]
    highest = max(angle for angle in ANGLES if angle < limit)
    assert re.search(r"skyline .* hides the satellites from 5 to (\d+)°", reason), reason
    assert int(re.search(r"5 to (\d+)°$", reason)[1]) >= highest


def test_what_stands_behind_the_water_throws_its_shadow_on_it(candidate):
    """A wall of 6 m right behind the farthest footprints: below the line from the antenna to its top the skyline hides
    the satellites; a little above it the wall still shades the water at its foot."""
    wall = (METRES_EAST > 110.0) & (METRES_EAST < 113.0)
    found = looked_at(np.where(wall, 16.0, 0.0), candidate(HEIGHT_M))
    told = {one.kind: one.weight for one in blocked(found, 0, ~found.good)}
    assert told[SHADOW][TO_EAST] > 0 and told[SHADOW][TO_WEST] == 0
    east = np.arange(SETTINGS.bins) == TO_EAST
    assert blocked_words(found, SHADOW, east) == "the shadow of what stands behind"
    # geometry: the shadow of a height h at elevation angle e is h/tan e long
    for k in np.flatnonzero(found.unlit[0][:, TO_EAST] > 0.02):
        assert found.zones.far_m[0, k] > 110.0 - 16.0 / np.tan(np.radians(ANGLES[k]))


# -- ground that tilts ----------------------------------------------------------------------------------------------

SNOW = Settings(L1_M, (6.0, 12.0, 20.0), bins=36, noise_m=0.0)


@pytest.fixture
def slope(candidate):
    """Give a function that looks at snow on ground that rises northwards by an angle [°]."""
    def make(rise_deg):
        dem = raster((300.0 + METRES_NORTH * np.tan(np.radians(rise_deg))).astype(np.float32))
        one = candidate(HEIGHT_M, reference="ground", zero_is_ground=True, dem=dem)
        (_index, found), = assess([one], SurfaceLayers(dem=dem, is_water=False), SNOW)
        return found
    return make


def test_ground_that_falls_away_from_the_satellites_is_turned_away(slope):
    """Ground that rises by 8° northwards meets a satellite at 6° in the north from below."""
    found = slope(8.0)
    told = {one.kind: one.weight for one in blocked(found, 0, ~found.good)}
    assert told[TURNED][0] > 0 and told[TURNED][18] == 0
    assert blocked_words(found, TURNED, np.arange(36) == 0) == "ground turned away from the satellites"
    assert "ground turned away from the satellites takes the reflections at 6°" in bin_reasons(
        found, find_causes(found))[0]


def far_on_slope(rise_deg, elevation_deg):
    """Return how much farther off ground that rises towards the satellite reflects than level ground.

    On a plane through the antenna's foot that rises by s, a satellite at e stands e − s over it, so that the middle of
    the reflection lies h·cos s/tan(e − s) along it, of which cos s is ground distance; level ground's lies h/tan e off.
    """
    s, e = np.radians([rise_deg, elevation_deg])
    return np.cos(s) ** 2 / np.tan(e - s) * np.tan(e)


@pytest.mark.parametrize("rise_deg", [2.0, 3.0])
def test_footprints_that_a_slope_moves_less_than_three_times_as_far_off_are_followed(slope, rise_deg):
    found, moved = slope(rise_deg), far_on_slope(rise_deg, 6.0)
    assert 1.2 < moved < 2.2, "the scene is what it should be"
    assert not found.planes.is_beyond.any() and found.planes.is_moved[0, 0, 0]
    # the far end moves farther than the middle, for the footprint stretches too
    ratio = float(found.planes.far_m[0, 0, 0]) / float(found.zones.far_m[0, 0])
    assert moved < ratio < 3.0 and found.usable[0, 0, 0] > 0.99


def test_those_that_would_move_farther_are_told_with_how_far_was_looked(slope):
    found = slope(4.5)
    assert far_on_slope(4.5, 6.0) > 3.0 and found.planes.is_beyond[0, :, 0].tolist() == [True, False, False]
    words = blocked_words(found, BEYOND, np.arange(36) == 0)
    told = float(re.search(r"beyond the (\d+) m looked at", words)[1])
    # three times the farthest of level ground, a convention
    assert told == pytest.approx(3.0 * float(found.zones.far_m[0, 0]), abs=1.0)


# -- sampling what stands around ------------------------------------------------------------------------------------

def test_layers_of_sight_are_true_where_any_is_given():
    assert not SightLayers() and SightLayers(dem=raster(np.zeros((CELLS, CELLS), np.float32)))


def test_a_sight_tells_the_skyline_only_where_it_matters_and_the_ends_where_they_are_near(hill, candidate):
    one = candidate(HEIGHT_M)
    dem = raster(np.where(METRES_EAST > HILL_M, HILL_HIGH_M, 0.0).astype(np.float32))
    for reach, has_ends in ((400.0, False), (5000.0, True)):
        layers = SightLayers(None, None, Terrain(dem, max_distance_m=reach, lon=[one.lon], lat=[one.lat]))
        sight = SightSampler(layers, [one.lon], [one.lat], np.array([100.0])).sight(
            0, hill.kernels.grid, HEIGHT_M, 0.0, None, SETTINGS.bin_centre_deg, 5.0)
        assert sight.surroundings is None and (sight.ends_m is not None) == has_ends
        assert np.isneginf(sight.skyline.el_deg[TO_WEST]) and sight.skyline.el_deg[TO_EAST] > 8.0
        high = SightSampler(layers, [one.lon], [one.lat], np.array([100.0])).sight(
            0, hill.kernels.grid, HEIGHT_M, 0.0, None, SETTINGS.bin_centre_deg, 30.0)
        assert high.skyline is None, "a skyline far below the lowest angle does not matter"
    if has_ends:
        # the model ends 450 m north and south of the place
        north = sight.ends_m[[0, 18]] * np.cos(np.radians(5.0))
        assert north == pytest.approx(450.0, abs=20.0)
