"""The built-in scenes, simulated: what every crew knows of them must come out."""

from functools import lru_cache

import numpy as np
import pytest
from stillwater.siting.assess import assess
from stillwater.siting.errors import Cancelled, InputError
from stillwater.siting.purposes import LAKE_LEVEL, SEA_LEVEL
from stillwater.siting.settings import Settings
from stillwater.siting.sky.arcs import arcs_over
from stillwater.siting.sky.clock import read_date
from stillwater.siting.sky.nominal import NominalOrbits
from stillwater.siting.sky.sky import Sky
from stillwater.siting.trial.outcome import outcome
from stillwater.siting.trial.predicted import polygons, predicted
from stillwater.siting.trial.scenes import basin, pier, scenes, set_back, ships, waves
from stillwater.siting.trial.simulate import Sample, Way, masked, simulate

ANGLES = tuple(float(angle) for angle in range(5, 21))
ARCS = 16


@lru_cache(maxsize=4)
def arcs_of(scene):
    sky = Sky(NominalOrbits(scene.systems), read_date("2026-06-01"), 1, ANGLES[0], ANGLES[-1])
    return arcs_over(sky, scene.lon_deg, scene.lat_deg)


@lru_cache(maxsize=64)
def assessed(scene):
    given = predicted(scene)
    settings = Settings(scene.wavelength_m, ANGLES)
    ((_index, found),) = assess([given.candidate], given.layers, settings, sight=given.sight)
    return found


def tried(scene, is_masked=True, **options):
    """Simulate arcs, whole or as the mask of the prediction allows: 3 oscillations, and a separation of 1 m."""
    arcs = arcs_of(scene)
    width = scene.wavelength_m * max(3.0 / (2.0 * (scene.antenna_m - scene.high_m)), 0.5)
    limits = masked(arcs, assessed(scene).good, np.array(ANGLES), width) if is_masked else None
    sample = Sample(options.pop("arcs_most", ARCS), options.pop("seed", 1))
    return simulate(scene, arcs, limits, sample=sample, **options)


def test_there_are_all_kinds_of_scenes_under_names_of_their_own():
    every = scenes()
    assert len(every) >= 24 and len({one.name for one in every}) == len(every)
    assert {one.purpose for one in every} == {SEA_LEVEL, LAKE_LEVEL}


@pytest.mark.parametrize("scene", scenes(), ids=lambda scene: scene.name)
def test_prediction_and_simulation_look_at_the_same_water(scene):
    rng = np.random.default_rng(1)
    east, north = rng.uniform(-200, 200, (2, 300))
    is_land = np.zeros(300, bool)
    for outline, holes in polygons(scene.fixed):
        inside = [_within(ring, east, north) for ring in (outline, *holes)]
        is_land |= inside[0] & ~np.any([np.zeros(300, bool), *inside[1:]], axis=0)
    # from straight above nothing is hidden
    worth = np.array([float(scene.standing()._replace(antenna_m=1e6).worth_of(None, 0.0)(
        np.array([x]), np.array([y]), 0.0, 1e6)[0]) for x, y in zip(east, north)])
    assert np.mean((worth > 0) == ~is_land) > 0.99
    found = assessed(scene)
    assert not found.candidate.problem
    # 60 m and more behind the shore no footprint holds water alone
    assert found.good.any() or "set back" in scene.name


def _within(ring, east, north):
    x1, y1 = ring.T[:, :, None]
    x2, y2 = np.roll(ring, -1, axis=0).T[:, :, None]
    with np.errstate(divide="ignore", invalid="ignore"):
        crosses = ((y1 > north) != (y2 > north)) & (east < x1 + (north - y1) / (y2 - y1) * (x2 - x1))
    return crosses.sum(axis=0) % 2 == 1


@pytest.mark.parametrize("height", [4.0, 12.0])
def test_open_piers_find_the_water_within_centimetres(height):
    told = outcome(tried(pier(height)))
    assert told.good_part == 1.0 and told.scatter_cm < 2.0 and told.finds == "the water"


