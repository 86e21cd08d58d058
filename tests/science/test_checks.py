"""Checks of layers before the work begins: what tells nothing is refused, what is doubtful is a warning."""

import numpy as np
import pytest
from pyproj import CRS
from stillwater.siting.errors import InputError
from stillwater.siting.geometry.localframe import to_lonlat
from stillwater.siting.ground import checks
from stillwater.siting.ground.arrayraster import ArrayRaster
from stillwater.siting.ground.checks import check_dem_unit, check_raster
from stillwater.siting.ground.classes import parse_classes
from stillwater.tests.science.shore_scenes import EAST, NORTH, UTM

SIDE = 200
"""Cells of 1 m each way, the middle on the place."""


def around(values, cell=1.0, east=0.0, **options):
    """Make a raster whose middle lies so far east of the place."""
    values = np.asarray(values)
    rows, cols = values.shape
    return ArrayRaster(values, (EAST + east - cols * cell / 2, cell, 0.0, NORTH + rows * cell / 2, 0.0, -cell), UTM,
                       name="layer", **options)


def sites(*east):
    """Return longitude and latitude of places so far east [m]."""
    return to_lonlat(EAST + np.array(east, float), np.full(len(east), NORTH), UTM)


def checked(raster, *east, reach=50.0, narrowest=2.0, classes=None):
    """Check a raster around places; return what was warned of."""
    return check_raster(raster, "LANDCOVER", *sites(*east), np.full(len(east), reach), narrowest,
                        None if classes is None else parse_classes(classes))


SEA = np.full((SIDE, SIDE), 80, np.uint8)


def test_a_raster_that_serves_is_passed_without_a_word():
    assert checked(around(SEA), 0.0, 30.0, classes="80") == []
    assert checked(around(SEA), 0.0) == []


def test_one_candidate_that_is_covered_is_enough():
    assert checked(around(SEA), 5000.0, 0.0, -5000.0, classes="80") == []


def test_a_raster_beside_all_candidates_is_refused_with_its_extent():
    with pytest.raises(InputError) as told:
        checked(around(SEA, east=5000.0), 0.0, 30.0)
    text = str(told.value)
    assert "LANDCOVER “layer” has no data around any of the 2 candidates" in text
    assert (f"{EAST + 4900:.10g} to {EAST + 5100:.10g} east and {NORTH - 100:.10g} to {NORTH + 100:.10g} north"
            in text)


def test_a_raster_that_covers_but_holds_no_data_is_refused():
    with pytest.raises(InputError, match="has no data around any of the 1 candidates"):
        checked(around(np.zeros((SIDE, SIDE), np.uint8), nodata=0), 0.0)


def test_of_very_many_candidates_some_are_looked_at_and_the_run_goes_on(monkeypatch):
    monkeypatch.setattr(checks, "LOOK_AT", 3)
    told, = checked(around(SEA, east=5000.0), *np.linspace(0.0, 40.0, 9))
    assert "has no data around any of the 3 candidates looked at" in told
    told, = checked(around(SEA), *np.linspace(-4.0, 4.0, 9), classes="5")
    assert "matches no cell" in told, "only the run itself knows all candidates"


def test_classes_that_the_layer_never_holds_are_refused_with_those_it_holds():
    cells = SEA.copy()
    cells[::2] = 12
    with pytest.raises(InputError, match=r"TARGET_CLASSES “5, 7-9” matches no cell of LANDCOVER “layer” near the "
                                         r"1 candidates looked at; classes found there: 12, 80\. Choose among those"):
        checked(around(cells), 0.0, classes="5, 7-9")


def test_classes_found_only_far_off_are_a_finding_and_a_warning():
    cells = SEA.copy()
    cells[:40, :40] = 5
    told, = checked(around(cells), 60.0, reach=20.0, classes="5")
    assert "matches no cell" in told and "classes found there: 80." in told and "Choose" not in told


def test_cells_wider_than_the_narrowest_footprint_are_told():
    assert checked(around(SEA, cell=2.0), 0.0, narrowest=2.1) == []
    told, = checked(around(SEA, cell=30.0), 0.0, narrowest=2.13)
    # UTM shortens by 0.9996 on the central meridian (Snyder 1987, from memory)
    assert "cells of 30 m, wider than the narrowest footprints (2.1 m)" in told


def test_without_a_candidate_there_is_nothing_to_check():
    assert checked(around(SEA, east=5000.0)) == []


def test_candidates_off_the_map_are_no_error_of_the_layer():
    assert check_raster(around(SEA), "DEM", np.array([np.nan, 15.0]), np.array([np.nan, sites(0.0)[1][0]]),
                        np.array([1.0, 50.0]), 2.0) == []


@pytest.mark.parametrize("unit", ["m", "metre", " Meters ", "[m]"])
def test_metres_pass_however_they_are_written(unit):
    told = []
    check_dem_unit(around(SEA, unit=unit), "DEM", told.append)
    assert told == []


@pytest.mark.parametrize("unit", ["ft", "US survey foot", "cm"])
def test_heights_in_another_unit_are_refused(unit):
    with pytest.raises(InputError, match=rf"DEM “layer” holds heights in “{unit}” \(by the unit of its band\)"):
        check_dem_unit(around(SEA, unit=unit), "DEM")


def test_the_vertical_axis_tells_where_the_band_does_not():
    """EPSG:6360 is NAVD88 height in US survey feet, EPSG:5773 EGM96 height in metres (EPSG registry)."""
    feet, metre = (CRS(f"EPSG:32633+{code}").to_wkt() for code in (6360, 5773))
    affine = (EAST, 1.0, 0.0, NORTH, 0.0, -1.0)
    told = []
    check_dem_unit(ArrayRaster(SEA, affine, metre), "DEM", told.append)
    assert told == []
    with pytest.raises(InputError, match="US survey foot” \\(by the vertical axis of its coordinate reference system"):
        check_dem_unit(ArrayRaster(SEA, affine, feet), "DEM")


def test_a_unit_that_nothing_names_is_taken_for_metres_and_told():
    told = []
    check_dem_unit(around(SEA), "DEM_FAR", told.append)
    assert told == ["DEM_FAR “layer” names no unit of height; its values are taken for metres."]
