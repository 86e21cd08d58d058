"""Candidates side by side: what each precision is made of, and what would change it."""
from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..precision.worth import SkyLook
from ..ranking.rows import RankRow
from ..verdict.score import Criterion, total_scores
from ..words.wording import plain_text, precision_text
from .page import Html, cell, element, heading, html, paragraph, table
from .reportedrun import ReportedRun

MOST_CANDIDATES = 25
"""Candidates that stand side by side; more would hide the best."""


def side_by_side(rows: Sequence[RankRow], run: ReportedRun, criteria: Sequence[Criterion], look: SkyLook) -> Html:
    """Write the table of what each candidate's precision is made of, its own criteria, and what would change it.

    Parameters
    ----------
    rows : list of RankRow
        Best first.
    run : ReportedRun
    criteria : list of Criterion
        The analyst's own.
    look : SkyLook

    Returns
    -------
    Html
        Empty where there is nothing to set side by side.
    """
    shown = [row for row in rows if row.result is not None][:MOST_CANDIDATES]
    if not shown:
        return Html()
    unit = look.demand.unit.strip()
    columns = [("Site", ""), (f"Precision [{unit}]", "n"), (f"Error of an arc [{unit}]", "n"),
               (f"of it noise [{unit}]", "n"), ("Bending [cm]", "n"), ("Quality", "n"), ("Separation [m]", "n"),
               ("Elevation angles [°]", "n"), *((criterion.label, "n") for criterion in criteria)]
    if criteria:
        columns.append(("What would change it", ""))
    lines = []
    for row in shown:
        sky = row.sky
        window = "–" if row.el_from_deg is None else f"{row.el_from_deg:g}–{row.el_to_deg:g}"
        figures = (Html(f"{precision_text(sky.precision)}{_bar(row.result.desirability[0])}"), _figure(sky.arc_error),
                   _figure(sky.arc_noise), _figure(sky.bend_cm), f"{row.quality:.2f}",
                   "–" if row.res_m is None else f"{row.res_m:.2f}", window)
        lines.append([cell(run.candidates[row.index].name, is_head=True), *(cell(text, "n") for text in figures),
                      *(_cell(criterion, value, desirability) for criterion, value, desirability in
                        zip(criteria, row.own, row.result.desirability[1:].tolist())),
                      *([cell(_changes(row, criteria, look))] if criteria else [])])
    more = sum(row.result is not None for row in rows) - len(shown)
    return Html(heading(2, "Side by side: what each precision is made of")
                + paragraph("The median arc that counts; bending is by how much heights are too small if nobody "
                            "corrects it. Bars show desirabilities from 0 to 1.", "small")
                + table(columns, lines, "ranks")
                + (paragraph(f"The first {len(shown)}; {more} more stand in the table above.", "small")
                   if more > 0 else ""))


def _figure(value) -> str:
    return precision_text(value) if np.isfinite(value) else "–"


def _changes(row, criteria, look) -> str:
    """Say what the score would be if one of the analyst's own properties were as good as can be."""
    if row.is_limit_broken:
        return row.limit_by
    texts = []
    for i, (criterion, value) in enumerate(zip(criteria, row.own)):
        best = np.array(row.own, float)
        best[i] = criterion.best
        better = float(total_scores(row.result.precision, look.demand.precision, best, criteria))
        if better > row.result.score + 0.5:
            now = "no value" if not np.isfinite(value) else plain_text(value)
            texts.append(f"{criterion.label} {plain_text(criterion.best)} instead of {now}: score {better:.0f}")
    return "; ".join(texts) or "nothing of these"


def _bar(desirability) -> str:
    return f'<span class="bar"><i style="width:{100 * desirability:.0f}%"></i></span>'


def _cell(criterion, value, desirability) -> Html:
    text = "–" if value is None or not np.isfinite(value) else f"{plain_text(value)}{criterion.unit}"
    return cell(Html(f"{html(text)}{_bar(desirability)}{element('span', f'{desirability:.2f}', 'in')}"), "n")
