"""Polygons on the polar grid around a site: exact along each ray, without cutting a single polygon.

Along a ray from the site a polygon begins or ends where the ray crosses an
edge; an edge of a counter-clockwise ring that passes the ray clockwise (towards
greater azimuth) lets it in, one that passes the other way lets it out::

    inside(r) = inside(site) + Σ (crossings nearer than r)

so only edges near the site matter, and one query whether the site itself lies
inside (see `raycrossings`). Edges stand in an index of buckets; nothing is rasterised.
"""
from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Callable, NamedTuple

import numpy as np

from ..errors import InputError
from ..geometry.localframe import LocalFrame
from .polargrid import PolarGrid
from .raycrossings import Crossings, crossings_of

EDGES_PER_BUCKET = 8
MAX_BUCKETS = 1_000_000
BEND_TOLERANCE = 2e-4
"""How far an edge, straight on the map, may stray from a straight line on the ground, as a share of the reach."""
MOST_PIECES = 64
"""Pieces that a bent edge is cut into at most."""


class Ring(NamedTuple):
    """One closed ring of a valid polygon.

    Attributes
    ----------
    xy : ndarray, shape (k, 2)
        Vertices in the layer's CRS, the first repeated at the end or not.
    hole : bool
        Whether it bounds a hole.
    group : int
        Polygons of one group are one thing (see `PolygonLayer`).
    """

    xy: np.ndarray
    hole: bool
    group: int


class Edges(NamedTuple):
    """Edges of polygons, their inside to the left.

    Attributes
    ----------
    first, second : ndarray, shape (n, 2)
        Where each begins and ends.
    owner : ndarray of int, shape (n,)
        Group of each.
    """

    first: np.ndarray
    second: np.ndarray
    owner: np.ndarray

    def straightened(self, local: Callable[[np.ndarray], np.ndarray], tolerance_m: float) -> Edges:
        """Bring edges into local metres, in pieces where they are bent there.

        Parameters
        ----------
        local : callable
            Turns points of the layer's CRS, shape (n, 2), into local ones [m].
        tolerance_m : float
            How far a piece may stray from the edge [m].
        """
        first, second = local(self.first), local(self.second)
        stray = np.hypot(*(local((self.first + self.second) / 2.0) - (first + second) / 2.0).T)
        if not np.any(stray > tolerance_m):
            return Edges(first, second, self.owner)
        pieces = np.clip(np.ceil(np.sqrt(stray / tolerance_m)), 1, MOST_PIECES).astype(int)
        start, end, which = _cut(self.first, self.second, pieces)
        return Edges(local(start), local(end), self.owner[which])