def test_far_behind_the_shore_the_land_is_found():
    """30 m behind a shore of concrete, an antenna finds the concrete (science.md section 8, derived there)."""
    scene = set_back(30.0)
    # facing south: the arcs to the north have land alone in any case
    trial = tried(scene, is_masked=False, arcs_most=40)
    to_water = np.cos(np.radians(trial.azimuth_deg)) > 0.7
    assert to_water.sum() >= 4
    assert np.mean(trial.finds[to_water] == trial.names.index("the quay")) > 0.7
    assert outcome(trial).finds == "the quay"


def test_the_mask_makes_the_difference_at_a_set_back_and_in_a_basin():
    for scene in (set_back(15.0), basin(80.0)):
        assert outcome(tried(scene)).good_part > 0.9
        assert outcome(tried(scene, is_masked=False)).good_part < 0.7


def test_ships_spoil_the_arcs_during_which_they_are_there_and_no_others():
    trial = tried(ships(0.3), arcs_most=60)
    error = np.abs(trial.error_m)
    assert 0.15 < trial.is_busy.mean() < 0.45
    assert (error[~trial.is_busy] < 0.1).all()
    assert error[trial.is_busy].max() > 0.1
    assert "a ship's deck" in trial.names


def test_waves_logged_rarely_scatter_more_and_by_aments_law_more_still():
    calm, rare = outcome(tried(waves(1.0, 1.0))), tried(waves(1.0, 30.0))
    assert calm.good_part == 1.0
    assert outcome(rare).scatter_cm > 2.0 * calm.scatter_cm
    ament = outcome(tried(waves(1.0, 1.0), way=Way(law="Ament")))
    assert ament.scatter_cm > calm.scatter_cm


def test_a_tide_must_be_corrected():
    """±2 m at 7 m: 45 cm of scatter uncorrected, 3.5 cm corrected (science.md section 8, derived there)."""
    scene = next(one for one in scenes() if "tide" in one.name)
    corrected, raw = (outcome(tried(scene, arcs_most=40, way=Way(corrects_tide=is_corrected)))
                      for is_corrected in (True, False))
    assert corrected.scatter_cm < 4.0 and corrected.good_part == 1.0
    assert raw.scatter_cm > 8.0 * corrected.scatter_cm and raw.rms_cm > 25.0 and raw.good_part < 0.5


def test_a_seed_is_a_trial():
    scene = waves(0.5, 30.0)
    first, again, other = (tried(scene, arcs_most=5, seed=seed) for seed in (3, 3, 4))
    np.testing.assert_array_equal(first.found_m, again.found_m)
    assert not np.array_equal(first.arc, other.arc) or not np.array_equal(first.found_m, other.found_m)


def test_the_antennas_own_phase_moves_all_heights_alike_by_centimetres():
    scene = pier(8.0)
    first, second = (tried(scene, arcs_most=8, way=Way(cross_phase_rad=phase)) for phase in (1.6, 4.7))
    moved = second.found_m - first.found_m
    assert 0.01 < abs(np.median(moved)) < 0.08 and np.ptp(moved) < 0.5 * abs(np.median(moved))


def test_what_is_used_is_what_the_mask_allows():
    scene = pier(8.0)
    arcs = arcs_of(scene)
    good = np.zeros((len(ANGLES), 72), bool)
    good[3:9, 18:36] = True  # 8 to 13°, from 90 to 180°
    trial = simulate(scene, arcs, masked(arcs, good, np.array(ANGLES)), sample=Sample(10))
    assert len(trial.arc) == 10
    assert (trial.el_from_deg > 7.8).all() and (trial.el_to_deg < 13.2).all()
    assert ((trial.azimuth_deg > 89) & (trial.azimuth_deg < 181)).all()
    nothing = simulate(scene, arcs, masked(arcs, np.zeros_like(good), np.array(ANGLES)))
    assert len(nothing.arc) == 0 and outcome(nothing).arcs == 0


def test_it_can_be_stopped_and_tells_how_far_it_is():
    told = []
    simulate(pier(8.0), arcs_of(pier(8.0)), sample=Sample(3), progress=lambda part, name: told.append((part, name)))
    assert [part for part, _name in told] == pytest.approx([0, 1 / 3, 2 / 3]) and told[0][1] == "open pier, 8 m"
    with pytest.raises(Cancelled):
        simulate(pier(8.0), arcs_of(pier(8.0)), is_cancelled=lambda: True)
    with pytest.raises(InputError, match="Choose one of: waves, Ament"):
        Way(law="none")
