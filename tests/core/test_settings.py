"""The settings that are listed: they hold as told, obey camera and battery, and suit the trade."""

from __future__ import annotations

import dataclasses
import datetime as dt
import random
from typing import Any

import numpy as np
import pytest

from core.candidates import starts_tried_s
from core.chance import chances_of
from core.clip import most_frames
from core.edit import PlanError, new_plan, with_values
from core.forecast import forecast, outlook, starts
from core.memory import Memory
from core.plan import Plan
from core.preferences import Preferences, preferences_from
from core.scales import scale_of
from core.settings import AIMS, Aim, Choice, Wish, apply_choice, settings_of
from core.sights import exposed, sights_of, view_along
from core.starts import starts_window_s
from core.tradeoff import trade_off
from tests.dusk import december_plan

#: Long enough for 15 minutes of take.
LASTING = {"craft__rated_min": 40.0}


def random_plan(seed: int) -> Plan:
    """Draw a plan with a whole camera round a dusk or a dawn anywhere."""
    draw = random.Random(seed)  # noqa: S311
    date = dt.date(2026, 1, 1) + dt.timedelta(days=draw.randrange(365))
    place = draw.uniform(-64.0, 64.0), draw.uniform(-180.0, 180.0)
    values: dict[str, Any] = {
        "shoots.A.twilight": draw.choice(["dusk", "dawn"]),
        "shoots.A.frame_rate_fps": draw.choice([24.0, 25.0, 30.0]),
        "shoots.A.path_reversed": draw.random() < 0.5,
        "shoots.A.battery_start_percent": draw.choice([100.0, 80.0]),
        "shoots.A.conditions.cloud_okta": draw.uniform(0.0, 8.0),
        "shoots.A.conditions.haze_aod": draw.uniform(0.05, 0.4),
        "camera.f_numbers": draw.choice([[1.7], [2.8, 4.0, 5.6, 8.0, 11.0]]),
        "camera.highlight_stops": draw.choice([2.8, 3.26]),
        "craft.rated_min": draw.choice([22.0, 30.0, 46.0]),
        "path.timing": draw.choice(["minimum_jerk", "constant_middle"]),
        "bands.lamps_wanted": draw.random() < 0.3,
        "bands.excused_share": draw.choice([0.0, 0.05, 0.2]),
    }
    return with_values(new_plan("Anywhere", *place, date, "UTC"), values)


def after_sunset(plan: Plan, minutes: float) -> Wish:
    """A wish for one start alone."""
    at_s = outlook(plan, "A", Memory()).night.event.time_s + 60.0 * minutes
    return Wish(earliest_s=at_s, latest_s=at_s)


def check_listed(plan: Plan, wish: Wish, choice: Choice, memory: Memory) -> None:
    """A choice applied shows the figures that were told, and fits camera, battery and wish."""
    applied = apply_choice(plan, "A", choice)
    seen = forecast(applied, "A", memory)
    outlook_then, camera = seen.outlook, plan.camera
    assert outlook_then.press_s == pytest.approx(choice.start_s, abs=1e-3)
    assert outlook_then.judgement.slack_stops == pytest.approx(choice.slack_stops, abs=1e-6)
    assert outlook_then.judgement.limit == choice.limit
    assert seen.starts.chance_at(outlook_then.press_s) == pytest.approx(choice.p_hold, abs=1e-5)
    assert outlook_then.tones.mixed_light.mean() == pytest.approx(choice.mixed_light_share)
    assert outlook_then.clip.frames == choice.frames
    assert outlook_then.clip.shutter_angle_deg == pytest.approx(choice.shutter_angle_deg)
    assert outlook_then.flight.margin_min == pytest.approx(choice.margin_min)
    assert choice.slack_stops >= 0.0
    assert outlook_then.flight.fits
    assert outlook_then.clip.write != "skips"
    for key in ("interval_s", "shutter_s", "iso", "f_number", "nd_stops"):
        assert getattr(choice, key) in scale_of(camera, key)
    assert choice.start_s >= (wish.earliest_s or -np.inf)
    assert choice.start_s <= (wish.latest_s or np.inf)
    if wish.aim == "minute" and wish.moment_s is not None:
        end_s = choice.start_s + outlook_then.clip.shooting_s
        assert choice.start_s <= wish.moment_s <= end_s


