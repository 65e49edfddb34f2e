"""Many nights: each is the forecast of its night, wherever it lies."""

from __future__ import annotations

import datetime as dt
import re
import threading
from pathlib import Path
from typing import Any

import msgspec
import numpy as np
import pytest

from app.resources import demo_sites
from core.edit import PlanError, new_plan, with_values
from core.forecast import forecast, outlook
from core.lightwords import no_span_reason
from core.memory import Memory
from core.nights import MOST_NIGHTS, NightSeen, night_changes, nights_between, plan_of_night
from core.nightsreport import flag_words, night_rows, nights_page, nights_report
from core.plan import Plan, Twilight
from core.planfile import load
from tests.dusk import december_plan
from tests.manynights import nights
from tests.reference.test_sun_events import year_table

NEW_YEAR = dt.date(2026, 1, 1)
TWILIGHTS: tuple[Twilight, ...] = ("dusk", "dawn")
PLACES = {
    "equator": (0.0, 9.0, "Africa/Libreville"),
    "38 N": (38.2, 15.5, "Europe/Rome"),
    "60 N": (60.1, 24.9, "Europe/Helsinki"),
    "66 N": (66.2, 25.3, "Europe/Helsinki"),
    "70 N": (70.4, 23.5, "Europe/Oslo"),
    "55 S": (-54.9, -67.6, "America/Punta_Arenas"),
}
SWITCHES: tuple[dict[str, Any], ...] = (
    {"ground.lamps.switching.kind": "level"},
    {"ground.lamps.switching.kind": "clock", "ground.lamps.switching.on_time": "17:20"},
    {"ground.lamps.switching.kind": "offset"},
    {"ground.lamps.luminance_cd_m2": 0.0},
)


def at_place(name: str) -> Plan:
    latitude, longitude, zone = PLACES[name]
    return new_plan("Long Slip", latitude, longitude, NEW_YEAR, zone)


def day(number: int) -> dt.date:
    return NEW_YEAR + dt.timedelta(days=number)


def seen_on(
    plan: Plan, date: dt.date, twilight: Twilight, memory: Memory | None = None
) -> NightSeen:
    (seen,) = nights(plan, "A", date, date, twilight, memory)
    return seen


def check_like_forecast(plan: Plan, seen: NightSeen) -> None:
    """Every figure of a night is that of the forecast asked for that night alone."""
    night = seen.night
    alone = forecast(plan_of_night(plan, "A", night.date, night.twilight), "A", Memory())
    starts = alone.starts
    assert night.event.name == alone.outlook.night.event.name
    assert night.event.time_s == pytest.approx(alone.outlook.night.event.time_s, abs=0.01)
    assert night.reason == alone.outlook.night.reason
    for name in ("earliest_s", "latest_s", "best_s", "nearest_s"):
        expected, found = getattr(starts, name), getattr(seen, name)
        assert (found is None) == (expected is None), name
        assert expected is None or found == pytest.approx(expected, abs=1e-3), name
    start_s = starts.nearest_s if starts.best_s is None else starts.best_s
    at = int(np.abs(starts.time_s - start_s).argmin())
    assert seen.slack_stops == pytest.approx(starts.slack_stops[at], abs=1e-4)
    assert seen.limit == starts.limit_at(start_s)
    if starts.best_s is not None:
        assert seen.p_hold == pytest.approx(starts.p_hold[at], abs=1e-4)
    assert seen.reason == no_span_reason(alone.outlook.night, starts)
    assert seen.max_frames == alone.outlook.flight.max_frames
    light = alone.outlook.light
    fall = light.at("land_log2", start_s - 150.0) - light.at("land_log2", start_s + 150.0)
    assert seen.decay_stops_per_min == pytest.approx(float(fall) / 5.0, abs=1e-4)


@pytest.mark.parametrize("twilight", TWILIGHTS)
@pytest.mark.parametrize("place", PLACES)
def test_a_night_is_the_forecast_of_that_night(place: str, twilight: Twilight) -> None:
    memory = Memory()
    for k, number in enumerate(range(5, 365, 40)):
        plan = with_values(at_place(place), SWITCHES[k % len(SWITCHES)])
        check_like_forecast(plan, seen_on(plan, day(number), twilight, memory))


