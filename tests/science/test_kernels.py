"""Shares of footprints by running sums: against closed forms, themselves turned, and a finer grid."""

import numpy as np
import pytest
from stillwater.siting.geometry.fresnel import Ellipse, first_zone, half_width_rad
from stillwater.siting.ground.kernels import KernelCache, build, shares
from stillwater.siting.ground.polargrid import choose_grid
from stillwater.siting.signals import wavelength_m

L1 = wavelength_m("GPS L1")
ANGLES = np.arange(5.0, 21.0)
HEIGHTS = [2.0, 7.0, 30.0, 100.0]
SUM_TOLERANCE = 3e-5  # single precision, over up to 28 000 rays
RING_MEAN_TOLERANCE = 4e-3
EDGE_MEAN_TOLERANCE, EDGE_WORST_TOLERANCE = 0.001, 0.025  # of a share, on one straight hard edge
TURN_TOLERANCE = 2e-5
CONVERGED_MEAN, CONVERGED_P99 = 0.006, 0.03  # of a share, on hard edges closer together than a footprint is long


def kernels_for(heights, angles=ANGLES, cell=1.0, bins=72, refine=1.0):
    return KernelCache(angles, L1, bins, refine).get(np.atleast_1d(heights), cell)


def surface_on(grid, told):
    """Ask a function of east and north at each spot of a grid."""
    return told(*grid.east_north()).astype(np.float32)[None]


@pytest.mark.parametrize("height", [0.05, *HEIGHTS])
@pytest.mark.parametrize("bins", [2, 3, 4, 72, 360])
@pytest.mark.parametrize("angles", [ANGLES, [60.0, 75.0, 90.0], [89.9], [0.5]])
def test_weights_sum_to_one(height, bins, angles):
    kernels = kernels_for(height, angles, bins=bins)
    everywhere = np.ones((1, len(kernels.grid.edges_m) - 1, kernels.grid.rays), np.float32)
    result = shares(kernels, everywhere)
    assert result.shape == (1, len(angles), bins)
    assert np.abs(result - 1).max() < SUM_TOLERANCE
    assert np.all(shares(kernels, 0 * everywhere) == 0)


@pytest.mark.parametrize("height", [0.05, *HEIGHTS])
def test_ring_weights_are_the_area_of_each_ring(height):
    zones = first_zone(height, ANGLES, L1)
    kernels = build(zones, choose_grid(zones, 1.0, 72))
    dense = kernels.ring_weights()
    assert np.allclose(dense.sum(axis=1), 1.0, atol=SUM_TOLERANCE)
    # the mean of r² over an ellipse is R² + (a² + b²)/4 (derived here)
    a, b, c = zones
    mean = dense @ ((kernels.grid.edges_m[1:] ** 2 + kernels.grid.edges_m[:-1] ** 2) / 2)
    assert np.allclose(mean, c**2 + (a**2 + b**2) / 4, rtol=RING_MEAN_TOLERANCE)


def share_beyond_a_line(zone, azimuth_deg, facing_deg, distance):
    """Share of an ellipse beyond a straight line, from the area of a circular segment (derived here).

    Stretched to a unit circle, the line lies at `t` from the centre; beyond it lies
    (arccos t - t·sqrt(1 - t²)) / π of the circle.
    """
    turn = np.radians(azimuth_deg - facing_deg)
    a, b, c = zone
    t = (distance - c * np.cos(turn)) / np.sqrt((a * np.cos(turn)) ** 2 + (b * np.sin(turn)) ** 2)
    t = np.clip(t, -1.0, 1.0)
    return (np.arccos(t) - t * np.sqrt(1 - t**2)) / np.pi


@pytest.mark.parametrize("height", HEIGHTS)
@pytest.mark.parametrize("facing", [0.0, 33.0, 180.0, 271.0])
def test_the_share_beyond_a_straight_shore_is_a_circular_segment(height, facing):
    kernels = kernels_for(height)
    zones = first_zone(height, ANGLES, L1)
    for distance in (0.0, float(zones.near_m[8]), float(zones.centre_m[3])):
        f = np.radians(facing)
        got = shares(kernels, surface_on(
            kernels.grid, lambda e, n, f=f, least=distance: e * np.sin(f) + n * np.cos(f) > least))[0]
        centre = (np.arange(72) + 0.5) * 5.0
        wanted = share_beyond_a_line(Ellipse(*(p[:, None] for p in zones)), centre, facing, distance)
        assert np.abs(got - wanted).max() < EDGE_WORST_TOLERANCE
        assert np.abs(got - wanted).mean() < EDGE_MEAN_TOLERANCE


@pytest.mark.parametrize("height", HEIGHTS)
def test_the_share_of_a_sector_is_the_part_of_each_arc_within_it(height):
    """A sector whose edge runs through a bin's centre halves that bin's footprints."""
    kernels = kernels_for(height)
    east_half = shares(kernels, surface_on(
        kernels.grid, lambda e, n: (np.degrees(np.arctan2(e, n)) % 360 >= 42.5)
        & (np.degrees(np.arctan2(e, n)) % 360 < 222.5)))[0]
    assert np.abs(east_half[:, [8, 44]] - 0.5).max() < EDGE_WORST_TOLERANCE
    assert np.all(east_half[:, 26] > 1 - SUM_TOLERANCE) and np.all(east_half[:, 62] < SUM_TOLERANCE)


