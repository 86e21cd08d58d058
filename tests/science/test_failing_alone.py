"""What goes wrong with one candidate stays with it: the others are assessed, and the error is kept and logged."""
import logging

import numpy as np
import pytest
from stillwater.siting.assess import assess
from stillwater.siting.errors import Cancelled, InputError
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.settings import Settings
from stillwater.siting.sight.looking import SightLayers
from stillwater.siting.sight.terrain import Terrain
from stillwater.siting.signals import wavelength_m

SETTINGS = Settings(wavelength_m("GPS L1"), (5.0, 8.0, 12.0, 20.0), bins=24)
EVERYWHERE = [(-3000, -3000), (3000, -3000), (3000, 3000), (-3000, 3000)]


def look(candidates, layers, dem=None):
    sight = None
    if dem is not None:
        lon, lat = np.array([(one.lon, one.lat) for one in candidates]).T
        sight = SightLayers(dem, None, Terrain(dem, lon=lon, lat=lat))
    return [found for _index, found in assess(candidates, layers, SETTINGS, sight=sight)]


@pytest.mark.parametrize("cell", [200.0, 600.0, 2400.0])
def test_a_dem_whose_cells_hold_all_footprints_is_too_coarse_here_and_only_here(cell, array_raster, candidate,
                                                                                local_rings):
    """An antenna at 5 m has footprints out to 110 m, one at 200 m to 2.5 km, which coarse cells resolve."""
    dem = array_raster(np.zeros((40, 40), np.float32), cell=cell)
    low, high = candidate(5.0, name="pier"), candidate(200.0, name="cliff")
    layers = SurfaceLayers(water=local_rings((EVERYWHERE, [], 0), reach=6000.0), dem=dem)
    below, above = look([low, high], layers, dem)
    assert below is None and low.trace == ""
    assert low.problem.startswith("the DEM is too coarse here") and f"{cell:.0f} m" in low.problem
    assert "110 m" in low.problem and "DEM_FAR" in low.problem
    assert above is not None and high.problem == "" and above.share.min() > 0.99


@pytest.mark.parametrize("alone", [False, True])
def test_a_dem_of_cells_somewhat_narrower_than_that_still_serves(alone, array_raster, candidate, local_rings):
    dem = array_raster(np.zeros((40, 40), np.float32), cell=90.0)
    water = None if alone else local_rings((EVERYWHERE, [], 0))
    found, = look([candidate(5.0)], SurfaceLayers(water=water, dem=dem), dem)
    assert found.share.min() > 0.99


@pytest.fixture
def with_a_fault(monkeypatch):
    """Let the surface of the second of three candidates meet an error that nobody foresaw."""
    from stillwater.siting.ground import surface
    original = surface.SurfaceSampler.surface

    def break_with(error):
        def broken(self, site, *rest):
            if site == 1:
                raise error
            return original(self, site, *rest)
        monkeypatch.setattr(surface.SurfaceSampler, "surface", broken)
    return break_with


def test_an_error_of_our_own_is_that_candidates_row_and_a_logged_traceback(with_a_fault, candidate, local_rings,
                                                                           caplog):
    with_a_fault(IndexError("list index out of range"))
    sites = [candidate(5.0, name=name) for name in ("a", "b", "c")]
    with caplog.at_level(logging.ERROR, logger="stillwater"):
        found = look(sites, SurfaceLayers(water=local_rings((EVERYWHERE, [], 0))))
    assert [one is None for one in found] == [False, True, False]
    assert [one.problem == "" for one in sites] == [True, False, True]
    assert "an error of Stillwater's own" in sites[1].problem and "report it" in sites[1].problem
    assert "IndexError" in sites[1].trace and "Traceback" in sites[1].trace
    assert "IndexError" in caplog.text and "candidate b" in caplog.text


@pytest.mark.parametrize("error", [Cancelled("stopped"), InputError("the layer is damaged"), MemoryError(),
                                   KeyboardInterrupt()])
def test_what_ends_a_run_still_ends_it(error, with_a_fault, candidate, local_rings):
    with_a_fault(error)
    with pytest.raises(type(error)):
        look([candidate(5.0, name=name) for name in "abc"], SurfaceLayers(water=local_rings((EVERYWHERE, [], 0))))
