"""The lamps just came on: what that minute says about what switches them."""

from __future__ import annotations

import math

from core.edit import PlanError, with_values
from core.forecast import outlook
from core.memory import Memory
from core.plan import Plan, ShootName
from core.words import clock_text

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
        When the instant lies outside the night, or its light outside what a level may be.
    """
    seen = outlook(plan, name, memory)
    night = seen.night
    if not night.start_s <= time_s <= night.end_s:
        raise PlanError(
            f"{clock_text(night.clock(time_s))} is not on the night of {night.date}; a time between"
            f" {clock_text(night.clock(night.start_s))} and"
            f" {clock_text(night.clock(night.end_s))} was expected."
        )
    switching = plan.ground.lamps.switching
    if switching.kind == "clock":
        clock = night.clock(time_s).strftime("%H:%M:%S")
        return with_values(plan, {f"{_SWITCHING}.on_time": clock})
    if switching.kind == "offset":
        minutes = (time_s - night.event.time_s) / 60.0
        return with_values(plan, {f"{_SWITCHING}.on_after_event_min": minutes})
    lux = float(seen.light.at("illuminance_lx", time_s))
    digits = _FIGURES - 1 - math.floor(math.log10(lux))
    return with_values(plan, {f"{_SWITCHING}.on_lx": round(lux, digits)})
