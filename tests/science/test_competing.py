"""A second level surface beside the target: laid out on the sampling itself, so that what must be found is known."""
from types import SimpleNamespace

import numpy as np
import pytest
from stillwater.siting.ground.kernels import KernelCache
from stillwater.siting.settings import Settings
from stillwater.siting.signals import wavelength_m
from stillwater.siting.verdict.competing import competing_surfaces

L1 = wavelength_m("GPS L1")
ANGLES = tuple(float(a) for a in range(5, 21))
BINS = 36
EAST, WEST = 9, 27  # bins from 90 and from 270°
ZERO_M, LEVELS_M = 100.0, np.array([-0.5, 0.0, 0.5])
HEIGHT_M = 5.0
SEPARATION_M = 0.4


class Scene:
    """A fake assessment: water, and ground of told heights in some directions of which no angle is good."""

    def __init__(self):
        self.settings = Settings(L1, ANGLES, bins=BINS)
        cache = KernelCache(ANGLES, L1, BINS)
        heights = HEIGHT_M - LEVELS_M
        self.kernels, self.zones = cache.get(heights, 1.0), cache.zones(heights)
        self.candidate = SimpleNamespace(levels_m=LEVELS_M, zero_level_m=ZERO_M)
        self.planes, self.separation_m = None, np.full(BINS, SEPARATION_M)
        self.windows = SimpleNamespace(first=np.zeros(BINS, int))
        self.good = np.ones((len(ANGLES), BINS), bool)
        grid = self.kernels.grid
        shape = len(grid.edges_m) - 1, grid.rays
        self.top = np.full(shape, np.nan)
        self.target, self.hidden = np.ones(shape, np.float32), np.zeros(shape, np.float32)
        self.sight = SimpleNamespace(surroundings=object(), spot_top_m=lambda: self.top)
        self.surface = SimpleNamespace(names_at=self.names)
        self.asked, self.asked_level = [], []
        self.per_bin = grid.rays_per_bin

    def names(self, east, north):
        self.asked.append((float(east[0]), float(north[0])))
        return ["harbour basin"]

    def spots(self, level):
        self.asked_level.append(level)
        return SimpleNamespace(target=self.target, hidden=self.hidden)

    def level_z_m(self, level):
        return ZERO_M + float(LEVELS_M[level])

    def lay(self, chosen, above, rays=None):
        """Put ground that is not the target so high over the middle level into a bin and its neighbours."""
        part = np.arange((chosen - 2) * self.per_bin, (chosen + 3) * self.per_bin)
        part = part if rays is None else part[rays]
        self.top[:, part] = ZERO_M + above
        self.target[:, part] = 0.0
        self.good[:, chosen] = False


@pytest.fixture
def scene():
    return Scene()


def test_a_level_surface_within_the_separation_competes_and_is_told(scene):
    scene.lay(EAST, 0.3)
    found = competing_surfaces(scene)
    assert list(found) == [EAST] and set(scene.asked_level) == {1}
    one = found[EAST]
    assert one.name == "harbour basin" and one.above_m == pytest.approx(0.3, abs=1e-4)
    assert one.part == pytest.approx(1.0, abs=1e-4)
    # it is asked for where the footprint of the angle told has its centre, in the middle of the bin: 95°
    (east, north), = scene.asked
    centre = scene.zones.centre_m[1, ANGLES.index(one.elevation_deg)]
    assert np.hypot(east, north) == pytest.approx(centre)
    assert np.degrees(np.arctan2(east, north)) == pytest.approx(95.0)


def test_below_the_target_competes_as_above_it_does(scene):
    scene.lay(WEST, -0.25)
    (index, one), = competing_surfaces(scene).items()
    assert index == WEST and one.above_m == pytest.approx(-0.25, abs=1e-4)


@pytest.mark.parametrize("above, competes", [(0.1, False), (0.2, True), (0.38, True), (0.45, False), (3.0, False)])
def test_what_is_nearly_the_target_itself_or_told_apart_from_it_does_not_compete(scene, above, competes):
    """λ/2W = 0.4 m tells 0.45 m apart, and within 0.15 m it is the same surface (the convention)."""
    scene.lay(EAST, above)
    assert bool(competing_surfaces(scene)) is competes


@pytest.mark.parametrize("step, competes", [(0.1, True), (0.25, True), (0.35, False)])
def test_only_what_is_level_reflects_as_one(scene, step, competes):
    """Two heights in turn, half and half: their standard deviation is half the step between them, 0.15 m at most."""
    scene.lay(EAST, 0.2)
    scene.separation_m[:] = 1.0
    odd = np.arange(scene.top.shape[1]) % 2 == 1
    scene.top[:, odd] += step
    found = competing_surfaces(scene)
    assert bool(found) is competes
    if competes:
        assert found[EAST].above_m == pytest.approx(0.2 + step / 2.0, abs=0.02)


@pytest.mark.parametrize("kept", [0.2, 0.4, 0.6, 0.8])
def test_it_must_fill_half_of_the_footprint(scene, kept):
    """So many rays of every ten, evenly mixed: that is the part of any footprint that it fills."""
    rays = np.arange(5 * scene.per_bin)
    scene.lay(EAST, 0.3, rays[(rays * 10 * kept) % 10 < 10 * kept])
    found = competing_surfaces(scene)
    assert bool(found) is (kept > 0.5)
    assert not found or found[EAST].part == pytest.approx(kept, abs=0.07)


def test_nothing_competes_where_nothing_is_known_hidden_or_good(scene):
    scene.lay(EAST, 0.3)
    assert competing_surfaces(scene)
    scene.hidden[:] = 1.0
    assert competing_surfaces(scene) == {}, "nobody sees it"
    scene.hidden[:] = 0.0
    scene.target[:] = 1.0
    assert competing_surfaces(scene) == {}, "it is the target, whatever the elevation model shows"
    scene.target[:] = 0.0
    scene.good[:] = True
    assert competing_surfaces(scene) == {}, "the target fills the footprints"
    scene.good[:, EAST] = False
    scene.windows.first[EAST] = -1
    assert competing_surfaces(scene) == {}, "there is no window to compete with"
    scene.windows.first[EAST] = 0
    scene.top[:] = np.nan
    assert competing_surfaces(scene) == {}, "the elevation model has no data there"


def test_without_an_elevation_model_or_on_bare_ground_nothing_is_looked_for(scene):
    scene.lay(EAST, 0.3)
    sight = scene.sight
    for one in (None, SimpleNamespace(surroundings=None)):
        scene.sight = one
        assert competing_surfaces(scene) == {}
    scene.sight, scene.planes = sight, object()
    assert competing_surfaces(scene) == {}


def test_the_angle_told_is_one_that_fails(scene):
    """Good from 5 to 12°: what competes does so above."""
    scene.lay(EAST, 0.3)
    scene.good[:8, EAST] = True
    assert competing_surfaces(scene)[EAST].elevation_deg >= 13.0
