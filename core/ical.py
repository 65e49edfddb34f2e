"""Nights as a calendar that other programs read: iCalendar, RFC 5545."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator

from icalendar import Calendar, Event

from core.export.plain import place_digest, plain
from core.findings import CHECK_RULES
from core.language import say
from core.names import twilight_text
from core.nights import NightSeen
from core.nightsreport import chance_figure, flag_words
from core.plan import Plan, ShootName
from core.words import clock_text, cut_down, event_name, number_text, slack_text

#: Names the maker of the file, as RFC 5545, section 3.7.3 wants it.
PRODUCT = "-//Duskwright//Nights//EN"


def nights_calendar(
    plan: Plan, name: ShootName, seen: Iterable[NightSeen], shooting_s: float, made_s: float
) -> bytes:
    """Return a calendar with an event for each night on which a start keeps the light.

    An event runs from the best start to the last frame, in UTC, to the second: no table of
    time zones is needed. The same night of the same place and shoot keeps its UID, so that a
    newer file renews the entries of an older one (RFC 5545, section 3.8.4.7).

    Parameters
    ----------
    shooting_s
        From the first frame to the last, seconds.
    made_s
        When the calendar is made, UTC seconds.

    Returns
    -------
    bytes
        UTF-8, lines folded at 75 octets and ended by CR LF.
    """
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    for night in seen:
        if night.best_s is not None:
            calendar.add_component(_event(plan, name, night, night.best_s, shooting_s, made_s))
    return bytes(calendar.to_ical())


def _event(
    plan: Plan, name: ShootName, seen: NightSeen, best_s: float, shooting_s: float, made_s: float
) -> Event:
    place = plan.place
    event = Event()
    event.add("uid", _uid(plan, name, seen))
    event.add("dtstamp", _utc(made_s))
    event.add("dtstart", _utc(best_s))
    # The end must come after the start (section 3.6.1): a single frame gets a second.
    event.add("dtend", _utc(best_s + max(shooting_s, 1.0)))
    event.add(
        "summary",
        say(
            "{place}: {twilight}, shoot {shoot}",
            place=plain(place.name),
            twilight=twilight_text(seen.night.twilight),
            shoot=name,
        ),
    )
    event.add("location", plain(place.name))
    event.add("geo", (place.latitude_deg, place.longitude_deg))
    event.add("description", "\n".join(_told(seen, best_s)))
    return event


def _told(seen: NightSeen, best_s: float) -> Iterator[str]:
    night = seen.night
    start = clock_text(night.clock(best_s), seconds=True)
    event = clock_text(night.clock(night.event.time_s))
    yield say(
        "Start {start} on the clock of {time_zone}; {event} {clock}.",
        start=start,
        time_zone=night.time_zone,
        event=event_name(night.event.name),
        clock=event,
    )
    chance, slack = chance_figure(seen.p_hold or 0.0), slack_text(seen.slack_stops)
    yield say("Chance to hold {chance}, slack {slack}.", chance=chance, slack=slack)
    if seen.clip_length_s is not None:
        length = number_text(cut_down(seen.clip_length_s, 0.1), 1)
        yield say("The battery gives {length} s of clip in the weather typed.", length=length)
    if seen.flags:
        yield say("Look out: {flags}.", flags=flag_words(seen))
    if night.reason is not None:
        yield night.reason
    yield CHECK_RULES


def _uid(plan: Plan, name: ShootName, seen: NightSeen) -> str:
    night = f"{seen.night.date.isoformat()}-{seen.night.twilight}"
    return f"{night}-{name}-{place_digest(plan.place)}@duskwright"


def _utc(time_s: float) -> dt.datetime:
    return dt.datetime.fromtimestamp(round(time_s), dt.UTC)
