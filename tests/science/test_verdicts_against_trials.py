"""The words “suitable” and “unsuitable” against simulated arcs that know nothing of the criteria.

Each built-in scene is judged as a ranking judges it, and its arcs are simulated by physical
optics (siting/trial): diffraction at edges, quay and ships at their own heights, roughness,
noise, tide. No site whose simulated arcs scatter above 10 cm or find another surface may be
suitable; none whose values would be as precise as wanted may be unsuitable, but by a named
limit. ARC_ERROR stands for what no simulation has, so predicted errors are the greater ones.
"""

from dataclasses import replace
from functools import lru_cache
from typing import NamedTuple

import numpy as np
import pytest
from stillwater.siting.assess import assess
from stillwater.siting.precision.demand import Receiver, usual_demand
from stillwater.siting.precision.worth import SkyLook
from stillwater.siting.ranking.rows import row_of
from stillwater.siting.settings import Settings
from stillwater.siting.setup import Setup
from stillwater.siting.sky.clock import DAY_S, read_date
from stillwater.siting.sky.nominal import NominalOrbits
from stillwater.siting.sky.sky import Sky
from stillwater.siting.sky.usable import GAP_MARGIN_S
from stillwater.siting.trial.outcome import outcome, simulated_precision
from stillwater.siting.trial.predicted import predicted
from stillwater.siting.trial.scenes import scenes
from stillwater.siting.trial.simulate import Sample, Way, simulate, used

ANGLES = tuple(float(a) for a in range(5, 21))
PRECISION_CM, CADENCE_H = 5.0, 3.0
SCATTER_CM = 10.0
ARCS = 24
# Both polarisations add by power in the prediction; a phase of a quarter turn does so in the simulation.
WAY = Way(cross_phase_rad=np.pi / 2)

# The verdict of each scene, for 5 cm every 3 h, and the greatest predicted precision [cm] that is right for it.
TABLE = {
    "open pier, 4 m": ("suitable", 1.2), "open pier, 7 m": ("suitable", 1.2), "open pier, 12 m": ("suitable", 1.3),
    "open pier, 20 m": ("suitable", 1.3),
    "set back 5 m": ("suitable", 2.0), "set back 15 m": ("suitable", 4.0),
    "set back 30 m": ("unsuitable", np.inf), "set back 60 m": ("unsuitable", np.inf),
    "basin of 40 m": ("marginal", 7.0), "basin of 80 m": ("suitable", 2.5), "basin of 150 m": ("suitable", 2.0),
    "roof corner": ("suitable", 2.0), "cliffs around": ("suitable", 2.5), "lake": ("suitable", 1.8),
    "north-facing, GPS alone": ("suitable", 5.0),
    "berth, occupied 5 % of the time": ("suitable", 1.8), "berth, occupied 30 % of the time": ("suitable", 2.2),
    "waves of 0.5 m, logged at 1 s": ("suitable", 1.3), "waves of 0.5 m, logged at 30 s": ("suitable", 1.8),
    "waves of 1 m, logged at 1 s": ("suitable", 1.3), "waves of 1 m, logged at 30 s": ("unsuitable", np.inf),
    "waves of 1.5 m, logged at 1 s": ("suitable", 1.5), "waves of 1.5 m, logged at 30 s": ("unsuitable", np.inf),
    "open pier, 12 m, logged at 30 s": ("suitable", 1.4), "open pier, 7 m, tide of ±2 m": ("suitable", 1.3),
}


class Judged(NamedTuple):
    row: object
    over: object


@lru_cache(maxsize=4)
def sky_of(systems):
    return Sky(NominalOrbits(systems), read_date("2026-06-01"), 1, ANGLES[0], ANGLES[-1], GAP_MARGIN_S)


@lru_cache(maxsize=64)
def judged(scene):
    given = predicted(scene)
    demand = replace(usual_demand(scene.purpose), precision=PRECISION_CM, cadence_h=CADENCE_H)
    look = SkyLook(sky_of(scene.systems), demand, Receiver(interval_s=scene.interval_s),
                   complex(scene.purpose.substance.permittivity(1575.42e6)), scene.purpose.is_tidal)
    (_index, found), = assess([given.candidate], given.layers, Settings(scene.wavelength_m, ANGLES), sight=given.sight)
    setup = Setup(given.layers, found.settings, look, sight=given.sight)
    return Judged(row_of(0, found, setup), look.over(found))


def tried(scene, is_masked):
    """Simulate the pieces that count, or whole arcs where none does; the trial and its daily precision."""
    _row, over = judged(scene)
    errors = over.errors
    within = errors.within(0.0, DAY_S)
    if is_masked:
        limits, middle = used(errors.pieces, errors.counts & within), errors.pieces.middle_s[errors.counts]
    else:
        limits = None
        middle = (over.arcs.time_s[over.arcs.first] + over.arcs.time_s[over.arcs.last]) / 2.0
    trial = simulate(scene, over.arcs, limits, WAY, Sample(ARCS))
    return trial, simulated_precision(trial, middle, 1, CADENCE_H, (scene.low_m, scene.high_m))


@pytest.mark.parametrize("scene", scenes(), ids=lambda scene: scene.name)
def test_verdicts_hold_in_simulated_arcs(scene):
    row, _over = judged(scene)
    verdict, greatest = TABLE[scene.name]
    assert (row.verdict, row.result.precision <= greatest) == (verdict, True), row.result
    trial, precision = tried(scene, row.sky.has_arcs)
    told = outcome(trial.clear())
    print(f"{scene.name}: {row.verdict}, predicted {row.result.precision:.2f} cm; simulated arcs: "
          f"{100 * told.good_part:.0f} % good, scatter {told.scatter_cm:.1f} cm, {told.finds}; values "
          f"{precision:.2f} cm")
    if row.verdict == "suitable":
        assert told.finds == "the water" and told.scatter_cm <= SCATTER_CM and precision <= PRECISION_CM
    if row.verdict == "unsuitable":
        named = "clearance" in row.limit_by or "logging every" in row.limit_by
        assert named or precision > PRECISION_CM


def test_the_prediction_is_never_the_bolder_one():
    """What is predicted is at least what is simulated, for the simulation lacks what ARC_ERROR stands for."""
    for scene in scenes():
        row, _over = judged(scene)
        if row.sky.has_arcs and row.verdict == "suitable":
            assert row.sky.arc_error >= 5.0 * 0.99
