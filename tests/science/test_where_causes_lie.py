"""Where on the ground a cause lies, and how its share is averaged: on arrays so small that all can be counted."""
from types import SimpleNamespace

import numpy as np
import pytest
from stillwater.siting.ground.kernels import KernelCache
from stillwater.siting.signals import wavelength_m
from stillwater.siting.verdict.causes import mean_in_bins, spread_along_rings, where_it_lies

L1 = wavelength_m("GPS L1")
EDGES = np.array([2.0, 3.0, 5.0, 8.0, 13.0, 21.0])
RINGS = len(EDGES) - 1


def lies(shares, touched=None):
    """Ask of one bin."""
    share = np.array(shares, float)[:, None]
    touched = np.ones(RINGS, bool) if touched is None else np.array(touched, bool)
    near, far = where_it_lies(share, touched[:, None], EDGES)
    return float(near[0]), float(far[0])


@pytest.mark.parametrize("shares, place", [
    ([1, 1, 1, 1, 1], (2, 21)), ([0, 1, 0, 0, 0], (3, 5)), ([0, 0, 0, 0, 1], (13, 21)), ([1, 0, 0, 0, 0], (2, 3)),
    ([0, 1, 0, 1, 0], (3, 13)), ([0, 0, 0, 0, 0], (0, 0))])
def test_it_lies_from_its_nearest_ring_to_its_farthest(shares, place):
    assert lies(shares) == place


def test_a_trace_beside_much_is_not_where_it_lies():
    # a quarter of a ring's arc is told (the convention), less is not
    assert lies([0.2, 0.24, 0.25, 1.0, 0.1]) == (5, 13)
    assert lies([0.26, 0.0, 0.0, 1.0, 0.0]) == (2, 13)
    # where there is nowhere a half, half of the most counts
    assert lies([0.04, 0.06, 0.1, 0.05, 0.01]) == (3, 13)
    # the last bits of a sum decide nothing
    assert lies([0.0, 0.25 - 1e-6, 0.0, 1.0, 0.0]) == (3, 13)


def test_only_rings_under_footprints_that_fail_count():
    assert lies([1, 1, 1, 1, 1], [0, 0, 1, 1, 0]) == (5, 13)
    assert lies([1, 0, 0, 0, 1], [0, 1, 1, 1, 0]) == (0, 0)
    # bins are apart from one another
    share = np.array([[1.0, 0.0], [0.0, 0.0], [0.0, 1.0], [0.0, 0.0], [0.0, 0.0]])
    near, far = where_it_lies(share, np.ones((RINGS, 2), bool), EDGES)
    assert near.tolist() == [2, 5] and far.tolist() == [3, 8]


@pytest.mark.parametrize("kind", [np.float32, bool])
def test_spots_are_averaged_over_the_rays_of_each_bin(kind):
    spots = (np.random.default_rng(5).random((4, 30)) > 0.5).astype(kind)
    mean = mean_in_bins(spots, 6)
    assert mean == pytest.approx(np.mean(spots.reshape(4, 6, 5).astype(float), axis=-1))
    assert mean_in_bins(spots, 30) == pytest.approx(spots.astype(float))


@pytest.fixture(scope="module")
def kernels():
    return KernelCache([5.0, 15.0], L1, 72).get([8.0], 1.0)


def test_a_mean_along_rings_is_that_over_arcs_as_wide_as_the_footprints(kernels):
    """Against a count over a ring of ten thousand places."""
    rings = len(kernels.grid.edges_m) - 1
    layers = np.random.default_rng(9).random((2, rings, 72))
    bins = np.array([0, 1, 40, 71])
    found = spread_along_rings(layers, kernels, bins)
    assert found.shape == (2, rings, 4)
    place = (np.arange(720_000) + 0.5) / 10_000.0
    covered = np.unique(kernels.ring)
    for ring in covered[[3, len(covered) // 2, -3]]:
        mine = kernels.ring == ring
        # half the arc [bins]: half the rays that the footprints cover there, by their area
        half = np.sum(kernels.area[mine] * kernels.half_width_rays[mine]) / kernels.area[mine].sum()
        half = max(half / kernels.grid.rays_per_bin, 0.5)
        for column, chosen in enumerate(bins):
            apart = np.abs((place - chosen - 0.5 + 36.0) % 72.0 - 36.0)
            told = layers[:, ring, (place[apart < half]).astype(int)].mean(axis=-1)
            assert found[:, ring, column] == pytest.approx(told, abs=1e-3)


def test_narrow_footprints_take_the_bin_and_very_wide_ones_the_whole_ring():
    grid = SimpleNamespace(rays_per_bin=10, bins=8)
    layers = np.arange(16.0).reshape(1, 2, 8)
    # ±2 rays are a fifth of a bin, ±200 rays go round more than twice
    made = SimpleNamespace(grid=grid, ring=np.array([0, 1]), area=np.array([0.5, 0.5]),
                           half_width_rays=np.array([2.0, 200.0]))
    found = spread_along_rings(layers, made, np.array([0, 5]))
    assert found[0, 0] == pytest.approx([0.0, 5.0]) and found[0, 1] == pytest.approx([11.5, 11.5])


def test_where_footprints_differ_in_width_their_mean_by_area_counts():
    grid = SimpleNamespace(rays_per_bin=10, bins=8)
    layers = np.arange(8.0).reshape(1, 1, 8)**2
    # 0.75 × 10 + 0.25 × 30 rays = ±15: from bin 2.0 to 5.0 around the middle of bin 3
    made = SimpleNamespace(grid=grid, ring=np.array([0, 0]), area=np.array([0.75, 0.25]),
                           half_width_rays=np.array([10.0, 30.0]))
    assert spread_along_rings(layers, made, np.array([3]))[0, 0, 0] == pytest.approx((4 + 9 + 16) / 3.0)
    # over north: around the middle of bin 0 lie 7, 0 and 1
    assert spread_along_rings(layers, made, np.array([0]))[0, 0, 0] == pytest.approx((49 + 0 + 1) / 3.0)
