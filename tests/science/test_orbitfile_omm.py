"""OMM in XML, JSON and CSV: what the standard allows, and what is wrong with others."""

import json

import numpy as np
import pytest
from sgp4 import api, omm
from stillwater.siting.errors import InputError
from stillwater.siting.sky.orbitfiles import read_orbits
from stillwater.tests.science import orbitfile_samples as samples

DAY = (samples.EPOCH_S, samples.EPOCH_S + 86_400)
TIMES = samples.EPOCH_S + np.arange(0, 86_400, 3600.0)
ONE, TWO = samples.SATELLITES[:2]


@pytest.fixture
def read(tmp_path):
    """Give a function that writes a text and reads its GPS satellites."""
    def read(text, systems=("GPS",), start=DAY[0]):
        path = tmp_path / "mean.txt"
        path.write_text(text, encoding="utf-8")
        return read_orbits(str(path), list(systems), start, start + 86_400)
    return read


def as_json(*changes, **more):
    """Return a list of messages, each of `changes` laid over the first satellite's; None takes a keyword out."""
    fields = [{**samples.omm_fields(ONE), **change, **more} for change in changes or ({},)]
    return json.dumps([{key: value for key, value in one.items() if value is not None} for one in fields])


def as_csv(**changes):
    fields = {**samples.omm_fields(ONE), **changes}
    return ",".join(fields) + "\n" + ",".join(str(value) for value in fields.values()) + "\n"


def test_the_sgp4_packages_own_reader_takes_our_xml_to_the_same_orbit(tmp_path, read):
    text = samples.omm_xml([ONE])
    ours = read(text).positions_m(TIMES)[0]
    (tmp_path / "omm.xml").write_text(text)
    model = api.Satrec()
    omm.initialize(model, next(omm.parse_xml(tmp_path / "omm.xml")))
    days, seconds = np.divmod(TIMES, 86_400)
    teme_m = 1000 * model.sgp4_array(days + 2_440_587.5, seconds / 86_400)[1]
    # only the turning about the axis lies between the two frames
    np.testing.assert_allclose(ours[:, 2], teme_m[:, 2], atol=0.01)
    np.testing.assert_allclose(np.hypot(*ours[:, :2].T), np.hypot(*teme_m[:, :2].T), atol=0.01)


def test_numbers_may_be_text_and_one_object_needs_no_list(read):
    plain = read(as_json()).positions_m(TIMES)
    text = json.dumps({key: str(value) for key, value in samples.omm_fields(ONE).items()})
    np.testing.assert_array_equal(read(text).positions_m(TIMES), plain)


@pytest.mark.parametrize("epoch", ["2026-06-01T00:00:00Z", "2026-06-01T00:00:00.000000000", "2026-152T00:00:00.000"])
def test_epochs_by_calendar_and_by_day_of_the_year(read, epoch):
    # CCSDS 502.0-B and 301.0-B allow both forms, with or without Z (from memory)
    np.testing.assert_array_equal(read(as_json({"EPOCH": epoch})).positions_m(TIMES),
                                  read(as_json()).positions_m(TIMES))


def test_xml_may_have_a_namespace_comments_and_units(read):
    text = samples.omm_xml([ONE, TWO])
    plain = read(text).positions_m(TIMES)
    dressed = text.replace("<ndm>", '<ndm xmlns="urn:ccsds:schema:ndmxml">').replace(
        "<MEAN_MOTION>", '<!-- a comment --><MEAN_MOTION units="rev/day">').replace(
        "<metadata>", "<metadata><COMMENT>one</COMMENT><COMMENT>two</COMMENT>")
    np.testing.assert_array_equal(read(dressed).positions_m(TIMES), plain)


@pytest.mark.parametrize("key", ["EPOCH", "MEAN_MOTION", "ECCENTRICITY", "INCLINATION", "RA_OF_ASC_NODE",
                                 "ARG_OF_PERICENTER", "MEAN_ANOMALY", "BSTAR"])
