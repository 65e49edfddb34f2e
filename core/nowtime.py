"""The clock now, as it is typed: a time of day in the shoot's night, or a full time."""

from __future__ import annotations

import datetime as dt
import re
from zoneinfo import ZoneInfo

from core.amounts import plain_text
from core.dates import day_text
from core.edit import PlanError
from core.language import say
from core.names import twilight_text
from core.night import Night
from core.place import utc_s
from core.sentences import shown
from core.starttime import FromEvent, clock_time, parse_start
from core.words import clock_text, event_name, time_text

#: So long before a night begins its take may already be asked about.
BEFORE_NIGHT_S = 12.0 * 3600.0
# '1925' and '19.25', as clocks are written too.
_WITHOUT_COLON = re.compile(r"(?P<h>\d{1,2})[.h]?(?P<m>\d{2})", re.ASCII)


def now_of(text: str, night: Night) -> float:
    """Return the instant, in UTC seconds, that a typed time means on a night.

    '17:25', '1725' or '17:25:30' on the clock of the place, the one nearest to the night's
    event; 'sunset+37', '37 min after sunset'; or a full time, '2026-12-05T17:25+01:00', on the
    clock of the place where it has no offset.

    Raises
    ------
    PlanError
        When the text is none of these, a time that the clock leaves out, or one that lies
        outside `asked_about_s`.
    """
    plain = plain_text(text)
    clock = clock_time(_WITHOUT_COLON.sub(r"\g<h>:\g<m>", plain, count=1))
    if clock is not None:
        return _nearest_to_event(text, clock, night)
    instant = _full_time(text.strip(), night)
    if instant is None:
        instant = _after_event(text, night)
    if instant is not None:
        return _within(text, instant, night)
    raise PlanError(
        say(
            "The time now cannot be {shown}; a clock time such as {clock}, a full time such "
            "as {date}T17:25 or {event}+20 was expected.",
            shown=shown(text),
            clock=time_text(dt.time(17, 25)),
            date=night.date.isoformat(),
            event=event_name(night.event.name),
        )
    )


def asked_about_s(night: Night) -> tuple[float, float]:
    """First and last moment, UTC seconds, from which a night's take is asked about."""
    return night.start_s - BEFORE_NIGHT_S, night.end_s


def _nearest_to_event(text: str, clock: dt.time, night: Night) -> float:
    zone = ZoneInfo(night.time_zone)
    times = [
        dt.datetime.combine(night.date + dt.timedelta(days=day), clock, zone).replace(fold=fold)
        for day in (-1, 0, 1, 2)
        for fold in (0, 1)
    ]
    nearest = min(times, key=lambda time: abs(utc_s(time) - night.event.time_s))
    if not _exists(nearest):
        raise PlanError(
            say(
                "The time now cannot be {shown}: on {date} the clock goes forward and "
                "leaves it out; a time before or after was expected.",
                shown=shown(text),
                date=day_text(nearest.date()),
            )
        )
    return utc_s(nearest)


def _exists(local: dt.datetime) -> bool:
    back = dt.datetime.fromtimestamp(local.timestamp(), local.tzinfo)
    return back.replace(tzinfo=None, fold=0) == local.replace(tzinfo=None, fold=0)


def _full_time(text: str, night: Night) -> float | None:
    if "-" not in text:
        return None
    try:
        moment = dt.datetime.fromisoformat(text)
    except ValueError:
        return None
    if moment.utcoffset() is None:
        moment = moment.replace(tzinfo=ZoneInfo(night.time_zone))
    return utc_s(moment)


def _after_event(text: str, night: Night) -> float | None:
    try:
        start = parse_start(text)
    except PlanError:
        return None
    if not isinstance(start, FromEvent) or start.event != night.event.name:
        return None
    return night.event.time_s + 60.0 * start.minutes


def _within(text: str, instant: float, night: Night) -> float:
    first_s, last_s = asked_about_s(night)
    if first_s <= instant <= last_s:
        return instant
    first, last = (
        say("{clock} on {date}", clock=clock_text(time), date=day_text(time.date()))
        for time in (night.clock(first_s), night.clock(last_s))
    )
    raise PlanError(
        say(
            "The time now cannot be {shown}: the {twilight} of {date} is too far from it; "
            "a time from {first} to {last} was expected.",
            shown=shown(text),
            twilight=twilight_text(night.twilight),
            date=day_text(night.date),
            first=first,
            last=last,
        )
    )