@pytest.mark.parametrize("seed", range(24))
def test_what_is_listed_is_what_the_window_shows_with_it(seed: int) -> None:
    plan, memory = random_plan(seed), Memory(40)
    seen = outlook(plan, "A", memory)
    draw = random.Random(seed)  # noqa: S311
    first_s, last_s = starts_window_s(seen.night, seen.light)
    moment_s = draw.uniform(first_s, last_s)
    bounds = draw.choice([(None, None), (moment_s - 1200.0, moment_s + 900.0), (moment_s,) * 2])
    wish = Wish(AIMS[seed % 4], *bounds, moment_s=moment_s + 60.0)
    found = settings_of(plan, "A", memory, wish)
    assert (found.reason is None) == bool(found.choices)
    assert [c.points for c in found.choices] == sorted(c.points for c in found.choices)[::-1]
    for choice in found.choices[:: 2 + seed % 2]:
        check_listed(plan, wish, choice, memory)


def test_what_was_read_on_site_stays_what_it_was() -> None:
    plan, memory = december_plan(), Memory()
    night = outlook(plan, "A", memory).night
    at = night.clock(night.event.time_s + 900.0).isoformat()
    read = with_values(plan, {"readings": [{"time": at, "part": "land", "stops": 1.0}]})
    listed = settings_of(read, "A", memory, Wish()).choices
    assert listed
    for choice in listed:
        check_listed(read, Wish(), choice, memory)


def test_every_choice_differs_from_the_others() -> None:
    listed = settings_of(december_plan(), "A", Memory(), Wish()).choices
    assert len(listed) == 5
    for k, one in enumerate(listed):
        for other in listed[:k]:
            stops = (
                abs(np.log2(one.shutter_s / other.shutter_s)),
                abs(np.log2(one.iso / other.iso)),
                abs(one.nd_stops - other.nd_stops),
            )
            clip_s = abs(one.clip_length_s - other.clip_length_s)
            assert one.interval_s != other.interval_s or max(stops) > 0.9 or clip_s > 1.9
    assert len({choice.interval_s for choice in listed}) > 1


def test_nothing_is_paid_for_twice() -> None:
    # A higher ISO behind a darker filter is the same light with more noise.
    for choice in settings_of(december_plan(), "A", Memory(), Wish(), 20).choices:
        lower = {(iso, nd) for iso in (100.0, 200.0, 400.0, 800.0) for nd in (0.0, 2.0, 3.0, 4.0)
                 if iso < choice.iso
                 and np.log2(choice.iso / iso) == pytest.approx(choice.nd_stops - nd)}  # fmt: skip
        assert not lower


@pytest.mark.parametrize("aim", AIMS)
def test_each_aim_gets_the_most_of_what_it_asks_for(aim: Aim) -> None:
    plan, memory = december_plan(), Memory()
    lamps_on_s = outlook(plan, "A", memory).light.lamps_on_s
    best = {
        a: settings_of(plan, "A", memory, Wish(aim=a, moment_s=lamps_on_s), 1).choices[0]
        for a in AIMS
    }
    assert lamps_on_s is not None
    asked = {
        "surest": lambda c: c.p_hold,
        "longest": lambda c: c.clip_length_s,
        "mixed_light": lambda c: c.mixed_light_share,
        "minute": lambda c: c.start_s <= lamps_on_s <= c.start_s + (c.frames - 1) * c.interval_s,
    }
    assert asked[aim](best[aim]) >= max(asked[aim](other) for other in best.values()) - 0.02


