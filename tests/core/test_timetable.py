"""The steps of an evening against the forecast that other programs read, and by hand."""

from __future__ import annotations

import datetime as dt
from itertools import pairwise

import pytest

from app.resources import demo_sites
from core.edit import with_values
from core.fieldlog import FieldLog, as_seen, log_of, log_text, log_words
from core.forecast import forecast, outlook
from core.memory import Memory
from core.outlook import Outlook
from core.plan import SHOOT_NAMES, Plan, ShootName
from core.planfile import load
from core.report import forecast_report
from core.stepwords import StepKind
from core.timetable import Timetable, expected_percent, timetable_of
from core.words import clock_text

SITES = {site.stem: site for site in demo_sites()}
EACH = [(stem, name) for stem in SITES for name in SHOOT_NAMES]


def plan_of(stem: str, **values: object) -> Plan:
    plan = load(SITES[stem])
    return with_values(plan, {key.replace("__", "."): value for key, value in values.items()})


def evening(plan: Plan, name: ShootName = "A") -> Timetable:
    return timetable_of(plan, outlook(plan, name, Memory()))


def clock(seen: Outlook, time_s: float) -> str:
    return clock_text(seen.night.clock(time_s), seconds=True)


def instant(text: str) -> float:
    return dt.datetime.fromisoformat(text).timestamp()


@pytest.mark.parametrize(("stem", "name"), EACH)
def test_the_steps_are_those_of_the_forecast(stem: str, name: ShootName) -> None:
    plan = load(SITES[stem])
    seen = forecast(plan, name)
    told = forecast_report(seen)
    table = timetable_of(plan, seen.outlook)
    flight = told["flight"]
    frames = told["frames"]
    assert isinstance(flight, dict)
    assert isinstance(frames, list)
    starts = {part["name"]: instant(part["starts"]) for part in flight["segments"]}
    expected: dict[StepKind, float] = {
        "take_off": instant(flight["take_off"]),
        "at_station": starts["set-up"],
        "first_shutter": instant(frames[0]["time"]),
        "last_frame": instant(frames[-1]["time"]),
        "turn_home": min(starts[one] for one in ("return climb", "home", "descent")),
        "latest_stop": instant(flight["latest_stop"]),
        "land_by": instant(flight["land_by"]),
    }
    found = {step.kind: step.time_s for step in (*table.steps, *table.bounds)}
    assert {kind: found[kind] for kind in expected} == pytest.approx(expected, abs=0.002)
    last = flight["segments"][-1]
    down_s = instant(last["starts"]) + 60.0 * last["minutes"]
    assert found["on_ground"] == pytest.approx(down_s, abs=0.002)
    stop = table.step("latest_stop")
    assert stop is not None
    assert stop.charge_percent == flight["stop_at_percent"]


