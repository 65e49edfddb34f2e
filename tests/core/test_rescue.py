"""Late, early or in the air: what is offered holds as told, and the craft gets home."""

from __future__ import annotations

import datetime as dt
import math
import re
from typing import Any

import pytest

from core.edit import checked, new_plan, with_values
from core.forecast import forecast, outlook, starts
from core.memory import Memory
from core.option import Option, kept_frames
from core.plan import Plan
from core.preferences import Preferences
from core.rescue import LONG_SHOT, Rescue, rescue
from core.standpoint import legs_before_min
from tests.dusk import december_plan

#: Long enough for 15 minutes of take and two of hovering.
LASTING: dict[str, Any] = {"craft__rated_min": 40.0}
BANNED = re.compile(
    r"\b(go|no-go|ok|okay|safe|allowed|error|invalid|warning|please)\b|!", re.IGNORECASE
)


def rescued(
    plan: Plan, late_min: float, *, airborne: bool = False, memory: Memory | None = None
) -> Rescue:
    """Ask so many minutes after the planned take-off."""
    memory = memory or Memory()
    seen = outlook(plan, "A", memory)
    assert seen.take_off_s is not None
    now_s = seen.take_off_s + 60.0 * late_min
    return rescue(plan, "A", now_s, memory, Preferences(), airborne)


def kinds(found: Rescue) -> list[str]:
    return [option.kind for option in found.options]


def check_option(option: Option, found: Rescue, memory: Memory) -> None:
    """Every figure is that of a forecast run on the option's own plan, and the flight fits."""
    seen = forecast(checked(option.plan), "A", memory)
    flight = seen.outlook.flight
    assert flight.fits
    assert flight.error is None
    assert seen.outlook.clip.write != "skips"
    assert seen.outlook.press_s == pytest.approx(option.start_s, abs=1e-3)
    assert seen.outlook.take_off_s == pytest.approx(option.take_off_s, abs=1e-3)
    assert seen.outlook.judgement.slack_stops == option.slack_stops
    assert option.holds == (option.slack_stops >= 0.0)
    assert seen.starts.chance_at(seen.outlook.press_s) == option.p_hold
    assert flight.margin_min == option.margin_min
    assert option.margin_min >= 0.0
    assert kept_frames(option.plan, seen.outlook).mean() == pytest.approx(option.kept_share)
    if option.kind != "another_night":
        assert found.ready_s is not None
        assert option.start_s >= found.ready_s - 1.0
        assert option.start_s >= found.now_s
    if not found.airborne or option.kind == "another_night":
        assert option.take_off_s >= found.now_s - 1.0
    assert option.sentence.count(".") >= 1
    assert option.sentence.endswith(".")
    assert BANNED.search(option.sentence) is None


# ---- on time, early, late ----


def test_on_time_the_plan_as_it_is_comes_first() -> None:
    found = rescued(december_plan(**LASTING), 0.0)
    assert found.reason is None
    first = found.options[0]
    assert first.kind == "as_planned"
    assert first.changes == ()
    assert first.wait_min == 0.0
    assert "take off now" in first.sentence


def test_early_it_says_how_many_minutes_to_wait_on_the_ground() -> None:
    plan = december_plan(**LASTING)
    first = rescued(plan, -20.0).options[0]
    assert first.kind == "as_planned"
    assert first.wait_min == pytest.approx(20.0)
    assert "wait 20 min" in first.sentence
    # Nothing is spent on the ground.
    assert first.margin_min == outlook(plan, "A", Memory()).flight.margin_min


def test_a_planned_wait_in_the_air_makes_up_for_a_late_take_off() -> None:
    plan = december_plan(**LASTING, flight__wait_min=2.0)
    first = rescued(plan, 1.5).options[0]
    assert first.kind == "as_planned"
    assert first.start_s == outlook(plan, "A", Memory()).press_s
    assert dict(first.changes) == {"flight.wait_min": pytest.approx(0.5)}
    on_time = outlook(plan, "A", Memory()).flight.margin_min
    assert on_time is not None
    assert first.margin_min == pytest.approx(on_time + 1.5)


@pytest.mark.parametrize("late_min", [-20.0, 0.0, 4.0, 10.0, 14.0])
@pytest.mark.parametrize("airborne", [False, True])
def test_every_option_holds_as_told_and_gets_home(late_min: float, *, airborne: bool) -> None:
    plan, memory = december_plan(**LASTING), Memory()
    found = rescued(plan, late_min, airborne=airborne, memory=memory)
    for option in found.options:
        check_option(option, found, memory)


