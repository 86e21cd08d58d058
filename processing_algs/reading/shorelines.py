"""Reading shorelines: features → chains with the water to their left, on one plane of metres."""
from __future__ import annotations

from typing import NamedTuple

import numpy as np
from qgis.core import QgsFeatureRequest, QgsGeometry, QgsProcessingFeatureSource, QgsWkbTypes

from ...siting.arrays import Array
from ...siting.errors import InputError
from ...siting.ground.checks import check_dem_unit
from ...siting.shore.along import Walk
from ...siting.shore.chains import Chain, Gap, Piece, join, ring_area
from ...siting.shore.plane import ShorePlane, dense_lonlat
from ...siting.shore.segments import Segments
from ...siting.shore.sides import SURE, lower_side
from ..layers.geometries import rings_of
from .given import Given
from .sources import UNCHECKED, wkt_of

LINE_SIDES = ["left", "right", "lower ground"]
TOLD = 10


class Shore(NamedTuple):
    """A shoreline as it was read: its plane, chains with the water to their left, and its source."""

    plane: ShorePlane
    chains: list[Chain]
    source: object


def is_polygons(source: QgsProcessingFeatureSource) -> bool:
    """Tell whether a source holds polygons."""
    return QgsWkbTypes.geometryType(source.wkbType()) == QgsWkbTypes.GeometryType.PolygonGeometry


def vertices_of(geometry: QgsGeometry) -> list[Array]:
    """Take a geometry apart into vertices in the order of its parts: points, lines, rings; curves become segments."""
    parts = []
    for part in geometry.asGeometryCollection():
        flat = type(geometry)(part.constGet().segmentize()) if part.constGet().hasCurvedSegments() else part
        kind = QgsWkbTypes.geometryType(flat.wkbType())
        if kind == QgsWkbTypes.GeometryType.PolygonGeometry:
            parts += [ring.xy for ring in rings_of(flat, 0)]
        elif not flat.isEmpty():
            parts.append(np.array([[v.x(), v.y()] for v in flat.vertices()]))
    return parts


def read_shore(given: Given, side: str) -> Shore:
    """Read SHORE.

    Parameters
    ----------
    side : str
        ``left``, ``right`` or ``lower ground`` for lines, ``inside`` or ``outside`` for polygons: where the water is.

    Raises
    ------
    InputError
        If there is nothing to read, it crosses itself, or no side can be told.
    Cancelled
    """
    source = given.source("SHORE")
    name = source.sourceName()
    if QgsWkbTypes.geometryType(source.wkbType()) == QgsWkbTypes.GeometryType.PointGeometry:
        raise InputError(f"SHORE “{name}” holds points. Give a layer of lines.")
    polygons = is_polygons(source)
    drawn = _read(source, polygons, given.stop_if_cancelled)
    if not drawn:
        raise InputError(f"SHORE “{name}” has no lines, so there is no shore.")
    plane = ShorePlane(np.concatenate([lon for lon, _lat, _feature in drawn]),
                       np.concatenate([lat for _lon, lat, _feature in drawn]))
    pieces = [Piece(plane.project(lon, lat), feature) for lon, lat, feature in drawn]
    if polygons:
        chains = [Chain(piece.xy, np.full(len(piece.xy) - 1, piece.feature), True) for piece in pieces]
    else:
        chains = _join(given, _without_twins(given, pieces, name), side == "lower ground", plane, name)
    _refuse_crossings(chains, plane, name, given.stop_if_cancelled)
    if side == "lower ground":
        chains = _lower_to_the_left(given, chains, plane)
    elif side in ("right", "outside"):
        chains = [chain.turned() for chain in chains]
    return Shore(plane, chains, source)


def _read(source, polygons, pulse):
    """Return longitudes, latitudes and feature of each line; rings of polygons with their inside to the left."""
    crs, drawn = wkt_of(source.sourceCrs()), []
    for feature in source.getFeatures(QgsFeatureRequest(), UNCHECKED):
        pulse()
        geometry = feature.geometry()
        if geometry.isNull() or geometry.isEmpty():
            continue
        if polygons and not geometry.isGeosValid():
            raise InputError(
                f"SHORE “{source.sourceName()}”, feature {feature.id()}: its polygon is not valid (its outline crosses "
                "or touches itself). Mend it with “Fix geometries”.")
        flat = geometry if not polygons else type(geometry)(geometry.constGet().segmentize())
        lines = [_inside_left(ring) for ring in rings_of(flat, 0)] if polygons else vertices_of(geometry)
        for xy in lines:
            lon, lat = dense_lonlat(xy[:, 0], xy[:, 1], crs)
            if not (np.isfinite(lon).all() and np.isfinite(lat).all()):
                raise InputError(
                    f"SHORE “{source.sourceName()}”, feature {feature.id()}: it has a vertex outside what its "
                    "coordinate reference system can express. Repair it, or reproject the layer.")
            keep = np.append(True, (np.diff(lon) != 0) | (np.diff(lat) != 0))
            if np.count_nonzero(keep) > 1:
                drawn.append((lon[keep], lat[keep], feature.id()))
    return drawn


