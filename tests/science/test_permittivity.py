"""Permittivities: against other libraries' codes of other models, the seawater standard, and ITU-R ground classes."""

import numpy as np
import pytest
from stillwater.siting.errors import InputError
from stillwater.siting.purposes import LAKE_LEVEL, PURPOSES, SEA_LEVEL, SNOW_DEPTH, SOIL_MOISTURE, purpose_of
from stillwater.siting.reflection.permittivity import dry_snow, fresh_water, ice, sea_conductivity_s_m, sea_water, soil
from stillwater.siting.reflection.surfaces import SEA

L1_HZ = 1575.42e6
SAME_MODEL_TOLERANCE = 1e-4
OTHER_MODEL_TOLERANCE = 0.02
SOIL_TOLERANCE = 0.25

# Reference: package smrt 1.7 (package index), run once by hand at 1575.42 MHz and its results noted
# here with our sign. It needs numpy 2 and numba, so it cannot live in this venv.
KLEIN_SWIFT_BY_SMRT = [  # seawater_permittivity_klein76: °C, psu, ε
    (20.0, 35.0, 71.93071 - 60.66466j), (15.0, 35.0, 73.36045 - 56.06209j), (10.0, 35.0, 74.61876 - 51.91288j),
    (5.0, 20.0, 78.98214 - 33.71849j), (25.0, 10.0, 75.40306 - 25.01732j)]
PURE_WATER_BY_SMRT = [  # water_permittivity_turner16, a model of its own: °C, ε
    (20.0, 79.53861 - 6.97986j), (10.0, 82.72051 - 9.75943j), (0.001, 85.37389 - 14.14558j)]
ICE_BY_SMRT = [  # ice_permittivity_maetzler06: °C, ε
    (-5.0, 3.18385 - 0.00039577j), (-20.0, 3.1702 - 0.00016472j)]
SOIL_BY_SMRT = [  # soil_permittivity_dobson85_peplinski95 at 20 °C: m³/m³, sand %, clay %, ε
    (0.05, 51.5, 13.5, 4.58284 - 0.30647j), (0.05, 30.0, 13.0, 3.93091 - 0.22101j),
    (0.20, 51.5, 13.5, 12.47248 - 1.08004j), (0.20, 30.0, 13.0, 10.37858 - 0.93126j),
    (0.35, 51.5, 13.5, 22.62792 - 2.04524j), (0.35, 30.0, 13.0, 19.59390 - 1.88353j)]


@pytest.mark.parametrize("temperature, salinity, expected", KLEIN_SWIFT_BY_SMRT)
def test_sea_water_agrees_with_another_code_of_the_same_model(temperature, salinity, expected):
    assert abs(sea_water(L1_HZ, temperature, salinity) / expected - 1) < SAME_MODEL_TOLERANCE


def test_sea_water_agrees_with_the_itu_recommendation():
    """ITU-R P.527-6, 35 psu: copied from other libraries' code of it (the 10 °C figure names no model)."""
    assert abs(sea_water(L1_HZ, 20.0, 35.0) / (71.3 - 59.8j) - 1) < OTHER_MODEL_TOLERANCE
    assert abs(sea_water(L1_HZ, 10.0, 35.0) / (74.1 - 51.5j) - 1) < OTHER_MODEL_TOLERANCE


def test_conductivity_of_standard_sea_water():
    """4.2914 S/m at 15 °C and 35: practical salinity scale 1978, UNESCO 1981 (from memory)."""
    assert sea_conductivity_s_m(15.0, 35.0) == pytest.approx(4.2914, rel=2e-3)


@pytest.mark.parametrize("temperature, expected", [(20.0, 79.43 - 6.89j), (0.0, 85.31 - 14.13j)])
def test_pure_water_agrees_with_the_itu_recommendation(temperature, expected):
    """ITU-R P.527-6: copied from other libraries' code of it."""
    assert abs(fresh_water(L1_HZ, temperature) / expected - 1) < 1e-3


@pytest.mark.parametrize("temperature, expected", PURE_WATER_BY_SMRT)
def test_pure_water_agrees_with_a_later_model(temperature, expected):
    assert abs(fresh_water(L1_HZ, temperature) / expected - 1) < 3e-3


def test_the_two_models_of_water_meet_where_the_salt_ends():
    t = np.arange(0.0, 31.0, 5.0)
    assert np.abs(sea_water(L1_HZ, t, 0.0) / fresh_water(L1_HZ, t) - 1).max() < 0.01


@pytest.mark.parametrize("temperature, expected", ICE_BY_SMRT)
def test_ice_agrees_with_a_later_model(temperature, expected):
    assert ice(L1_HZ, temperature).real == pytest.approx(expected.real, rel=1e-4)
    assert ice(L1_HZ, temperature).imag == pytest.approx(expected.imag, rel=0.05)


