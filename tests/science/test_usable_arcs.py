"""Arcs over usable directions: scenes that a person can follow, and a count in plain Python beside the fast one."""
import numpy as np
import pytest
from stillwater.siting.signals import wavelength_m
from stillwater.siting.sky.arcs import Arcs, arcs_over
from stillwater.siting.sky.clock import read_date
from stillwater.siting.sky.nominal import NominalOrbits
from stillwater.siting.sky.sky import Sky
from stillwater.siting.sky.usable import (
    GAP_MARGIN_S,
    longest_gap_s,
    longest_pieces,
    place,
    usable_vertices,
    vertices_of,
)

L1 = wavelength_m("GPS L1")
ANGLES = np.arange(5.0, 21.0)


@pytest.fixture(scope="module")
def sky():
    return Sky(NominalOrbits(["GPS", "GLONASS"]), read_date("2026-06-01"), 2, 5.0, 20.0, GAP_MARGIN_S)


@pytest.fixture(scope="module")
def arcs(sky):
    return arcs_over(sky, -39.0, 45.0, with_margin=True)


def everywhere(value=True):
    return np.full((len(ANGLES), 72), value)


def made_arc(elevation, azimuth):
    number = len(elevation)
    return Arcs(np.array([0]), np.array([0, number]), 30.0 * np.arange(number),
                np.sin(np.radians(elevation)), np.array(azimuth, float), np.full(number, 1e-4))


def test_a_vertex_is_usable_where_both_angles_around_it_are_good():
    good = everywhere(False)
    good[5:8, 18] = True  # 10, 11 and 12° in the bin of 90 to 95°
    arc = made_arc([9.9, 10.0, 10.5, 11.9, 12.1, 11.0], [92, 92, 92, 92, 92, 96])
    placed = place(arc, ANGLES, 72)
    usable, column = usable_vertices(placed, good), placed.bin
    assert usable.tolist() == [False, True, True, True, False, False]
    assert column.tolist() == [18, 18, 18, 18, 18, 19]


def test_a_single_good_angle_makes_nothing_usable():
    good = everywhere(False)
    good[5] = True
    arc = made_arc(np.linspace(5, 20, 50), np.full(50, 92.0))
    assert not usable_vertices(place(arc, ANGLES, 72), good).any()


def test_the_longest_piece_ends_halfway_to_what_is_not_usable():
    arc = made_arc(np.arange(5.0, 15.0), np.full(10, 92.0))
    pieces = longest_pieces(arc, np.array([1, 1, 0, 1, 1, 1, 1, 0, 1, 0], bool))
    sine = np.sin(np.radians(np.arange(5.0, 15.0)))
    assert (pieces.first[0], pieces.last[0]) == (3, 6)
    assert pieces.width[0] == pytest.approx((sine[6] + sine[7]) / 2 - (sine[2] + sine[3]) / 2)
    assert (pieces.t_start_s[0], pieces.t_end_s[0]) == (75.0, 195.0)


def test_pieces_do_not_run_from_one_arc_into_the_next():
    one = made_arc([5, 6, 7, 7, 6, 5], [92] * 6)
    two = one._replace(satellite=np.array([0, 0]), start=np.array([0, 3, 6]))
    pieces = longest_pieces(two, np.ones(6, bool))
    assert pieces.first.tolist() == [0, 3] and pieces.last.tolist() == [2, 5]


def test_pieces_agree_with_a_count_in_plain_python(sky, arcs):
    rng = np.random.default_rng(7)
    good = rng.random((len(ANGLES), 72)) > 0.15
    placed = place(arcs, ANGLES, 72)
    usable, column = usable_vertices(placed, good), placed.bin
    pieces = longest_pieces(arcs, usable)
    elevation = arcs.elevation_deg
    sine = arcs.sine.astype(float)
    checked = 0
    for i in range(0, len(arcs.satellite), 5):
        best, run = 0.0, []
        vertices = list(range(arcs.start[i], arcs.start[i + 1]))
        for v in vertices + [None]:
            ok = False
            if v is not None:
                k = min(int(np.floor(elevation[v] - 5.0 + 1e-5)), len(ANGLES) - 2)
                b = int(arcs.azimuth_deg[v] // 5) % 72
                assert b == column[v]
                ok = good[k, b] and good[k + 1, b]
            if ok:
                run.append(v)
                continue
            if run:
                first, last = run[0], run[-1]
                a = sine[first] if first == vertices[0] else (sine[first] + sine[first - 1]) / 2
                z = sine[last] if last == vertices[-1] else (sine[last] + sine[last + 1]) / 2
                best = max(best, abs(z - a))
            run = []
        assert pieces.width[i] == pytest.approx(best, abs=1e-6)
        checked += best > 0
    assert checked > 50


def test_values_are_interpolated_between_the_angles_in_sin_e():
    arc = made_arc([5.0, 7.25, 19.9, 20.0], [92] * 4)
    grid = np.broadcast_to(np.sin(np.radians(ANGLES))[:, None], (len(ANGLES), 72))
    # what is linear in sin e comes back as it was
    assert place(arc, ANGLES, 72).between(grid) == pytest.approx(arc.sine, abs=1e-6)
    assert place(arc, ANGLES, 72).between(grid[:, 0]) == pytest.approx(arc.sine, abs=1e-6)


def test_vertices_of_pieces_are_those_of_plain_slices(arcs):
    rng = np.random.default_rng(5)
    pieces = longest_pieces(arcs, rng.random(len(arcs.sine)) > 0.1)
    chosen = np.flatnonzero(pieces.width > 0)
    index, start = vertices_of(pieces, chosen)
    expected = [np.arange(a, b + 1) for a, b in zip(pieces.first[chosen], pieces.last[chosen])]
    assert len(chosen) > 100 and index.tolist() == np.concatenate(expected).tolist()
    sums = [arcs.sine[one].sum() for one in expected]
    assert np.add.reduceat(arcs.sine[index], start) == pytest.approx(sums, rel=1e-5)
    assert [len(part) for part in vertices_of(pieces, np.zeros(0, int))] == [0, 0]


@pytest.mark.parametrize("middles, gap, is_least", [
    ([-100.0, 500.0, 900.0, 1300.0], 600.0, False),     # over the beginning, not wrapped
    ([100.0, 200.0, 900.0], 1100.0, True),              # nothing is known of an arc before the first
    ([-900.0, -800.0, 100.0, 1100.0, 1150.0], 1000.0, False),
    ([500.0], 1500.0, True),
    ([], 3000.0, True),
    ([-990.0, -500.0, 10.0, 20.0, 990.0, 1010.0], 970.0, False)])
def test_gaps_are_looked_for_over_the_ends_of_the_time(middles, gap, is_least):
    assert longest_gap_s(np.array(middles), 0.0, 1000.0, -1000.0, 2000.0) == (gap, is_least)


def test_a_gap_that_lies_wholly_outside_does_not_count():
    assert longest_gap_s(np.array([-900.0, -10.0, 500.0, 1010.0, 1900.0]), 0.0, 1000.0, -1000.0, 2000.0)[0] == 510.0