def test_ten_minutes_late_something_still_holds_that_the_plan_no_longer_does() -> None:
    # The worked case pressed at 22 min after sunset through a filter of two stops.
    plan = december_plan(**LASTING, shoots__A__start_after_event_min=22.0, shoots__A__nd_stops=2.0)
    memory = Memory()
    assert outlook(plan, "A", memory).judgement.slack_stops > 0.0
    found = rescued(plan, 10.0, memory=memory)
    best = found.options[0]
    assert found.reason is None
    assert best.holds
    assert best.date == plan.shoots.A.date
    assert best.kind == "settings"
    assert outlook(best.plan, "A", memory).judgement.slack_stops >= 0.0
    as_it_is = next(option for option in found.options if option.kind == "press_now")
    assert not as_it_is.holds
    assert as_it_is.kept_share < best.kept_share


def test_what_still_holds_by_itself_needs_no_other_settings() -> None:
    # Two minutes late of a span that ends three minutes after the planned press.
    found = rescued(december_plan(**LASTING), 2.0)
    as_it_is = next(option for option in found.options if option.kind == "press_now")
    assert as_it_is.holds
    assert {key.rpartition(".")[2] for key, _ in as_it_is.changes} == {"start_after_event_min"}


def test_the_latest_press_is_the_last_that_holds() -> None:
    plan, memory = december_plan(**LASTING), Memory()
    for option in rescued(plan, 2.0, memory=memory).options:
        if option.latest_s is None:
            continue
        night = outlook(option.plan, "A", memory).night
        later = with_start(option.plan, (option.latest_s - night.event.time_s) / 60.0)
        assert outlook(later, "A", memory).judgement.slack_stops >= -0.02
        after = with_start(option.plan, (option.latest_s + 10.0 - night.event.time_s) / 60.0)
        assert outlook(after, "A", memory).judgement.slack_stops < 0.02


def with_start(plan: Plan, minutes: float) -> Plan:
    return with_values(plan, {"shoots.A.start_after_event_min": minutes})


def test_holding_options_are_ranked_by_their_points_after_the_plan() -> None:
    found = rescued(december_plan(**LASTING), -3.0)
    tonight = [o for o in found.options[1:] if o.holds and o.kind != "another_night"]
    assert len(tonight) >= 2
    points = [option.points for option in tonight]
    assert points == sorted(points, reverse=True)


# ---- shorter, reversed ----


def test_a_take_longer_than_the_battery_is_cut_to_what_fits() -> None:
    plan = december_plan()
    assert not outlook(plan, "A", Memory()).flight.fits
    found = rescued(plan, 0.0)
    shorter = next(option for option in found.options if option.kind == "shorten")
    assert {key.rpartition(".")[2] for key, _ in shorter.changes} == {
        "clip_length_s", "start_after_event_min",
    }  # fmt: skip
    most = outlook(plan, "A", Memory()).flight.max_frames
    assert most is not None
    assert 100 <= shorter.frames <= most
    assert shorter.holds


def test_a_path_framed_the_wrong_way_round_is_offered_reversed() -> None:
    plan = december_plan(**LASTING, shoots__A__path_reversed=True)
    memory = Memory()
    assert starts(plan, "A", memory).best_s is None
    ready_min = legs_before_min(plan, "A", memory)
    assert ready_min is not None
    for airborne, late_min in ((False, 0.0), (True, ready_min)):
        found = rescued(plan, late_min, airborne=airborne, memory=memory)
        turned = next(option for option in found.options if option.kind == "reverse")
        assert turned.holds
        assert dict(turned.changes)["shoots.A.path_reversed"] is False
        check_option(turned, found, memory)


def test_in_the_air_reversing_takes_the_way_across_and_a_set_up() -> None:
    plan = december_plan(
        craft__rated_min=46.0, shoots__A__path_reversed=True, flight__set_up_repeat_min=1.5,
        flight__out_speed_m_s=1.5, shoots__A__start_after_event_min=25.0,
        shoots__A__conditions__wind_10m_m_s=0.0,
    )  # fmt: skip
    memory = Memory()
    seen = outlook(plan, "A", memory)
    found = rescue(plan, "A", seen.press_s, memory, Preferences(), airborne=True)
    turned = next(option for option in found.options if option.kind == "reverse")
    # 30 m between the stations at 1.5 m/s are 20 s.
    assert turned.start_s >= seen.press_s + 20.0 + 90.0


