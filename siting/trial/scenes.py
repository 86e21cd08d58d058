"""Invented places to try a station at: from open piers to basins, cliffs, ships, waves and tides.

Each is a handful of flat pieces (quay, land, roof, ship) at their own heights in water,
so that the field can be simulated, and the same place can be handed to the prediction
as polygons (`siting.trial.predicted`). All are invented; their figures are of the
trade's usual size.
"""
from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from ..purposes import LAKE_LEVEL, SEA_LEVEL, Purpose
from ..reflection.roughness import wave_rms_m
from ..signals import CARRIER_MHZ, DEFAULT_SIGNAL, wavelength_m
from .observation import Tide
from .shapes import Disc, HalfPlane, Outside, Rectangle
from .standing import GROUND, METAL, Body, Material, Standing

QUAY_M = 2.5
"""Height of a quay over the water [m]."""
ALL_SYSTEMS = ("GPS", "GLONASS", "Galileo", "BeiDou")


@dataclass(frozen=True)
class Scene:
    """A place, with an antenna at its origin.

    Attributes
    ----------
    name : str
    antenna_m : float
        Height of the antenna over the zero level of the water [m].
    pieces : tuple of Body
        What stands in the water; elsewhere is water.
    low_m, high_m : float
        Ordinary lowest and highest level relative to the zero level [m].
    wave_m : float
        Significant wave height [m].
    interval_s : float
        What the receiver logs [s].
    systems : tuple of str
        Constellations.
    purpose : Purpose
        Of the sea or a lake.
    lon_deg, lat_deg : float
        WGS 84 [°].
    """

    name: str
    antenna_m: float
    pieces: tuple = ()
    low_m: float = 0.0
    high_m: float = 0.0
    wave_m: float = 0.0
    interval_s: float = 1.0
    systems: tuple = ALL_SYSTEMS
    purpose: Purpose = SEA_LEVEL
    lon_deg: float = 12.0
    lat_deg: float = 45.0

    @property
    def signal(self) -> str:
        """The signal looked at."""
        return DEFAULT_SIGNAL

    @property
    def wavelength_m(self) -> float:
        """Its wavelength [m]."""
        return wavelength_m(self.signal)

    @property
    def water(self) -> Material:
        """The water with its waves."""
        permittivity = complex(self.purpose.substance.permittivity(CARRIER_MHZ[self.signal] * 1e6))
        return Material(permittivity, float(wave_rms_m(self.wave_m)))

    @property
    def tide(self) -> Tide:
        """The tide between its levels."""
        return Tide(self.low_m, self.high_m)

    @property
    def crs(self) -> str:
        """A CRS in which the scene's local metres are map metres."""
        return f"+proj=aeqd +lat_0={self.lat_deg} +lon_0={self.lon_deg} +datum=WGS84 +units=m +no_defs"

    @property
    def fixed(self) -> tuple:
        """The pieces that are always there."""
        return tuple(piece for piece in self.pieces if piece.share >= 1.0)

    @property
    def passing(self) -> tuple:
        """The pieces that are there part of the time."""
        return tuple(piece for piece in self.pieces if piece.share < 1.0)

    def standing(self, present: tuple = ()) -> Standing:
        """Return what stands around while some of the passing pieces are there."""
        return Standing(self.antenna_m, self.fixed + present)


def pier(antenna_m: float, **options: Any) -> Scene:
    """Make an open pier: a small deck on piles, water all around."""
    deck = Body("the deck", Rectangle(0.0, 0.0, 0.0, 3.0, 3.0), min(antenna_m - 2.0, 3.0))
    return Scene(options.pop("name", f"open pier, {antenna_m:g} m"), antenna_m, (deck, *options.pop("pieces", ())),
                 **options)


def set_back(distance_m: float, facing_deg: float = 180.0, antenna_m: float = 8.0, **options: Any) -> Scene:
    """Make a straight quay with the antenna some metres behind its edge."""
    quay = Body("the quay", HalfPlane((facing_deg + 180.0) % 360.0, -distance_m), QUAY_M)
    return Scene(options.pop("name", f"set back {distance_m:g} m"), antenna_m, (quay, *options.pop("pieces", ())),
                 **options)


def basin(side_m: float, antenna_m: float = 5.0) -> Scene:
    """Make a square basin within a quay, with the antenna at the middle of one side."""
    hole = Rectangle(0.0, -(side_m / 2.0 + 0.5), 0.0, side_m, side_m)
    return Scene(f"basin of {side_m:g} m", antenna_m, (Body("the quay", Outside(hole), QUAY_M),))


def roof() -> Scene:
    """Make a corner of a flat roof at the waterfront."""
    house = Rectangle(-14.7, 9.7, 90.0, 30.0, 20.0)
    shore = HalfPlane(315.0, -5.0)
    return Scene("roof corner", 14.0, (Body("the roof", house, 12.0), Body("the land", shore, QUAY_M, GROUND)))


def cliffs() -> Scene:
    """Make a cove with cliffs all around, and a pier in its middle."""
    return pier(7.0, name="cliffs around", pieces=(
        Body("the cliffs", Outside(Disc(0.0, 0.0, 300.0)), 45.0, GROUND),))


def ships(share: float) -> Scene:
    """Make a quay with a berth in front, occupied part of the time."""
    ship = Body("a ship's deck", Rectangle(0.0, -14.0, 90.0, 90.0, 16.0), 4.0, METAL, share)
    return set_back(0.5, name=f"berth, occupied {100 * share:.0f} % of the time", pieces=(ship,))


def lake() -> Scene:
    """Make a lake's shore."""
    return Scene("lake", 5.0, (Body("the land", HalfPlane(0.0, -1.0), 1.0, GROUND),), purpose=LAKE_LEVEL)


def waves(wave_m: float, interval_s: float) -> Scene:
    """Make an open pier in waves."""
    return replace(pier(8.0), name=f"waves of {wave_m:g} m, logged at {interval_s:g} s", wave_m=wave_m,
                   interval_s=interval_s)


def scenes() -> list[Scene]:
    """List all of them."""
    return [
        *(pier(height) for height in (4.0, 7.0, 12.0, 20.0)),
        *(set_back(distance) for distance in (5.0, 15.0, 30.0, 60.0)),
        *(basin(side) for side in (40.0, 80.0, 150.0)),
        roof(), cliffs(), lake(),
        set_back(0.5, 0.0, name="north-facing, GPS alone", systems=("GPS",)),
        ships(0.05), ships(0.3),
        *(waves(height, interval) for height in (0.5, 1.0, 1.5) for interval in (1.0, 30.0)),
        replace(pier(12.0), name="open pier, 12 m, logged at 30 s", interval_s=30.0),
        replace(pier(7.0), name="open pier, 7 m, tide of ±2 m", low_m=-2.0, high_m=2.0),
    ]
