"""Surface quality by azimuth: a sector for each site and bin, and the figures behind it."""
from __future__ import annotations

from dataclasses import replace

import numpy as np
from qgis.core import QgsProcessing, QgsProcessingParameterFeatureSink, QgsWkbTypes

from ...siting.arrays import Array
from ...siting.assess import assess
from ...siting.errors import failing_alone
from ...siting.geometry.localframe import LocalFrame
from ...siting.geometry.sectors import sector_rings
from ...siting.verdict.causes import find_causes
from ...siting.words.reasons import bin_reasons
from ..layers.fields import AZIMUTH, HEIGHT, SITE, Column
from ..layers.geometries import UNDRAWABLE, drawn
from ..reading import parameters as define
from ..reading.given import Given
from ..reading.log import tell_failures
from ..reading.surface import TERRAIN_PART, parameter_definitions, read_surface_run, tell_cut_short
from .base import StillwaterAlgorithm

SHARES = [Column("target", "number", "Target share"), Column("avoid", "number", "Share to avoid"),
          Column("hidden", "number", "Hidden share"), Column("unknown", "number", "Unknown share"),
          Column("usable", "number", "Usable share")]
COLUMNS = [
    SITE, AZIMUTH, Column("quality", "number", "Quality"),
    Column("el_from", "number", "Window from [°]"), Column("el_to", "number", "Window to [°]"),
    *SHARES, Column("busy", "number", "Share of the time in which the window is spoiled"),
    Column("near_m", "number", "Ground from [m]"), Column("far_m", "number", "Ground to [m]"),
    Column("height_m", "number", "Least height over the surface [m]"), Column("reason", "text", "What spoils it"),
]
DETAIL_COLUMNS = [
    SITE, AZIMUTH, Column("el_deg", "number", "Elevation angle [°]"),
    Column("level_m", "number", "Level [m]"), HEIGHT, *SHARES,
    Column("rough_m", "number", "Rms height of the surface [m]"),
    Column("tilt_deg", "number", "Tilt of the ground [°]"), Column("loss_db", "number", "Loss by roughness [dB]"),
    Column("return_db", "number", "Return of the smooth surface [dB]"),
]


class SurfaceQualityAlgorithm(StillwaterAlgorithm):
    """Tells for each direction at which elevation angles the footprints lie on a good surface."""

    ID = "surfacequality"
    TITLE = "Surface quality by azimuth"
    GROUP = "Ground"
    SUMMARY = (
        "Tells for each site and direction how much of the reflection footprints lies on the surface to be measured, "
        "at which elevation angles that is enough, and what spoils the rest. Each sector covers the ground of its "
        "window of good angles; a sector without a window covers the ground of all angles looked at. With a DEM or "
        "barriers a spot is hidden that the antenna does not see, that the satellite does not light, or whose "
        "satellite stands behind the skyline. For snow and soil with a DEM the plane of the ground moves each "
        "footprint, and its roughness costs.")
    TAGS = ("quality", "surface", "water", "azimuth", "mask", "sector", "share")

    def initAlgorithm(self, configuration: dict | None = None) -> None:
        for parameter in parameter_definitions(with_arcs=False):
            self.addParameter(parameter)
        self.addParameter(define.described(QgsProcessingParameterFeatureSink(
            "OUTPUT", "Sectors", QgsProcessing.SourceType.TypeVectorPolygon),
            "A sector for each site and azimuth bin."))
        self.addParameter(define.described(QgsProcessingParameterFeatureSink(
            "DETAIL", "Details (table)", QgsProcessing.SourceType.TypeVector, None, True, False),
            "A row for each site, bin, elevation angle and level."))

    def compute(self, given: Given) -> dict:
        run = read_surface_run(given)
        crs = run.source.sourceCrs()
        output = self.open_output(given, "OUTPUT", COLUMNS, QgsWkbTypes.Type.MultiPolygon, crs)
        detail = self.open_output(given, "DETAIL", DETAIL_COLUMNS, QgsWkbTypes.Type.NoGeometry, crs)
        frame = LocalFrame(*run.lonlat, run.crs, run.reach_m)
        settings = replace(run.settings, is_complete=True)
        ends, resolved = [], [not c.problem for c in run.candidates]
        for index, assessment in assess(run.candidates, run.layers, settings, given.progress(TERRAIN_PART),
                                 given.is_cancelled, run.sight):
            reasons = None
            if assessment is not None:
                with failing_alone(assessment.candidate):
                    reasons = bin_reasons(assessment, find_causes(assessment))
            if reasons is None:
                continue
            ends.append((index, None if assessment.sight is None else assessment.sight.ends_m))
            shapes, drawable = drawn(frame, index, sector_rings(
                settings.bin_centre_deg, settings.bin_width_deg, *assessment.ground_of_window()))
            if not drawable.all():
                given.warn(f"The sectors of “{assessment.candidate.name}” {UNDRAWABLE}; their rows have no geometry.")
                shapes[:] = None
            for shape, row in zip(shapes, _rows(assessment, reasons)):
                output.add(shape, row)
            if detail is not None:
                for row in _detail_rows(assessment, run.returns_db):
                    detail.add(None, row)
        tell_failures(given, run.candidates, resolved)
        tell_cut_short(given, run, ends)
        results = {"OUTPUT": output.dest_id}
        if detail is not None:
            results["DETAIL"] = detail.dest_id
        return results


