"""The lamps just came on: what that minute says about what switches them."""

from __future__ import annotations

import math

from core.dates import date_text, day_text
from core.edit import PlanError, with_values
from core.forecast import outlook
from core.language import say
from core.memory import Memory
from core.night import Night
from core.plan import Plan, ShootName
from core.words import clock_text, number_text

_SWITCHING = "ground.lamps.switching"
#: A level is kept to three figures: more would only pretend.
_FIGURES = 3


def with_lamps_seen_on(plan: Plan, name: ShootName, time_s: float, memory: Memory) -> Plan:
    """The plan whose lamps of a shoot's night come on at an instant that was seen.

    Only the figure that the place's kind of switching goes by is changed: the level, the
    clock, or the minutes after the sun's event.

    Parameters
    ----------
    time_s
        UTC seconds, at the first glow.

    Raises
    ------
    PlanError
        When it is no evening, the instant lies outside the night, or no lamps of the place's
        kind can come on then.
    """
    seen = outlook(plan, name, memory)
    night = seen.night
    _check_instant(night, time_s)
    kind = plan.ground.lamps.switching.kind
    if kind == "clock":
        return with_values(plan, {f"{_SWITCHING}.on_time": f"{night.clock(time_s):%H:%M:%S}"})
    if kind == "offset":
        return _after_sunset(plan, night, time_s)
    return _below_level(plan, night, time_s, float(seen.light.at("illuminance_lx", time_s)))


def _check_instant(night: Night, time_s: float) -> None:
    """Refuse an instant that is no evening of this night."""
    if night.twilight == "dawn":
        raise PlanError(say("Lamps come on in the evening; turn to the dusk of this place first."))
    if not night.start_s <= time_s <= night.end_s:
        typed, first, last = (_moment(night, at) for at in (time_s, night.start_s, night.end_s))
        raise PlanError(
            say(
                "{typed} is not on the night of {date}; a time from {first} to {last} was "
                "expected.",
                typed=typed,
                date=date_text(night.date),
                first=first,
                last=last,
            )
        )


def _after_sunset(plan: Plan, night: Night, time_s: float) -> Plan:
    """The plan whose lamps come on so many minutes after sunset."""
    if night.event.name != "sunset":
        raise PlanError(
            say(
                "The sun does not set on {date}: lamps that count from sunset cannot "
                "be told from this night.",
                date=day_text(night.date),
            )
        )
    minutes = (time_s - night.event.time_s) / 60.0
    why_not = say(
        "{clock} is too far from sunset for lamps to come on; give the minute of the first glow.",
        clock=clock_text(night.clock(time_s)),
    )
    return _told(plan, "on_after_event_min", minutes, why_not)


def _below_level(plan: Plan, night: Night, time_s: float, lux: float) -> Plan:
    """The plan whose lamps come on below the illuminance of this instant, lux."""
    digits = _FIGURES - 1 - math.floor(math.log10(lux))
    told = {"clock": clock_text(night.clock(time_s)), "lux": number_text(lux, max(digits, 0))}
    why_not = (
        say(
            "At {clock} it is too bright ({lux} lx) for lamps to come on; give the minute of the "
            "first glow.",
            **told,
        )
        if lux > 1.0
        else say(
            "At {clock} it is too dark ({lux} lx) for lamps to come on; give the minute of the "
            "first glow.",
            **told,
        )
    )
    return _told(plan, "on_lx", round(lux, digits), why_not)


def _moment(night: Night, time_s: float) -> str:
    clock = night.clock(time_s)
    return say("{clock} on {date}", clock=clock_text(clock), date=date_text(clock.date()))


def _told(plan: Plan, name: str, value: float, why_not: str) -> Plan:
    """The plan with a figure of its switching, refused in words of its own."""
    try:
        return with_values(plan, {f"{_SWITCHING}.{name}": value})
    except PlanError:
        raise PlanError(why_not) from None
