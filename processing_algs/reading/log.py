"""Telling in the log what has words elsewhere; tracebacks go to QGIS's own log."""
from __future__ import annotations

from collections.abc import Iterable, Sequence

from qgis.core import Qgis, QgsMessageLog

from ...siting.candidates import Candidate
from ...siting.words.ranklog import own_error_words, unfit_words
from .given import Given


def tell(given: Given, lines: Iterable[str]) -> None:
    """Tell lines, if there are any."""
    for text in lines:
        given.note(text)


def tell_failures(given: Given, candidates: Sequence[Candidate], resolved: Sequence[bool] | None = None) -> None:
    """Warn of candidates that could not be assessed after all; the tracebacks of our own errors go to QGIS's log.

    Parameters
    ----------
    given : Given
    candidates : sequence of Candidate
    resolved : sequence of bool, optional
        Which of them could be resolved; without it only our own errors are told.
    """
    lines = [] if resolved is None else unfit_words(candidates, resolved)
    for candidate in candidates:
        if candidate.trace:
            QgsMessageLog.logMessage(f"{candidate.name}: {candidate.trace}", "Stillwater", Qgis.MessageLevel.Critical)
    for line in [*lines, *own_error_words(candidates)]:
        given.warn(line)