# ---- in the air ----


def test_waiting_in_the_air_uses_charge_and_on_the_ground_does_not() -> None:
    plan, memory = december_plan(**LASTING), Memory()
    planned = outlook(plan, "A", memory).flight
    assert planned.margin_min is not None
    assert planned.before_min is not None
    in_the_air = rescued(plan, planned.before_min + 0.2, airborne=True, memory=memory)
    waited = next(option for option in in_the_air.options if option.kind == "wait")
    assert waited.wait_min > 0.3
    hovered = (waited.start_s - outlook(plan, "A", memory).press_s) / 60.0
    assert waited.margin_min == pytest.approx(planned.margin_min - hovered)
    assert dict(waited.changes)["flight.wait_min"] == pytest.approx(hovered)
    assert re.search(r"hover \d\.\d min for \d+ % of charge", waited.sentence)
    on_the_ground = rescued(plan, -5.0, memory=memory)
    for option in on_the_ground.options:
        if option.kind in ("as_planned", "wait"):
            assert option.margin_min == planned.margin_min


def test_nobody_hovers_past_what_the_battery_gives() -> None:
    plan, memory = december_plan(**LASTING), Memory()
    planned = outlook(plan, "A", memory).flight
    assert planned.before_min is not None
    found = rescued(plan, planned.before_min + 1.0, airborne=True, memory=memory)
    for option in found.options:
        if option.latest_s is not None and option.kind != "another_night":
            last = option.start_s + 60.0 * option.margin_min
            assert option.latest_s <= last + 1e-6


def test_in_the_air_no_filter_is_changed() -> None:
    plan = december_plan(**LASTING, shoots__A__nd_stops=2.0)
    found = rescued(plan, 8.0, airborne=True)
    tonight = [option for option in found.options if option.kind != "another_night"]
    assert tonight
    assert all(option.plan.shoots.A.nd_stops == 2.0 for option in tonight)


def test_with_the_battery_hovered_away_only_another_night_is_left() -> None:
    found = rescued(december_plan(**LASTING), 25.0, airborne=True)
    assert kinds(found) == ["another_night"]
    assert found.reason is not None
    assert "battery" in found.reason


# ---- nothing holds ----


def test_when_nothing_holds_it_says_so_with_the_least_bad_and_tomorrows_minute() -> None:
    plan, memory = december_plan(**LASTING), Memory()
    found = rescued(plan, 25.0, memory=memory)
    assert found.reason is not None
    assert found.reason.startswith("Nothing keeps the light with a press from 17:32 on")
    tomorrow, least_bad = found.options[0], found.options[1]
    assert tomorrow.kind == "another_night"
    assert tomorrow.date == plan.shoots.A.date + dt.timedelta(days=1)
    assert tomorrow.start_s == starts(tomorrow.plan, "A", memory).best_s
    clock = outlook(tomorrow.plan, "A", memory).night.clock(tomorrow.start_s)
    assert f"6 December keeps it with a press at {clock:%H:%M}" in found.reason
    assert not least_bad.holds
    assert "loses 120 of 300 frames" in least_bad.sentence
    assert least_bad.kept_share == pytest.approx(0.6)
    for option in found.options:
        check_option(option, found, memory)


def test_a_long_shot_comes_after_another_night() -> None:
    found = rescued(december_plan(**LASTING), 10.0)
    assert found.reason is not None
    assert found.options[0].kind == "another_night"
    long_shots = [option for option in found.options[1:] if option.holds]
    assert long_shots
    assert all((option.p_hold or 0.0) < LONG_SHOT for option in long_shots)


def test_when_the_dusk_is_over_only_another_night_is_offered() -> None:
    found = rescued(december_plan(**LASTING), 400.0)
    assert kinds(found) == ["another_night"]
    assert found.reason is not None
    assert found.reason.startswith("This dusk is over")


def test_no_night_in_reach_is_said_too() -> None:
    # A street that may have one tone only holds on no night.
    bands = {"bands__street__low_stops": 0.0, "bands__street__high_stops": 0.05}
    found = rescued(december_plan(**LASTING, **bands), 0.0)
    assert "another_night" not in kinds(found)
    assert found.reason is not None
    assert "None of the next nights keeps it either" in found.reason


