"""Improve a position: where near each site, and how high, an antenna would do better."""
from __future__ import annotations

from typing import NamedTuple

import numpy as np
from qgis.core import (
    QgsGeometry,
    QgsPointXY,
    QgsProcessing,
    QgsProcessingParameterFeatureSink,
    QgsWkbTypes,
)

from ...siting.candidates import Candidate
from ...siting.errors import InputError
from ...siting.geometry.localframe import world_edges
from ...siting.improve.gain import gain_words
from ...siting.improve.judge import Judge, JudgedPlace
from ...siting.improve.outermost import outermost_places
from ...siting.improve.search import LEAST_GAIN, is_gain, search
from ...siting.improve.searchregion import SearchRegion
from ...siting.ranking.ranking import rows_of
from ...siting.ranking.rows import RankRow
from ..layers.fields import SITE, Column
from ..layers.geometries import lines
from ..reading import parameters as define
from ..reading.candidates import listed, tell_problems
from ..reading.criteria import rank_parameters, read_criteria
from ..reading.given import Given
from ..reading.log import tell_failures
from ..reading.look import read_asked
from ..reading.searcharea import read_heights, read_radius, read_search_areas, search_parameters
from ..reading.sky import POSITIONS_PART
from ..reading.surface import read_surface_run, tell_cut_short
from ..reading.world import read_setup
from .base import StillwaterAlgorithm, fields_beside_input

COLUMNS = [
    SITE, Column("height_m", "number", "Antenna height from HEIGHT_REFERENCE [m]"),
    Column("move_m", "number", "Distance from where it was [m]"),
    Column("move_deg", "number", "Direction from where it was [°]"),
    Column("score_old", "number", "Score where it was (0 to 100)"),
    Column("score_new", "number", "Score here (0 to 100)"),
    Column("cm_old", "number", "Precision where it was [cm; soil moisture: °]"),
    Column("cm_new", "number", "Precision here [cm; soil moisture: °]"),
    Column("verdict", "text", "Verdict here"), Column("limit_by", "text", "Limited here by"),
    Column("advice", "text", "Advice"), Column("gain", "text", "What is gained"),
    Column("h_least_m", "number", "Least suitable height where it was [m]"),
    Column("near_ok_m", "number", "Distance to the nearest suitable position [m]"),
]
MOVE_COLUMNS = [SITE, Column("move_m", "number", "Distance [m]"),
                Column("score_old", "number", "Score where it was (0 to 100)"),
                Column("score_new", "number", "Score at the new position (0 to 100)")]
OLD_PART, SEARCH_PART = 20.0, 92.0
"""Where on the progress bar looking at the sites as they are ends, and where the search does [%]."""


class ImprovePositionAlgorithm(StillwaterAlgorithm):
    """Searches a better position and height near each candidate."""

    ID = "improveposition"
    TITLE = "Improve a position"
    GROUP = "Decision"
    SUMMARY = (
        "Searches, for each site, positions within a radius or inside a polygon, and antenna heights between two "
        "limits, for the best predicted precision: the score of “Rank candidate sites”, with the same parameters. It "
        "looks coarse to fine, in true metres, to half a metre and 0.05 m in height. Where scores are equal, the place "
        "with more quality over all directions goes first, then the smaller move, then the lower antenna. A site is "
        f"left where it is unless the score rises by at least {LEAST_GAIN:g}, or the new place has the clearance that "
        "the old one lacks. No antenna is moved into the surface water, below the ground, or to where a layer tells "
        "nothing; a "
        "site that stands in the water already, on a pile or a pier that no layer shows, may stay. h_least_m is the "
        "least height between the limits that is suitable at the site itself, near_ok_m the distance to the nearest "
        "suitable position found (0: the site itself, at its own or another height between the limits). A best place "
        "narrower than the first steps of the search may be missed.")
    TAGS = ("improve", "optimise", "optimize", "search", "move", "position", "height", "mast", "nearest", "best")

    def initAlgorithm(self, configuration: dict | None = None) -> None:
        for parameter in (*rank_parameters(), *search_parameters()):
            self.addParameter(parameter)
        self.addParameter(define.described(QgsProcessingParameterFeatureSink(
            "OUTPUT", "Improved positions", QgsProcessing.SourceType.TypeVectorPoint),
            "Each site at its best position, with what it gains; rank it again with HEIGHT_FIELD height_m."))
        self.addParameter(define.described(QgsProcessingParameterFeatureSink(
            "OUTPUT_MOVES", "Moves", QgsProcessing.SourceType.TypeVectorLine, None, True, False),
            "A line from each site that moves to its new position."))

    def compute(self, given: Given) -> dict:
        radius, heights_of = read_radius(given), read_heights(given)
        areas = read_search_areas(given)
        criteria, asked = read_criteria(given), read_asked(given)
        regions: dict[int, SearchRegion] = {}

        def scouts(candidates, resolver):
            made = []
            for index, candidate in enumerate(candidates):
                if _has_place(candidate):
                    region = SearchRegion(radius) if areas is None else areas.region(
                        candidate.lon, candidate.lat, radius)
                    if region is not None:
                        regions[index] = region
                    made += outermost_places(candidate, region, heights_of(candidate), resolver)
            return made

        run = read_surface_run(given, scouts)
        setup = read_setup(given, run, criteria, asked)
        output, moves, kept = self._open(given, run)
        old = rows_of(run.candidates, setup, given.progress(POSITIONS_PART, OLD_PART), given.is_cancelled)
        tell_cut_short(given, run, [(row.index, row.ends_m) for row in old])
        found, length = {}, (SEARCH_PART - OLD_PART) / len(run.candidates)
        for index, region in regions.items():
            start, candidate = OLD_PART + index * length, run.candidates[index]
            reach = float(np.hypot(*np.abs(region.box_m).max(axis=0)))
            progress = given.progress(start, start + length)
            judge = Judge(candidate, setup, reach, given.is_cancelled)
            found[index] = search(judge, region, heights_of(candidate), progress)
            progress(1.0)
        _tell_empty(given, run, regions, found, areas)
        new = _confirm(given, run, setup, old, found)
        if all(row.result is None for row in old) and not new:
            tell_problems(given, run.candidates)
        tell_failures(given, run.candidates)
        unit, edges = asked.demand.unit, world_edges(run.crs)
        for index, candidate in enumerate(run.candidates):
            moved = new.get(index)
            told = _values(candidate, old[index], moved, found.get(index), (run.settings.bin_width_deg, unit))
            geometry = run.points[index]
            if moved is not None and moved.place.move_m > 0:
                geometry = QgsGeometry.fromPointXY(QgsPointXY(moved.candidate.x, moved.candidate.y))
                if moves is not None:
                    ends = np.array([(candidate.x, candidate.y), (moved.candidate.x, moved.candidate.y)])
                    line, = lines(*ends.T, np.array([0, 2]), True, edges)
                    moves.add(line, [candidate.name, moved.place.move_m, *told[3:5]])
            output.add(geometry, [*kept(index), candidate.name, *told])
        _tell(given, run, old, new, unit)
        return {sink.name: sink.dest_id for sink in (output, moves) if sink is not None}

    def _open(self, given, run):
        fields, kept = fields_beside_input(given, run, COLUMNS)
        crs = run.source.sourceCrs()
        output = self.open_output(given, "OUTPUT", fields, QgsWkbTypes.Type.Point, crs)
        # a move over the meridian of 180° is drawn in two parts
        moves = self.open_output(given, "OUTPUT_MOVES", MOVE_COLUMNS, QgsWkbTypes.Type.MultiLineString, crs)
        return output, moves, kept


