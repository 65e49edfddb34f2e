"""The lamps came on at a minute that was seen: the place knows it from then on."""

from __future__ import annotations

import pytest

from core.edit import PlanError
from core.forecast import outlook
from core.lampsseen import with_lamps_seen_on
from core.memory import Memory
from tests.dusk import december_plan


@pytest.mark.parametrize("kind", ["level", "clock", "offset"])
@pytest.mark.parametrize("minutes", [9.0, 16.0, 24.0])
def test_the_lamps_come_on_when_they_were_seen_to(kind: str, minutes: float) -> None:
    plan = december_plan(ground__lamps__switching__kind=kind)
    memory = Memory()
    seen_s = outlook(plan, "A", memory).night.event.time_s + minutes * 60.0
    told = with_lamps_seen_on(plan, "A", seen_s, memory)
    on_s = outlook(told, "A", memory).light.lamps_on_s
    # A level is kept to three figures: some seconds of dusk.
    assert on_s == pytest.approx(seen_s, abs=10.0)


def test_a_minute_of_another_night_is_refused() -> None:
    plan = december_plan()
    event_s = outlook(plan, "A", Memory()).night.event.time_s
    with pytest.raises(PlanError, match="is not on the night of"):
        with_lamps_seen_on(plan, "A", event_s - 86400.0, Memory())
