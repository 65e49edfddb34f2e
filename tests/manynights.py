"""A range of nights, one after the other."""

from __future__ import annotations

import datetime as dt

from core.memory import Memory
from core.nights import NightSeen, night_judge, nights_between
from core.plan import Plan, ShootName, Twilight


def nights(
    plan: Plan,
    name: ShootName,
    first: dt.date,
    last: dt.date,
    twilight: Twilight,
    memory: Memory | None = None,
) -> tuple[NightSeen, ...]:
    """Each night of a range of dates, both ends included."""
    judged = night_judge(plan, name, twilight, memory)
    days = range(nights_between(first, last))
    return tuple(judged(first + dt.timedelta(days=later)) for later in days)
