"""The sky of a run: every satellite at every moment once, shared by all sites.

Positions are computed once. What a region sees near the elevation angles looked
at is kept, and what a cell of 0.1° sees within it, as azimuth and sine of the
elevation angle with their slopes north and east: so each site costs two
multiplications a sample. The second-order rest is below 0.0002° where the
highest angle is at most `STEEP_DEG`; above it, and near the poles, every site
is its own cell.
"""
from __future__ import annotations

from collections import OrderedDict
from copy import copy
from typing import Callable, NamedTuple

import numpy as np

from ..errors import Cancelled, InputError
from .clock import DAY_S
from .directions import directions
from .orbits import Orbits, Progress

STEP_S = 30.0
"""Distance of the samples [s]: a satellite 20 000 km up moves 0.2° in it and bends off a straight line by 0.0002°."""
FINE_STEP_S = 5.0
"""The same where few degrees of elevation are looked at [s]."""
NARROW_DEG = 2.0
"""Range of elevation angles below which the samples stand at `FINE_STEP_S` [°]."""
MAX_SAMPLES = 6_000_000
"""Most positions held at a time, 144 MB: three weeks of four constellations, and a site's share within a second."""
STEEP_DEG = 60.0
POLAR_DEG = 85.0
REGION_DEG, CELL_DEG = 4.0, 0.1
SHIFT = 1.4
"""How much the elevation angle of a satellite 20 000 km up changes at most with the vertical's angle (1.32)."""
CELLS_HELD = 40


class View(NamedTuple):
    """What one site sees: samples of satellites near the elevation angles looked at, run after run.

    Attributes
    ----------
    satellite, moment : ndarray of int, shape (samples,)
        Index of the satellite, and of the moment.
    is_joined : ndarray of bool, shape (samples,)
        Whether the sample before is the same satellite one moment earlier.
    sine : ndarray, shape (samples,)
        Sine of the elevation angle.
    azimuth_deg : ndarray, shape (samples,)
        May run a little beyond 0 and 360.
    """

    satellite: np.ndarray
    moment: np.ndarray
    is_joined: np.ndarray
    sine: np.ndarray
    azimuth_deg: np.ndarray


class _Cell(NamedTuple):
    lon_deg: float
    lat_deg: float
    satellite: np.ndarray
    moment: np.ndarray
    is_joined: np.ndarray
    sine: np.ndarray        # (3, samples): value, slope per degree north, slope per degree of longitude
    azimuth_deg: np.ndarray

    def view(self, lon, lat) -> View:
        north, east = np.float32(lat - self.lat_deg), np.float32((lon - self.lon_deg + 180.0) % 360.0 - 180.0)
        if north == 0 and east == 0:
            return View(self.satellite, self.moment, self.is_joined, self.sine[0], self.azimuth_deg[0])
        sine, azimuth = (part[0] + north * part[1] + east * part[2] for part in (self.sine, self.azimuth_deg))
        return View(self.satellite, self.moment, self.is_joined, sine, azimuth)


