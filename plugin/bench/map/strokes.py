"""Turning the shapes around a place into strokes to paint: built once for a place, then only moved and scaled.

Qt paints lines of up to one pixel many times faster than wider ones, and many short paths faster than one long one:
the many tracks and sectors have thin lines only, and each has a path of its own.
"""
from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from qgis.PyQt.QtCore import QPointF, QRectF, Qt
from qgis.PyQt.QtGui import QBrush, QPainter, QPainterPath, QPen, QPolygonF, QTransform

from ....siting.charts.palette import DARK, INK, PAPER, RAMP, ZONE
from ....siting.live.shapes import Shapes
from .colours import is_dark, line_pen, no_pen, seam, sector_fill, tint

CORNERS = 24
"""A track is drawn by about so many."""
THIN = 0.5
"""Width of a track [px]; no more than a pixel of a screen that has two for each of Qt's."""
SEAM = 0.9
"""How far the light seam of a track lies beside it [px]."""


@dataclass(frozen=True)
class Stroke:
    """Paths to paint alike.

    Attributes
    ----------
    kind : str
        One of `bench.SHAPES`.
    paths : list of QPainterPath
        Relative to the antenna.
    pen : QPen
        In logical pixels.
    brush : QBrush
    shift : float
        Painted so far to the right and down [px].
    boxes : list of QRectF
        What each path covers with its line; of a stroke in pixels.
    """

    kind: str
    paths: list
    pen: QPen
    brush: QBrush = field(default_factory=QBrush)
    shift: float = 0.0
    boxes: list = field(default_factory=list)

    def on_screen(self, to_pixels: QTransform) -> Stroke:
        """Return the same in pixels."""
        moved = to_pixels * QTransform.fromTranslate(self.shift, self.shift)
        paths, margin = [moved.map(path) for path in self.paths], self.pen.widthF() + 1.0
        boxes = [path.controlPointRect().adjusted(-margin, -margin, margin, margin) for path in paths]
        return replace(self, paths=paths, boxes=boxes)

    def bounds(self) -> QRectF:
        """Return what one in pixels covers."""
        found = QRectF()
        for box in self.boxes:
            found |= box
        return found

    def paint(self, painter: QPainter, seen: QRectF) -> None:
        """Paint one in pixels, as far as it is seen."""
        painter.setPen(self.pen)
        painter.setBrush(self.brush)
        # a fill without a line of its own: jagged edges lie under the lines of another stroke, and it is much faster
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, self.pen.style() != Qt.PenStyle.NoPen)
        for path, box in zip(self.paths, self.boxes):
            if box.intersects(seen):
                painter.drawPath(path)


def strokes_of(shapes: Shapes) -> list[Stroke]:
    """Make the strokes of all shapes, in the order in which they are painted.

    Parameters
    ----------
    shapes : Shapes

    Returns
    -------
    list of Stroke
        In units of the shapes' CRS, relative to the antenna, y up.
    """
    centre = np.asarray(shapes.centre)
    made = []
    for strokes in (_sector_strokes, _pass_strokes, _zone_strokes, _skyline_strokes):
        made += strokes(shapes, centre)
    return made


def _sector_strokes(shapes, centre):
    made = []
    step = np.clip(shapes.quality * len(RAMP), 0, len(RAMP) - 1).astype(int)
    for counts in (False, True):
        for colour in range(len(RAMP)):
            chosen = np.flatnonzero((shapes.counts == counts) & (step == colour) & (shapes.quality > 0))
            paths = [_ring(shapes.sectors[i], centre) for i in chosen]
            if not paths:
                continue
            made.append(Stroke("sectors", paths, no_pen(), sector_fill((colour + 0.5) / len(RAMP), counts)))
            if counts:
                # a single line between neighbours, of what differs from their fill
                made.append(Stroke("sectors", paths, line_pen(PAPER if is_dark(RAMP[colour]) else INK, 1.0, 130)))
            else:
                made += [Stroke("sectors", paths, line_pen(PAPER, 1.0, 200)),
                         Stroke("sectors", paths, line_pen(INK, 1.0, is_dashed=True))]
    return made


def _zone_strokes(shapes, centre):
    made = []
    for is_good in (False, True):
        paths = [_ring(shapes.zones[i], centre) for i in np.flatnonzero(shapes.zone_is_good == is_good)]
        if paths:
            made += [Stroke("footprints", paths, seam(3.2, 210) if is_good else seam(2.4, 120)),
                     Stroke("footprints", paths, line_pen(ZONE, 1.4, is_dashed=not is_good))]
    return made


def _skyline_strokes(shapes, centre):
    if not len(shapes.rim):
        return []
    made, rim = [], _ring(shapes.rim, centre)
    if len(shapes.skyline):
        hills = _ring(shapes.skyline, centre)
        hills.addPath(rim)
        hills.setFillRule(Qt.FillRule.OddEvenFill)
        made.append(Stroke("skyline", [hills], seam(2.2), QBrush(tint(DARK, 200))))
    return made + [Stroke("skyline", [rim], seam(2.6, 150)), Stroke("skyline", [rim], line_pen(INK, 1.0))]


def _pass_strokes(shapes, centre):
    made = []
    if shapes.passes:
        made.append(Stroke("passes", _tracks(shapes.passes, centre), line_pen(INK, THIN, 110)))
    if shapes.usable_passes:
        paths = _tracks(shapes.usable_passes, centre)
        made += [Stroke("passes", paths, line_pen(PAPER, THIN, 240), shift=SEAM),
                 Stroke("passes", paths, line_pen(INK, THIN))]
    return made


def _ring(ring, centre) -> QPainterPath:
    path = QPainterPath()
    path.addPolygon(_polygon(ring, centre))
    path.closeSubpath()
    return path


def _tracks(tracks, centre) -> list[QPainterPath]:
    made = []
    for track in tracks:
        step = max(1, len(track) // CORNERS)
        path = QPainterPath()
        path.addPolygon(_polygon(np.concatenate([track[:-1:step], track[-1:]]), centre))
        made.append(path)
    return made


def _polygon(points, centre) -> QPolygonF:
    return QPolygonF([QPointF(x, y) for x, y in (points - centre).tolist()])
