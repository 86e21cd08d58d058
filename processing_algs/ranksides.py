"""Candidates side by side: what each score is made of, and what would change it."""
from __future__ import annotations

from html import escape

import numpy as np

MOST_CANDIDATES = 25
"""Candidates that stand side by side; more would hide the best."""


def side_by_side(rows, run, criteria) -> str:
    """Write the table of all properties with their desirabilities, and what each candidate would gain most from.

    Parameters
    ----------
    rows : list of RankRow
        Best first.
    run : SurfaceRun
    criteria : list of Criterion

    Returns
    -------
    str
    """
    shown = [row for row in rows if row.result is not None][:MOST_CANDIDATES]
    if not shown:
        return ""
    lines = []
    for row in shown:
        cells = "".join(_cell(one, value, wish) for one, value, wish in
                        zip(criteria, row.values, row.result.desirability.tolist()))
        lines.append(f'<tr><th scope="row">{escape(run.candidates[row.index].name)}</th>{cells}'
                     f"<td>{escape(what_would_change(row, criteria))}</td></tr>")
    columns = [("Site", ""), *((escape(one.label), "n") for one in criteria), ("What would change it", "")]
    more = sum(row.result is not None for row in rows) - len(shown)
    rest = f'<p class="small">The first {len(shown)}; {more} more stand in the table above.</p>' if more > 0 else ""
    return ("<h2>Side by side: what each score is made of</h2>"
            '<p class="small">Under each value its desirability from 0 to 1, as a bar too.</p>'
            f'<table class="ranks">{head_row(columns)}<tbody>{"".join(lines)}</tbody></table>{rest}')


def head_row(columns) -> str:
    """Write the head of a table; each column has its text, already escaped, and its class or none."""
    cells = "".join("<th scope=\"col\"" + (f' class="{kind}"' if kind else "") + f">{text}</th>"
                    for text, kind in columns)
    return f"<thead><tr>{cells}</tr></thead>"


def _cell(one, value, wish) -> str:
    text = "–" if value is None or not np.isfinite(value) else f"{value:.3g}{one.unit}"
    return (f'<td class="n">{escape(text)}<span class="bar"><i style="width:{100 * wish:.0f}%"></i></span>'
            f'<span class="in">{wish:.2f}</span></td>')


def what_would_change(row, criteria) -> str:
    """Say which property would raise the score most if it earned full marks, and to how much.

    Returns
    -------
    str
        Such as “azimuth span of the directions that count 90° instead of 60°: score 100”.
    """
    wish = row.result.desirability
    if (wish >= 1.0).all():
        return "a limit is broken: " + row.limit_by if row.is_limit_broken else "nothing: full marks everywhere"
    weight = np.array([one.weight for one in criteria])
    zeros = np.flatnonzero(wish == 0)
    if len(zeros) > 1:
        names = ", ".join(criteria[i].label for i in zeros)
        return f"all of these at once: {names}"
    with np.errstate(divide="ignore"):
        logs = np.where(wish > 0, np.log(np.maximum(wish, 1e-300)), 0.0)
    best = int(zeros[0]) if len(zeros) else int(np.argmin(weight * logs))
    others = np.sum(np.delete(weight * logs, best))
    score = 100.0 * float(np.exp(others / weight.sum()))
    one, value = criteria[best], row.values[best]
    now = "no value" if value is None or not np.isfinite(value) else f"{value:.3g}{one.unit}"
    text = f"{one.label} {one.best:g}{one.unit} instead of {now}: score {score:.0f}"
    return text + ("; but a limit is broken: " + row.limit_by if row.is_limit_broken else "")
