"""What every source of orbits has in common, and which systems may be chosen."""

import numpy as np
import pytest
from stillwater.siting.errors import Cancelled, InputError
from stillwater.siting.sky.orbits import SYSTEMS, Orbits, wanted_systems


class Two(Orbits):
    """Two satellites at rest on the equator's axes, as far out as their names say."""

    def one_position_m(self, index, utc_s):
        return np.outer(np.ones(len(utc_s)), np.eye(3)[index]) * float(self.names[index])


def test_positions_of_all_are_those_of_each():
    orbits, told = Two(["7e6", "8e6"], ["GPS", "Galileo"], "a test"), []
    found = orbits.positions_m(np.arange(5.0), lambda part, name: told.append((part, name)))
    assert found.shape == (2, 5, 3) and not orbits.is_nominal and orbits.notes == []
    assert (found[0] == [7e6, 0, 0]).all() and (found[1] == [0, 8e6, 0]).all()
    assert told == [(0.0, "7e6"), (0.5, "8e6")]
    with pytest.raises(Cancelled):
        orbits.positions_m(np.arange(5.0), is_cancelled=lambda: len(told) == 2)
    with pytest.raises(NotImplementedError):
        Orbits(["a"], ["GPS"], "nowhere").positions_m(np.arange(2.0))


def test_systems_are_taken_in_one_order_and_qzss_only_with_real_orbits():
    """QZSS is four satellites in orbits of their own (Cabinet Office of Japan): no Walker pattern stands for them."""
    assert wanted_systems(["BeiDou", "GPS"], False) == ["GPS", "BeiDou"]
    assert wanted_systems(SYSTEMS, True) == SYSTEMS
    with pytest.raises(InputError, match="CONSTELLATIONS is empty"):
        wanted_systems([], True)
    with pytest.raises(InputError, match="no nominal constellation here. Give its real orbits in ORBITS"):
        wanted_systems(["GPS", "QZSS"], False)
