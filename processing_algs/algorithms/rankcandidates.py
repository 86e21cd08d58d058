"""Rank candidate sites: which position is best, and why."""
from __future__ import annotations

import math

from qgis.core import (
    QgsProcessing,
    QgsProcessingContext,
    QgsProcessingFeedback,
    QgsProcessingParameterFeatureSink,
    QgsProcessingParameterFileDestination,
    QgsWkbTypes,
)

from ...siting.candidates import Candidate
from ...siting.ranking.ranking import rank
from ...siting.ranking.rows import RankRow
from ...siting.ranking.wellapart import well_apart
from ...siting.report.rankingpage import ranking_page
from ...siting.words.ranklog import best_words, tide_words, tie_words, trust_words
from ..layers.fields import SITE, Column
from ..layers.writing import check_writable, write_text_file
from ..reading import parameters as define
from ..reading.criteria import rank_parameters, read_criteria, read_doubt, trust_parameters
from ..reading.given import Given
from ..reading.log import tell, tell_failures
from ..reading.look import read_asked
from ..reading.reported import parameter_texts, reported
from ..reading.sky import POSITIONS_PART
from ..reading.surface import read_surface_run, tell_cut_short
from ..reading.world import read_setup
from .base import StillwaterAlgorithm, fields_beside_input

COLUMNS = [
    SITE, Column("rank", "integer", "Rank (1 is best; equals share it)"),
    Column("score", "number", "Score (0 to 100)"),
    Column("verdict", "text", "Verdict"), Column("limit_by", "text", "Limited by"),
    Column("advice", "text", "Advice"), Column("quality", "number", "Mean quality of the bins that count"),
    Column("az_span", "number", "Azimuth span that counts [°]"),
    Column("el_from", "number", "Lowest angle that counts [°]"),
    Column("el_to", "number", "Highest angle that counts [°]"),
    Column("h_low_m", "number", "Height over the lowest level [m]"),
    Column("h_high_m", "number", "Height over the highest level [m]"),
    Column("res_m", "number", "Separation of the best bin [m]"),
    Column("height_cm", "number", "Precision of a value [cm; soil moisture: °]"),
    Column("arc_cm", "number", "Median error of an arc [cm; soil moisture: °]"),
    Column("noise_cm", "number", "Part of it that is noise [cm; soil moisture: °]"),
    Column("bend_cm", "number", "Height too small by bending if uncorrected [cm]"),
    Column("busy", "number", "Share of the time in which the arcs are spoiled"),
    Column("arcs_day", "number", "Arcs of the worst day"),
    Column("gap_h", "number", "Longest time between arcs [h]"),
    Column("int_max_s", "number", "Longest interval that resolves every arc [s]"),
    Column("int_rec_s", "number", "Recommended interval [s]"),
    Column("tide_err_m", "number", "Shift of single arcs by the tide, at most [m]"),
    Column("rank_lo", "integer", "Best rank in 90 % of the worlds drawn"),
    Column("rank_hi", "integer", "Worst rank in 90 % of the worlds drawn"),
    Column("p_best", "number", "Share of the worlds drawn in which it is the best"),
]


