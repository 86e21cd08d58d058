"""Writing HTML pages: head, style, headings, tables and figures; whatever is not HTML already is escaped."""
from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from html import escape

from ..charts.drawing import Drawing
from .styles import style

POLICY = ('<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; style-src \'unsafe-inline\'; '
          'script-src \'unsafe-inline\'">')
"""What a page with a script of its own may do: nothing but that, and no network."""


class Html(str):
    """Text that is HTML already, and is not escaped again."""


def html(words: str) -> Html:
    """Escape words that are not HTML already.

    Examples
    --------
    >>> html("a < b"), html(Html("<b>a</b>"))
    ('a &lt; b', '<b>a</b>')
    """
    return words if isinstance(words, Html) else Html(escape(words))


def element(tag: str, words: str, kind: str = "", more: str = "") -> Html:
    """Write an element.

    Parameters
    ----------
    tag : str
    words : str
        What stands in it.
    kind : str
        Its class; empty: none.
    more : str
        More attributes, after a space, before the class.
    """
    named = f' class="{kind}"' if kind else ""
    return Html(f"<{tag}{more}{named}>{html(words)}</{tag}>")


def heading(level: int, words: str) -> Html:
    """Write a heading; level 1 is the page's, which `whole_page` writes."""
    return element(f"h{level}", words)


def paragraph(words: str, kind: str = "") -> Html:
    """Write a paragraph."""
    return element("p", words, kind)


def figure(drawing: Drawing) -> Html:
    """Write a chart; its ids are unique where its `chart_id` is."""
    return element("figure", Html(drawing.svg()))


def cell(words: str, kind: str = "", is_head: bool = False) -> Html:
    """Write a cell of a table; `is_head`: it names its row."""
    return element("th", words, kind, ' scope="row"') if is_head else element("td", words, kind)


def table(head: Sequence[tuple[str, str]], rows: Sequence[Sequence[Html]], kind: str = "", caption: str = "",
          widths: Sequence[float] = ()) -> Html:
    """Write a table.

    Parameters
    ----------
    head : sequence of (words, kind)
        What stands over each column, and its class or none.
    rows : sequence of sequences of Html
        Cells as `cell` writes them.
    kind, caption : str
        Its class and what stands over it; empty: none.
    widths : sequence of float
        Parts of the table's width; empty: the browser chooses.
    """
    named = element("caption", caption) if caption else ""
    columns = "".join(f'<col style="width:{100 * part:.3g}%">' for part in widths)
    columns = f"<colgroup>{columns}</colgroup>" if columns else ""
    over = "".join(element("th", words, one, ' scope="col"') for words, one in head)
    body = "".join(f"<tr>{''.join(cells)}</tr>" for cells in rows)
    return element("table", Html(f"{named}{columns}<thead><tr>{over}</tr></thead><tbody>{body}</tbody>"), kind)


def whole_page(title: str, style_name: str, parts: Sequence[str], script: str = "") -> str:
    """Write a complete HTML document.

    Parameters
    ----------
    title : str
    style_name : str
        One of `siting.report.styles.STYLES`.
    parts : sequence of str
        HTML below the heading.
    script : str
        Empty: none.
    """
    lines = ["<!DOCTYPE html>", '<html lang="en"><head><meta charset="utf-8">',
             '<meta name="viewport" content="width=device-width, initial-scale=1">', *([POLICY] if script else []),
             f"<title>{html(title)}</title><style>{style(style_name)}</style></head><body><main>",
             heading(1, title), *parts]
    lines.append(f"</main><script>{script}</script></body></html>" if script else "</main></body></html>")
    return "\n".join(lines)


def made_at(moment: datetime) -> str:
    """Write when a page or sheet was made."""
    return moment.strftime("%Y-%m-%d %H:%M UTC")
