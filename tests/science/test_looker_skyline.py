"""Looking from a place with a hill beside it: a glance takes over the skyline of the last full look."""

import numpy as np
import pytest
from stillwater.siting.candidates import Candidate, Resolver
from stillwater.siting.ground.arrayraster import ArrayRaster
from stillwater.siting.ground.classes import parse_classes
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.live.looker import Looker
from stillwater.siting.setup import Setup
from stillwater.siting.sight.looking import SightLayers
from stillwater.siting.sight.terrain import Terrain
from stillwater.tests.science.shore_scenes import EAST, NORTH, SETTINGS, UTM, towards

HEIGHT_M, HILL_M, HILL_HIGH_M = 6.0, 600.0, 120.0
"""The antenna over the water, and how far east a ridge stands, beyond what is looked at near by, and how high."""
TO_EAST, TO_WEST = towards(95.0), towards(275.0)


@pytest.fixture
def looker(look_at):
    """Give the looker of open water under a ridge in the east."""
    place = (np.arange(1000) + 0.5) * 2.0 - 1000.0
    east, north = np.meshgrid(place, place[::-1])
    ridge = (east > HILL_M) & (east < HILL_M + 40.0) & (np.abs(north) < 300.0)
    affine = (EAST - 1000.0, 2.0, 0.0, NORTH + 1000.0, 0.0, -2.0)
    dem = ArrayRaster(np.where(ridge, HILL_HIGH_M, 0.0).astype(np.float32), affine, UTM)
    cover = ArrayRaster(np.where(ridge, 7, 80).astype(np.uint8), affine, UTM)
    layers = SurfaceLayers(landcover=cover, classes=parse_classes("80"), dem=dem)
    terrain = Terrain(dem, max_distance_m=900.0, lon=[15.0], lat=[44.97])
    resolver = Resolver(UTM, "surface", False, dem)
    return Looker(Setup(layers, SETTINGS, look_at(("GPS",)), sight=SightLayers(dem, None, terrain), resolver=resolver))


def at(east_m=0.0):
    return Candidate("spot", EAST + east_m, NORTH, HEIGHT_M)


def test_a_glance_knows_no_skyline_before_a_full_look_and_that_of_it_afterwards(looker):
    """Towards 95° the ridge stands atan((120 − 6)/(600/cos 5°)) = 10.7° high."""
    full = looker.look(at())
    angle = np.degrees(np.arctan((HILL_HIGH_M - HEIGHT_M) / (HILL_M / np.cos(np.radians(5.0)))))
    assert full.assessment.skyline_deg[TO_EAST] == pytest.approx(angle, abs=0.05)
    glancer = looker.glancing()
    before = glancer.look(at(3.0), with_passes=False)
    assert not np.isfinite(before.assessment.skyline_deg).any()
    glancer.remember(full)
    after = glancer.look(at(3.0), with_passes=False)
    np.testing.assert_array_equal(after.assessment.skyline_deg, full.assessment.skyline_deg)
    np.testing.assert_array_equal(after.assessment.skyline_m, full.assessment.skyline_m)
    # what stands behind the ridge is lost to the glance too, and nothing else
    assert after.row.bin_quality[TO_EAST] < before.row.bin_quality[TO_EAST] - 0.2
    assert after.row.bin_quality[TO_EAST] == pytest.approx(full.row.bin_quality[TO_EAST], abs=0.1)
    assert after.row.bin_quality[TO_WEST] == before.row.bin_quality[TO_WEST]


def test_the_skyline_is_drawn_outwards_from_a_circle_where_it_stands_up(looker):
    """Its height on the picture grows with its angle, up to the highest angle looked at."""
    shapes, digest = looker.look(at(), with_passes=False).shapes, looker.look(at(), with_passes=False).assessment
    away = np.hypot(*(shapes.skyline - shapes.centre).T)
    rim = np.hypot(*(shapes.rim - shapes.centre).T)
    assert np.ptp(rim) < 1e-3 * rim.max() and rim.min() > 0.999 * shapes.reach_m
    corners = 2 * TO_EAST + np.arange(2)
    stands = np.isfinite(digest.skyline_deg)
    assert stands[TO_EAST] and not stands[TO_WEST]
    assert away[2 * TO_WEST] == pytest.approx(rim.mean(), rel=1e-3)
    part = (away - rim.mean()) / (away[corners[0]] - rim.mean())
    told = np.repeat(np.where(stands, digest.skyline_deg, 0.0) / digest.skyline_deg[TO_EAST], 2)
    np.testing.assert_allclose(part, np.minimum(told, 20.0 / digest.skyline_deg[TO_EAST]), atol=5e-3)


def test_what_cannot_be_remembered_changes_nothing(looker):
    glancer = looker.glancing()
    drowned = looker.look(Candidate("spot", EAST, NORTH, 0.5, low_m=-1.0, high_m=1.0))
    assert drowned.assessment is None
    glancer.remember(drowned)
    assert not np.isfinite(glancer.look(at(), with_passes=False).assessment.skyline_deg).any()


def test_a_glance_reads_from_rasters_of_its_own(looker):
    glancer = looker.glancing()
    for mine, its in ((looker.setup.layers, glancer.setup.layers), (looker.setup.sight, glancer.setup.sight)):
        assert its.dem is not mine.dem
        one, other = mine.dem.read(10, 20, 10, 20), its.dem.read(10, 20, 10, 20)
        np.testing.assert_array_equal(one.values, other.values)
    assert glancer.setup.resolver.dem is not looker.setup.resolver.dem and glancer.setup.resolver.geoid is None


def test_a_metre_is_told_in_units_of_the_candidates_crs(looker, look_at):
    """On UTM's central meridian a metre is 0.9996 on the map (Snyder 1987, from memory)."""
    one = looker.look(at(), with_passes=False).candidate
    assert looker.units_per_metre(one) == pytest.approx(0.9996, abs=1e-4)
