"""Reminders of rules: never a clearance, always with where to look."""

from __future__ import annotations

from collections.abc import Iterator

from core.clocks import moment_clock
from core.findings import CHECK_RULES, Finding
from core.language import say
from core.outlook import Outlook
from core.words import clock_text, cut_down, cut_up

CIVIL_DEG = -6.0
#: Civil twilight by the fixed rule: 14 CFR 107.29(c)(1) and (2).
FIXED_MIN = 30.0
_MINUTE_S = 60.0


def rule_findings(seen: Outlook) -> Iterator[Finding]:
    """When night begins or ends by many rules, and what to check.

    The sun 6 degrees down bounds the night of Regulation (EU) 2019/947, Art. 2(34), and of
    several other authorities; some use 30 minutes from sunset instead.
    """
    yield Finding("note", "rules", seen.name, by_the_sun(seen), CHECK_RULES)
    if in_twilight(seen):
        yield Finding("note", "light_on", seen.name, by_the_clock(seen), _LIGHT_ON)
    if seen.night.reason is not None:
        yield Finding("note", "no_event", seen.name, seen.night.reason)


#: 14 CFR 107.29(a)(2) and (b); Regulation (EU) 2019/947, UAS.OPEN.060(2)(g).
_LIGHT_ON = say(
    "Anti-collision light on from take-off, at night in the EU a green flashing one, "
    "or as the authority prescribes."
)


def in_twilight(seen: Outlook) -> bool:
    """Whether any of the flight lies on the dark side of sunset or sunrise.

    Without either it lies there for the whole of a polar night, and at no time of a polar day.
    """
    event_s = seen.night.event.time_s
    if seen.night.event.name == "sunset":
        return (seen.last_frame_s if seen.land_by_s is None else seen.land_by_s) > event_s
    if seen.night.event.name == "sunrise":
        return (seen.press_s if seen.take_off_s is None else seen.take_off_s) < event_s
    return seen.night.event.name == "noon"


def by_the_sun(seen: Outlook) -> str:
    """When night begins or ends with the sun 6 degrees down, or that it does not."""
    civil = next((m for m in seen.night.moments if m.name == "civil"), None)
    if civil is not None:
        clock = moment_clock(seen.night, civil)
        if seen.night.twilight == "dusk":
            return say("Night by many rules begins {clock}, with the sun 6° down.", clock=clock)
        return say("Night by many rules ends {clock}, with the sun 6° down.", clock=clock)
    if seen.light.sun_altitude_deg.max() < CIVIL_DEG:
        return say("Night by many rules all day: the sun stays more than 6° below the horizon.")
    return say(
        "The sun does not reach 6° below the horizon: by many rules night does not "
        "come, or comes when the authority says."
    )


def by_the_clock(seen: Outlook) -> str:
    """Civil twilight by the fixed rule, cut so that the night is told no shorter than it is."""
    night = seen.night
    if night.event.name == "sunset":
        ends_s = cut_down(night.event.time_s + FIXED_MIN * 60.0, _MINUTE_S)
        clock = clock_text(night.clock(ends_s))
        return say(
            "By the fixed rule, as in the US, civil twilight ends {clock}, 30 min after sunset.",
            clock=clock,
        )
    if night.event.name == "sunrise":
        begins_s = cut_up(night.event.time_s - FIXED_MIN * 60.0, _MINUTE_S)
        clock = clock_text(night.clock(begins_s))
        return say(
            "By the fixed rule, as in the US, civil twilight begins {clock}, 30 min "
            "before sunrise.",
            clock=clock,
        )
    return say("Without sunset or sunrise the fixed rule of 30 min gives no time.")
