"""Site sheets as one HTML page: no script, no network, printable in grey."""
from __future__ import annotations

from html import escape

from ...siting.charts.mapframe import map_chart
from ...siting.charts.palette import styled
from .blocks import Chart, Heading, MapFigure, Paragraph, Table
from .map import map_image, metres_per_px

STYLE = """
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


def sheet_page(title: str, intro: list, sections: list, outro: list) -> str:
    """Write the page.

    Parameters
    ----------
    title : str
    intro, outro : list
        Blocks before and after the sites.
    sections : list of Section

    Returns
    -------
    str
        A complete HTML document.
    """
    parts = ["<!DOCTYPE html>", '<html lang="en"><head><meta charset="utf-8">',
             '<meta name="viewport" content="width=device-width, initial-scale=1">',
             f"<title>{escape(title)}</title><style>{styled(STYLE)}</style></head><body><main>",
             f"<h1>{escape(title)}</h1>", *map(_block, intro)]
    if len(sections) > 1:
        links = "".join(f'<li><a href="#sheet-{i}">{escape(one.name)}</a></li>' for i, one in enumerate(sections, 1))
        parts.append(f'<nav aria-label="Sites"><ol>{links}</ol></nav>')
    for i, one in enumerate(sections, 1):
        parts += [f'<section class="site" id="sheet-{i}">', *map(_block, one.blocks), "</section>"]
    parts += ["<section>", *map(_block, outro), "</section>", "</main></body></html>"]
    return "\n".join(parts) + "\n"


def _block(block) -> str:
    if isinstance(block, Heading):
        return f"<h{block.level}>{escape(block.text)}</h{block.level}>"
    if isinstance(block, Paragraph):
        kind = ' class="strong"' if block.is_strong else ' class="small"' if block.is_small else ""
        return f"<p{kind}>{escape(block.text)}</p>"
    if isinstance(block, Chart):
        return f"<figure>{block.drawing.svg()}</figure>"
    if isinstance(block, MapFigure):
        drawing = map_chart(block.chart_id, block.title, block.description, metres_per_px(block), map_image(block))
        return f"<figure>{drawing.svg()}</figure>"
    if isinstance(block, Table):
        return _table(block)
    raise TypeError(type(block).__name__)


def _table(table: Table) -> str:
    def kind(column):
        return ' class="n"' if column in table.numeric else ""

    head = "".join(f'<th scope="col"{kind(i)}>{escape(text)}</th>' for i, text in enumerate(table.head))
    lines = []
    for row in table.rows:
        cells = []
        for i, text in enumerate(row):
            is_head = i == 0 and table.head_column
            cells.append(f'<th scope="row"{kind(i)}>{escape(text)}</th>' if is_head
                         else f"<td{kind(i)}>{escape(text)}</td>")
        lines.append(f"<tr>{''.join(cells)}</tr>")
    columns = "<colgroup>" + "".join(f'<col style="width:{100 * part:.3g}%">' for part in table.widths) + "</colgroup>"
    name = ' class="data"' if table.is_data else ""
    return (f"<table{name}><caption>{escape(table.caption)}</caption>{columns}<thead><tr>{head}</tr></thead>"
            f"<tbody>{''.join(lines)}</tbody></table>")
