"""Orbit files in the algorithms: real elements work in all of them, and wrong files are refused in words."""

import numpy as np
import pytest
from scenes import Feedback, offshore, points, refusal, rows, run
from stillwater.siting.sky.clock import iso_text
from stillwater.tests.science import orbitfile_samples as samples

pytestmark = pytest.mark.usefixtures("provider")

REAL_DATE = iso_text(samples.gpredict_start_s())
ALGORITHMS = ["skyarcs", "blindsky", "samplinginterval", "rankcandidates"]


def surface(algorithm, coast):
    return coast if algorithm == "rankcandidates" else {}


@pytest.fixture(scope="module")
def real(tmp_path_factory):
    """Two-line elements of Debian's package `gpredict`, of January 2018 on Debian 12 and of 2021 on 13."""
    path = tmp_path_factory.mktemp("orbits") / "real.txt"
    return str(samples.write_gpredict(path, "gps-ops", "glo-ops", "galileo"))


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    return {kind: str(path) for kind, path in samples.write_all(tmp_path_factory.mktemp("all")).items()}


@pytest.mark.parametrize("algorithm", ALGORITHMS)
def test_real_elements_run_through(algorithm, real, coast):
    feedback = Feedback()
    table = rows(run(algorithm, feedback, INPUT=offshore(500), ORBITS=real, DATE=REAL_DATE, **surface(algorithm, coast)
                     )["OUTPUT"])
    assert table
    # each Debian's package carries elements of its own year
    counts = {name: len(samples.gpredict_sets(one))
              for name, one in (("GPS", "gps-ops"), ("GLONASS", "glo-ops"), ("Galileo", "galileo"))}
    number = sum(counts.values())
    assert number >= 78
    assert f"{number} satellites ({', '.join(f'{name} {count}' for name, count in counts.items())})" in feedback.log
    assert "Of BeiDou, which was asked for" in feedback.log
    assert "clock times are indicative" not in feedback.log
    if algorithm == "skyarcs":
        assert {row["system"] for row in table} == {"GPS", "GLONASS", "Galileo"}
        assert len({row["satellite"] for row in table}) == number
    elif algorithm == "rankcandidates":
        assert table[0]["arcs_day"] > 100


@pytest.mark.parametrize("kind", ["tle", "omm_xml", "omm_json", "omm_csv", "yuma", "sem", "sp3c", "sp3d"])
def test_every_format_gives_the_same_arcs(files, kind):
    def arcs(which):
        table = rows(run("skyarcs", INPUT=offshore(500), ORBITS=files[which], CONSTELLATIONS=["GPS"],
                         DATE="2026-06-01T00:00:00")["OUTPUT"])
        # the names are each format's own
        return sorted([row[name] for name in ("az_start", "az_end", "el_from", "el_to", "minutes")] for row in table)
    expected = arcs("tle")
    assert len(expected) > 20
    found = arcs(kind)
    assert len(found) == len(expected)
    # an almanac's kilometre is some thousandths of a degree and a few seconds
    assert np.allclose(found, expected, atol=0.1 if kind in ("yuma", "sem") else 0.02)


def test_elements_far_from_the_date_are_told_with_their_age(real):
    feedback = Feedback()
    run("skyarcs", feedback, INPUT=offshore(500), ORBITS=real, DATE=iso_text(samples.gpredict_start_s() + 40 * 86_400))
    assert any("days from DATE" in text for text in feedback.warnings)


def written(tmp_path, *lines):
    path = tmp_path / "orbits.txt"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return str(path)


NAME, FIRST, SECOND = samples.gpredict_sets("gps-ops")[0]


@pytest.mark.parametrize("algorithm", ALGORITHMS)
@pytest.mark.parametrize("lines, words", [
    ((), ["ORBITS"]),
    (("nothing of the sort", "at all"), ["ORBITS"]),
    ((NAME, FIRST[:-5], SECOND), ["line 2"]),
    ((NAME, FIRST, SECOND[:20] + "x" + SECOND[21:]), ["line 3"]),
    ((NAME, FIRST, FIRST), ["line 3"]),
    (("STARLINK-1", FIRST, SECOND), ["GPS"]),
], ids=["empty", "no orbits", "cut line", "damaged line", "mixed lines", "no such satellite"])
def test_wrong_files_are_refused_in_words(algorithm, lines, words, tmp_path, coast):
    path = written(tmp_path, *lines)
    text = refusal(algorithm, INPUT=offshore(500), ORBITS=path, DATE=REAL_DATE, **surface(algorithm, coast))
    assert "orbits.txt" in text
    for word in words:
        assert word in text


@pytest.mark.parametrize("algorithm", ALGORITHMS)
def test_a_constellation_that_the_file_does_not_hold_is_named(algorithm, real, coast):
    text = refusal(algorithm, INPUT=offshore(500), ORBITS=real, DATE=REAL_DATE, CONSTELLATIONS=["BeiDou"],
                   **surface(algorithm, coast))
    assert "BeiDou" in text and "GLONASS" in text


@pytest.mark.parametrize("algorithm", ALGORITHMS)
def test_a_date_outside_an_sp3_file_is_refused_with_its_span(algorithm, files, coast):
    text = refusal(algorithm, INPUT=offshore(500), ORBITS=files["sp3d"], DATE="2026-07-01T00:00:00",
                   CONSTELLATIONS=["GPS"], **surface(algorithm, coast))
    assert "2026-07-01" in text and "2026-06-0" in text


def test_a_satellite_that_decays_is_named_and_the_rest_go_on(tmp_path):
    path = written(tmp_path, "GPS GONE", *samples.decaying(), "GPS 1", *samples.two_lines(samples.SATELLITES[0]))
    feedback = Feedback()
    table = rows(run("skyarcs", feedback, INPUT=offshore(500), ORBITS=path, DATE="2026-06-01T00:00:00", DAYS=2,
                     CONSTELLATIONS=["GPS"], MIN_ELEVATION=5, MAX_ELEVATION=60)["OUTPUT"])
    assert any("GPS GONE has no position" in text for text in feedback.warnings), feedback.log
    assert "GPS 1" in {row["satellite"] for row in table}


def test_cancel_while_a_file_is_propagated(real):
    feedback = Feedback(cancel_at=1.0)
    assert not run("skyarcs", feedback, INPUT=points((500_500, 4_982_000)), ORBITS=real, DATE=REAL_DATE)
    assert "Cancelled; nothing was written" in feedback.log
