"""Between numpy rings and QGIS geometries, by well-known binary."""
from __future__ import annotations

import struct

import numpy as np
from qgis.core import QgsGeometry, QgsRectangle, QgsWkbTypes

from ..siting.ground.polygons import Ring


def unwrapped(x: np.ndarray, world_edges=None) -> np.ndarray:
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


def multipolygons(rings: np.ndarray, world_edges=None) -> list[QgsGeometry]:
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