def test_a_missing_keyword_is_named_with_its_object(read, key):
    with pytest.raises(InputError, match=rf"ORBITS “mean.txt”: object 2 \(GPS TEST-1 \(PRN 01\)\) has no {key}\."):
        read(as_json({"NORAD_CAT_ID": 1}, {key: None}))
    text = samples.omm_xml([TWO, ONE])
    tag = f"<{key}>"
    begin = text.rindex(tag)
    with pytest.raises(InputError, match=rf"object 2 \(GPS TEST-1 \(PRN 01\)\) has no {key}\."):
        read(text[:begin] + text[text.index("</", begin) + len(tag) + 1:])
    with pytest.raises(InputError, match=rf"“mean.txt”, line 2: object 1 \(GPS TEST-1 .* has no {key}\."):
        read(as_csv(**{key: ""}))


@pytest.mark.parametrize("changes, words", [
    ({"MEAN_MOTION": "two"}, "MEAN_MOTION “two”, which is no number"), ({"BSTAR": True}, "has no BSTAR"),
    ({"ECCENTRICITY": float("nan")}, "ECCENTRICITY “nan”, which is no number"),
    ({"ECCENTRICITY": 1.5}, "eccentricity of 1.5 is not in 0 to 1"), ({"INCLINATION": 200}, "inclination of 200°"),
    ({"MEAN_MOTION": 0}, "mean motion of 0"), ({"EPOCH": "yesterday"}, "EPOCH “yesterday”, which is no date"),
    ({"MEAN_ELEMENT_THEORY": "SGP4-XP"}, "MEAN_ELEMENT_THEORY SGP4-XP; only SGP4"),
    ({"EPHEMERIS_TYPE": 4}, "EPHEMERIS_TYPE 4"), ({"REF_FRAME": "EME2000"}, "REF_FRAME EME2000; only TEME"),
    ({"TIME_SYSTEM": "TAI"}, "TIME_SYSTEM TAI; only UTC"), ({"CENTER_NAME": "MOON"}, "CENTER_NAME MOON"),
    ({"OBJECT_NAME": None, "OBJECT_ID": None, "NORAD_CAT_ID": None}, "neither OBJECT_NAME nor")])
def test_what_sgp4_cannot_take_is_refused(read, changes, words):
    with pytest.raises(InputError, match="ORBITS “mean.txt”: object 1.*" + words):
        read(as_json(changes))


@pytest.mark.parametrize("text, words", [
    ('[{"EPOCH": 1,\n "A" 2}]', "line 2: this is no JSON"), ("[1, 2]", "entry 1 of the JSON list is no object"),
    ("[" * 100_000, "nested too deeply"), ("<ndm>\n<omm>\n</ndm>", "line 3: this is no well-formed XML"),
    ("\n\n<ndm>\n<omm>\n</ndm>", "line 5: this is no well-formed XML"),
    ('<!DOCTYPE a [<!ENTITY b "c">]><ndm><omm>&b;</omm></ndm>', "with a document type"),
    ("<ndm><omm/></ndm>", "object 1 has no element “segment”"),
    (samples.omm_xml([ONE]).replace("<BSTAR>", "<EPOCH>x</EPOCH><BSTAR>"), "object 1 gives EPOCH twice"),
    (as_csv() + "GPS 2,3\n", "line 3: 2 values under 17 headings")])
def test_damaged_text_is_named_with_its_line(read, text, words):
    with pytest.raises(InputError, match="ORBITS “mean.txt”.*" + words):
        read(text)


def test_old_elements_unknown_names_and_duplicates_are_told(read):
    orbits = read(as_json({}, {"EPOCH": "2026-05-20T00:00:00"}, {"OBJECT_NAME": "LAGEOS", "NORAD_CAT_ID": 8820}),
                  start=samples.EPOCH_S + 20 * 86_400)
    assert len(orbits.names) == 1 and "epoch 2026-06-01T00:00:00Z" in orbits.source
    duplicates, unknown, stale = orbits.notes
    assert "holds 1 set of elements besides" in duplicates
    assert unknown == "1 satellite left out, of unknown system: LAGEOS."
    assert "up to 20 days from DATE (epoch 2026-06-01T00:00:00Z" in stale
