"""What a year of nights costs, and that it stays cheap beside the nights asked one by one."""

from __future__ import annotations

import datetime as dt
import time

import pytest

from app.nightwork import nights_in_two, nights_standby
from app.resources import demo_sites
from app.standby import Standby
from core.edit import new_plan
from core.forecast import starts
from core.memory import Memory
from core.nights import plan_of_night
from core.plan import Plan
from core.planfile import load
from tests.manynights import nights

#: Seconds that 366 nights may take on two cores.
BUDGET_S = 2.0
FIRST = dt.date(2026, 1, 1)
LAST = FIRST + dt.timedelta(days=365)
STEP = 30
#: Beyond the polar circle whole summers are looked through for the nearest start.
PLACES = {
    "38 N": (38.2, 15.5, "Europe/Rome"),
    "66 N": (66.2, 25.3, "Europe/Helsinki"),
    "70 N": (70.4, 23.5, "Europe/Oslo"),
}
#: The demo whose nights take longest: the others lie between it and 38 N.
SLOWEST = "skreigrunn"


def plan_of(name: str) -> Plan:
    if name not in PLACES:
        return load(next(site for site in demo_sites() if site.stem == name))
    latitude, longitude, zone = PLACES[name]
    return new_plan("Long Slip", latitude, longitude, FIRST, zone)


def alone_cpu_s(plan: Plan) -> float:
    """CPU time of the year in this thread alone."""
    begin = time.thread_time()
    assert len(nights(plan, "A", FIRST, LAST, "dusk", Memory())) == 366
    return time.thread_time() - begin


def shared_s(plan: Plan, standby: Standby | None) -> tuple[float, float]:
    """The year shared with a helper: seconds on the clock, CPU time in this thread."""
    begin, begin_cpu = time.perf_counter(), time.thread_time()
    assert len(nights_in_two(plan, "A", FIRST, LAST, "dusk", standby=standby)) == 366
    return time.perf_counter() - begin, time.thread_time() - begin_cpu


def one_by_one_cpu_s(plan: Plan) -> float:
    """CPU time of the year as that many forecasts, from some of them."""
    memory, days = Memory(), range(0, 366, STEP)
    begin = time.thread_time()
    for later in days:
        date = FIRST + dt.timedelta(days=later)
        starts(plan_of_night(plan, "A", date, "dusk"), "A", memory)
    return (time.thread_time() - begin) * 366.0 / len(days)


@pytest.mark.parametrize("name", [*PLACES, SLOWEST])
def test_a_year_of_nights(name: str) -> None:
    """Ratios of CPU times are judged; the clock, which other work on the machine moves, is told."""
    plan, standby = plan_of(name), nights_standby()
    alone_s, (cold_s, _) = alone_cpu_s(plan), shared_s(plan, None)
    try:
        # The window has it stand by from the moment it is shown.
        assert standby.start().submit(int).result() == 0
        ready_s, own_s = shared_s(plan, standby)
    finally:
        standby.leave()
    forecasts_s = one_by_one_cpu_s(plan)
    print(
        f"\n366 nights, {name}: {alone_s:.2f} s CPU alone; on the clock {cold_s:.2f} s with a "
        f"helper that starts, {ready_s:.2f} s with one that stands by, {own_s:.2f} s CPU here; "
        f"{ready_s / BUDGET_S:.2f} of {BUDGET_S:.0f} s; one by one {forecasts_s:.0f} s, "
        f"{forecasts_s / alone_s:.0f} times as long"
    )
    assert alone_s < forecasts_s / 5.0
    # Were the helper never given a moment, all would be done here, and no more than all.
    assert own_s < 1.5 * alone_s
