"""Reflection footprints: the first Fresnel zones as polygons."""
from __future__ import annotations

import math
import re

import numpy as np
from qgis.core import (
    QgsProcessing,
    QgsProcessingParameterFeatureSink,
    QgsProcessingParameterString,
    QgsWkbTypes,
)

from ...siting.arrays import Array
from ...siting.errors import InputError
from ...siting.geometry.fresnel import Ellipse, first_zone, outline
from ...siting.geometry.localframe import LocalFrame
from ...siting.signals import wavelength_m
from ..layers.fields import AZIMUTH, HEIGHT, SITE, Column
from ..layers.geometries import UNDRAWABLE, drawn
from ..reading import parameters as define
from ..reading.candidates import read_resolver, read_sites, tell_problems
from ..reading.given import Given
from .base import StillwaterAlgorithm

COLUMNS = [
    SITE, Column("signal", "text", "Signal"), AZIMUTH,
    Column("el_deg", "number", "Elevation angle [°]"), HEIGHT,
    Column("dist_m", "number", "Distance to the centre [m]"),
    Column("length_m", "number", "Length [m]"), Column("width_m", "number", "Width [m]"),
    Column("area_m2", "number", "Area [m²]"),
]


class FootprintsAlgorithm(StillwaterAlgorithm):
    """Draws the first Fresnel zone for each site, azimuth and elevation angle."""

    ID = "footprints"
    TITLE = "Reflection footprints"
    GROUP = "Ground"
    SUMMARY = (
        "Draws where on the ground the reflections of an antenna come from: the first Fresnel zone for each site, "
        "azimuth and elevation angle of the satellite, on a horizontal surface.")
    TAGS = ("footprint", "ellipse", "reflection", "zone")

    def initAlgorithm(self, configuration: dict | None = None) -> None:
        for parameter in (
            *define.candidates(), define.signal(),
            define.described(QgsProcessingParameterString("ELEVATIONS", "Elevation angles [°]", "6, 10, 15, 22"),
                             "Elevation angles of the satellite, above 0 and at most 90, with semicolons or blanks "
                             "between, or commas before blanks. The log tells how any other comma was understood."),
            define.number("AZIMUTH_FROM", "First azimuth [°]", 0.0,
                          "Azimuths are this one and every AZIMUTH_STEP further, clockwise from true north."),
            define.number("AZIMUTH_TO", "Azimuths end before [°]", 360.0,
                          "The azimuths end before this one. Smaller than the first: over north."),
            define.azimuth_step(15.0, "Distance of the azimuths."),
            define.dem(), define.geoid(), *define.zero_level(),
        ):
            self.addParameter(parameter)
        self.addParameter(define.described(QgsProcessingParameterFeatureSink(
            "OUTPUT", "Footprints", QgsProcessing.SourceType.TypeVectorPolygon),
            "A polygon for each site, azimuth and elevation angle."))

    def compute(self, given: Given) -> dict:
        signal = given.choice("SIGNAL")
        angles, note = parse_angles(given.text("ELEVATIONS"))
        if note:
            given.warn(note)
        azimuths = azimuth_list(*(given.real(name) for name in ("AZIMUTH_FROM", "AZIMUTH_TO", "AZIMUTH_STEP")))
        sites = read_sites(given)
        candidates = sites.candidates
        read_resolver(given, sites, given.raster("DEM"), False)(candidates)
        tell_problems(given, candidates)
        output = self.open_output(given, "OUTPUT", COLUMNS, QgsWkbTypes.Type.MultiPolygon, sites.source.sourceCrs())
        height = np.array([c.over_zero_m if not c.problem else np.nan for c in candidates])
        zones = first_zone(height[:, None], angles, wavelength_m(signal))
        reach = np.where(np.isfinite(height), np.nan_to_num(zones.far_m).max(axis=1), 1.0)
        frame = LocalFrame(*sites.lonlat, sites.crs, reach)
        progress, skipped = given.progress(), 0
        for index, candidate in enumerate(candidates):
            given.stop_if_cancelled()
            progress(index / len(candidates))
            if candidate.problem:
                continue
            mine = Ellipse(*(part[index][None, :] for part in zones))
            rings = outline(mine, azimuths[:, None])
            shapes, drawable = drawn(frame, index, rings.reshape(-1, *rings.shape[-2:]))
            if not drawable.all():
                skipped += 1
                given.warn(f"The footprints of “{candidate.name}” {UNDRAWABLE}. Reproject INPUT.")
                continue
            rows = _rows(candidate, mine, azimuths, angles)
            for shape, (azimuth, *sizes) in zip(shapes, rows):
                output.add(shape, [candidate.name, signal, azimuth, *sizes])
        if skipped:
            given.warn(f"{skipped} candidate(s) could not be drawn.")
        return {"OUTPUT": output.dest_id}


