"""How pages look: on a screen and on paper, in grey too."""
from __future__ import annotations

from ..charts.palette import styled

SHEET = """
body{font:15px/1.45 system-ui,"DejaVu Sans","Noto Sans",sans-serif;color:$ink;background:#fff;max-width:60rem;
margin:2rem auto;padding:0 1rem}
h1{font-size:1.6rem;margin:0 0 .3rem}h2{font-size:1.35rem;margin:2.6rem 0 .6rem;border-bottom:2px solid $ink}
h3{font-size:1.05rem;margin:1.6rem 0 .4rem}p{margin:.4rem 0}.strong{font-weight:600;font-size:1.1rem}
.small{font-size:.85rem;color:$soft}
table{border-collapse:collapse;width:100%;table-layout:fixed;font-size:.85rem;margin:.5rem 0}
caption{text-align:left;color:$soft;
padding:.2rem 0}th,td{text-align:left;padding:.25rem .5rem;border-bottom:1px solid $pale;vertical-align:top;
overflow-wrap:break-word}thead th{background:$wash;vertical-align:bottom}tbody th{font-weight:600}
.n{text-align:right;font-variant-numeric:tabular-nums}tr{break-inside:avoid}
figure{margin:.4rem 0;break-inside:avoid}figure svg{width:100%;height:auto;display:block}
.data{font-size:.78rem}.data td,.data th{padding:.08rem .5rem}a{color:$link}h2,h3{break-after:avoid}
@media print{body{margin:0;max-width:none;font-size:10pt;print-color-adjust:exact;-webkit-print-color-adjust:exact}
section.site+section.site{break-before:page}@page{size:A4;margin:14mm}}
"""
"""Of site sheets: a column as wide as print, a page for each site."""

RANKING = """
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
"""Of a ranking: a wide table, and a card for each candidate."""

STYLES = {"sheet": SHEET, "ranking": RANKING}


def style(name: str) -> str:
    """Return the style sheet of a kind of page, with its colours.

    Parameters
    ----------
    name : str
        One of `STYLES`.

    Raises
    ------
    KeyError
        If there is none of that name.
    """
    return styled(STYLES[name])
