"""Rank candidate sites: which position is best, and why."""
from __future__ import annotations

from qgis.core import (
    QgsProcessing,
    QgsProcessingParameterFeatureSink,
    QgsProcessingParameterFileDestination,
    QgsWkbTypes,
)

from ..siting.errors import InputError
from ..siting.ranking import rank
from ..siting.verdict.score import AZ_SPAN, QUALITY
from . import parameters as define
from .base import StillwaterAlgorithm
from .fields import SITE, Column, with_input_fields
from .rankpage import ranking_page
from .surfacerun import parameter_definitions, set_up
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
        "conventions, each a parameter. Satellites and terrain are not looked at.")
    TAGS = ("rank", "score", "candidate", "compare", "best", "suitability", "verdict")

    def initAlgorithm(self, configuration=None):
        for parameter in parameter_definitions(with_arcs=True):
            self.addParameter(parameter)
        for criterion, name, what in ((QUALITY, "QUALITY", "Mean quality"), (AZ_SPAN, "SPAN", "Azimuth span [°]")):
            for suffix, text, default in (("WORST", "worth nothing at", criterion.worst),
                                          ("BEST", "worth all from", criterion.best),
                                          ("WEIGHT", "weight", criterion.weight)):
                self.addParameter(define.number(
                    f"{name}_{suffix}", f"{what}: {text}", default,
                    f"Desirability of the {criterion.label}: {text}. A convention.", 0.0, None, True))
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
        criteria = self._criteria(parameters, context)
        run = set_up(self, parameters, context, feedback)
        fields, kept, notes = with_input_fields(run.source.fields(), COLUMNS)
        for note in notes:
            feedback.pushInfo(note)
        output = self.open_output(parameters, "OUTPUT", context, fields, QgsWkbTypes.Type.Point,
                                  run.source.sourceCrs())
        resolved = [not c.problem for c in run.candidates]
        rows = rank(run.candidates, run.layers, run.settings, criteria,
                    lambda part, _name: feedback.setProgress(100.0 * part), feedback.isCanceled)
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
            write_text_file(page, ranking_page(rows, run, criteria, self._inputs(parameters, context)), "OUTPUT_HTML")
            results["OUTPUT_HTML"] = page
        feedback.pushInfo("Satellites, line of sight, terrain and waves were not looked at.")
        first = rows[0]
        if first.result is not None:
            feedback.pushInfo(f"Best: “{run.candidates[first.index].name}”, score {first.result.score:.0f}, "
                              f"{first.verdict}. {first.advice}")
        return results

    def _criteria(self, parameters, context):
        chosen = []
        for criterion, name in ((QUALITY, "QUALITY"), (AZ_SPAN, "SPAN")):
            worst, best, weight = (self.parameterAsDouble(parameters, f"{name}_{suffix}", context)
                                   for suffix in ("WORST", "BEST", "WEIGHT"))
            if worst == best:
                raise InputError(f"{name}_WORST and {name}_BEST are both {worst:g}; they must differ.")
            if weight <= 0:
                raise InputError(f"{name}_WEIGHT is {weight:g}; it must be above 0.")
            chosen.append(criterion._replace(worst=worst, best=best, weight=weight))
        return chosen

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
                row.h_high_m, row.res_m]
