"""The ranking as one HTML page that explains itself: no network, printable in grey; a script of its own sorts it."""
from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timezone

import numpy as np

from ..charts.palette import RAMP
from ..charts.rose import small_rose
from ..precision.worth import SkyLook
from ..ranking.rows import RankRow
from ..sky.clock import iso_text
from ..verdict.score import Criterion
from ..words.wording import precision_text
from .page import Html, cell, element, heading, html, made_at, paragraph, table, whole_page
from .rankingsides import side_by_side
from .reportedrun import ReportedRun
from .sorting import SCRIPT

_COLUMNS = (("Rank", "n"), ("Site", ""), ("Score", "n"), ("Verdict", ""), ("Precision\n[{unit}]", "n"),
            ("Arcs\na day", "n"), ("Longest\ngap [h]", "n"), ("Spoiled\n[% of time]", "n"),
            ("Azimuth\nspan [°]", "n"), ("Least\nheight [m]", "n"), ("Log every\n[s]", "n"), ("Limited by", ""))

def ranking_page(rows: Sequence[RankRow], run: ReportedRun, criteria: Sequence[Criterion],
                 inputs: Sequence[tuple[str, str, str]], look: SkyLook) -> str:
    """Write the page.

    Parameters
    ----------
    rows : list of RankRow
        Best first.
    run : ReportedRun
    criteria : list of Criterion
    inputs : list of (name, description, text)
        The parameters, for the record.
    look : SkyLook

    Returns
    -------
    str
        A complete HTML document.
    """
    title = f"Ranking of {len(rows)} candidate site{'s' if len(rows) != 1 else ''}"
    return whole_page(title, "ranking", [
        paragraph(f"For {run.purpose.name}; made by Stillwater, {made_at(datetime.now(timezone.utc))}.", "small"),
        paragraph(Html("Looked at: the surface under the reflections, at all levels, and the satellites: "
                       f"{_satellites(look.sky)} {_not_looked_at(run)}")),
        _table(rows, run, look), _trust_words(rows), _how(criteria, run, look),
        side_by_side(rows, run, criteria, look),
        heading(2, "The candidates one by one"),
        paragraph("Each rose shows the quality of each direction, north up, by length and colour; the rings stand at "
                  "0.25, 0.5, 0.75 and 1. Directions that do not count are pale.", "small") + _key(),
        '<div class="cards">', *(_card(row, run, look) for row in rows), "</div>",
        _record(inputs),
        paragraph("This is geometry on the layers given, no survey. Work on masts, roofs, quays, near water and power "
                  "needs the usual care; local codes, permits and licensed practice come first. Not for navigation.",
                  "small"),
    ], SCRIPT)


def _not_looked_at(run) -> str:
    """Say what no layer told."""
    if not run.missing:
        return "Line of sight, skyline, roughness and tide were looked at too."
    return (element("strong", f"Not looked at: {'; '.join(run.missing)}.")
            + " A site that is suitable here may still fail by those.")


def _satellites(sky) -> str:
    """Say which satellites were looked at, and when."""
    systems = ", ".join(dict.fromkeys(sky.orbits.systems))
    text = (f"{len(sky.orbits.names)} of {systems}, {html(sky.orbits.source)}, from {iso_text(sky.start_s)} for "
            f"{sky.days} day{'s' if sky.days != 1 else ''}.")
    if sky.orbits.is_nominal:
        text += " With nominal orbits the geometry of the arcs is right and clock times are indicative."
    return text


def _trust_words(rows) -> Html:
    if not any(row.rank_lo is not None for row in rows):
        return paragraph("Trust in the ranks was not looked at (TRIALS is 0).", "small")
    return paragraph("Ranks in brackets hold in 90 % of the worlds drawn with errors of heights, levels, shoreline and "
                     "weights; the percentage is the share of these worlds in which a site is the best.", "small")


def _rank(row) -> Html:
    if row.rank is None:
        return Html("–")
    shared = element("span", f"shared by {row.tied}", "in") if row.tied > 1 else ""
    if row.rank_lo is None:
        return Html(f"{row.rank}{shared}")
    best = f", {100 * row.p_best:.0f} %" if row.p_best >= 0.005 else ""
    return Html(f"{row.rank}{shared}{element('span', f'({row.rank_lo}–{row.rank_hi}{best})', 'in')}")


def _number(value, form=".2f") -> str:
    return "–" if value is None else format(value, form)


def _score(value) -> Html:
    """Write a score with a bar of its length below."""
    if value is None:
        return Html("–")
    return Html(f'{value:.0f}<span class="bar"><i style="width:{value:.0f}%"></i></span>')


