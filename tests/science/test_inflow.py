"""Low ground that no water reaches is not water, when nothing but an elevation model tells."""

import heapq

import numpy as np
import pytest
from stillwater.siting.assess import assess
from stillwater.siting.candidates import Resolver
from stillwater.siting.errors import Cancelled
from stillwater.siting.ground.inflow import Inflow, spread_around
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.improve.judge import Judge
from stillwater.siting.ranking.draws import Doubt, Draws, draw_values
from stillwater.siting.ranking.whatif import Change, what_if
from stillwater.siting.settings import Settings
from stillwater.siting.setup import Setup
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
def test_a_dyke_of_one_cell_keeps_the_sea_out(array_raster, monkeypatch, blocks):
    monkeypatch.setattr("stillwater.siting.ground.inflow.BLOCKS", blocks)
    inflow = Inflow(array_raster(land_with_a_polder()))
    assert inflow.reaches(1.0, np.array([150]), np.array([250]))[0]
    assert not inflow.reaches(1.0, np.array([150, 150, -1, 900]), np.array([150, 20, 150, 150])).any()


def test_a_gap_in_the_dyke_lets_it_in(array_raster):
    inflow = Inflow(array_raster(land_with_a_polder(gap=True)))
    assert inflow.reaches(1.0, np.array([60, 240]), np.array([110, 110])).all()


def test_a_site_in_the_polder_has_no_water_and_one_at_sea_has(array_raster, candidate):
    dem = array_raster(land_with_a_polder(), cell=2.0)
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
def test_a_rim_without_data_does_not_keep_the_sea_out(array_raster, no_data):
    """As warping leaves it around a DEM; whether such a cell itself is water stays unknown."""
    for gap in (False, True):
        ground = land_with_a_polder(gap)
        ground[:, :7] = ground[:, -7:] = ground[-7:] = ground[:7] = no_data
        inflow = Inflow(array_raster(ground, nodata=no_data))
        assert inflow.reaches(1.0, np.array([150]), np.array([250]))[0]
        assert inflow.reaches(1.0, np.array([150]), np.array([150]))[0] == gap
        assert not inflow.reaches(1.0, np.array([20]), np.array([150]))[0]


def test_a_hole_in_the_data_inside_a_polder_lets_no_sea_in(array_raster):
    ground = land_with_a_polder()
    ground[140:150, 140:150] = -9999.0
    assert not Inflow(array_raster(ground, nodata=-9999.0)).reaches(1.0, np.array([100]), np.array([150]))[0]


def lowest_way_in(high):
    """Find the spill level of each cell by a heap: the lowest water first, as a flood rises (Dijkstra's algorithm)."""
    rows, cols = high.shape
    spill = np.full(high.shape, np.inf)
    heap = [(float(high[r, c]), r, c) for r in range(rows) for c in range(cols)
            if r in (0, rows - 1) or c in (0, cols - 1)]
    heapq.heapify(heap)
    while heap:
        level, r, c = heapq.heappop(heap)
        if level >= spill[r, c]:
            continue
        spill[r, c] = level
        for dr, dc in ((0, 1), (1, 0), (0, -1), (-1, 0)):
            if 0 <= r + dr < rows and 0 <= c + dc < cols:
                heapq.heappush(heap, (max(level, float(high[r + dr, c + dc])), r + dr, c + dc))
    return spill


@pytest.mark.parametrize("seed", range(6))
def test_the_spill_level_is_the_lowest_way_in(seed, array_raster):
    """Cells as blocks, on noise in which ways wind much; holes keep nothing out."""
    rng = np.random.default_rng(seed)
    ground = rng.normal(0.0, 2.0, (47, 61)).astype(np.float32)
    holes = rng.uniform(size=ground.shape) < 0.02
    inflow = Inflow(array_raster(np.where(holes, np.float32(-9999.0), ground), nodata=-9999.0))
    col, row = np.meshgrid(np.arange(61), np.arange(47))
    wanted = lowest_way_in(np.where(holes, -np.inf, ground))
    assert np.array_equal(inflow.spill_m(col, row), wanted)
    assert np.isinf(inflow.spill_m(np.array([-1, 61]), np.array([3, 3]))).all()
    for level in (-2.0, 0.0, 1.3):
        assert np.array_equal(inflow.reaches(level, col, row), wanted < level)