def test_a_minute_no_take_can_hold_is_told() -> None:
    plan = december_plan()
    wish = dataclasses.replace(after_sunset(plan, 27.0), aim="minute")
    assert wish.earliest_s is not None
    found = settings_of(
        plan, "A", Memory(), dataclasses.replace(wish, moment_s=wish.earliest_s - 600.0)
    )
    assert found.choices == ()
    assert found.reason is not None
    assert found.reason.startswith("No take that may start in these hours holds 16:57")


def test_a_start_in_broad_daylight_is_not_judged() -> None:
    plan = december_plan()
    found = settings_of(plan, "A", Memory(), after_sunset(plan, -300.0))
    assert found.choices == ()
    assert "judged from" in str(found.reason)


# ---- what everyone in the trade reckons with: common practice, no source ----


def test_twenty_seven_minutes_after_sunset_one_second_every_three_is_good() -> None:
    # Common practice, no source: town below, path ending on the sunset, normal haze, f/1.7.
    plan = december_plan(**LASTING, camera__nd_stops=[0.0], camera__shutters_s=[0.25, 0.5, 1.0])
    best = settings_of(plan, "A", Memory(), after_sunset(plan, 27.0)).choices[0]
    assert (best.shutter_s, best.iso, best.interval_s) == (1.0, 100.0, 3.0)
    assert best.clip_length_s >= 12.0


def test_two_seconds_and_a_quarter_need_iso_400_or_seven_minutes() -> None:
    # Common practice, no source: the same light in the same quarter of an hour.
    fast = {"camera__nd_stops": [0.0], "camera__shutters_s": [0.25], "camera__intervals_s": [2.0]}
    plan = december_plan(**LASTING, **fast)
    wanted = Preferences(clip_length_s=18.0)
    at_27 = dataclasses.replace(after_sunset(plan, 27.0), preferences=wanted)
    held = settings_of(plan, "A", Memory(), at_27).choices
    assert 400.0 in {choice.iso for choice in held}
    assert 100.0 not in {choice.iso for choice in held}
    # Longer clip, slower and crisper traffic.
    assert max(choice.clip_length_s for choice in held) > 12.0
    assert all("crisper" in " ".join(choice.costs) for choice in held)
    base = with_values(plan, {"camera.isos": [100.0]})
    earlier = settings_of(base, "A", Memory(), Wish(preferences=wanted)).choices[0]
    slow = {"camera__isos": [100.0], "camera__shutters_s": [1.0], "camera__intervals_s": [3.0]}
    unhurried = december_plan(**LASTING, **(fast | slow))
    later = settings_of(unhurried, "A", Memory(), Wish(preferences=wanted)).choices[0]
    minutes = later.start_after_event_min - earlier.start_after_event_min
    assert minutes == pytest.approx(7.0, abs=1.5)


@pytest.mark.parametrize("seed", range(3))
def test_two_seconds_never_get_a_second(seed: int) -> None:
    # Common practice, no source: the camera would skip every other frame.
    plan = with_values(random_plan(seed), {"camera.intervals_s": [2.0]})
    for choice in settings_of(plan, "A", Memory(), Wish(), 30).choices:
        assert choice.shutter_s < 0.34


def test_seven_minutes_late_at_dusk_the_light_asks_for_more_exposure() -> None:
    # Common practice, no source.
    plan = december_plan(**LASTING)
    mids = []
    for minutes in (20.0, 27.0):
        best = settings_of(plan, "A", Memory(), after_sunset(plan, minutes)).choices[0]
        mids.append(np.log2(best.shutter_s * best.iso) - best.nd_stops)
    assert mids[1] > mids[0] + 1.0


