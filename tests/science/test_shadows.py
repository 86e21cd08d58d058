"""Shadows of straight walls on footprints of every angle, against the area of a disc's segment [derived]."""
import numpy as np
import pytest
from stillwater.siting.geometry.fresnel import first_zone
from stillwater.siting.ground.polargrid import choose_grid
from stillwater.siting.sight.refraction import refraction_deg
from stillwater.siting.sight.strips import ACROSS, Strips
from stillwater.siting.sight.surroundings import STEP, Surroundings, surrounding_grid
from stillwater.siting.sight.visible import Sight
from stillwater.siting.signals import wavelength_m

L1 = wavelength_m("GPS L1")
ANGLES = np.arange(5.0, 31.0, 2.5)
BINS, BIN = 24, 5
CELL = 0.5
WALL_M = 20.0


def segment(part):
    """Return the part of a disc of radius 1 that lies beyond a chord at a distance from its centre."""
    part = np.clip(part, -1.0, 1.0)
    return (np.arccos(part) - part * np.sqrt(1.0 - part**2)) / np.pi


class Shore:
    """Water around an antenna, with walls that rise from it."""

    def __init__(self, height_m):
        self.height_m = height_m
        self.zones = first_zone(height_m, ANGLES, L1)
        self.grid = choose_grid(self.zones, CELL, BINS)
        self.around = surrounding_grid(self.grid, CELL)
        self.end_m = float(self.around.edges_m[-1])
        azimuth = np.radians((BIN + 0.5) * 360.0 / BINS)
        east, north = self.around.east_north()
        self.u = east * np.sin(azimuth) + north * np.cos(azimuth)
        self.v = east * np.cos(azimuth) - north * np.sin(azimuth)

    def share(self, where, angle, wall_m=WALL_M):
        """Return what of the bin's footprint of an angle a wall takes that stands where `where` is true."""
        top = np.where(where, np.float32(wall_m), np.float32(-6.0))
        sight = Sight(Surroundings(self.around, top), self.grid, self.height_m)
        wanted = np.zeros((len(ANGLES), BINS), bool)
        wanted[angle, BIN] = True
        found = sight.unlit(self.zones, ANGLES, 0.0, 0.0, wanted)
        if found is None:
            return 0.0
        assert found.bins.tolist() == [BIN]
        whole = found.share(np.ones((len(self.grid.radius_m), self.grid.rays), np.float32))
        assert np.count_nonzero(whole) == np.count_nonzero(whole[angle])
        return float(whole[angle, 0])


@pytest.mark.parametrize("height_m", [3.0, 6.0, 12.0, 25.0])
def test_the_shadow_of_a_wall_across_ends_where_it_should_at_every_angle(height_m):
    """A wall stands so far off that its shadow reaches back to a chord of the footprint."""
    shore, looked = Shore(height_m), 0
    for angle, elevation in enumerate(ANGLES):
        a, _b, c = (float(part[angle]) for part in shore.zones)
        slope = np.tan(np.radians(elevation + refraction_deg(elevation)))
        for part in (-0.8, -0.5, -0.2, 0.1, 0.4, 0.7):
            wall = c + a * part + WALL_M / slope
            if not c + a < wall < 0.95 * shore.end_m:
                continue
            # it is known to a ring where the wall stands
            off = max(CELL, STEP * wall) / a
            share = shore.share(shore.u >= wall, angle)
            assert segment(part + off) - 0.02 <= share <= segment(part - off) + 0.02
            looked += 1
    assert looked > 40


@pytest.mark.parametrize("height_m", [6.0, 25.0])
def test_a_wall_that_covers_a_part_of_the_width_takes_that_part_at_every_angle(height_m):
    """High enough to shade all behind it, to the right of a line along the azimuth."""
    shore = Shore(height_m)
    for angle, elevation in enumerate(ANGLES):
        a, b, c = (float(part[angle]) for part in shore.zones)
        wall = c + 1.2 * a + 2.0
        high = 1.5 * (2.2 * a + 2.0) * np.tan(np.radians(elevation)) + 2.0
        for part in (-0.6, -0.2, 0.3, 0.7):
            # to a ray where the wall stands, and to half a strip
            off = (wall * 2.0 * np.pi / shore.grid.rays) / b + 1.0 / ACROSS
            share = shore.share((shore.u >= wall) & (shore.v > part * b), angle, high)
            assert segment(part + off) - 0.01 <= share <= segment(part - off) + 0.01


@pytest.mark.parametrize("height_m", [2.0, 5.0, 20.0, 80.0])
def test_each_footprint_has_as_many_strips_and_steps_as_any_other(height_m):
    zones = first_zone(height_m, ANGLES, L1)
    for angle, elevation in enumerate(ANGLES):
        zone = type(zones)(*(part[angle] for part in zones))
        strips = Strips(zone, elevation, float(zones.far_m.max()), 3.0 * float(zones.far_m.max()), 2.0)
        assert strips.inside.any(axis=0).sum() == ACROSS and strips.inside.any(axis=1).sum() >= 22
        assert strips.inside.mean() == pytest.approx(np.pi / 4.0, abs=0.03)
        assert np.all(np.diff(strips.u) > 0) and strips.u[-1] >= 0.99 * 3.0 * float(zones.far_m.max())


def test_the_edge_of_the_next_cell_is_no_wall():
    """Ground of cells that rise by 0.02 m a metre is lit at 5°, however finely it is looked at."""
    shore = Shore(6.0)
    steps = np.floor(np.maximum(shore.u, 0.0) / CELL) * CELL * 0.02
    top = steps.astype(np.float32)
    sight = Sight(Surroundings(shore.around, top), shore.grid, 20.0)
    found = sight.unlit(shore.zones, ANGLES, -5.0, 0.0, np.ones((len(ANGLES), BINS), bool))
    whole = np.ones((len(shore.grid.radius_m), shore.grid.rays), np.float32)
    assert found is None or found.share(whole).max() < 0.005
