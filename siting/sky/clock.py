"""Time: UTC in seconds, GPS time, and the turning of the Earth.

Times are UTC as seconds since 1970-01-01T00:00:00Z, days of 86 400 s (POSIX).
"""
from __future__ import annotations

import re
from datetime import datetime, timedelta, timezone

import numpy as np

from ..arrays import Array, ArrayLike
from ..errors import InputError

DAY_S = 86_400.0
SIDEREAL_DAY_S = 86_164.0905
"""Mean sidereal day [s]: 2π over `EARTH_RATE`, IERS Conventions 2010 and IS-GPS-200 (both from memory)."""
EARTH_RATE = 7.2921151467e-5
"""Rotation of the Earth [rad/s], WGS 84, IS-GPS-200 table 20-IV (from memory)."""
GPS_EPOCH_S = 315_964_800.0
"""1980-01-06T00:00:00Z, where GPS weeks begin."""

# Days from which one more second separates GPS time from UTC: IERS Bulletin C (from memory)
_LEAP_DAYS = (
    "1981-07-01", "1982-07-01", "1983-07-01", "1985-07-01", "1988-01-01", "1990-01-01", "1991-01-01",
    "1992-07-01", "1993-07-01", "1994-07-01", "1996-01-01", "1997-07-01", "1999-01-01", "2006-01-01",
    "2009-01-01", "2012-07-01", "2015-07-01", "2017-01-01")
_LEAPS_S = np.array([datetime.fromisoformat(day + "T00:00:00+00:00").timestamp() for day in _LEAP_DAYS])


def gps_minus_utc_s(utc_s: ArrayLike) -> Array:
    """Return the whole seconds by which GPS time is ahead of UTC, 18 since 2017."""
    return np.searchsorted(_LEAPS_S, np.asarray(utc_s, float), side="right").astype(float)


def utc_of_gps_s(gps_s: ArrayLike) -> Array:
    """Convert GPS time, written as if it were UTC seconds since 1970, to UTC."""
    gps_s = np.asarray(gps_s, float)
    return gps_s - gps_minus_utc_s(gps_s - gps_minus_utc_s(gps_s))


def read_date(text: str) -> float:
    """Read an ISO 8601 date and time; without an offset it is UTC.

    Parameters
    ----------
    text : str
        Such as ``2026-06-01T00:00:00``, with ``Z`` or an offset, or a date alone.

    Returns
    -------
    float
        UTC [s].

    Raises
    ------
    InputError
        If it is no date and time.

    Examples
    --------
    >>> read_date("1970-01-02T01:00:00+01:00")
    86400.0
    """
    text = (text or "").strip()
    # Python before 3.11 reads neither Z nor fractions of other lengths than 3 and 6
    plain = re.sub(r"[Zz]$", "+00:00", text)
    plain = re.sub(r"\.(\d+)", lambda m: "." + (m.group(1) + "000000")[:6], plain)
    try:
        moment = datetime.fromisoformat(plain)
    except ValueError:
        raise InputError(f"DATE “{text}” is no date and time. Write it as 2026-06-01T00:00:00, in UTC.") from None
    if moment.tzinfo is None:
        moment = moment.replace(tzinfo=timezone.utc)
    return moment.timestamp()


def iso_text(utc_s: float) -> str:
    """Write a time as ISO 8601 with Z, to the second.

    Examples
    --------
    >>> iso_text(86399.6)
    '1970-01-02T00:00:00Z'
    """
    moment = datetime(1970, 1, 1, tzinfo=timezone.utc) + timedelta(seconds=round(float(utc_s)))
    return moment.strftime("%Y-%m-%dT%H:%M:%SZ")


def sidereal_angle(utc_s: ArrayLike) -> Array:
    """Return Greenwich mean sidereal time [rad], with UT1 taken for UTC.

    Source: IAU 1982 (Aoki and others 1982, Astronomy and Astrophysics 105, 359-361; from memory). UT1 and UTC
    differ by less than 0.9 s, 0.004°.
    """
    days = (np.asarray(utc_s, float) - 946_728_000.0) / DAY_S  # from 2000-01-01T12:00:00Z
    century = days / 36_525.0
    seconds = 67_310.54841 + (876_600 * 3600 + 8_640_184.812866) * century + 0.093104 * century**2
    angle: Array = np.mod(np.radians(seconds / 240.0), 2.0 * np.pi)
    return angle