def test_dry_snow_lies_where_published_models_lie():
    """1.53 (Mätzler 1996: 1 + 1.5995 ρ + 1.861 ρ³, from memory) to 1.57 at 0.3 g/cm³."""
    rho = np.array([0.1, 0.2, 0.3, 0.4])
    assert np.abs(dry_snow(L1_HZ, rho).real - (1 + 1.5995 * rho + 1.861 * rho**3)).max() < 0.05
    assert 1.53 <= round(float(dry_snow(L1_HZ, 0.3).real), 2) <= 1.57
    assert 0 < -dry_snow(L1_HZ, 0.3).imag < -ice(L1_HZ, -5.0).imag


@pytest.mark.parametrize("moisture, sand, clay, expected", SOIL_BY_SMRT)
def test_loams_agree_with_another_model_as_well_as_such_models_do(moisture, sand, clay, expected):
    value = soil(L1_HZ, moisture, sand, clay)
    assert value.real == pytest.approx(expected.real, rel=SOIL_TOLERANCE)
    assert 0.4 < expected.imag / value.imag < 1.05


def test_loam_agrees_with_topp():
    """Topp, Davis & Annan 1980, ε' = 3.03 + 9.3 m + 146 m² - 76.7 m³ (from memory)."""
    m = np.linspace(0.05, 0.45, 9)
    assert np.abs(soil(L1_HZ, m).real / (3.03 + 9.3 * m + 146 * m**2 - 76.7 * m**3) - 1).max() < 0.15


def test_soil_lies_between_very_dry_and_wet_ground():
    """ITU-R P.2040 table 3 at this frequency: 3.0 very dry, 14.3 medium, 25.0 wet ground (copied)."""
    dry, medium, wet = soil(L1_HZ, [0.02, 0.25, 0.40]).real
    assert (dry, medium, wet) == pytest.approx((3.0, 14.3, 25.0), rel=0.15)


def test_losses_are_never_negative_whatever_the_soil():
    sand, clay, moisture = np.meshgrid(np.arange(0, 101, 10.0), np.arange(0, 101, 10.0), np.linspace(0, 0.5, 11))
    real = sand + clay <= 100
    assert soil(L1_HZ, moisture[real], sand[real], clay[real]).imag.max() <= 0
    assert sea_water([1.17645e9, L1_HZ], [[-2.0], [40.0]], 35.0).shape == (2, 2)


@pytest.mark.parametrize("function, arguments, said", [
    (sea_water, (L1_HZ, 50.0, 35.0), r"water temperature of 50 °C is outside -2 to 40 °C"),
    (sea_water, (L1_HZ, 15.0, -1.0), r"salinity of -1 psu is outside 0 to 42"),
    (sea_water, (L1_HZ, [15.0, np.nan], 35.0), "water temperature of nan"),
    (sea_water, (1575.42, 15.0, 35.0), "frequency of 1.57542e-06 GHz is outside 0.3 to 10 GHz"),
    (fresh_water, (L1_HZ, -10.0), "water temperature"),
    (ice, (L1_HZ, 1.0), "ice temperature of 1 °C is outside -40 to 0"),
    (dry_snow, (L1_HZ, 300.0), r"snow density of 300 g/cm³ is outside 0.05 to 0.6"),
    (dry_snow, (L1_HZ, 0.3, 2.0), "ice temperature"),
    (soil, (L1_HZ, 20.0), r"soil moisture of 20 m³/m³ is outside 0 to 0.5"),
    (soil, (L1_HZ, 0.2, 70.0, 60.0), "sum of sand and clay of 130 %"),
    (soil, (5e9, 0.2), "frequency of 5 GHz is outside 1 to 2 GHz"),
])
def test_values_out_of_range_are_refused_with_the_range(function, arguments, said):
    with pytest.raises(InputError, match=said):
        function(*arguments)


def test_every_purpose_has_a_surface():
    assert list(PURPOSES) == ["sea level", "lake level", "snow depth", "soil moisture"]
    assert SEA_LEVEL.substance.permittivity(L1_HZ) == sea_water(L1_HZ, 15.0, 35.0)
    assert LAKE_LEVEL.substance.permittivity(L1_HZ) == fresh_water(L1_HZ, 10.0)
    assert SNOW_DEPTH.substance.permittivity(L1_HZ) == dry_snow(L1_HZ, 0.3)
    assert SOIL_MOISTURE.substance.permittivity(L1_HZ) == soil(L1_HZ, 0.2)
    assert SEA_LEVEL.substance.permittivity(L1_HZ, salinity_psu=7.0) == sea_water(L1_HZ, 15.0, 7.0)


def test_a_purpose_or_property_that_is_not_known_is_named():
    with pytest.raises(InputError, match="PURPOSE “tides” is not known. Choose one of: sea level"):
        purpose_of("tides")
    with pytest.raises(InputError, match="“density_g_cm3” says nothing about sea; give temperature_c or salinity_psu"):
        SEA.permittivity(L1_HZ, density_g_cm3=0.3)
