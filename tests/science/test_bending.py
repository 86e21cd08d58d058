"""Bending in the air, against the slope that scipy fits to the bent arc."""
import numpy as np
import pytest
from scipy import stats
from stillwater.siting.precision.bending import bending_part
from stillwater.siting.sight.refraction import refraction_deg


@pytest.mark.parametrize("low, high", [(5.0, 10.0), (5.0, 20.0), (8.0, 25.0), (15.0, 30.0)])
def test_the_height_falls_by_the_slope_of_the_bent_arc(low, high):
    """A pattern whose phase goes with sin(e + bending) is told by its slope against sin e."""
    sine = np.linspace(np.sin(np.radians(low)), np.sin(np.radians(high)), 5001)
    elevation = np.degrees(np.arcsin(sine))
    slope = stats.linregress(sine, np.sin(np.radians(elevation + refraction_deg(elevation)))).slope
    assert bending_part(low, high) == pytest.approx(1.0 - slope, rel=0.02) and 0 < slope < 1


def test_low_arcs_are_bent_most():
    parts = [bending_part(low, low + 10.0) for low in (3.0, 5.0, 10.0, 20.0, 40.0)]
    assert (np.diff(parts) < 0).all() and parts[-1] > 0
