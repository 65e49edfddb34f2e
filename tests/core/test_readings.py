"""Readings on site: how they move a night's light, its starts, and nothing else."""

from __future__ import annotations

import datetime as dt
from typing import Any

import msgspec
import numpy as np
import pytest

from core.edit import with_values
from core.forecast import belief, outlook, starts
from core.memory import Memory
from core.outlook import Outlook
from core.plan import Learned, Part, Plan, Reading, Shoot
from core.readings import expected_tone, unread
from tests.dusk import december_plan

PLAN = december_plan()
SEEN = outlook(PLAN, "A", Memory())
BEFORE_MIN = 8.0


def reading(part: Part, off: float, sigma: float = 0.1, minutes: float = BEFORE_MIN) -> Reading:
    """A part read some minutes before the press, so many stops off what was expected."""
    time_s = SEEN.press_s - minutes * 60.0
    curves = {
        "street": SEEN.evening.street_log2,
        "land": SEEN.evening.land_log2,
        "sky": SEEN.evening.sky_log2,
    }
    expected = float(np.interp(time_s, SEEN.evening.time_s, curves[part])) - SEEN.mid
    shoot = PLAN.shoots.A
    return Reading(
        time=SEEN.night.clock(time_s).isoformat(), part=part, stops=expected + off,
        sigma_stops=sigma, shutter_s=shoot.shutter_s, iso=shoot.iso, f_number=shoot.f_number,
        nd_stops=shoot.nd_stops,
    )  # fmt: skip


def fields_of(value: Reading) -> dict[str, Any]:
    return {name: getattr(value, name) for name in value.__struct_fields__}


def read(*readings: Reading, plan: Plan = PLAN) -> Outlook:
    return outlook(msgspec.structs.replace(plan, readings=readings), "A", Memory())


def land(seen: Outlook) -> float:
    return float(seen.tones.land.stops[0])


def test_a_reading_as_expected_moves_nothing_and_makes_everything_surer() -> None:
    seen = read(reading("land", 0.0), reading("sky", 0.0), reading("street", 0.0))
    assert seen.tones.land.stops == pytest.approx(SEEN.tones.land.stops, abs=0.02)
    assert seen.tones.sky.limit_stops == pytest.approx(
        SEEN.tones.sky.limit_stops, abs=0.02, nan_ok=True
    )
    assert np.all(seen.tones.land.sigma_stops < SEEN.tones.land.sigma_stops)
    assert np.all(seen.tones.street.sigma_stops < SEEN.tones.street.sigma_stops)


@pytest.mark.parametrize("off", [-1.0, 0.6])
def test_a_sharp_reading_of_the_land_moves_land_and_sky_with_it(off: float) -> None:
    seen = read(reading("land", off))
    assert land(seen) - land(SEEN) == pytest.approx(off, abs=0.15)
    moved = np.nanmean(seen.tones.sky.limit_stops - SEEN.tones.sky.limit_stops)
    assert 0.3 * abs(off) < np.sign(off) * moved < 1.7 * abs(off)


def test_lamps_that_show_brighter_move_the_street_by_night_alone() -> None:
    seen = read(reading("street", 1.0, minutes=-40.0))
    assert seen.light.belief.of("lamps") > 0.8
    assert abs(land(seen) - land(SEEN)) < 0.1


def test_a_reading_speaks_of_its_own_twilight_only() -> None:
    made = msgspec.structs.replace(PLAN, readings=(reading("land", -1.0),))
    for change in (
        {"shoots.A.date": PLAN.shoots.A.date + dt.timedelta(days=1)},
        {"shoots.A.twilight": "dawn"},
    ):
        told, untold = (with_values(plan, change) for plan in (made, PLAN))
        assert land(outlook(told, "A", Memory())) == land(outlook(untold, "A", Memory()))


def test_a_reading_keeps_its_luminance_when_a_slider_moves() -> None:
    told = msgspec.structs.replace(PLAN, readings=(reading("land", -1.0),))
    memory = Memory()
    for changed in (told, with_values(told, {"shoots.A.shutter_s": 0.25})):
        shoot: Shoot = changed.shoots.A
        assert belief(changed, shoot, memory) == belief(told, told.shoots.A, memory)


def test_a_darker_evening_moves_the_good_starts_earlier_and_makes_them_surer() -> None:
    memory = Memory()
    told = msgspec.structs.replace(PLAN, readings=(reading("land", -0.3),))
    before, after = starts(PLAN, "A", memory), starts(told, "A", memory)
    assert after.nearest_s < before.nearest_s
    assert after.latest_s is not None
    assert before.latest_s is not None
    assert after.latest_s < before.latest_s
    assert after.p_hold.max() > before.p_hold.max()


def test_the_minute_of_the_lamps_follows_the_weather_that_was_read() -> None:
    seen = read(reading("land", -1.0))
    assert SEEN.light.lamps_on_s is not None
    assert seen.light.lamps_on_s is not None
    assert seen.light.lamps_on_s < SEEN.light.lamps_on_s


