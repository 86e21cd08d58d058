"""What spoils a direction, where it lies and how much it takes: a car park is laid out, and must be found there."""

import re

import numpy as np
import pytest
from stillwater.siting.assess import assess
from stillwater.siting.geometry.fresnel import first_zone
from stillwater.siting.ground.classes import parse_classes
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.settings import Settings
from stillwater.siting.signals import wavelength_m
from stillwater.siting.verdict.causes import find_causes
from stillwater.siting.words.reasons import bin_reasons

L1 = wavelength_m("GPS L1")
ANGLES = tuple(float(a) for a in range(5, 21))
SETTINGS = Settings(L1, ANGLES)
NEAR_M, FAR_M = 12.0, 25.0
PERCENT_TOLERANCE = 1.0  # the words give whole percent
EVERYWHERE = [(-900, -900), (900, -900), (900, 900), (-900, 900)]
ASPHALT = 51


def circle(radius, vertices=720):
    turn = np.linspace(0.0, 2.0 * np.pi, vertices, endpoint=False)
    return radius / np.cos(np.pi / vertices) * np.stack([np.cos(turn), np.sin(turn)], axis=-1)


def sector(from_deg, to_deg, near, far):
    """Make the outline of a part of a ring [m], its azimuths clockwise from north."""
    azimuth = np.radians(np.linspace(from_deg, to_deg, 200))
    there, back = (np.stack([np.sin(azimuth), np.cos(azimuth)], axis=-1) * r for r in (near, far))
    return np.concatenate([there, back[::-1]])


def ring_step(assessment, radius):
    edges = assessment.kernels.grid.edges_m
    return float(np.diff(edges)[np.searchsorted(edges, radius) - 1])


@pytest.fixture
def around(local_rings, array_raster):
    """Give a function that lays a car park into open water, as an area to avoid or as land cover."""
    def make(kind, share=1.0):
        if kind == "area to avoid":
            park = local_rings((circle(FAR_M), [circle(NEAR_M)], 0))
            return SurfaceLayers(water=local_rings((EVERYWHERE, [], 0)), avoid=park, avoid_names=["car park"],
                                 avoid_shares=np.array([share]))
        place = (np.arange(1200) + 0.5) * 0.25 - 150.0
        far = np.hypot(place, place[:, None])
        cover = np.where((far > NEAR_M) & (far < FAR_M), ASPHALT, 80).astype(np.uint8)
        return SurfaceLayers(landcover=array_raster(cover, cell=0.25), classes=parse_classes("80"),
                             class_names={ASPHALT: "car park"})
    return make


def judged(layers, one, settings=SETTINGS):
    (_index, assessment), = assess([one], layers, settings)
    return assessment, find_causes(assessment)


@pytest.mark.parametrize("kind", ["area to avoid", "land cover"])
@pytest.mark.parametrize("height", [3.0, 5.0])
def test_a_car_park_from_12_to_25_metres_out_is_reported_there(kind, height, around, candidate):
    assessment, spoiled = judged(around(kind), candidate(height))
    assert [spoiled.names[i] for i in spoiled.cause] == ["car park"] * 72
    cell = 0.25 if kind == "land cover" else 0.0
    # it is told from the nearest to the farthest ring of the sampling that holds it
    failing = np.flatnonzero(~assessment.good[:, 0])
    zones = first_zone(height, np.array(ANGLES)[failing], L1)
    assert zones.near_m.min() < NEAR_M and zones.far_m.max() > FAR_M, "all of it lies under footprints that fail"
    assert np.abs(spoiled.near_m - NEAR_M).max() <= ring_step(assessment, NEAR_M) + cell
    assert np.abs(spoiled.far_m - FAR_M).max() <= ring_step(assessment, FAR_M) + cell


def test_the_reason_names_place_share_and_angles(around, candidate):
    assessment, spoiled = judged(around("area to avoid"), candidate(5.0))
    reasons = bin_reasons(assessment, spoiled)
    found = [re.fullmatch(r"car park from (\d+) to (\d+) m out takes (\d+) % of the footprints from (\d+) to (\d+)°.*",
                          text) for text in reasons]
    bad = ~assessment.good
    lost = np.sum((1.0 - assessment.share) * bad, axis=0) / bad.sum(axis=0)
    for i, match in enumerate(found):
        near, far, percent, low, high = map(float, match.groups())
        assert (near, far) == (NEAR_M, FAR_M)
        assert percent == pytest.approx(100.0 * lost[i], abs=PERCENT_TOLERANCE)
        angles = np.array(ANGLES)[bad[:, i]]
        assert (low, high) == (angles[0], angles[-1])


