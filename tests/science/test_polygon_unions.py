"""A polygon that stands twice, in one group or in several, is the same ground: the union, exact along each ray."""

import numpy as np
import pytest
from stillwater.siting.assess import assess
from stillwater.siting.geometry.fresnel import first_zone
from stillwater.siting.ground.polargrid import choose_grid
from stillwater.siting.ground.polygons import PolygonSampler
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.settings import Settings
from stillwater.siting.signals import wavelength_m

geometry = pytest.importorskip("shapely.geometry")
ops = pytest.importorskip("shapely.ops")

L1 = wavelength_m("GPS L1")
GRID = choose_grid(first_zone(5.0, np.arange(5.0, 21.0), L1), 0.0, 72)
REACH = float(GRID.edges_m[-1])
SAME = 2e-6  # rounding in single precision
# vertices of a union lie where edges cross, to rounding; a ray beside one may see the other edge
UNION = 1e-3
SEA = [(-400, 8), (400, 25), (400, 400), (-400, 400)]
SETTINGS = Settings(L1, tuple(float(e) for e in range(5, 21)))


def coverage_of(layer, lonlat, sets):
    return PolygonSampler(layer, *lonlat, REACH).coverage_of(0, GRID, sets)


def blob(rng):
    """Make a star-shaped polygon of 30 vertices near the site."""
    angle = np.sort(rng.uniform(0.0, 2.0 * np.pi, 30))
    radius = rng.uniform(0.2, 0.7, 30) * REACH
    middle = rng.uniform(-0.5, 0.5, 2) * REACH
    return middle + np.stack([radius * np.cos(angle), radius * np.sin(angle)], axis=-1)


def outlines_of(shape, group=0):
    return [(list(part.exterior.coords), [list(hole.coords) for hole in part.interiors], group)
            for part in getattr(shape, "geoms", [shape])]


@pytest.mark.parametrize("seed", range(4))
def test_a_polygon_that_stands_twice_in_a_group_covers_what_it_covers_once(seed, local_rings, middle_lonlat):
    ring = blob(np.random.default_rng(seed))
    once = PolygonSampler(local_rings((ring, [], 0)), *middle_lonlat, REACH).coverage(0, GRID)[0]
    twice = PolygonSampler(local_rings((ring, [], 0), (ring[::-1], [], 0)), *middle_lonlat, REACH).coverage(0, GRID)[0]
    assert np.abs(twice - once).max() < SAME
    assert ((once > 0.01) & (once < 0.99)).any()


@pytest.mark.parametrize("seed", range(6))
def test_overlapping_parts_cover_their_union_spot_by_spot(seed, local_rings, middle_lonlat):
    """Against the union that shapely makes (GEOS, a general-purpose library)."""
    rng = np.random.default_rng(50 + seed)
    shapes = [geometry.Polygon(blob(rng)).buffer(0) for _ in range(4)]
    joined = ops.unary_union(shapes)
    parts = [one for shape in shapes for one in outlines_of(shape)]
    groups = [(outline, holes, number) for number, (outline, holes, _group) in enumerate(parts)]
    wanted = PolygonSampler(local_rings(*outlines_of(joined)), *middle_lonlat, REACH).coverage(0, GRID)[0]
    together = PolygonSampler(local_rings(*parts), *middle_lonlat, REACH).coverage(0, GRID)[0]
    layer = local_rings(*groups, groups=len(groups))
    apart = coverage_of(layer, middle_lonlat, [range(len(groups))])[0]
    for found in (together, apart):
        assert np.abs(found - wanted).max() < UNION
        assert np.abs(found - wanted).mean() < 1e-6


def test_sets_of_groups_are_told_each_for_itself(local_rings, middle_lonlat):
    rng = np.random.default_rng(9)
    rings = [blob(rng) for _ in range(3)]
    layer = local_rings(*((ring, [], number) for number, ring in enumerate(rings)), groups=4)
    found = coverage_of(layer, middle_lonlat, [[0], [1, 2], [0, 1, 2], [3], []])
    assert [part is not None for part in found] == [True, True, True, False, False]
    for part, chosen in zip(found, ([0], [1, 2], [0, 1, 2])):
        alone = local_rings(*((rings[number], [], 0) for number in chosen))
        assert np.abs(part - PolygonSampler(alone, *middle_lonlat, REACH).coverage(0, GRID)[0]).max() < SAME


def shares(candidate, **layers):
    (_index, found), = assess([candidate(5.0)], SurfaceLayers(**layers), SETTINGS)
    return found


