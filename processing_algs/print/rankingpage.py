"""The ranking as one HTML page that explains itself: no network, printable in grey; a script of its own sorts it."""
from __future__ import annotations

from datetime import datetime, timezone
from html import escape

import numpy as np

from ...siting.charts.palette import RAMP, styled
from ...siting.charts.rose import small_rose
from ...siting.sky.clock import iso_text
from ...siting.words.wording import precision_text
from ..reading.surface import not_looked_at
from .rankingsides import head_row, side_by_side

_COLUMNS = (("Rank", "n"), ("Site", ""), ("Score", "n"), ("Verdict", ""), ("Precision<br>[{unit}]", "n"),
            ("Arcs<br>a day", "n"), ("Longest<br>gap [h]", "n"), ("Spoiled<br>[% of time]", "n"),
            ("Azimuth<br>span [°]", "n"), ("Least<br>height [m]", "n"), ("Log every<br>[s]", "n"), ("Limited by", ""))
STYLE = """
body{font:15px/1.45 system-ui,sans-serif;color:$ink;max-width:84rem;margin:2rem auto;padding:0 1rem}
h1{font-size:1.6rem;margin:0 0 .3rem}h2{font-size:1.2rem;margin:2rem 0 .6rem;border-bottom:1px solid $rule}
table{border-collapse:collapse;width:100%;font-size:.88rem}th,td{text-align:left;padding:.35rem .5rem;
border-bottom:1px solid $pale;vertical-align:top}th{background:$wash;vertical-align:bottom}td.n,th.n{
text-align:right;font-variant-numeric:tabular-nums}td.s,.v{font-weight:600;white-space:nowrap}tr{break-inside:avoid}
.bar{display:block;height:4px;margin:.15rem 0 0 auto;width:3.2rem;background:$track}.bar i{display:block;height:4px;
background:$dark}.suitable::before{content:"\\25CF\\00A0"}.marginal::before{content:"\\25C6\\00A0"}
.unsuitable::before{content:"\\2715\\00A0"}.not-assessed::before{content:"\\25A1\\00A0"}
.cards{display:grid;grid-template-columns:1fr 1fr;gap:0 2rem}
.card{display:grid;grid-template-columns:10.5rem 1fr;gap:.9rem;padding:.9rem 0;border-bottom:1px solid $pale;
break-inside:avoid}.card svg{width:10.5rem;height:10.5rem}.card h3{margin:0 0 .2rem;font-size:1.05rem}
.card p{margin:.25rem 0}.small{font-size:.85rem;color:$soft}.key{display:flex;margin:.4rem 0;font-size:.8rem}
.key span{width:5.5rem;padding-right:.2rem}.key i{display:block;height:.8rem;
border:1px solid $ink;margin-right:-.2rem}
.in{display:block;font-size:.8em;color:$soft;white-space:nowrap}
th button{all:unset;cursor:pointer}th button:focus-visible{outline:2px solid $ink}
th[aria-sort=ascending] button::after{content:" \25B2"}th[aria-sort=descending] button::after{content:" \25BC"}
.card p.say::first-letter{text-transform:uppercase}td.path{overflow-wrap:anywhere}
.ranks td:last-child{min-width:13rem}.ranks td,.ranks th{padding:.35rem .4rem}
@media(max-width:62rem){.cards{grid-template-columns:1fr}}
@media print{body{margin:0;max-width:none;print-color-adjust:exact;-webkit-print-color-adjust:exact}}
"""

SCRIPT = """
document.querySelectorAll('table.ranks').forEach(function(table){
  table.querySelectorAll('thead th').forEach(function(head,column){
    var button=document.createElement('button');button.type='button';
    while(head.firstChild){button.appendChild(head.firstChild)}
    head.appendChild(button);
    button.addEventListener('click',function(){
      var up=head.getAttribute('aria-sort')!=='ascending';
      table.querySelectorAll('thead th').forEach(function(other){other.removeAttribute('aria-sort')});
      head.setAttribute('aria-sort',up?'ascending':'descending');
      var value=function(row){
        var text=row.cells[column].textContent.replace(/[^\\x20-\\x7e\\u00a0-\\uffff]/g,'').trim();
        var number=parseFloat(text.replace(/^\\u2265\\s*/,''));
        return isNaN(number)?text:number};
      var body=table.tBodies[0];
      Array.from(body.rows).sort(function(a,b){
        var x=value(a),y=value(b);
        if(typeof x!==typeof y){return typeof x==='number'?-1:1}
        return (x<y?-1:x>y?1:0)*(up?1:-1)}).forEach(function(row){body.appendChild(row)})})})});
"""