@pytest.mark.parametrize("lamps_cd_m2", [0.0, 0.75])
def test_a_moonless_polar_night_has_no_start(lamps_cd_m2: float) -> None:
    plan = december_plan(
        place__latitude_deg=85.0,
        shoots__A__date="2026-12-09",  # new moon
        ground__lamps__luminance_cd_m2=lamps_cd_m2,
    )
    assert outlook(plan, "A", Memory()).light.lamp_output.min() == (lamps_cd_m2 > 0.0)
    found = settings_of(plan, "A", Memory(), Wish())
    assert found.choices == ()
    assert found.nearest is not None
    assert found.nearest.slack_stops < 0.0
    assert str(found.reason).startswith("No start with any settings of this camera keeps")
    assert "short because the" in str(found.reason)


def test_a_start_that_nothing_holds_is_told_with_what_comes_nearest() -> None:
    plan = december_plan(camera__isos=[100.0], camera__shutters_s=[1.0], camera__nd_stops=[0.0])
    found = settings_of(plan, "A", Memory(), after_sunset(plan, 12.0))
    assert found.choices == ()
    # Common practice, no source: too early into the sunset, and the sky burns.
    assert str(found.reason).startswith("No settings of this camera keep the light from 16:")
    assert str(found.reason).endswith("short because the sky burns.")
    assert found.nearest is not None
    seen = forecast(apply_choice(plan, "A", found.nearest), "A").outlook
    assert seen.judgement.slack_stops == pytest.approx(found.nearest.slack_stops, abs=1e-6)


def test_a_flight_that_cannot_be_flown_has_no_settings() -> None:
    plan = december_plan(shoots__A__conditions__wind_10m_m_s=30.0)
    found = settings_of(plan, "A", Memory(), Wish())
    assert found.choices == ()
    assert found.reason == outlook(plan, "A", Memory()).flight.error


def test_a_camera_too_slow_for_every_interval_is_told() -> None:
    plan = december_plan(camera__write_time_s=30.0)
    assert "write time of 30 s" in str(settings_of(plan, "A", Memory(), Wish()).reason)


# ---- preferences ----


def test_a_preference_moves_the_choice() -> None:
    plan = december_plan()
    plain = settings_of(plan, "A", Memory(), Wish()).choices[0]
    assert (plain.interval_s, plain.shutter_s) == (2.0, 0.25)
    # Who is content with 8 s of clip may have traffic that flows, every 3 s.
    short = Preferences(clip_length_s=8.0)
    other = settings_of(plan, "A", Memory(), Wish(preferences=short)).choices[0]
    assert other.interval_s == 3.0
    assert other.shutter_angle_deg >= 90.0
    assert not any("instead of" in cost for cost in other.costs)


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ({"iso_wanted": "low"}, 'iso_wanted is "low"'),
        ({"iso_wnted": 100}, "is no preference"),
        ({"iso_wanted": 800}, "up to iso_accepted"),
        ({"intervals_wanted_s": [3, 2]}, "shorter interval first"),
        ({"clip_least_s": 13}, "no longer than clip_length_s"),
        ({"shutter_accepted_s": 2}, "no longer than shutter_wanted_s"),
    ],
)
def test_a_preference_that_cannot_stand_is_refused(values: dict[str, Any], expected: str) -> None:
    with pytest.raises(PlanError, match=expected):
        preferences_from(values)


# ---- the parts ----


def test_an_exposure_is_a_darker_evening() -> None:
    plan = december_plan()
    seen = outlook(plan, "A", Memory())
    sights = sights_of(plan, seen, starts_window_s(seen.night, seen.light))
    rows = np.arange(len(sights.time_s))
    folded = exposed(sights, rows, np.full(len(rows), seen.mid))
    stops = plan.camera.highlight_stops
    assert chances_of(folded, 0.0, plan.bands, stops) == pytest.approx(
        chances_of(sights, seen.mid, plan.bands, stops), abs=1e-4
    )


