"""When a take starts, as it is typed: a clock time, or minutes beside the sun's event."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from core.amounts import amount_of, plain_text
from core.edit import PlanError
from core.language import say, say_typed
from core.manner import manner
from core.night import EventName
from core.sentences import shown
from core.words import event_name, number_text, time_text

_KEY = "start_after_event_min"
# No plan has a start further from its event.
_MOST_MIN = 720.0
_CLOCK = re.compile(r"(?P<h>[01]?\d|2[0-3]):(?P<m>[0-5]\d)(?::(?P<s>[0-5]\d))?", re.ASCII)
_HALF_DAY = re.compile(
    r"(?P<h>0?[1-9]|1[0-2])(?::(?P<m>[0-5]\d)(?::(?P<s>[0-5]\d))?)? ?(?P<half>[ap])\.? ?m\.?",
    re.ASCII,
)
# Minutes and seconds of a length are told from a clock by their sign or the event only.
_LIKE_A_CLOCK = re.compile(r"\d+(?::\d+)+", re.ASCII)
# '19.30' and '0645' may be a clock or a number of minutes.
_WITHOUT_COLON = re.compile(r"(?P<h>[01]?\d|2[0-3])[.,](?P<m>[0-5]\d)", re.ASCII)
_FOUR_DIGITS = re.compile(r"(?P<h>[01]\d|2[0-3])(?P<m>[0-5]\d)", re.ASCII)
_AFTER = r"(?P<amount>[\d.,].*)"


@dataclass(frozen=True)
class Clock:
    """A time on the clock of the place."""

    time: dt.time


@dataclass(frozen=True)
class FromEvent:
    """Minutes after an event of the sun, negative before it."""

    event: EventName
    minutes: float


def parse_start(text: str) -> float | Clock | FromEvent:
    """Return when a take starts: minutes after the event, a clock time, or an event and minutes.

    '25', '+25 min', '16:42', '4:42 pm', '16:42:10', 'sunset+19', 'sunrise - 38 min',
    '19 min after sunset'. Minutes with seconds need their sign, '+19:30': without it they read
    as a clock, and a clock that was mistyped must not become a start near the right one.

    Raises
    ------
    PlanError
        When the text is none of these.
    """
    plain = plain_text(text)
    clock = clock_time(plain)
    if clock is not None:
        return Clock(clock)
    start = _from_event(plain)
    if start is not None:
        return start
    _refuse_without_colon(text, plain)
    minutes = None if _LIKE_A_CLOCK.fullmatch(plain) else amount_of(_KEY, plain)
    if minutes is None:
        raise PlanError(
            say(
                "The time {shown} was not understood; {wanted} was expected.",
                shown=shown(text),
                wanted=_wanted(),
            )
        )
    return minutes


def _wanted() -> str:
    """What may be typed, with clocks in the pilot's manner."""
    first, last, example = (
        time_text(clock) for clock in (dt.time(0), dt.time(23, 59), dt.time(16, 42, 10))
    )
    return say(
        "a clock time from {first} to {last} such as {example}, minutes such as 19 min, or both "
        "such as sunset+19",
        first=first,
        last=last,
        example=example,
    )


def _refuse_without_colon(text: str, plain: str) -> None:
    found = _WITHOUT_COLON.fullmatch(plain) or _FOUR_DIGITS.fullmatch(plain)
    if not found:
        return
    clock = time_text(dt.time(int(found["h"]), int(found["m"])))
    minutes = amount_of(_KEY, plain) or 0.0
    wanted = (
        clock
        if minutes > _MOST_MIN
        else say("{clock} or {minutes} min", clock=clock, minutes=number_text(minutes))
    )
    raise PlanError(
        say(
            "The time {shown} can be a clock time or minutes; {wanted} was expected.",
            shown=shown(text),
            wanted=wanted,
        )
    )


def start_minutes(
    start: float | Clock | FromEvent, event: EventName, event_time: dt.datetime
) -> float:
    """Return a start in minutes after the event of its night.

    Parameters
    ----------
    start
        As `parse_start` returns it.
    event, event_time
        The event that the night counts from and its aware time in the place's
        zone. A clock time means the one nearest to it.

    Raises
    ------
    PlanError
        When the start counts from another event than the night does.
    """
    if isinstance(start, Clock):
        return _minutes_to_clock(start.time, event_time)
    if isinstance(start, FromEvent):
        if start.event != event:
            raise PlanError(
                say(
                    "The time counts from {typed}, this night from {event}; {event}+19 "
                    "or a clock time was expected.",
                    typed=event_name(start.event),
                    event=event_name(event),
                )
            )
        return start.minutes
    return start


def _minutes_to_clock(clock: dt.time, event_time: dt.datetime) -> float:
    # Both readings of an hour that the clock shows twice are tried.
    candidates = (
        dt.datetime.combine(
            event_time.date() + dt.timedelta(days=day), clock, event_time.tzinfo
        ).replace(fold=fold)
        for day in (-1, 0, 1)
        for fold in (0, 1)
    )
    minutes = ((time.timestamp() - event_time.timestamp()) / 60.0 for time in candidates)
    return min(minutes, key=abs)


def clock_time(plain: str) -> dt.time | None:
    """Return the time of day that a plain text is: 7:05, 16:42:10, 7:50 pm; None for another."""
    said = next(filter(plain.endswith, say_typed("o'clock")), "")
    if said:
        # '19.50 Uhr': the word tells a clock from a number.
        plain = plain.removesuffix(said).rstrip().replace(".", ":")
    found = _CLOCK.fullmatch(plain)
    half = _HALF_DAY.fullmatch(plain)
    if found:
        return dt.time(int(found["h"]), int(found["m"]), int(found["s"] or 0))
    if half:
        hour = int(half["h"]) % 12 + (12 if half["half"] == "p" else 0)
        return dt.time(hour, int(half["m"] or 0), int(half["s"] or 0))
    return None


def _from_event(plain: str) -> FromEvent | None:
    event = _any_of(_events(manner().language))
    before, after = _any_of(say_typed("before, to")), _any_of(say_typed("after, past"))
    from_event = rf"(?P<event>{event})(?: ?(?P<sign>[+-]) ?{_AFTER})?"
    beside_event = rf"{_AFTER} (?:(?P<sign>{before})|{after}) (?P<event>{event})"
    found = re.fullmatch(from_event, plain, re.ASCII) or re.fullmatch(beside_event, plain, re.ASCII)
    if not found:
        return None
    minutes = 0.0 if found["amount"] is None else amount_of(_KEY, found["amount"])
    if minutes is None:
        return None
    is_before = found["sign"] not in (None, "+")
    return FromEvent(_events(manner().language)[found["event"]], -minutes if is_before else minutes)


@cache
def _events(_language: str) -> dict[str, EventName]:
    """The sun's events by each name that may be typed for them in the language spoken."""
    # 'solar noon' is what screens call the noon that a start may be counted from.
    typed: dict[EventName, tuple[str, ...]] = {
        "sunset": say_typed("sunset"),
        "sunrise": say_typed("sunrise"),
        "midnight": say_typed("midnight, solar midnight"),
        "noon": say_typed("noon, solar noon"),
    }
    return {word: event for event, words in typed.items() for word in words}


def _any_of(words: Iterable[str]) -> str:
    """A pattern for any of some words."""
    return "|".join(map(re.escape, words))