def _table(rows, run, look) -> Html:
    lines = [[cell(_rank(row), "n"), cell(run.candidates[row.index].name, "s"),
              cell(_score(None if row.result is None else row.result.score), "n"),
              cell(row.verdict, _kind(row.verdict)), *_sky_cells(row.sky), cell(_number(row.az_span_deg, ".0f"), "n"),
              cell(_number(row.h_high_m, ".1f"), "n"),
              cell(_number(None if row.sky is None else row.sky.int_rec_s, "g"), "n"), cell(row.limit_by)]
             for row in rows]
    unit = look.demand.unit.strip()
    columns = [(Html(html(text.format(unit=unit)).replace("\n", "<br>")), kind) for text, kind in _COLUMNS]
    return table(columns, lines, "ranks")


def _kind(verdict) -> str:
    """Return the class of a verdict."""
    return f"v {verdict.replace(' ', '-')}"


def _sky_cells(sky) -> list:
    texts = ["–"] * 4
    if sky is not None and not sky.has_arcs:
        texts = [precision_text(sky.precision), "0", "–", "–"]
    elif sky is not None:
        gap = f"{'≥ ' if sky.gap_is_least else ''}{sky.gap_h:.1f}"
        texts = [precision_text(sky.precision), f"{sky.arcs_day:.0f}", gap, f"{100 * sky.busy:.0f}"]
    return [cell(text, "n") for text in texts]


def _how(criteria, run, look) -> Html:
    settings, demand, receiver = run.settings, look.demand, look.receiver
    unit = demand.unit
    counts = f"at least {settings.min_cycles:g} oscillations of the interference pattern"
    if settings.max_res_m is not None:
        counts += f", tells surfaces {settings.max_res_m:g} m apart"
    own = ""
    if criteria:
        rows = [[cell(c.label), cell(f"{c.worst:g}{c.unit}", "n"), cell(f"{c.best:g}{c.unit}", "n"),
                 cell(f"{c.weight:g}", "n")] for c in criteria]
        head = (("Own criterion", ""), ("Worth nothing at", "n"), ("Worth all from", "n"), ("Weight", "n"))
        own = ("<p>Own criteria enter the score as a weighted geometric mean with it (Derringer and Suich 1980); the "
               f"precision's weight is 1.</p>{table(head, rows)}")
    return Html(
        "<h2>How the score is made</h2>"
        f"<p>One figure decides: the <strong>precision</strong>, the standard error that a value every "
        f"{demand.cadence_h:g} h keeps to at 95 % of the times. {demand.precision:g}{unit} is wanted. The score is "
        "100/(1 + (precision/wanted)²): 50 where it is just met. Suitable: it is met. Unsuitable: the error is more "
        "than twice as large, no arc counts, or a limit is broken, which is named. Equals share their rank.</p>"
        "<p>An elevation angle is good in a direction where at least "
        f"{100 * settings.min_share:g} % of its first Fresnel zone lies on the surface to be measured and is not "
        "always spoiled, at the worst of the levels looked at. Of each satellite's arc the longest unbroken piece over "
        f"good angles is used; it counts if it has {counts}, if an interval of {receiver.interval_s:g} s resolves it, "
        "and if its noise leaves the peak of the height clear. Its error is made of noise (antenna gain, reflection, "
        "roughness, usable share, receiver), of what few oscillations leave, of a thousandth of the height for the "
        f"air, and of {demand.arc_error:g}{unit} for an arc from 5 to 20° that grows as its window shrinks (waves, the "
        "rest of the tide, other reflections). What spoils a footprint part of the time takes that part of its arcs. "
        f"Antenna: {html(receiver.pattern.name)}; {receiver.cn0_dbhz:g} dB-Hz at the zenith, recorded in steps of "
        f"{receiver.step_db:g} dB.</p>{own}")


def _key() -> Html:
    """Show the colours of quality and the steps that they stand for."""
    steps = len(RAMP)
    return element("div", Html("".join(
        element("span", Html(f'<i style="background:{fill}"></i>{i / steps:g}–{(i + 1) / steps:g}'))
        for i, fill in enumerate(RAMP))), "key")


def _card(row, run, look) -> Html:
    name = run.candidates[row.index].name
    chart = ""
    if row.bin_quality is not None:
        chart = small_rose(np.asarray(row.bin_quality), np.asarray(row.bin_counts),
                           f"Quality by azimuth of {name}").svg()
    said = row.verdict
    if row.result is not None:
        said += f", {precision_text(row.result.precision)}{look.demand.unit} every {look.demand.cadence_h:g} h"
    words = [heading(3, f"{row.rank}. {name}" if row.rank is not None else name),
             paragraph(said, _kind(row.verdict)), paragraph(row.advice, "say"),
             paragraph(f"Limited by: {row.limit_by}", "small") if row.limit_by else ""]
    return element("section", Html(f"<div>{chart}</div><div>{''.join(words)}</div>"), "card")


def _record(inputs) -> Html:
    head = (("Parameter", ""), ("Meaning", ""), ("Value", ""))
    return Html(heading(2, "Inputs and parameters of this run")
                + table(head, [[cell(name), cell(text), cell(value, "path")] for name, text, value in inputs]))
