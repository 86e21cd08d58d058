"""Time the sky of a run: positions once, then the arcs of ten thousand sites; printed, nothing asserts a time.

Real two-line elements are timed with compiled SGP4 and with its pure-Python form in the same run.
"""

import time

import numpy as np
import sgp4.api
import sgp4.model
from stillwater.siting.precision.arcerrors import ArcJudge
from stillwater.siting.precision.demand import Receiver, usual_demand
from stillwater.siting.precision.noise import pattern
from stillwater.siting.purposes import SEA_LEVEL
from stillwater.siting.reflection.coefficients import fresnel
from stillwater.siting.signals import wavelength_m
from stillwater.siting.sky.arcs import arcs_over
from stillwater.siting.sky.clock import read_date
from stillwater.siting.sky.nominal import NominalOrbits
from stillwater.siting.sky.orbitfiles import read_orbits
from stillwater.siting.sky.sky import Sky
from stillwater.siting.sky.usable import GAP_MARGIN_S, place
from stillwater.tests.science import orbitfile_samples

SYSTEMS = ["GPS", "GLONASS", "Galileo", "BeiDou"]
SITES = 10_000
ANGLES = np.arange(5.0, 21.0)


def clock(work):
    begin = time.perf_counter()
    result = work()
    return time.perf_counter() - begin, result


def test_a_day_of_four_constellations_and_the_arcs_of_a_region():
    once, sky = clock(lambda: Sky(NominalOrbits(SYSTEMS), read_date("2026-06-01"), 1, 5.0, 20.0))
    rng = np.random.default_rng(5)
    # a coast of 200 km, in order along it, as candidates along a shoreline come
    lat = np.sort(rng.uniform(44.0, 45.8, SITES))
    lon = -39.0 + 0.3 * np.sin(lat * 8) + rng.normal(0, 0.01, SITES)
    spent, counts = clock(lambda: [len(arcs_over(sky, x, y).satellite) for x, y in zip(lon, lat)])
    shuffled = rng.permutation(SITES)
    mixed, _counts = clock(lambda: [len(arcs_over(sky, lon[i], lat[i]).satellite) for i in shuffled[:2000]])
    print(f"\none day, 4 nominal constellations, 30 s: {once:.2f} s once for {len(sky.orbits.names)} satellites; "
          f"arcs of {SITES} sites of a region: {1e3 * spent / SITES:.2f} ms a site (in mixed order "
          f"{1e3 * mixed / 2000:.2f} ms), {np.mean(counts):.0f} arcs a site")
    assert min(counts) > 200

    wide = Sky(NominalOrbits(SYSTEMS), read_date("2026-06-01"), 1, 5.0, 20.0, GAP_MARGIN_S)
    good = np.random.default_rng(6).random((len(ANGLES), 72)) > 0.05
    smooth = fresnel(SEA_LEVEL.substance.permittivity(1575.42e6), ANGLES)
    told = pattern(Receiver(), ANGLES, np.abs(smooth.co_polar), np.abs(smooth.cross_polar))
    one = ArcJudge(usual_demand(SEA_LEVEL), Receiver(), wavelength_m("GPS L1"), 5.0, 5.0, 3.0, 1.0, 0.0)

    def judge():
        counted = []
        for x, y in zip(lon[:2000], lat[:2000]):
            arcs = arcs_over(wide, x, y, True)
            counted.append(int(one.judge(arcs, place(arcs, ANGLES, 72), good, told).counts.sum()))
        return counted
    worth, days = clock(judge)
    print(f"the same judged by the surface, with 12 h before and after: {1e3 * worth / 2000:.2f} ms a site")
    assert min(days) > 0


def test_real_elements_with_both_forms_of_sgp4(tmp_path, monkeypatch):
    path = str(orbitfile_samples.write_gpredict(tmp_path / "real.tle", "gps-ops", "glo-ops", "galileo"))
    start = orbitfile_samples.gpredict_start_s()

    def compute():
        return Sky(read_orbits(path, SYSTEMS[:3], start, start + 86_400.0), start, 1, 5.0, 20.0)
    quick, sky = clock(compute)
    monkeypatch.setattr(sgp4.api, "accelerated", False)
    monkeypatch.setattr(sgp4.api, "Satrec", sgp4.model.Satrec)
    slow, same = clock(compute)
    print(f"\none day of {len(sky.orbits.names)} real satellites, 30 s: {quick:.2f} s with compiled SGP4, "
          f"{slow:.2f} s with its pure-Python form, {slow / quick:.1f} times as long")
    assert np.nanmax(np.abs(sky.positions_m - same.positions_m)) < 0.01
