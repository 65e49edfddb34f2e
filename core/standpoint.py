"""Where the pilot stands at a moment of the night: on the ground, or holding in the air.

On the ground waiting costs minutes only; in the air it costs charge, and what has been
hovered already is spent. Both are told to the forecast by the start and the wait before it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import msgspec

from core.forecast import outlook
from core.memory import Memory
from core.outlook import Outlook
from core.plan import Path, Plan, Shoot, ShootName
from core.scales import with_shoot
from core.words import cut_up

#: A press this near to a plan's own is the plan's own.
SAME_PRESS_S = 0.5
SHORT_TAKE_S = 0.1
#: What a plan can hold, see `core.plan`.
_LONGEST_WAIT_MIN, FURTHEST_START_MIN = 600.0, 720.0


@dataclass(frozen=True)
class Standpoint:
    """The clock now, and since when the craft has been in the air, None on the ground.

    `now_s` and `took_off_s` are UTC seconds. In the air the craft holds at the first station,
    ready to press; nobody wrote down when it took off, so it is taken to have done so when
    planned, or just in time to be there by now where that lies earlier.
    """

    name: ShootName
    now_s: float
    memory: Memory
    took_off_s: float | None = None

    def ready_s(self, plan: Plan) -> float | None:
        """The earliest press, UTC seconds on a whole one; None where it cannot be flown.

        On the ground checks, climb, way out and set-up come before it; the planned wait is
        left out. In the air it is now.
        """
        legs_min = legs_before_min(plan, self.name, self.memory)
        if legs_min is None:
            return None
        ready_s = self.now_s if self.took_off_s is not None else self.now_s + 60.0 * legs_min
        return cut_up(ready_s)

    def pressed_at(self, plan: Plan, press_s: float) -> Plan | None:
        """The plan pressed at an instant, with the wait in the air that this takes from here.

        None where it cannot be flown, or no plan can hold it. On the ground the craft takes
        off so late that it waits as planned, or less where time is short.
        """
        legs_min = legs_before_min(plan, self.name, self.memory)
        if legs_min is None:
            return None
        if self.took_off_s is None:
            most_min = (press_s - self.now_s) / 60.0 - legs_min
            wait_min = max(min(plan.flight.wait_min, most_min), 0.0)
        else:
            wait_min = max((press_s - self.took_off_s) / 60.0 - legs_min, 0.0)
        seen = outlook(plan, self.name, self.memory)
        minutes = (press_s - seen.night.event.time_s) / 60.0
        if wait_min > _LONGEST_WAIT_MIN or abs(minutes) > FURTHEST_START_MIN:
            return None
        if abs(press_s - seen.press_s) > SAME_PRESS_S:
            plan = started(plan, self.name, minutes)
        if abs(wait_min - plan.flight.wait_min) < 1e-6:
            return plan
        return with_wait(plan, wait_min)

    def latest_s(self, plan: Plan) -> float:
        """The last press that the battery has charge for, UTC seconds; infinite on the ground."""
        ready_s = self.ready_s(plan)
        if self.took_off_s is None or ready_s is None:
            return math.inf
        pressed = self.pressed_at(plan, ready_s)
        margin = outlook(pressed, self.name, self.memory).flight.margin_min if pressed else None
        # A minute of hover costs what a minute of the take does.
        return -math.inf if margin is None else ready_s + 60.0 * margin


def standpoint(
    plan: Plan, name: ShootName, now_s: float, memory: Memory, *, airborne: bool
) -> Standpoint:
    """Take up a standpoint: on the ground, or in the air since the planned take-off."""
    if not airborne:
        return Standpoint(name, now_s, memory)
    seen = outlook(plan, name, memory)
    legs_min = legs_before_min(plan, name, memory) or 0.0
    took_off_s = now_s - 60.0 * legs_min
    if seen.take_off_s is not None:
        took_off_s = min(took_off_s, seen.take_off_s)
    return Standpoint(name, now_s, memory, took_off_s)


def legs_before_min(plan: Plan, name: ShootName, memory: Memory) -> float | None:
    """Minutes from take-off to the first station, ready to press; None if it cannot be flown."""
    # The legs before the take are the same for any take; a short one is worked out sooner.
    short = changed(with_wait(plan, 0.0), name, clip_length_s=SHORT_TAKE_S)
    return outlook(short, name, memory).flight.before_min


def across_min(plan: Plan, path: Path) -> float:
    """Minutes in the air from the first to the last station and to set up there."""
    first, last = path.stations[0], path.stations[-1]
    metres = math.dist(
        (first.east_m, first.north_m, first.up_m), (last.east_m, last.north_m, last.up_m)
    )
    return metres / plan.flight.out_speed_m_s / 60.0 + plan.flight.set_up_repeat_min


def with_wait(plan: Plan, wait_min: float) -> Plan:
    """The plan with a wait in the air before the press."""
    if plan.flight.wait_min == wait_min:
        return plan
    flight = msgspec.structs.replace(plan.flight, wait_min=wait_min)
    return msgspec.structs.replace(plan, flight=flight)


def started(plan: Plan, name: ShootName, after_event_min: float) -> Plan:
    """The plan with a shoot's start so many minutes after its event."""
    return changed(plan, name, start_after_event_min=after_event_min)


def changed(plan: Plan, name: ShootName, **values: object) -> Plan:
    """The plan with some of a shoot's values changed."""
    shoot: Shoot = msgspec.structs.replace(plan.shoot(name), **values)
    return with_shoot(plan, name, shoot)


def turned(seen: Outlook, plan: Plan) -> Plan:
    """The plan with the path of a shoot flown the other way."""
    return changed(plan, seen.name, path_reversed=not seen.shoot.path_reversed)
