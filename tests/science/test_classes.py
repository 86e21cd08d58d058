"""Land-cover classes as a user types them."""

import numpy as np
import pytest
from stillwater.siting.errors import InputError
from stillwater.siting.ground.classes import parse_classes


@pytest.mark.parametrize("text, ranges", [
    ("80", ((80, 80),)),
    ("80, 90-95", ((80, 80), (90, 95))),
    ("80,90-95", ((80, 80), (90, 95))),
    (" 1 ; 3 - 5 ,, 7 ", ((1, 1), (3, 5), (7, 7))),
    ("0", ((0, 0),)),
    ("0.5-1.5", ((0.5, 1.5),)),
])
def test_numbers_and_ranges_are_read(text, ranges):
    assert parse_classes(text).ranges == ranges


@pytest.mark.parametrize("text", ["water", "80 90", "80-", "-5", "80--90", "1,two,3", "8_0", "1e3", "80:90", "٣٠ x"])
def test_what_is_no_list_is_refused_and_quoted(text):
    with pytest.raises(InputError, match="no class number and no range.*80, 90-95"):
        parse_classes(text)


@pytest.mark.parametrize("text", ["", "  ", ",;,", None])
def test_an_empty_list_is_refused(text):
    with pytest.raises(InputError, match="TARGET_CLASSES is empty"):
        parse_classes(text)


def test_a_range_that_runs_backwards_is_refused():
    with pytest.raises(InputError, match="95-90.*runs backwards"):
        parse_classes("80, 95-90")


@pytest.mark.parametrize("dtype", ["uint8", "int16", "int32", "uint16", "float32"])
def test_both_ends_of_a_range_belong_to_it_whatever_the_type(dtype):
    values = np.array([[0, 79, 80], [89, 90, 95], [96, 200, 255 if dtype == "uint8" else 300]], dtype)
    wanted = np.array([[False, False, True], [False, True, True], [False, False, False]])
    assert np.array_equal(parse_classes("80, 90-95").contains(values), wanted)


@pytest.mark.parametrize("dtype", ["uint8", "uint16"])
def test_classes_beyond_what_a_byte_holds_match_nothing_in_bytes(dtype):
    values = np.array([44, 255], dtype)
    assert not parse_classes("300").contains(values).any()
    assert parse_classes("250-300").contains(values).tolist() == [False, True]


def test_ranges_between_whole_numbers_match_no_byte():
    assert parse_classes("1.2-1.8").contains(np.array([1, 2], np.uint8)).tolist() == [False, False]
    assert parse_classes("1.2-1.8").contains(np.array([1.5, 2], np.float32)).tolist() == [True, False]
