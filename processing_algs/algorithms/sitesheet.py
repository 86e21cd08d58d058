"""Site sheet: what a field crew, a reviewer and a processor need, for each chosen site."""
from __future__ import annotations

import configparser
import csv
import io
import os
from datetime import datetime, timezone

from qgis.core import (
    Qgis,
    QgsProcessing,
    QgsProcessingAlgorithm,
    QgsProcessingParameterFileDestination,
    QgsProcessingParameterMultipleLayers,
)

from ...siting.errors import InputError
from ...siting.ranking.appraise import appraise
from ...siting.ranking.whatif import changes, what_if
from ...siting.report.blocks import Heading, MapFigure, Paragraph, Sheet, Table
from ...siting.report.page import made_at
from ...siting.report.sheet import NEVER, SheetRun
from ...siting.report.sheetpage import sheet_page
from ...siting.sky.clock import iso_text
from ...siting.verdict.mask import mask_rows
from ..folders import METADATA
from ..layers.destinations import files_of_inputs, same_place
from ..layers.writing import check_writable, write_text_file
from ..print.map import map_image, water_backdrop, with_own_layers
from ..print.pdf import write_pdf
from ..reading import parameters as define
from ..reading.criteria import rank_parameters, read_criteria
from ..reading.given import Given
from ..reading.log import tell_failures
from ..reading.look import read_asked
from ..reading.reported import parameter_texts, reported
from ..reading.surface import not_looked_at, read_surface_run, tell_cut_short
from ..reading.world import read_setup
from .base import StillwaterAlgorithm

MOST_SITES = 20
"""More sites than that make a file that nobody reads, and a PDF over 3 MB."""
OUTPUTS = ("OUTPUT_HTML", "OUTPUT_PDF", "OUTPUT_MASK")
MASK_HEAD = ["site", "lon", "lat", "az_from", "az_to", "el_from", "el_to", "h_high_m", "h_low_m"]
ASSESSED, WONDERED = 35.0, 75.0
"""Progress when all sites are assessed, and when wrong assumptions are looked at [%]."""


