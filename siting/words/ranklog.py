"""What a ranking tells in the log, as lines, or none: the best, ties, what trust cannot part, the tide, failures."""
from __future__ import annotations

import numpy as np

from ..precision.demand import Demand

PARTING = (("height_cm", lambda row: row.result.precision), ("arcs_day", lambda row: row.sky.arcs_day),
           ("az_span", lambda row: row.az_span_deg), ("quality", lambda row: row.quality),
           ("busy", lambda row: row.sky.busy), ("res_m", lambda row: row.res_m), ("h_high_m", lambda row: row.h_high_m))
"""Figures that may part candidates of one rank, by field."""


def best_words(rows: list, candidates: list, demand: Demand) -> list[str]:
    """Name the best, with its figures."""
    best = [row for row in rows if row.rank == 1 and row.result is not None]
    if not best:
        return []
    first = best[0]
    names = f"“{candidates[first.index].name}”" if len(best) == 1 else (
        f"{len(best)} candidates share rank 1, the first by name “{candidates[first.index].name}”")
    return [f"Best: {names}, score {first.result.score:.1f}, {first.verdict}, "
            f"{first.result.precision:.3g}{demand.unit} every {demand.cadence_h:g} h "
            f"({demand.precision:g}{demand.unit} wanted). {first.advice}"]


def tie_words(rows: list, candidates: list) -> list[str]:
    """Say how many candidates share a rank, and which figure would part them."""
    tied = [row for row in rows if row.result is not None and row.tied > 1]
    if not tied:
        return []
    ranked = sum(row.rank is not None for row in rows)
    groups: dict = {}
    for row in tied:
        groups.setdefault(row.rank, []).append(row)
    rank, most = max(groups.items(), key=lambda pair: len(pair[1]))
    text = (f"{len(tied)} of {ranked} candidates share their rank with others; most share rank {rank}: {len(most)}, "
            f"such as “{candidates[most[0].index].name}” and “{candidates[most[1].index].name}”.")
    parting = parting_figure(most)
    text += (f" What would part them: {parting}." if parting else
             " No figure of the ranking parts them: they are equal in all. A field of your own in OWN_CRITERIA would.")
    return [text]


def parting_figure(rows: list) -> str:
    """Name the figure in which candidates of one rank differ most, for its size; an empty text where in none."""
    best = (0.0, "")
    for name, of in PARTING:
        values = np.array([np.nan if of(row) is None else of(row) for row in rows], float)
        values = values[np.isfinite(values)]
        if not len(values):
            continue
        low, high = values.min(), values.max()
        spread = (high - low) / max(abs(high), 1e-9)
        if spread > 1e-4:
            best = max(best, (spread, f"{name}, from {low:.3g} to {high:.3g}"))
    return best[1]


def trust_words(rows: list, candidates: list) -> list[str]:
    """Say how many of the first cannot be parted under the errors drawn; that is no tie."""
    first = [row for row in rows if row.rank is not None and row.rank_lo is not None]
    together = [row for row in first if row.rank_lo <= first[0].rank_hi]
    if len(together) < 2:
        return []
    return [f"Under the errors drawn the first {len(together)} cannot be told apart: their ranks overlap with that of "
            f"“{candidates[first[0].index].name}” ({first[0].rank_lo} to {first[0].rank_hi})."]


def tide_words(rows: list, candidates: list) -> list[str]:
    """Tell how far the tide shifts single arcs, where it does."""
    moved = [row for row in rows if row.sky is not None and max(row.sky.shift_m) >= 0.005]
    if not moved:
        return []
    row = max(moved, key=lambda shifted: max(shifted.sky.shift_m))
    rising, setting = row.sky.shift_m
    ways = [f"{kind} ones by up to {shift:.2f} m" for kind, shift in (("rising", rising), ("setting", setting))
            if shift >= 0.005]
    return ["A tide that moves as fast as a semidiurnal one between the levels shifts the height of single arcs, "
            f"{' and '.join(ways)}{', to opposite sides' if len(ways) == 2 else ''} "
            f"(“{candidates[row.index].name}”, the most). Solve for the rate, or use both kinds."]


def unfit_words(candidates: list, resolved: list[bool]) -> list[str]:
    """Say how many of the candidates that were resolved could not be assessed after all, and why the first."""
    unfit = [candidate for candidate, before in zip(candidates, resolved) if before and candidate.problem]
    if not unfit:
        return []
    return [f"{len(unfit)} more candidate(s) are not assessed; the first, “{unfit[0].name}”: {unfit[0].problem}."]


def own_error_words(candidates: list) -> list[str]:
    """Say how many candidates met an error of our own, and where its traceback stands."""
    own = sum(bool(candidate.trace) for candidate in candidates)
    if not own:
        return []
    return [f"{own} candidate(s) met an error of Stillwater's own; the traceback stands in the log panel under "
            "“Stillwater”. Please report it. All others were assessed."]
