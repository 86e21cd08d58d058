"""Reading where positions may be searched, and how high."""
from __future__ import annotations

import math
from typing import Callable

from qgis.core import QgsFeatureRequest, QgsWkbTypes

from ...siting.candidates import Candidate
from ...siting.errors import InputError
from ...siting.improve.search import Heights
from ...siting.improve.searchregion import SearchAreas
from ..layers.geometries import rings_of
from . import parameters as define
from .given import Given
from .sources import UNCHECKED, wkt_of

RADIUS_M = 50.0
"""Greatest move without RADIUS and SEARCH_AREA [m]."""


def search_parameters() -> list:
    """Define where positions and heights are searched."""
    return [
        define.number("RADIUS", "Greatest move [m]", None,
                      f"Positions up to so far from each site are looked at; above 0. Empty: {RADIUS_M:g} m, or no "
                      "such limit where SEARCH_AREA is given."),
        define.polygons("SEARCH_AREA", "Where the antenna may stand",
                        "Polygons such as a roof, a pier or a plot, in any coordinate reference system. The position "
                        "must lie in the one that holds the site, or else is nearest to it. Some 80 places "
                        "are looked at first, so give RADIUS too where the polygons are large."),
        define.number("HEIGHT_MIN", "Lowest antenna height [m]", None,
                      "Heights from this to HEIGHT_MAX are looked at, measured from HEIGHT_REFERENCE. Empty, like "
                      "HEIGHT_MAX: each site keeps its height."),
        define.number("HEIGHT_MAX", "Highest antenna height [m]", None, "See HEIGHT_MIN."),
    ]


def read_radius(given: Given) -> float:
    """Read RADIUS [m]; infinite where only SEARCH_AREA limits the move.

    Raises
    ------
    InputError
        If it is not above 0.
    """
    radius = given.real_or(None, "RADIUS")
    if radius is None:
        return math.inf if given.is_given("SEARCH_AREA") else RADIUS_M
    if not (math.isfinite(radius) and radius > 0):
        raise InputError(f"RADIUS is {radius:g} m; it must be above 0. Leave it empty for {RADIUS_M:g} m.")
    return radius


def read_heights(given: Given) -> Callable[[Candidate], Heights]:
    """Read HEIGHT_MIN and HEIGHT_MAX.

    Returns
    -------
    callable
        Gives the heights that a candidate may have.

    Raises
    ------
    InputError
        If one is missing, or they are in the wrong order.
    """
    low, high = (given.real_or(None, name) for name in ("HEIGHT_MIN", "HEIGHT_MAX"))
    if low is None and high is None:
        return lambda candidate: Heights(candidate.height_m, candidate.height_m)
    if low is None or high is None:
        missing = "HEIGHT_MIN" if low is None else "HEIGHT_MAX"
        raise InputError(f"{missing} is missing. Give both limits of the height, or neither to keep each site's own.")
    if not (math.isfinite(low) and math.isfinite(high) and low <= high):
        raise InputError(f"HEIGHT_MIN ({low:g} m) lies above HEIGHT_MAX ({high:g} m). Exchange them.")

    def of(_candidate: Candidate) -> Heights:
        return Heights(low, high)
    return of


def read_search_areas(given: Given) -> SearchAreas | None:
    """Read SEARCH_AREA; None where it is not given.

    Raises
    ------
    InputError
        If it holds no polygon.
    Cancelled
    """
    if not given.is_given("SEARCH_AREA"):
        return None
    source = given.source("SEARCH_AREA")
    parts = []
    for feature in source.getFeatures(QgsFeatureRequest(), UNCHECKED):
        given.stop_if_cancelled()
        geometry = feature.geometry()
        if geometry.isNull() or geometry.isEmpty():
            continue
        if QgsWkbTypes.geometryType(geometry.wkbType()) != QgsWkbTypes.GeometryType.PolygonGeometry:
            raise InputError(f"SEARCH_AREA “{source.sourceName()}”, feature {feature.id()}: it is no polygon. Give a "
                             "polygon layer.")
        if not geometry.isGeosValid():
            given.warn(f"SEARCH_AREA “{source.sourceName()}”, feature {feature.id()}: its polygon is "
                                 "invalid and was repaired for this run. Look at it if the result surprises.")
            geometry = geometry.makeValid()
        parts += [rings_of(part, 0) for part in geometry.asGeometryCollection()]
    return SearchAreas(parts, wkt_of(source.sourceCrs()), source.sourceName())