def ranking_page(rows, run, criteria, inputs, look) -> str:
    """Write the page.

    Parameters
    ----------
    rows : list of RankRow
        Best first.
    run : SurfaceRun
    criteria : list of Criterion
    inputs : list of (name, description, text)
        The parameters, for the record.
    look : SkyLook

    Returns
    -------
    str
        A complete HTML document.
    """
    made = datetime.now(timezone.utc).strftime("%Y-%m-%d %H:%M UTC")
    title = f"Ranking of {len(rows)} candidate site{'s' if len(rows) != 1 else ''}"
    parts = [
        "<!DOCTYPE html>", '<html lang="en"><head><meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; style-src \'unsafe-inline\'; '
        'script-src \'unsafe-inline\'">',
        f"<title>{title}</title><style>{styled(STYLE)}</style></head><body><main>",
        f"<h1>{title}</h1>",
        f'<p class="small">For {escape(run.purpose)}; made by Stillwater, {made}.</p>',
        f"<p>Looked at: the surface under the reflections, at all levels, and the satellites: {_satellites(look.sky)} "
        f"{_not_looked_at(run)}</p>",
        _table(rows, run, look), _trust_words(rows), _how(criteria, run, look),
        side_by_side(rows, run, criteria, look),
        "<h2>The candidates one by one</h2>",
        f'<p class="small">Each rose shows the quality of each direction, north up, by length and colour; the rings '
        f'stand at 0.25, 0.5, 0.75 and 1. Directions that do not count are pale.</p>{_key()}',
        '<div class="cards">', *(_card(row, run, criteria, look) for row in rows), "</div>",
        _record(inputs),
        '<p class="small">This is geometry on the layers given, no survey. Work on masts, roofs, quays, near water '
        "and power needs the usual care; local codes, permits "
        "and licensed practice come first. Not for navigation.</p>",
        f"</main><script>{SCRIPT}</script></body></html>",
    ]
    return "\n".join(parts)


def _not_looked_at(run) -> str:
    """Say what no layer told."""
    missing = not_looked_at(run)
    if not missing:
        return "Line of sight, skyline, roughness and tide were looked at too."
    return (f"<strong>Not looked at: {escape('; '.join(missing))}.</strong> A site that is suitable here may still "
            "fail by those.")


def _satellites(sky) -> str:
    """Say which satellites were looked at, and when."""
    systems = ", ".join(dict.fromkeys(sky.orbits.systems))
    text = (f"{len(sky.orbits.names)} of {systems}, {escape(sky.orbits.source)}, from {iso_text(sky.start_s)} for "
            f"{sky.days} day{'s' if sky.days != 1 else ''}.")
    if sky.orbits.is_nominal:
        text += " With nominal orbits the geometry of the arcs is right and clock times are indicative."
    return text


def _trust_words(rows) -> str:
    if not any(row.rank_lo is not None for row in rows):
        return '<p class="small">Trust in the ranks was not looked at (TRIALS is 0).</p>'
    return ('<p class="small">Ranks in brackets hold in 90 % of the worlds drawn with errors of heights, levels, '
            "shoreline and weights; the percentage is the share of these worlds in which a site is the best.</p>")


def _rank(row) -> str:
    if row.rank is None:
        return "–"
    shared = f'<span class="in">shared by {row.tied}</span>' if row.tied > 1 else ""
    if row.rank_lo is None:
        return f"{row.rank}{shared}"
    best = f", {100 * row.p_best:.0f} %" if row.p_best >= 0.005 else ""
    return f'{row.rank}{shared}<span class="in">({row.rank_lo}–{row.rank_hi}{best})</span>'


def _number(value, form=".2f") -> str:
    return "–" if value is None else format(value, form)


def _score(value) -> str:
    """Write a score with a bar of its length below."""
    if value is None:
        return "–"
    return f'{value:.0f}<span class="bar"><i style="width:{value:.0f}%"></i></span>'


