"""The unit of an elevation model's heights, from its band and from its CRS."""

import numpy as np
import pytest
from stillwater.siting.errors import InputError
from stillwater.siting.ground.checks import check_dem_unit
from stillwater.siting.ground.rasters import Raster
from stillwater.tests.science.terrain_scenes import UTM, tif


def told(tmp_path, unit=None, crs=UTM):
    """Check a model and return what was told."""
    said = []
    path = tif(tmp_path / "dem.tif", np.zeros((4, 4)), unit=unit, crs=crs)
    check_dem_unit(Raster(path, "hills"), "DEM", said.append)
    return said


@pytest.mark.parametrize("unit", ["m", "metre", "Meters", "metres"])
def test_metres_pass_without_a_word(tmp_path, unit):
    assert told(tmp_path, unit) == []


def test_metres_by_the_vertical_axis_pass_too(tmp_path):
    """EPSG:5773 is EGM96 height [m]."""
    assert told(tmp_path, crs="EPSG:32624+5773") == []


def test_no_unit_is_told(tmp_path):
    said = told(tmp_path)
    assert len(said) == 1 and "“hills” names no unit" in said[0] and "metres" in said[0]


@pytest.mark.parametrize("unit", ["ft", "foot", "US survey foot", "us-ft", "km", "cm"])
def test_another_unit_of_the_band_is_refused(tmp_path, unit):
    with pytest.raises(InputError, match=f"DEM “hills” holds heights in “{unit}”.*band.*metres are needed. Convert"):
        told(tmp_path, unit)


@pytest.mark.parametrize("code, unit", [(6360, "US survey foot"), (8228, "foot")])
def test_feet_by_the_vertical_axis_are_refused(tmp_path, code, unit):
    """EPSG:6360 is NAVD88 height in US survey feet, EPSG:8228 in international feet."""
    with pytest.raises(InputError, match=f"holds heights in “{unit}”"):
        told(tmp_path, crs=f"EPSG:32624+{code}")