@pytest.mark.parametrize("site", demo_sites(), ids=lambda path: path.stem)
def test_the_ready_plans_too(site: Path) -> None:
    plan = load(site)
    for twilight in TWILIGHTS:
        for number in (20, 140, 260):
            check_like_forecast(plan, seen_on(plan, day(number), twilight))


@pytest.mark.parametrize(
    "values",
    [
        {"place.skyline": [[0.0, 3.0], [180.0, 9.0], [270.0, 14.0]]},
        {"shoots.A.conditions.cloud_okta": 8.0},
        {"shoots.A.path_reversed": True, "bands.lamps_wanted": True},
        {"bands.excused_share": 0.0, "shoots.A.clip_length_s": 1.0},
        {"shoots.A.clip_length_s": 40.0, "shoots.A.interval_s": 10.0},
        {"shoots.A.iso": 1600, "shoots.A.shutter_s": 2.0},
    ],
)
def test_other_plans_too(values: dict[str, Any]) -> None:
    plan = with_values(december_plan(), values)
    for twilight in TWILIGHTS:
        for number in (60, 200, 338):
            check_like_forecast(plan, seen_on(plan, day(number), twilight))


def test_what_was_read_and_learned_counts_as_in_the_forecast() -> None:
    learned = {"name": "lamps_stops", "value": 0.6, "sigma": 0.3, "unit": "stops", "scope": "place"}
    reading = {"time": "2026-12-05T17:00:00+00:00", "part": "land", "stops": 1.0}
    plan = with_values(december_plan(), {"learned": [learned], "readings": [reading]})
    for seen in nights(plan, "A", dt.date(2026, 12, 4), dt.date(2026, 12, 6), "dusk"):
        check_like_forecast(plan, seen)
    date = dt.date(2026, 12, 4)
    assert seen_on(plan, date, "dusk").p_hold != seen_on(december_plan(), date, "dusk").p_hold


def test_polar_day_and_night_are_answered_with_a_reason() -> None:
    summer = seen_on(at_place("70 N"), dt.date(2026, 6, 21), "dusk")
    winter = seen_on(at_place("70 N"), dt.date(2026, 12, 21), "dawn")
    assert (summer.night.event.name, winter.night.event.name) == ("midnight", "noon")
    for seen in (summer, winter):
        assert seen.night.reason is not None
        assert "no_event" in seen.flags


@pytest.mark.parametrize("first", [dt.date(2026, 11, 18), dt.date(2026, 5, 12)])
def test_where_the_polar_night_or_day_begins_the_event_is_that_of_one_night(first: dt.date) -> None:
    plan, last = at_place("70 N"), first + dt.timedelta(days=8)
    found = set()
    for seen in nights(plan, "A", first, last, "dusk"):
        alone = outlook(plan_of_night(plan, "A", seen.night.date, "dusk"), "A", Memory()).night
        assert seen.night.event.name == alone.event.name
        assert seen.night.event.time_s == pytest.approx(alone.event.time_s, abs=0.01)
        found.add(alone.event.name)
    assert len(found) == 2


def test_clock_changes_stand_on_their_days() -> None:
    # European Union directive 2000/84/EC: the last Sundays of March and October.
    plan = at_place("38 N")
    seen = nights(plan, "A", dt.date(2026, 3, 25), dt.date(2026, 11, 1), "dusk")
    changed = [night for night in seen if "clock_change" in night.flags]
    assert [str(night.night.date) for night in changed] == ["2026-03-29", "2026-10-25"]
    offsets = {night.night.date: night.utc_offset_s for night in seen}
    assert offsets[dt.date(2026, 3, 28)] == 3600.0
    assert offsets[dt.date(2026, 3, 29)] == 7200.0
    page = nights_page(plan, "A", seen)
    assert page.count("clocks are put forward 60 min on this day") == 1
    assert page.count("clocks are put back 60 min on this day") == 1


