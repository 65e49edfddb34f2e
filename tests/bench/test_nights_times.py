"""What a year of nights costs, and that it stays cheap beside the nights asked one by one."""

from __future__ import annotations

import datetime as dt
import time
from pathlib import Path

import pytest

from app.resources import demo_sites
from core.forecast import starts
from core.memory import Memory
from core.nights import nights, plan_of_night
from core.planfile import load

#: Seconds that 366 nights may take on two cores.
BUDGET_S = 2.0
FIRST = dt.date(2026, 1, 1)
STEP = 30


@pytest.mark.parametrize("site", demo_sites(), ids=lambda path: path.stem)
def test_a_year_of_nights(site: Path) -> None:
    """A ratio, judged: both sides are the CPU time of this thread on the same machine."""
    plan = load(site)
    begin = time.thread_time()
    seen = nights(plan, "A", FIRST, FIRST + dt.timedelta(days=365), "dusk", Memory())
    year_s = time.thread_time() - begin
    memory, days = Memory(), range(0, 366, STEP)
    begin = time.thread_time()
    for later in days:
        date = FIRST + dt.timedelta(days=later)
        starts(plan_of_night(plan, "A", date, "dusk"), "A", memory)
    alone_s = (time.thread_time() - begin) * 366.0 / len(days)
    print(
        f"\n366 nights, {site.stem}: {year_s:.2f} s CPU, {year_s / BUDGET_S:.2f} of "
        f"{BUDGET_S:.0f} s; one by one {alone_s:.0f} s"
    )
    assert len(seen) == 366
    assert year_s < alone_s / 4.0
