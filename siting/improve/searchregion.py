"""Where an antenna may stand: a disc around its site, or a polygon."""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from ..earth import METRES_PER_DEGREE
from ..errors import InputError
from ..geometry.localframe import LocalFrame, to_lonlat
from ..ground.polygons import Ring

INSET_M = 0.1
"""How far within its edge a polygon is tried: on the edge itself a rounding would lead out of it [m]."""
SLACK_M = 0.02
"""Places nearer than this to the edge of a polygon count as outside [m]."""
MOST_FAR_M = 5000.0
"""A polygon farther than this from a site is not its search area [m]; a convention."""


@dataclass(frozen=True)
class SearchRegion:
    """Where one antenna may stand, in metres east and north of its site.

    Attributes
    ----------
    radius_m : float
        Greatest distance from the site [m]; infinite without such a limit.
    rings : list of ndarray, shape (k, 2)
        Outlines and holes of the polygon in `frame`'s CRS, each closed; none where there is no polygon.
    frame : LocalFrame or None
        Places local metres in the CRS of the polygon; its only site is the candidate.
    """

    radius_m: float = np.inf
    rings: list = field(default_factory=list)
    frame: LocalFrame | None = None

    @property
    def outline_m(self) -> list[np.ndarray]:
        """Return the polygon's rings in local metres."""
        return [self.frame.locate(0, *ring.T) for ring in self.rings]

    @property
    def box_m(self) -> tuple[np.ndarray, np.ndarray]:
        """Return the lower left and the upper right corner of where it may stand [m]."""
        low, high = np.full(2, -self.radius_m), np.full(2, self.radius_m)
        if self.rings:
            every = np.concatenate(self.outline_m)
            low, high = np.maximum(low, every.min(axis=0)), np.minimum(high, every.max(axis=0))
        return low, np.maximum(high, low)

    def holds(self, points_m: np.ndarray) -> np.ndarray:
        """Tell which places are allowed.

        Parameters
        ----------
        points_m : ndarray, shape (n, 2)
            East and north [m].

        Returns
        -------
        ndarray of bool, shape (n,)
        """
        points = np.asarray(points_m, float).reshape(-1, 2)
        inside = np.hypot(*points.T) <= self.radius_m + 1e-9
        if self.rings:
            for east, north in ((0, 0), (1, 0), (-1, 0), (0, 1), (0, -1)):
                x, y = self.frame.place(0, points[:, 0] + SLACK_M * east, points[:, 1] + SLACK_M * north)
                inside &= is_within(x, y, self.rings)
        return inside

    def drawn_in(self, points_m: np.ndarray) -> np.ndarray:
        """Return allowed places: those beyond the radius drawn in to it, those outside the polygon left out."""
        points = np.array(points_m, float).reshape(-1, 2)
        away = np.hypot(*points.T)
        # a rounding must not lead out again
        radius = self.radius_m - SLACK_M
        far = away > radius
        points[far] *= (radius / away[far])[:, None]
        return points[self.holds(points)]

    def spread(self, most: int) -> tuple[np.ndarray, float]:
        """Spread places evenly over all that is allowed, and along the edge of a polygon with its corners.

        Parameters
        ----------
        most : int
            About so many, edges apart.

        Returns
        -------
        points_m : ndarray, shape (n, 2)
            East and north [m].
        step_m : float
            Their distance from each other [m].
        """
        low, high = self.box_m
        size = high - low
        area = np.pi * self.radius_m**2 if not self.rings else max(float(np.prod(size)), 1e-3)
        if self.rings:
            # a polygon fills only part of its box
            cells = np.stack(np.meshgrid(np.arange(24), np.arange(24)), axis=-1).reshape(-1, 2)
            trial = low + (cells + 0.5) / 24 * size
            area *= max(float(self.holds(trial).mean()), 1.0 / 576.0)
        step = float(np.clip(np.sqrt(area / most), 0.25, None))
        # lines through the site itself, so that a small move is among them
        first, last = np.ceil(low / step), np.floor(high / step)
        grid = np.stack(np.meshgrid(*(np.arange(a, b + 1) for a, b in zip(first, last))), axis=-1).reshape(-1, 2) * step
        points = [grid, *self._along_edges(step)]
        if np.isfinite(self.radius_m):
            angle = np.linspace(0.0, 2.0 * np.pi, 16, endpoint=False)
            points.append((self.radius_m - SLACK_M) * np.stack([np.sin(angle), np.cos(angle)], axis=-1))
        points = np.concatenate(points)
        return points[self.holds(points)], step

    def _along_edges(self, step):
        """Walk along the polygon's edges, just within; at a corner to each side of it."""
        for outline in self.outline_m if self.rings else []:
            edge = np.diff(outline, axis=0)
            length = np.hypot(*edge.T)
            ring, edge, length = outline[:-1][length > 0], edge[length > 0], length[length > 0]
            if not len(length):
                continue
            along = edge / length[:, None]
            number = np.maximum(np.ceil(length / step).astype(int), 1)
            which = np.repeat(np.arange(len(length)), number)
            part = (np.arange(number.sum()) - np.repeat(np.cumsum(number) - number, number) + 0.5) / number[which]
            side = np.stack([-along[:, 1], along[:, 0]], axis=-1)
            middle = ring[which] + edge[which] * part[:, None]
            turn = np.roll(along, 1, axis=0)
            for sign in (INSET_M, -INSET_M):
                yield middle + sign * side[which]
                yield ring + sign * (along - turn) + sign * 1e-3
                yield ring + sign * (along + np.roll(side, 1, axis=0))
                yield ring + sign * (along - np.roll(side, 1, axis=0))


