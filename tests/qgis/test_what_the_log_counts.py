"""What the log counts are candidates: where elevation models end, and who could not be assessed."""

import re

import numpy as np
import pytest
from scenes import MIDDLE_Y, Feedback, points, raster, rows, run

pytestmark = pytest.mark.usefixtures("provider")

EAST = (30.0, 200.0, 600.0)


@pytest.fixture
def sites():
    return points(*[(500_000 + x, MIDDLE_Y) for x in EAST], fields="name:string(20)|h:double",
                  rows=[["pier", 6.0], ["raft", 6.0], ["mast", 60.0]])


def bed(path, cell, half_m=2000.0):
    number = int(2 * half_m / cell)
    cells = np.full((number, number), -8.0, np.float32)
    cells[:, :number // 2] = 0.5
    return raster(path, cells, 500_000.0 - half_m, MIDDLE_Y + half_m, cell)


@pytest.mark.parametrize("algorithm, more", [
    ("surfacequality", {}), ("rankcandidates", {"TRIALS": 3}), ("improveposition", {"RADIUS": 10.0}),
])
def test_candidates_are_counted_and_not_looks(algorithm, more, sites, coast, tmp_path):
    feedback = Feedback()
    run(algorithm, feedback, INPUT=sites, SITE_FIELD="name", DEM=bed(tmp_path / "dem.tif", 10.0), DEM_WATER="bed",
        ANTENNA_HEIGHT=6.0, HEIGHT_REFERENCE="surface", MAX_DISTANCE=5000.0, **more, **coast)
    told = [text for text in feedback.warnings if "end before MAX_DISTANCE" in text]
    assert len(told) == 1
    assert told[0].startswith("For 3 of 3 candidates the elevation models end")
    # the mast stands 1400 m from the eastern edge
    assert "“mast”" in told[0]
    nearest = min(float(text) for text in re.findall(r"from ([\d.]+) m on", told[0]))
    assert nearest == pytest.approx(1400.0, abs=30.0)


@pytest.mark.parametrize("algorithm", ["surfacequality", "rankcandidates"])
def test_a_dem_too_coarse_for_one_site_is_told_and_the_others_go_on(algorithm, sites, coast, tmp_path):
    feedback = Feedback()
    result = run(algorithm, feedback, INPUT=sites, SITE_FIELD="name", HEIGHT_FIELD="h", HEIGHT_REFERENCE="surface",
                 DEM=bed(tmp_path / "dem.tif", 500.0, 10_000.0), DEM_WATER="surface", MAX_DISTANCE=5000.0, **coast)
    told = [text for text in feedback.warnings if "too coarse here" in text]
    assert len(told) == 1 and told[0].startswith("2 more candidate(s) are not assessed; the first, “pier”")
    found = {row["site"]: row for row in rows(result["OUTPUT"])}
    if algorithm == "surfacequality":
        assert set(found) == {"mast"}
    else:
        assert found["pier"]["verdict"] == found["raft"]["verdict"] == "not assessed"
        assert "the DEM is too coarse here" in found["pier"]["limit_by"]
        assert found["mast"]["rank"] == 1
