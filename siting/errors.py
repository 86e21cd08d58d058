"""Errors that reach a person: what is wrong, where, and what to do."""
from __future__ import annotations

import logging
import traceback
from contextlib import contextmanager


class StillwaterError(Exception):
    """Root of all errors raised on purpose; its text is fit to be shown to a user."""


class InputError(StillwaterError):
    """An input that makes the whole run meaningless: the run ends with this message."""


class SiteError(StillwaterError):
    """One candidate cannot be assessed: it keeps this text as its reason, the batch goes on."""


class MissingPackageError(StillwaterError):
    """A Python package is not installed here; the text says which one and how to get it."""


class Cancelled(StillwaterError):
    """The user asked to stop."""


class AllUnfitError(InputError):
    """No candidate can be assessed; `problem` is what ails the first."""

    def __init__(self, text: str, problem: str):
        super().__init__(text)
        self.problem = problem


@contextmanager
def failing_alone(candidate):
    """Let what goes wrong with one candidate become its problem, so that a batch goes on.

    A `SiteError` is the reason as it stands. An error of our own is told as one, and its traceback is kept in
    `candidate.trace` and logged; what ends a whole run passes.
    """
    try:
        yield
    except SiteError as error:
        candidate.problem = str(error)
    except (StillwaterError, MemoryError):
        raise
    except Exception as error:
        candidate.problem = f"an error of Stillwater's own ({type(error).__name__}: {error}); please report it"
        candidate.trace = traceback.format_exc()
        logging.getLogger("stillwater").error("candidate %s: %s", candidate.name, candidate.trace)
