"""A candidate set back behind a shore that it faces: the case every crew knows.

The antenna stands 3.5 m above the water and 15 m behind a straight shore. Higher satellites reflect on the land
before it. The limits follow from the ellipse (derived here); that such a site is good from 5 to 7° at best is
common practice, no source.
"""

import numpy as np
import pytest
from stillwater.siting.assess import assess
from stillwater.siting.geometry.fresnel import first_zone
from stillwater.siting.ground.classes import parse_classes
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.ranking.ranking import rank
from stillwater.siting.settings import Settings
from stillwater.siting.setup import Setup
from stillwater.siting.signals import wavelength_m
from stillwater.siting.windows import elevation_angles

L1 = wavelength_m("GPS L1")
HEIGHT, SET_BACK, FACING = 3.5, 15.0, 92.5
FACING_BIN = 18  # of 5°
FINE_ANGLES = tuple(elevation_angles(5.0, 20.0, 0.05))
ANGLE_TOLERANCE_DEG = 0.2
WORKED_OUT = [(1.0, 6.8), (0.95, 8.9), (0.8, 11.4)]
CELL, CELLS = 0.5, 700
CYCLES = 2.5


@pytest.fixture(params=["water polygons", "land polygons", "land cover of 0.5 m"])
def layers(request, local_rings, array_raster):
    """Make the shore: water beyond a straight line that faces azimuth 92.5°."""
    if request.param == "land cover of 0.5 m":
        place = (np.arange(CELLS) + 0.5 - CELLS / 2) * CELL / 0.9996  # UTM's scale there (from memory)
        east, north = place[None, :], -place[:, None]
        turn = np.radians(FACING)
        water = east * np.sin(turn) + north * np.cos(turn) > SET_BACK
        return SurfaceLayers(landcover=array_raster(np.where(water, 80, 10).astype(np.uint8), cell=CELL),
                             classes=parse_classes("80"), class_names={10: "grass"})
    turn = np.radians(FACING)
    along, across = np.array([np.sin(turn), np.cos(turn)]), np.array([np.cos(turn), -np.sin(turn)])
    near, far = (SET_BACK, 900.0) if request.param == "water polygons" else (-900.0, SET_BACK)
    box = [near * along - 900 * across, far * along - 900 * across, far * along + 900 * across,
           near * along + 900 * across]
    return SurfaceLayers(water=local_rings((box, [], 0)), water_is_land=request.param == "land polygons")


def settings(min_share, angles=FINE_ANGLES):
    return Settings(L1, angles, 72, min_share)


def share_beyond(distance, elevation):
    """Share of an ellipse beyond a line across its long axis (area of a circular segment, derived here)."""
    a, _b, c = first_zone(HEIGHT, elevation, L1)
    t = np.clip((distance - c) / a, -1.0, 1.0)
    return (np.arccos(t) - t * np.sqrt(1 - t**2)) / np.pi


@pytest.mark.parametrize("min_share, limit", WORKED_OUT)
def test_the_limits_follow_from_the_ellipse(min_share, limit):
    fine = np.arange(5.0, 20.0, 0.01)
    assert fine[share_beyond(SET_BACK, fine) >= min_share - 1e-9].max() == pytest.approx(limit, abs=0.05)


@pytest.mark.parametrize("min_share, limit", WORKED_OUT)
def test_everything_above_a_limit_is_lost(min_share, limit, layers, candidate):
    (_index, one), = assess([candidate(HEIGHT)], layers, settings(min_share))
    good = one.good[:, FACING_BIN]
    highest = np.array(FINE_ANGLES)[good].max()
    assert highest == pytest.approx(limit, abs=ANGLE_TOLERANCE_DEG)
    assert good[:np.count_nonzero(good)].all(), "below the limit nothing is lost"
    assert one.windows.last[FACING_BIN] == np.count_nonzero(good) - 1


def test_two_and_a_half_oscillations_are_left_and_no_direction_counts(layers, candidate):
    (_index, one), = assess([candidate(HEIGHT)], layers, settings(0.95))
    assert round(float(one.cycles[FACING_BIN]), 1) == CYCLES
    assert one.cycles.max() < 3 and not one.counts.any()


@pytest.mark.parametrize("angles", [FINE_ANGLES, tuple(float(a) for a in range(5, 21))])
def test_it_is_unsuitable_for_sea_level_and_says_what_would_mend_it(angles, layers, candidate, look):
    (row,) = rank([candidate(HEIGHT)], Setup(layers, settings(0.95, angles), look))
    assert row.verdict == "unsuitable" and row.rank == 1 and row.result.precision == pytest.approx(30.0)
    assert row.az_span_deg == 0 and row.quality == 0 and row.el_from_deg is None
    # the ground before the water is what costs all; not the land behind
    assert "before the water costs 100 % of the information" in row.limit_by
    assert ("grass" if layers.landcover else "land") in row.limit_by
    assert row.advice.startswith("move it eastwards past ")


def test_right_at_the_shore_the_same_antenna_is_better(local_rings, layers, candidate, look):
    at_the_shore = candidate(HEIGHT, x=500_000.0 + SET_BACK * np.sin(np.radians(FACING)),
                             y=4_980_000.0 + SET_BACK * np.cos(np.radians(FACING)), name="at the shore")
    best, worst = rank([candidate(HEIGHT, name="set back"), at_the_shore], Setup(layers, settings(0.95), look))
    assert (best.index, worst.index) == (1, 0)
    assert best.verdict == "suitable" and best.az_span_deg > 90
