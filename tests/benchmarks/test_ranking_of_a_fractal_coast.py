"""Whether the rank ranks: 2000 candidates along an invented fractal coast of open water, and simulated arcs at 60.

Prints how many share a rank, how far scores spread, and how the rank correlates with the
precision that simulated arcs have (Spearman): with what a simulation leaves of an arc's
error beside noise, and with the 5 cm that are usual for real stations, whose waves, tides
and other reflections nobody simulates here; and what a site costs beside assessing the
surface alone, in one run. Nothing asserts a time.
"""

import os
import time
from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
from stillwater.siting.assess import assess
from stillwater.siting.candidates import Candidate, resolve
from stillwater.siting.ground.polygons import PolygonLayer, Ring
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.precision.demand import Receiver, usual_demand
from stillwater.siting.precision.worth import SkyLook
from stillwater.siting.purposes import SEA_LEVEL
from stillwater.siting.ranking.ranking import rank
from stillwater.siting.settings import Settings
from stillwater.siting.setup import Setup
from stillwater.siting.signals import wavelength_m
from stillwater.siting.sky.clock import DAY_S, read_date
from stillwater.siting.sky.nominal import NominalOrbits
from stillwater.siting.sky.sky import Sky
from stillwater.siting.sky.usable import GAP_MARGIN_S
from stillwater.siting.trial.outcome import simulated_precision
from stillwater.siting.trial.scenes import Scene
from stillwater.siting.trial.shapes import Cells
from stillwater.siting.trial.simulate import Sample, Way, simulate, used
from stillwater.siting.trial.standing import GROUND, Piece

stats = pytest.importorskip("scipy.stats")

CRS, X0, Y0 = "EPSG:32624", 500_000.0, 4_980_000.0
CANDIDATES, TRIED, ARCS, RECORDINGS = 2000, 60, 300, 8
INTERVAL_S = 15.0
WAVES_M, HEIGHTS_M, BACK_M = (0.2, 0.8), (4.0, 14.0), (0.5, 14.0)
"""Waves as shelter leaves them, and an interval, with which simulated arcs of 5 to 20° scatter by some centimetres, as
published ones of real stations do: over a calm sea, logged every second, they scatter by a millimetre or two, and what
parts sites then is what no real station would notice."""
SIMULATED_CM = 1.0
"""Error of a simulated arc over a calm sea, in place of ARC_ERROR: of this size, see the scenes' own tests [cm]."""
LAND_M = 1.5
CELL_M, HALF_CELLS = 0.5, 500
L1 = wavelength_m("GPS L1")
SETTINGS = Settings(L1, tuple(float(a) for a in range(5, 21)), 72)


def fractal_line(rng, halvings=13, width=60_000.0, rough=0.5):
    """Divide a line again and again, its middles moved at random: a coast with bays of every size [m]."""
    y = np.zeros(2)
    sway = 0.06 * width
    for _ in range(halvings):
        middle = (y[1:] + y[:-1]) / 2.0 + rng.normal(0.0, sway, len(y) - 1)
        y = np.insert(y, np.arange(1, len(y)), middle)
        sway *= 2.0**-(1.0 - rough + 0.35)
    return np.linspace(-width / 2, width / 2, len(y)), y


def candidates(rng, x, y):
    """Place antennas some metres behind the shore and over the water, each with the waves of its own shelter."""
    place = np.sort(rng.uniform(x[0] * 0.97, x[-1] * 0.97, CANDIDATES))
    back, height, waves = (rng.uniform(*limits, CANDIDATES) for limits in (BACK_M, HEIGHTS_M, WAVES_M))
    made = [Candidate(f"c{i:04d}", X0 + a, Y0 + np.interp(a, x, y) - b, h, wave_m=w)
            for i, (a, b, h, w) in enumerate(zip(place, back, height, waves))]
    resolve(made, CRS, "surface", False)
    return made


