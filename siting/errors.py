"""Errors that reach a person: what is wrong, where, and what to do."""


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
