"""Looking from one place that moves: the figures of a ranking, and shapes at their true places."""

from dataclasses import replace

import numpy as np
import pytest
from pyproj import Geod
from stillwater.siting.candidates import Candidate, Resolver
from stillwater.siting.errors import Cancelled
from stillwater.siting.geometry.fresnel import first_zone
from stillwater.siting.geometry.localframe import to_lonlat
from stillwater.siting.ground.polygons import PolygonLayer, Ring
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.live.looker import GLANCE_ANGLES, Looker
from stillwater.siting.precision.demand import Receiver, usual_demand
from stillwater.siting.precision.worth import SkyLook
from stillwater.siting.purposes import SEA_LEVEL
from stillwater.siting.ranking.ranking import rank
from stillwater.siting.settings import Settings
from stillwater.siting.setup import Setup
from stillwater.siting.sky.arcs import arcs_over
from stillwater.siting.sky.nominal import NominalOrbits
from stillwater.siting.sky.sky import Sky

UTM, SHORE_X, MIDDLE_Y = "EPSG:32633", 500_000.0, 4_980_000.0
L1_M = 299_792_458.0 / 1575.42e6
PLACE_M = 0.05
"""Shapes are placed by a polynomial of second degree around the site."""


@pytest.fixture(scope="module")
def looker():
    """Give the looker of a straight shore, water east of it, and GPS for a day."""
    box = np.array([[0, -2000], [2000, -2000], [2000, 2000], [0, 2000]], float) + (SHORE_X, MIDDLE_Y)
    layers = SurfaceLayers(water=PolygonLayer([Ring(box, False, 0)], UTM, "water"), is_sea=True)
    settings = Settings(L1_M, tuple(np.arange(5.0, 21.0)), bins=72, min_cycles=3.0, max_res_m=1.0)
    sky = Sky(NominalOrbits(["GPS"]), 1_780_272_000.0, 1, 5.0, 20.0, 12 * 3600.0)
    look = SkyLook(sky, usual_demand(SEA_LEVEL), Receiver(), complex(SEA_LEVEL.substance.permittivity(1575.42e6)))
    return Looker(Setup(layers, settings, look, resolver=Resolver(UTM, "surface", False)))


def at(east_m=10.0, height_m=6.0, low_m=-1.0, high_m=1.0):
    return Candidate("spot", SHORE_X + east_m, MIDDLE_Y, height_m, low_m=low_m, high_m=high_m)


def test_a_full_look_gives_the_row_that_a_ranking_gives(looker):
    for one in (at(), at(-60.0, 12.0), at(-400.0), at(5.0, 0.5)):
        spot, same = looker.look(one), replace(one)
        looker.setup.resolver([same])
        row, = rank([same], looker.setup)
        assert (spot.row.verdict, spot.row.limit_by, spot.row.advice) == (row.verdict, row.limit_by, row.advice)
        assert (spot.row.result is None) == (row.result is None)
        if row.result is not None:
            assert spot.row.result.score == row.result.score
            assert spot.row.result.precision == row.result.precision
        assert one.problem == "" and np.isnan(one.lon), "what the user gave is not changed"


def test_a_place_that_cannot_be_assessed_says_why_and_draws_nothing(looker):
    drowned = looker.look(at(height_m=0.5))
    assert drowned.candidate.drowned and "under the surface" in drowned.row.limit_by and drowned.shapes is None
    assert "no geometry" in looker.look(replace(at(), x=np.nan)).row.limit_by
    # a problem does not stick to the place
    assert looker.look(at()).row.result is not None


def test_shapes_stand_where_a_geodesic_puts_them(looker):
    """Ends of the footprints' long axes, and the sectors' outer corners, against PROJ's geodesic."""
    spot, geod = looker.look(at()), Geod(ellps="WGS84")
    shapes, one = spot.shapes, spot.candidate
    zone = first_zone(one.over_zero_m, 5.0, L1_M)
    lon, lat = to_lonlat(shapes.zones[3, :, 0], shapes.zones[3, :, 1], UTM)  # azimuths 2.5, 32.5, 62.5, 92.5°
    azimuth, _back, distance = geod.inv(np.full(lon.shape, one.lon), np.full(lon.shape, one.lat), lon, lat)
    assert distance.max() == pytest.approx(float(zone.far_m), abs=PLACE_M)
    assert azimuth[distance.argmax()] == pytest.approx(92.5, abs=0.1)
    lon, lat = to_lonlat(*shapes.sectors[18].T, UTM)  # 90 to 95°
    azimuth, _back, distance = geod.inv(np.full(lon.shape, one.lon), np.full(lon.shape, one.lat), lon, lat)
    assert azimuth.min() == pytest.approx(90.0, abs=0.1) and azimuth.max() == pytest.approx(95.0, abs=0.1)
    near, far = spot.assessment.near_m, spot.assessment.far_m
    assert distance.min() == pytest.approx(near[18], abs=PLACE_M)
    assert distance.max() == pytest.approx(far[18], abs=PLACE_M)
    assert shapes.reach_m >= distance.max() and np.hypot(*(shapes.centre - (one.x, one.y))) < 1e-6


def test_passes_are_those_of_the_sky_and_their_usable_pieces_lie_on_the_water(looker):
    spot = looker.look(at())
    setup = looker.setup
    assert len(spot.shapes.passes) == len(arcs_over(setup.look.sky, spot.candidate.lon, spot.candidate.lat).satellite)
    assert len(spot.shapes.usable_passes) >= spot.row.sky.arcs_day > 20
    # a point may lie a little on land, for 5 % of its footprint may
    usable = np.concatenate(spot.shapes.usable_passes)
    assert np.mean(usable[:, 0] > SHORE_X) > 0.99
    assert any((track[:, 0] < SHORE_X).any() for track in spot.shapes.passes)
    assert not looker.look(at(), with_passes=False).shapes.passes


def test_a_glance_looks_at_fewer_angles_and_says_that_it_is_rough(looker):
    glancer = looker.glancing()
    assert glancer.setup.look.sky is not looker.setup.look.sky
    rough, full = glancer.look(at(), with_passes=False), looker.look(at())
    assert rough.is_rough and not full.is_rough
    assert len(rough.assessment.settings.elevation_deg) == GLANCE_ANGLES
    assert rough.assessment.settings.elevation_deg[-1] == 20.0
    assert len(rough.candidate.levels_m) == 2 < len(full.candidate.levels_m)
    # coarser, not another picture
    assert abs(rough.row.az_span_deg - full.row.az_span_deg) <= 10.0
    assert abs(rough.row.quality - full.row.quality) <= 0.1


def test_cancel_ends_a_look(looker):
    with pytest.raises(Cancelled):
        looker.look(at(), lambda: True)
