"""What a year of nights costs, and that it stays cheap beside the nights asked one by one."""

from __future__ import annotations

import datetime as dt
import time
from pathlib import Path

import pytest

from app.nightwork import nights_in_two
from app.resources import demo_sites
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
POLAR = {"66 N": (66.2, 25.3, "Europe/Helsinki"), "70 N": (70.4, 23.5, "Europe/Oslo")}


def polar_plan(name: str) -> Plan:
    latitude, longitude, zone = POLAR[name]
    return new_plan("Long Slip", latitude, longitude, FIRST, zone)


def check_year(plan: Plan, name: str) -> None:
    """A ratio, judged: both sides are the CPU time of this thread on the same machine."""
    begin = time.thread_time()
    seen = nights(plan, "A", FIRST, LAST, "dusk", Memory())
    year_s = time.thread_time() - begin
    begin, begin_cpu = time.perf_counter(), time.thread_time()
    nights_in_two(plan, "A", FIRST, LAST, "dusk")
    two_s, own_s = time.perf_counter() - begin, time.thread_time() - begin_cpu
    memory, days = Memory(), range(0, 366, STEP)
    begin = time.thread_time()
    for later in days:
        date = FIRST + dt.timedelta(days=later)
        starts(plan_of_night(plan, "A", date, "dusk"), "A", memory)
    alone_s = (time.thread_time() - begin) * 366.0 / len(days)
    print(
        f"\n366 nights, {name}: {year_s:.2f} s CPU alone; with a helper {two_s:.2f} s on the "
        f"clock, {own_s:.2f} s CPU here, {own_s / BUDGET_S:.2f} of {BUDGET_S:.0f} s; "
        f"one by one {alone_s:.0f} s, {alone_s / year_s:.0f} times as long"
    )
    assert len(seen) == 366
    assert year_s < alone_s / 5.0


#: One of the middle latitudes and the one beyond the circle: the others lie between.
SITES = [site for site in demo_sites() if site.stem in ("corvane_harbour", "skreigrunn")]


@pytest.mark.parametrize("site", SITES, ids=lambda path: path.stem)
def test_a_year_of_nights(site: Path) -> None:
    check_year(load(site), site.stem)


@pytest.mark.parametrize("name", POLAR)
def test_a_year_beyond_the_polar_circle(name: str) -> None:
    check_year(polar_plan(name), name)
