"""The first line of every window."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from core.edit import with_values
from core.forecast import forecast, outlook
from core.memory import Memory
from core.plan import Plan, ShootName
from core.verdict import Verdict, press_text, settings_words, sure_text, verdict_of
from tests.dusk import december_plan, findings

LASTING = {"craft__rated_min": 45.0, "flight__set_up_first_min": 0.5}


def verdict(plan: Plan, name: ShootName = "A", *, settled: bool = True) -> Verdict:
    memory = Memory()
    known = findings(plan, memory) if settled else None
    return verdict_of(outlook(plan, name, memory), known, None)


@pytest.mark.parametrize("settled", [True, False])
def test_a_shoot_that_holds_says_when_to_press(settled: bool) -> None:
    line = verdict(december_plan(**LASTING), settled=settled).line
    assert line.startswith("Holds")
    assert line.endswith("Press at 17:07:16, 27 min after sunset.")


def test_cautions_are_counted() -> None:
    one = december_plan(**LASTING, craft__state_of_health=0.75)
    assert verdict(one).first == "Holds, 1 caution."
    two = with_values(one, {"camera.write_time_s": 1.8})
    assert verdict(two).first == "Holds, 2 cautions."


def test_cautions_count_for_either_shoot() -> None:
    plan = december_plan(**LASTING, craft__state_of_health=0.75)
    same = with_values(plan, {"shoots.B": plan.shoots.A})
    assert verdict(same, "A").first == verdict(same, "B").first == "Holds, 1 caution."


FAILURES: dict[str, tuple[dict[str, Any], str]] = {
    "early": ({"shoots__A__start_after_event_min": -30.0}, "burns"),
    "late": ({"shoots__A__start_after_event_min": 60.0}, "dark"),
    "camera": ({"shoots__A__interval_s": 2.0}, "write time"),
    "battery": ({"craft__rated_min": 15.0}, "The battery ends"),
    "wind": ({"shoots__A__conditions__wind_10m_m_s": 18.0}, "wind"),
}


@pytest.mark.parametrize("name", FAILURES)
@pytest.mark.parametrize("settled", [True, False])
def test_a_shoot_that_fails_says_what_fails(name: str, settled: bool) -> None:
    values, words = FAILURES[name]
    said = verdict(december_plan(**(LASTING | values)), settled=settled)
    assert said.first == "Does not hold."
    assert words in said.sentence


def test_the_worst_of_each_shoot_is_its_own() -> None:
    plan = december_plan(**LASTING)
    both_early = with_values(plan, {"shoots.A.interval_s": 2.0, "shoots.B.interval_s": 2.0,
                                    "shoots.B.shutter_s": 1.0})  # fmt: skip
    assert verdict(both_early, "A").sentence == verdict(both_early, "B").sentence


@pytest.mark.parametrize(
    ("minutes", "words"), [(12.4, "12 min after"), (-3.6, "4 min before"), (0.0, "0 min after")]
)
def test_before_and_after_the_event(minutes: float, words: str) -> None:
    plan = december_plan(shoots__A__start_after_event_min=minutes)
    assert press_text(outlook(plan, "A", Memory())).endswith(f"{words} sunset")


@pytest.mark.parametrize(
    ("latitude", "date", "event"),
    [(70.0, "2026-06-21", "solar midnight"), (70.0, "2026-12-21", "solar noon")],
)
def test_what_stands_in_for_the_event_is_named(latitude: float, date: str, event: str) -> None:
    plan = december_plan(place__latitude_deg=latitude, shoots__A__date=date)
    assert press_text(outlook(plan, "A", Memory())).endswith(f"after {event}")


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        # 16:40 UT is sunset; the nearest minutes, 17:00 and 17:06, would both lie outside.
        ((1220.0, 1540.0), "Sure 17:01 to 17:05."),
        ((1208.0, 1239.0), "Sure 17:00:08 to 17:00:39."),
        ((1208.0, 1208.0), "Sure at 17:00:08."),
    ],
)
def test_sure_starts_are_cut_inward(seconds: tuple[float, float], words: str) -> None:
    whole = forecast(december_plan(), "A")
    minute_s = whole.outlook.night.event.time_s // 60.0 * 60.0
    sure = (minute_s + seconds[0], minute_s + seconds[1])
    assert sure_text(whole.outlook, replace(whole.starts, sure_s=sure)) == words


def test_the_settings_in_words() -> None:
    words = settings_words(outlook(december_plan(), "A", Memory()))
    assert words[:2] == ("1 s", "ISO 100")
    assert words[-3:] == ("every 3 s", "300 frames", "12.0 s of clip")
