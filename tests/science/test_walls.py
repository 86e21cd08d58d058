"""What takes whole footprints, and what stands in the way: counted on arrays laid out by hand."""
from types import SimpleNamespace

import numpy as np
import pytest
from stillwater.siting.settings import Settings
from stillwater.siting.verdict.walls import BEYOND, HIDDEN, SHADOW, SKYLINE, TURNED, blocked, hidden_causes

# two levels, three angles, four bins
USABLE = np.array([np.full((3, 4), 1.0), [[1.0, 0.8, 0.5, 0.0], [1.0, 0.9, 0.6, 0.0], [1.0, 1.0, 0.7, 0.0]]])
BAD = np.array([[1, 1, 1, 1], [1, 1, 0, 1], [0, 1, 0, 1]], bool)


def assessment(**parts):
    return SimpleNamespace(**{"usable_seen": USABLE, "is_clear": None, "unlit": None, "planes": None, **parts})


def taken(level, **parts):
    return {one.kind: one.weight.tolist() for one in blocked(assessment(**parts), level, BAD)}


def test_where_all_is_clear_and_lit_nothing_is_blocked():
    assert blocked(assessment(), 0, BAD) == []
    assert taken(0, is_clear=np.ones((3, 4), bool), unlit=np.zeros((2, 3, 4))) == {}


def test_a_skyline_takes_what_would_be_usable_at_angles_that_fail():
    clear = np.array([[0, 0, 0, 0], [0, 1, 0, 1], [0, 0, 1, 1]], bool)
    # by hand, level 1: bin 0: 1 + 1, the third angle is good; bin 1: 0.8 + 1; bin 2: 0.5; bin 3: nothing usable
    assert taken(1, is_clear=clear) == {SKYLINE: pytest.approx([2.0, 1.8, 0.5, 0.0])}
    assert taken(0, is_clear=clear) == {SKYLINE: pytest.approx([2.0, 2.0, 1.0, 1.0])}


def test_a_shadow_takes_what_is_not_lit_at_its_level():
    unlit = np.array([np.full((3, 4), 0.25), [[0.1, 0.2, 0.3, 0.4], [0.1, 0.2, 0.3, 0.4], [0.5, 0.5, 0.5, 0.5]]])
    assert taken(0, unlit=unlit) == {SHADOW: pytest.approx([0.5, 0.75, 0.25, 0.75])}
    assert taken(1, unlit=unlit) == {SHADOW: pytest.approx([0.2, 0.9, 0.3, 1.3])}


def test_ground_turned_away_is_told_apart_from_ground_that_reflects_too_far_out():
    is_lit, is_beyond = np.ones((2, 3, 4), bool), np.zeros((2, 3, 4), bool)
    is_lit[1, :, 0] = False
    is_lit[1, 1, 1], is_beyond[1, 1, 1] = False, True
    is_beyond[1, 0, 2] = True
    planes = SimpleNamespace(is_lit=is_lit, is_beyond=is_beyond)
    assert taken(1, planes=planes) == {TURNED: pytest.approx([2.0, 0, 0, 0]), BEYOND: pytest.approx([0, 0.9, 0.5, 0])}
    assert taken(0, planes=planes) == {}


PER_BIN, RINGS = 3, 2
SETTINGS = Settings(0.19, (5.0, 10.0), bins=4)


class Hiding:
    """A fake assessment in which something hides part of the target in some bins."""

    def __init__(self, dist, always=None):
        self.settings, self.dist = SETTINGS, np.array(dist, float)
        self.kernels = SimpleNamespace(grid=SimpleNamespace(rays_per_bin=PER_BIN))
        self.target = np.ones((RINGS, 12), np.float32)
        self.hidden = np.zeros((RINGS, 12), np.float32)
        self.candidate = SimpleNamespace(zero_level_m=7.0)
        self.surface = SimpleNamespace(always=always, names_at=self.names)
        self.sight = SimpleNamespace(hider_m=self.hider)
        self.asked = None

    def spots(self, level):
        return SimpleNamespace(target=self.target, hidden=self.hidden)

    def level_z_m(self, level):
        return 7.0 + level

    def hider(self, level_z, zero, wanted, bins):
        self.asked = level_z, zero, wanted, bins
        return self.dist

    def names(self, east, north):
        """East of the site stands a shed, elsewhere a wall; places are in metres."""
        self.places = np.round(np.stack([east, north], axis=-1), 6)
        return ["shed" if e > 0 else "wall" for e in east]


def test_nothing_hidden_no_cause():
    assert hidden_causes(Hiding([np.nan] * 4), 0) == []
    one = Hiding([5.0] * 4)
    one.hidden[:, 0], one.target[:, 0] = 1.0, 0.0
    assert hidden_causes(one, 0) == [], "what is hidden is no target"
    one.target[:, 0], one.sight = 1.0, None
    assert hidden_causes(one, 0) == []


def test_what_stands_in_the_way_is_named_where_it_stands_and_takes_its_own_bins():
    one = Hiding([10.0, 30.0, np.nan, 20.0])
    one.hidden[1] = 1.0
    found = {cause.name: cause for cause in hidden_causes(one, 2)}
    assert set(found) == {"shed", "wall"} and {cause.kind for cause in found.values()} == {HIDDEN}
    # bins of 90° have their middles at 45, 135, 225 and 315°; the third has nothing in the way
    h = np.sqrt(0.5)
    assert one.places == pytest.approx(np.array([[10 * h, 10 * h], [30 * h, -30 * h], [-20 * h, 20 * h]]), abs=1e-5)
    assert found["shed"].out_m == 20.0 and found["wall"].out_m == 20.0
    assert found["shed"].share.tolist() == [[0] * 12, [1] * 6 + [0] * 6]
    assert found["wall"].share.tolist() == [[0] * 12, [0] * 9 + [1] * 3]
    level_z, zero, wanted, bins = one.asked
    assert (level_z, zero, bins) == (9.0, 7.0, 4) and wanted.tolist() == [[False] * 12, [True] * 12]


def test_what_is_always_something_else_is_not_lost_to_what_hides():
    one = Hiding([10.0] * 4, always=np.full((RINGS, 12), 0.25, np.float32))
    one.hidden[0], one.target[0, :3] = 1.0, 0.4
    shed, _wall = hidden_causes(one, 0)
    assert shed.share[0] == pytest.approx([0.3] * 3 + [0.75] * 3 + [0] * 6)
