"""The slow half of a forecast step by step: the same as in one piece."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from core.edit import new_plan, with_values
from core.forecast import known_starts, starts
from core.memory import Memory
from core.plan import Plan
from core.scales import TAKE_KEYS, scale_of
from core.steps import starts_steps, take_steps


@pytest.fixture(scope="module")
def plan() -> Plan:
    return new_plan("Quay", 44.05, 1.33, dt.date(2026, 10, 17))


def test_the_starts_come_in_several_steps_and_are_the_same(plan: Plan) -> None:
    memory = Memory()
    steps = 0
    for _ in starts_steps(plan, "A", memory):
        steps += 1
    assert steps >= 3
    known, whole = known_starts(plan, "A", memory), starts(plan, "A", Memory())
    assert known is not None
    assert np.array_equal(known.slack_stops, whole.slack_stops)
    assert np.array_equal(known.p_hold, whole.p_hold)


def test_what_is_known_asks_for_no_step(plan: Plan) -> None:
    memory = Memory()
    starts(plan, "A", memory)
    assert list(starts_steps(plan, "A", memory)) == []


def test_where_nothing_holds_the_other_way_round_is_made_too(plan: Plan) -> None:
    memory = Memory()
    hopeless = with_values(plan, {"shoots.A.iso": 1600.0, "shoots.A.shutter_s": 8.0})
    assert len(list(starts_steps(hopeless, "A", memory))) >= 6
    assert starts(hopeless, "A", memory).best_s is None
    turned = with_values(hopeless, {"shoots.A.path_reversed": True})
    assert known_starts(turned, "A", memory) is not None


def test_a_take_is_found_in_a_step_for_each_value(plan: Plan) -> None:
    steps = len(list(take_steps(plan, "A", Memory())))
    assert steps == sum(len(scale_of(plan.camera, key)) for key in TAKE_KEYS)
