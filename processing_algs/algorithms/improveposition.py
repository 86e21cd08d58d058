"""Improve a position: where near each site, and how high, an antenna would do better."""
from __future__ import annotations

import numpy as np
from qgis.core import (
    QgsGeometry,
    QgsPointXY,
    QgsProcessing,
    QgsProcessingParameterFeatureSink,
    QgsWkbTypes,
)

from ...siting.errors import InputError
from ...siting.geometry.localframe import world_edges
from ...siting.improve.gain import gain_words
from ...siting.improve.judge import Judge
from ...siting.improve.room import Room
from ...siting.improve.scouts import stand_ins
from ...siting.improve.search import LEAST_GAIN, is_gain, search
from ..layers.fields import SITE, Column, fields_of, with_input_fields
from ..layers.geometries import lines
from ..reading import parameters as define
from ..reading.candidates import tell_problems, wkt_of
from ..reading.criteria import rank_parameters, read_criteria
from ..reading.log import tell_own_errors
from ..reading.look import read_asked
from ..reading.searcharea import read_heights, read_radius, read_search_areas, search_parameters
from ..reading.sky import POSITIONS_PART
from ..reading.skysites import listed
from ..reading.surface import set_up, tell_cut_short
from ..reading.world import world_of
from .base import StillwaterAlgorithm

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

    def initAlgorithm(self, configuration=None):
        for parameter in (*rank_parameters(), *search_parameters()):
            self.addParameter(parameter)
        self.addParameter(define.described(QgsProcessingParameterFeatureSink(
            "OUTPUT", "Improved positions", QgsProcessing.SourceType.TypeVectorPoint),
            "Each site at its best position, with what it gains; rank it again with HEIGHT_FIELD height_m."))
        self.addParameter(define.described(QgsProcessingParameterFeatureSink(
            "OUTPUT_MOVES", "Moves", QgsProcessing.SourceType.TypeVectorLine, None, True, False),
            "A line from each site that moves to its new position."))

    def compute(self, parameters, context, feedback):
        radius = read_radius(self, parameters, context)
        heights_of = read_heights(self, parameters, context)
        areas = read_search_areas(self, parameters, context, feedback)
        criteria = read_criteria(self, parameters, context)
        asked = read_asked(self, parameters, context, feedback)
        rooms: dict[int, Room] = {}

        def scouts(candidates, settle):
            made = []
            for index, one in enumerate(candidates):
                if np.isfinite([one.lon, one.height_m]).all():
                    room = Room(radius) if areas is None else areas.room(one.lon, one.lat, radius)
                    if room is not None:
                        rooms[index] = room
                    made += stand_ins(one, room, heights_of(one), crs, settle)
            return made

        crs = wkt_of(self.parameterAsSource(parameters, "INPUT", context).sourceCrs())
        run = set_up(self, parameters, context, feedback, scouts)
        world = world_of(self, parameters, context, feedback, run, criteria, asked)
        sinks = self._open(parameters, context, feedback, run)

        def share(start, end):
            return lambda part, _name="": feedback.setProgress(start + (end - start) * part)

        old = world.rows(run.candidates, share(POSITIONS_PART, OLD_PART), feedback.isCanceled)
        tell_cut_short(run, [(row.index, row.ends_m) for row in old], feedback)
        found, length = {}, (SEARCH_PART - OLD_PART) / len(run.candidates)
        for index, room in rooms.items():
            start, one = OLD_PART + index * length, run.candidates[index]
            reach = float(np.hypot(*np.abs(room.box_m).max(axis=0)))
            found[index] = search(Judge(one, world, reach, feedback.isCanceled), room, heights_of(one),
                                  share(start, start + length))
            feedback.setProgress(start + length)
        self._tell_empty(run, rooms, found, areas, feedback)
        new = self._confirm(run, world, old, found, feedback)
        if all(row.result is None for row in old) and not new:
            tell_problems(run.candidates, feedback)
        tell_own_errors(run.candidates, feedback)
        self._write(run, sinks, old, new, found, asked.demand.unit)
        self._tell(run, old, new, feedback, asked.demand.unit)
        return {name: output.dest_id for name, (output, _fields, _kept) in sinks.items()}

    def _open(self, parameters, context, feedback, run):
        fields, kept, notes = with_input_fields(run.source.fields(), COLUMNS)
        for note in notes:
            feedback.pushInfo(note)
        crs = run.source.sourceCrs()
        sinks = {"OUTPUT": (self.open_output(parameters, "OUTPUT", context, fields, QgsWkbTypes.Type.Point, crs),
                            fields, kept)}
        # a move over the meridian of 180° is drawn in two parts
        moves = fields_of(MOVE_COLUMNS)
        output = self.open_output(parameters, "OUTPUT_MOVES", context, moves, QgsWkbTypes.Type.MultiLineString, crs)
        if output is not None:
            sinks["OUTPUT_MOVES"] = (output, moves, [])
        return sinks

    @staticmethod
    def _confirm(run, world, old, found, feedback):
        """Rank what was found afresh: only a gain that this confirms counts.

        Returns
        -------
        dict
            Candidate, place and row of each site that is better elsewhere, by its index.
        """
        better = {index: one.best for index, one in found.items() if one.best != one.own}
        candidates = []
        for index, place in better.items():
            judge = Judge(run.candidates[index], world, max(place.move_m, 1.0))
            candidates.append(judge.candidate(place.east_m, place.north_m, place.height_m))
        run.settle(candidates)
        rows = world.rows(candidates, is_cancelled=feedback.isCanceled)
        return {index: (one, place, row) for (index, place), one, row in zip(better.items(), candidates, rows)
                if is_gain(row, old[index])}

    @staticmethod
    def _tell_empty(run, rooms, found, areas, feedback):
        """Name the sites around which nothing could be judged; an area in which that is so for all ends the run."""
        looked = [i for i, one in enumerate(run.candidates) if np.isfinite([one.lon, one.height_m]).all()]
        empty = [i for i in looked if i not in rooms or found[i].is_empty]
        if not empty:
            return
        why = ("no antenna can stand there: it is in the water, below the ground, outside the layers, or farther from "
               "the site than 5 km")
        if areas is not None and len(empty) == len(looked):
            raise InputError(f"SEARCH_AREA “{areas.name}” holds no valid place for any site: {why}. Draw polygons on "
                             "land near the sites, or give RADIUS instead.")
        feedback.pushWarning(f"No place was found to judge around {len(empty)} of {len(run.candidates)} sites ({why}): "
                             f"{listed([run.candidates[i].name for i in empty])}.")

    def _write(self, run, sinks, old, new, found, unit):
        output, fields, kept = sinks["OUTPUT"]
        edges = world_edges(wkt_of(run.source.sourceCrs()))
        for index, one in enumerate(run.candidates):
            moved, place, row = new.get(index, (None, None, old[index]))
            geometry, height = run.points[index], one.height_m if np.isfinite(one.height_m) else None
            move, azimuth = None if one.problem and moved is None else 0.0, None
            if moved is not None:
                height, move = place.height_m, place.move_m
                if move > 0:
                    geometry = QgsGeometry.fromPointXY(QgsPointXY(moved.x, moved.y))
                    azimuth = float(np.degrees(np.arctan2(place.east_m, place.north_m)) % 360.0)
            was, here = (r.result.score if r.result is not None else None for r in (old[index], row))
            before, after = (r.result.precision if r.result is not None else None for r in (old[index], row))
            gain = gain_words(old[index], row, run.settings.bin_width_deg, moved is not None,
                              unit) if index in found else ""
            told = found.get(index)
            own = [run.features[index].attribute(i) for i in kept]
            output.add(fields, geometry, [
                *own, one.name, height, move, azimuth, was, here, before, after, row.verdict, row.limit_by,
                row.advice, gain, told.least_m if told else None, told.nearest_m if told else None])
            if azimuth is not None and "OUTPUT_MOVES" in sinks:
                line, = lines(np.array([one.x, moved.x]), np.array([one.y, moved.y]), np.array([0, 2]), True, edges)
                sinks["OUTPUT_MOVES"][0].add(sinks["OUTPUT_MOVES"][1], line, [one.name, move, was, here])

    @staticmethod
    def _tell(run, old, new, feedback, unit):
        feedback.pushInfo(f"{len(new)} of {len(run.candidates)} sites are better elsewhere or at another height.")
        raised = [(row.result.score - (old[i].result.score if old[i].result else 0.0), i) for i, (_c, _p, row)
                  in new.items()]
        if raised:
            rise, index = max(raised)
            _one, place, row = new[index]
            before = f"{old[index].result.precision:.2g} → " if old[index].result else ""
            feedback.pushInfo(f"The most: “{run.candidates[index].name}”, {before}{row.result.precision:.2g}{unit}, "
                              f"score {row.result.score - rise:.0f} → {row.result.score:.0f}, {place.move_m:.1f} m "
                              f"away, antenna at {place.height_m:g} m.")
        bad = [one.name for i, one in enumerate(run.candidates) if i not in new and old[i].result is None]
        if bad:
            feedback.pushWarning(f"{len(bad)} of {len(run.candidates)} sites cannot be assessed and no better place "
                                 f"was found: {listed(bad)}. limit_by tells why.")