def _inside_left(ring) -> Array:
    xy = ring.xy if np.array_equal(ring.xy[0], ring.xy[-1]) else np.concatenate([ring.xy, ring.xy[:1]])
    return xy if (ring_area(xy) > 0) != bool(ring.hole) else xy[::-1]


def _without_twins(given, pieces, name):
    """Leave out lines drawn twice."""
    seen, kept = {}, []
    for piece in pieces:
        keys = {piece.xy.tobytes(), piece.xy[::-1].tobytes()}
        twin = next((seen[key] for key in keys if key in seen), None)
        if twin is not None:
            given.warn(f"SHORE “{name}”: feature {piece.feature} is the same line as feature {twin} and is "
                                 "left out.")
            continue
        seen.update(dict.fromkeys(keys, piece.feature))
        kept.append(piece)
    return kept


def place_text(plane: ShorePlane, xy: Array) -> str:
    """Write a place of the plane as longitude and latitude."""
    lon, lat = (float(value) for value in plane.lonlat(xy))
    return f"{lon:.6f}°, {lat:.6f}° (longitude, latitude)"


def _join(given, pieces, is_free, plane, name) -> list[Chain]:
    """Join pieces to chains, and tell of gaps; where directions are free, pieces may be turned."""
    snap_m = given.real("SNAP")
    if not snap_m >= 0:
        raise InputError(f"SNAP is {snap_m:g} m; it must be 0 or more.")
    joined = join(pieces, snap_m, is_free)
    if joined.opposed:
        gap = joined.opposed[0]
        raise InputError(
            f"SHORE “{name}”: features {gap.features[0]} and {gap.features[1]} meet at {place_text(plane, gap.xy)} but "
            f"run against each other, so the water would change sides there ({len(joined.opposed)} such place(s)). "
            "Reverse one of them (“Reverse line direction”), or let SIDE “lower ground” tell.")
    _tell(given, joined.gaps, lambda gap: (
        f"SHORE “{name}”: {_features(gap)} do not meet but end {gap.width_m:.2f} m apart at "
        f"{place_text(plane, gap.xy)}, more than SNAP ({snap_m:g} m); the gap is bridged by a straight line."))
    _tell(given, joined.loose, lambda gap: (
        f"SHORE “{name}”: {_features(gap)} look like a ring that does not close: the ends lie {gap.width_m:.1f} m "
        f"apart at {place_text(plane, gap.xy)}. It is taken for an open shore; close it if it is none."))
    return joined.chains


def _features(gap: Gap) -> str:
    if gap.features[0] == gap.features[1]:
        return f"the ends of feature {gap.features[0]}"
    return f"features {gap.features[0]} and {gap.features[1]}"


def _tell(given, gaps, text_of):
    for gap in gaps[:TOLD]:
        given.warn(text_of(gap))
    if len(gaps) > TOLD:
        given.warn(f"… and {len(gaps) - TOLD} more of these.")


def _refuse_crossings(chains, plane, name, pulse):
    segments = Segments.of_lines([chain.xy for chain in chains])
    owner = np.concatenate([chain.owner for chain in chains])
    found = segments.crossings(most=TOLD, pulse=pulse)
    if not found:
        return
    first = found[0]
    one, other = int(owner[first.one]), int(owner[first.other])
    who = f"feature {one} crosses itself" if one == other else f"features {one} and {other} cross or lie on each other"
    count = f"{len(found)} or more places" if len(found) == TOLD else f"{len(found)} place(s)"
    raise InputError(
        f"SHORE “{name}”: {who} at {place_text(plane, first.xy)}, so the side of the water is not defined ({count} in "
        "all). Mend the line there.")


def _lower_to_the_left(given, chains, plane) -> list[Chain]:
    """Turn chains so that the lower ground lies to their left; those that nothing tells of are named and left out."""
    dem = given.raster("DEM")
    if dem is None:
        raise InputError("SIDE is “lower ground”, which needs DEM. Give the DEM, or “left” or “right”.")
    check_dem_unit(dem, "DEM", given.note)
    turned, dark = [], []
    for chain in chains:
        given.stop_if_cancelled()
        lower = lower_side(Walk(chain, plane), plane, dem)
        names = ", ".join(str(f) for f in chain.features[:5])
        if lower.left is None:
            dark.append(names)
            continue
        if lower.share < SURE:
            given.warn(
                f"Feature(s) {names}: the DEM shows the {'left' if lower.left else 'right'} side lower at only "
                f"{100 * lower.share:.0f} % of {lower.probes} pairs of cells; check the side.")
        turned.append(chain if lower.left else chain.turned())
    if not turned:
        raise InputError(
            f"DEM “{dem.name}” tells for no line which side lies lower: it has no data on both sides, or both are "
            "level. Give SIDE “left” or “right”.")
    for names in dark[:TOLD]:
        given.warn(f"Feature(s) {names}: the DEM has no data on both sides, or both are level; they are left "
                             "out.")
    if len(dark) > TOLD:
        given.warn(f"… and {len(dark) - TOLD} more are left out.")
    return turned
