"""The parameters that make a score, and the reading of them: one way for every algorithm that ranks."""
from __future__ import annotations

from ...siting.purposes import Purpose
from ...siting.ranking.draws import Doubt
from ...siting.setup import Limits
from ...siting.verdict.score import Criterion
from . import parameters as define
from .given import Given
from .owncriteria import read_own_rows
from .surface import parameter_definitions

MOST_WITH_TRUST = 100
"""Candidates up to which the trust in ranks is looked at unless told otherwise."""


def rank_parameters() -> list:
    """Define all parameters of a ranking but its outputs, in the order of the dialog."""
    clearance = define.number(
        "MIN_CLEARANCE", "Least height over the highest level [m]", None,
        "With less a candidate is unsuitable. Empty: 3 m between antenna and highest water for sea level, 1 m "
        "above the greatest snow depth (both common practice), else 0.", 0.0, None, True)
    return [*parameter_definitions(with_arcs=True), clearance, *define.sky(), *define.precision(),
            define.interval(), *define.receiver(), define.own_criteria()]


def trust_parameters() -> list:
    """Define how uncertain the inputs are, and how often that is tried out."""
    doubt = Doubt()
    trials = define.whole_number(
        "TRIALS", "Draws for the trust in ranks", None,
        "How often each candidate is assessed again with drawn errors, for rank_lo, rank_hi and p_best. 0: not at "
        f"all. Empty: {doubt.trials} for up to {MOST_WITH_TRUST} candidates, else 0, for it takes as many times as "
        "long; the log says which.", 0, True)
    made = [trials]
    for name, text, default, unit in (
            ("HEIGHT_SD", "Uncertainty of antenna heights", doubt.height_m, "[m]"),
            ("LEVEL_SD", "Uncertainty of levels", doubt.level_m, "[m]"),
            ("SHORE_SD", "Uncertainty of the shoreline's place", doubt.shore_m, "[m]"),
            ("WEIGHT_SD", "Relative uncertainty of the weights", doubt.weight, "")):
        made.append(define.number(name, f"{text} {unit}".strip(), default,
                                  f"{text}, standard deviation; each candidate's own, but weights are common.", 0.0,
                                  None, True))
    made.append(define.whole_number("SEED", "Random seed", doubt.seed,
                                    "The same seed gives the same intervals.", 0, True))
    return made


def read_doubt(given: Given, candidates: int) -> Doubt:
    """Read how uncertain the inputs are, and say in the log how the ranks are tried.

    Parameters
    ----------
    candidates : int
        How many there are.
    """
    if not given.is_given("TRIALS"):
        trials = Doubt.trials if candidates <= MOST_WITH_TRUST else 0
        why = f"TRIALS is empty, and there are {candidates} candidates"
    else:
        trials, why = given.whole("TRIALS"), "as TRIALS says"
    height, level, shore, weight = (given.real(name, 0.0)
                                    for name in ("HEIGHT_SD", "LEVEL_SD", "SHORE_SD", "WEIGHT_SD"))
    doubt = Doubt(height, level, shore, weight, trials, given.whole("SEED"))
    if trials:
        given.note(
            f"Trust in the ranks: {trials} draws a candidate ({why}), errors of {height:g} m in height, {level:g} m in "
            f"level, {shore:g} m in the shoreline's place, {100 * weight:g} % in weights; seed {doubt.seed}.")
    else:
        given.note(f"Trust in the ranks was not looked at ({why}).")
    return doubt


def read_criteria(given: Given) -> list[Criterion]:
    """Read the analyst's own criteria, which enter the score beside the precision.

    Raises
    ------
    InputError
        If a row is incomplete, or no number.
    """
    return [Criterion(row.field, row.field, "", row.worst, row.best, row.weight)
            for row in read_own_rows(given)]


def read_limits(given: Given, purpose: Purpose) -> Limits:
    """Read MIN_CLEARANCE; without one, what is usual for the purpose."""
    return Limits(given.real_or(purpose.least_clearance_m, "MIN_CLEARANCE", 0.0))
