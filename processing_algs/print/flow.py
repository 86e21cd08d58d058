"""Blocks flowing over the pages of a print layout: words measured and broken, tables, pictures and maps."""
from __future__ import annotations

import os
import tempfile
from typing import NamedTuple

from qgis.core import (
    QgsLayoutItemLabel,
    QgsLayoutItemMap,
    QgsLayoutItemPage,
    QgsLayoutItemPicture,
    QgsLayoutPoint,
    QgsLayoutSize,
    QgsTextFormat,
)
from qgis.PyQt.QtCore import Qt
from qgis.PyQt.QtGui import QColor, QFont, QFontMetricsF

from ...siting.charts.drawing import Drawing
from ...siting.charts.palette import INK, PALE, PAPER, PRINTED_HEAD

PAGE_MM = (210.0, 297.0)
LEFT_MM, TOP_MM, BOTTOM_MM, FOOT_MM = 15.0, 15.0, 278.0, 283.5
CONTENT_MM = PAGE_MM[0] - 2 * LEFT_MM
POINT_MM = 25.4 / 72.0
LEADING = 1.32
"""Height of a line over the size of its letters."""
SIZES = {"title": 17.0, 2: 14.0, 3: 10.5, "strong": 10.5, "text": 8.8, "small": 7.6, "table": 7.6, "data": 6.4}
FAMILY = "DejaVu Sans"
KEPT_ROWS = 12
CELL_MM = 1.2
"""Space left and right in a cell."""


class Face(NamedTuple):
    """How words are set: the size of the letters in points, and whether they are bold."""

    size: float
    is_bold: bool = False

    @property
    def line_mm(self) -> float:
        """Height of a line [mm]."""
        return self.size * POINT_MM * LEADING