def test_water_that_is_drawn_twice_gives_the_same_shares(local_rings, candidate):
    once = shares(candidate, water=local_rings((SEA, [], 0)))
    twice = shares(candidate, water=local_rings((SEA, [], 0), (SEA, [], 0)))
    groups = shares(candidate, water=local_rings((SEA, [], 0), (SEA, [], 1), groups=2))
    assert 0.2 < once.share.mean() < 0.8
    for other in (twice, groups):
        assert np.abs(other.usable - once.usable).max() < SAME


BERTH = [(-30, 15), (40, 20), (35, 60), (-20, 55)]
BESIDE = [(10, 10), (80, 30), (70, 70), (15, 50)]


@pytest.mark.parametrize("times", [[1.0, 1.0], [0.3, 0.3], [1.0, 0.4]])
def test_an_area_to_avoid_that_is_drawn_twice_costs_as_much_as_once(times, local_rings, candidate):
    water = local_rings((SEA, [], 0))

    def avoided(*polygons, shares_of):
        layer = local_rings(*polygons, groups=len(shares_of))
        return shares(candidate, water=water, avoid=layer, avoid_names=[f"berth {n}" for n in range(len(shares_of))],
                      avoid_shares=np.array(shares_of))

    once = avoided((BERTH, [], 0), shares_of=times[:1])
    twice = avoided((BERTH, [], 0), (BERTH, [], 1), shares_of=times)
    assert once.share_of("avoid").max() > 0.1
    for what in ("avoid", "usable"):
        assert np.abs(twice.share_of(what) - once.share_of(what)).max() < SAME
    if times[0] < 1:
        assert once.busy.any() and np.array_equal(once.busy, twice.busy)


def test_where_areas_overlap_the_largest_share_of_the_time_counts(local_rings, middle_lonlat, candidate):
    """Area × time, spot by spot: the step of time from one share to the next times the union of what spoils longer."""
    layer = local_rings((BERTH, [], 0), (BESIDE, [], 1), groups=2)
    found = shares(candidate, water=local_rings((SEA, [], 0)), avoid=layer, avoid_names=["berth", "ferry"],
                   avoid_shares=np.array([0.2, 0.7]))
    grid = found.kernels.grid
    area = (np.pi * np.diff(grid.edges_m**2) / grid.rays)[:, None]
    berth, beside = geometry.Polygon(BERTH), geometry.Polygon(BESIDE)
    wanted = 0.7 * beside.area + 0.2 * berth.difference(beside).area
    assert float(np.sum(found.surface.avoid * area)) == pytest.approx(wanted, rel=2e-3)
    assert [share for share, _cover in found.surface.partly] == [0.7, 0.2]
    for (_share, cover), shape in zip(found.surface.partly, (beside, ops.unary_union([berth, beside]))):
        assert float(np.sum(cover * area)) == pytest.approx(shape.area, rel=2e-3)


def test_the_higher_waves_count_where_water_polygons_overlap(local_rings, candidate):
    def look(*polygons, waves):
        return shares(candidate, water=local_rings(*polygons, groups=len(waves)), water_waves=np.array(waves))

    whole = [(-900, -900), (900, -900), (900, 900), (-900, 900)]
    once = look((whole, [], 0), waves=[0.4])
    twice = look((whole, [], 0), (whole, [], 1), (whole, [], 2), waves=[0.4, 0.2, 0.4])
    assert np.abs(once.rms_m - 0.1).max() < 1e-6
    assert np.abs(twice.rms_m - once.rms_m).max() < 1e-6


def test_a_polygon_between_two_rays_is_nothing_and_ends_no_run(local_rings, middle_lonlat, candidate):
    """Smaller than the finest spot, it meets no ray; whoever asks gets no coverage, not a hole in the run."""
    turn, radius = 2.0 * np.pi / GRID.rays, REACH / 2.0
    # rays of all phases stand about the middle of a spot; this lies on a spot's very edge
    angle = 10 * turn + np.array([-1e-6, 1e-6, 1e-6, -1e-6])
    far = radius + np.array([0.0, 0.0, 0.01, 0.01])
    speck = local_rings((list(zip(far * np.sin(angle), far * np.cos(angle))), [], 0))
    assert PolygonSampler(speck, *middle_lonlat, REACH).around(0, GRID) is None
    found = shares(candidate, water=speck)
    assert found.usable.max() == 0.0