def _rows(assessment, reasons) -> list:
    """List the values of `COLUMNS` of each bin."""
    settings, windows = assessment.settings, assessment.windows
    near, far = (part.tolist() for part in assessment.ground_of_window())
    angle = np.array(settings.elevation_deg)
    means = [assessment.at_worst(c.name).mean(axis=0).astype(float).tolist() for c in SHARES]
    quality, azimuth = windows.quality.tolist(), settings.bin_centre_deg.tolist()
    name, height = assessment.candidate.name, assessment.least_height_m
    low, high = angle[windows.first].tolist(), angle[windows.last].tolist()
    busy, found = assessment.window_busy.tolist(), (windows.first >= 0).tolist()
    rows = []
    for i in range(settings.bins):
        window = (low[i], high[i]) if found[i] else (None, None)
        ground = (near[i], far[i]) if found[i] else (None, None)
        rows.append([name, azimuth[i], quality[i], *window, *(m[i] for m in means), busy[i], *ground, height,
                     reasons[i]])
    return rows


def _detail_rows(assessment, returns_db):
    """Give the values of `DETAIL_COLUMNS` of each bin, elevation angle and level."""
    settings, candidate = assessment.settings, assessment.candidate
    columns = [assessment.share_of(c.name).astype(float).transpose(2, 1, 0) for c in SHARES]
    tilt = np.full(assessment.usable.shape, np.nan) if assessment.planes is None else assessment.planes.tilt_deg
    columns += [_or_none(part).transpose(2, 1, 0) for part in (assessment.rms_m, tilt)]
    columns.append(np.where(np.isnan(assessment.rms_m), None, assessment.loss_db.astype(object)).transpose(2, 1, 0))
    bins, angles, levels = columns[0].shape
    columns.append(np.broadcast_to(returns_db[:, None], columns[0].shape))
    number = np.arange(bins * angles * levels)
    azimuth = settings.bin_centre_deg[number // (angles * levels)].tolist()
    angle = np.array(settings.elevation_deg)[number // levels % angles].tolist()
    level = candidate.levels_m[number % levels].tolist()
    height = candidate.heights_m[number % levels].tolist()
    for row in zip(azimuth, angle, level, height, *(c.ravel().tolist() for c in columns)):
        yield [candidate.name, *row]


def _or_none(values: Array) -> Array:
    """Turn NaN into None, which the sink writes as NULL."""
    return np.where(np.isnan(values), None, values.astype(object))
