"""Lines digitised in pieces, joined end to end to chains and rings."""
from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

WIDE = 10.0
"""Gaps up to so many times the tolerance are bridged too, but named."""
LEAST_SHARE = 0.2
"""Widest gap that is bridged, and widest opening of a line that is taken for a ring, as a share of its length."""


class Piece(NamedTuple):
    """A line as it was drawn: vertices [m], shape (n, 2), n ≥ 2, and the id of its feature."""

    xy: np.ndarray
    feature: int


@dataclass
class Chain:
    """Pieces joined end to end.

    Attributes
    ----------
    xy : ndarray, shape (n, 2)
        Vertices [m]; of a ring the first stands at the end again.
    owner : ndarray of int, shape (n - 1,)
        Feature of each step.
    is_ring : bool
    is_turned : bool
        Whether its direction was turned about.
    """

    xy: np.ndarray
    owner: np.ndarray
    is_ring: bool
    is_turned: bool = False

    def turned(self) -> Chain:
        """Return the chain the other way round."""
        return Chain(self.xy[::-1].copy(), self.owner[::-1].copy(), self.is_ring, not self.is_turned)

    @property
    def features(self) -> list[int]:
        """Features it was joined of, in its order."""
        return [int(f) for f in dict.fromkeys(self.owner.tolist())]

    @property
    def area_m2(self) -> float:
        """Area of a ring on the plane, above 0 where it runs counter-clockwise."""
        return ring_area(self.xy)


class Gap(NamedTuple):
    """Two ends that do not quite meet: where [m], how far apart [m], and their features."""

    xy: np.ndarray
    width_m: float
    features: tuple[int, int]


class Joined(NamedTuple):
    """What joining gave.

    `gaps` were wider than the tolerance and bridged; `loose` rings seem to lack a piece and stay open; `opposed`
    are ends that meet although their lines run against each other.
    """

    chains: list[Chain]
    gaps: list[Gap]
    loose: list[Gap]
    opposed: list[Gap]


def ring_area(xy: np.ndarray) -> float:
    """Return the area of a closed ring [m²], above 0 where it runs counter-clockwise."""
    base = xy - xy[0]
    return float(np.sum(base[:-1, 0] * base[1:, 1] - base[1:, 0] * base[:-1, 1]) / 2.0)