def _rows(candidate, zones, azimuths, angles) -> list:
    """List azimuth, angle, height and sizes of each footprint, angle by angle within each azimuth."""
    a, b, centre = (part[0] for part in zones)
    sizes = [[float(angles[i]), candidate.over_zero_m, float(centre[i]), 2 * float(a[i]), 2 * float(b[i]),
              math.pi * float(a[i] * b[i])] for i in range(len(angles))]
    return [[float(azimuth), *size] for azimuth in azimuths for size in sizes]


def parse_angles(text: str) -> tuple[Array, str]:
    """Read elevation angles from a text.

    Semicolons and blanks part numbers. A comma within a number is a decimal comma where these part, so ``7,5; 10`` is
    7.5 and 10, and parts where nothing else does or decimal points are used. Where it may have been meant otherwise,
    as in a lone ``7,5``, what was understood is told.

    Parameters
    ----------
    text : str

    Returns
    -------
    angles : ndarray
        In the order given, each once [°].
    note : str
        What was understood, where a comma could have been read otherwise; else empty.

    Raises
    ------
    InputError
        If there is none, one is no number, or one is not above 0 and at most 90.
    """
    words = [word.strip(",") for word in re.split(r"[;\s]+", (text or "").strip())]
    words = [word for word in words if word]
    is_parted = len(words) > 1
    parts: list[str] = []
    is_doubtful = False
    for word in words:
        within = word.count(",")
        has_point = "." in word
        is_doubtful |= within > 0 and not has_point
        is_decimal = within == 1 and is_parted and not has_point
        parts += [word.replace(",", ".")] if is_decimal else word.split(",")
    angles = []
    for part in (piece for piece in parts if piece):
        try:
            value = float(part)
        except ValueError:
            raise InputError(
                f"ELEVATIONS “{text}”: “{part}” is no number. Write angles with semicolons or blanks between, "
                "such as 6; 10; 15; 22.") from None
        if not 0 < value <= 90:
            raise InputError(f"ELEVATIONS “{text}”: {part} is not above 0 and at most 90°.")
        if value not in angles:
            angles.append(value)
    if not angles:
        raise InputError("ELEVATIONS is empty. Write angles with semicolons or blanks between, such as 6; 10; 15; 22.")
    note = ""
    if is_doubtful:
        note = (f"ELEVATIONS “{text}” is understood as {', '.join(f'{angle:g}°' for angle in angles)}. Write a decimal "
                "point, or semicolons between, if something else is meant.")
    return np.array(angles), note


def azimuth_list(first: float, end: float, step: float) -> Array:
    """List azimuths from the first by step, before the end, each in [0, 360).

    Raises
    ------
    InputError
        If the step is not positive, the range is empty, or it makes over 3600 azimuths.
    """
    if not (np.isfinite([first, end, step]).all() and step > 0):
        raise InputError(f"AZIMUTH_STEP is {step:g}; it must be greater than 0°.")
    if end < first:
        end += 360.0
    span = min(end - first, 360.0)
    if span <= 0:
        raise InputError(f"AZIMUTH_FROM {first:g} and AZIMUTH_TO {end:g} leave no azimuth between them. "
                         "From 0 to 360 is all around.")
    number = int(np.ceil(span / step - 1e-9))
    if number > 3600:
        raise InputError(f"AZIMUTH_STEP {step:g}° makes over 3600 azimuths. Choose a greater step.")
    return np.mod(first + step * np.arange(number), 360.0)
