"""Times against Python's own calendar, skyfield and published leap seconds."""
import numpy as np
import pytest
from skyfield.api import load
from stillwater.siting.errors import InputError
from stillwater.siting.sky.clock import (
    EARTH_RATE,
    SIDEREAL_DAY_S,
    gps_minus_utc_s,
    iso_text,
    read_date,
    sidereal_angle,
    utc_of_gps_s,
)


@pytest.mark.parametrize("text, utc", [
    ("2026-06-01T00:00:00", "2026-06-01T00:00:00Z"), ("2026-06-01", "2026-06-01T00:00:00Z"),
    ("2026-06-01T02:00:00+02:00", "2026-06-01T00:00:00Z"), ("2026-05-31T19:30:00-04:30", "2026-06-01T00:00:00Z"),
    ("2026-06-01T00:00:00Z", "2026-06-01T00:00:00Z"), ("2026-06-01 00:00:00.4", "2026-06-01T00:00:00Z")])
def test_dates_without_an_offset_are_utc_and_others_are_converted(text, utc):
    assert iso_text(read_date(text)) == utc


@pytest.mark.parametrize("text", ["", "1 June", "2026-13-01", None])
def test_what_is_no_date_is_refused_with_an_example(text):
    with pytest.raises(InputError, match="2026-06-01T00:00:00"):
        read_date(text)


def test_the_time_zone_of_the_machine_does_not_enter(monkeypatch):
    import time
    monkeypatch.setenv("TZ", "Pacific/Kiritimati")
    time.tzset()
    try:
        assert read_date("2026-06-01T00:00:00") == 1_780_272_000.0
        assert iso_text(1_780_272_000.0) == "2026-06-01T00:00:00Z"
    finally:
        monkeypatch.undo()
        time.tzset()


@pytest.mark.parametrize("date", ["1993-07-01", "2018-03-01", "2026-06-01"])
def test_sidereal_time_agrees_with_skyfield(date):
    """To the second by which UT1, which skyfield knows, differs from UTC."""
    year, month, day = (int(part) for part in date.split("-"))
    theirs = load.timescale(builtin=True).utc(year, month, day, 0, np.arange(0, 1440, 7)).gmst * 15.0
    ours = np.degrees(sidereal_angle(read_date(date) + 60.0 * np.arange(0, 1440, 7)))
    assert np.abs((ours - theirs + 180) % 360 - 180).max() < 0.9 * 360 / SIDEREAL_DAY_S


def test_the_sidereal_day_is_one_turn():
    assert pytest.approx(2 * np.pi, rel=1e-7) == EARTH_RATE * SIDEREAL_DAY_S


# IERS Bulletin C, as skyfield carries it
@pytest.mark.parametrize("date", ["1982-01-01", "1999-06-01", "2005-12-31", "2012-06-30", "2016-12-31", "2026-06-01"])
def test_leap_seconds_agree_with_skyfield(date):
    year, month, day = (int(part) for part in date.split("-"))
    time = load.timescale(builtin=True).utc(year, month, day)
    tai_minus_utc = round((time.tai - (time.utc_datetime().timestamp() / 86_400 + 2_440_587.5)) * 86_400)
    assert gps_minus_utc_s(read_date(date)) == tai_minus_utc - 19
    assert utc_of_gps_s(read_date(date) + tai_minus_utc - 19) == read_date(date)