def join(pieces: list[Piece], snap_m: float, may_turn: bool) -> Joined:
    """Join pieces whose ends meet, the nearest first.

    Parameters
    ----------
    pieces : list of Piece
    snap_m : float
        Ends so near each other are one; up to `WIDE` times as far they are
        bridged by a straight step and told.
    may_turn : bool
        Whether the direction of a line means nothing. Otherwise an end is only
        joined to a beginning.

    Returns
    -------
    Joined
    """
    ends = _Ends.of(pieces, may_turn)
    pairs = sorted(_near_pairs(ends.xy, max(snap_m * WIDE, 1e-6)))
    close = [pair for pair in pairs if pair[0] <= snap_m]
    link, opposed = _link_what_meets(ends, close)
    # only ends that meet nothing are bridged, and never over as much as the lines are long
    met = {k for _dist, a, b in close for k in (a, b) if a // 2 != b // 2}
    gaps = _bridge(ends, pairs[len(close):], link, met)
    chains = _walk(pieces, link, snap_m)
    return Joined(chains, gaps, _loose_rings(chains), opposed)


class _Ends(NamedTuple):
    """The ends of all pieces: number 2i is the beginning of piece i, 2i + 1 its end."""

    xy: np.ndarray
    pieces: list[Piece]
    length_m: list[float]
    may_turn: bool

    @classmethod
    def of(cls, pieces: list[Piece], may_turn: bool) -> _Ends:
        return cls(np.array([piece.xy[k] for piece in pieces for k in (0, -1)]), pieces,
                   [float(np.hypot(*np.diff(piece.xy, axis=0).T).sum()) for piece in pieces], may_turn)

    def fit(self, a: int, b: int, dist: float) -> bool:
        """Tell whether two ends may be joined."""
        if a // 2 == b // 2:
            # a short line is no ring only because its ends are near each other
            return len(self.pieces[a // 2].xy) > 3 and dist <= LEAST_SHARE * self.length_m[a // 2]
        return self.may_turn or a % 2 != b % 2

    def are_near(self, a: int, b: int, dist: float) -> bool:
        """Tell whether two ends are near each other for the length of their lines."""
        return dist <= LEAST_SHARE * min(self.length_m[a // 2], self.length_m[b // 2])

    def gap(self, a: int, b: int) -> Gap:
        """Describe what lies between two ends."""
        return Gap((self.xy[a] + self.xy[b]) / 2.0, float(np.hypot(*(self.xy[a] - self.xy[b]))),
                   (self.pieces[a // 2].feature, self.pieces[b // 2].feature))


def _link_what_meets(ends, close):
    """Join ends that are one, the nearest first: who is joined to whom, and the ends that run against each other."""
    link: dict[int, int] = {}
    for dist, a, b in close:
        if a not in link and b not in link and ends.fit(a, b, dist):
            link[a], link[b] = b, a
    opposed = [ends.gap(a, b) for _dist, a, b in close if a not in link and b not in link and a // 2 != b // 2]
    return link, opposed


def _bridge(ends, pairs, link, met):
    """Join what does not quite meet, in place of `link`; return the gaps."""
    taken, gaps = {*link, *met}, []
    for dist, a, b in pairs:
        if a not in taken and b not in taken and ends.are_near(a, b, dist) and ends.fit(a, b, dist):
            link[a], link[b] = b, a
            taken.update((a, b))
            gaps.append(ends.gap(a, b))
    return gaps


def _loose_rings(chains):
    """List open chains whose ends lie so near each other that a piece of a ring seems to be missing."""
    loose = []
    for chain in chains:
        if not chain.is_ring:
            width = float(np.hypot(*(chain.xy[-1] - chain.xy[0])))
            if width < 0.05 * np.hypot(*np.diff(chain.xy, axis=0).T).sum():
                loose.append(Gap(chain.xy[-1], width, (chain.features[0], chain.features[-1])))
    return loose


def _near_pairs(ends, reach):
    """List pairs of ends no farther apart than a reach: (distance, one, other)."""
    order = np.argsort(ends[:, 0], kind="stable")
    x = ends[order, 0]
    last = np.searchsorted(x, x + reach, side="right")
    pairs = []
    for k, first in enumerate(order.tolist()):
        others = order[k + 1:last[k]]
        dist = np.hypot(*(ends[others] - ends[first]).T)
        pairs += [(float(d), *sorted((first, int(o)))) for d, o in zip(dist, others) if d <= reach]
    return pairs


def _walk(pieces, link, snap_m):
    """Follow the links from end to end."""
    chains, used = [], np.zeros(len(pieces), bool)
    free = [k for k in range(2 * len(pieces)) if k not in link]
    # open chains from their first ends on, in the direction of drawing where they can; what is left are rings
    for start in [*sorted(free, key=lambda k: k % 2), *range(0, 2 * len(pieces), 2)]:
        if used[start // 2]:
            continue
        parts, owner, at = [], [], start
        while True:
            piece = pieces[at // 2]
            used[at // 2] = True
            xy = piece.xy if at % 2 == 0 else piece.xy[::-1]
            if parts:
                is_gap = np.hypot(*(xy[0] - parts[-1][-1])) > snap_m
                owner.append(np.full(len(xy) - 1 + is_gap, piece.feature))
                xy = xy if is_gap else xy[1:]
            else:
                owner.append(np.full(len(xy) - 1, piece.feature))
            parts.append(xy)
            after = link.get(at ^ 1)
            if after is None or used[after // 2]:
                break
            at = after
        chains.append(_chain(np.concatenate(parts), np.concatenate(owner), link.get(at ^ 1) == start, snap_m))
    return chains


def _chain(xy, owner, is_ring, snap_m):
    if is_ring:
        if np.hypot(*(xy[-1] - xy[0])) > snap_m:
            xy, owner = np.concatenate([xy, xy[:1]]), np.append(owner, owner[-1])
        else:
            xy = np.concatenate([xy[:-1], xy[:1]])
    keep = np.append(True, np.any(np.diff(xy, axis=0) != 0, axis=1))
    return Chain(xy[keep], owner[keep[1:]], is_ring)