class RankCandidatesAlgorithm(StillwaterAlgorithm):
    """Scores candidates and puts the best first."""

    ID = "rankcandidates"
    TITLE = "Rank candidate sites"
    GROUP = "Decision"
    SUMMARY = (
        "Predicts how precise the heights of each candidate will be, scores it by that, says in words what costs it "
        "most, and puts the best first. The predicted precision (height_cm) is the standard error that a value every "
        "CADENCE hours has at 95 % of the times, from the arcs of satellites that cross good surface: their noise by "
        "antenna gain, reflection, roughness and receiver, and what else disturbs an arc (ARC_ERROR). Its "
        "desirability is 1/(1 + (height_cm/PRECISION)²), so a score of 50 just meets PRECISION; own criteria enter by "
        "a weighted geometric mean (Derringer and Suich 1980). Suitable: PRECISION is met. Unsuitable: the error is "
        "more than twice as large, no arc counts, or a limit is broken. Equals share their rank; the order of the "
        "input never decides. Areas that are avoided part of the time take arcs, not ground. With a DEM or barriers, "
        "what the antenna does not see, what the satellite does not light and satellites behind the skyline do not "
        "count.")
    TAGS = ("rank", "score", "candidate", "compare", "best", "suitability", "verdict")

    def initAlgorithm(self, configuration: dict | None = None) -> None:
        for parameter in (*rank_parameters(), *trust_parameters()):
            self.addParameter(parameter)
        self.addParameter(define.whole_number(
            "BEST", "So many of the best", 3, "For OUTPUT_BEST: so many of the best that stand well apart.", 1, True))
        self.addParameter(define.number(
            "APART", "Least distance between the best [m]", 100.0,
            "For OUTPUT_BEST: what stands nearer to a better one is left out, so that neighbours on one stretch of "
            "shore do not fill the list. 0: simply the first.", 0.0, None, True))
        self.addParameter(define.described(QgsProcessingParameterFeatureSink(
            "OUTPUT", "Ranked candidates", QgsProcessing.SourceType.TypeVectorPoint),
            "The candidates, best first."))
        self.addParameter(define.described(QgsProcessingParameterFeatureSink(
            "OUTPUT_BEST", "The best, well apart", QgsProcessing.SourceType.TypeVectorPoint, None, True, False),
            "The best candidates of which any two stand at least APART from each other; fields as those of OUTPUT."))
        self.addParameter(define.described(QgsProcessingParameterFileDestination(
            "OUTPUT_HTML", "Ranking page", "HTML files (*.html)", None, True, False),
            "The ranking as a page that explains itself; one file, no network."))

    def compute(self, given: Given) -> dict:
        page = given.file_to_write("OUTPUT_HTML")
        if page:
            check_writable(page, "OUTPUT_HTML")
        best, apart = given.whole("BEST", 1), given.real("APART", 0.0)
        criteria, asked = read_criteria(given), read_asked(given)
        run = read_surface_run(given)
        candidates, crs = run.candidates, run.source.sourceCrs()
        doubt = read_doubt(given, sum(not c.problem for c in candidates))
        setup = read_setup(given, run, criteria, asked)
        fields, kept = fields_beside_input(given, run, COLUMNS)
        output = self.open_output(given, "OUTPUT", fields, QgsWkbTypes.Type.Point, crs)
        few = self.open_output(given, "OUTPUT_BEST", fields, QgsWkbTypes.Type.Point, crs)
        resolved = [not c.problem for c in candidates]
        rows = rank(candidates, setup, doubt, given.progress(POSITIONS_PART), given.is_cancelled)
        tell_failures(given, candidates, resolved)

        def write(chosen, sink):
            for row in chosen:
                sink.add(run.points[row.index], kept(row.index) + rank_values(row, candidates[row.index]))
            sink.flush()

        write(rows, output)
        results = {"OUTPUT": output.dest_id}
        if few is not None:
            write(_best_of(given, rows, candidates, best, apart), few)
            results["OUTPUT_BEST"] = few.dest_id
        if page:
            text = ranking_page(rows, reported(run), criteria, parameter_texts(given), setup.look)
            write_text_file(page, text, "OUTPUT_HTML")
            results["OUTPUT_HTML"] = page
        tell_cut_short(given, run, [(row.index, row.ends_m) for row in rows])
        tell(given, [*tide_words(rows, candidates), *tie_words(rows, candidates), *trust_words(rows, candidates),
                     *best_words(rows, candidates, asked.demand)])
        return results


def given_to_rank(parameters: dict, context: QgsProcessingContext, feedback: QgsProcessingFeedback) -> Given:
    """Return what is given to a ranking that somebody else carries out, as the bench does."""
    algorithm = RankCandidatesAlgorithm()
    algorithm.initAlgorithm({})
    return Given(algorithm, parameters, context, feedback)


def _best_of(given, rows, candidates, number, apart_m):
    """Take the best rows that stand well apart, and say how many there are."""
    ranked = [row for row in rows if row.rank is not None]
    places = [candidates[row.index] for row in ranked]
    chosen = well_apart([place.lon for place in places], [place.lat for place in places], number, apart_m)
    ranks = ", ".join(str(ranked[i].rank) for i in chosen)
    few = "" if len(chosen) == number else f", fewer than the {number} asked for: no more stand so far apart"
    given.note(f"{len(chosen)} of the best stand at least {apart_m:g} m apart (ranks {ranks}){few}.")
    return [ranked[i] for i in chosen]


def rank_values(row: RankRow, candidate: Candidate) -> list:
    """Return the values of `COLUMNS` of a row; None where there is none."""
    return [candidate.name, row.rank, row.result.score if row.result else None, row.verdict, row.limit_by,
            row.advice, row.quality, row.az_span_deg, row.el_from_deg, row.el_to_deg, row.h_low_m,
            row.h_high_m, row.res_m, *_sky_values(row.sky), row.rank_lo, row.rank_hi, row.p_best]


def _sky_values(sky) -> list:
    if sky is None:
        return [None] * 10
    values = [sky.precision, sky.arc_error, sky.arc_noise, sky.bend_cm, sky.busy, sky.arcs_day]
    if not sky.has_arcs:
        return [sky.precision, None, None, None, None, sky.arcs_day, *[None] * 4]
    return [*(value if math.isfinite(value) else None for value in values), sky.gap_h, sky.int_max_s, sky.int_rec_s,
            max(sky.shift_m)]
