"""A plan for a place nobody has shot yet, with starts that hold where any do."""

from __future__ import annotations

import datetime as dt

from core.edit import new_plan, with_values
from core.forecast import forecast
from core.memory import Memory
from core.plan import SHOOT_NAMES, Plan


def first_plan(
    name: str,
    latitude_deg: float,
    longitude_deg: float,
    date: dt.date,
    time_zone: str | None = None,
    elevation_m: float = 0.0,
) -> Plan:
    """Return a new plan with both shoots at their best starts, to the whole ten seconds.

    Where no start of the night holds, a shoot stays at the minute of `new_plan`. The
    parameters and errors are those of `core.edit.new_plan`.
    """
    plan = new_plan(name, latitude_deg, longitude_deg, date, time_zone, elevation_m)
    memory = Memory()
    best = {}
    for shoot in SHOOT_NAMES:
        seen = forecast(plan, shoot, memory)
        if seen.starts.best_s is not None:
            minutes = (seen.starts.best_s - seen.outlook.night.event.time_s) / 60.0
            best[f"shoots.{shoot}.start_after_event_min"] = round(minutes * 6.0) / 6.0
    return with_values(plan, best)
