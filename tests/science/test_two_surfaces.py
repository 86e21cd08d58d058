"""A quay that lies a little higher than the water and fills the low footprints: the two cannot be told apart."""

import numpy as np
import pytest
from shapely.affinity import rotate, scale
from shapely.geometry import Point
from shapely.geometry import box as rectangle
from stillwater.siting.assess import assess
from stillwater.siting.geometry.fresnel import first_zone
from stillwater.siting.ground.classes import parse_classes
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.ranking.ranking import rank
from stillwater.siting.setup import Setup
from stillwater.siting.sight.looking import SightLayers
from stillwater.siting.verdict.causes import find_causes
from stillwater.siting.verdict.competing import FILLS, Competitor, competing_surfaces
from stillwater.siting.words.reasons import bin_reasons
from stillwater.siting.words.twosurfaces import competitor_words, directions_words
from stillwater.tests.science.shore_scenes import ANGLES, L1_M, SETTINGS, towards

HEIGHT_M, QUAY_M, CELL = 5.0, 32.0, 0.5
"""The antenna over the water; how far east the quay begins; a cell's side [m]."""
EAST, WEST = towards(95.0), towards(275.0)


@pytest.fixture
def quay(array_raster, candidate):
    """Give a function that assesses water with a quay of a height from `QUAY_M` east on."""
    def make(above_m, rough_m=0.0, with_sight=True, zero_m=0.0):
        place = (np.arange(800) + 0.5) * CELL - 200.0
        is_quay = np.broadcast_to(place > QUAY_M, (800, 800))
        ground = np.where(is_quay, zero_m + above_m, zero_m)
        ground = ground + rough_m * np.random.default_rng(1).normal(size=ground.shape) * is_quay
        dem = array_raster(ground.astype(np.float32), cell=CELL)
        cover = array_raster(np.where(is_quay, 51, 80).astype(np.uint8), cell=CELL)
        layers = SurfaceLayers(landcover=cover, classes=parse_classes("80"), class_names={51: "quay"})
        sight = SightLayers(dem, None, None, True) if with_sight else None
        one = candidate(HEIGHT_M, name="pile")
        one.zero_level_m = zero_m
        (_index, found), = assess([one], layers, SETTINGS, sight=sight)
        return found, layers, sight
    return make


def part_on_quay(angle, azimuth_deg):
    """Return the part of an ellipse beyond the quay's edge, by shapely's areas."""
    a, b, c = (float(part) for part in first_zone(HEIGHT_M, angle, L1_M))
    zone = rotate(scale(Point(0, c).buffer(1.0, 64), b, a), -azimuth_deg, origin=(0, 0))
    return zone.intersection(rectangle(QUAY_M, -900, 900, 900)).area / zone.area


def test_a_quay_half_a_metre_higher_competes_where_it_fills_the_footprint(quay):
    found, _layers, _sight = quay(0.5)
    told = competing_surfaces(found)
    assert EAST in told and WEST not in told
    one = told[EAST]
    assert (one.name, one.above_m) == ("quay", pytest.approx(0.5, abs=0.01))
    assert one.part == pytest.approx(part_on_quay(one.elevation_deg, 95.0), abs=0.02) and one.part >= FILLS
    # of the angles that fail it is the one that the quay fills most
    assert one.part == pytest.approx(max(part_on_quay(angle, 95.0) for angle in ANGLES), abs=0.02)
    separation = float(found.separation_m[EAST])
    reason = bin_reasons(found, find_causes(found))[EAST]
    assert reason.startswith(f"quay 0.5 m higher fills {100 * one.part:.0f} % of the footprint at "
                             f"{one.elevation_deg:g}°, within the {separation:.2f} m")


@pytest.mark.parametrize("above_m, rough_m, why", [
    (1.6, 0.0, "the window tells them apart"), (0.1, 0.0, "it is the same surface"),
    (0.5, 0.4, "it is too rough to reflect as one")])
def test_no_other_quay_competes(quay, above_m, rough_m, why):
    found, _layers, _sight = quay(above_m, rough_m)
    assert 0.5 < found.separation_m[EAST] < 1.6, "the scene is what it should be"
    assert EAST not in competing_surfaces(found), why


def test_heights_are_counted_from_the_water_wherever_its_zero_lies(quay):
    one = competing_surfaces(quay(0.5, zero_m=120.0)[0])[EAST]
    assert one.above_m == pytest.approx(0.5, abs=0.01)


def test_without_a_model_of_what_stands_around_nothing_is_found(quay):
    assert competing_surfaces(quay(0.5, with_sight=False)[0]) == {}


def test_the_advice_counts_the_directions(quay, look, candidate):
    found, layers, sight = quay(0.5)
    row, = rank([candidate(HEIGHT_M)], Setup(layers, SETTINGS, look, sight=sight))
    number = len(competing_surfaces(found))
    assert f"in {number} directions another surface reflects at nearly the same height" in row.advice


def test_words_of_a_competitor_carry_its_figures():
    lower = Competitor("mud flat", -0.42, 0.705, 17.5)
    assert competitor_words(lower, 0.789) == (
        "mud flat 0.4 m lower fills 70 % of the footprint at 17.5°, within the 0.79 m that this window tells apart")
    assert directions_words(1) == "in 1 direction another surface reflects at nearly the same height"
    assert directions_words(3).startswith("in 3 directions ")
