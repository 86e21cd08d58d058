"""What of a run its page and its sheets tell."""
from __future__ import annotations

from ...siting.report.reportedrun import ReportedRun
from .given import Given
from .surface import SurfaceRun, not_looked_at


def reported(run: SurfaceRun) -> ReportedRun:
    """Take from a run what is told of it."""
    crs = run.source.sourceCrs()
    return ReportedRun(run.purpose, run.candidates, run.settings, tuple(not_looked_at(run)),
                       crs.authid() or "the CRS of INPUT", crs.isGeographic(), run.layers.dem is not None)


def parameter_texts(given: Given) -> list[tuple[str, str, str]]:
    """List the parameters of a run for the record: name, description, value as text."""
    shown = []
    for definition in given.algorithm.parameterDefinitions():
        value = given.parameters.get(definition.name(), definition.defaultValue())
        if definition.isDestination() or value in (None, ""):
            continue
        if isinstance(value, (list, tuple)) and all(isinstance(one, str) for one in value):
            value = ", ".join(value)
        text = value if isinstance(value, (str, int, float, bool)) else definition.valueAsPythonString(
            value, given.context).strip("'\"")
        shown.append((definition.name(), definition.description(), str(text)))
    return shown
