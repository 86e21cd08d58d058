"""Telling in the log what siting has words for; tracebacks go to QGIS's own log."""
from __future__ import annotations

from qgis.core import Qgis, QgsMessageLog

from ...siting.words.ranklog import own_error_words


def tell(lines: list[str], feedback) -> None:
    """Tell lines, if there are any."""
    for one in lines:
        feedback.pushInfo(one)


def warn(lines: list[str], feedback) -> None:
    """Warn by lines, if there are any."""
    for one in lines:
        feedback.pushWarning(one)


def tell_own_errors(candidates, feedback) -> None:
    """Keep the tracebacks of our own errors in QGIS's log, and say so."""
    for one in candidates:
        if one.trace:
            QgsMessageLog.logMessage(f"{one.name}: {one.trace}", "Stillwater", Qgis.MessageLevel.Critical)
    warn(own_error_words(candidates), feedback)