def test_on_another_night_the_path_may_be_flown_the_other_way() -> None:
    plan, memory = december_plan(**LASTING, shoots__A__path_reversed=True), Memory()
    found = rescued(plan, 60.0, memory=memory)
    assert found.options[0].kind == "another_night"
    assert dict(found.options[0].changes)["shoots.A.path_reversed"] is False
    assert "the path the other way" in found.options[0].sentence


def test_a_night_that_is_past_by_now_is_not_offered() -> None:
    found = rescued(december_plan(**LASTING), 60.0 * 49.0)
    assert [option.date for option in found.options] == [dt.date(2026, 12, 8)]


def test_wind_above_the_limit_leaves_nothing() -> None:
    plan = december_plan(shoots__A__conditions__wind_10m_m_s=20.0)
    seen = outlook(plan, "A", Memory())
    for airborne in (False, True):
        found = rescue(plan, "A", seen.press_s, Memory(), Preferences(), airborne)
        assert found.options == ()
        assert found.reason == seen.flight.error


def test_a_camera_that_skips_is_not_told_to_keep_its_settings() -> None:
    plan = december_plan(**LASTING, shoots__A__interval_s=2.0)
    assert outlook(plan, "A", Memory()).clip.write == "skips"
    found = rescued(plan, 0.0)
    assert not {"as_planned", "press_now", "wait", "shorten", "reverse"} & set(kinds(found))
    assert found.options[0].kind == "settings"


# ---- other nights ----


@pytest.mark.parametrize(
    ("latitude", "longitude", "date", "twilight", "airborne"),
    [
        (38.0, 0.0, "2026-12-05", "dawn", False),
        # Polar night and polar day.
        (71.0, 25.0, "2026-12-21", "dusk", True),
        (71.0, 25.0, "2026-06-21", "dusk", False),
        (71.0, 25.0, "2026-06-21", "dawn", True),
        # Dusk runs past midnight on the clock of the place.
        (64.0, -22.0, "2026-06-05", "dusk", True),
        # On the date line, and the night after the last one that is computed.
        (-17.0, 179.9, "2026-03-01", "dusk", True),
        (38.0, 0.0, "2099-12-31", "dusk", False),
    ],
)
def test_anywhere_every_option_gets_home(
    latitude: float, longitude: float, date: str, twilight: str, airborne: bool
) -> None:
    plan = new_plan("Anywhere", latitude, longitude, dt.date.fromisoformat(date), "UTC")
    plan = with_values(plan, {"shoots.A.twilight": twilight, "craft.rated_min": 40.0})
    memory = Memory()
    for late_min in (-5.0, 12.0):
        found = rescued(plan, late_min, airborne=airborne, memory=memory)
        assert found.options or found.reason
        for option in found.options:
            check_option(option, found, memory)


def test_past_midnight_the_night_stays_that_of_the_shoot() -> None:
    plan = new_plan("Skerry", 64.0, -22.0, dt.date(2026, 6, 5), "Atlantic/Reykjavik")
    plan = with_values(plan, {"shoots.A.start_after_event_min": 40.0, "craft.rated_min": 40.0})
    memory = Memory()
    seen = outlook(plan, "A", memory)
    assert seen.night.clock(seen.press_s).date() == dt.date(2026, 6, 6)
    found = rescued(plan, 0.0, memory=memory)
    tonight = [option for option in found.options if option.kind != "another_night"]
    assert tonight
    assert all(option.date == dt.date(2026, 6, 5) for option in tonight)


def test_before_dawn_waiting_goes_toward_the_light() -> None:
    plan = december_plan(
        **LASTING, shoots__A__twilight="dawn", shoots__A__path_reversed=True,
        shoots__A__start_after_event_min=-40.0,
    )  # fmt: skip
    memory = Memory()
    every = starts(plan, "A", memory)
    found = rescued(plan, -30.0, memory=memory)
    assert found.options
    if every.best_s is not None:
        waited = [o for o in found.options if o.kind in ("wait", "as_planned") and o.holds]
        assert waited
        assert waited[0].start_s > found.now_s


def test_the_earliest_press_counts_every_leg_before_it() -> None:
    plan, memory = december_plan(**LASTING, flight__wait_min=3.0), Memory()
    legs_min = legs_before_min(plan, "A", memory)
    flight = outlook(plan, "A", memory).flight
    assert flight.before_min is not None
    assert legs_min == pytest.approx(flight.before_min - 3.0)
    found = rescued(plan, 10.0, memory=memory)
    assert found.ready_s == math.ceil(found.now_s + 60.0 * flight.before_min - 180.0)