class Move(NamedTuple):
    """A better place of one site: its candidate, the place as it was found, and its row."""

    candidate: Candidate
    place: JudgedPlace
    row: RankRow


def _has_place(outcome) -> bool:
    return bool(np.isfinite([outcome.lon, outcome.height_m]).all())


def _confirm(given, run, setup, old, found) -> dict[int, Move]:
    """Judge what was found afresh: only a gain that this confirms counts; by the sites' indices."""
    better = {index: outcome.best for index, outcome in found.items() if outcome.best != outcome.own}
    candidates = []
    for index, place in better.items():
        judge = Judge(run.candidates[index], setup, max(place.move_m, 1.0))
        candidates.append(judge.candidate(place.east_m, place.north_m, place.height_m))
    run.resolver(candidates)
    rows = rows_of(candidates, setup, is_cancelled=given.is_cancelled)
    found_again = zip(better.items(), candidates, rows)
    return {index: Move(candidate, place, row) for (index, place), candidate, row in found_again
            if is_gain(row, old[index])}


def _tell_empty(given, run, regions, found, areas):
    """Name the sites around which nothing could be judged; an area in which that is so for all ends the run."""
    looked = [i for i, candidate in enumerate(run.candidates) if _has_place(candidate)]
    empty = [i for i in looked if i not in regions or found[i].is_empty]
    if not empty:
        return
    why = ("no antenna can stand there: it is in the water, below the ground, outside the layers, or farther from "
           "the site than 5 km")
    if areas is not None and len(empty) == len(looked):
        raise InputError(f"SEARCH_AREA “{areas.name}” holds no valid place for any site: {why}. Draw polygons on "
                         "land near the sites, or give RADIUS instead.")
    given.warn(f"No place was found to judge around {len(empty)} of {len(run.candidates)} sites ({why}): "
               f"{listed([run.candidates[i].name for i in empty])}.")


def _values(outcome, old, moved, told, shown) -> list:
    """Return the values of `COLUMNS` but the first; `shown` are the width of a bin and the unit of precision."""
    row = old if moved is None else moved.row
    height = outcome.height_m if np.isfinite(outcome.height_m) else None
    move, azimuth = None if outcome.problem and moved is None else 0.0, None
    if moved is not None:
        height, move = moved.place.height_m, moved.place.move_m
        if move > 0:
            azimuth = float(np.degrees(np.arctan2(moved.place.east_m, moved.place.north_m)) % 360.0)
    was, here = (r.result.score if r.result is not None else None for r in (old, row))
    before, after = (r.result.precision if r.result is not None else None for r in (old, row))
    gain = "" if told is None else gain_words(old, row, shown[0], moved is not None, shown[1])
    return [height, move, azimuth, was, here, before, after, row.verdict, row.limit_by, row.advice, gain,
            told.least_m if told else None, told.nearest_m if told else None]


def _tell(given, run, old, new, unit):
    given.note(f"{len(new)} of {len(run.candidates)} sites are better elsewhere or at another height.")
    raised = [(move.row.result.score - (old[i].result.score if old[i].result else 0.0), i) for i, move in new.items()]
    if raised:
        rise, index = max(raised)
        _one, place, row = new[index]
        before = f"{old[index].result.precision:.2g} → " if old[index].result else ""
        given.note(f"The most: “{run.candidates[index].name}”, {before}{row.result.precision:.2g}{unit}, "
                   f"score {row.result.score - rise:.0f} → {row.result.score:.0f}, {place.move_m:.1f} m away, antenna "
                   f"at {place.height_m:g} m.")
    bad = [candidate.name for i, candidate in enumerate(run.candidates) if i not in new and old[i].result is None]
    if bad:
        given.warn(f"{len(bad)} of {len(run.candidates)} sites cannot be assessed and no better place was found: "
                   f"{listed(bad)}. limit_by tells why.")
