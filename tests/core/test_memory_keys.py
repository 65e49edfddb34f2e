"""Whatever in a plan is changed, a shared memory answers as a fresh one: no stage is stale."""

from __future__ import annotations

import datetime as dt

import pytest

from core.edit import get_value, with_values
from core.fields import Field, field_of, keys_of
from core.forecast import forecast, outlook
from core.lastnight import flown_take, lesson_of
from core.memory import Memory
from core.plan import Plan, Remark
from tests.dusk import alike, december_plan


def base_plan() -> Plan:
    """A short take at a place with a skyline, of which a take and a reading are known."""
    memory = Memory()
    plan = december_plan(
        shoots__A__clip_length_s=1.0,
        place__skyline=[[0.0, 1.0], [200.0, 2.0], [260.0, 0.5]],
        shoots__A__conditions__gust_10m_m_s=5.0,
    )
    before = with_values(plan, {"shoots.A.date": plan.shoots.A.date - dt.timedelta(days=1)})
    last, seen = outlook(before, "A", memory), outlook(plan, "A", memory)
    take = flown_take(before, "A", "t1", last.night.clock(last.press_s))
    taught = lesson_of(plan, take, [Remark("street", "over", by_stops=0.3)], memory).plan
    read = {
        "time": seen.night.clock(seen.press_s - 300.0).isoformat(), "part": "street",
        "stops": 0.8, "shutter_s": 1.0, "iso": 100.0, "f_number": 1.7, "nd_stops": 0.0,
    }  # fmt: skip
    readings = [*get_value(taught, "readings"), read]  # type: ignore[misc]
    return with_values(taught, {"readings": readings})


PLAN = base_plan()
SHARED = Memory(entries=60)
BEFORE = forecast(PLAN, "A", SHARED)

_OTHER_TEXT = {"time_zone": "Asia/Tokyo", "schema": "1.1", "id": "t9", "take_id": "t9"}


def changed(field: Field, value: object) -> object:
    """Another value that may stand at a key."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, float):
        return _another_number(field, value)
    if isinstance(value, dt.date):
        return value + dt.timedelta(days=40)
    return _another_text(field, str(value))


def _another_number(field: Field, value: float) -> float:
    low = value - 10.0 if field.low is None else field.low
    high = value + 10.0 if field.high is None else field.high
    limit = high if value < (low + high) / 2.0 else low
    return value + 0.13 * (limit - value)


def _another_text(field: Field, value: str) -> str:
    if field.kind == "choice":
        return next(choice for choice in field.choices if choice != value)
    if field.kind == "clock":
        return "19:30"
    name = field.key.rsplit(".", 1)[-1]
    if name in ("time", "start"):
        return (dt.datetime.fromisoformat(value) + dt.timedelta(minutes=4)).isoformat()
    return _OTHER_TEXT.get(name, f"{value} 2")


def leaves() -> list[str]:
    """Every key of the plan that holds one value now, but those of shoot B."""
    found = []
    for key in keys_of(PLAN):
        field = field_of(key)
        plain = field is not None and field.kind not in ("part", "list")
        if plain and get_value(PLAN, key) is not None and not key.startswith("shoots.B"):
            found.append(key)
    return found


@pytest.mark.parametrize("key", leaves())
def test_a_shared_memory_answers_as_a_fresh_one(key: str) -> None:
    field = field_of(key)
    assert field is not None
    plan = with_values(PLAN, {key: changed(field, get_value(PLAN, key))})
    assert plan != PLAN
    shared, fresh = forecast(plan, "A", SHARED), forecast(plan, "A", Memory())
    assert alike(shared, fresh)
    assert alike(forecast(PLAN, "A", SHARED), BEFORE)
