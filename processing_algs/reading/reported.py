"""What of a surface run its page and its sheets tell."""
from __future__ import annotations

from ...siting.report.reportedrun import ReportedRun
from .surface import SurfaceRun, not_looked_at


def reported(run: SurfaceRun) -> ReportedRun:
    """Take from a run what is told of it."""
    crs = run.source.sourceCrs()
    return ReportedRun(run.purpose, run.candidates, run.settings, tuple(not_looked_at(run)),
                       crs.authid() or "the CRS of INPUT", crs.isGeographic(), run.layers.dem is not None)
