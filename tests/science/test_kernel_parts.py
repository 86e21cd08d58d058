"""Footprints cut by rings, each part against closed forms of the ellipse and against sums in plain Python."""
import numpy as np
import pytest
from scipy import integrate
from stillwater.siting.geometry.fresnel import Ellipse, first_zone, half_width_rad
from stillwater.siting.ground.kernels import KernelCache, build, running_sums, shares
from stillwater.siting.ground.polargrid import choose_grid

L1 = 299_792_458.0 / 1575.42e6
ANGLES = np.array([5.0, 9.0, 20.0])
SINGLE = 2e-5  # sums in single precision


@pytest.fixture(scope="module")
def kernels():
    return KernelCache(ANGLES, L1, 72).get([4.0, 6.0], 1.0)


def rows_of(kernels, footprint):
    return slice(kernels.start[footprint], kernels.start[footprint + 1])


def test_each_row_is_a_ring_that_the_footprint_meets_with_its_arc_and_area(kernels):
    """By scipy's quadrature of the arc 2 θ(r) r over the ring; the whole is π a b."""
    edges, zones = kernels.grid.edges_m, first_zone(6.0, ANGLES, L1)
    step = 2.0 * np.pi / kernels.grid.rays
    for index in range(3):
        zone = Ellipse(*(float(part[index]) for part in zones))
        rows = rows_of(kernels, 3 + index)
        rings, area, half = kernels.ring[rows], kernels.area[rows], kernels.half_width_rays[rows]
        inside = np.flatnonzero((edges[1:] > zone.near_m) & (edges[:-1] < zone.far_m))
        assert set(inside[1:-1]) <= set(rings) <= set(inside) and (np.diff(rings) == 1).all()
        assert area.sum() == pytest.approx(1.0)
        for row in range(2, len(rings) - 2):
            low, high = edges[rings[row]], edges[rings[row] + 1]
            told, _error = integrate.quad(lambda r, zone=zone: 2.0 * float(half_width_rad(zone, r)) * r, low, high)
            assert area[row] == pytest.approx(told / (np.pi * zone.semi_major_m * zone.semi_minor_m), rel=0.02)
            assert half[row] * step == pytest.approx(told / (high**2 - low**2), rel=0.02)


def test_weights_of_rings_are_the_areas_where_they_lie(kernels):
    dense = kernels.ring_weights()
    assert dense.shape == (6, len(kernels.grid.edges_m) - 1)
    for index in range(6):
        rows = rows_of(kernels, index)
        wanted = np.zeros(dense.shape[1])
        wanted[kernels.ring[rows]] = kernels.area[rows]
        assert dense[index] == pytest.approx(wanted, abs=1e-7)


def test_a_part_is_what_would_be_built_alone(kernels):
    part, zones = kernels.part(2, 5), KernelCache(ANGLES, L1, 72).zones([4.0, 6.0])
    alone = build(Ellipse(*(one.ravel()[2:5] for one in zones)), kernels.grid)
    assert part.start.tolist() == alone.start.tolist() and part.start[0] == 0
    assert part.ring.tolist() == alone.ring.tolist() and part.area == pytest.approx(alone.area)
    assert part.weight == pytest.approx(alone.weight) and part.pad == kernels.pad and part.grid is kernels.grid
    spots = np.random.default_rng(1).random((2, len(kernels.grid.edges_m) - 1, kernels.grid.rays), np.float32)
    assert shares(part, spots) == pytest.approx(shares(kernels, spots)[:, 2:5], abs=SINGLE)


def test_repeated_bins_reach_just_as_far_as_the_widest_arc(kernels):
    widest = kernels.half_width_rays.max() / kernels.grid.rays_per_bin
    assert widest <= kernels.pad <= widest + 1.5
    # no look-up runs out of its row
    places = (kernels.grid.rays_per_bin + 1) * (72 + 2 * kernels.pad)
    assert ((kernels.place - kernels.ring[:, None] * places >= 0).all()
            and (kernels.place - kernels.ring[:, None] * places < places).all())


@pytest.mark.parametrize("bins, per_bin, pad", [(4, 3, 1), (5, 1, 2), (3, 4, 7), (6, 2, 0)])
def test_running_sums_are_those_of_a_count(bins, per_bin, pad):
    spots = np.random.default_rng(bins).random((2, 3, bins * per_bin)).astype(np.float32)
    sums = running_sums(spots, bins, pad)
    assert sums.shape == (2, 3, per_bin + 1, pad + bins + pad)
    for layer, ring in ((0, 0), (1, 2)):
        total, ray = 0.0, -pad * per_bin
        for column in range(pad + bins + pad):
            for row in range(per_bin + 1):
                assert sums[layer, ring, row, column] == pytest.approx(total, abs=1e-4)
                if row < per_bin:
                    total, ray = total + float(spots[layer, ring, ray % (bins * per_bin)]), ray + 1


def test_a_share_is_a_count_over_arcs_and_rings():
    """In plain Python: each ring's arc, centred on its bin, over spots that are as wide as the ray's step."""
    zones = first_zone(5.0, np.array([6.0, 18.0]), L1)
    kernels = build(zones, choose_grid(zones, 1.0, 12))
    grid = kernels.grid
    spots = np.random.default_rng(4).random((len(grid.edges_m) - 1, grid.rays), np.float32)
    found = shares(kernels, spots[None])[0]
    for footprint in range(2):
        rows = rows_of(kernels, footprint)
        for chosen in (0, 5, 11):
            told = 0.0
            for ring, area, half in zip(kernels.ring[rows], kernels.area[rows], kernels.half_width_rays[rows]):
                middle = (chosen + 0.5) * grid.rays_per_bin
                # a spot lies half a step to either side of its ray, which looks to p + phase
                first = np.arange(-grid.rays, 2 * grid.rays) + grid.phase[ring] - 0.5
                cover = np.clip(np.minimum(first + 1, middle + half) - np.maximum(first, middle - half), 0, None)
                told += area * np.sum(cover * np.tile(spots[ring], 3)) / (2.0 * half)
            assert found[footprint, chosen] == pytest.approx(told, abs=1e-4)


def test_the_cache_knows_sets_by_heights_and_by_cells_of_two_digits():
    cache = KernelCache([10.0], L1, 12)
    one = cache.get([5.0], 1.234)
    assert cache.get([5.0], 1.16) is one and cache.get(np.array([5.0]), 1.2) is one
    assert cache.get([5.0], 1.26) is not one and cache.get([5.0, 4.0], 1.2) is not one
    assert len(cache.get([5.0, 4.0], 1.2).start) == 3
    zones = cache.zones([5.0, 4.0])
    assert zones.semi_major_m.shape == (2, 1)
    assert zones.semi_minor_m[1, 0] == pytest.approx(float(first_zone(4.0, 10.0, L1).semi_minor_m))


def test_only_so_many_sets_are_kept():
    cache = KernelCache([10.0], L1, 12, size=1)
    first = cache.get([5.0], 1.0)
    assert cache.get([5.0], 1.0) is first
    other = cache.get([6.0], 1.0)
    assert cache.get([6.0], 1.0) is other and cache.get([5.0], 1.0) is not first
    finer = KernelCache([10.0], L1, 12, refine=2.0).get([5.0], 1.0)
    assert len(finer.grid.edges_m) - 1 == pytest.approx(2 * (len(first.grid.edges_m) - 1), abs=2)