class Flow:
    """A pen that moves down the pages of a layout; all positions in millimetres."""

    def __init__(self, layout, folder: str, title: str, running: str):
        self.layout, self._folder, self._title, self._running = layout, folder, title, running
        self._rules: list = []
        self._grounds: list = []
        self._metrics: dict = {}
        self.y = TOP_MM
        self.new_page()

    @property
    def pages(self) -> int:
        """Number of pages so far."""
        return len(self._rules)

    def new_page(self) -> None:
        """Begin a page."""
        page = QgsLayoutItemPage(self.layout)
        page.setPageSize(QgsLayoutSize(*PAGE_MM))
        self.layout.pageCollection().addPage(page)
        self._rules.append([])
        # below all else, so made first; what it shows is known when the page is full
        ground = QgsLayoutItemPicture(self.layout)
        ground.attemptResize(QgsLayoutSize(*PAGE_MM))
        self._add(ground, 0.0, 0.0)
        self._grounds.append(ground)
        self.y = TOP_MM

    def room(self, height: float) -> None:
        """Begin a page where so much does not fit on this one."""
        if self.y + height > BOTTOM_MM and self.y > TOP_MM:
            self.new_page()

    def heading(self, text: str, level: int) -> None:
        """Put a heading; it stays with what follows."""
        face = Face(SIZES["title"] if level == 1 else SIZES[level], True)
        if level == 3:
            self.y += 2.0
        lines = self.broken(text, CONTENT_MM, face)
        self.room(len(lines) * face.line_mm + 26.0)
        self._label(lines, LEFT_MM, CONTENT_MM, face)
        self.y += len(lines) * face.line_mm + 1.2

    def paragraph(self, text: str, size: float, is_strong: bool = False) -> None:
        """Put words."""
        face = Face(SIZES["strong"] if is_strong else size, is_strong)
        lines = self.broken(text, CONTENT_MM, face)
        self.room(len(lines) * face.line_mm)
        self._label(lines, LEFT_MM, CONTENT_MM, face)
        self.y += len(lines) * face.line_mm + 1.4

    def picture(self, drawing: Drawing) -> None:
        """Put a drawing as wide as the page allows."""
        tall = CONTENT_MM * drawing.height / drawing.width
        self.room(tall)
        self._drawing(drawing, tall)
        self.y += tall + 2.0

    def map(self, layers, crs, extent, tall: float, overlay: Drawing) -> None:
        """Put a map, and over it a drawing with frame and key."""
        whole = CONTENT_MM * overlay.height / overlay.width
        self.room(whole)
        item = QgsLayoutItemMap(self.layout)
        item.attemptResize(QgsLayoutSize(CONTENT_MM, tall))
        item.setCrs(crs)
        item.setLayers(layers)
        item.setKeepLayerSet(True)
        item.setExtent(extent)
        item.setBackgroundColor(QColor(PAPER))
        self._add(item, LEFT_MM, self.y)
        self._drawing(overlay, whole)
        self.y += whole + 2.0

    def table(self, table, beside: int = 1) -> None:
        """Put a table, broken over pages, its head on each; `beside` parts of it side by side."""
        face = Face(SIZES["data"] if table.is_data else SIZES["table"])
        pad = 0.25 if table.is_data else 0.9
        # a caption stays with its table, a short table on one page
        kept = len(table.rows) + 2 if len(table.rows) <= KEPT_ROWS and beside == 1 else 4
        self.room(Face(SIZES["small"]).line_mm + 1.4 + kept * (face.line_mm + 2 * pad))
        self.paragraph(table.caption, SIZES["small"])
        gap = 6.0 if beside > 1 else 0.0
        width = (CONTENT_MM - gap * (beside - 1)) / beside
        each = -(-len(table.rows) // beside)
        top, page, lowest = self.y, self.pages, self.y
        if beside > 1:
            self.room((each + 2) * (face.line_mm + 2 * pad))
            top, page = self.y, self.pages
        for part in range(beside):
            if beside > 1 and self.pages == page:
                self.y = top
            rows = table.rows[part * each:(part + 1) * each]
            self._rows(table, rows, LEFT_MM + part * (width + gap), width, face, pad)
            lowest = max(lowest, self.y) if self.pages == page else self.y
        self.y = lowest + 2.0

    def _rows(self, table, rows, left, width, face, pad):
        columns = [part * width for part in table.widths]
        head = self._cells(table.head, columns, face, True)
        is_new = True
        for row in rows:
            cells = self._cells(row, columns, face, False, table.head_column)
            tall = max(len(lines) for lines, _face in cells) * face.line_mm + 2 * pad
            head_tall = max(len(lines) for lines, _face in head) * face.line_mm + 2 * pad
            before = self.pages
            self.room(tall + (head_tall if is_new else 0.0))
            if is_new or self.pages != before:
                self._rules[-1].append(("head", left, self.y, width, head_tall))
                self._row(table, head, left, columns, pad)
                self.y += head_tall
                is_new = False
            self._row(table, cells, left, columns, pad)
            self.y += tall
            self._rules[-1].append(("rule", left, self.y, width, 0.0))

    def _cells(self, row, columns, face, is_head, has_head_column=False):
        cells = []
        for i, (text, width) in enumerate(zip(row, columns)):
            own = face._replace(is_bold=is_head or (has_head_column and i == 0))
            cells.append((self.broken(text, width - 2 * CELL_MM, own), own))
        return cells

    def _row(self, table, cells, left, columns, pad):
        x = left
        for i, ((lines, face), width) in enumerate(zip(cells, columns)):
            self._label(lines, x + CELL_MM, width - 2 * CELL_MM, face, i in table.numeric, pad)
            x += width

    def broken(self, text: str, width: float, face: Face) -> list[str]:
        """Break words into lines that fit a width; words too long for it are cut."""
        metrics = self._measure(face.is_bold)
        limit = width / (face.size * POINT_MM) * 100.0
        lines, line = [], ""
        for word in text.split():
            trial = f"{line} {word}" if line else word
            if metrics.horizontalAdvance(trial) <= limit:
                line = trial
                continue
            if line:
                lines.append(line)
            line = word
            while metrics.horizontalAdvance(line) > limit and len(line) > 1:
                fit = len(line) - 1
                while fit > 1 and metrics.horizontalAdvance(line[:fit]) > limit:
                    fit -= 1
                lines.append(line[:fit])
                line = line[fit:]
        return [*lines, line] if line or not lines else lines

    def _measure(self, bold) -> QFontMetricsF:
        if bold not in self._metrics:
            font = _font(Face(10.0, bold))
            font.setPixelSize(100)
            self._metrics[bold] = QFontMetricsF(font)
        return self._metrics[bold]

    def _label(self, lines, x, width, face, is_right=False, drop=0.0, page=None):
        for number, words in enumerate(lines):
            if not words:
                continue
            label = self._new_label(words, face)
            label.setHAlign(Qt.AlignmentFlag.AlignRight if is_right else Qt.AlignmentFlag.AlignLeft)
            # a little wider than measured: hinting must not break the line again
            wider = 0.0 if is_right else 4.0
            label.attemptResize(QgsLayoutSize(width + wider, face.line_mm + 0.6))
            self._add(label, x, self.y + drop + number * face.line_mm, page)

    def _new_label(self, words, face) -> QgsLayoutItemLabel:
        label = QgsLayoutItemLabel(self.layout)
        # a name must not be taken for an expression
        label.setText(words.replace("[%", "[ %"))
        _set_font(label, face)
        label.setMarginX(0.0)
        label.setMarginY(0.0)
        return label

    def _drawing(self, drawing, height):
        """Put a drawing, its words as labels: a drawing's own words become outlines, large and not searchable."""
        item = QgsLayoutItemPicture(self.layout)
        item.setPicturePath(self._file(drawing.without_words().svg()))
        item.attemptResize(QgsLayoutSize(CONTENT_MM, height))
        self._add(item, LEFT_MM, self.y)
        for one in drawing.words:
            self._words(one, CONTENT_MM / drawing.width)

    def _words(self, one, scale):
        """Put words of a drawing as a label, turned by a quarter where they are; `scale` is in mm per pixel."""
        x, y = LEFT_MM + one.x * scale, self.y + one.y * scale
        face = Face(one.size * scale / POINT_MM, one.is_bold)
        metrics = self._measure(one.is_bold)
        per_mm = face.size * POINT_MM / 100.0
        length, rise = metrics.horizontalAdvance(one.words) * per_mm, metrics.ascent() * per_mm
        back = {"middle": length / 2.0, "end": length}.get(one.anchor, 0.0)
        label = self._new_label(one.words, face)
        label.attemptResize(QgsLayoutSize(length + 3.0, face.line_mm + 0.6))
        if one.is_upright:
            label.setItemRotation(-90.0, False)
            self._add(label, x - rise, y + back)
        else:
            self._add(label, x - back, y - rise)

    def _file(self, svg) -> str:
        handle, path = tempfile.mkstemp(".svg", dir=self._folder)
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(svg)
        return path

    def _add(self, item, x, y, page=None):
        self.layout.addLayoutItem(item)
        item.attemptMove(QgsLayoutPoint(x, y), True, False, self.pages - 1 if page is None else page)

    def finish(self, first: int, total: int) -> None:
        """Draw the rules of the tables, and the foot of each page.

        Parameters
        ----------
        first, total : int
            Number of the first of these pages, and of all.
        """
        for page, rules in enumerate(self._rules):
            parts = []
            for kind, x, y, width, height in rules:
                if kind == "head":
                    parts.append(f'<rect x="{x:.2f}" y="{y:.2f}" width="{width:.2f}" height="{height:.2f}" '
                                 f'fill="{PRINTED_HEAD}"/>')
                else:
                    parts.append(f'<path d="M{x:.2f} {y:.2f}H{x + width:.2f}" stroke="{PALE}" stroke-width="0.15"/>')
            parts.append(f'<path d="M{LEFT_MM} 282H{PAGE_MM[0] - LEFT_MM}" stroke="{INK}" stroke-width="0.2"/>')
            self._grounds[page].setPicturePath(self._file(
                f'<svg xmlns="http://www.w3.org/2000/svg" width="210mm" height="297mm" '
                f'viewBox="0 0 210 297">{"".join(parts)}</svg>'))
            self._foot(page, f"page {first + page} of {total}; not for navigation")

    def _foot(self, page, words):
        self.y = FOOT_MM
        name = f"{self._title}: {self._running}" if self._running and self._running not in self._title else self._title
        face = Face(SIZES["small"])
        self._label(self.broken(name, 120.0, face)[:1], LEFT_MM, 120.0, face, page=page)
        self._label([words], LEFT_MM + 122.0, CONTENT_MM - 122.0, face, True, page=page)


def _font(face: Face) -> QFont:
    font = QFont(FAMILY)
    font.setStyleHint(QFont.StyleHint.SansSerif)
    font.setPointSizeF(face.size)
    font.setBold(face.is_bold)
    return font


def _set_font(label, face):
    font = _font(face)
    if not hasattr(label, "setTextFormat"):  # before QGIS 3.24
        label.setFont(font)
        label.setFontColor(QColor(INK))
        return
    text_format = QgsTextFormat()
    text_format.setFont(font)
    text_format.setSize(face.size)
    text_format.setSizeUnit(_points())
    text_format.setColor(QColor(INK))
    label.setTextFormat(text_format)


def _points():
    """Return the unit of points, wherever this QGIS keeps it."""
    from qgis.core import Qgis, QgsUnitTypes
    unit = getattr(Qgis, "RenderUnit", None)
    return unit.Points if unit is not None and hasattr(unit, "Points") else QgsUnitTypes.RenderUnit.RenderPoints
