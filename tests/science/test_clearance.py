"""The clearance of an antenna and the limit that it must keep, by plain subtraction of tide-table figures."""
import pytest
from stillwater.siting.setup import Limits


@pytest.mark.parametrize("height, low, high, clearance", [
    (4.0, 0.0, 0.0, 4.0), (4.0, -0.5, 1.5, 2.5), (4.0, -3.0, -1.0, 5.0), (2.25, 0.0, 2.0, 0.25)])
def test_clearance_is_the_height_over_the_highest_level(candidate, height, low, high, clearance):
    one = candidate(height, low_m=low, high_m=high)
    assert one.clearance_m == pytest.approx(clearance, abs=1e-9)
    # the surface at its highest is the one the antenna is nearest to
    assert one.heights_m.min() == pytest.approx(clearance, abs=1e-9)


@pytest.mark.parametrize("least, is_broken", [(0.0, False), (2.4, False), (2.499, False), (2.5, False), (2.502, True),
                                              (2.6, True), (3.0, True)])
def test_a_limit_is_broken_by_a_millimetre_and_not_by_being_just_met(candidate, least, is_broken):
    assert Limits(least).are_broken_by(candidate(4.0, low_m=-0.5, high_m=1.5)) is is_broken


def test_rounding_breaks_no_limit(candidate):
    """0.7 - 0.4 is less than 0.3 in binary (IEEE 754), yet it is three tenths over the highest level."""
    one = candidate(0.7, high_m=0.4)
    assert one.clearance_m < 0.3 and not Limits(0.3).are_broken_by(one)


def test_without_a_limit_nothing_is_broken_and_just_over_the_water_is_dry(candidate):
    assert not Limits().are_broken_by(candidate(0.501, high_m=0.5))
    assert candidate(0.5, high_m=0.5).drowned and candidate(0.4, high_m=0.5).drowned
    assert not candidate(0.501, high_m=0.5).drowned
