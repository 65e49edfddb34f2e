"""A place's clock and its skyline."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt
import tzfpy

from core.words import MINUS

FloatArray = npt.NDArray[np.float64]

_EPOCH = dt.datetime(1970, 1, 1, tzinfo=dt.UTC)


def time_zone_at(latitude_deg: float, longitude_deg: float) -> str:
    """Return the name of the time zone at a place, looked up offline.

    Parameters
    ----------
    latitude_deg : float
        WGS 84 latitude, -90 to 90, north positive.
    longitude_deg : float
        WGS 84 longitude, -180 to 180, east positive.

    Returns
    -------
    str
        A name of the IANA time zone database that this computer knows; the
        nautical zone of the longitude (`Etc/GMT+3` is three hours behind UTC)
        where the map has no name.
    """
    name = tzfpy.get_tz(longitude_deg, latitude_deg)
    return name if known_time_zone(name) else _nautical_zone(longitude_deg)


def _nautical_zone(longitude_deg: float) -> str:
    # The signs of the Etc zones are turned round: west of Greenwich is plus.
    hours = round(longitude_deg / 15.0)
    return "Etc/GMT" if hours == 0 else f"Etc/GMT{-hours:+d}"


def known_time_zone(name: str) -> bool:
    """Say whether a name is a time zone of the IANA database on this computer."""
    try:
        ZoneInfo(name)
    except (ValueError, OSError, KeyError):
        # Not found, a path outside the database, or one of its folders.
        return False
    return True


def local_time(time_s: float, time_zone: str) -> dt.datetime:
    """Return the aware local time of an instant.

    Parameters
    ----------
    time_s : float
        UTC seconds since 1970-01-01, of any sign.
    time_zone : str
        Name of a time zone of the IANA database.
    """
    return (_EPOCH + dt.timedelta(seconds=float(time_s))).astimezone(ZoneInfo(time_zone))


def utc_s(moment: dt.datetime) -> float:
    """Return the UTC seconds since 1970-01-01 of an aware datetime."""
    return (moment - _EPOCH).total_seconds()


def utc_text(time_s: float) -> str:
    """Write an instant as ISO 8601 in UTC, to the millisecond: '2026-10-17T17:46:20.000Z'."""
    moment = _EPOCH + dt.timedelta(seconds=round(float(time_s), 3))
    return moment.replace(tzinfo=None).isoformat(timespec="milliseconds") + "Z"


def offset_text(time_zone: str, time_s: float) -> str:
    """Return a zone's name and distance from UTC at an instant: 'CEST, UTC+2'.

    Parameters
    ----------
    time_zone : str
        Name of a time zone of the IANA database.
    time_s : float
        UTC seconds since 1970-01-01: the offset changes with the season.

    Returns
    -------
    str
        Abbreviation and offset in hours, with minutes and seconds where the
        zone has them: 'IST, UTC+5:30'. Only the offset for a zone without an
        abbreviation: 'UTC−3'.
    """
    moment = local_time(time_s, time_zone)
    offset = "UTC" + _signed_hours(moment.utcoffset() or dt.timedelta())
    abbreviation = moment.tzname() or ""
    named = abbreviation.isalpha() and abbreviation != "UTC"
    return f"{abbreviation}, {offset}" if named else offset


def _signed_hours(offset: dt.timedelta) -> str:
    seconds = round(offset.total_seconds())
    minutes, rest_s = divmod(abs(seconds), 60)
    text = f"{MINUS if seconds < 0 else '+'}{minutes // 60}"
    if minutes % 60 or rest_s:
        text += f":{minutes % 60:02d}"
    return text + (f":{rest_s:02d}" if rest_s else "")


def skyline_altitude_deg(
    skyline: Sequence[tuple[float, float]], azimuth_deg: npt.ArrayLike
) -> FloatArray:
    """Return the altitude of the skyline in the given directions.

    Parameters
    ----------
    skyline : sequence of (azimuth_deg, altitude_deg)
        What stands above the flat horizon, azimuth 0 to 360 in any order.
        Straight lines run between neighbours, and from the last through north
        to the first. Two altitudes at one azimuth make a vertical edge, in the
        order given.
    azimuth_deg : array_like
        Any shape, any number of turns, clockwise from north.

    Returns
    -------
    ndarray
        Altitude in degrees, same shape; 0 everywhere for an empty skyline.
    """
    asked_deg = np.mod(np.asarray(azimuth_deg, dtype=np.float64), 360.0)
    if not skyline:
        return np.zeros_like(asked_deg)
    corners = sorted(skyline, key=lambda pair: pair[0])
    azimuths, altitudes = np.array(corners, dtype=np.float64).T
    round_deg = np.concatenate(([azimuths[-1] - 360.0], azimuths, [azimuths[0] + 360.0]))
    round_alt = np.concatenate((altitudes[-1:], altitudes, altitudes[:1]))
    return np.asarray(np.interp(asked_deg, round_deg, round_alt), dtype=np.float64)
