"""Seen and lit against a brute-force march along rays, on random scenes and on some that a person can follow."""
import numpy as np
import pytest
from stillwater.siting.earth import RADIO_RADIUS_M
from stillwater.siting.geometry.fresnel import Ellipse, first_zone
from stillwater.siting.ground.polargrid import choose_grid
from stillwater.siting.sight.refraction import refraction_deg
from stillwater.siting.sight.surroundings import Surroundings, reach_m, surrounding_grid, with_barriers
from stillwater.siting.sight.visible import Ground, Obstacle, Sight
from stillwater.siting.signals import wavelength_m

L1 = wavelength_m("GPS L1")
ANGLES = np.array([5.0, 8.0, 12.0, 16.0, 20.0])
BINS = 24
CELL = 2.0


class Scene:
    """Heights on square cells around the antenna, which stands over the middle of one."""

    def __init__(self, size=801):
        self.half = size // 2
        self.z = np.full((size, size), -6.0)

    def block(self, east, north, width, depth, z):
        r0, c0 = self.half + int(round((north - depth / 2) / CELL)), self.half + int(round((east - width / 2) / CELL))
        self.z[max(r0, 0):r0 + max(int(round(depth / CELL)), 1), max(c0, 0):c0 + max(int(round(width / CELL)), 1)] = z

    def at(self, east, north):
        """Return the cell under each point."""
        row = np.floor(np.asarray(north) / CELL + 0.5).astype(int) + self.half
        col = np.floor(np.asarray(east) / CELL + 0.5).astype(int) + self.half
        return self.z[np.clip(row, 0, len(self.z) - 1), np.clip(col, 0, len(self.z) - 1)]


def random_scene(rng, is_bed):
    scene = Scene()
    water = 0.3
    scene.z[:] = -6.0 if is_bed else water
    shore = rng.uniform(-40, 10)
    azimuth = rng.uniform(0, 2 * np.pi)
    index = (np.arange(len(scene.z)) - scene.half) * CELL
    east, north = np.meshgrid(index, index)
    inland = -(east * np.sin(azimuth) + north * np.cos(azimuth)) - shore
    scene.z = np.where(inland > 0, np.minimum(0.5 + 0.02 * inland, 6.0), scene.z)
    for _ in range(rng.integers(2, 7)):
        a, r = rng.uniform(0, 2 * np.pi), rng.uniform(8, 220)
        scene.block(r * np.sin(a), r * np.cos(a), rng.uniform(4, 60), rng.uniform(4, 60), rng.uniform(0.5, 30.0))
    return scene, (scene.z <= water + 1e-9) if not is_bed else scene.z < 0


def look(scene, height, level, is_bed, is_water):
    """Sample a scene as the plugin does; z of the antenna is its height over 0."""
    zones = first_zone(np.array([height - level])[:, None], ANGLES, L1)
    flat = Ellipse(*(part.ravel() for part in zones))
    grid = choose_grid(flat, CELL, BINS)
    around = surrounding_grid(grid, CELL)
    east, north = around.east_north()
    surroundings = Surroundings(around, scene.at(east, north).astype(np.float32))
    water = None
    if not is_bed:
        cells = Scene(len(scene.z))
        cells.z = is_water.astype(float)
        water = cells.at(*grid.east_north()) > 0.5
    return grid, flat, Sight(surroundings, grid, height, Ground(water))


def marched_seen(scene, is_water, height, level, east, north, is_bed):
    """March from the antenna to each spot in steps of a quarter of a cell."""
    distance = np.hypot(east, north)
    seen = np.ones(east.shape, bool)
    clearance = np.full(east.shape, np.inf)
    water = Scene(len(scene.z))
    water.z = is_water.astype(float)
    z_spot = np.where(water.at(east, north) > 0.5, level, np.maximum(scene.at(east, north), level))
    for part in np.arange(1.5 * CELL, distance.max(), CELL / 4):
        there = part < distance - CELL
        e, n = east * part / distance, north * part / distance
        z = np.where(water.at(e, n) > 0.5, level, np.maximum(scene.at(e, n), level)) - part**2 / (2 * RADIO_RADIUS_M)
        ray = height + (z_spot - distance**2 / (2 * RADIO_RADIUS_M) - height) * part / distance
        room = np.where(there, ray - z, np.inf)
        clearance = np.minimum(clearance, room)
    seen = clearance >= 0
    return seen, clearance


