"""Between numpy rings and QGIS geometries, by well-known binary."""
from __future__ import annotations

import struct

import numpy as np
from qgis.core import QgsGeometry, QgsRectangle, QgsWkbTypes

from ...siting.arrays import Array
from ...siting.geometry.localframe import LocalFrame
from ...siting.ground.polygons import Ring


def unwrapped(x: Array, world_edges: tuple[float, float] | None = None) -> Array:
    """Let rings run on where they cross the cut of the map, as they do near a pole.

    Parameters
    ----------
    x : ndarray, shape (..., k)
        First coordinates of closed rings.
    world_edges : (west, east) or None
        Where the map is cut.

    Returns
    -------
    ndarray
        NaN for a ring that goes round a pole: no ring can show it in this map.
    """
    if world_edges is None:
        return x
    west, east = world_edges
    width = east - west
    turns = np.cumsum(np.round(np.diff(x, axis=-1) / width), axis=-1)
    x = np.concatenate([x[..., :1], x[..., 1:] - width * turns], axis=-1)
    x = x - width * np.floor((x.mean(axis=-1, keepdims=True) - west) / width)
    return np.where(turns[..., -1:] == 0, x, np.nan)


def drawn(frame: LocalFrame, site: int, rings: Array) -> tuple[Array, Array]:
    """Draw rings around a site on the map.

    Parameters
    ----------
    frame : LocalFrame
        Places local metres on the map.
    site : int
        Index into the frame's sites.
    rings : ndarray, shape (n, k, 2)
        Closed rings, east and north of the site [m].

    Returns
    -------
    shapes : ndarray of QgsGeometry, shape (n,)
        Multipolygons; None where a ring cannot be drawn.
    drawable : ndarray of bool, shape (n,)
        False where a ring lies too near the edge of the coordinate reference system, or goes round a pole.
    """
    x, y = frame.place(site, rings[..., 0], rings[..., 1])
    x = unwrapped(x, frame.edges)
    drawable = np.isfinite(x).all(axis=-1) & np.isfinite(y).all(axis=-1)
    shapes = np.full(len(rings), None, object)
    if drawable.any():
        shapes[drawable] = multipolygons(np.stack([x, y], axis=-1)[drawable], frame.edges)
    return shapes, drawable


UNDRAWABLE = "cannot be drawn in this coordinate reference system (too near its edge or a pole)"
"""What is told of shapes that cannot be drawn."""


def multipolygons(rings: Array, world_edges: tuple[float, float] | None = None) -> list[QgsGeometry]:
    """Build one multipolygon from each ring.

    Parameters
    ----------
    rings : ndarray, shape (n, k, 2)
        Closed rings in map coordinates.
    world_edges : (west, east) or None
        Where the map is cut; shapes beyond are split there and the rest set on the other side.

    Returns
    -------
    list of QgsGeometry
    """
    number, vertices = rings.shape[:2]
    head = struct.pack("<BIIBIII", 1, 6, 1, 1, 3, 1, vertices)
    raw = np.empty((number, len(head) + 16 * vertices), np.uint8)
    raw[:, :len(head)] = np.frombuffer(head, np.uint8)
    raw[:, len(head):] = np.ascontiguousarray(rings, dtype="<f8").reshape(number, -1).view(np.uint8)
    shapes = []
    for row in raw:
        geometry = QgsGeometry()
        geometry.fromWkb(row.tobytes())
        shapes.append(geometry)
    if world_edges is not None:
        west, east = world_edges
        x = rings[..., 0]
        for index in np.flatnonzero((x.min(axis=1) < west) | (x.max(axis=1) > east)):
            shapes[index] = _split(shapes[index], west, east)
    return shapes


def _split(geometry: QgsGeometry, west: float, east: float) -> QgsGeometry:
    """Cut a shape at the edges of the map and set what lies beyond on the other side."""
    box, width = geometry.boundingBox(), east - west
    low, high = box.yMinimum() - 1.0, box.yMaximum() + 1.0
    parts = []
    for left, right, turn in ((west - width, west, width), (west, east, 0.0), (east, east + width, -width)):
        part = geometry.clipped(QgsRectangle(left, low, right, high))
        if part.isEmpty():
            continue
        part.translate(turn, 0.0)
        parts.append(part)
    whole = QgsGeometry.collectGeometry(parts)
    whole.convertToMultiType()
    return whole