@pytest.mark.parametrize("day", [21, 22])
@pytest.mark.parametrize(("part", "off"), [("land", -0.7), ("sky", -0.4), ("sky", 0.4)])
def test_a_sharp_reading_by_moonlight_is_what_the_forecast_then_shows(
    day: int, part: Part, off: float
) -> None:
    # Full moon of 24 December 2026, 01:28 UTC (published almanacs, from memory).
    plan = with_values(PLAN, {"shoots.A.date": dt.date(2026, 12, day)})
    held = outlook(plan, "A", Memory())
    time = held.night.clock(held.night.event.time_s + 70.0 * 60.0).isoformat()
    blank = Reading(time=time, part=part, stops=0.0, sigma_stops=0.02)
    expected = expected_tone(blank, plan, held)
    assert expected is not None
    made = msgspec.structs.replace(blank, stops=expected[0] + off)
    told = expected_tone(made, plan, read(made, plan=plan))
    assert told is not None
    assert told[0] == pytest.approx(made.stops, abs=0.02)


def test_what_a_reading_should_show_is_what_the_curve_of_the_evening_shows() -> None:
    """A sky with moonlight on it rises by its twilight alone."""
    plan = with_values(PLAN, {"shoots.A.date": dt.date(2026, 12, 22)})
    learned = Learned(name="level_stops", value=0.8, sigma=0.1, unit="stops", scope="place")
    seen = outlook(msgspec.structs.replace(plan, learned=(learned,)), "A", Memory())
    time_s = float(seen.evening.time_s[int(np.nanargmax(seen.evening.time_s >= seen.press_s)) + 40])
    blank = Reading(time=seen.night.clock(time_s).isoformat(), part="sky", stops=0.0)
    expected = expected_tone(blank, plan, seen)
    assert expected is not None
    curve = float(np.interp(time_s, seen.evening.time_s, seen.evening.sky_log2)) - seen.mid
    assert expected[0] == pytest.approx(curve, abs=0.01)


def test_why_a_reading_carries_nothing_does_not_hang_on_what_was_read_before() -> None:
    """A dark land brings the lamps forward as held, not as typed: one rule for fit and window."""
    on_s = SEEN.light.lamps_on_s
    assert on_s is not None
    dark = read(reading("land", -1.0))
    assert dark.light.lamps_on_s is not None
    assert dark.light.lamps_on_s < on_s - 60.0
    # The lamps burn by what is held; by what was typed they may.
    time = SEEN.night.clock((on_s + dark.light.lamps_on_s) / 2.0).isoformat()
    blank = Reading(time=time, part="street", stops=0.0)
    for seen in (SEEN, dark):
        why = unread(blank, seen.shoot, seen.typed, seen.framesky, PLAN.bands)
        assert why == "lamps"
    assert (dark.typed.lamps_on_s, SEEN.typed.lamps_on_s) == (on_s, on_s)


def test_a_sky_that_the_path_does_not_see_carries_nothing() -> None:
    down = with_values(PLAN, {"path.stations.0.pitch_deg": -80, "path.stations.1.pitch_deg": -80})
    told = msgspec.structs.replace(down, readings=(reading("sky", 2.0),))
    assert land(outlook(told, "A", Memory())) == land(outlook(down, "A", Memory()))


def test_a_street_read_just_before_the_lamps_are_due_says_nothing_of_the_daylight() -> None:
    assert SEEN.light.lamps_on_s is not None
    minutes = (SEEN.press_s - SEEN.light.lamps_on_s) / 60.0 + 2.0
    told = msgspec.structs.replace(PLAN, readings=(reading("street", 1.5, minutes=minutes),))
    assert belief(told, told.shoots.A, Memory()).of("level") == 0.0


def test_a_sky_read_along_the_path_is_the_same_whichever_way_it_is_flown() -> None:
    first = Reading(**(fields_of(reading("sky", 0.6)) | {"path_share": 0.9}))
    told = msgspec.structs.replace(PLAN, readings=(first,))
    turned = with_values(told, {"shoots.A.path_reversed": True})
    one, other = (belief(plan, plan.shoots.A, Memory()) for plan in (told, turned))
    assert one.mean == pytest.approx(other.mean, abs=0.02)
    assert one.of("sky") > 0.05


def test_a_reading_without_settings_keeps_those_that_shoot_a_had() -> None:
    bare = with_values(
        PLAN, {"readings": [{"time": reading("land", 0.0).time, "part": "land", "stops": -1.0}]}
    )
    moved = with_values(bare, {"shoots.A.shutter_s": 0.25, "shoots.A.iso": 400.0})
    assert moved.readings == bare.readings
    assert moved.readings[0].shutter_s == PLAN.shoots.A.shutter_s


def test_what_another_take_taught_stands_in_until_that_night_is_read_afresh() -> None:
    learned = Learned(
        name="lamps_stops", value=-0.7, sigma=0.2, unit="stops", scope="place", take_id="t1"
    )
    taught = msgspec.structs.replace(PLAN, learned=(learned,))
    held = belief(taught, taught.shoots.A, Memory())
    assert (held.of("lamps"), held.sigma_of("lamps")) == pytest.approx((-0.7, 0.2))
    nightly = msgspec.structs.replace(learned, name="weather_stops", scope="night")
    other = msgspec.structs.replace(PLAN, learned=(nightly,))
    assert belief(other, other.shoots.A, Memory()).of("weather") == 0.0


def test_a_memory_shared_between_plans_never_mixes_them_up() -> None:
    memory = Memory()
    for off in (-1.0, 0.0, 0.7, -1.0):
        told = msgspec.structs.replace(PLAN, readings=(reading("land", off),))
        assert land(outlook(told, "A", memory)) == land(outlook(told, "A", Memory()))
        assert np.array_equal(starts(told, "A", memory).p_hold, starts(told, "A", Memory()).p_hold)
