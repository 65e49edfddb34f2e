"""What the core costs while a hand is on a slider, and when something slow changes."""

from __future__ import annotations

import datetime as dt

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from app.resources import demo_sites
from core.edit import with_values
from core.forecast import motion, outlook, starts
from core.memory import Memory
from core.plan import Plan
from core.planfile import load
from tests.bench.conftest import Measure
from tests.dusk import findings

PLAN = load(demo_sites()[0])
SHUTTERS = PLAN.camera.shutters_s
Steps = list[dict[str, object]]
WARM: dict[str, Steps] = {
    "start": [{"start_after_event_min": 20.0 + 0.25 * k} for k in range(40)],
    "shutter": [{"shutter_s": SHUTTERS[k % len(SHUTTERS)]} for k in range(40)],
}
COLD: dict[str, Steps] = {
    "date": [{"date": dt.date(2026, 9, 1) + dt.timedelta(days=3 * k)} for k in range(8)],
    "haze": [{"conditions.haze_aod": 0.06 + 0.02 * k} for k in range(8)],
}


def _plans(steps: Steps) -> list[Plan]:
    return [with_values(PLAN, {f"shoots.A.{k}": v for k, v in step.items()}) for step in steps]


@pytest.mark.parametrize("what", WARM)
def test_warm_outlook(measure: Measure, what: str) -> None:
    memory, plans = Memory(), _plans(WARM[what])
    outlook(PLAN, "A", memory)
    measure(
        f"outlook, another {what}",
        "warm core",
        lambda k: outlook(plans[k % len(plans)], "A", memory),
        60,
    )


def test_motion_under_a_moving_shutter(measure: Measure) -> None:
    memory, plans = Memory(), _plans(WARM["shutter"])
    measure(
        "motion, another shutter",
        "warm core",
        lambda k: motion(plans[k % len(plans)], "A", memory),
        60,
    )


@pytest.mark.parametrize("what", [*COLD, "path"])
def test_cold_outlook(measure: Measure, what: str) -> None:
    memory = Memory()
    if what == "path":
        plans = [
            with_values(PLAN, {"path.stations.0.pitch_deg": -60.0 + 3.0 * k}) for k in range(8)
        ]
    else:
        plans = _plans(COLD[what])
    outlook(PLAN, "A", memory)
    measure(
        f"outlook, another {what}",
        "cold core",
        lambda k: outlook(plans[k % len(plans)], "A", memory),
        14,
    )


@pytest.mark.parametrize(
    ("what", "key", "values"),
    [("exposure", "shutter_s", SHUTTERS), ("interval", "interval_s", PLAN.camera.intervals_s)],
)
def test_starts_of_one_night(
    measure: Measure, what: str, key: str, values: tuple[float, ...]
) -> None:
    plans = _plans([{key: value} for value in values])
    memory = Memory()
    starts(PLAN, "A", memory)
    measure(
        f"every start, another {what}",
        "every start",
        lambda k: starts(plans[k % len(plans)], "A", memory),
        20,
    )


def test_findings_of_a_settled_plan(measure: Measure) -> None:
    plans, memory = _plans(WARM["shutter"]), Memory()
    measure("findings of A and B, another shutter", "", lambda k: findings(plans[k], memory), 20)


def test_warm_outlook_by_the_clock(benchmark: BenchmarkFixture) -> None:
    """The same step by wall time, for comparing one commit with another."""
    memory, plans = Memory(), _plans(WARM["start"])
    state = {"k": 0}

    def step() -> None:
        state["k"] += 1
        outlook(plans[state["k"] % len(plans)], "A", memory)

    benchmark(step)
    assert state["k"] > 0
