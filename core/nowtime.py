"""The clock now, as it is typed: a time of day in the shoot's night, or a full time."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

from core.amounts import plain_text
from core.edit import PlanError
from core.night import Night
from core.place import utc_s
from core.sentences import shown
from core.starttime import FromEvent, clock_time, parse_start
from core.words import clock_text

#: A dusk that runs late runs on so long past solar midnight; then it is the morning.
PAST_MIDNIGHT_S = 3600.0


def now_of(text: str, night: Night) -> float:
    """Return the instant, in UTC seconds, that a typed time means on a night.

    '17:25' or '17:25:30' on the clock of the place; 'sunset+37', '37 min after sunset'; or a
    full time, '2026-12-05T17:25+01:00', on the clock of the place where it has no offset.

    Raises
    ------
    PlanError
        When the text is none of these, or a time that belongs to no part of the night.
    """
    plain = plain_text(text)
    clock = clock_time(plain)
    if clock is not None:
        return _on_the_night(text, clock, night)
    full = _full_time(text.strip(), night)
    if full is not None:
        return _within(text, full, night, night.end_s)
    after = _after_event(text, night)
    if after is not None:
        return _within(text, after, night, night.end_s)
    raise PlanError(
        f"--now has {shown(text)}; a clock time such as 17:25, a full time such as "
        f"{night.date.isoformat()}T17:25 or {night.event.name}+20 was expected."
    )


def _on_the_night(text: str, clock: dt.time, night: Night) -> float:
    zone = ZoneInfo(night.time_zone)
    days = (night.date + dt.timedelta(days=day) for day in (-1, 0, 1, 2))
    instants = {
        utc_s(local)
        for day in days
        for fold in (0, 1)
        # In the hour that is left out when the clock goes forward there is no such time.
        if _exists(local := dt.datetime.combine(day, clock, zone).replace(fold=fold))
    }
    last_s = _last_s(night)
    inside = [instant for instant in instants if night.start_s <= instant <= last_s]
    if not inside:
        raise PlanError(_outside(text, night, last_s))
    return min(inside, key=lambda instant: abs(instant - night.event.time_s))


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


def _last_s(night: Night) -> float:
    return night.darkest_s + PAST_MIDNIGHT_S if night.twilight == "dusk" else night.end_s


def _within(text: str, instant: float, night: Night, last_s: float) -> float:
    if not night.start_s <= instant <= last_s:
        raise PlanError(_outside(text, night, last_s))
    return instant


def _outside(text: str, night: Night, last_s: float) -> str:
    first, last = night.clock(night.start_s), night.clock(last_s)
    return (
        f"--now has {shown(text)}, which belongs to no part of this night: the {night.twilight} of "
        f"{night.date.isoformat()} runs from {clock_text(first)} on {first.date().isoformat()} to "
        f"{clock_text(last)} on {last.date().isoformat()}; give a time between."
    )
