"""Ground that rises towards the satellite so far that it reflects beyond what is looked at: unknown, and told."""
import numpy as np
import pytest
from stillwater.siting.assess import assess
from stillwater.siting.geometry.fresnel import first_zone
from stillwater.siting.ground.planes import REACH
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.ground.tiltedzone import tilted_zone
from stillwater.siting.settings import Settings
from stillwater.siting.signals import wavelength_m
from stillwater.siting.verdict.causes import find_causes
from stillwater.siting.verdict.walls import BEYOND, blocked
from stillwater.siting.words.reasons import bin_reasons

L1 = wavelength_m("GPS L1")
ANGLES = (6.0, 10.0, 15.0, 20.0)
SETTINGS = Settings(L1, ANGLES, bins=36, noise_m=0.0)
RISE_DEG = 4.5
NORTH, SOUTH = 0, 18  # bins from 0 and from 180°
SMOOTH_M, ROUGH_M = 0.05, 0.6


@pytest.fixture
def assessed(array_raster, candidate):
    """Give a function that looks at snow on ground that rises northwards: smooth within 100 m, rough beyond."""
    def look(rise_deg):
        cells = 1200
        place = (np.arange(cells) + 0.5 - cells / 2.0)
        north = np.repeat(-place[:, None], cells, axis=1)
        rough = np.where(np.hypot(north, place) < 100.0, SMOOTH_M, ROUGH_M)
        ground = 300.0 + north * np.tan(np.radians(rise_deg))
        ground += rough * np.random.default_rng(4).normal(size=ground.shape)
        dem = array_raster(ground.astype(np.float32))
        one = candidate(5.0, reference="ground", zero_is_ground=True, dem=dem)
        (_index, found), = assess([one], SurfaceLayers(dem=dem, is_water=False), SETTINGS)
        return found
    return look


def test_a_reflection_beyond_what_is_looked_at_is_unknown_and_not_that_of_level_ground(assessed):
    rise, azimuth = np.tan(np.radians(RISE_DEG)), np.array([5.0, 185.0])
    far = tilted_zone(5.0, 0.0, rise, azimuth, np.array(ANGLES)[:, None], L1).far_m
    limit = REACH * float(first_zone(5.0, ANGLES[0], L1).far_m)
    assert far[0, 0] > 1.3 * limit and far[1, 0] < 0.7 * limit, "the scene is what it should be"
    found = assessed(RISE_DEG)
    assert found.planes.is_beyond[0, :, NORTH].tolist() == [True, False, False, False]
    assert not found.planes.is_beyond[..., SOUTH].any()
    assert np.isnan(found.rms_m[0, 0, NORTH]) and np.isnan(found.planes.tilt_deg[0, 0, NORTH])
    assert found.usable[0, 0, NORTH] == 0 and found.share_of("unknown")[0, 0, NORTH] == 1
    assert all(found.share_of(what)[0, 0, NORTH] == 0 for what in ("target", "avoid", "hidden"))
    # what is looked at is told as before, the next angle at where it reflects
    assert found.usable[0, 1, NORTH] > 0.99 and found.share_of("unknown")[0, 1, NORTH] == 0
    assert found.rms_m[0, [1, 2, 2], [NORTH, NORTH, SOUTH]] == pytest.approx(SMOOTH_M, rel=0.2)


def test_it_is_told_in_words_with_its_figures(assessed):
    found = assessed(RISE_DEG)
    kinds = {one.kind: one.weight for one in blocked(found, 0, ~found.good)}
    assert set(kinds) == {BEYOND} and kinds[BEYOND][NORTH] > 0.99 and kinds[BEYOND][SOUTH] == 0
    reason = bin_reasons(found, find_causes(found))[NORTH]
    assert "ground that rises towards the satellites" in reason and "beyond the 259 m" in reason and "at 6°" in reason


def test_level_and_falling_ground_reflect_within_what_is_looked_at(assessed):
    for rise in (0.0, -RISE_DEG):
        found = assessed(rise)
        assert not found.planes.is_beyond[..., NORTH].any()
        assert found.share_of("unknown")[..., NORTH].max() == 0
