"""Low ground that no water reaches is not water, when nothing but an elevation model tells."""

import numpy as np
import pytest
from stillwater.siting.assess import Settings, assess
from stillwater.siting.ground.inflow import Inflow, spread_around
from stillwater.siting.ground.surface import SurfaceLayers
from stillwater.siting.signals import wavelength_m

SEA, LAND, POLDER = -4.0, 3.0, -2.0


def land_with_a_polder(gap=False, cells=300):
    """Sea in the south, land with a low polder behind a dyke of one cell, which may have a gap."""
    ground = np.full((cells, cells), LAND, np.float32)
    ground[200:] = SEA
    ground[100:199, 50:250] = POLDER
    if gap:
        ground[199, 140:160] = SEA
    return ground


@pytest.mark.parametrize("blocks", [300, 60])
def test_a_dyke_of_one_cell_keeps_the_sea_out(write_raster, monkeypatch, blocks):
    monkeypatch.setattr("stillwater.siting.ground.inflow.BLOCKS", blocks)
    inflow = Inflow(write_raster(land_with_a_polder()), 1.0)
    assert inflow.reaches(np.array([150]), np.array([250]))[0]
    assert not inflow.reaches(np.array([150, 150, -1, 900]), np.array([150, 20, 150, 150])).any()


def test_a_gap_in_the_dyke_lets_it_in(write_raster):
    inflow = Inflow(write_raster(land_with_a_polder(gap=True)), 1.0)
    assert inflow.reaches(np.array([60, 240]), np.array([110, 110])).all()


def test_a_site_in_the_polder_has_no_water_and_one_at_sea_has(write_raster, candidate):
    dem = write_raster(land_with_a_polder(), cell=2.0)
    sites = [candidate(5.0, y=4_980_000.0 + dy) for dy in (10.0, -200.0)]
    layers = SurfaceLayers(dem=dem, dem_is_bed=True, is_sea=True)
    settings = Settings(wavelength_m("GPS L1"), (10.0, 15.0, 20.0))
    polder, sea = (one for _i, one in assess(sites, layers, settings))
    assert polder.usable.max() == 0
    assert sea.usable.min() > 0.999


def test_low_spots_behind_a_ring_of_high_ones_are_not_reached():
    low = np.ones((6, 8), bool)
    low[3] = False
    assert not spread_around(low, None)[:3].any()
    low[3, 7] = True  # one opening, whence it runs both ways around, over north
    assert spread_around(low, None)[:3].all()


@pytest.mark.parametrize("no_data", [-9999.0, np.nan])
def test_a_rim_without_data_does_not_keep_the_sea_out(write_raster, no_data):
    """As warping leaves it around a DEM; whether such a cell itself is water stays unknown."""
    for gap in (False, True):
        ground = land_with_a_polder(gap)
        ground[:, :7] = ground[:, -7:] = ground[-7:] = ground[:7] = no_data
        inflow = Inflow(write_raster(ground, nodata=no_data, name=f"{gap}.tif"), 1.0)
        assert inflow.reaches(np.array([150]), np.array([250]))[0]
        assert inflow.reaches(np.array([150]), np.array([150]))[0] == gap
        assert not inflow.reaches(np.array([20]), np.array([150]))[0]


def test_a_hole_in_the_data_inside_a_polder_lets_no_sea_in(write_raster):
    ground = land_with_a_polder()
    ground[140:150, 140:150] = -9999.0
    assert not Inflow(write_raster(ground, nodata=-9999.0), 1.0).reaches(np.array([100]), np.array([150]))[0]