def test_a_take_is_a_diagonal_through_the_evening() -> None:
    plan = december_plan()
    seen = outlook(plan, "A", Memory())
    first_s, last_s = starts_window_s(seen.night, seen.light)
    sights = sights_of(plan, seen, (first_s, last_s + 900.0))
    along = view_along(sights, np.array([seen.press_s]), 897.0)
    shares = np.linspace(0.0, 1.0, along.land_log2.shape[1])
    times = seen.press_s + 897.0 * shares
    assert along.land_log2[0] == pytest.approx(seen.light.at("land_log2", times), abs=0.01)
    frames = np.round(shares * (seen.clip.frames - 1)).astype(int)
    limit = seen.tones.sky.limit_stops[frames] + seen.mid
    sky = np.isfinite(along.sky_log2[0])
    assert along.sky_log2[0][sky] == pytest.approx(limit[sky], abs=0.1)


def test_the_trade_off_is_the_battery_at_each_interval() -> None:
    plan, memory = december_plan(), Memory()
    seen = outlook(plan, "A", memory)
    curve = trade_off(plan, seen)
    assert [trade.interval_s for trade in curve] == list(plan.camera.intervals_s)
    for trade in curve:
        applied = with_values(
            plan,
            {
                "shoots.A.interval_s": trade.interval_s,
                "shoots.A.clip_length_s": trade.clip_length_s,
            },
        )
        then = outlook(applied, "A", memory)
        assert then.flight.max_frames == trade.frames == then.clip.frames
        assert then.flight.fits
        assert then.flight.margin_min == pytest.approx(trade.margin_min)
        assert trade.margin_min * 60.0 < trade.interval_s
        assert then.clip.shooting_s == pytest.approx(60.0 * trade.shooting_min)
    # Common practice, no source: 2 s take 0.3 s (1/4 s without a doubt), 3 s a good second.
    assert curve[0].longest_shutter_s == pytest.approx(0.315, abs=0.001)
    assert curve[1].longest_shutter_s == pytest.approx(1.26, abs=0.001)


def test_frames_are_counted_as_the_flight_counts_them() -> None:
    memory = Memory()
    flight = outlook(december_plan(), "A", memory).flight
    assert most_frames(flight.max_take_min or 0.0, 3.0) == flight.max_frames
    assert most_frames(0.0, 3.0) == 0


def test_an_overcast_night_holds_at_every_listed_start() -> None:
    plan, memory = december_plan(shoots__A__conditions__cloud_okta=8.0), Memory()
    for choice in settings_of(plan, "A", memory, Wish()).choices:
        every = starts(apply_choice(plan, "A", choice), "A", memory)
        assert every.earliest_s is not None
        assert every.latest_s is not None
        slack = np.interp(choice.start_s, every.time_s, every.slack_stops)
        assert slack >= -0.02


def test_what_it_costs_is_told_in_words_of_the_trade() -> None:
    plan = december_plan(camera__nd_stops=[0.0])
    listed = settings_of(plan, "A", Memory(), Wish(), 12).choices
    for choice in listed:
        told = "; ".join(choice.costs)
        if choice.iso > 100.0:
            stops = round(np.log2(choice.iso / 100.0))
            assert f"ISO {choice.iso:.0f}: {stops} stop" in told
        if choice.clip_length_s < 12.0:
            assert f"clip {choice.clip_length_s:.1f} s instead of 12 s" in told
        if choice.shutter_angle_deg < 45.0 - 1e-6:
            assert "traffic jumps" in told
        if choice.margin_min < 0.5:
            assert "battery margin" in told


@pytest.mark.parametrize("name", ["first", "last"])
def test_the_first_and_last_start_of_the_night_are_judged_too(name: str) -> None:
    seen = outlook(december_plan(), "A", Memory())
    window_s = starts_window_s(seen.night, seen.light)
    edge_s = window_s[0] if name == "first" else window_s[1]
    assert starts_tried_s(Wish(earliest_s=edge_s, latest_s=edge_s), window_s) == [edge_s]
