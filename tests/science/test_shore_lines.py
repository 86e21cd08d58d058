"""Shorelines as lines: joining, crossings, distances, the plane of metres, sides of faces."""

import numpy as np
import pytest
from pyproj import Geod
from stillwater.siting.errors import InputError
from stillwater.siting.shore.chains import Chain, Piece, join, ring_area
from stillwater.siting.shore.faces import ShoreNet, ShoreSides, outward
from stillwater.siting.shore.plane import LONGEST_STEP_M, ShorePlane, dense_lonlat
from stillwater.siting.shore.segments import Segments

GEOD = Geod(ellps="WGS84")
SQUARE = np.array([[0, 0], [10, 0], [10, 10], [0, 10], [0, 0]], float)


def piece(*xy, feature=1):
    """Make a piece."""
    return Piece(np.array(xy, float), feature)


def chain(*xy, feature=1):
    """Make an open chain, or a ring where its ends are one."""
    xy = np.array(xy, float)
    return Chain(xy, np.full(len(xy) - 1, feature), bool(np.array_equal(xy[0], xy[-1])))


def test_pieces_join_in_any_order_and_keep_their_features():
    found = join([piece((20, 0), (30, 0), feature=3), piece((0, 0), (10, 0), feature=1),
                  piece((10.5, 0), (20, 0.5), feature=2)], 1.0, may_turn=False)
    one, = found.chains
    assert one.features == [1, 2, 3] and not one.is_ring and len(one.owner) == len(one.xy) - 1
    assert one.xy.tolist() == [[0, 0], [10, 0], [20, 0.5], [30, 0]]
    assert not (found.gaps or found.loose or found.opposed)


def test_four_sides_make_a_ring_and_its_winding_tells_its_area():
    sides = [piece(*SQUARE[k:k + 2], feature=k) for k in (2, 0, 3, 1)]
    one, = join(sides, 0.1, may_turn=False).chains
    assert one.is_ring and one.area_m2 == pytest.approx(100.0) and sorted(one.features) == [0, 1, 2, 3]
    assert one.turned().area_m2 == pytest.approx(-100.0) and one.turned().is_turned
    assert ring_area(SQUARE[::-1]) == -100.0


def test_lines_that_run_against_each_other_join_only_where_direction_means_nothing():
    pieces = [piece((0, 0), (10, 0), feature=1), piece((20, 0), (10, 0), feature=2)]
    found = join(pieces, 1.0, may_turn=False)
    assert len(found.chains) == 2 and found.opposed[0].features == (1, 2) and found.opposed[0].xy.tolist() == [10, 0]
    one, = join(pieces, 1.0, may_turn=True).chains
    assert one.xy[[0, -1], 0].tolist() in ([0, 20], [20, 0])


def test_gaps_wider_than_the_tolerance_are_bridged_and_named_and_wider_ones_left():
    found = join([piece((0, 0), (100, 0)), piece((105, 0), (300, 0), feature=2)], 1.0, may_turn=False)
    assert len(found.chains) == 1 and found.gaps[0].width_m == 5.0 and found.gaps[0].features == (1, 2)
    assert found.chains[0].owner.tolist() == [1, 2, 2]
    assert len(join([piece((0, 0), (100, 0)), piece((115, 0), (300, 0))], 1.0, may_turn=False).chains) == 2
    ring = [(100 * np.cos(a), 100 * np.sin(a)) for a in np.linspace(0, 2 * np.pi - 0.2, 50)]
    found = join([piece(*ring)], 1.0, may_turn=False)
    assert not found.chains[0].is_ring and found.loose[0].width_m == pytest.approx(200 * np.sin(0.1))


def test_pieces_no_longer_than_the_gap_between_them_are_not_bridged():
    assert len(join([piece((0, 0), (10, 0)), piece((15, 0), (30, 0))], 1.0, may_turn=False).chains) == 2


def test_a_short_line_is_no_ring_though_its_ends_are_near():
    one, = join([piece((0, 0), (1, 0), (2, 0), (3, 0))], 5.0, may_turn=False).chains
    assert not one.is_ring


@pytest.mark.parametrize("gap, is_ring", [(4.0, True), (10.0, False)])
def test_a_line_is_a_ring_only_where_its_opening_is_a_small_part_of_it(gap, is_ring):
    """Three sides of a field within the tolerance: an opening as wide as a side is a bay, not a slip of the pen."""
    one, = join([piece((0, 0), (10, 0), (10, 10), (gap, 10), (0, gap))], 20.0, may_turn=False).chains
    assert one.is_ring == is_ring


@pytest.mark.parametrize("lines, crossings", [
    ([[(0, 0), (10, 10)], [(0, 10), (10, 0)]], 1),                            # X
    ([[(0, 0), (10, 10), (10, 0), (0, 10)]], 1),                              # a bow tie
    ([[(0, 0), (5, 5), (10, 10)], [(0, 10), (5, 5), (10, 0)]], 1),            # X at a vertex of both
    ([[(0, 0), (10, 10)], [(0, 10), (5, 5), (10, 0)]], 1),                    # X at a vertex of one
    ([[(0, 0), (5, 5), (10, 0)], [(0, 10), (5, 5), (10, 10)]], 0),            # they touch
    ([[(0, 0), (10, 0)], [(5, 0), (5, 10)]], 0),                              # one ends on the other
    ([SQUARE.tolist()], 0),
    ([SQUARE.tolist(), [(-5, 0), (0, 0), (5, 5)]], 1),                        # through a ring's first vertex
    ([[(0, 0), (10, 0), (20, 0)], [(30, 5), (10, 0), (0, 0), (-9, 5)]], 1),   # a step in common
])
def test_crossings_are_told_from_touching(lines, crossings):
    found = Segments.of_lines([np.array(xy, float) for xy in lines]).crossings()
    assert len(found) == crossings
    for one in found:
        assert one.xy.tolist() == pytest.approx([5, 5]) or len(lines) > 1


