"""Water from a shoreline: lines closed to water polygons on the given side, out to a distance."""
from __future__ import annotations

import numpy as np
from qgis.core import (
    QgsGeometry,
    QgsProcessing,
    QgsProcessingParameterFeatureSink,
    QgsProcessingParameterFeatureSource,
    QgsWkbTypes,
)

from ...siting.errors import InputError
from ...siting.geometry.localframe import from_lonlat, world_edges
from ...siting.shore.along import Walk
from ...siting.shore.faces import ShoreNet, ShoreSides, outward
from ..layers.fields import Column
from ..layers.geometries import lines, multipolygons, rings_of, unwrapped
from ..reading import parameters as define
from ..reading.given import Given
from ..reading.shorelines import LINE_SIDES, TOLD, place_text, read_shore
from ..reading.sources import wkt_of
from .base import StillwaterAlgorithm

COLUMNS = [Column("kind", "text", "Rim: open (ends at REACH) or ring (closed by shore)"),
           Column("length_m", "number", "Shore on its rim [m]")]
QUARTER_STEPS = 24
"""Straight steps in a quarter of a circle: a rim of the reach is at most 0.06 % short."""
SIMPLER = 0.0005
"""Share of the reach by which a shore may be made simpler before it is widened."""
MAX_REACH_M = 500_000.0


class WaterFromShoreAlgorithm(StillwaterAlgorithm):
    """Closes shorelines to water polygons."""

    ID = "waterfromshore"
    TITLE = "Water from a shoreline"
    GROUP = "Shore"
    SUMMARY = (
        "Makes water polygons from shorelines drawn as lines: pieces are joined end to end, rings with the water "
        "inside become ponds, rings with the water outside islands, and open shores get the water on their side out to "
        "REACH. Where an open shore ends it is carried on straight. A shore that crosses itself is refused with its "
        "place; rings that do not close and gaps are named in the log. Check the result on imagery: where shores are "
        "missing, land beyond counts as water.")
    TAGS = ("shore", "shoreline", "coastline", "water", "polygon", "island", "sea", "lake")

    def initAlgorithm(self, configuration: dict | None = None) -> None:
        for parameter in (
            define.described(QgsProcessingParameterFeatureSource(
                "SHORE", "Shoreline", [QgsProcessing.SourceType.TypeVectorLine]),
                "Lines between water and land, in pieces or whole, islands as closed lines, in any coordinate "
                "reference system."),
            define.choice("SIDE", "The water is on the side", LINE_SIDES, "left",
                          "left or right: as seen along the lines, the same for all. lower ground: the side that the "
                          "DEM shows lower, for each joined line by itself."),
            define.number("REACH", "Reach of the water [m]", 2000.0,
                          "How far from shore the water goes where no other shore ends it, in true metres; above 0.",
                          0.0),
            define.shore_snap(), define.dem_for_shore("Elevation in metres, for SIDE lower ground."),
        ):
            self.addParameter(parameter)
        self.addParameter(define.described(QgsProcessingParameterFeatureSink(
            "OUTPUT", "Water", QgsProcessing.SourceType.TypeVectorPolygon),
            "A polygon for each piece of water."))

    def compute(self, given: Given) -> dict:
        reach = given.real("REACH")
        if not 0 < reach <= MAX_REACH_M:
            raise InputError(f"REACH is {reach:g} m; it must be above 0 and at most {MAX_REACH_M:g} m.")
        shore = read_shore(given, given.choice("SIDE"))
        given.feedback.setProgress(20)
        given.stop_if_cancelled()
        net, zone = _zone(given, shore.chains, reach)
        given.feedback.setProgress(50)
        given.stop_if_cancelled()
        faces = _faces(net, zone)
        given.feedback.setProgress(70)
        crs = shore.source.sourceCrs()
        output = self.open_output(given, "OUTPUT", COLUMNS, QgsWkbTypes.Type.MultiPolygon, crs)
        progress = given.progress(70.0)
        sides, scale, conflicts, lost = ShoreSides(net), _true_scale(net.chains, shore.plane), [], 0
        for number, face in enumerate(faces):
            given.stop_if_cancelled()
            progress(number / len(faces))
            rings = [ring.xy for ring in rings_of(face, 0)]
            rim = sides.rim(rings)
            if rim.real and rim.water_m and rim.land_m:
                conflicts.append(rim)
            if rim.water_m <= rim.land_m:
                continue
            perimeter = sum(np.hypot(*np.diff(xy, axis=0).T).sum() for xy in rings)
            is_ring = rim.real and perimeter - rim.water_m < 1e-6 * perimeter
            shape = _on_map(rings, shore.plane, wkt_of(crs))
            lost += shape is None
            output.add(shape, ["ring" if is_ring else "open", round(float(scale * rim.water_m * rim.real), 3)])
        _tell_conflicts(given, conflicts, shore.plane)
        if lost:
            given.warn(f"{lost} polygon(s) cannot be drawn in this coordinate reference system (they go "
                                 "round a pole or beyond its edge); their rows have no geometry. Reproject SHORE.")
        output.flush()
        if not output.written:
            raise InputError("No water was found on this side of the shore. Check SIDE and the direction of the lines.")
        return {"OUTPUT": output.dest_id}