class Sky:
    """Where the satellites stand, for all sites of a run.

    Parameters
    ----------
    orbits : Orbits
    start_s : float
        Start of the time looked at, UTC [s].
    days : int
        Its length.
    low_deg, high_deg : float
        Elevation angles looked at [°].
    margin_s : float
        Time before and after that is computed too [s].
    progress, is_cancelled : callable
        See `Orbits.positions_m`.

    Attributes
    ----------
    times_s : ndarray
        The moments, from `start_s` on [s]; negative in the margin.

    Raises
    ------
    InputError
        If the time is too long to hold.
    Cancelled
    """

    # eight parameters: what is looked at, and how the long computation is watched and stopped
    def __init__(self, orbits: Orbits, start_s: float, days: int, low_deg: float, high_deg: float,  # noqa: PLR0913
                 margin_s: float = 0.0, progress: Progress = lambda fraction, message: None,
                 is_cancelled: Callable[[], bool] = lambda: False):
        self.orbits, self.start_s, self.days = orbits, start_s, days
        self.low_deg, self.high_deg = low_deg, high_deg
        self.step_s = STEP_S if high_deg - low_deg >= NARROW_DEG else FINE_STEP_S
        before = int(np.ceil(margin_s / self.step_s))
        during = int(round(days * DAY_S / self.step_s))
        self.first, self.last = before, before + during
        number = during + 2 * before + 1
        if number * len(orbits.names) > MAX_SAMPLES:
            most = int((MAX_SAMPLES / len(orbits.names) - 1 - 2 * before) * self.step_s / DAY_S)
            raise InputError(f"DAYS is {days}; with {len(orbits.names)} satellites at most {most} days can be looked "
                             "at in one run. Choose fewer days or constellations.")
        self.times_s = (np.arange(number) - before) * self.step_s
        self._is_cancelled = is_cancelled
        self.positions_m = orbits.positions_m(start_s + self.times_s, progress, is_cancelled)
        self.forget()

    def with_caches_of_its_own(self) -> Sky:
        """Return the same sky for another thread: positions are shared, what was worked out from them is not."""
        other = copy(self)
        other.forget()
        return other

    def forget(self) -> None:
        """Forget what was worked out from the positions."""
        self._regions: OrderedDict = OrderedDict()
        self._cells: OrderedDict = OrderedDict()

    def view(self, lon_deg: float, lat_deg: float) -> View:
        """Return what a site sees; places in one cell share the work.

        Parameters
        ----------
        lon_deg, lat_deg : float
            WGS 84 [°]; the height above the ellipsoid is taken for 0, which at 1000 m errs by 0.003°.

        Returns
        -------
        View
        """
        if self.high_deg > STEEP_DEG or abs(lat_deg) > POLAR_DEG:
            key = (lon_deg, lat_deg)
        else:
            row = np.floor(lat_deg / CELL_DEG)
            lat = (row + 0.5) * CELL_DEG
            width = CELL_DEG / np.cos(np.radians(lat))
            key = (float((np.floor(lon_deg / width) + 0.5) * width), float(lat))
        cell = self._cells.get(key)
        if cell is None:
            cell = self._cells[key] = self._make_cell(*key, is_shared=key != (lon_deg, lat_deg))
            if len(self._cells) > CELLS_HELD:
                self._cells.popitem(last=False)
        else:
            self._cells.move_to_end(key)
        return cell.view(lon_deg, lat_deg)

    def _make_cell(self, lon, lat, is_shared):
        satellite, moment = self._region(lon, lat)
        at = self.positions_m[satellite, moment]
        azimuth, sine = directions(at, lon, lat)
        margin = SHIFT * CELL_DEG if is_shared else 0.0
        near = self._near(sine, margin)
        near = _widened(near, _joined(satellite, moment), 2)
        satellite, moment, at = satellite[near], moment[near], at[near]
        sines, azimuths = [sine[near]], [azimuth[near]]
        if is_shared:
            for east, north in ((0.0, 1.0), (1.0 / np.cos(np.radians(lat)), 0.0)):
                # central slopes over the cell, so that its edges err like its centre
                step = CELL_DEG / 2.0
                (az2, sine2), (az1, sine1) = (directions(at, lon + sign * step * east, lat + sign * step * north)
                                              for sign in (1, -1))
                length = 2.0 * step * (east or north)
                sines.append((sine2 - sine1) / length)
                azimuths.append(((az2 - az1 + 180.0) % 360.0 - 180.0) / length)
        return _Cell(lon, lat, satellite, moment, _joined(satellite, moment),
                     np.array(sines, np.float32), np.array(azimuths, np.float32))

    def _near(self, sine, margin):
        low, high = self.low_deg - margin, self.high_deg + margin
        near = sine >= np.sin(np.radians(max(low, -90.0)))
        if high < 90.0:
            near &= sine <= np.sin(np.radians(high))
        return near

    def _region(self, lon, lat):
        """Find the samples that places around may see; satellite and moment of each."""
        if abs(lat) > 80.0:
            centre, radius = (0.0, float(np.copysign(90.0, lat))), 10.0
        else:
            middle = float((np.floor(lat / REGION_DEG) + 0.5) * REGION_DEG)
            width = REGION_DEG / np.cos(np.radians(middle))
            centre, radius = (float((np.floor(lon / width) + 0.5) * width), middle), REGION_DEG
        found = self._regions.get(centre)
        if found is None:
            moments = []
            for one in self.positions_m:
                if self._is_cancelled():
                    raise Cancelled("stopped by the user")
                moments.append(np.flatnonzero(self._near(directions(one, *centre)[1], SHIFT * radius)))
            satellite = np.repeat(np.arange(len(moments)), [len(part) for part in moments])
            found = satellite.astype(np.int32), np.concatenate(moments).astype(np.int32)
            self._regions[centre] = found
            if len(self._regions) > 4:
                self._regions.popitem(last=False)
        return found


def _joined(satellite, moment):
    """Tell for each sample whether the one before is the same satellite one moment earlier."""
    joined = np.zeros(len(satellite), bool)
    joined[1:] = (satellite[1:] == satellite[:-1]) & (moment[1:] == moment[:-1] + 1)
    return joined


def _widened(near, joined, samples):
    """Add the neighbours of chosen samples, within the same run."""
    for _ in range(samples):
        wider = near.copy()
        wider[:-1] |= near[1:] & joined[1:]
        wider[1:] |= near[:-1] & joined[1:]
        near = wider
    return near
