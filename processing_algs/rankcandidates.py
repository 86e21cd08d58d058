"""Rank candidate sites: which position is best, and why."""
from __future__ import annotations

import numpy as np
from qgis.core import (
    QgsProcessing,
    QgsProcessingParameterFeatureSink,
    QgsProcessingParameterFileDestination,
    QgsWkbTypes,
)

from ..siting.ranking import SkyLook, rank
from ..siting.sky.usable import GAP_MARGIN_S
from . import parameters as define
from .base import StillwaterAlgorithm
from .fields import SITE, Column, with_input_fields
from .rankpage import ranking_page
from .rankparameters import (
    is_sea_level,
    rank_parameters,
    read_clearance,
    read_criteria,
    read_doubt,
    trust_parameters,
)
from .skyrun import POSITIONS_PART, read_sky
from .surfacerun import set_up, tell_cut_short
from .writing import check_writable, write_text_file

COLUMNS = [
    SITE, Column("rank", "integer", "Rank (1 is best)"), Column("score", "number", "Score (0 to 100)"),
    Column("verdict", "text", "Verdict"), Column("limit_by", "text", "Limited by"),
    Column("advice", "text", "Advice"), Column("quality", "number", "Mean quality of the bins that count"),
    Column("az_span", "number", "Azimuth span that counts [°]"),
    Column("el_from", "number", "Lowest angle that counts [°]"),
    Column("el_to", "number", "Highest angle that counts [°]"),
    Column("h_low_m", "number", "Height over the lowest level [m]"),
    Column("h_high_m", "number", "Height over the highest level [m]"),
    Column("res_m", "number", "Separation of the best bin [m]"),
    Column("arcs_day", "integer", "Usable arcs of the worst day"),
    Column("gap_h", "number", "Longest time between usable arcs [h]"),
    Column("int_max_s", "number", "Longest interval that resolves every usable arc [s]"),
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
        "Scores candidate positions by the quality of their surface and the azimuths over which it is usable, says "
        "in words what limits each, and puts the best first. The score is a weighted geometric mean of "
        "desirabilities (Derringer and Suich 1980): one that is worth nothing condemns the site. Its limits are "
        "conventions, each a parameter. For sea level the number of usable arcs a day and the longest time between "
        "them count; for a lake, snow and soil a daily value will do, so the number is held to lower limits and the "
        "time between does not count. An arc counts where the surface below it is usable, over a piece long enough "
        "for MIN_CYCLES and MAX_RES. With a DEM or "
        "barriers, what the antenna does not see, what the satellite does not light and satellites behind the "
        "skyline do not count.")
    TAGS = ("rank", "score", "candidate", "compare", "best", "suitability", "verdict")

    def initAlgorithm(self, configuration=None):
        for parameter in (*rank_parameters(), *trust_parameters()):
            self.addParameter(parameter)
        self.addParameter(define.described(QgsProcessingParameterFeatureSink(
            "OUTPUT", "Ranked candidates", QgsProcessing.SourceType.TypeVectorPoint),
            "The candidates, best first."))
        self.addParameter(define.described(QgsProcessingParameterFileDestination(
            "OUTPUT_HTML", "Ranking page", "HTML files (*.html)", None, True, False),
            "The ranking as a page that explains itself; one file, no network."))

    def compute(self, parameters, context, feedback):
        page = self.parameterAsFileOutput(parameters, "OUTPUT_HTML", context)
        if page:
            check_writable(page, "OUTPUT_HTML")
        is_sea = is_sea_level(self, parameters, context)
        criteria = read_criteria(self, parameters, context)
        interval = self.parameterAsDouble(parameters, "INTERVAL", context)
        run = set_up(self, parameters, context, feedback)
        clearance = read_clearance(self, parameters, context, run.purpose)
        doubt = read_doubt(self, parameters, context, sum(not c.problem for c in run.candidates), feedback)
        sky = read_sky(self, parameters, context, feedback, GAP_MARGIN_S)
        fields, kept, notes = with_input_fields(run.source.fields(), COLUMNS)
        for note in notes:
            feedback.pushInfo(note)
        output = self.open_output(parameters, "OUTPUT", context, fields, QgsWkbTypes.Type.Point,
                                  run.source.sourceCrs())
        resolved = [not c.problem for c in run.candidates]
        rows = rank(run.candidates, run.layers, run.settings, criteria, SkyLook(sky, interval, is_sea),
                    lambda part, _name: feedback.setProgress(POSITIONS_PART + (100.0 - POSITIONS_PART) * part),
                    feedback.isCanceled, run.sight, clearance, doubt)
        uncovered = [c for c, before in zip(run.candidates, resolved) if before and c.problem]
        if uncovered:
            feedback.pushWarning(f"{len(uncovered)} more candidate(s) are not assessed; the first, "
                                 f"“{uncovered[0].name}”: {uncovered[0].problem}.")
        for row in rows:
            own = [run.features[row.index].attribute(i) for i in kept]
            output.add(fields, run.points[row.index], own + self._values(row, run.candidates[row.index]))
        results = {"OUTPUT": output.dest_id}
        output.flush()
        if page:
            text = ranking_page(rows, run, criteria, self._inputs(parameters, context), sky)
            write_text_file(page, text, "OUTPUT_HTML")
            results["OUTPUT_HTML"] = page
        tell_cut_short(run, feedback)
        self._tell_of_tide(rows, run, feedback)
        first = rows[0]
        if first.result is not None:
            feedback.pushInfo(f"Best: “{run.candidates[first.index].name}”, score {first.result.score:.0f}, "
                              f"{first.verdict}. {first.advice}")
        return results

    @staticmethod
    def _tell_of_tide(rows, run, feedback):
        """Tell how far the tide shifts single arcs, where it does."""
        moved = [(max(row.sky.shift_m), row) for row in rows if row.sky is not None and max(row.sky.shift_m) >= 0.005]
        if moved:
            row = max(moved, key=lambda pair: pair[0])[1]
            shift = row.sky.shift_m
            feedback.pushInfo(
                f"A tide at its fastest shifts the height of single arcs, rising ones up to {shift.rising:.2f} m one "
                f"way and setting ones up to {shift.setting:.2f} m the other way "
                f"(“{run.candidates[row.index].name}”, the most). Use both kinds, or solve for the rate.")

    def _inputs(self, parameters, context):
        """List the parameters of the run as texts, for the page."""
        shown = []
        for definition in self.parameterDefinitions():
            value = parameters.get(definition.name(), definition.defaultValue())
            if definition.isDestination() or value in (None, ""):
                continue
            text = value if isinstance(value, (str, int, float, bool)) else definition.valueAsPythonString(
                value, context).strip("'\"")
            shown.append((definition.name(), definition.description(), str(text)))
        return shown

    @staticmethod
    def _values(row, candidate):
        return [candidate.name, row.rank, row.result.score if row.result else None, row.verdict, row.limit_by,
                row.advice, row.quality, row.az_span_deg, row.el_from_deg, row.el_to_deg, row.h_low_m,
                row.h_high_m, row.res_m, *RankCandidatesAlgorithm._sky_values(row.sky), row.rank_lo,
                row.rank_hi, row.p_best]

    @staticmethod
    def _sky_values(sky):
        if sky is None:
            return [None] * 5
        has_arcs = bool(np.isfinite(sky.int_max_s))
        return [sky.arcs_day, sky.gap_h if has_arcs else None, sky.int_max_s if has_arcs else None, sky.int_rec_s,
                max(sky.shift_m) if has_arcs else None]
