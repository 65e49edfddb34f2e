"""One dusk or one dawn at a place: its event, its moments, its sun and moon."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass, field
from typing import Literal
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt

from core.dates import day_text, spelt_date
from core.edit import PlanError
from core.ephemeris import DAY_S, Track, transit_s
from core.events import Crossing, crossings
from core.language import say
from core.place import known_time_zone, local_time, utc_s
from core.plan import FIRST_DATE, LAST_DATE, Twilight
from core.words import clock_text, event_text

FloatArray = npt.NDArray[np.float64]
EventName = Literal["sunset", "sunrise", "midnight", "noon"]
MomentName = Literal[
    "sunset", "sunrise", "civil", "nautical", "astronomical", "moonrise", "moonset"
]

# Upper limb on the horizon: 34' of refraction and 16' of semidiameter below it,
# the rule of the US Naval Observatory's tables.
HORIZON_DEG = -50.0 / 60.0
# Geometric altitudes of the sun's centre that end civil, nautical and
# astronomical twilight, by definition.
_LEVELS: dict[float, MomentName] = {-6.0: "civil", -12.0: "nautical", -18.0: "astronomical"}
# The moon's semidiameter as a share of its horizontal parallax, and refraction at
# the horizon: it rises at a geocentric altitude of 0.7275 HP - 34' (Meeus 1998,
# chapter 15), which is 0.2725 HP + 34' below the horizon as seen from the place.
_MOON_RADIUS = 0.2725
_REFRACTION_DEG = 34.0 / 60.0
# How far beyond the window the tracks reach: a take may start 12 h from its event.
_MARGIN_S = 0.75 * DAY_S


@dataclass(frozen=True)
class Event:
    """The instant from which the starts of a take are counted, in UTC seconds."""

    name: EventName
    time_s: float


@dataclass(frozen=True)
class Moment:
    """A named instant of a night, in UTC seconds, and where the sun is then."""

    name: MomentName
    time_s: float
    sun_altitude_deg: float
    sun_azimuth_deg: float


@dataclass(frozen=True)
class Night:
    """One dusk or dawn at a place, from one solar noon to the next.

    `event` is the sunset or sunrise; where there is none, solar midnight (the
    sun stays up) or solar noon (it stays down) stands in and `reason` says so.
    `moments` are in time order. `start_s` and `end_s` are the two solar noons,
    `darkest_s` the solar midnight between them, in UTC seconds.
    """

    latitude_deg: float
    longitude_deg: float
    date: dt.date
    twilight: Twilight
    time_zone: str
    event: Event
    reason: str | None
    moments: tuple[Moment, ...]
    start_s: float
    darkest_s: float
    end_s: float
    moon_parallax_deg: float
    _track: Track = field(compare=False, repr=False)

    def sun(self, time_s: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Return the sun's geometric altitude and azimuth in degrees.

        `time_s` is UTC seconds, any shape. No refraction; azimuth 0 to 360,
        clockwise from north. Within 0.001 deg of astral 3.2, which is within
        0.0153 deg (altitude) and 0.013 deg (azimuth on the sky) of DE421.
        """
        return self._track.sun(np.asarray(time_s, dtype=np.float64))

    def moon(self, time_s: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Return the moon's topocentric altitude and azimuth in degrees.

        `time_s` is UTC seconds, any shape. No refraction. Within 0.05 deg of
        DE421.
        """
        return self._track.moon(np.asarray(time_s, dtype=np.float64))

    def moon_elongation_deg(self, time_s: npt.ArrayLike) -> FloatArray:
        """Return the angle between sun and moon, 0 (new) to 180 deg (full)."""
        return self._track.moon_elongation_deg(np.asarray(time_s, dtype=np.float64))

    def clock(self, time_s: float) -> dt.datetime:
        """Return the aware local time of an instant at the place."""
        return local_time(time_s, self.time_zone)


def night_of(
    latitude_deg: float, longitude_deg: float, time_zone: str, date: dt.date, twilight: Twilight
) -> Night:
    """Return the dusk or the dawn of a date at a place.

    Dusk of a date is the first sunset after that date's solar noon, dawn the
    last sunrise before it, even where it falls on another date of the calendar.

    Parameters
    ----------
    latitude_deg, longitude_deg : float
        WGS 84, north and east positive, -90 to 90 and -180 to 180.
    time_zone : str
        Name of a time zone of the IANA database.
    date : datetime.date
        1901-01-01 to 2099-12-31, the years that the low-precision formulas of
        sun and moon are stated for.
    twilight : {'dusk', 'dawn'}
        Which side of solar midnight.

    Raises
    ------
    PlanError
        With one sentence, when a value is outside its range.
    """
    _check(latitude_deg, longitude_deg, time_zone, date)
    noon_s = _noon_of(longitude_deg, time_zone, date)
    other_s = noon_s + (DAY_S if twilight == "dusk" else -DAY_S)
    start_s, end_s = sorted((noon_s, transit_s(other_s, longitude_deg)))
    darkest_s = transit_s(0.5 * (start_s + end_s), longitude_deg, 180.0)
    track = Track(latitude_deg, longitude_deg, start_s - _MARGIN_S, end_s + _MARGIN_S)
    moments = _moments(track, twilight, start_s, end_s)
    event = _event(track, moments, noon_s, darkest_s)
    return Night(
        latitude_deg=latitude_deg,
        longitude_deg=longitude_deg,
        date=date,
        twilight=twilight,
        time_zone=time_zone,
        event=event,
        reason=no_event_reason(event, date, twilight, time_zone),
        moments=moments,
        start_s=start_s,
        darkest_s=darkest_s,
        end_s=end_s,
        moon_parallax_deg=float(track.moon_parallax_deg(np.asarray(darkest_s))),
        _track=track,
    )


def _check(latitude_deg: float, longitude_deg: float, time_zone: str, date: dt.date) -> None:
    if not FIRST_DATE <= date <= LAST_DATE:
        raise PlanError(
            say(
                "The date {date} lies outside the years the sun is computed for; give a "
                "date from {first_date} to {last_date}.",
                date=spelt_date(date),
                first_date=spelt_date(FIRST_DATE),
                last_date=spelt_date(LAST_DATE),
            )
        )
    for name, value, limit in (
        (say("latitude"), latitude_deg, 90),
        (say("longitude"), longitude_deg, 180),
    ):
        if not (math.isfinite(value) and abs(value) <= limit):
            raise PlanError(
                say(
                    "The {name} is {value:g}; give one from -{limit} to {limit} degrees.",
                    name=name,
                    value=value,
                    limit=limit,
                )
            )
    if not known_time_zone(time_zone):
        raise PlanError(
            say(
                "The time zone '{time_zone}' is not known; give a name such as "
                "Europe/Berlin or UTC.",
                time_zone=time_zone,
            )
        )


def _noon_of(longitude_deg: float, time_zone: str, date: dt.date) -> float:
    """Solar noon of a date: the upper transit nearest to the place's clock at 12:00."""
    midday = dt.datetime.combine(date, dt.time(12), tzinfo=ZoneInfo(time_zone))
    return transit_s(utc_s(midday), longitude_deg)


def _moments(track: Track, twilight: Twilight, start_s: float, end_s: float) -> tuple[Moment, ...]:
    """Gather the twilight's own moments and the moon's, in time order."""
    event_name: MomentName = "sunset" if twilight == "dusk" else "sunrise"
    names = {HORIZON_DEG: event_name, **_LEVELS}
    sun = crossings(lambda t: track.sun(t)[0], tuple(names), start_s, end_s)
    named = [(names[one.level], one.time_s) for one in _own_side(sun, twilight)]
    moon = crossings(lambda t: _moon_limb_deg(track, t), (0.0,), start_s, end_s)
    named += [("moonrise" if one.rising else "moonset", one.time_s) for one in moon]
    named.sort(key=lambda pair: pair[1])
    altitude, azimuth = track.sun(np.array([time_s for _, time_s in named]))
    return tuple(
        Moment(name, time_s, float(alt), float(az))
        for (name, time_s), alt, az in zip(named, altitude, azimuth, strict=True)
    )


def _own_side(sun: tuple[Crossing, ...], twilight: Twilight) -> list[Crossing]:
    """Keep of each level the first setting for dusk, the last rising for dawn."""
    if twilight == "dusk":
        return list({one.level: one for one in reversed(sun) if not one.rising}.values())
    return list({one.level: one for one in sun if one.rising}.values())


def _moon_limb_deg(track: Track, time_s: FloatArray) -> FloatArray:
    """How far the moon's refracted upper limb stands above the horizon at rising or setting."""
    radius = _MOON_RADIUS * track.moon_parallax_deg(time_s)
    return track.moon(time_s)[0] + radius + _REFRACTION_DEG


def _event(track: Track, moments: tuple[Moment, ...], noon_s: float, darkest_s: float) -> Event:
    """Take the sunset or sunrise, or what stands in for it."""
    for moment in moments:
        if moment.name == "sunset" or moment.name == "sunrise":  # noqa: PLR1714 (narrows the type)
            return Event(moment.name, moment.time_s)
    return stand_in(track, noon_s, darkest_s)


def stand_in(track: Track, noon_s: float, darkest_s: float) -> Event:
    """The event of a night without sunset or sunrise: midnight where the sun stays up, or noon."""
    highest = float(np.max(track.sun(np.array([noon_s, darkest_s]))[0]))
    if highest >= HORIZON_DEG:
        return Event("midnight", darkest_s)
    return Event("noon", noon_s)


def no_event_reason(event: Event, date: dt.date, twilight: Twilight, time_zone: str) -> str | None:
    """Say in one sentence why there is no sunset or sunrise, and what is counted from."""
    if event.name in ("sunset", "sunrise"):
        return None
    day = day_text(date)
    clock = clock_text(local_time(event.time_s, time_zone))
    if event.name == "noon":
        what = say("The sun is below the horizon even at noon on {day} at this place", day=day)
    elif twilight == "dusk":
        what = say("The sun does not set on {day} at this place", day=day)
    else:
        what = say("The sun is still up at midnight before {day} at this place", day=day)
    return say(
        "{what}; times count from {event}, {clock}.",
        what=what,
        event=event_text(event.name),
        clock=clock,
    )
