"""The skyline against GRASS GIS: r.horizon in raster mode on fractal ground, recorded by `make_grass_horizon.py`.

GRASS looks from the height of the cell, without refraction (k = 1), and samples at cells' centres.
"""

import json
import sys
from pathlib import Path

import numpy as np
import pytest
from stillwater.siting.ground.rasters import Raster
from stillwater.siting.sight.terrain import Terrain
from stillwater.tests.science.terrain_scenes import lonlat, tif

sys.path.insert(0, str(Path(__file__).parent))
import make_grass_horizon as record

TOLERANCE_DEG, SHARE = 0.1, 0.95


@pytest.fixture(scope="module")
def both(tmp_path_factory):
    """Give the angles of GRASS and ours, shape (sites, azimuths)."""
    told = json.loads(record.RECORD.read_text(encoding="utf-8"))
    assert told["ground"]["seed"] == record.SEED and len(told["sites"]) == len(record.SITES)
    heights = record.ground()
    path = tif(tmp_path_factory.mktemp("grass") / "dem.tif", heights, record.CELL_M)
    places = np.array([lonlat(*record.centre(site["row"], site["col"])) for site in told["sites"]])
    # GRASS measures on the map, where a metre is 0.9996 m long
    terrain = Terrain(Raster(path), None, None, record.BUFFER_M / 0.9996, *places.T, refraction_k=1.0)
    ours = [terrain.skyline(number, float(heights[site["row"], site["col"]]), site["azimuth_deg"]).el_deg
            for number, site in enumerate(told["sites"])]
    return np.array([site["el_deg"] for site in told["sites"]]), np.array(ours)


def test_it_agrees_to_a_tenth_of_a_degree_in_95_of_100_azimuths(both):
    theirs, ours = both
    assert theirs.shape == ours.shape == (len(record.SITES), 72)
    assert theirs.max() - theirs.min() > 5.0
    apart = np.abs(ours - theirs)
    assert np.mean(apart <= TOLERANCE_DEG) >= SHARE
    assert abs(np.median(ours - theirs)) < 0.01


def test_azimuths_counted_the_other_way_would_not_agree(both):
    theirs, ours = both
    assert np.mean(np.abs(ours[:, ::-1] - theirs) <= TOLERANCE_DEG) < 0.5