def _zone(given, chains, reach):
    """Return the net of shores and continuations, and all that lies within reach or inside a pond."""
    net = ShoreNet(chains)
    fastened = net.fasten(given.real("SNAP"))
    parts = []
    for number, chain in enumerate(chains):
        given.stop_if_cancelled()
        shape = _line(chain.xy)
        if chain.is_ring:
            # what a ring encloses is pond or land up to it; and GEOS 3.11 widens some closed lines wrongly
            shape = multipolygons(chain.xy[None])[0]
        simple = shape.simplify(SIMPLER * reach)
        wide = (shape if simple.isEmpty() else simple).buffer(reach, QUARTER_STEPS)
        parts.append(wide)
        for end in (() if chain.is_ring else (0, -1)):
            if (number, end) not in fastened:
                direction = outward(chain, end, reach)
                net.carry_on(number, end, direction, _way_out(wide, chain.xy[end], direction, reach))
    return net, QgsGeometry.unaryUnion(parts)


def _way_out(zone, tip, direction, reach) -> float:
    """Return how far it is from an end until the ray has left the reach of its own shore [m]."""
    box = zone.boundingBox()
    far = np.hypot(box.width(), box.height()) + reach
    inside = zone.intersection(_line(np.stack([tip, tip + far * direction])))
    pieces = [np.array([[v.x(), v.y()] for v in part.vertices()]) for part in inside.asGeometryCollection()]
    ways = [np.hypot(*(xy - tip).T).max() for xy in pieces if np.hypot(*(xy - tip).T).min() < 1e-3]
    return 1.001 * max([*ways, reach])


def _line(xy) -> QgsGeometry:
    return lines(xy[:, 0], xy[:, 1], np.array([0, len(xy)]), False)[0]


def _faces(net, zone) -> list[QgsGeometry]:
    """Cut the zone by shores and continuations."""
    rim = QgsGeometry(zone.constGet().boundary())
    drawn = [_line(chain.xy) for chain in net.chains] + [_line(xy) for xy in net.continuations]
    cut = QgsGeometry.polygonize([QgsGeometry.unaryUnion([*drawn, rim])])
    if cut.isNull():
        return []
    # holes of the zone come out as faces too
    return [face for face in cut.asGeometryCollection() if zone.intersects(face.pointOnSurface())]


def _true_scale(chains, plane) -> float:
    """Return geodesic metres for a metre of the plane along these shores."""
    flat = sum(np.hypot(*np.diff(chain.xy, axis=0).T).sum() for chain in chains)
    return sum(Walk(chain, plane).length_m for chain in chains) / flat


def _on_map(rings, plane, crs: str) -> QgsGeometry | None:
    """Bring a face into a CRS, split at the cut of the map; None where it cannot be shown."""
    edges = world_edges(crs)
    shapes = []
    for xy in rings:
        x, y = from_lonlat(*plane.lonlat(xy), crs)
        x = unwrapped(x, edges)
        if not (np.isfinite(x).all() and np.isfinite(y).all()):
            return None
        shapes.append((x, y))
    crosses = edges is not None and any(x.min() < edges[0] or x.max() > edges[1] for x, _y in shapes)
    if crosses:
        whole = [multipolygons(np.stack([x, y], axis=-1)[None], edges)[0] for x, y in shapes]
        shape = whole[0] if len(whole) == 1 else whole[0].difference(QgsGeometry.unaryUnion(whole[1:]))
    else:
        shape = QgsGeometry.fromWkt("POLYGON(" + ",".join(
            "(" + ",".join(f"{a!r} {b!r}" for a, b in zip(x.tolist(), y.tolist())) + ")" for x, y in shapes) + ")")
    if not shape.isGeosValid():
        shape = shape.makeValid()
        parts = [part for part in shape.asGeometryCollection()
                 if QgsWkbTypes.geometryType(part.wkbType()) == QgsWkbTypes.GeometryType.PolygonGeometry]
        shape = QgsGeometry.collectGeometry(parts)
    shape.convertToMultiType()
    return shape


def _tell_conflicts(given, conflicts, plane):
    """Name pieces of water or land whose rim says both."""
    for rim in conflicts[:TOLD]:
        given.warn(
            f"Between {place_text(plane, rim.water_at)} and {place_text(plane, rim.land_at)} shores contradict each "
            f"other: {rim.water_m:.0f} m of shore have this area for water, {rim.land_m:.0f} m for land. The longer "
            "rim counts. A line drawn the other way round or a missing piece of shore does this.")
    if len(conflicts) > TOLD:
        given.warn(f"… and {len(conflicts) - TOLD} more contradictions.")
