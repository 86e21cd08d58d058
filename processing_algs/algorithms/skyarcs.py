"""Satellite arcs: the tracks of the reflection points of rising and setting satellites."""
from __future__ import annotations

import numpy as np
from qgis.core import QgsProcessing, QgsProcessingParameterFeatureSink, QgsWkbTypes

from ...siting.earth import LEAST_RADIUS_M
from ...siting.geometry.localframe import LocalFrame
from ...siting.geometry.sectors import ground_distance_m
from ...siting.signals import wavelength_m
from ...siting.sky.clock import iso_text
from ...siting.sky.sampling import longest_interval_s
from ..layers.fields import SITE, Column
from ..layers.geometries import UNDRAWABLE, lines
from ..reading import parameters as define
from ..reading.given import Given
from ..reading.skysites import over_sites, reach_m, read_sky_sites, tell_without_arcs
from .base import StillwaterAlgorithm

COLUMNS = [
    SITE, Column("satellite", "text", "Satellite"), Column("system", "text", "Satellite system"),
    Column("t_start", "text", "Start (UTC)"), Column("t_end", "text", "End (UTC)"),
    Column("rising", "boolean", "Rising"),
    Column("az_start", "number", "Azimuth at the start [°]"), Column("az_end", "number", "Azimuth at the end [°]"),
    Column("el_from", "number", "Lowest elevation angle [°]"), Column("el_to", "number", "Highest elevation angle [°]"),
    Column("minutes", "number", "Duration [min]"),
    Column("int_max_s", "number", "Longest interval that resolves the height [s]"),
]


class SkyArcsAlgorithm(StillwaterAlgorithm):
    """Draws where the reflection points of satellites pass, and when."""

    ID = "skyarcs"
    TITLE = "Satellite arcs"
    GROUP = "Sky"
    SUMMARY = (
        "Draws for each site the tracks on the ground of the points where satellites are reflected, on a horizontal "
        "surface at the zero level: a line in order of time for each rising or setting part of a pass between the "
        "elevation angles looked at. A pass is split at its highest point, and cut at the elevation limits and at the "
        "ends of the time looked at; midnight does not cut it. Each line tells the satellite, its times in UTC and "
        "the longest logging interval that resolves the site's height on it (sampling theorem, a surface that does "
        "not move). Angles are geometric, without refraction.")
    TAGS = ("satellite", "arc", "pass", "track", "sky", "orbit", "rising", "setting", "when")

    def initAlgorithm(self, configuration: dict | None = None) -> None:
        for parameter in (*define.candidates(), define.signal(), *define.elevation_limits(), *define.sky(),
                          define.dem(), define.geoid(), *define.zero_level()):
            self.addParameter(parameter)
        self.addParameter(define.described(QgsProcessingParameterFeatureSink(
            "OUTPUT", "Satellite arcs", QgsProcessing.SourceType.TypeVectorLine),
            "A line for each rising or setting part of a pass over each site. Multilines only where a site lies so "
            "near the meridian of 180° that the map's edge may cut one."))

    def compute(self, given: Given) -> dict:
        wavelength = wavelength_m(given.choice("SIGNAL"))
        run = read_sky_sites(given)
        lon, lat = np.array(run.lonlat)
        reach = reach_m(run.candidates, [c.over_zero_m for c in run.candidates], run.sky.low_deg)
        frame = LocalFrame(lon, lat, run.crs, reach)
        is_multi = frame.edges is not None and bool(np.any(_distance_to_180_m(lon, lat) < 1.01 * reach))
        kind = QgsWkbTypes.Type.MultiLineString if is_multi else QgsWkbTypes.Type.LineString
        output = self.open_output(given, "OUTPUT", COLUMNS, kind, run.source.sourceCrs())
        empty = []
        for index, candidate, arcs in over_sites(given, run):
            if arcs is None:
                continue
            if not arcs:
                empty.append(candidate.name)
                continue
            shapes = _shapes(frame, index, candidate, arcs, is_multi)
            if shapes is None:
                given.warn(f"The arcs of “{candidate.name}” {UNDRAWABLE}; their rows have no geometry. "
                           "Reproject INPUT.")
                shapes = [None] * len(arcs.satellite)
            intervals = longest_interval_s(arcs, candidate.over_zero_m, wavelength)
            for number, row in _rows(run.sky, arcs, intervals):
                output.add(shapes[number], [candidate.name, *row])
        tell_without_arcs(given, empty, run)
        return {"OUTPUT": output.dest_id}


def _shapes(frame, index, candidate, arcs, is_multi):
    """Draw the reflection points of arcs; None where they cannot be drawn."""
    distance = ground_distance_m(candidate.over_zero_m, arcs.sine)
    azimuth = np.radians(arcs.azimuth_deg.astype(float))
    x, y = frame.place(index, distance * np.sin(azimuth), distance * np.cos(azimuth))
    if not (np.isfinite(x).all() and np.isfinite(y).all()):
        return None
    return lines(x, y, arcs.start, is_multi, frame.edges)


def _rows(sky, arcs, intervals):
    """Give the number of each arc and its attributes, in order of time."""
    first, last = arcs.first, arcs.last
    time, azimuth = arcs.time_s, arcs.azimuth_deg.astype(float)
    elevation = np.degrees(np.arcsin(np.clip(arcs.sine.astype(float), -1.0, 1.0)))
    begin, end = time[first], time[last]
    low, high = np.sort([elevation[first], elevation[last]], axis=0)
    # rounded beyond what the orbits give, so that a limit reads as it was given
    azimuths = (np.round(azimuth[at], 4) % 360.0 for at in (first, last))
    columns = [part.tolist() for part in (
        begin + sky.start_s, end + sky.start_s, arcs.is_rising, *azimuths, np.round(low, 5), np.round(high, 5),
        np.round((end - begin) / 60.0, 3), intervals.astype(float))]
    table = list(zip(arcs.satellite.tolist(), *columns))
    for number in np.argsort(begin, kind="stable").tolist():
        satellite, start, stop, *others = table[number]
        yield number, [sky.orbits.names[satellite], sky.orbits.systems[satellite], iso_text(start), iso_text(stop),
                       *others]


def _distance_to_180_m(lon_deg, lat_deg):
    """Return the distance from places to the meridian of 180° on a sphere [m]; none is over-estimated."""
    away = np.minimum(180.0 - np.abs(lon_deg), 90.0)
    return LEAST_RADIUS_M * np.arcsin(np.cos(np.radians(lat_deg)) * np.sin(np.radians(away)))
