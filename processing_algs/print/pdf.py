"""Site sheets as a PDF: a print layout built in code, its text in labels, its charts the SVG of the page."""
from __future__ import annotations

import os
import tempfile

from qgis.core import Qgis, QgsAbstractLayoutIterator, QgsLayoutExporter, QgsPrintLayout, QgsProject

from ...siting.charts.drawing import WIDTH
from ...siting.charts.mapframe import HEIGHT as MAP_PX
from ...siting.errors import Cancelled, InputError
from ...siting.report.blocks import Chart, Heading, MapFigure, Paragraph, Sheet, Table
from .flow import CONTENT_MM, SIZES, Flow
from .map import map_extent, site_crs

DPI, DPI_MANY, MANY = 150.0, 80.0, 6
"""Resolution of the maps' imagery, and that for more than so many sites: the file is to stay small."""
DATA_COLUMNS = 2
"""Tables of figures behind charts stand side by side."""


def write_pdf(path: str, sheet: Sheet, transform_context, progress, feedback) -> None:
    """Write the PDF; whoever calls takes away what a failed or cancelled run leaves.

    Parameters
    ----------
    path : str
    sheet : Sheet
    transform_context : QgsCoordinateTransformContext
    progress : callable
        Called with a fraction 0 to 1.
    feedback : QgsFeedback
        Asked whether to stop.

    Raises
    ------
    InputError
        If it cannot be written.
    Cancelled
    """
    project = QgsProject()
    project.setTransformContext(transform_context)
    metadata = project.metadata()
    metadata.setTitle(sheet.title)
    project.setMetadata(metadata)
    dpi = DPI if len(sheet.sections) <= MANY else DPI_MANY
    with tempfile.TemporaryDirectory(prefix="stillwater-sheet-") as folder:
        flows = []
        parts = [(one.name, one.blocks) for one in sheet.sections] + [("", sheet.outro)]
        for number, (name, blocks) in enumerate(parts):
            if feedback.isCanceled():
                raise Cancelled("stopped by the user")
            progress(0.4 * number / len(parts))
            flow = Flow(_layout(project, dpi), folder, sheet.title, name)
            for block in ([Heading(1, sheet.title), *sheet.intro] if number == 0 else []) + blocks:
                _put(flow, block)
            flows.append(flow)
        first, total = 1, sum(flow.pages for flow in flows)
        for flow in flows:
            flow.finish(first, total)
            first += flow.pages
        progress(0.5)
        _export([flow.layout for flow in flows], path, dpi, lambda part: progress(0.5 + 0.5 * part), feedback)


class Layouts(QgsAbstractLayoutIterator):
    """Hands layouts to the exporter one after the other: many small ones are drawn faster than one great one.

    Parameters
    ----------
    layouts : list of QgsPrintLayout
    progress : callable
        Called with a fraction 0 to 1.
    """

    def __init__(self, layouts: list, progress):
        super().__init__()
        self._layouts, self._progress, self._at = layouts, progress, -1

    def layout(self):
        return self._layouts[self._at]

    def beginRender(self):
        self._at = -1
        return True

    def endRender(self):
        return True

    def count(self):
        return len(self._layouts)

    def next(self):
        self._at += 1
        self._progress(self._at / len(self._layouts))
        return self._at < len(self._layouts)

    def filePath(self, baseFilePath, extension):
        return f"{baseFilePath}.{extension}"


def _layout(project, dpi) -> QgsPrintLayout:
    layout = QgsPrintLayout(project)
    layout.undoStack().blockCommands(True)
    layout.setName(project.metadata().title())
    layout.renderContext().setDpi(dpi)
    return layout


def _export(layouts, path, dpi, progress, feedback):
    settings = QgsLayoutExporter.PdfExportSettings()
    settings.dpi = dpi
    settings.rasterizeWholeImage = False
    settings.appendGeoreference = False
    settings.textRenderFormat = Qgis.TextRenderFormat.AlwaysText
    result, error = QgsLayoutExporter.exportToPdf(Layouts(layouts, progress), path, settings, feedback)
    if feedback.isCanceled():
        raise Cancelled("stopped by the user")
    if result != QgsLayoutExporter.ExportResult.Success or not os.path.isfile(path):
        raise InputError(f"OUTPUT_PDF could not be written by QGIS{': ' + error if error else ''}. Check folder and "
                         "free space, or leave it out.")


def _put(flow: Flow, block) -> None:
    if isinstance(block, Heading):
        flow.heading(block.text, block.level)
    elif isinstance(block, Paragraph):
        flow.paragraph(block.text, SIZES["small"] if block.is_small else SIZES["text"], block.is_strong)
    elif isinstance(block, Chart):
        flow.picture(block.drawing)
    elif isinstance(block, MapFigure):
        flow.map(block.layers, site_crs(block), map_extent(block), CONTENT_MM * MAP_PX / WIDTH, block.drawing())
    elif isinstance(block, Table):
        flow.table(block, DATA_COLUMNS if block.is_data and len(block.rows) > 12 else 1)
    else:
        raise TypeError(type(block).__name__)
