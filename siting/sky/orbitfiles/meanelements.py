"""Satellites on mean elements, computed with SGP4.

References
----------
1. Vallado and others 2006, Revisiting Spacetrack Report #3, AIAA 2006-6753: SGP4, WGS 72 constants, and from TEME
   to the Earth-fixed frame by Greenwich mean sidereal time of 1982.
"""
from __future__ import annotations

import importlib
from collections.abc import Sequence
from types import ModuleType
from typing import Any, NamedTuple

import numpy as np

from ...arrays import Array
from ...errors import InputError, MissingPackageError
from ..clock import DAY_S, iso_text, read_date, sidereal_angle
from ..orbits import Orbits
from .selection import FoundOrbit

_MINUTES_IN_DAY = 1440.0
_SGP4_DAY_ZERO_S = read_date("1949-12-31")
_JULIAN_1970 = 2_440_587.5


class MeanElements(NamedTuple):
    """Mean elements of SGP4, in the frame TEME.

    Attributes
    ----------
    epoch_s : float
        UTC [s].
    revs_per_day : float
        Mean motion as Kozai defines it [revolutions in 86 400 s].
    eccentricity : float
    inclination_deg, node_deg, perigee_deg, anomaly_deg : float
        Inclination, right ascension of the ascending node, argument of perigee, mean anomaly [°].
    drag : float
        B* [1 / Earth radii].
    """

    epoch_s: float
    revs_per_day: float
    eccentricity: float
    inclination_deg: float
    node_deg: float
    perigee_deg: float
    anomaly_deg: float
    drag: float

    def what_is_wrong(self) -> str:
        """Say which element no satellite can have; empty if none."""
        if not 0.0 < self.revs_per_day < 20.0:
            return f"a mean motion of {self.revs_per_day:g} revolutions a day is no satellite's."
        if not 0.0 <= self.eccentricity < 1.0:
            return f"an eccentricity of {self.eccentricity:g} is not in 0 to 1."
        if not 0.0 <= self.inclination_deg <= 180.0:
            return f"an inclination of {self.inclination_deg:g}° is not in 0 to 180°."
        return ""


def sgp4_package() -> ModuleType:
    """Return the module `sgp4.api`.

    Raises
    ------
    MissingPackageError
    """
    return _package("sgp4.api", "sgp4")


def _package(module: str, name: str) -> ModuleType:
    try:
        return importlib.import_module(module)
    except ImportError:
        raise MissingPackageError(
            f"The Python package {name} is missing. It is needed only for two-line elements and OMM in ORBITS. Install "
            "it into the Python that QGIS uses: python -m pip install skyfield (which brings sgp4). Or give a YUMA or "
            "SEM almanac or an SP3 file, or leave ORBITS empty for the nominal constellations.") from None


class MeanElementOrbits(Orbits):
    """Satellites on mean elements.

    Parameters
    ----------
    chosen : sequence of FoundOrbit
        Their `data` are `MeanElements`.
    source : str

    Raises
    ------
    MissingPackageError
        If sgp4 or skyfield is not there.
    InputError
        If SGP4 refuses elements.
    """

    def __init__(self, chosen: Sequence[FoundOrbit], source: str):
        super().__init__([orbit.name for orbit in chosen], [orbit.system for orbit in chosen], source)
        api = sgp4_package()
        self._scale = _package("skyfield.api", "skyfield").load.timescale(builtin=True)
        self._errors = api.SGP4_ERRORS
        self._elements: list[MeanElements] = [orbit.data for orbit in chosen]
        self._models = [_model(api, orbit) for orbit in chosen]
        self._times: Array | None = None
        self._turned = np.empty(0)
        if not api.accelerated:
            self.notes.append("SGP4 runs in its slow pure-Python form: positions take some seconds a day of time. The "
                              "package sgp4 of the Python package index is compiled and quicker; results are the "
                              "same.")

    def _angle(self, utc_s: Array) -> Array:
        """Return Greenwich mean sidereal time [rad], kept for the satellites that follow."""
        if self._times is None or not np.array_equal(self._times, utc_s):
            days, seconds = np.divmod(utc_s, DAY_S)
            ut1_minus_utc = self._scale.utc(1970, 1, 1 + days, 0, 0, seconds).dut1
            self._times, self._turned = utc_s.copy(), sidereal_angle(utc_s + ut1_minus_utc)
        return self._turned

    def one_position_m(self, index: int, utc_s: Array) -> Array:
        utc_s = np.asarray(utc_s, float)
        if not utc_s.size:
            return np.empty((0, 3))
        days, seconds = np.divmod(utc_s, DAY_S)
        errors, teme_km, _ = self._models[index].sgp4_array(days + _JULIAN_1970, seconds / DAY_S)
        angle = self._angle(utc_s)
        x, y, z = (1000.0 * np.asarray(teme_km, float)).T
        fixed: Array = np.stack(
            [np.cos(angle) * x + np.sin(angle) * y, np.cos(angle) * y - np.sin(angle) * x, z], axis=-1)
        errors = np.asarray(errors)
        if errors.any():
            self._drop_failed(index, utc_s, errors, fixed)
        return fixed

    def _drop_failed(self, index: int, utc_s: Array, errors: Array, fixed: Array) -> None:
        """Set to NaN what lies beyond a failure, seen from the epoch of the elements, and note it."""
        after = utc_s >= self._elements[index].epoch_s
        failed = errors != 0
        lost = np.where(after, np.logical_or.accumulate(failed & after),
                        np.logical_or.accumulate((failed & ~after)[::-1])[::-1])
        fixed[lost | failed] = np.nan
        for side, word, pick in ((failed & after, "from", 0), (failed & ~after, "until", -1)):
            if side.any():
                at = np.flatnonzero(side)[pick]
                text = self._errors.get(int(errors[at]), f"error {int(errors[at])}")
                note = (f"{self.names[index]} has no position {word} {iso_text(utc_s[at])}: it decays, or its elements "
                        f"are wrong or too old (SGP4: {text}).")
                if note not in self.notes:
                    self.notes.append(note)


def _model(api: ModuleType, orbit: FoundOrbit) -> Any:
    """Make the SGP4 model of one satellite."""
    elements: MeanElements = orbit.data
    model = api.Satrec()
    try:
        model.sgp4init(
            api.WGS72, "i", 0, (elements.epoch_s - _SGP4_DAY_ZERO_S) / DAY_S, elements.drag, 0.0, 0.0,
            elements.eccentricity, np.radians(elements.perigee_deg), np.radians(elements.inclination_deg),
            np.radians(elements.anomaly_deg), elements.revs_per_day * 2.0 * np.pi / _MINUTES_IN_DAY,
            np.radians(elements.node_deg))
    except (ValueError, ArithmeticError, RuntimeError) as error:
        raise InputError(f"ORBITS: SGP4 refuses the elements of {orbit.name}: {error}. Get the file anew.") from None
    return model