def test_what_is_there_part_of_the_time_takes_no_ground_and_is_told_with_its_share(around, candidate):
    assessment, spoiled = judged(around("area to avoid", share=0.4), candidate(5.0))
    assert spoiled.names == [] and (assessment.share == pytest.approx(1.0, abs=1e-4))
    assert set(bin_reasons(assessment, spoiled)) == {"car park, there 40 % of the time"}
    always = judged(around("area to avoid"), candidate(5.0))[0]
    # busy where what is always there would take more than may be missing
    assert ((assessment.busy > 0) == (always.share < 0.95 - 1e-4)).all() and set(np.unique(assessment.busy)) == {0, 0.4}
    assert (assessment.window_busy > 0).all() and (assessment.window_busy < 0.4 + 1e-9).all()
    # for the map, the mean share of area and time
    assert np.allclose(assessment.share_of("avoid"), 0.4 * (1.0 - always.share), atol=1e-4)


def test_where_nothing_fails_there_is_no_cause(local_rings, candidate):
    assessment, spoiled = judged(SurfaceLayers(water=local_rings((EVERYWHERE, [], 0))), candidate(5.0))
    assert np.all(spoiled.cause == -1) and np.all(spoiled.lost == 0)


def test_of_two_causes_the_one_that_takes_more_is_named(local_rings, candidate):
    """To the east a car park over most of the reach; a berth takes a hundredth of that."""
    park, berth = sector(45, 135, 25.0, 300.0), sector(80, 84, 20.0, 23.0)
    layers = SurfaceLayers(water=local_rings((EVERYWHERE, [], 0)),
                           avoid=local_rings((park, [], 0), (berth, [], 1), groups=2),
                           avoid_names=["car park", "berth"], avoid_shares=np.array([1.0, 1.0]))
    assessment, spoiled = judged(layers, candidate(5.0))
    assert spoiled.names[spoiled.cause[16]] == "car park"
    assert spoiled.cause[54] == -1, "to the west there is nothing to tell"
    both = spoiled.weight[:, 16]
    assert both.max() > 3 * both.min() > 0


def test_ground_before_the_water_is_told_apart_from_ground_behind(local_rings, candidate):
    """A shore 20 m to the north: the land before it and the land behind are one cause and two parts."""
    layers = SurfaceLayers(water=local_rings(([(-900, 20), (900, 20), (900, 900), (-900, 900)], [], 0)))
    assessment, spoiled = judged(layers, candidate(5.0))
    before, behind = (next(p for p in spoiled.parts if p.is_before is wanted) for wanted in (True, False))
    assert len(spoiled.names) == 1 and before.cause == behind.cause == 0
    assert before.lost[:, 0].max() > 0.9 and before.lost[:, 36].max() < 1e-6
    assert behind.lost[:, 36].min() > 0.99 and behind.lost[:, 0].max() < 0.05
    assert spoiled.in_reach[:10].all() and not spoiled.in_reach[30:42].any()
    missing = 1.0 - assessment.share
    assert sum(part.lost for part in spoiled.parts) == pytest.approx(missing, abs=0.02)


def test_a_cause_beside_a_narrow_bin_is_found(local_rings, candidate):
    """Bins of 1°: the footprints are wider, and a jetty to one side takes a part of what is ahead."""
    jetty = sector(100.0, 104.0, 5.0, 300.0)
    layers = SurfaceLayers(water=local_rings((EVERYWHERE, [], 0)), avoid=local_rings((jetty, [], 0)),
                           avoid_names=["jetty"], avoid_shares=np.array([1.0]))
    assessment, spoiled = judged(layers, candidate(5.0), Settings(L1, ANGLES, bins=360))
    for beside in (98, 105):
        assert (~assessment.good[:, beside]).any()
        assert spoiled.names[spoiled.cause[beside]] == "jetty"
        bad = ~assessment.good[:, beside]
        assert spoiled.lost[beside] == pytest.approx(np.mean(1 - assessment.share[bad, beside]), abs=1e-3)
