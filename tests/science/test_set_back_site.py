"""A site set back from a straight shore: what a practitioner knows about it must come out.

Common practice, no source: an antenna 3.5 m above the water and 15 m behind the shore is good from 5 to 7° at
best, and of no use for sea level. The limits 6.8°, 8.9° and 11.4° are derived from the ellipse.
"""

import numpy as np
import pytest
from stillwater.siting.assess import Settings, assess
from stillwater.siting.candidates import PURPOSES
from stillwater.siting.ground.classes import parse_classes
from stillwater.siting.ground.surface import SurfaceLayers
from stillwater.siting.ranking import rank
from stillwater.siting.signals import wavelength_m

L1 = wavelength_m("GPS L1")
FINE = tuple(np.arange(5.0, 20.001, 0.05))
ANGLE_TOLERANCE_DEG = 0.2
HEIGHT_M, SET_BACK_M, SOUTH_BIN = 3.5, 15.0, 36


@pytest.fixture(params=["polygons", "raster of 0.5 m"])
def shore(request, local_rings, write_raster):
    """Water everywhere from 15 m south of the site on."""
    if request.param == "polygons":
        sea = [(-900, -900), (900, -900), (900, -SET_BACK_M), (-900, -SET_BACK_M)]
        return SurfaceLayers(water=local_rings((sea, [], 0)))
    cells = 800
    cover = np.zeros((cells, cells), np.uint8)
    cover[cells // 2 + int(2 * SET_BACK_M):] = 80
    return SurfaceLayers(landcover=write_raster(cover, cell=0.5), classes=parse_classes("80"))


@pytest.mark.parametrize("least_share, highest_deg", [(1.0, 6.8), (0.95, 8.9), (0.8, 11.4)])
def test_everything_above_a_low_angle_is_lost(shore, candidate, least_share, highest_deg):
    settings = Settings(L1, FINE, min_share=least_share)
    (_index, one), = assess([candidate(HEIGHT_M)], shore, settings)
    for facing in (SOUTH_BIN - 1, SOUTH_BIN):
        assert one.windows.first[facing] == 0
        assert FINE[one.windows.last[facing]] == pytest.approx(highest_deg, abs=ANGLE_TOLERANCE_DEG)
    assert one.windows.last[0] == -1, "to the north there is no water at all"


def test_it_has_two_and_a_half_oscillations_and_is_unsuitable_for_sea_level(shore, candidate):
    assert PURPOSES[0] == "sea level"
    sites = [candidate(HEIGHT_M)]
    (_index, one), = assess(sites, shore, Settings(L1, FINE))
    assert one.cycles[SOUTH_BIN] == pytest.approx(2.5, abs=0.1)
    row, = rank(sites, shore, Settings(L1, FINE))
    assert row.verdict == "unsuitable" and row.result.score == 0
    assert "oscillations (3 needed)" in row.limit_by
    assert row.advice.startswith("usable only from 5 to 8.")