def lines(x: Array, y: Array, start: Array, is_multi: bool,
          world_edges: tuple[float, float] | None = None) -> list[QgsGeometry]:
    """Build a line from each run of vertices.

    Parameters
    ----------
    x, y : ndarray, shape (vertices,)
        Map coordinates; they may run on beyond the cut of the map.
    start : ndarray of int, shape (lines + 1,)
        The vertices of line i are ``start[i]`` to ``start[i + 1] - 1``, at least two.
    is_multi : bool
        Make multilines, split at the cut of the map, parts in the order of the line; else single lines, none of
        which may reach the cut.
    world_edges : (west, east) or None
        Where the map is cut.

    Returns
    -------
    list of QgsGeometry
    """
    first, number = start[:-1], np.diff(start)
    crosses = np.zeros(len(number), bool)
    if world_edges is not None and len(number):
        west, east = world_edges
        width = east - west
        # near a pole neighbouring vertices may lie on both sides of the cut
        step = np.diff(x, prepend=x[:1])
        step[first] = 0.0
        turns = np.cumsum(np.round(step / width))
        x = x - width * (turns - np.repeat(turns[first], number))
        middle = np.add.reduceat(x, first) / number
        x = x - width * np.repeat(np.floor((middle - west) / width), number)
        crosses = (np.minimum.reduceat(x, first) < west) | (np.maximum.reduceat(x, first) > east)
    vertices = np.stack([x, y], axis=-1).astype("<f8")
    shapes = []
    for one in range(len(number)):
        mine = vertices[start[one]:start[one + 1]]
        if not is_multi:
            data = _line_wkb(mine)
        else:
            parts = _split_line(mine, *world_edges) if crosses[one] else [mine]
            data = struct.pack("<BII", 1, 5, len(parts)) + b"".join(_line_wkb(part) for part in parts)
        geometry = QgsGeometry()
        geometry.fromWkb(data)
        shapes.append(geometry)
    return shapes


def _line_wkb(vertices: Array) -> bytes:
    return struct.pack("<BII", 1, 2, len(vertices)) + vertices.tobytes()


def _split_line(vertices: Array, west: float, east: float) -> list[Array]:
    """Cut a line at the edges of the map and set what lies beyond on the other side; parts in its order."""
    width = east - west
    world = np.floor((vertices[:, 0] - west) / width)
    parts, begin, lead = [], 0, vertices[:0]
    for before in [*np.flatnonzero(np.diff(world)), len(vertices) - 1]:
        mine, shift = [lead, vertices[begin:before + 1]], world[before] * width
        if before < len(vertices) - 1:
            one, other = vertices[before], vertices[before + 1]
            edge = west + width * max(world[before], world[before + 1])
            share = (edge - one[0]) / (other[0] - one[0])
            lead = np.array([[edge, one[1] + share * (other[1] - one[1])]])
            mine.append(lead)
        part = np.concatenate(mine) - [shift, 0.0]
        part = part[np.append(True, np.any(np.diff(part, axis=0) != 0, axis=1))]
        # a line that ends on the very edge leaves a single point beyond it
        if len(part) > 1:
            parts.append(part.astype("<f8"))
        begin = before + 1
    return parts


def rings_of(geometry: QgsGeometry, group: int) -> list[Ring]:
    """Take a polygon geometry apart into rings; curves become segments, other types are left out.

    Parameters
    ----------
    geometry : QgsGeometry
        Valid.
    group : int
        Group of all its rings.

    Returns
    -------
    list of Ring
    """
    flat = QgsGeometry(geometry.constGet().segmentize())
    rings = []
    for part in flat.asGeometryCollection():
        if QgsWkbTypes.geometryType(part.wkbType()) != QgsWkbTypes.GeometryType.PolygonGeometry:
            continue
        inner = part.constGet()
        inner.dropZValue()
        inner.dropMValue()
        rings += _wkb_rings(bytes(part.asWkb()), group)
    return rings


def _wkb_rings(data: bytes, group: int) -> list[Ring]:
    kind = struct.unpack_from("<I", data, 1)[0]
    rings = []
    if kind == 6:
        number, at = struct.unpack_from("<I", data, 5)[0], 9
    else:
        number, at = 1, 0
    for _ in range(number):
        count = struct.unpack_from("<I", data, at + 5)[0]
        at += 9
        for index in range(count):
            vertices = struct.unpack_from("<I", data, at)[0]
            at += 4
            xy = np.frombuffer(data, "<f8", 2 * vertices, at).reshape(-1, 2)
            at += 16 * vertices
            rings.append(Ring(xy, index > 0, group))
    return rings