def test_crossings_and_distances_of_many_segments_agree_with_shapely():
    shapely = pytest.importorskip("shapely.geometry")
    rng = np.random.default_rng(3)
    way = np.cumsum(rng.normal(0, 5, (600, 2)), axis=0)
    segments = Segments.of_lines([way])
    steps = [shapely.LineString(way[k:k + 2]) for k in range(len(way) - 1)]
    count = sum(steps[i].crosses(steps[j]) for i in range(len(steps)) for j in range(i + 2, len(steps)))
    found = segments.crossings(most=10**6)
    assert len(found) == count > 50 and {f.one < f.other for f in found} == {True}
    line = shapely.LineString(way)
    for xy in rng.uniform(way.min(axis=0) - 50, way.max(axis=0) + 50, (50, 2)):
        dist, index, place = segments.distance(xy)
        assert dist == pytest.approx(line.distance(shapely.Point(xy))) == pytest.approx(np.hypot(*(place - xy)))
        assert steps[index].distance(shapely.Point(place)) < 1e-9
        hits, share = segments.hits(xy, way[300])
        leg = shapely.LineString([xy, way[300]])
        assert set(hits[share < 1 - 1e-9]) == {k for k, s in enumerate(steps) if s.intersects(leg)} - {299, 300} or (
            len(hits) >= sum(s.crosses(leg) for s in steps))
    assert segments.crossings(most=5) == [] or len(segments.crossings(most=5)) == 5
    assert Segments.of_lines([]).distance(np.zeros(2))[0] == np.inf


def test_the_plane_keeps_true_metres_and_azimuths_off_its_middle():
    lon, lat, _ = GEOD.fwd([10.0] * 3, [70.0] * 3, [0.0, 90.0, 200.0], [0.0, 60_000.0, 60_000.0])
    plane = ShorePlane(np.array(lon), np.array(lat))
    xy = plane.project(np.array(lon), np.array(lat))
    assert plane.lengths(xy[[0, 1]])[0] == pytest.approx(60_000.0, abs=1e-3)
    moved = plane.moved(xy[1:2], np.array([37.0]), 250.0)
    azimuth, _back, dist = GEOD.inv(lon[1], lat[1], *(float(v[0]) for v in plane.lonlat(moved)))
    assert azimuth == pytest.approx(37.0, abs=1e-4) and dist == pytest.approx(250.0, abs=1e-4)
    assert plane.azimuth(xy[1:2], moved - xy[1:2])[0] == pytest.approx(37.0, abs=0.01)
    with pytest.raises(InputError, match="Clip it"):
        ShorePlane(np.array([0.0, 40.0]), np.array([0.0, 0.0]))


def test_long_steps_follow_the_map_and_may_cross_its_cut():
    lon, lat = dense_lonlat([10.0, 10.5], [60.0, 60.0], "EPSG:4326")
    steps = GEOD.inv(lon[:-1], lat[:-1], lon[1:], lat[1:])[2]
    assert max(steps) <= LONGEST_STEP_M and np.allclose(lat, 60.0)  # a parallel, as it is drawn
    lon, lat = dense_lonlat([179.999, -179.999], [10.0, 10.0], "EPSG:4326")
    assert len(lon) == 2 and np.ptp(lon) == pytest.approx(0.002)


def test_faces_know_their_side_from_the_shore_on_their_rim():
    shore = chain((0, 0), (0, 10))  # to the north: water is west
    net = ShoreNet([shore])
    assert outward(shore, -1, 100.0).tolist() == [0, 1] and outward(shore, 0, 100.0).tolist() == [0, -1]
    net.carry_on(0, -1, np.array([0.0, 1.0]), 50.0)
    assert net.continuations[0].tolist() == [[0, 10], [0, 60]]
    sides = ShoreSides(net)
    west = np.array([[0, 0], [0, 10], [-10, 10], [-10, 0], [0, 0]], float)
    for ring in (west, west[::-1]):
        rim = sides.rim([ring])
        assert (rim.water_m, rim.land_m, rim.real) == (10.0, 0.0, True)
        assert rim.water_at.tolist() == [0, 5] and rim.land_at is None
        assert sides.rim([ring * [-1, 1]]).land_m == 10.0
    only = sides.rim([np.array([[0, 10], [0, 60], [-10, 60], [0, 10]], float)])
    assert (only.water_m, only.real) == (50.0, False)
    island = ShoreSides(ShoreNet([Chain(SQUARE[::-1], np.ones(4, int), True)]))
    outer = 100.0 * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1], [-1, -1]], float)
    assert island.rim([outer, SQUARE]).water_m == 40.0 and island.rim([SQUARE]).land_m == 40.0


def test_open_ends_are_fastened_within_the_tolerance_and_stop_at_what_lies_in_the_way():
    net = ShoreNet([chain((0, 0), (0, 100)), chain((50, 40), (0.5, 40), feature=2), chain((20, 200), (-20, 200))])
    assert net.fasten(1.0) == {(1, -1)}
    assert [0.5, 40.0] in net.chains[0].xy.tolist() and len(net.chains[0].owner) == 2
    net.carry_on(0, -1, np.array([0.0, 1.0]), 500.0)
    assert net.continuations[0][-1].tolist() == [0, 200] and [0, 200] in net.chains[2].xy.tolist()
