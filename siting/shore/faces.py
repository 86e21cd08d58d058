"""Faces between shorelines: which are water, told by the shore on their rims."""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from .chains import Chain, ring_area
from .segments import Segments

TANGENT_SHARE = 0.05
"""Part of the reach over which the direction of an open end is taken."""


class Rim(NamedTuple):
    """Shore on the rim of a face, by the side that the face lies on.

    Lengths are on the plane [m]; `real` is False where only continuations of shores tell. `water_at` and `land_at`
    are a place on the longest step of each, None where there is none.
    """

    water_m: float
    land_m: float
    real: bool
    water_at: np.ndarray | None
    land_at: np.ndarray | None


def insert(chain: Chain, step: int, xy) -> None:
    """Put a vertex into a step of a chain, unless it is one of its ends."""
    if np.array_equal(chain.xy[step], xy) or np.array_equal(chain.xy[step + 1], xy):
        return
    chain.xy = np.insert(chain.xy, step + 1, xy, axis=0)
    chain.owner = np.insert(chain.owner, step, chain.owner[step])


def outward(chain: Chain, end: int, reach_m: float) -> np.ndarray:
    """Return the unit vector in which an open end (0 or -1) points, taken over a small part of the reach."""
    xy = chain.xy if end == -1 else chain.xy[::-1]
    length = np.hypot(*np.diff(xy, axis=0).T)[::-1]
    back = np.searchsorted(np.cumsum(length), min(TANGENT_SHARE * reach_m, length.sum() / 2.0))
    ahead = xy[-1] - xy[-2 - min(int(back), len(xy) - 2)]
    return ahead / max(float(np.hypot(*ahead)), 1e-12)


class ShoreNet:
    """Shores with the water to their left, and straight lines that carry them on beyond their open ends.

    Parameters
    ----------
    chains : list of Chain
        Vertices are put into them where others meet them.
    """

    def __init__(self, chains: list[Chain]):
        self.chains = chains
        self.continuations: list[np.ndarray] = []
        self._lines = [Segments.of_lines([chain.xy]) for chain in chains]

    def fasten(self, snap_m: float) -> set[tuple[int, int]]:
        """Fasten open ends to the shores that they end on.

        Returns
        -------
        set of (int, int)
            Chain and end (0 or -1) of those fastened.
        """
        fastened = set()
        for number, chain in enumerate(self.chains):
            for end in (() if chain.is_ring else (0, -1)):
                tip = chain.xy[end]
                for other in range(len(self.chains)):
                    dist, step, _place = self._lines[other].distance(tip)
                    if other != number and dist <= snap_m:
                        self._put(other, step, tip)
                        fastened.add((number, end))
                        break
        return fastened

    def carry_on(self, number: int, end: int, direction: np.ndarray, dist_m: float) -> None:
        """Draw a shore on beyond its open end, straight, up to what lies in the way.

        Parameters
        ----------
        number, end : int
            Chain, and 0 or -1.
        direction : ndarray, shape (2,)
            Unit vector.
        dist_m : float
            How far.
        """
        tip = self.chains[number].xy[end]
        goal = tip + dist_m * direction
        nearest, other, step = 1.0, None, -1
        for line, segments in enumerate(self._lines):
            index, share = segments.hits(tip, goal)
            ahead = share * dist_m > 1e-6
            if np.any(ahead) and share[ahead][0] < nearest:
                nearest, other, step = float(share[ahead][0]), line, int(index[ahead][0])
        place = tip + nearest * (goal - tip)
        if other is not None:
            segments = self._lines[other]
            # the very vertex where one is met, else the place becomes one
            near = [v for v in (segments.start[step], segments.end[step]) if np.hypot(*(v - place)) < 1e-6]
            place = near[0] if near else place
            self._put(other, step, place)
        line = np.stack([tip, place])
        self.continuations.append(line if end == -1 else line[::-1])
        self._lines.append(Segments.of_lines([self.continuations[-1]]))

    def _put(self, line: int, step: int, xy) -> None:
        if line < len(self.chains):
            insert(self.chains[line], step, xy)
            self._lines[line] = Segments.of_lines([self.chains[line].xy])
            return
        mine = self.continuations[line - len(self.chains)]
        if not (np.array_equal(mine[step], xy) or np.array_equal(mine[step + 1], xy)):
            self.continuations[line - len(self.chains)] = np.insert(mine, step + 1, xy, axis=0)
            self._lines[line] = Segments.of_lines([self.continuations[line - len(self.chains)]])


class ShoreSides:
    """Directed steps of shores with the water to their left, looked up by their ends.

    Parameters
    ----------
    net : ShoreNet
    """

    def __init__(self, net: ShoreNet):
        self._steps: dict[tuple, bool] = {}
        for lines, real in ((net.continuations, False), ([chain.xy for chain in net.chains], True)):
            for xy in lines:
                rows = np.concatenate([xy[:-1], xy[1:]], axis=1).tolist()
                self._steps.update(dict.fromkeys(map(tuple, rows), real))

    def rim(self, rings: list[np.ndarray]) -> Rim:
        """Sum up the shore on the rim of a face.

        Parameters
        ----------
        rings : list of ndarray
            Closed rings, the outer one first, in any winding.
        """
        sums = {True: np.zeros(2), False: np.zeros(2)}
        longest, at = [0.0, 0.0], [None, None]
        for number, ring in enumerate(rings):
            # the face to the left of each step: outer rings counter-clockwise, holes clockwise
            xy = ring[::-1] if (ring_area(ring) > 0) == bool(number) else ring
            rows = np.concatenate([xy[:-1], xy[1:]], axis=1)
            length = np.hypot(rows[:, 2] - rows[:, 0], rows[:, 3] - rows[:, 1])
            for row, metres in zip(rows.tolist(), length.tolist()):
                for side, key in enumerate((tuple(row), (row[2], row[3], row[0], row[1]))):
                    real = self._steps.get(key)
                    if real is None:
                        continue
                    sums[real][side] += metres
                    if real and metres > longest[side]:
                        longest[side], at[side] = metres, np.array([row[0] + row[2], row[1] + row[3]]) / 2.0
        real = bool(sums[True].any())
        return Rim(float(sums[real][0]), float(sums[real][1]), real, *at)