class SiteSheetAlgorithm(StillwaterAlgorithm):
    """Writes a sheet for each site: page, print and observation mask."""

    ID = "sitesheet"
    TITLE = "Site sheet"
    GROUP = "Decision"
    SUMMARY = (
        "Writes a sheet for each chosen site, as one page (HTML), one print (PDF) and one table of the observation "
        "mask (CSV): map with footprints and usable directions, quality and usable elevation angles by azimuth, "
        "passes through the day, heights and levels, mask for the processing, recommended interval, what wrong "
        "assumptions would change, and a checklist computed for the site. The figures are those of Rank candidate "
        "sites with the same parameters. In the CSV each row is a range of azimuth and elevation angles [°] to be "
        "used, split at north, with the heights over the highest and the lowest level [m].")
    TAGS = ("sheet", "report", "pdf", "print", "mask", "checklist", "document")

    def flags(self) -> QgsProcessingAlgorithm.Flag:
        # print layouts belong to the main thread
        return super().flags() | QgsProcessingAlgorithm.Flag.FlagNoThreading

    def initAlgorithm(self, configuration: dict | None = None) -> None:
        for parameter in rank_parameters():
            self.addParameter(parameter)
        self.addParameter(define.described(QgsProcessingParameterMultipleLayers(
            "IMAGERY", "Imagery below the maps", QgsProcessing.SourceType.TypeRaster, None, True),
            "Raster layers drawn below the maps, the first on top. Without them LANDCOVER or WATER is drawn."))
        for name, text, kind, tip in (
                ("OUTPUT_HTML", "Site sheet (page)", "HTML files (*.html)", "One file, no network, printable."),
                ("OUTPUT_PDF", "Site sheet (print)", "PDF files (*.pdf)", "A4, charts as vectors."),
                ("OUTPUT_MASK", "Observation mask", "CSV files (*.csv)",
                 "A row for each site, azimuth range and elevation range.")):
            # the dialog proposes the page, for one output there must be
            self.addParameter(define.described(
                QgsProcessingParameterFileDestination(name, text, kind, None, True, name == "OUTPUT_HTML"), tip))

    def compute(self, given: Given) -> dict:
        paths = self._paths(given)
        self._refuse_too_many(given)
        criteria, asked = read_criteria(given), read_asked(given)
        run = read_surface_run(given)
        if len(run.candidates) > MOST_SITES:
            raise InputError(_too_many(len(run.candidates)))
        setup = read_setup(given, run, criteria, asked)
        sheet = SheetRun(reported(run), setup, given.choice("HEIGHT_REFERENCE"))
        found = [(assessment, row) for _index, assessment, row in appraise(
            run.candidates, setup, given.progress(0.0, ASSESSED), given.is_cancelled)]
        outcomes = what_if(run.candidates, setup, changes(run.purpose), given.progress(ASSESSED, WONDERED),
                           given.is_cancelled)
        backdrop = self._backdrop(given, run)
        sections, mask = [], []
        for index, (assessment, row) in enumerate(found):
            if assessment is None:
                sections.append(sheet.unassessed(index, row))
                continue
            section = sheet.section(index, assessment, row, outcomes[index])
            for block in section.blocks:
                if isinstance(block, MapFigure):
                    with_own_layers(block, backdrop)
            sections.append(section)
            mask += _mask_lines(run.candidates[index], assessment, row)
        unassessed = [run.candidates[i] for i, (assessment, _row) in enumerate(found) if assessment is None]
        if unassessed:
            given.warn(f"{len(unassessed)} site(s) are not assessed; their sections say why. The first, "
                       f"“{unassessed[0].name}”: {unassessed[0].problem}.")
        sheets = Sheet(_title(sections), self._intro(run), sections, [
            *self._record(given, run, setup.look.sky), Paragraph(self.CAUTION, is_small=True)])
        _write(given, paths, sheets, mask)
        tell_cut_short(given, run, [(row.index, row.ends_m) for _one, row in found])
        tell_failures(given, run.candidates)
        return paths

    def _paths(self, given) -> dict:
        paths = {}
        for name in OUTPUTS:
            path = given.file_to_write(name) if given.parameters.get(name) else ""
            if not path:
                continue
            check_writable(path, name)
            for other in files_of_inputs(given):
                if same_place(path, None, other):
                    raise InputError(f"{name} would overwrite “{path}”, which {other.parameter} is read from. "
                                     "Choose another file.")
            paths[name] = path
        if not paths:
            raise InputError("No output is asked for. Give at least one of OUTPUT_HTML, OUTPUT_PDF and OUTPUT_MASK.")
        if len({os.path.abspath(path) for path in paths.values()}) < len(paths):
            raise InputError("Two outputs name the same file. Give each its own.")
        return paths

    def _refuse_too_many(self, given):
        source = self.parameterAsSource(given.parameters, "INPUT", given.context)
        if source is not None and source.featureCount() > MOST_SITES:
            raise InputError(_too_many(source.featureCount()))

    def _backdrop(self, given, run) -> list:
        """Choose what is drawn below: imagery, else land cover, else the polygons of the surface."""
        if given.parameters.get("IMAGERY"):
            imagery = self.parameterAsLayerList(given.parameters, "IMAGERY", given.context)
            if imagery:
                return imagery
        if run.layers.landcover is not None:
            layer = self.parameterAsRasterLayer(given.parameters, "LANDCOVER", given.context)
            return [layer] if layer is not None else []
        if run.layers.water is not None:
            layer = self.parameterAsVectorLayer(given.parameters, "WATER", given.context)
            return [water_backdrop(layer)] if layer is not None else []
        return []

    def _intro(self, run) -> list:
        return [Paragraph(f"For {run.purpose}; made by Stillwater {_version()} with QGIS {Qgis.QGIS_VERSION}, "
                          f"{made_at(datetime.now(timezone.utc))}.", is_small=True),
                Paragraph(NEVER, is_small=True)]

    def _record(self, given, run, sky) -> list:
        """Write down what the sheets were made from."""
        crs = run.source.sourceCrs()
        facts = [["Stillwater", _version()], ["QGIS", Qgis.QGIS_VERSION],
                 ["CRS of INPUT", f"{crs.authid()} {crs.description()}".strip()],
                 ["Vertical datum", "that of DEM and SURFACE_LEVEL; no conversion is made but by GEOID"],
                 ["Maps and azimuths", "true north and true metres at each site (WGS 84)"],
                 ["Satellites", f"{len(sky.orbits.names)} of {', '.join(dict.fromkeys(sky.orbits.systems))}, "
                                f"{sky.orbits.source}, from {iso_text(sky.start_s)} for {sky.days} day(s)"]]
        missing = not_looked_at(run)
        if missing:
            facts.append(["Not looked at", "; ".join(missing)])
        rows = [list(texts) for texts in parameter_texts(given)]
        return [Heading(2, "Inputs, versions and parameters"),
                Table("Versions and reference systems", ["What", "Value"], facts, [0.25, 0.75]),
                Table("Parameters of this run", ["Parameter", "Meaning", "Value"], rows, [0.22, 0.36, 0.42])]