class SearchAreas:
    """Polygons in which positions may be searched, one part of a feature each.

    Parameters
    ----------
    parts : sequence of list of Ring
        The rings of each part, in the layer's CRS.
    crs, name : str
        The layer's CRS, and its name for messages.

    Raises
    ------
    InputError
        If there is none, or a vertex is not finite.
    """

    def __init__(self, parts: Sequence[list[Ring]], crs: str, name: str):
        self.crs, self.name = crs, name
        self._parts = [[_closed(ring.xy) for ring in part if len(ring.xy) > 2] for part in parts]
        self._parts = [part for part in self._parts if part]
        if not self._parts:
            raise InputError(f"SEARCH_AREA “{name}” has no polygon, so there is no place to search. Draw where an "
                             "antenna may stand, or give RADIUS instead.")
        every = np.concatenate([ring for part in self._parts for ring in part])
        lon, lat = to_lonlat(*every.T, crs)
        if not (np.isfinite(every).all() and np.isfinite(lon).all() and np.isfinite(lat).all()):
            raise InputError(f"SEARCH_AREA “{name}” has a vertex without a place on the Earth. Repair the layer.")
        self._lon, self._lat = lon, lat
        length = [[len(ring) for ring in part] for part in self._parts]
        self._owner = np.repeat(np.arange(len(length)), [sum(part) for part in length])
        self._ends = np.cumsum([one for part in length for one in part]) - 1
        self._cuts = np.cumsum([sum(part) for part in length])[:-1]

    def region(self, lon: float, lat: float, radius_m: float = np.inf) -> SearchRegion | None:
        """Return the polygon that holds a site, else the nearest; None where that is farther than `MOST_FAR_M`.

        Parameters
        ----------
        lon, lat : float
            WGS 84 [°].
        radius_m : float
            Greatest distance from the site besides [m].
        """
        east = ((self._lon - lon + 180.0) % 360.0 - 180.0) * METRES_PER_DEGREE * np.cos(np.radians(lat))
        north = (self._lat - lat) * METRES_PER_DEGREE
        away = _to_edges(east, north)
        away[self._ends] = np.inf
        nearest = np.full(len(self._parts), np.inf)
        np.minimum.at(nearest, self._owner, np.minimum(away, np.hypot(east, north)))
        parts = np.split(np.stack([east, north], axis=-1), self._cuts)
        for number in np.argsort(nearest, kind="stable"):
            rings = np.split(parts[number], np.cumsum([len(r) for r in self._parts[number]])[:-1])
            if is_within(np.zeros(1), np.zeros(1), rings)[0]:
                nearest[number] = -1.0
                break
        chosen = int(np.argmin(nearest))
        if nearest[chosen] > MOST_FAR_M:
            return None
        reach = max(float(np.hypot(*parts[chosen].T).max()), 1.0)
        return SearchRegion(radius_m, self._parts[chosen], LocalFrame([lon], [lat], self.crs, reach))


def is_within(x, y, rings: Sequence[np.ndarray]) -> np.ndarray:
    """Tell which points lie within closed rings, holes taken out: by the edges that a ray to the right crosses.

    Examples
    --------
    >>> square = np.array([[0, 0], [2, 0], [2, 2], [0, 2], [0, 0]])
    >>> is_within(np.array([1.0, 3.0]), np.array([1.0, 1.0]), [square]).tolist()
    [True, False]
    """
    inside = np.zeros(np.shape(x), bool)
    for ring in rings:
        (x1, y1), (x2, y2) = ring[:-1].T, ring[1:].T
        passes = (y1 > y[:, None]) != (y2 > y[:, None])
        with np.errstate(divide="ignore", invalid="ignore"):
            at = x1 + (y[:, None] - y1) * (x2 - x1) / (y2 - y1)
        inside ^= np.count_nonzero(passes & (at > x[:, None]), axis=1) % 2 == 1
    return inside


def _closed(xy) -> np.ndarray:
    xy = np.asarray(xy, float)[:, :2]
    return xy if np.array_equal(xy[0], xy[-1]) else np.concatenate([xy, xy[:1]])


def _to_edges(east, north) -> np.ndarray:
    """Return the distance of the origin from the edge that begins at each vertex [m]."""
    e, n = np.roll(east, -1) - east, np.roll(north, -1) - north
    length2 = e * e + n * n
    with np.errstate(divide="ignore", invalid="ignore"):
        part = np.clip(np.nan_to_num(-(east * e + north * n) / length2), 0.0, 1.0)
    return np.hypot(east + part * e, north + part * n)
