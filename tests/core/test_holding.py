"""Which steps of a setting hold, with all else as it is."""

from __future__ import annotations

from typing import Any

import pytest

from core.forecast import outlook
from core.holding import GoodValues, good_exposures, holds
from core.memory import Memory
from core.plan import Plan
from core.scales import EXPOSURE_KEYS, TAKE_KEYS, SettingKey, scale_of, with_setting, with_shoot
from core.steps import take_steps
from tests.dusk import december_plan

MEMORY = Memory()
LIGHT_CRAFT = {"craft__rated_min": 45.0, "flight__set_up_first_min": 0.5}
PLANS = {
    "fits": december_plan(**LIGHT_CRAFT),
    "early": december_plan(**LIGHT_CRAFT, shoots__A__start_after_event_min=8.0),
    "battery short": december_plan(shoots__A__interval_s=4.0),
    "two seconds": december_plan(**LIGHT_CRAFT, shoots__A__interval_s=2.0, shoots__A__iso=400.0),
}


def one_by_one(plan: Plan, key: SettingKey) -> tuple[bool, ...]:
    """Forecast each step of a setting on its own."""
    shoots = [with_setting(plan.shoots.A, key, v) for v in scale_of(plan.camera, key)]
    return tuple(holds(outlook(with_shoot(plan, "A", shoot), "A", MEMORY)) for shoot in shoots)


def good_takes(plan: Plan) -> GoodValues:
    """All steps of the work on another take, one after the other."""
    work = take_steps(plan, "A", MEMORY)
    while True:
        try:
            next(work)
        except StopIteration as end:
            found: GoodValues = end.value
            return found


@pytest.mark.parametrize("name", PLANS)
def test_as_each_step_on_its_own(name: str) -> None:
    plan = PLANS[name]
    exposures = good_exposures(plan, outlook(plan, "A", MEMORY))
    assert tuple(exposures) == EXPOSURE_KEYS
    for key in EXPOSURE_KEYS:
        assert exposures[key] == one_by_one(plan, key), key
    takes = good_takes(plan)
    assert tuple(takes) == TAKE_KEYS
    for take_key in TAKE_KEYS:
        assert takes[take_key] == one_by_one(plan, take_key), take_key


def test_the_current_settings_are_among_the_good() -> None:
    plan = PLANS["fits"]
    seen = outlook(plan, "A", MEMORY)
    assert holds(seen)
    good = good_exposures(plan, seen)
    for key in EXPOSURE_KEYS:
        scale: Any = scale_of(plan.camera, key)
        assert good[key][scale.index(getattr(plan.shoots.A, key))]


def test_light_write_time_and_battery_must_all_hold() -> None:
    early, short = PLANS["early"], PLANS["battery short"]
    assert not holds(outlook(early, "A", MEMORY))
    assert not any(
        any(steps) for steps in good_exposures(short, outlook(short, "A", MEMORY)).values()
    )
    two = PLANS["two seconds"]
    assert not holds(outlook(two, "A", MEMORY))
    # 1 s and 1.7 s of writing do not go into 2 s, 0.3 s does (0.315 s exactly).
    shutters = scale_of(two.camera, "shutter_s")
    good = good_exposures(two, outlook(two, "A", MEMORY))["shutter_s"]
    assert not any(ok for ok, shutter in zip(good, shutters, strict=True) if shutter > 0.32)
    assert any(good)
