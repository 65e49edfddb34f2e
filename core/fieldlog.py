"""What was done on site and when, and the plan as the evening really goes.

Once the take-off is known, every time to be kept counts from it and no longer from the
planned one: a minute of waiting in the air moves the press, not the latest stop.
"""

from __future__ import annotations

from collections.abc import Iterator

import msgspec

from core.edit import PlanError, checked
from core.forecast import outlook
from core.language import say, say_as
from core.lastnight import flown_take
from core.memory import Memory
from core.night import Night
from core.plan import Plan, ShootName, TakeSummary
from core.standpoint import FURTHEST_START_MIN, Standpoint, legs_before_min, started
from core.words import clock_text


class FieldLog(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """What was done, UTC seconds; None for what was not, or was not noted.

    `lamps_s` is when the lamps were seen to switch, `turned_s` when the take was broken off.
    `ticked` holds what was ticked before take-off, in words, `unticked` what was open then.
    """

    took_off_s: float | None = None
    pressed_s: float | None = None
    lamps_s: float | None = None
    turned_s: float | None = None
    down_s: float | None = None
    ticked: tuple[str, ...] = ()
    unticked: tuple[str, ...] = ()

    @property
    def in_the_air(self) -> bool:
        """Whether the craft has left the ground and not come back."""
        left = self.took_off_s is not None or self.pressed_s is not None
        return left and self.down_s is None


def log_text(log: FieldLog) -> str:
    """A log as a line of JSON, to be kept."""
    return msgspec.json.encode(log).decode()


def log_of(text: str) -> FieldLog:
    """The log that a kept line holds; an empty one where it holds none."""
    try:
        return msgspec.json.decode(text, type=FieldLog)
    except msgspec.DecodeError:
        return FieldLog()


def as_seen(plan: Plan, name: ShootName, log: FieldLog, memory: Memory) -> Plan:
    """The plan with the take-off and the press of a log in the place of the planned ones.

    After a late take-off the press is put off until the craft can be at its station; after an
    early one the craft waits there, in the air, for the planned press. The plan as it is
    where the log says nothing of the flight, or no plan can hold what it says.
    """
    seen = outlook(plan, name, memory)
    legs_min = legs_before_min(plan, name, memory)
    if log.took_off_s is None or legs_min is None:
        return plan if log.pressed_s is None else _pressed(plan, name, log.pressed_s, memory)
    press_s = log.pressed_s
    if press_s is None:
        press_s = max(seen.press_s, log.took_off_s + 60.0 * legs_min)
    # In the air the wait follows from when it took off: no clock is asked.
    here = Standpoint(name, press_s, memory, log.took_off_s)
    return here.pressed_at(plan, press_s) or plan


def log_words(log: FieldLog, night: Night) -> str:
    """A log in words, for a take: 'Took off 19:19:09; pressed 19:22:12; down 19:36:02.'."""
    said = list(_said(log, night))
    return f"{'; '.join(said)}." if said else ""


def with_take_of(plan: Plan, name: ShootName, log: FieldLog, memory: Memory) -> Plan:
    """The plan with what was flown among its takes, the log in words; as it is without a press."""
    if log.pressed_s is None:
        return plan
    night = outlook(plan, name, memory).night
    pressed = night.clock(round(log.pressed_s))
    real = as_seen(plan, name, log, memory)
    flown = flown_take(real, name, f"{pressed:%Y-%m-%d %H:%M}", pressed)
    take = msgspec.structs.replace(flown, summary=TakeSummary(words=log_words(log, night)))
    others = tuple(one for one in plan.takes if one.id != take.id)
    return msgspec.structs.replace(plan, takes=(*others, take))


def _said(log: FieldLog, night: Night) -> Iterator[str]:
    # As the first of the sentence, and behind others.
    named = (
        (say("Lamps {clock}"), say("lamps {clock}"), log.lamps_s),
        (say("Took off {clock}"), say("took off {clock}"), log.took_off_s),
        (say("Pressed {clock}"), say("pressed {clock}"), log.pressed_s),
        (say("Broke off {clock}"), say("broke off {clock}"), log.turned_s),
        (
            say_as("the craft is", "Down {clock}"),
            say_as("the craft is", "down {clock}"),
            log.down_s,
        ),
    )
    noted = sorted(
        ((time_s, texts) for *texts, time_s in named if time_s is not None),
        key=lambda one: one[0],
    )
    for place, (time_s, texts) in enumerate(noted):
        yield texts[min(place, 1)].format(clock=clock_text(night.clock(time_s), seconds=True))
    if log.unticked:
        yield say("not ticked: {items}", items=", ".join(log.unticked))


def _pressed(plan: Plan, name: ShootName, press_s: float, memory: Memory) -> Plan:
    minutes = (press_s - outlook(plan, name, memory).night.event.time_s) / 60.0
    if abs(minutes) > FURTHEST_START_MIN:
        return plan
    try:
        return checked(started(plan, name, minutes))
    except PlanError:
        return plan
