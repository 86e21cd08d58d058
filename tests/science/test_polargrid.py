"""The polar grid follows the narrowest footprint and the raster's cells."""

import numpy as np
import pytest
from stillwater.siting.geometry.fresnel import first_zone, outline
from stillwater.siting.ground.polargrid import (
    PHASES,
    RAYS_ACROSS,
    RAYS_ACROSS_FINE,
    RINGS_ACROSS,
    RINGS_ACROSS_FINE,
    choose_grid,
    widest_half_width_rad,
)
from stillwater.siting.signals import wavelength_m

L1 = wavelength_m("GPS L1")
ANGLES = np.arange(5.0, 21.0)
HEIGHTS = [2.0, 5.0, 20.0, 100.0]
AZIMUTH_TOLERANCE_DEG = 0.01


def test_the_widest_arc_is_the_tangent_from_the_site():
    zones = first_zone(np.array(HEIGHTS)[:, None], ANGLES, L1)
    ring = outline(zones, 0.0, 100_000)
    widest = np.degrees(np.arctan2(ring[..., 0], ring[..., 1]).max(axis=-1))
    assert np.abs(np.degrees(widest_half_width_rad(zones)) - widest).max() < AZIMUTH_TOLERANCE_DEG


def test_at_100_metres_and_5_degrees_a_footprint_is_seven_tenths_of_a_degree_to_each_side():
    # derived here: b / R of the ellipse's formulas
    assert np.degrees(float(widest_half_width_rad(first_zone(100.0, 5.0, L1)))) == pytest.approx(0.74, abs=0.05)


def test_around_a_footprint_that_holds_the_site_the_widest_arc_is_the_whole_circle():
    assert widest_half_width_rad(first_zone(0.1, 3.0, L1)) == pytest.approx(np.pi)


@pytest.mark.parametrize("height", HEIGHTS)
@pytest.mark.parametrize("cell", [0.0, 0.25, 2.0, 30.0])
def test_every_footprint_is_crossed_by_enough_rings_and_rays(height, cell):
    zones = first_zone(height, ANGLES, L1)
    grid = choose_grid(zones, cell, 72)
    rays_across = 2 * widest_half_width_rad(zones) / (2 * np.pi / grid.rays)
    assert rays_across.min() >= RAYS_ACROSS - 1e-9
    middle = (grid.edges_m[1:] + grid.edges_m[:-1]) / 2
    for near, far in zip(zones.near_m, zones.far_m):
        assert np.count_nonzero((middle > near) & (middle < far)) >= RINGS_ACROSS - 1


@pytest.mark.parametrize("height", HEIGHTS)
def test_fine_cells_make_a_finer_grid_up_to_a_limit(height):
    zones = first_zone(height, ANGLES, L1)
    coarse, fine, finest = (choose_grid(zones, cell, 72) for cell in (30.0, 0.5, 0.01))
    assert coarse.rays <= fine.rays <= finest.rays
    assert len(coarse.edges_m) <= len(fine.edges_m) <= len(finest.edges_m)
    narrowest = 2 * widest_half_width_rad(zones).min() / (2 * np.pi / finest.rays)
    assert narrowest <= RAYS_ACROSS_FINE + narrowest / finest.rays_per_bin  # rounded up to whole rays in a bin
    low = first_zone(height, ANGLES[:1], L1)
    alone = choose_grid(low, 0.01, 72)
    assert RINGS_ACROSS_FINE <= len(alone.edges_m) - 1 <= RINGS_ACROSS_FINE + 1


@pytest.mark.parametrize("height", [0.05, 2.0, 100.0])
@pytest.mark.parametrize("bins", [2, 3, 8, 72, 360])
def test_rings_reach_from_the_nearest_to_the_farthest_end_and_rays_fill_the_bins(height, bins):
    zones = first_zone(height, ANGLES, L1)
    grid = choose_grid(zones, 1.0, bins)
    assert np.all(np.diff(grid.edges_m) > 0)
    assert grid.edges_m[0] == pytest.approx(max(zones.near_m.min(), 0.0))
    assert grid.edges_m[-1] == pytest.approx(zones.far_m.max())
    assert grid.rays == bins * grid.rays_per_bin and grid.rays_per_bin >= 2


def test_spots_lie_in_the_middle_of_their_rings_and_rays():
    grid = choose_grid(first_zone(5.0, ANGLES, L1), 1.0, 72)
    east, north = grid.east_north()
    assert east.shape == (len(grid.edges_m) - 1, grid.rays)
    assert np.allclose(np.hypot(east, north), grid.radius_m[:, None], rtol=1e-6)
    azimuth = np.degrees(np.arctan2(east, north)) % 360
    wanted = (np.arange(grid.rays) + np.resize(PHASES, len(grid.radius_m))[:, None]) * 360 / grid.rays
    assert np.abs(azimuth - wanted).max() < AZIMUTH_TOLERANCE_DEG
    assert PHASES.mean() == 0.5, "ring by ring the spots stand beside the middle of their arcs, together in it"
    inner = np.pi * (grid.radius_m**2 - grid.edges_m[:-1] ** 2)
    outer = np.pi * (grid.edges_m[1:] ** 2 - grid.radius_m**2)
    assert np.allclose(inner, outer)


def test_a_gap_between_footprints_costs_no_rings():
    far_apart = first_zone(20.0, np.array([5.0, 80.0]), L1)
    grid = choose_grid(far_apart, 1.0, 72)
    assert len(grid.edges_m) - 1 <= 2 * RINGS_ACROSS_FINE + 2