def _table(rows, run, look) -> str:
    lines = []
    for row in rows:
        score = None if row.result is None else row.result.score
        lines.append(
            f'<tr><td class="n">{_rank(row)}</td>'
            f'<td class="s">{escape(run.candidates[row.index].name)}</td>'
            f'<td class="n">{_score(score)}</td><td class="v {row.verdict.replace(" ", "-")}">{row.verdict}'
            f'</td>{_sky_cells(row)}<td class="n">{_number(row.az_span_deg, ".0f")}</td>'
            f'<td class="n">{_number(row.h_high_m, ".1f")}</td>'
            f'<td class="n">{_number(None if row.sky is None else row.sky.int_rec_s, "g")}</td>'
            f"<td>{escape(row.limit_by)}</td></tr>")
    columns = [(text.format(unit=look.demand.unit.strip()), kind) for text, kind in _COLUMNS]
    return f'<table class="ranks">{head_row(columns)}<tbody>{"".join(lines)}</tbody></table>'


def _sky_cells(row) -> str:
    sky = row.sky
    if sky is None:
        return '<td class="n">–</td>' * 4
    precision = f'<td class="n">{precision_text(sky.precision)}</td>'
    if not sky.has_arcs:
        return precision + '<td class="n">0</td><td class="n">–</td><td class="n">–</td>'
    gap = f"{'≥ ' if sky.gap_is_least else ''}{sky.gap_h:.1f}"
    return (f'{precision}<td class="n">{sky.arcs_day:.0f}</td><td class="n">{gap}</td>'
            f'<td class="n">{100 * sky.busy:.0f}</td>')


def _how(criteria, run, look) -> str:
    settings, demand, receiver = run.settings, look.demand, look.receiver
    unit = demand.unit
    counts = f"at least {settings.min_cycles:g} oscillations of the interference pattern"
    if settings.max_res_m is not None:
        counts += f", tells surfaces {settings.max_res_m:g} m apart"
    own = ""
    if criteria:
        rows = "".join(
            f'<tr><td>{escape(c.label)}</td><td class="n">{c.worst:g}{c.unit}</td><td class="n">{c.best:g}{c.unit}</td>'
            f'<td class="n">{c.weight:g}</td></tr>' for c in criteria)
        head = head_row((("Own criterion", ""), ("Worth nothing at", "n"), ("Worth all from", "n"), ("Weight", "n")))
        own = ("<p>Own criteria enter the score as a weighted geometric mean with it (Derringer and Suich 1980); the "
               f"precision's weight is 1.</p><table>{head}<tbody>{rows}</tbody></table>")
    return (
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
        f"Antenna: {escape(receiver.pattern.name)}; {receiver.cn0_dbhz:g} dB-Hz at the zenith, recorded in steps of "
        f"{receiver.step_db:g} dB.</p>{own}")


def _key() -> str:
    """Show the colours of quality and the steps that they stand for."""
    steps = len(RAMP)
    return '<div class="key">' + "".join(
        f'<span><i style="background:{fill}"></i>{i / steps:g}–{(i + 1) / steps:g}</span>'
        for i, fill in enumerate(RAMP)) + "</div>"


def _card(row, run, criteria, look) -> str:
    name = escape(run.candidates[row.index].name)
    chart = ""
    if row.bin_quality is not None:
        chart = small_rose(np.asarray(row.bin_quality), np.asarray(row.bin_counts),
                           f"Quality by azimuth of {run.candidates[row.index].name}").svg()
    limit = f'<p class="small">Limited by: {escape(row.limit_by)}</p>' if row.limit_by else ""
    head = f"{row.rank}. {name}" if row.rank is not None else name
    figure = f"{row.verdict}"
    if row.result is not None:
        figure += f", {precision_text(row.result.precision)}{look.demand.unit} every {look.demand.cadence_h:g} h"
    return (f'<section class="card"><div>{chart}</div><div><h3>{head}</h3>'
            f'<p class="v {row.verdict.replace(" ", "-")}">{figure}</p>'
            f'<p class="say">{escape(row.advice)}</p>{limit}</div></section>')


def _record(inputs) -> str:
    rows = "".join(f'<tr><td>{escape(name)}</td><td>{escape(text)}</td><td class="path">{escape(value)}</td></tr>'
                   for name, text, value in inputs)
    return ("<h2>Inputs and parameters of this run</h2>"
            f"<table>{head_row((('Parameter', ''), ('Meaning', ''), ('Value', '')))}<tbody>{rows}</tbody></table>")