def test_a_take_past_midnight_is_flagged_and_ordered() -> None:
    plan = at_place("66 N")
    seen = nights(plan, "A", dt.date(2026, 5, 10), dt.date(2026, 8, 1), "dusk")
    late = [night for night in seen if "past_midnight" in night.flags]
    assert 0 < len(late) < len(seen)
    shooting_s = outlook(plan, "A", Memory()).clip.shooting_s
    for night in late:
        assert night.earliest_s is not None
        assert night.latest_s is not None
        assert night.earliest_s <= night.latest_s
        assert night.night.clock(night.latest_s + shooting_s).date() > night.night.date


def test_a_repeat_a_week_later_moves_by_the_suns_own_minutes() -> None:
    # Without lamps and moon the light follows the sun alone. Spherical astronomy, about the
    # equinox: the declination grows by 0.395 deg a day, sunset moves by its tangent times
    # tan 50 deg, 1.88 min a day, and noon comes 0.29 min a day earlier: 11.1 min a week.
    plan = new_plan("Ebb Row", 50.0, 0.0, dt.date(2026, 3, 16), "UTC")
    plan = with_values(plan, {"ground.lamps.luminance_cd_m2": 0.0})
    first, *_, second = nights(plan, "A", dt.date(2026, 3, 16), dt.date(2026, 3, 23), "dusk")
    sun_min = (second.night.event.time_s - first.night.event.time_s) / 60.0 - 7 * 1440.0
    assert sun_min == pytest.approx(11.1, abs=0.4)
    start_min = (second.nearest_s - first.nearest_s) / 60.0 - 7 * 1440.0
    assert start_min == pytest.approx(sun_min, abs=0.7)


def test_sunsets_and_sunrises_of_a_year_against_the_observatory() -> None:
    # US Naval Observatory, Rise and Set for the Sun for 2007, Atlanta (W084 25, N33 46).
    table = year_table("riset_sun.txt", 2007, 5)
    plan = new_plan("Brick Yard", 33 + 46 / 60, -(84 + 25 / 60), NEW_YEAR, "Etc/GMT+5")
    for kind, twilight in zip(("set", "rise"), TWILIGHTS, strict=True):
        seen = nights(plan, "A", dt.date(2007, 1, 1), dt.date(2007, 12, 31), twilight)
        late = [night.night.event.time_s - table[kind][night.night.date] for night in seen]
        assert len(late) == 365
        # The table is rounded to the minute; the sun's own bound of 0.0153 deg is 5 s here.
        assert max(np.abs(late)) < 35.0


def test_the_moons_share_at_full_and_new_moon() -> None:
    # Full moon 2026-03-03 11:38 UT, new moon 2026-03-19 01:23 UT (an almanac, from memory).
    full = seen_on(at_place("38 N"), dt.date(2026, 3, 3), "dusk")
    new = seen_on(at_place("38 N"), dt.date(2026, 3, 18), "dusk")
    assert full.moon_share > 0.99
    assert new.moon_share < 0.01
    assert "moon" not in new.flags
    assert ("moon" in full.flags) == full.moon_up


def test_land_grows_dark_at_dusk_and_light_at_dawn() -> None:
    for twilight, sign in zip(TWILIGHTS, (1.0, -1.0), strict=True):
        for seen in nights(at_place("38 N"), "A", day(30), day(33), twilight):
            # Clear twilight at mid latitudes: half a stop a minute at most.
            assert 0.0 < sign * seen.decay_stops_per_min < 0.6


def test_a_night_loads_into_a_shoot_at_its_best_start() -> None:
    plan = december_plan()
    seen = seen_on(plan, dt.date(2026, 12, 7), "dusk")
    assert seen.best_s is not None
    loaded = with_values(plan, msgspec.to_builtins(night_changes("B", seen)))
    found = outlook(loaded, "B", Memory())
    assert found.night.date == seen.night.date
    assert found.press_s == pytest.approx(seen.best_s, abs=0.01)