def scene_at(one, x, y):
    """Make the ground around a candidate for the simulation: land below the line, on a grid of its own."""
    edge = HALF_CELLS * CELL_M
    east = np.arange(-HALF_CELLS, HALF_CELLS) * CELL_M + CELL_M / 2
    line = np.interp(one.x - X0 + east, x, y) - (one.y - Y0)
    land = east[:, None] <= line[None, :]
    shore = Piece("the land", Cells(land, -edge, -edge, CELL_M), LAND_M, GROUND)
    return Scene(one.name, one.height_m, (shore,), wave_m=one.wave_m, interval_s=INTERVAL_S, lon_deg=one.lon,
                 lat_deg=one.lat)


def test_the_rank_of_a_fractal_coast_follows_simulated_precision():
    rng = np.random.default_rng(20261126)
    x, y = fractal_line(rng)
    # water lies north of the line
    ring = np.concatenate([np.stack([x, y], axis=-1), [[x[-1], y.max() + 9000.0], [x[0], y.max() + 9000.0]]])
    layers = SurfaceLayers(water=PolygonLayer([Ring(ring + (X0, Y0), False, 0)], CRS, "water"))
    sites = candidates(rng, x, y)
    sky = Sky(NominalOrbits(["GPS", "GLONASS", "Galileo", "BeiDou"]), read_date("2026-06-01"), 1, 5.0, 20.0,
              GAP_MARGIN_S)
    look = SkyLook(sky, usual_demand(SEA_LEVEL), Receiver(interval_s=INTERVAL_S),
                   complex(SEA_LEVEL.substance.permittivity(1575.42e6)))
    begin = time.process_time()
    for _index, _one in assess([replace(one) for one in sites], layers, SETTINGS):
        pass
    plainly = time.process_time() - begin
    begin = time.process_time()
    rows = rank(sites, Setup(layers, SETTINGS, look))
    ranking = time.process_time() - begin
    as_simulated = replace(look, demand=replace(look.demand, arc_error=SIMULATED_CM))
    like_trials = rank(sites, Setup(layers, SETTINGS, as_simulated))

    count = Counter(row.rank for row in rows)
    shared = sum(n for n in count.values() if n > 1)
    scores = np.array([row.result.score for row in rows])
    low, high = np.percentile(scores, [2.5, 97.5])

    # every thirtieth or so of those that have arcs, over the whole order
    able = [row for row in like_trials if row.sky.has_arcs]
    chosen = [able[i] for i in np.linspace(0, len(able) - 1, TRIED).round().astype(int)]
    simulated = []
    for row in chosen:
        (_i, found), = assess([sites[row.index]], layers, SETTINGS)
        over = as_simulated.over(found)
        errors = over.errors
        # the same day with other noise, again and again: how precise is what many values tell, not what one does
        trial = simulate(scene_at(sites[row.index], x, y), over.arcs,
                         used(errors.pieces, errors.counts & errors.within(0.0, DAY_S)),
                         Way(cross_phase_rad=np.pi / 2), Sample(ARCS, repeats=RECORDINGS))
        simulated.append(simulated_precision(trial, errors.pieces.middle_s[errors.counts], 1, 3.0))
    if os.environ.get("PAIRS"):
        np.savetxt(os.environ["PAIRS"], [[row.rank, row.result.precision, told, row.sky.arcs_day, row.sky.arc_noise]
                                         for row, told in zip(chosen, simulated)])
    spearman = stats.spearmanr([row.rank for row in chosen], simulated).statistic
    usual = {row.index: row.rank for row in rows}
    usually = stats.spearmanr([usual[row.index] for row in chosen], simulated).statistic
    print(f"\n{CANDIDATES} candidates of a fractal coast: {shared} share their rank "
          f"({100 * shared / CANDIDATES:.1f} %), {len(count)} ranks; "
          f"scores {scores.min():.1f} to {scores.max():.1f}, 95 % within {low:.1f} to {high:.1f}; "
          f"Spearman of rank and simulated precision at {TRIED}: {spearman:.3f} with the {SIMULATED_CM:g} cm of an arc "
          f"that is simulated, {usually:.3f} with the usual {look.demand.arc_error:g} cm; "
          f"ranking {ranking / CANDIDATES * 1e3:.1f} ms a site, {ranking / plainly:.1f} times the surface alone")
    assert shared < 0.02 * CANDIDATES
    assert high - low >= 20.0
    assert spearman >= 0.9
