"""Carriers and wavelengths against the systems' interface documents."""

import pytest
from stillwater.siting.errors import InputError
from stillwater.siting.signals import CARRIER_MHZ, DEFAULT_SIGNAL, SIGNALS, SPEED_OF_LIGHT_M_S, wavelength_m

# IS-GPS-200, IS-GPS-705, GLONASS ICD L1/L2 and CDMA L3, Galileo OS SIS ICD, BDS-SIS-ICD B1I, B1C, B2a,
# B2b, B3I, IS-QZSS-PNT and -CLAS. Copied from secondary texts, several of which agree.
INTERFACE_DOCUMENTS_MHZ = {
    "GPS L1": 1575.42, "GPS L2": 1227.60, "GPS L5": 1176.45,
    "GLONASS G1": 1602.0, "GLONASS G2": 1246.0, "GLONASS G3": 1202.025,
    "Galileo E1": 1575.42, "Galileo E5a": 1176.45, "Galileo E5b": 1207.14, "Galileo E5": 1191.795,
    "Galileo E6": 1278.75,
    "BeiDou B1I": 1561.098, "BeiDou B1C": 1575.42, "BeiDou B2a": 1176.45, "BeiDou B2b": 1207.14,
    "BeiDou B3I": 1268.52,
    "QZSS L1": 1575.42, "QZSS L2": 1227.60, "QZSS L5": 1176.45, "QZSS L6": 1278.75,
}
# Multiples of the fundamental 10.23 MHz that the same documents give; from memory.
FUNDAMENTAL_MHZ = 10.23
MULTIPLES = {
    "GPS L1": 154, "GPS L2": 120, "GPS L5": 115, "GLONASS G3": 117.5, "Galileo E5a": 115, "Galileo E5b": 118,
    "Galileo E5": 116.5, "Galileo E6": 125, "BeiDou B1I": 152.6, "BeiDou B2b": 118, "BeiDou B3I": 124,
}
HERTZ_IN_MHZ = 1e-6


def test_carriers_are_those_of_the_interface_documents():
    assert CARRIER_MHZ == INTERFACE_DOCUMENTS_MHZ


@pytest.mark.parametrize("signal", MULTIPLES)
def test_carriers_are_multiples_of_the_fundamental_frequency(signal):
    assert CARRIER_MHZ[signal] == pytest.approx(MULTIPLES[signal] * FUNDAMENTAL_MHZ, abs=HERTZ_IN_MHZ)


def test_the_wavelength_is_the_speed_of_light_over_the_frequency():
    # speed of light: exact by the SI definition of the metre (BIPM, SI Brochure; from memory)
    assert SPEED_OF_LIGHT_M_S == 299_792_458
    # GPS L1 is commonly given as 19.03 cm, L2 as 24.42 cm, L5 as 25.48 cm (common practice, no source)
    for signal, centimetres in (("GPS L1", 19.03), ("GPS L2", 24.42), ("GPS L5", 25.48)):
        assert round(100 * wavelength_m(signal), 2) == centimetres


def test_gps_l1_is_the_default_and_comes_first():
    assert DEFAULT_SIGNAL == "GPS L1" == SIGNALS[0]


def test_an_unknown_signal_is_refused_with_the_list_of_known_ones():
    with pytest.raises(InputError, match="GPS L9.*GPS L1, GPS L2"):
        wavelength_m("GPS L9")