@pytest.mark.parametrize(("stem", "name"), EACH)
def test_steps_follow_the_clock_and_the_charge_falls(stem: str, name: ShootName) -> None:
    table = evening(load(SITES[stem]), name)
    times = [step.time_s for step in table.steps]
    assert times == sorted(times)
    charges = [step.charge_percent for step in table.steps if step.charge_percent is not None]
    assert all(later <= earlier for earlier, later in pairwise(charges))
    assert all(step.do.endswith(".") and step.note for step in (*table.steps, *table.bounds))
    # A path is flown to its last station, and home from there.
    half, last = table.step("half_way"), table.step("last_frame")
    assert half is not None
    assert last is not None
    assert half.note == f"frame {table.seen.clip.frames // 2}"
    halfway_s = (table.seen.clip.frames // 2 - 1) * table.seen.shoot.interval_s
    assert half.time_s - table.seen.press_s == pytest.approx(halfway_s)


def test_lamps_are_a_step_where_they_switch_about_the_flight() -> None:
    dusk = evening(plan_of("corvane_harbour"))
    assert dusk.steps[0].kind == "lamps_on"
    assert dusk.steps[0].time_s == dusk.seen.light.lamps_on_s
    # At this dawn they are still on when the craft is down.
    dawn = evening(plan_of("lanternshell_bay"))
    assert dawn.seen.light.lamps_off_s is not None
    assert dawn.step("lamps_off") is None
    later = evening(plan_of("lanternshell_bay", shoots__A__start_after_event_min=-30.0))
    assert later.step("lamps_off") is not None
    assert later.step("lamps_on") is None


def test_a_flight_that_cannot_be_flown_leaves_the_take_and_says_why() -> None:
    wind = {"wind_10m_m_s": 25.0}
    plan = plan_of(
        "corvane_harbour", **{f"shoots__A__conditions__{key}": v for key, v in wind.items()}
    )
    table = evening(plan)
    assert table.reason == table.seen.flight.error
    assert table.reason is not None
    assert [step.kind for step in table.steps] == [
        "lamps_on",
        "first_shutter",
        "half_way",
        "last_frame",
    ]
    assert table.bounds == ()
    assert expected_percent(table.seen, table.seen.press_s) is None


def test_what_to_do_is_said_with_its_figures() -> None:
    plan = plan_of(
        "lanternshell_bay",
        shoots__A__path_reversed=False,
        path__stations__0__east_m=30.0,
        path__stations__0__north_m=40.0,
        path__stations__1__east_m=0.0,
        path__stations__1__north_m=-60.0,
    )
    do = {step.kind: step.do for step in evening(plan).steps}
    assert "fly out 50 m on 037°" in do["take_off"]  # 3-4-5 triangle, atan2(30, 40) = 36.9°
    assert "ly home 60 m on 000°" in do["turn_home"]
    assert "175 frames, one every 3 s" in do["first_shutter"]
    assert "Lock 1 s, ISO 100, f/1.8" in do["at_station"]


def test_now_and_next_at_the_very_second() -> None:
    table = evening(plan_of("corvane_harbour"))
    press = table.step("first_shutter")
    assert press is not None
    assert table.at(press.time_s - 0.001) is table.step("at_station")
    assert table.at(press.time_s) is press
    assert table.at(table.steps[0].time_s - 1.0) is None
    # Two minutes of sleep across the press lose nothing.
    kinds = {step.kind for step in table.between(press.time_s - 60.0, press.time_s + 60.0)}
    assert kinds == {"first_shutter"}


# ---- the evening as it really goes ----


def seen_of(plan: Plan, log: FieldLog) -> Outlook:
    memory = Memory()
    return outlook(as_seen(plan, "A", log, memory), "A", memory)


def test_the_latest_stop_counts_from_the_real_take_off() -> None:
    plan = plan_of("marrow_bend")
    planned = seen_of(plan, FieldLog())
    assert planned.take_off_s is not None
    assert planned.latest_stop_s is not None
    for late_s in (-240.0, -30.0, 45.0, 200.0):
        took_off_s = planned.take_off_s + late_s
        real = seen_of(plan, FieldLog(took_off_s=took_off_s))
        assert real.take_off_s == pytest.approx(took_off_s, abs=0.01)
        assert real.latest_stop_s == pytest.approx(planned.latest_stop_s + late_s, abs=0.01)
        # Early, the craft waits for the planned press; late, it presses as soon as it can.
        assert real.press_s == pytest.approx(planned.press_s + max(late_s, 0.0), abs=0.01)


def test_waiting_in_the_air_moves_the_press_and_not_the_stop() -> None:
    plan = plan_of("marrow_bend")
    planned = seen_of(plan, FieldLog())
    assert planned.take_off_s is not None
    assert planned.flight.margin_min is not None
    log = FieldLog(took_off_s=planned.take_off_s, pressed_s=planned.press_s + 90.0)
    real = seen_of(plan, log)
    assert real.press_s == pytest.approx(planned.press_s + 90.0, abs=0.01)
    assert real.latest_stop_s == pytest.approx(planned.latest_stop_s, abs=0.01)
    assert real.flight.margin_min == pytest.approx(planned.flight.margin_min - 1.5, abs=0.01)


def test_a_press_without_a_noted_take_off_moves_the_take() -> None:
    plan = plan_of("marrow_bend")
    planned = seen_of(plan, FieldLog())
    real = seen_of(plan, FieldLog(pressed_s=planned.press_s + 60.0))
    assert real.last_frame_s == pytest.approx(planned.last_frame_s + 60.0, abs=0.01)
    # No plan can hold a press of another day: it stays as it was.
    assert seen_of(plan, FieldLog(pressed_s=planned.press_s + 90_000.0)).press_s == planned.press_s


def test_a_log_is_kept_and_read_again() -> None:
    log = FieldLog(took_off_s=1.5e9, lamps_s=1.5e9 - 60.0, ticked=("focus", "card"))
    assert log_of(log_text(log)) == log
    assert log_of("half a li") == FieldLog()
    assert log_of("") == FieldLog()
    assert log.in_the_air
    assert not FieldLog(took_off_s=1.0, down_s=2.0).in_the_air


def test_a_log_is_told_in_the_order_of_the_clock() -> None:
    seen = evening(plan_of("marrow_bend")).seen
    off_s = seen.press_s - 300.0
    log = FieldLog(took_off_s=off_s, pressed_s=seen.press_s, lamps_s=seen.press_s - 60.0)
    at = {t: clock(seen, t) for t in (off_s, seen.press_s - 60.0, seen.press_s)}
    took, lamps, pressed = at.values()
    assert log_words(log, seen.night) == f"Took off {took}; lamps {lamps}; pressed {pressed}."
    assert log_words(FieldLog(), seen.night) == ""
