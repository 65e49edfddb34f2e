"""Nights side by side on the clock: hours, ranges, changes of the clocks, the land's tone."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from core.edit import new_plan, with_values
from core.forecast import outlook
from core.memory import Memory
from core.nights import NightSeen, plan_of_night
from core.nightyear import clock_changes, clock_hours, clock_range_h, has_event, runs, year_tones
from core.plan import Plan, Twilight
from tests.manynights import nights


def plan_at(latitude_deg: float, longitude_deg: float, zone: str) -> Plan:
    return new_plan("Long Slip", latitude_deg, longitude_deg, dt.date(2026, 3, 29), zone)


def seen_from(
    plan: Plan, first: dt.date, days: int, twilight: Twilight = "dusk"
) -> tuple[NightSeen, ...]:
    return nights(plan, "A", first, first + dt.timedelta(days=days - 1), twilight)


def test_hours_are_those_of_the_clock_on_the_wall() -> None:
    plan = plan_at(60.1, 24.9, "Europe/Helsinki")
    for seen in seen_from(plan, dt.date(2026, 3, 28), 3):
        event = seen.night.clock(seen.night.event.time_s)
        hours = event.hour + event.minute / 60.0 + event.second / 3600.0
        assert clock_hours(seen, seen.night.event.time_s) == pytest.approx(hours, abs=1e-3)


def test_hours_run_on_past_midnight_and_before_it() -> None:
    plan = plan_at(66.2, 25.3, "Europe/Helsinki")
    (dusk,) = seen_from(plan, dt.date(2026, 5, 10), 1)
    assert dusk.latest_s is not None
    assert dusk.night.clock(dusk.latest_s).date() == dt.date(2026, 5, 11)
    assert clock_hours(dusk, dusk.latest_s) > 24.0
    # In early June the sun rises there before midnight: on the date before.
    (dawn,) = seen_from(plan_at(65.5, 25.0, "Europe/Helsinki"), dt.date(2026, 5, 10), 1, "dawn")
    before_s = dawn.night.event.time_s - 6.0 * 3600.0
    assert clock_hours(dawn, before_s) < 0.0


def test_all_events_and_starts_stand_within_the_range() -> None:
    plan = plan_at(66.2, 25.3, "Europe/Helsinki")
    seen = seen_from(plan, dt.date(2026, 4, 20), 60)
    first_h, last_h = clock_range_h(seen)
    assert 4.0 <= last_h - first_h <= 24.0
    for night in seen:
        instants = [night.earliest_s, night.latest_s]
        instants += [night.night.event.time_s] if has_event(night) else []
        for at_s in instants:
            assert at_s is None or first_h <= clock_hours(night, at_s) <= last_h


def test_polar_nights_alone_have_a_range_too() -> None:
    seen = seen_from(plan_at(70.4, 23.5, "Europe/Oslo"), dt.date(2026, 6, 20), 3)
    assert not any(has_event(night) for night in seen)
    first_h, last_h = clock_range_h(seen)
    assert first_h < clock_hours(seen[0], seen[0].nearest_s) < last_h


def test_clocks_change_before_the_dusk_of_their_day() -> None:
    # European Union directive 2000/84/EC: the last Sundays of March and October.
    plan = plan_at(38.2, 15.5, "Europe/Rome")
    seen = seen_from(plan, dt.date(2026, 3, 25), 230)
    found = [(str(seen[one.index].night.date), one.forward_h) for one in clock_changes(seen)]
    assert found == [("2026-03-29", 1.0), ("2026-10-25", -1.0)]
    # Lord Howe Island moves by half an hour (IANA database, Australia/Lord_Howe).
    island = seen_from(plan_at(-31.5, 159.1, "Australia/Lord_Howe"), dt.date(2026, 4, 3), 4)
    assert [one.forward_h for one in clock_changes(island)] == [-0.5]


def test_runs_are_parted_where_a_night_fails() -> None:
    seen = seen_from(plan_at(38.2, 15.5, "Europe/Rome"), dt.date(2026, 3, 1), 6)
    odd = {seen[k].night.date for k in (0, 1, 4)}
    assert runs(seen, lambda one: one.night.date in odd) == ((0, 1), (4, 4))
    assert runs(seen, lambda _one: False) == ()


@pytest.mark.parametrize("twilight", ["dusk", "dawn"])
def test_the_shade_is_the_lands_tone_of_the_forecast(twilight: Twilight) -> None:
    """Without lamps and with the moon down, the forecast's land is what is shaded."""
    plan = plan_at(50.0, 0.0, "UTC")
    plan = with_values(plan, {"ground.lamps.luminance_cd_m2": 0.0})
    seen = seen_from(plan, dt.date(2026, 3, 18), 2, twilight)
    tones = year_tones(plan, "A", seen)
    assert tones.land_stops.shape == (2, len(tones.clock_h))
    for night, stops in zip(seen, tones.land_stops, strict=True):
        alone = outlook(plan_of_night(plan, "A", night.night.date, twilight), "A", Memory())
        at_s = alone.night.event.time_s + (1.0 if twilight == "dusk" else -1.0) * 1800.0
        expected = float(alone.light.at("land_log2", at_s)) - alone.mid
        found = float(np.interp(clock_hours(night, at_s), tones.clock_h, stops))
        # The picture reads straight lines over a quarter of an hour.
        assert found == pytest.approx(expected, abs=0.25)
