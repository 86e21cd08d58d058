"""Barriers: polygons of a known height above ground, met exactly along each ray."""
from __future__ import annotations

from dataclasses import dataclass
from typing import Callable

import numpy as np

from ..errors import InputError
from ..geometry.localframe import LocalFrame
from ..ground.polygons import PolygonLayer
from .search import Best

STRAY_M = 0.5
"""How far an edge, straight on the map, may stray from a straight line on the ground [m]."""
LEAST_M = 0.01
"""Edges nearer than this pass through the antenna itself and are left out."""


@dataclass
class Barriers:
    """Polygons that hide what is behind them.

    Attributes
    ----------
    layer : PolygonLayer
        Its polygons grouped by height.
    height_m : ndarray, shape (groups,)
        Height of each group above the ground [m].
    base_m : float or ndarray, shape (sites,)
        Height of the ground where no elevation model tells it [m], in the antenna's vertical datum.

    Raises
    ------
    InputError
        If a height is missing or negative.
    """

    layer: PolygonLayer
    height_m: np.ndarray
    base_m: float | np.ndarray = 0.0

    def __post_init__(self):
        self.height_m = np.asarray(self.height_m, float)
        if len(self.height_m) < self.layer.groups or not np.all(self.height_m >= 0):
            raise InputError(f"BARRIERS “{self.layer.name}” has a height that is missing or negative. Heights are "
                             "metres above the ground, 0 or more.")


class BarrierView:
    """Looks along rays at barriers from many sites.

    Parameters
    ----------
    barriers : Barriers
    lon, lat : ndarray, shape (n,)
        The sites, WGS 84 [°].
    reach_m : float
        How far barriers are looked at [m].
    """

    def __init__(self, barriers: Barriers, lon, lat, reach_m: float):
        self.barriers = barriers
        self._frame = LocalFrame(lon, lat, barriers.layer.crs, reach_m)

    @property
    def highest_m(self) -> float:
        """The greatest height above ground [m]."""
        return float(self.barriers.height_m.max()) if len(self.barriers.height_m) else 0.0

    def base_m(self, site: int) -> float:
        """Return the height of the ground around a site where no elevation model tells it [m]."""
        base = np.atleast_1d(self.barriers.base_m)
        return float(base[site if len(base) > 1 else 0])

    def crossings(self, site: int, azimuth_deg, reach_m: float):
        """Find where rays cross edges.

        Parameters
        ----------
        site : int
        azimuth_deg : ndarray, shape (rays,)
        reach_m : float
            No farther than this [m].

        Returns
        -------
        ray : ndarray of int
        dist_m : ndarray
            From the site to the edge [m].
        height_m : ndarray
            Of the barrier above ground [m].
        """
        frame, layer = self._frame, self.barriers.layer
        empty = np.zeros(0, int), np.zeros(0), np.zeros(0)
        if not len(layer) or not np.isfinite(frame.origin[site]).all():
            return empty
        angle = np.linspace(0.0, 2.0 * np.pi, 33)
        x, y = frame.place(site, reach_m * 1.02 * np.sin(angle), reach_m * 1.02 * np.cos(angle))
        if not (np.isfinite(x).all() and np.isfinite(y).all()):
            return empty
        width = 0.0 if frame.edges is None else frame.edges[1] - frame.edges[0]
        found = [self._crossed(site, np.asarray(azimuth_deg, float), reach_m,
                               (x.min() + turn, y.min(), x.max() + turn, y.max()), turn)
                 for turn in {0.0, width, -width}]
        return tuple(np.concatenate(part) for part in zip(*found))

    def _crossed(self, site, azimuth_deg, reach_m, box, turn):
        frame, layer = self._frame, self.barriers.layer
        edges = layer.edges_near(box)
        if edges is None:
            return np.zeros(0, int), np.zeros(0), np.zeros(0)
        first, second, owner = edges.straightened(
            lambda points: frame.locate(site, *(points - [turn, 0.0]).T), STRAY_M)
        edge, ray, dist = _rays_through(first, second, azimuth_deg)
        near = (dist <= reach_m) & (dist >= LEAST_M)
        return ray[near], dist[near], self.barriers.height_m[owner[edge[near]]]

    def raise_best(self, best: Best, site: int, azimuth_deg, reach_m: float, slope: Callable, ground: Callable) -> None:
        """Raise the skyline to the tops of barriers: both where a ray enters one and where it leaves.

        Parameters
        ----------
        best : Best
        site : int
        azimuth_deg : ndarray, shape (rays,)
        reach_m : float
        slope : callable
            Turns heights and distances into slopes.
        ground : callable
            Gives the ground [m] at rays and distances, NaN where it is not known.
        """
        ray, dist, height = self.crossings(site, azimuth_deg, reach_m)
        if len(ray):
            base = ground(ray, dist)
            best.raise_to(ray, slope(np.where(np.isnan(base), self.base_m(site), base) + height, dist), dist)


def _rays_through(first, second, azimuth_deg):
    """Find which rays pass through which edges, and how far out."""
    order = np.argsort(azimuth_deg % 360.0, kind="stable")
    asked = np.radians((azimuth_deg % 360.0)[order])
    asked = np.concatenate([asked - 2.0 * np.pi, asked, asked + 2.0 * np.pi])
    at1 = np.arctan2(first[:, 0], first[:, 1])
    sweep = (np.arctan2(second[:, 0], second[:, 1]) - at1 + np.pi) % (2.0 * np.pi) - np.pi
    low = np.searchsorted(asked, np.minimum(at1, at1 + sweep), side="left")
    high = np.searchsorted(asked, np.maximum(at1, at1 + sweep), side="right")
    number = high - low
    edge = np.repeat(np.arange(len(first)), number)
    inner = np.arange(number.sum()) - np.repeat(np.cumsum(number) - number, number)
    place = low[edge] + inner
    ray = order[place % len(order)]
    p, d = first[edge], (second - first)[edge]
    sine, cosine = np.sin(asked[place]), np.cos(asked[place])
    with np.errstate(invalid="ignore", divide="ignore"):
        dist = (p[:, 0] * d[:, 1] - p[:, 1] * d[:, 0]) / (sine * d[:, 1] - cosine * d[:, 0])
    # an edge along the ray has no single crossing: its nearer end
    nearer = np.minimum(np.hypot(*first.T), np.hypot(*second.T))[edge]
    farther = np.maximum(np.hypot(*first.T), np.hypot(*second.T))[edge]
    return edge, ray, np.clip(np.where(np.isfinite(dist), dist, nearer), 0.0, farther)
