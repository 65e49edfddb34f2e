"""An evening as a calendar with alarms: iCalendar, RFC 5545."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Final

from icalendar import Alarm, Calendar, Event

from core.export.plain import headline, place_digest, plain, summary
from core.findings import CHECK_RULES
from core.language import say
from core.outlook import Outlook
from core.plan import Plan
from core.stepwords import STEP_LEADS, StepKind
from core.timetable import Step, Timetable, timetable_of
from core.words import cut_down, percent_text

#: Names the maker of the file (section 3.7.3).
PRODUCT: Final = "-//Duskwright//Evening//EN"
#: Minutes before a step at which it rings; the battery and the list want their time.
ALARMS_MIN: Final[dict[StepKind, tuple[int, ...]]] = {
    "lamps_on": (2,),
    "lamps_off": (2,),
    "take_off": (60, 15, 2, 0),
    "first_shutter": (2, 0),
    "last_frame": (1, 0),
    "latest_stop": (1, 0),
    "land_by": (0,),
}


def calendar(plan: Plan, seen: Outlook, made_s: float) -> bytes:
    """Return a shoot's evening as a calendar: an event for each step that rings.

    Events last until the next step of the calendar, a minute at least, in UTC: no table of time
    zones is needed. The same step of the same place, night and shoot keeps its UID, so that a
    newer file renews the entries of an older one (section 3.8.4.7).

    Parameters
    ----------
    made_s
        When the calendar is made, UTC seconds.

    Returns
    -------
    bytes
        UTF-8, lines folded at 75 octets and ended by CR LF.
    """
    table = timetable_of(plan, seen)
    made = Calendar()
    made.add("prodid", PRODUCT)
    made.add("version", "2.0")
    for step, end_s in _ringing(table):
        made.add_component(_event(plan, table, step, end_s, made_s))
    return bytes(made.to_ical())


def _ringing(table: Timetable) -> Iterator[tuple[Step, float]]:
    """The steps that ring, each with when the next one comes."""
    every = sorted((*table.steps, *table.bounds), key=lambda step: step.time_s)
    steps = [step for step in every if step.kind in ALARMS_MIN]
    for place, step in enumerate(steps):
        later = [other.time_s for other in steps[place + 1 :]]
        yield step, max(min(later, default=step.time_s), step.time_s + 60.0)


def _event(plan: Plan, table: Timetable, step: Step, end_s: float, made_s: float) -> Event:
    seen, name = table.seen, plain(plan.place.name)
    event = Event()
    event.add("uid", _uid(plan, seen, step.kind))
    event.add("dtstamp", _utc(made_s))
    event.add("dtstart", _utc(step.time_s))
    event.add("dtend", _utc(end_s))
    event.add("summary", f"{_title(step)}: {' '.join(name.split())}")
    event.add("location", name)
    event.add("geo", (plan.place.latitude_deg, plan.place.longitude_deg))
    told = (step.do, headline(plan, seen) + ".", summary(seen), CHECK_RULES)
    event.add("description", "\n".join(told))
    for minutes in ALARMS_MIN[step.kind]:
        event.add_component(_alarm(_title(step), minutes))
    return event


def _title(step: Step) -> str:
    if step.kind == "latest_stop" and step.charge_percent is not None:
        return say("Last frame by now, or at {charge}", charge=percent_text(step.charge_percent))
    return STEP_LEADS[step.kind]


def _alarm(title: str, minutes: int) -> Alarm:
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add(
        "description",
        say("{title} in {minutes} min", title=title, minutes=minutes) if minutes else title,
    )
    alarm.add("trigger", -dt.timedelta(minutes=minutes))
    return alarm


def _uid(plan: Plan, seen: Outlook, kind: StepKind) -> str:
    night = f"{seen.night.date.isoformat()}-{seen.night.twilight}"
    return f"{night}-{seen.name}-{kind}-{place_digest(plan.place)}@duskwright"


def _utc(time_s: float) -> dt.datetime:
    # A time to be kept is never told later than it is.
    return dt.datetime.fromtimestamp(cut_down(time_s), dt.UTC)
