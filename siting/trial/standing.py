"""What stands around an antenna: flat pieces at their own heights, and water at its level between them.

A spot belongs to the highest piece there, or to the water where that stands higher. A
piece hides a spot from the antenna, or shades it from the satellite, where the line
from the spot passes below its top; because a line that rises is lowest where it enters
the piece, that one point decides.
"""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..arrays import Array, ArrayLike, Numbers
from .field import Worth
from .shapes import Cells, Disc, HalfPlane, Outside, Rectangle

LEAST_DEPTH_M = 0.3
"""Surfaces less than this below the antenna are left out: the antenna's own mount [m]."""
AT_M = 1e-6


class Material(NamedTuple):
    """What a surface is made of.

    Attributes
    ----------
    permittivity : complex
        ε' - jε''.
    rms_m : float
        Its roughness [m].
    """

    permittivity: complex
    rms_m: float


CONCRETE = Material(5.24 - 0.75j, 0.005)
"""Smooth concrete at 1.6 GHz (ITU-R P.2040, from memory); its roughness is a guess."""
GROUND = Material(14.3 - 1.5j, 0.05)
"""Medium ground (real part: ITU-R P.2040, table 3); its loss and roughness are guesses."""
METAL = Material(1.0 - 1e8j, 0.005)
"""A conductor: it turns one circular polarisation into the other."""


class Body(NamedTuple):
    """A flat piece of something that stands above the zero level.

    Attributes
    ----------
    name : str
    shape : HalfPlane, Rectangle, Disc, Outside or Cells
    top_m : float
        Its height over the zero level [m].
    material : Material
    share : float
        Share of the time that it is there.
    """

    name: str
    shape: HalfPlane | Rectangle | Disc | Outside | Cells
    top_m: float
    material: Material = CONCRETE
    share: float = 1.0


class Standing(NamedTuple):
    """What stands around an antenna at one moment.

    Attributes
    ----------
    antenna_m : float
        Height of the antenna over the zero level [m].
    pieces : tuple of Body
    """

    antenna_m: float
    pieces: tuple

    def blocked(self, east: Numbers, north: Numbers, height_m: Numbers, toward_east: Numbers, toward_north: Numbers,
                slope: Numbers, within_m: Numbers = np.inf) -> Array:
        """Tell from which spots a line is blocked.

        Parameters
        ----------
        east, north, height_m : array_like
            Where the lines begin [m].
        toward_east, toward_north : array_like
            Horizontal unit vectors along them.
        slope : array_like
            Rise over horizontal distance, >= 0.
        within_m : array_like
            Horizontal distance at which they end [m].

        Returns
        -------
        ndarray of bool
        """
        lost = np.zeros(np.broadcast_shapes(np.shape(east), np.shape(slope)), bool)
        for piece in self.pieces:
            if np.all(piece.top_m <= height_m + AT_M):
                continue
            enters, leaves = piece.shape.interval(east, north, toward_east, toward_north)
            enters = np.maximum(enters, 0.0)
            lost |= ((enters < leaves) & (enters < within_m)
                     & (height_m + AT_M + np.where(enters < np.inf, enters, 0.0) * slope < piece.top_m))
        return lost

    def is_clear(self, azimuth_deg: ArrayLike, elevation_deg: ArrayLike) -> Array:
        """Tell in which directions the antenna sees the satellite."""
        azimuth = np.radians(np.asarray(azimuth_deg, float))
        return ~self.blocked(np.zeros(azimuth.shape), np.zeros(azimuth.shape), self.antenna_m, np.sin(azimuth),
                             np.cos(azimuth), np.tan(np.radians(elevation_deg)))

    def worth_of(self, piece: Body | None, level_m: float) -> Worth:
        """Return what the spots of one surface are worth: 1 where it lies open, is seen and lit.

        Parameters
        ----------
        piece : Body or None
            None for the water.
        level_m : float
            Level of the water over the zero level [m].

        Returns
        -------
        callable
            See `siting.trial.field.Worth`.
        """
        height = level_m if piece is None else piece.top_m
        higher = [piece for piece in self.pieces if piece.top_m > height + AT_M]

        def worth(east, north, azimuth_deg, slope):
            is_open = np.ones(east.shape, bool) if piece is None else piece.shape.contains(east, north)
            for one in higher:
                is_open &= ~one.shape.contains(east, north)
            if higher and is_open.any():
                azimuth = np.radians(azimuth_deg)
                is_open &= ~self.blocked(east, north, height, np.sin(azimuth), np.cos(azimuth), slope)
                distance = np.maximum(np.hypot(east, north), 1e-9)
                is_open &= ~self.blocked(east, north, height, -east / distance, -north / distance,
                                         (self.antenna_m - height) / distance, distance)
            return is_open.astype(float)

        return worth

    def surfaces(self, level_m: float) -> list:
        """List the surfaces that can reflect to the antenna at a level; None is the water."""
        highest = self.antenna_m - LEAST_DEPTH_M
        water = [None] if level_m < highest else []
        return [*water, *(piece for piece in self.pieces if level_m + AT_M < piece.top_m < highest)]