@pytest.mark.parametrize("seed", range(50))
def test_seen_agrees_with_a_march_along_rays(seed):
    rng = np.random.default_rng(seed)
    is_bed = seed % 2 == 0
    scene, is_water = random_scene(rng, is_bed)
    height, level = rng.uniform(4, 12), rng.uniform(-1, 1) if is_bed else rng.uniform(-1, 0.3)
    scene.block(0, 0, 10, 10, min(height - 2, 1.0))
    grid, _zones, sight = look(scene, height, level, is_bed, is_water)
    seen = sight.seen(level, 0.0)
    seen = np.ones((len(grid.radius_m), grid.rays), bool) if seen is None else seen
    # an eighth of the circle, another for each scene
    rays = np.roll(np.arange(grid.rays), -(seed % 8) * grid.rays // 8)[:grid.rays // 8]
    seen = seen[:, rays]
    east, north = (part[:, rays].astype(float) for part in grid.east_north())
    expected, room = marched_seen(scene, is_water, height, level, east, north, is_bed)
    # edges: where the march itself changes within a cell and a ray's width, or something is cleared by a hand
    steady = np.abs(room) > 0.15
    for turn in (-1, 1, -2, 2):
        steady &= np.roll(expected, turn, axis=1) == expected
    for step in (1, 2):
        steady[step:] &= expected[step:] == expected[:-step]
        steady[:-step] &= expected[step:] == expected[:-step]
    assert steady.mean() > 0.5
    assert (seen == expected)[steady].mean() > 0.99
    assert (seen == expected).mean() > 0.95


def marched_unlit(scene, is_water, level, east, north, azimuth, elevation, end):
    """March from each spot towards the satellite."""
    slope = np.tan(np.radians(elevation + refraction_deg(elevation)))
    unlit = np.zeros(east.shape, bool)
    water = Scene(len(scene.z))
    water.z = is_water.astype(float)
    z_spot = np.where(water.at(east, north) > 0.5, level, np.maximum(scene.at(east, north), level))
    for part in np.arange(CELL, end, CELL / 2):
        e, n = east + part * np.sin(azimuth), north + part * np.cos(azimuth)
        z = np.where(water.at(e, n) > 0.5, level, np.maximum(scene.at(e, n), level))
        unlit |= (z > z_spot + part * slope) & (np.hypot(e, n) < end)
    return unlit


@pytest.mark.parametrize("seed", range(50))
def test_lit_agrees_with_a_march_towards_the_satellite(seed):
    rng = np.random.default_rng(1000 + seed)
    is_bed = seed % 2 == 0
    scene, is_water = random_scene(rng, is_bed)
    height, level = rng.uniform(4, 12), rng.uniform(-1, 0.3)
    grid, zones, sight = look(scene, height, level, is_bed, is_water)
    end = float(sight.surroundings.grid.edges_m[-1])
    found = sight.unlit(zones, ANGLES, level, 0.0, np.ones((len(ANGLES), BINS), bool))
    centre = (np.arange(BINS) + 0.5) * 360 / BINS
    differ, number = 0.0, 0
    for b in range(seed % 6, BINS, 6):
        azimuth = np.radians(centre[b])
        for k, e in enumerate(ANGLES):
            a, half, c = (part[k] for part in zones)
            grid_u, grid_v = np.meshgrid(np.linspace(-1, 1, 25), np.linspace(-1, 1, 9), indexing="ij")
            inside = grid_u**2 + grid_v**2 <= 1
            u, v = c + a * grid_u[inside], half * grid_v[inside]
            east = u * np.sin(azimuth) + v * np.cos(azimuth)
            north = u * np.cos(azimuth) - v * np.sin(azimuth)
            expected = marched_unlit(scene, is_water, level, east, north, azimuth, float(e), end).mean()
            share = 0.0
            if found is not None and b in found.bins:
                share = found.share(np.ones((len(grid.radius_m), grid.rays), np.float32))[k][list(found.bins).index(b)]
            differ += abs(share - expected)
            number += 1
            assert abs(share - expected) < 0.25  # an edge across a small footprint
    assert differ / number < 0.02


def test_water_hides_no_water():
    """An antenna at 5 m, a beach of +0.3 m at 30 m and a sea bed of −6 m at 50 m: that water is seen."""
    scene = Scene()
    scene.z[:] = -6.0
    scene.block(0, 0, 64, 64, 0.3)
    is_water = scene.z < 0
    grid, _zones, sight = look(scene, 5.0, 0.0, True, is_water)
    seen = sight.seen(0.0, 0.0)
    # but for two metres behind the beach's edge, which stands 0.3 m over the water
    assert seen[grid.radius_m > 50].all() and seen.mean() > 0.9


def test_a_roof_hides_the_water_close_to_its_building():
    """A flat roof of 10 m, its edge 19 m out, the antenna 2 m over it: water is hidden to 12 × 19/2 = 114 m."""
    scene = Scene()
    scene.z[:] = -6.0
    scene.block(0, 0, 40, 40, 10.0)
    is_water = scene.z < 0
    grid, _zones, sight = look(scene, 12.0, 0.0, True, is_water)
    seen = sight.seen(0.0, 0.0)
    east_ray = grid.rays // 4
    hidden = grid.radius_m[~seen[:, east_ray] & (grid.radius_m > 22)]
    # the cells end 19 m to the east
    assert hidden.max() == pytest.approx(12 * 19 / 2, abs=6)
    assert hidden.min() < 27 and seen[grid.radius_m > 122, east_ray].all()


def test_a_cliff_behind_the_water_shuts_the_satellite_out():
    """A cliff of 30 m, 139 m out: it throws its shadow 30 / tan e back over the water."""
    scene = Scene()
    scene.z[:] = -6.0
    scene.z[:, scene.half + 70:] = 30.0
    is_water = scene.z < 0
    grid, zones, sight = look(scene, 5.0, 0.0, True, is_water)
    found = sight.unlit(zones, ANGLES, 0.0, 0.0, np.ones((len(ANGLES), BINS), bool))
    share = found.share(np.ones((len(grid.radius_m), grid.rays), np.float32))
    east = list(found.bins).index(BINS // 4)
    # up to 12° it reaches back to the antenna (30 / tan 12.1° = 140 m); at 16° it ends 35 m out, where the footprint
    # has ended at 25 m
    assert share[:, east] == pytest.approx([1, 1, 1, 0, 0], abs=0.01)
    assert BINS * 3 // 4 not in found.bins


def test_a_skyline_far_off_shuts_the_satellite_out_of_all_of_a_footprint():
    grid = choose_grid(Ellipse(*(part.ravel() for part in first_zone(np.array([[5.0]]), ANGLES, L1))), CELL, BINS)
    angle = np.full(BINS, -np.inf)
    angle[3] = 10.0
    sight = Sight(None, grid, 5.0, skyline=Obstacle(angle, np.full(BINS, 5000.0)))
    clear = sight.clear(ANGLES)
    assert clear[:, 3].tolist() == [False, False, True, True, True]
    assert clear[:, [2, 4]].all()


def test_refraction_lifts_a_satellite_over_a_low_skyline():
    """0.19° at 5°: ITU-R P.834, 11.43′ (as other software cites it)."""
    assert 60 * refraction_deg(5.0) == pytest.approx(11.43, abs=0.25)
    grid = choose_grid(Ellipse(*(part.ravel() for part in first_zone(np.array([[5.0]]), ANGLES, L1))), CELL, BINS)
    sight = Sight(None, grid, 5.0, skyline=Obstacle(np.full(BINS, 5.1), np.full(BINS, 5000.0)))
    assert sight.clear(ANGLES) is None


def test_light_is_refracted_less():
    """Bennett 1982, as in Meeus, Astronomical Algorithms, example 16.a: 28.754′ at an apparent height of 0.5°."""
    from stillwater.siting.sight.refraction import RADIO_OVER_LIGHT
    true = 0.5 - 28.754 / 60
    assert 60 * refraction_deg(true) / RADIO_OVER_LIGHT == pytest.approx(28.754, abs=0.35)


def test_barriers_stand_on_the_ground_and_on_the_base_where_none_is_known():
    ground = np.array([[1.0, 2.0, 3.0]], np.float32)
    valid = np.array([[True, True, False]])
    cover = {0: np.array([[0.0, 0.5, 0.05]]), 1: np.array([[0.0, 1.0, 1.0]])}
    top, is_barrier = with_barriers(ground, valid, cover, np.array([10.0, 4.0]), 0.5)
    assert top[0].tolist() == [1.0, 12.0, 4.5] and is_barrier[0].tolist() == [False, True, True]
    alone, _is_barrier = with_barriers(None, None, cover, np.array([10.0, 4.0]), 0.5)
    assert alone[0].tolist() == [-np.inf, 10.5, 4.5]


def test_the_relief_reaches_beyond_the_footprints():
    grid = choose_grid(Ellipse(*(part.ravel() for part in first_zone(np.array([[5.0]]), ANGLES, L1))), CELL, BINS)
    around = surrounding_grid(grid, CELL)
    assert around.edges_m[0] == pytest.approx(0.7 * CELL)
    assert around.edges_m[-1] >= reach_m(grid.edges_m[-1])
    assert np.diff(around.edges_m).max() <= max(CELL, 0.011 * around.edges_m[-1])
