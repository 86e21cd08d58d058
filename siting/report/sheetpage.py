"""Site sheets as one HTML page: no script, no network, printable in grey."""
from __future__ import annotations

from typing import Callable

from .blocks import Chart, Heading, MapFigure, Paragraph, Sheet, Table
from .page import Html, cell, element, figure, heading, html, paragraph, table, whole_page


def sheet_page(sheet: Sheet, image_of: Callable[[MapFigure], str]) -> str:
    """Write the page.

    Parameters
    ----------
    sheet : Sheet
    image_of : callable
        Draws a map as a data URI.

    Returns
    -------
    str
        A complete HTML document.
    """
    def written(blocks):
        return [_block(block, image_of) for block in blocks]

    parts = written(sheet.intro)
    if len(sheet.sections) > 1:
        links = "".join(element("li", Html(f'<a href="#sheet-{i}">{html(section.name)}</a>'))
                        for i, section in enumerate(sheet.sections, 1))
        parts.append(f'<nav aria-label="Sites"><ol>{links}</ol></nav>')
    for i, section in enumerate(sheet.sections, 1):
        parts += [f'<section class="site" id="sheet-{i}">', *written(section.blocks), "</section>"]
    parts += ["<section>", *written(sheet.outro), "</section>"]
    return whole_page(sheet.title, "sheet", parts) + "\n"


def _block(block, image_of) -> Html:
    if isinstance(block, Heading):
        return heading(block.level, block.text)
    if isinstance(block, Paragraph):
        return paragraph(block.text, "strong" if block.is_strong else "small" if block.is_small else "")
    if isinstance(block, Chart):
        return figure(block.drawing)
    if isinstance(block, MapFigure):
        return figure(block.drawing(image_of(block)))
    if isinstance(block, Table):
        return _table(block)
    raise TypeError(type(block).__name__)


def _table(content: Table) -> Html:
    kinds = ["n" if column in content.numeric else "" for column in range(len(content.head))]
    rows = [[cell(text, kinds[i], i == 0 and content.head_column) for i, text in enumerate(row)]
            for row in content.rows]
    return table([*zip(content.head, kinds)], rows, "data" if content.is_data else "", content.caption, content.widths)