def _title(sections) -> str:
    return f"Site sheet: {sections[0].name}" if len(sections) == 1 else f"Site sheets of {len(sections)} sites"


def _write(given, paths, sheets, mask):
    """Write all outputs, or none."""
    texts = {}
    if "OUTPUT_HTML" in paths:
        texts["OUTPUT_HTML"] = sheet_page(sheets, map_image)
    if "OUTPUT_MASK" in paths:
        buffer = io.StringIO()
        csv.writer(buffer, lineterminator="\n").writerows([MASK_HEAD, *mask])
        texts["OUTPUT_MASK"] = buffer.getvalue()
        if not mask:
            given.warn("No direction counts at any site, so OUTPUT_MASK has no rows.")
    # neighbours first: either all outputs appear or none
    partial = {name: f"{path}.part{os.path.splitext(path)[1]}" for name, path in paths.items()}
    try:
        for name, text in texts.items():
            write_text_file(partial[name], text, name)
        if "OUTPUT_PDF" in paths:
            os.makedirs(os.path.dirname(os.path.abspath(paths["OUTPUT_PDF"])), exist_ok=True)
            write_pdf(partial["OUTPUT_PDF"], sheets, given.context.transformContext(), given.progress(WONDERED),
                      given.feedback)
        for name, path in paths.items():
            os.replace(partial[name], path)
    except OSError as error:
        raise InputError(
            f"{', '.join(paths)} cannot be written: {error.strerror}. Choose another folder.") from None
    finally:
        for path in partial.values():
            if os.path.exists(path):
                os.remove(path)


def _too_many(number: int) -> str:
    return (f"INPUT holds {number} sites; a sheet takes at most {MOST_SITES}. Select the sites that are in question, "
            "such as the best of a ranking, and run with “selected features only”, or filter INPUT.")


def _mask_lines(candidate, assessment, row) -> list:
    place = [f"{candidate.lon:.8f}", f"{candidate.lat:.8f}"]
    heights = [f"{row.h_high_m:.3f}", f"{row.h_low_m:.3f}"]
    return [[candidate.name, *place, *(f"{value:g}" for value in window), *heights]
            for window in mask_rows(assessment.windows, row.bin_counts, assessment.settings.elevation_deg)]


def _version() -> str:
    """Read the version of Stillwater from what QGIS reads it from."""
    parser = configparser.ConfigParser(interpolation=None)
    parser.read(METADATA, encoding="utf-8")
    return parser.get("general", "version", fallback="of unknown version")