def test_two_threads_with_memories_of_their_own_agree() -> None:
    plan, found = december_plan(), {}

    def run(number: int) -> None:
        found[number] = nights_report(nights(plan, "A", day(300), day(304), "dusk", Memory()))

    threads = [threading.Thread(target=run, args=(k,)) for k in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert found[0] == found[1]


def test_a_memory_that_knows_another_plan_gives_the_same_answers() -> None:
    memory, plan = Memory(), december_plan()
    other = with_values(plan, {"shoots.A.conditions.haze_aod": 0.3, "place.latitude_deg": 45.0})
    nights(other, "A", day(300), day(301), "dusk", memory)
    again = nights(plan, "A", day(300), day(301), "dusk", memory)
    assert night_rows(again) == night_rows(nights(plan, "A", day(300), day(301), "dusk"))


def test_a_range_that_cannot_be_answered_is_refused() -> None:
    with pytest.raises(PlanError, match="swap the dates"):
        nights_between(day(2), day(1))
    with pytest.raises(PlanError, match=f"{MOST_NIGHTS} at most"):
        nights_between(day(0), day(MOST_NIGHTS))
    with pytest.raises(PlanError, match="2099"):
        nights_between(dt.date(2100, 1, 1), dt.date(2100, 1, 1))


def test_each_flag_stands_on_its_nights() -> None:
    """What is known of a night: an almanac's facts, from memory but for the sun's geometry."""
    midsummer, midwinter = dt.date(2026, 6, 21), dt.date(2026, 12, 21)
    # The sun at midnight is latitude + 23.4 deg - 90 deg high: -6.5 deg at 60.1 N is civil dusk
    # all but reached; -0.4 deg at 66.2 N is not.
    flags = {
        (place, date): set(seen_on(at_place(place), date, "dusk").flags)
        for place in ("38 N", "66 N", "70 N")
        for date in (midsummer, midwinter)
    }
    assert not flags["38 N", midsummer] & {"no_event", "no_civil_end", "no_start", "battery"}
    assert "no_civil_end" in flags["66 N", dt.date(2026, 6, 21)]
    assert {"no_event", "no_civil_end"} <= flags["70 N", midsummer]
    assert "no_event" in flags["70 N", midwinter]
    assert "no_civil_end" not in flags["70 N", midwinter]


def test_civil_twilight_ends_where_the_forecast_has_its_moment() -> None:
    plan = at_place("60 N")
    north = with_values(plan, {"place.latitude_deg": 60.9})
    for seen in nights(north, "A", dt.date(2026, 5, 25), dt.date(2026, 7, 20), "dusk"):
        whole = outlook(plan_of_night(north, "A", seen.night.date, "dusk"), "A", Memory()).night
        ends = any(moment.name == "civil" for moment in whole.moments)
        # Next to the night on which it fails, the sun's lowest and solar midnight part.
        near = abs(float(whole.sun(whole.darkest_s)[0]) + 6.0) < 0.01
        assert near or ("no_civil_end" in seen.flags) != ends, seen.night.date


def test_a_clip_beyond_the_battery_is_flagged_on_every_night_and_told_once() -> None:
    plan = with_values(december_plan(), {"shoots.A.clip_length_s": 60.0})
    seen = nights(plan, "A", day(338), day(340), "dusk")
    assert all("battery" in night.flags for night in seen)
    assert all(night.clip_length_s is not None and night.clip_length_s < 60.0 for night in seen)
    assert nights_page(plan, "A", seen).count("battery") == 1
    windy = with_values(plan, {"shoots.A.conditions.wind_10m_m_s": 30.0})
    (grounded,) = nights(windy, "A", day(338), day(338), "dusk")
    assert grounded.max_frames is None
    assert "the flight cannot be flown" in flag_words(grounded)


def test_a_night_without_a_start_says_what_fails_and_by_how_much() -> None:
    plan = with_values(december_plan(), {"shoots.A.iso": 1600, "shoots.A.shutter_s": 2.0})
    (seen,) = nights(plan, "A", day(338), day(338), "dusk")
    assert seen.best_s is None
    assert re.search(r"(burns|dark), \d+(\.\d)? stops? short", flag_words(seen))


def test_a_night_loads_at_another_start_too() -> None:
    plan = december_plan()
    seen = seen_on(plan, dt.date(2026, 12, 7), "dusk")
    start_s = seen.night.event.time_s + 1234.0
    loaded = with_values(plan, msgspec.to_builtins(night_changes("A", seen, start_s)))
    assert outlook(loaded, "A", Memory()).press_s == pytest.approx(start_s, abs=0.01)
