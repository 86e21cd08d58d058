"""Reading candidates: a point each, its height and levels, and the analyst's own figures."""
from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from qgis.core import NULL, QgsGeometry, QgsWkbTypes

from ...siting.candidates import Candidate, Resolver
from ...siting.errors import AllUnfitError, InputError
from ...siting.ground.rasters import Raster
from .given import Given
from .owncriteria import own_figures, read_own_rows
from .sources import wkt_of

NAMES_TOLD = 20


@dataclass
class Sites:
    """Candidates as they were read.

    Attributes
    ----------
    source : QgsProcessingFeatureSource
    candidates : list of Candidate
        Multipoints taken apart; those without geometry carry their problem.
    features : list of QgsFeature
        The feature of each candidate.
    points : list of QgsGeometry or None
        The point of each candidate.
    """

    source: object
    candidates: list[Candidate]
    features: list
    points: list

    @property
    def crs(self) -> str:
        """CRS of the candidates as WKT."""
        return wkt_of(self.source.sourceCrs())

    @property
    def lonlat(self) -> tuple[list[float], list[float]]:
        """Longitudes and latitudes of the candidates [°]."""
        return [candidate.lon for candidate in self.candidates], [candidate.lat for candidate in self.candidates]


def read_sites(given: Given) -> Sites:
    """Read INPUT with what the algorithm takes of its heights, levels and waves; nothing is resolved yet.

    Raises
    ------
    InputError
        If there are none.
    Cancelled
    """
    source = given.source("INPUT")
    figures = _figures(given, source)
    name_index = given.field("SITE_FIELD", source)
    own = read_own_rows(given)
    sites, keys = Sites(source, [], [], []), []
    for feature in source.getFeatures():
        given.stop_if_cancelled()
        values = {key: figure.of(feature) for key, figure in figures.items()}
        parts = _points_of(feature)
        for number, point in enumerate(parts):
            x, y = (point.x(), point.y()) if point is not None else (math.nan, math.nan)
            sites.candidates.append(Candidate(_name_of(feature, name_index), x, y, **values,
                                              own=own_figures(own, source, feature)))
            sites.features.append(feature)
            sites.points.append(None if point is None else QgsGeometry.fromPointXY(point))
            keys.append(f"{feature.id()}" if len(parts) == 1 else f"{feature.id()}.{number + 1}")
    if not sites.candidates:
        raise InputError(f"INPUT “{source.sourceName()}” has no features, so there is nothing to assess.")
    _make_names_unique(sites.candidates, keys)
    return sites


def _figures(given, source) -> dict:
    """Return what gives each candidate's figures, those that the algorithm takes."""
    names = {"height_m": ("ANTENNA_HEIGHT", "HEIGHT_FIELD"), "zero_level_m": ("SURFACE_LEVEL", "SURFACE_FIELD"),
             "low_m": ("LEVEL_LOW", "LOW_FIELD"), "high_m": ("LEVEL_HIGH", "HIGH_FIELD"),
             "wave_m": ("WAVE_HEIGHT", "WAVE_FIELD")}
    found = {key: given.of_each(number, field, source) for key, (number, field) in names.items()
             if given.takes(number)}
    common = {key: figure.common for key, figure in found.items() if figure.common is not None}
    if common.get("wave_m", 0.0) < 0:
        raise InputError(f"WAVE_HEIGHT is {common['wave_m']:g} m; it must be 0 or more.")
    if "low_m" in common and "high_m" in common and common["low_m"] > common["high_m"]:
        raise InputError(
            f"LEVEL_LOW ({common['low_m']:g} m) lies above LEVEL_HIGH ({common['high_m']:g} m). Exchange them.")
    return found


def _name_of(feature, index) -> str:
    name = feature.attribute(index) if index >= 0 else None
    return str(feature.id()) if name is None or name == NULL or str(name).strip() == "" else str(name)


def _points_of(feature):
    geometry = feature.geometry()
    if geometry.isNull() or geometry.isEmpty():
        return [None]
    if QgsWkbTypes.geometryType(geometry.wkbType()) != QgsWkbTypes.GeometryType.PointGeometry:
        raise InputError(f"INPUT, feature {feature.id()}: it is no point. Use centroids or vertices instead.")
    return geometry.asMultiPoint() if geometry.isMultipart() else [geometry.asPoint()]


def _make_names_unique(candidates, keys):
    while True:
        count = Counter(c.name for c in candidates)
        if len(count) == len(candidates):
            return
        # a name with its id appended may be another's name already: look again
        for candidate, key in zip(candidates, keys):
            if count[candidate.name] > 1:
                candidate.name = key if candidate.name == key.partition(".")[0] else f"{candidate.name} {key}"


def read_resolver(given: Given, sites: Sites, dem: Raster | None, zero_is_ground: bool) -> Resolver:
    """Read HEIGHT_REFERENCE and GEOID: how the candidates' heights are to be understood.

    Parameters
    ----------
    sites : Sites
    dem : Raster or None
    zero_is_ground : bool
        Whether the zero level is the DEM's ground below the antenna (snow, soil).

    Raises
    ------
    InputError
    """
    return Resolver(sites.crs, given.choice("HEIGHT_REFERENCE"), zero_is_ground, dem, given.raster("GEOID"))


def tell_problems(given: Given, candidates: Sequence[Candidate]) -> None:
    """Name in the log the candidates that cannot be assessed, and count them."""
    bad = [c for c in candidates if c.problem]
    for feature in bad[:NAMES_TOLD]:
        given.warn(f"Candidate “{feature.name}” is not assessed: {feature.problem}.")
    if len(bad) > NAMES_TOLD:
        given.warn(f"… and {len(bad) - NAMES_TOLD} more.")
    if bad:
        given.warn(f"{len(bad)} of {len(candidates)} candidates are not assessed.")
    if len(bad) == len(candidates):
        raise AllUnfitError(
            f"None of the {len(candidates)} candidates can be assessed; the first, “{bad[0].name}”: "
            f"{bad[0].problem}.", bad[0].problem)


def listed(names: Sequence[str], remarks: Sequence[str] = ()) -> str:
    """Write names for the log, each with its remark where there are any; only the first where they are many."""
    texts = [f"“{name}”" for name in names[:NAMES_TOLD]]
    texts = [f"{text} ({remark})" for text, remark in zip(texts, remarks)] if remarks else texts
    return ", ".join(texts) + (f" and {len(names) - NAMES_TOLD} more" if len(names) > NAMES_TOLD else "")
