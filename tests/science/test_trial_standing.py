"""What stands around an antenna: who hides whom, against lines walked in small steps."""

import numpy as np
import pytest
from stillwater.siting.trial.shapes import Cells, Disc, HalfPlane, Outside, Rectangle
from stillwater.siting.trial.standing import GROUND, Body, Standing

SHAPES = [HalfPlane(40.0, 25.0), HalfPlane(200.0, -5.0), Rectangle(12.0, 30.0, 65.0, 40.0, 14.0),
          Disc(-20.0, 35.0, 15.0), Outside(Disc(5.0, 0.0, 60.0)), Outside(Rectangle(0.0, -20.0, 20.0, 70.0, 60.0))]


def points(number=400, seed=3):
    rng = np.random.default_rng(seed)
    return rng.uniform(-80, 80, (2, number))


@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: type(shape).__name__)
def test_a_ray_is_inside_just_between_its_two_ends(shape):
    east, north = points()
    turn = np.random.default_rng(4).uniform(0, 2 * np.pi, len(east))
    toward = np.sin(turn), np.cos(turn)
    enters, leaves = shape.interval(east, north, *toward)
    for distance in (0.0, 0.5, 3.0, 10.0, 40.0, 100.0):
        inside = shape.contains(east + distance * toward[0], north + distance * toward[1])
        told = (distance > enters) & (distance < leaves)
        sure = np.minimum(np.abs(distance - enters), np.abs(distance - leaves)) > 1e-6
        if isinstance(shape, Outside):
            # a hole is looked at from within
            sure &= ~shape.contains(east, north)
        assert sure.sum() > 20
        np.testing.assert_array_equal(inside[sure], told[sure])


@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: type(shape).__name__)
def test_outlines_hold_what_the_shape_contains(shape):
    east, north = points()
    outline, holes = shape.rings(500.0)

    def within(ring):
        """Even-odd rule."""
        x1, y1 = ring.T[:, :, None]
        x2, y2 = np.roll(ring, -1, axis=0).T[:, :, None]
        with np.errstate(divide="ignore", invalid="ignore"):
            crosses = ((y1 > north) != (y2 > north)) & (east < x1 + (north - y1) / (y2 - y1) * (x2 - x1))
        return crosses.sum(axis=0) % 2 == 1

    told = within(outline)
    for hole in holes:
        told &= ~within(hole)
    # a circle of 360 vertices lies up to 2.3 mm inside the true one
    assert np.mean(told == shape.contains(east, north)) > 0.995


def test_lines_are_blocked_where_walking_along_them_meets_something_higher():
    standing = Standing(9.0, tuple(Body("piece", shape, top, GROUND) for shape, top in (
        (SHAPES[2], 4.0), (SHAPES[3], 7.0), (HalfPlane(200.0, 30.0), 2.5), (SHAPES[4], 20.0))))
    east, north = points(500)
    distance = np.hypot(east, north)
    on_water = ~np.any([piece.shape.contains(east, north) for piece in standing.pieces], axis=0)
    walk = np.linspace(0.0, 300.0, 12001)

    def walked(toward_east, toward_north, slope, within):
        x, y = east[:, None] + walk * toward_east[:, None], north[:, None] + walk * toward_north[:, None]
        line = walk * slope[:, None]
        return np.any([(piece.shape.contains(x, y) & (line < piece.top_m) & (walk < within[:, None])).any(axis=1)
                       for piece in standing.pieces], axis=0)

    to_antenna = -east / distance, -north / distance, 9.0 / distance
    hidden = standing.blocked(east, north, 0.0, *to_antenna, distance)
    assert 20 < hidden[on_water].sum() < on_water.sum() - 20
    assert np.mean((hidden == walked(*to_antenna, distance))[on_water]) > 0.99
    for azimuth, elevation in ((30.0, 6.0), (250.0, 15.0)):
        to_sky = (np.full(len(east), f(np.radians(azimuth))) for f in (np.sin, np.cos))
        to_sky = (*to_sky, np.full(len(east), np.tan(np.radians(elevation))))
        unlit = standing.blocked(east, north, 0.0, *to_sky)
        assert np.mean((unlit == walked(*to_sky, np.full(len(east), np.inf)))[on_water]) > 0.99


def test_a_quay_hides_the_water_at_its_foot_as_far_as_similar_triangles_say():
    """8 m over the water, 5.5 m over a quay that ends 15 m ahead: seen from 15 · 8/5.5 = 21.8 m on (derived here)."""
    quay = Body("quay", HalfPlane(180.0, -15.0), 2.5)
    worth = Standing(8.0, (quay,)).worth_of(None, 0.0)
    north = np.array([10.0, 16.0, 21.7, 21.9, 50.0])
    np.testing.assert_array_equal(worth(np.zeros(5), north, 0.0, 0.2), [0, 0, 0, 1, 1])
    # 1 m lower water is seen from 15 · 9/5.5 = 24.5 m on
    north = np.array([24.4, 24.7])
    np.testing.assert_array_equal(Standing(8.0, (quay,)).worth_of(None, -1.0)(np.zeros(2), north, 0.0, 0.2), [0, 1])


def test_a_wall_behind_the_water_shades_it_as_far_as_the_satellite_is_low():
    """A wall of 10 m, 100 m away, shades 10/tan 10° = 56.7 m before it (derived here)."""
    standing = Standing(8.0, (Body("wall", HalfPlane(0.0, 100.0), 10.0),))
    worth = standing.worth_of(None, 0.0)
    north = np.array([43.2, 43.4, 99.0])
    slope = np.tan(np.radians(10.0))
    np.testing.assert_array_equal(worth(np.zeros(3), north, 0.0, slope), [1, 0, 0])
    np.testing.assert_array_equal(worth(np.zeros(3), north, 180.0, slope), [1, 1, 1])
    # the satellite itself: 2 m above the antenna at 100 m is 1.15°
    np.testing.assert_array_equal(standing.is_clear([0.0, 0.0, 180.0], [1.1, 1.2, 1.1]), [False, True, True])


def test_the_highest_piece_owns_a_spot_and_water_covers_what_is_lower():
    low, high = Body("flat", Rectangle(0, 30, 0, 20, 20), 0.5), Body("block", Rectangle(0, 35, 0, 4, 4), 2.0)
    standing = Standing(8.0, (low, high))
    spot = np.zeros(1), np.array([35.0])
    assert standing.worth_of(high, 0.0)(*spot, 0.0, 1.0) == 1
    assert standing.worth_of(low, 0.0)(*spot, 0.0, 1.0) == 0 and standing.worth_of(None, 0.0)(*spot, 0.0, 1.0) == 0
    assert standing.surfaces(0.0) == [None, low, high]
    assert standing.surfaces(1.0) == [None, high], "the flat is under water"
    assert standing.worth_of(None, 1.0)(np.zeros(1), np.array([25.0]), 0.0, 1.0) == 1
    assert standing.surfaces(7.9) == [], "nothing reflects within the mount"


def test_cells_tell_coasts_of_any_form():
    land = Cells(np.array([[True, False], [False, False]]), -10.0, -10.0, 10.0)
    np.testing.assert_array_equal(land.contains(np.array([-5.0, 5.0, -5.0, -50.0]), np.array([-5.0, -5.0, 5.0, -50.0])),
                                  [True, False, False, True])
    assert not Standing(5.0, (Body("land", land, 1.0),)).blocked(
        np.array([20.0]), np.zeros(1), 0.0, -1.0, 0.0, 0.01).any()
