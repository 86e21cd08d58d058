"""The published nominal constellations, on circular orbits.

The geometry of the passes is right; clock times are indicative, because real
satellites leave their slots and because for some systems the publication gives
no node or phase (then ours is a convention).

References
----------
1. GPS: Global Positioning System Standard Positioning Service Performance Standard, October 2001, table 3-1; the
   expandable slots B1, D2 and F2 of its later editions, two satellites in place of one, from memory.
2. Galileo: nominal slots of the 24/3/1 constellation at 2016-11-21, as other software cites the European GNSS
   Service Centre.
3. GLONASS: three planes of eight, inclination, draconic period and spacing as in the GLONASS interface control
   document, as other software cites it.
4. BeiDou: BeiDou Navigation Satellite System open service documents, as other software cites them; the pattern
   24/3/1 from memory.
"""
from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from ..arrays import Array
from .clock import EARTH_RATE, read_date, sidereal_angle
from .orbits import Orbits

GM = 3.986005e14
"""Gravitational parameter of the Earth as IS-GPS-200 sets it [m³/s²]."""


class Slots(NamedTuple):
    """Circular orbits of one system; arrays of shape (satellites,).

    Attributes
    ----------
    system : str
    names : list of str
    epoch_s : float
        UTC [s].
    motion : ndarray
        Mean motion, from node to node [rad/s].
    inclination, node, argument : ndarray
        Inclination, right ascension of the node and argument of latitude at the epoch [rad].
    node_rate : float
        [rad/s]
    """

    system: str
    names: list[str]
    epoch_s: float
    motion: Array
    inclination: Array
    node: Array
    argument: Array
    node_rate: float = 0.0

    @property
    def axis_m(self) -> Array:
        """Radius by Kepler's third law [m]."""
        axis: Array = np.cbrt(GM / self.motion**2)
        return axis

    @property
    def per_sidereal_day(self) -> Array:
        """Revolutions in one turn of the Earth."""
        return self.motion / EARTH_RATE


def _motion(axis_m: float) -> float:
    return float(np.sqrt(GM / axis_m**3))


# twelve parameters: the figures of a published pattern, one by one, so that a row below reads as the reference does
def _walker(system: str, letter: str, epoch: str, motion: float, inclination: float, planes: int,  # noqa: PLR0913
            each: int, node: float, argument: float, plane_step: float, slot_step: float,
            node_rate: float = 0.0) -> Slots:
    """Fill planes evenly; angles in degrees."""
    plane, slot = (part.ravel() for part in np.meshgrid(np.arange(planes), np.arange(each), indexing="ij"))
    return Slots(
        system, [f"{letter}{p + 1}-{s + 1}" for p, s in zip(plane, slot)], read_date(epoch),
        np.full(plane.size, motion), np.full(plane.size, np.radians(inclination)),
        np.radians(node + plane * 360.0 / planes), np.radians(argument + plane * plane_step + slot * slot_step),
        np.radians(node_rate) / 86_400.0)


# Reference 1: right ascension of each plane, then argument of latitude by slot [°]; the expandable slots B1, D2 and F2
# hold two satellites each, forward and aft (from memory; the rest was read)
_GPS = {
    "A": (272.847, {"1": 268.126, "2": 161.786, "3": 11.676, "4": 41.806}),
    "B": (332.847, {"1F": 94.916, "1A": 66.356, "2": 173.336, "3": 309.976, "4": 204.376}),
    "C": (32.847, {"1": 111.876, "2": 11.796, "3": 339.666, "4": 241.556}),
    "D": (92.847, {"1": 135.226, "2F": 282.676, "2A": 257.976, "3": 35.156, "4": 167.356}),
    "E": (152.847, {"1": 197.046, "2": 302.596, "3": 66.066, "4": 333.686}),
    "F": (212.847, {"1": 238.886, "2F": 0.456, "2A": 334.016, "3": 105.206, "4": 135.346})}


def _gps() -> Slots:
    slots = [(f"{plane}{slot}", node, argument) for plane, (node, held) in _GPS.items()
             for slot, argument in held.items()]
    names, node, argument = zip(*slots)
    return Slots("GPS", list(names), read_date("1993-07-01"), np.full(len(slots), _motion(26_559.7e3)),
                 np.full(len(slots), np.radians(55.0)), np.radians(node), np.radians(argument))


def _galileo() -> Slots:
    return _walker("Galileo", "Galileo ", "2016-11-21", _motion(29_599.8e3), 56.0, 3, 8, 317.632, 180.153, 15.0,
                   45.0, -0.02764398)


def _glonass() -> Slots:
    # no node is published with the pattern: 0° at the epoch is a convention of ours
    return _walker("GLONASS", "GLONASS ", "2020-01-01", 2.0 * np.pi / 40_544.0, 64.8, 3, 8, 0.0, 0.0, 15.0, 45.0)


def _beidou_meo() -> Slots:
    # no node is published with the pattern: 0° at the epoch is a convention of ours
    return _walker("BeiDou", "BeiDou M", "2020-01-01", _motion(27_906e3), 55.1, 3, 8, 0.0, 0.0, 15.0, 45.0)


def _beidou_igso() -> Slots:
    """Three on one figure-of-eight over 118° E, a third of a day apart (from memory)."""
    epoch = read_date("2020-01-01")
    node = np.array([0.0, 120.0, 240.0])
    # at argument u = 0 a satellite crosses the equator northwards where its node stands over the Earth;
    # all three cross at 118° E, so u runs ahead by what the Earth turns until then
    argument = np.degrees(sidereal_angle(epoch)) + 118.0 - node
    return Slots("BeiDou", [f"BeiDou I{n + 1}" for n in range(3)], epoch, np.full(3, EARTH_RATE),
                 np.full(3, np.radians(55.0)), np.radians(node), np.radians(argument))


def nominal_slots(systems: Sequence[str]) -> list[Slots]:
    """Return the nominal orbits of some systems; geostationary satellites make no arcs and are left out."""
    made = {"GPS": (_gps,), "GLONASS": (_glonass,), "Galileo": (_galileo,), "BeiDou": (_beidou_meo, _beidou_igso)}
    return [make() for system in systems for make in made.get(system, ())]


class NominalOrbits(Orbits):
    """Satellites of the nominal constellations.

    Parameters
    ----------
    systems : sequence of str
        Out of GPS, GLONASS, Galileo, BeiDou.
    """

    is_nominal = True

    def __init__(self, systems: Sequence[str]):
        self.slots = nominal_slots(systems)
        super().__init__([name for slots in self.slots for name in slots.names],
                         [slots.system for slots in self.slots for _ in slots.names], "nominal constellations")
        self._each = [(slots, i) for slots in self.slots for i in range(len(slots.names))]

    def one_position_m(self, index: int, utc_s: Array) -> Array:
        slots, i = self._each[index]
        elapsed = np.asarray(utc_s, float) - slots.epoch_s
        argument = slots.argument[i] + slots.motion[i] * elapsed
        longitude = slots.node[i] + slots.node_rate * elapsed - sidereal_angle(utc_s)
        along, across = np.cos(argument), np.sin(argument)
        x = np.cos(longitude) * along - np.sin(longitude) * across * np.cos(slots.inclination[i])
        y = np.sin(longitude) * along + np.cos(longitude) * across * np.cos(slots.inclination[i])
        position: Array = slots.axis_m[i] * np.stack([x, y, across * np.sin(slots.inclination[i])], axis=-1)
        return position
