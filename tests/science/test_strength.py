"""Strength of the interference, the window that the return leaves, and the chart of both."""

import re
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from stillwater.siting.charts.reflectionchart import CURVES, returns_chart
from stillwater.siting.errors import InputError
from stillwater.siting.purposes import PURPOSES
from stillwater.siting.reflection.coefficients import decibels, fresnel
from stillwater.siting.reflection.strength import interference, window_by_return
from stillwater.siting.signals import SIGNALS

L1_HZ = 1575.42e6
HANDBOOK_SEA = 80 - 48j
EVERY_PURPOSE = [purpose.substance.permittivity(L1_HZ) for purpose in PURPOSES.values()]
HELP = Path(__file__).resolve().parents[2] / "plugin" / "help"


@pytest.mark.parametrize("elevation", [1.0, 5.0, 12.0, 40.0])
def test_the_swing_is_what_two_turning_phasors_give(elevation):
    strength = interference(HANDBOOK_SEA, elevation)
    power = np.abs(1 + strength.ratio * np.exp(1j * np.linspace(0, 2 * np.pi, 3601)))**2
    assert strength.swing_db == pytest.approx(10 * np.log10(power.max() / power.min()), abs=1e-9)


def test_the_ratio_is_the_handbooks_co_polar_column():
    """Goldhirsh & Vogel, table of sea reflection (read): -5.39 and -8.92 dB at 5 and 10°."""
    assert interference(HANDBOOK_SEA, [5.0, 10.0]).ratio_db == pytest.approx([-5.39, -8.92], abs=0.01)


def test_a_loss_by_roughness_adds_in_decibels():
    with_loss = interference(HANDBOOK_SEA, 10.0, [0.0, 6.77])
    assert np.diff(with_loss.ratio_db) == pytest.approx(-6.77)
    assert with_loss.swing_db[1] < with_loss.swing_db[0]


def test_at_grazing_the_pattern_is_full_and_overhead_there_is_none():
    strength = interference(HANDBOOK_SEA, [0.0, 90.0])
    assert strength.swing_db[0] == np.inf
    assert strength.swing_db[1] == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("epsilon", EVERY_PURPOSE)
def test_the_return_falls_steadily_so_that_the_window_has_one_end(epsilon):
    assert (np.diff(np.abs(fresnel(epsilon, np.linspace(0, 90, 2001)).co_polar)) < 0).all()


@pytest.mark.parametrize("epsilon", EVERY_PURPOSE)
@pytest.mark.parametrize("floor", [-1.0, -6.0, -12.0, -40.0])
def test_the_window_ends_where_the_return_meets_the_floor(epsilon, floor):
    end = window_by_return(epsilon, floor)
    assert decibels(fresnel(epsilon, end).co_polar) == pytest.approx(floor, abs=1e-6)


def test_windows_broadcast_and_their_ends():
    assert window_by_return([[HANDBOOK_SEA], [3.18]], [-5.0, -10.0, -20.0]).shape == (2, 3)
    assert window_by_return(HANDBOOK_SEA, 0.0) == pytest.approx(0.0, abs=1e-9)
    assert window_by_return(HANDBOOK_SEA, -np.inf) == pytest.approx(90.0)
    assert window_by_return(1.0, -10.0) == pytest.approx(0.0, abs=1e-5)


def test_at_low_angles_snow_and_soil_return_more_than_water_to_the_same_sense():
    sea, lake, snow, soil = (abs(fresnel(epsilon, 15.0).co_polar) for epsilon in EVERY_PURPOSE)
    assert max(sea, lake) < min(snow, soil)


@pytest.mark.parametrize("call, said", [
    (lambda: interference(HANDBOOK_SEA, 10.0, [1.0, -3.0]), "loss cannot be negative, but is -3 dB"),
    (lambda: interference(80 + 48j, 10.0), "written ε' - jε''"),
    (lambda: window_by_return(HANDBOOK_SEA, 3.0), "must be 0 dB or less, but is 3 dB"),
    (lambda: window_by_return(HANDBOOK_SEA, np.nan), "must be 0 dB or less, but is nan dB"),
    (lambda: returns_chart("GPS L9"), "“GPS L9” is not known"),
])
def test_impossible_figures_are_refused(call, said):
    with pytest.raises(InputError, match=said):
        call()


@pytest.mark.parametrize("signal", SIGNALS)
def test_the_chart_is_sound_and_repeats_itself(signal):
    drawing = returns_chart(signal).svg()
    assert drawing == returns_chart(signal).svg()
    root = ElementTree.fromstring(drawing)
    space = {"svg": "http://www.w3.org/2000/svg"}
    assert len(root.findall("svg:polyline", space)) == 2 * len(CURVES)
    said = [text.text for text in root.findall("svg:text", space)]
    assert all(said.count(curve.label) == 2 for curve in CURVES)
    assert said.count("elevation angle [°]") == said.count("reflected over incident field [dB]") == 2
    assert "nan" not in drawing and "inf" not in drawing


def test_curves_are_told_apart_without_colour_and_labels_do_not_touch():
    assert len({curve.dash for curve in CURVES}) == len(CURVES)
    for curve in CURVES:
        assert re.fullmatch("#[0-9a-f]{6}", curve.colour)
    root = ElementTree.fromstring(returns_chart().svg())
    places = {}
    for text in root.iter("{http://www.w3.org/2000/svg}text"):
        if text.text in {curve.label for curve in CURVES}:
            places.setdefault(text.get("x"), []).append(float(text.get("y")))
    assert [len(ys) for ys in places.values()] == [len(CURVES)] * 2
    assert min(np.diff(sorted(ys)).min() for ys in places.values()) > 15


def test_the_picture_of_the_help_is_what_the_code_draws():
    assert (HELP / "returns.svg").read_text(encoding="utf-8") == returns_chart().svg("\n") + "\n"
    assert (HELP / "returns.png").read_bytes().startswith(b"\x89PNG")