def test_a_narrow_sector_holds_the_closed_form_of_its_arcs():
    height, half_deg = 5.0, 2.0
    kernels = kernels_for(height, refine=4.0)
    got = shares(kernels, surface_on(
        kernels.grid, lambda e, n: np.abs(np.degrees(np.arctan2(e, n)) - 52.5) <= half_deg))[0, :, 10]
    for share, angle in zip(got, ANGLES):
        zone = first_zone(height, angle, L1)
        radius = np.linspace(float(zone.near_m), float(zone.far_m), 20_001)
        theta = half_width_rad(zone, radius)
        wanted = np.sum(np.minimum(theta, np.radians(half_deg)) * radius) / np.sum(theta * radius)
        assert share == pytest.approx(wanted, abs=EDGE_WORST_TOLERANCE / 4)


@pytest.mark.parametrize("height", HEIGHTS)
@pytest.mark.parametrize("bins", [3, 36, 72])
def test_turning_the_surface_turns_the_shares(height, bins):
    kernels = kernels_for(height, bins=bins)
    rng = np.random.default_rng(11)
    spots = rng.random((1, len(kernels.grid.edges_m) - 1, kernels.grid.rays), np.float32)
    once = shares(kernels, spots)
    for steps in (1, bins // 2, bins - 1):
        turned = shares(kernels, np.roll(spots, steps * kernels.grid.rays_per_bin, axis=-1))
        assert np.abs(turned - np.roll(once, steps, axis=-1)).max() < TURN_TOLERANCE


def test_layers_are_averaged_independently_and_linearly():
    kernels = kernels_for(5.0)
    rng = np.random.default_rng(3)
    one, other = rng.random((2, len(kernels.grid.edges_m) - 1, kernels.grid.rays), np.float32)
    both = shares(kernels, np.stack([one, other, 0.25 * one + 0.75 * other]))
    assert np.abs(0.25 * both[0] + 0.75 * both[1] - both[2]).max() < SUM_TOLERANCE
    assert np.abs(shares(kernels, one[None])[0] - both[0]).max() < SUM_TOLERANCE


def test_part_of_the_kernels_gives_part_of_the_shares():
    kernels = kernels_for([5.0, 6.0])
    spots = np.random.default_rng(3).random((1, len(kernels.grid.edges_m) - 1, kernels.grid.rays), np.float32)
    whole = shares(kernels, spots)
    assert np.abs(shares(kernels.part(16, 32), spots) - whole[:, 16:]).max() < SUM_TOLERANCE


def patches(height, seed):
    """Make a patchy surface with hard edges, its patches a fraction of a footprint in size."""
    rng = np.random.default_rng(seed)
    size = height * rng.uniform(1.5, 6.0, 12)
    heading, phase = rng.uniform(0, 2 * np.pi, (2, 12))

    def told(east, north):
        waves = [np.sin((east * np.sin(h) + north * np.cos(h)) * 2 * np.pi / s + p)
                 for h, s, p in zip(heading, size, phase)]
        return np.sum(waves, axis=0) > 0
    return told


@pytest.mark.parametrize("height", [2.0, 5.0, 15.0, 40.0, 100.0])
def test_shares_have_converged_against_a_grid_twice_and_four_times_as_fine(height):
    told = patches(height, 7)
    result = {}
    for refine in (1.0, 2.0, 4.0):
        kernels = kernels_for(height, refine=refine)
        result[refine] = shares(kernels, surface_on(kernels.grid, told))[0]
    for finer in (2.0, 4.0):
        difference = np.abs(result[1.0] - result[finer])
        assert difference.mean() < CONVERGED_MEAN
        assert np.percentile(difference, 99) < CONVERGED_P99
    assert np.abs(result[2.0] - result[4.0]).mean() < 0.6 * np.abs(result[1.0] - result[4.0]).mean()
    assert result[4.0].std() > 0.1, "a surface without contrast would converge on any grid"


def test_an_edge_that_points_at_the_site_is_resolved_between_rays():
    """A quay seen from its end: all that matters is on which side of one azimuth a spot lies."""
    kernels = kernels_for(100.0)
    step = 360.0 / kernels.grid.rays
    worst = 0.0
    for part in np.linspace(0.0, 1.0, 9):
        edge = 62.5 + part * step
        got = shares(kernels, surface_on(
            kernels.grid, lambda e, n, edge=edge: np.degrees(np.arctan2(e, n)) > edge))[0, :, 12]
        for share, angle in zip(got, ANGLES):
            zone = first_zone(100.0, angle, L1)
            radius = np.linspace(float(zone.near_m), float(zone.far_m), 2001)
            theta = half_width_rad(zone, radius)
            beyond = np.clip(theta - np.radians(edge - 62.5), 0.0, 2.0 * theta)
            worst = max(worst, abs(share - np.sum(beyond * radius) / np.sum(2.0 * theta * radius)))
    assert worst < EDGE_WORST_TOLERANCE


def test_the_narrowest_footprint_is_resolved_among_its_neighbours():
    """100 m and 5°: ±0.7°. A wedge of ±2.5° fills one bin, and nothing of it leaks into the next."""
    kernels = kernels_for(100.0)
    got = shares(kernels, surface_on(
        kernels.grid, lambda e, n: np.abs(np.degrees(np.arctan2(e, n)) - 62.5) <= 2.5))[0]
    assert got[0, 12] == pytest.approx(1.0, abs=SUM_TOLERANCE)
    assert got[0, [11, 13]] == pytest.approx(0.0, abs=SUM_TOLERANCE)


def test_kernels_are_kept_for_heights_that_come_again_and_the_oldest_go_first():
    cache = KernelCache(ANGLES, L1, 72, size=2)
    first = cache.get([5.0], 2.0)
    assert cache.get([5.0], 2.0) is first
    cache.get([6.0], 2.0)
    assert cache.get([5.0], 2.0) is first
    cache.get([7.0], 2.0)
    assert cache.get([5.0], 2.0) is first, "the one unused for longest goes, and that is 6 m"
    assert cache.get([5.0], 20.0) is not first