def test_cancel_stops_it(array_raster):
    with pytest.raises(Cancelled):
        Inflow(array_raster(land_with_a_polder()), lambda: True)


DYKE_M = 0.6
SETTINGS = Settings(wavelength_m("GPS L1"), (10.0, 15.0, 20.0), bins=36)
NORTHWARDS = slice(0, 4)
"""Bins from north to 40°, over the basin."""


@pytest.fixture
def basin(array_raster):
    """Give a function that makes a basin of -2 m north of a dyke of +0.60 m, and the sea south of it.

    A function, for pytest holds on to what a fixture gives until QGIS, where it is loaded, has closed all files.
    """
    def make():
        ground = np.full((300, 300), LAND, np.float32)
        ground[200:] = SEA
        ground[20:199, 50:250] = POLDER
        ground[199] = DYKE_M
        return SurfaceLayers(dem=array_raster(ground, cell=2.0), dem_is_bed=True, is_sea=True)
    return make


@pytest.fixture
def on_the_dyke(candidate):
    """Give a function that makes a site on the dyke, 98 m south of `MIDDLE`, with levels from 0 to `high_m`."""
    def make(high_m, **levels):
        return candidate(5.0, y=4_980_000.0 - 98.0, high_m=high_m, **levels)
    return make


def is_wet(found):
    """Tell for each level whether the basin is water."""
    share = found.usable[:, :, NORTHWARDS].mean(axis=(1, 2))
    assert np.all((share < 0.01) | (share > 0.99))
    return share > 0.5


def test_a_basin_is_water_at_the_levels_that_run_over_its_dyke_whoever_else_is_looked_at(basin, on_the_dyke):
    layers = basin()
    low, high = on_the_dyke(0.5), on_the_dyke(0.75)
    high.levels_m = np.array([0.0, 0.55, 0.65, 0.75])
    for sites in ([high, low], [low], [low, high], [high]):
        for number, found in assess(sites, layers, SETTINGS):
            assert np.array_equal(is_wet(found), sites[number].levels_m > DYKE_M)
    assert layers.inflow is None, "looking changes no layers"


def test_looking_again_at_other_levels_asks_with_those(basin, on_the_dyke):
    """The layers of one run serve ranking, trust, what-if and the search."""
    plain = basin()
    layers = plain.with_inflow()
    assert layers.with_inflow() is layers and plain.inflow is None
    for level in (0.75, 0.5, 0.75):
        (_index, found), = assess([on_the_dyke(level, low_m=level)], layers, SETTINGS)
        assert is_wet(found).tolist() == [level > DYKE_M]


@pytest.mark.parametrize("level, change", [(0.5, 0.25), (0.75, -0.25), (0.5, 0.0), (0.75, 0.0)])
def test_ranking_trust_what_if_and_search_judge_the_basin_alike(level, change, basin, on_the_dyke, look):
    wanted = level + change > DYKE_M
    plain = basin()
    layers = plain.with_inflow()
    site, other = (on_the_dyke(v, low_m=v) for v in (level, level + change))

    setup = Setup(layers, SETTINGS, look, resolver=Resolver("EPSG:32633", "surface", False))

    def error_of(one, some=layers):
        (_index, found), = assess([one], some, SETTINGS)
        return look.over(found).precision(), is_wet(found).tolist()

    ranked, wet = error_of(other)
    assert wet == [wanted]
    assert error_of(on_the_dyke(level + change, low_m=level + change), plain) == (ranked, wet)
    (told,), = what_if([site], setup,
                       [Change("other levels", low_m=change, high_m=change)])
    assert told.precision == pytest.approx(ranked)

    def evaluate(some):
        return Draws(np.array([error_of(one)[0] for one in some]), np.zeros((len(some), 0)), np.zeros(len(some), bool))

    drawn = draw_values([other], Doubt(0.0, 0.0, 0.0, 0.0, 2), evaluate)
    assert drawn.error == pytest.approx(ranked)
    # the search puts no antenna into the basin where that is water
    inside, = Judge(other, setup, 200.0).look([(0.0, 100.0, other.height_m)])
    assert (inside.result is None) == wanted
