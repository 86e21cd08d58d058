"""Sky that no satellite crosses: mask polygons for each site, azimuth bin and range of elevation angles."""
from __future__ import annotations

import numpy as np
from qgis.core import QgsProcessing, QgsProcessingParameterFeatureSink, QgsWkbTypes

from ...siting.errors import InputError
from ...siting.geometry.localframe import LocalFrame
from ...siting.geometry.sectors import ground_distance_m, sector_rings
from ...siting.sky.empty import crossed_cells, empty_ranges
from ...siting.windows import bin_count
from ..layers.fields import AZIMUTH, SITE, Column
from ..layers.geometries import UNDRAWABLE, drawn
from ..reading import parameters as define
from ..reading.candidates import listed
from ..reading.given import Given
from ..reading.skysites import over_sites, reach_m, read_sky_sites, tell_without_arcs
from .base import StillwaterAlgorithm

COLUMNS = [SITE, AZIMUTH, Column("el_from", "number", "Empty from [°]"), Column("el_to", "number", "Empty to [°]")]


class BlindSkyAlgorithm(StillwaterAlgorithm):
    """Draws the ground that no reflection comes from because the sky above it stays empty."""

    ID = "blindsky"
    TITLE = "Sky that no satellite crosses"
    GROUP = "Sky"
    SUMMARY = (
        "Finds for each site, azimuth bin and range of elevation angles where no satellite passes in the time looked "
        "at, and draws the ground that such reflections would come from, from h/tan of the higher to h/tan of the "
        "lower angle, on a horizontal surface at the zero level. No satellite ever stands further north or south "
        "than the tilt of its orbit lets it, which leaves a hole towards the nearer pole. Other empty sky lies "
        "between tracks: those of GPS repeat every day, of BeiDou every 7, of GLONASS every 8, of Galileo every 10, "
        "so a single day leaves more of it than there is.")
    TAGS = ("sky", "mask", "hole", "empty", "satellite", "azimuth", "elevation", "orbit")

    def initAlgorithm(self, configuration: dict | None = None) -> None:
        for parameter in (
            *define.candidates(), *define.elevation_limits(),
            define.azimuth_step(5.0, "Width of an azimuth bin; the first begins at north, and 360 must be a multiple "
                                     "of it. A bin is crossed where a satellite passes anywhere in it."),
            define.number("MIN_RANGE", "Least empty range [°]", 1.0,
                          "Shorter empty ranges of elevation angles are left out: between two tracks the sky is "
                          "always empty.", 0.0, 90.0),
            *define.sky(), define.dem(), define.geoid(), *define.zero_level(),
        ):
            self.addParameter(parameter)
        self.addParameter(define.described(QgsProcessingParameterFeatureSink(
            "OUTPUT", "Blind sky", QgsProcessing.SourceType.TypeVectorPolygon),
            "A polygon for each site, azimuth bin and empty range of elevation angles."))

    def compute(self, given: Given) -> dict:
        low, high, least = (given.real(name) for name in ("MIN_ELEVATION", "MAX_ELEVATION", "MIN_RANGE"))
        bins = bin_count(given.real("AZIMUTH_STEP"))
        if high > low and least > high - low:
            raise InputError(f"MIN_RANGE is {least:g}°, but only {high - low:g}° are looked at (MIN_ELEVATION "
                             f"{low:g}°, MAX_ELEVATION {high:g}°), so every range would be left out. Make it smaller.")
        run = read_sky_sites(given)
        output = self.open_output(given, "OUTPUT", COLUMNS, QgsWkbTypes.Type.MultiPolygon, run.source.sourceCrs())
        reach = reach_m(run.candidates, [c.over_zero_m for c in run.candidates], low)
        frame = LocalFrame(*run.lonlat, run.crs, reach)
        without, covered = [], []
        for index, candidate, arcs in over_sites(given, run):
            if arcs is None:
                continue
            if not arcs:
                without.append(candidate.name)
            ranges = empty_ranges(crossed_cells(arcs, bins, low, high), low, high, least)
            if not len(ranges.bin):
                covered.append(candidate.name)
                continue
            azimuth = (ranges.bin + 0.5) * 360.0 / bins
            near, far = (ground_distance_m(candidate.over_zero_m, np.sin(np.radians(angle)))
                         for angle in (ranges.el_to_deg, ranges.el_from_deg))
            shapes, drawable = drawn(frame, index, sector_rings(azimuth, 360.0 / bins, near, far))
            if not drawable.all():
                given.warn(f"{np.count_nonzero(~drawable)} polygon(s) of “{candidate.name}” {UNDRAWABLE}; their rows "
                           "have no geometry. Reproject INPUT.")
            angles = (np.round(part, 4).tolist() for part in (ranges.el_from_deg, ranges.el_to_deg))
            for shape, *row in zip(shapes, azimuth.tolist(), *angles):
                output.add(shape, [candidate.name, *row])
        tell_without_arcs(given, without, run)
        if covered:
            given.note(f"Nothing to mask, no empty range of {least:g}° or more: {listed(covered)}.")
        return {"OUTPUT": output.dest_id}