class PolygonLayer:
    """Valid polygons, indexed by their edges.

    Parameters
    ----------
    rings : sequence of Ring
        Rings of valid polygons, in any winding.
    crs : str
        The layer's CRS.
    name : str
        The layer's name, for messages.
    groups : int
        Number of groups; coverage is told for each.

    Raises
    ------
    InputError
        If a vertex is not finite.
    """

    def __init__(self, rings: Sequence[Ring], crs: str, name: str, groups: int = 1):
        self.crs, self.name, self.groups = crs, name, groups
        starts, ends, owner = [], [], []
        for ring in rings:
            xy = np.asarray(ring.xy, dtype=float)[:, :2]
            if len(xy) and np.array_equal(xy[0], xy[-1]):
                xy = xy[:-1]
            if len(xy) < 3:
                continue
            if not np.isfinite(xy).all():
                raise InputError(f"Layer “{name}” has a vertex without finite coordinates. Repair the layer.")
            after = np.roll(xy, -1, axis=0)
            base = xy - xy[0]
            turned = np.roll(base, -1, axis=0)
            area2 = np.sum(base[:, 0] * turned[:, 1] - base[:, 1] * turned[:, 0])
            if (area2 > 0) == bool(ring.hole):
                xy, after = after, xy
            starts.append(xy)
            ends.append(after)
            owner.append(np.full(len(xy), ring.group))
        if starts:
            self._start, self._end = np.concatenate(starts), np.concatenate(ends)
            self._owner = np.concatenate(owner)
            self._build_index()
        else:
            self._start = np.zeros((0, 2))

    def __len__(self):
        return len(self._start)

    def _build_index(self):
        low, high = np.minimum(self._start, self._end), np.maximum(self._start, self._end)
        self.bounds = (*low.min(axis=0), *high.max(axis=0))
        span = np.maximum(np.array(self.bounds[2:]) - self.bounds[:2], 1e-9)
        wanted = min(max(len(self._start) / EDGES_PER_BUCKET, 1), MAX_BUCKETS)
        # square buckets, but never more than needed along a thin layer
        size = np.sqrt(span[0] * span[1] / wanted)
        counts = np.clip(np.ceil(span / max(size, 1e-12)), 1, wanted).astype(int)
        while counts[0] * counts[1] > 4 * wanted:
            counts = np.maximum(counts // 2, 1)
        self._counts, self._bucket = counts, span / counts
        first, last = self._cell(low), self._cell(high)
        across = last - first + 1
        number = across[:, 0] * across[:, 1]
        edge = np.repeat(np.arange(len(low)), number)
        inner = np.arange(number.sum()) - np.repeat(np.cumsum(number) - number, number)
        col = first[edge, 0] + inner % across[edge, 0]
        row = first[edge, 1] + inner // across[edge, 0]
        bucket = row * counts[0] + col
        order = np.argsort(bucket, kind="stable")
        self._members = edge[order]
        self._offset = np.searchsorted(bucket[order], np.arange(counts[0] * counts[1] + 1))

    def _cell(self, xy):
        return np.clip(((xy - self.bounds[:2]) / self._bucket).astype(int), 0, self._counts - 1)

    def _edges_in(self, west, south, east, north) -> np.ndarray:
        if east < self.bounds[0] or west > self.bounds[2] or north < self.bounds[1] or south > self.bounds[3]:
            return np.zeros(0, int)
        (c0, r0), (c1, r1) = self._cell(np.array([west, south])), self._cell(np.array([east, north]))
        rows = np.arange(r0, r1 + 1) * self._counts[0]
        pieces = [self._members[self._offset[row + c0]:self._offset[row + c1 + 1]] for row in rows]
        return np.unique(np.concatenate(pieces))

    def edges_near(self, box) -> Edges | None:
        """Return the edges near a box, cut off well beyond it; None where there is none.

        Parameters
        ----------
        box : (west, south, east, north)
            In the layer's CRS.

        Returns
        -------
        Edges or None
            Vertices inside stay as they are to the last bit, so that edges still share them.
        """
        edges = self._edges_in(*box)
        if not len(edges):
            return None
        start, end, kept = _clip(self._start[edges], self._end[edges], box)
        return Edges(start, end, self._owner[edges[kept]])

    def holding(self, point) -> np.ndarray:
        """Count how often each group holds a point, by the edges to its right."""
        x, y = point
        count = np.zeros(self.groups)
        if not (self.bounds[0] <= x <= self.bounds[2] and self.bounds[1] <= y <= self.bounds[3]):
            return count
        edges = self._edges_in(x, y, self.bounds[2], y)
        (x1, y1), (x2, y2) = self._start[edges].T, self._end[edges].T
        up = np.where((y1 <= y) & (y2 > y), 1, np.where((y2 <= y) & (y1 > y), -1, 0))
        hit = up != 0
        cross = x1[hit] + (y - y1[hit]) * (x2[hit] - x1[hit]) / (y2[hit] - y1[hit])
        right = cross > x
        np.add.at(count, self._owner[edges[hit][right]], up[hit][right])
        return count


class PolygonSampler:
    """Measures polygons on the polar grid around many sites.

    Parameters
    ----------
    layer : PolygonLayer
    lon, lat : ndarray, shape (n,)
        The sites, WGS 84 [°].
    reach_m : array_like
        Farthest ring edge that will be asked for at each site [m].
    """

    def __init__(self, layer: PolygonLayer, lon, lat, reach_m):
        self.layer = layer
        self.frame = LocalFrame(lon, lat, layer.crs, reach_m)

    def around(self, site: int, grid: PolarGrid) -> Crossings | None:
        """Find where the polygons begin and end along each ray, to be asked for any groups (`Crossings.cover`).

        Parameters
        ----------
        site : int
        grid : PolarGrid

        Returns
        -------
        Crossings or None
            None where no polygon comes near.
        """
        layer, frame = self.layer, self.frame
        if not len(layer) or not np.isfinite(frame.origin[site]).all():
            return None
        turns = [0.0]
        if frame.edges is not None:
            width = frame.edges[1] - frame.edges[0]
            turns += [width, -width]
        azimuth = np.linspace(0.0, 2.0 * np.pi, 33)
        reach = grid.edges_m[-1]
        x, y = frame.place(site, reach * 1.02 * np.sin(azimuth), reach * 1.02 * np.cos(azimuth))
        inside, edges = np.zeros(layer.groups), []
        for turn in turns:
            holds, some = self._one_turn(site, grid, (x.min() + turn, y.min(), x.max() + turn, y.max()), turn)
            inside += holds
            if some is not None:
                edges.append(some)
        if not edges and not inside.any():
            return None
        nothing = (np.zeros((0, 2)), np.zeros((0, 2)), np.zeros(0, int))
        found = crossings_of(*(np.concatenate(part) for part in zip(*(edges or [nothing]))), inside, grid)
        # an edge that only its box brings near crosses no ray
        return found if found.groups else None

    def coverage(self, site: int, grid: PolarGrid) -> dict[int, np.ndarray]:
        """Measure which part of each spot lies in the polygons of each group.

        Parameters
        ----------
        site : int
        grid : PolarGrid

        Returns
        -------
        dict of int to ndarray, shape (n_rings, rays)
            Coverage 0 to 1 by group; groups that do not come near are left out.
        """
        around = self.around(site, grid)
        return {} if around is None else {group: around.cover([group]) for group in around.groups}

    def coverage_of(self, site: int, grid: PolarGrid, sets: Sequence[Iterable[int]]) -> list[np.ndarray | None]:
        """Measure which part of each spot the union of each set of groups covers.

        Parameters
        ----------
        site : int
        grid : PolarGrid
        sets : sequence of iterable of int

        Returns
        -------
        list of (ndarray, shape (n_rings, rays), or None)
            For each set; None where none of its groups comes near.
        """
        around = self.around(site, grid)
        return [None if around is None else around.cover(groups) for groups in sets]

    def _one_turn(self, site, grid, box, turn):
        """Return how often each group holds the site, and the edges near it in local metres with their groups."""
        layer, frame = self.layer, self.frame
        origin = frame.origin[site] + [turn, 0.0]
        # a site on an edge: which side of it is undefined, a micrometre is not
        origin = origin + 1e-6 * frame.units_per_metre(site) * np.array([0.61, 0.79])
        inside = layer.holding(origin)
        edges = layer.edges_near(box)
        if edges is None:
            return inside, None
        shift = np.array([turn, 0.0])
        centre = frame.locate(site, *(origin - shift))
        return inside, edges.straightened(lambda points: frame.locate(site, *(points - shift).T) - centre,
                                          BEND_TOLERANCE * grid.edges_m[-1])


def _clip(start, end, box):
    """Cut edges off well beyond a box: the part of each that is near, and which are near at all."""
    low, high = np.array(box[:2]), np.array(box[2:])
    margin = (high - low) / 2.0
    way = end - start
    with np.errstate(divide="ignore", invalid="ignore"):
        one, other = (low - margin - start) / way, (high + margin - start) / way
        # along a side the way is 0: either all of it lies between the sides or none does
        enter = np.nan_to_num(np.minimum(one, other), nan=0.0).max(axis=1)
        leave = np.nan_to_num(np.maximum(one, other), nan=1.0).min(axis=1)
    near = (enter < 1.0) & (leave > 0.0) & (enter < leave)
    enter, leave = enter[near, None], leave[near, None]
    start, end, way = start[near], end[near], way[near]
    return np.where(enter > 0, start + way * enter, start), np.where(leave < 1, start + way * leave, end), near


def _cut(start, end, pieces):
    """Cut each edge into equal pieces; also tell which edge each piece belongs to."""
    which = np.repeat(np.arange(len(start)), pieces)
    number = np.arange(len(which)) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    part = (number / pieces[which])[:, None]
    first = start[which] + (end - start)[which] * part
    last = number == pieces[which] - 1
    # the end of a piece is the start of the next, to the last bit
    second = np.where(last[:, None], end[which], np.roll(first, -1, axis=0))
    return first, second, which
