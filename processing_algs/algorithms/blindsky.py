"""Sky that no satellite crosses: mask polygons for each site, azimuth bin and range of elevation angles."""
from __future__ import annotations

import numpy as np
from qgis.core import QgsProcessing, QgsProcessingParameterFeatureSink, QgsWkbTypes

from ...siting.errors import InputError
from ...siting.geometry.localframe import LocalFrame
from ...siting.geometry.sectors import ground_distance_m, sector_rings
from ...siting.sky.empty import crossed_cells, empty_ranges
from ...siting.windows import bin_count
from ..layers.fields import AZIMUTH, SITE, Column, fields_of
from ..layers.geometries import multipolygons, unwrapped
from ..reading import parameters as define
from ..reading.candidates import wkt_of
from ..reading.given import finite
from ..reading.skysites import listed, over_sites, reach_m, set_up, tell_without_arcs
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

    def initAlgorithm(self, configuration=None):
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

    def compute(self, parameters, context, feedback):
        low, high, least = (finite(self, parameters, name, context)
                            for name in ("MIN_ELEVATION", "MAX_ELEVATION", "MIN_RANGE"))
        bins = bin_count(finite(self, parameters, "AZIMUTH_STEP", context))
        if high > low and least > high - low:
            raise InputError(f"MIN_RANGE is {least:g}°, but only {high - low:g}° are looked at (MIN_ELEVATION "
                             f"{low:g}°, MAX_ELEVATION {high:g}°), so every range would be left out. Make it smaller.")
        run = set_up(self, parameters, context, feedback)
        crs = run.source.sourceCrs()
        fields = fields_of(COLUMNS)
        output = self.open_output(parameters, "OUTPUT", context, fields, QgsWkbTypes.Type.MultiPolygon, crs)
        reach = reach_m(run.candidates, [c.over_zero_m for c in run.candidates], low)
        frame = LocalFrame([c.lon for c in run.candidates], [c.lat for c in run.candidates], wkt_of(crs), reach)
        without, covered = [], []
        for index, one, arcs in over_sites(run, feedback):
            if arcs is None:
                continue
            if not arcs:
                without.append(one.name)
            ranges = empty_ranges(crossed_cells(arcs, bins, low, high), low, high, least)
            if not len(ranges.bin):
                covered.append(one.name)
                continue
            self._write(output, fields, one, index, ranges, 360.0 / bins, frame, feedback)
        tell_without_arcs(without, run, feedback)
        if covered:
            feedback.pushInfo(f"Nothing to mask, no empty range of {least:g}° or more: {listed(covered)}.")
        return {"OUTPUT": output.dest_id}

    @staticmethod
    def _write(output, fields, one, index, ranges, width_deg, frame, feedback):
        azimuth = (ranges.bin + 0.5) * width_deg
        near, far = (ground_distance_m(one.over_zero_m, np.sin(np.radians(angle)))
                     for angle in (ranges.el_to_deg, ranges.el_from_deg))
        rings = sector_rings(azimuth, width_deg, near, far)
        x, y = frame.place(index, rings[..., 0], rings[..., 1])
        x = unwrapped(x, frame.edges)
        drawable = np.isfinite(x).all(axis=1) & np.isfinite(y).all(axis=1)
        shapes = np.full(len(azimuth), None, object)
        shapes[drawable] = multipolygons(np.stack([x, y], axis=-1)[drawable], frame.edges)
        if not drawable.all():
            feedback.pushWarning(f"{np.count_nonzero(~drawable)} polygon(s) of “{one.name}” cannot be drawn in this "
                                 "coordinate reference system (too near its edge or a pole); their rows have no "
                                 "geometry. Reproject INPUT.")
        angles = (np.round(part, 4).tolist() for part in (ranges.el_from_deg, ranges.el_to_deg))
        for shape, *row in zip(shapes, azimuth.tolist(), *angles):
            output.add(fields, shape, [one.name, *row])
