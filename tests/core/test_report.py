"""What other programs read: the keys and values that the contract promises them."""

from __future__ import annotations

import datetime as dt
import json
import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from core.edit import new_plan, with_values
from core.forecast import Forecast, forecast
from core.lightwords import no_span_reason
from core.plan import Plan
from core.planfile import load
from core.report import (
    FRAME_COLUMNS,
    START_COLUMNS,
    forecast_report,
    frame_rows,
    start_rows,
    starts_report,
)
from core.reporttext import forecast_page, starts_page
from core.startgrid import GridStart, keepable_shares, minute_indices, start_grid
from core.verdict import press_text
from core.words import MINUS, slack_text
from tests.dusk import instant_s

ZONE = "America/St_Johns"
LIMITS = {"street_high", "street_low", "land_high", "land_low", "sky_clip", "lamps"}
WINDY = {"shoots.A.conditions.wind_10m_m_s": 20.0}
DRIFTING = {
    "shoots.A.conditions.wind_10m_m_s": 5.5,
    "shoots.A.conditions.wind_from_deg": 125.0,
    "flight.back_speed_m_s": 9.0,
}
POLAR = {
    "place.latitude_deg": 70.4,
    "shoots.A.date": "2026-12-21",
    "shoots.A.start_after_event_min": 150.0,
}

SITES = Path(__file__).resolve().parents[2] / "demo_sites"


@pytest.fixture(scope="module")
def plan() -> Plan:
    # On the day after the clock went back, in a zone half an hour off the full ones.
    plan = new_plan("Gull Tickle", 48.9, -55.7, dt.date(2026, 11, 2), ZONE)
    # Away from the glow.
    return with_values(plan, {f"path.stations.{place}.heading_deg": 70.0 for place in range(2)})


@pytest.fixture(scope="module")
def seen(plan: Plan) -> Forecast:
    return forecast(plan, "A")


@pytest.fixture(scope="module")
def grid(plan: Plan, seen: Forecast) -> tuple[GridStart, ...]:
    return start_grid(plan, seen)


def report_with(plan: Plan, values: Mapping[str, object]) -> dict[str, Any]:
    return forecast_report(forecast(with_values(plan, values), "A"))


def leaves(value: object) -> Iterator[object]:
    if isinstance(value, dict):
        for member in value.values():
            yield from leaves(member)
    elif isinstance(value, (list, tuple)):
        for member in value:
            yield from leaves(member)
    else:
        yield value


# ---- keys ----


def test_every_key_of_the_contract_is_there_and_no_other(seen: Forecast) -> None:
    report: dict[str, Any] = forecast_report(seen)
    assert list(report) == [
        "night", "light", "clip", "motion", "frames", "flight", "starts", "findings",
    ]  # fmt: skip
    assert set(report["night"]) == {"date", "twilight", "event", "reason", "moments"}
    assert set(report["night"]["event"]) == {"name", "time"}
    assert set(report["light"]) == {"lamps_on", "lamps_off", "local_sunset"}
    assert set(report["clip"]) == {
        "frames", "clip_length_s", "shooting_s", "speed_up", "shutter_angle_deg",
    }  # fmt: skip
    assert set(report["flight"]) == {
        "take_off", "segments", "max_frames", "stop_at_percent", "latest_stop", "land_by",
        "margin_min", "landing_percent", "fits", "error",
    }  # fmt: skip
    assert set(report["starts"]) == {
        "earliest", "latest", "best", "slack_stops", "limit", "p_hold", "sure", "reason",
    }  # fmt: skip


def test_the_entries_of_lists_have_the_keys_of_the_contract(seen: Forecast) -> None:
    report: dict[str, Any] = forecast_report(seen)
    for moment in report["night"]["moments"]:
        assert set(moment) == {"name", "time", "sun_altitude_deg", "sun_azimuth_deg"}
    for segment in report["flight"]["segments"]:
        assert set(segment) == {"name", "starts", "minutes", "percent"}
    for finding in report["findings"]:
        assert {"severity", "code", "text", "remedy", "shoot"} <= set(finding)
        assert finding["severity"] in ("stop", "warn", "note")
    for frame in report["frames"]:
        assert set(frame) == {
            "index", "time", "sun_altitude_deg", "illuminance_lx", "clipped_share", "tones",
        }  # fmt: skip
        tones = frame["tones"]
        assert set(tones) == {"street", "land", "sky"}
        assert set(tones["street"]) == set(tones["land"]) == {"stops", "sigma_stops"}
        if tones["sky"] is not None:
            assert set(tones["sky"]) == {
                "mean_stops", "high_stops", "sigma_stops", "frame_share",
            }  # fmt: skip


def test_the_listing_of_starts_adds_its_grid(seen: Forecast, grid: tuple[GridStart, ...]) -> None:
    report: dict[str, Any] = starts_report(seen, grid)
    listing = report["starts"].pop("grid")
    assert report == forecast_report(seen)
    for start in listing:
        assert set(start) == {
            "time", "slack_stops", "limit", "p_hold", "keepable_share", "mixed_light_share",
        }  # fmt: skip
        assert set(start["keepable_share"]) == {"street", "land", "sky"}
        assert start["limit"] in LIMITS
        assert 0.0 <= start["mixed_light_share"] <= 1.0


# ---- values ----


def test_times_carry_the_offset_of_the_place(seen: Forecast) -> None:
    report: dict[str, Any] = forecast_report(seen)
    times = re.findall(r'"(\d{4}-\d\d-\d\dT[^"]*)"', json.dumps(report))
    assert len(times) > 200
    # Newfoundland standard time, UTC-3:30, from the first Sunday of November on (tzdata).
    assert {dt.datetime.fromisoformat(time).utcoffset() for time in times} == {
        dt.timedelta(hours=-3, minutes=-30)
    }


def test_frames_are_an_interval_apart_and_count_from_nought(seen: Forecast) -> None:
    frames: Any = forecast_report(seen)["frames"]
    assert [frame["index"] for frame in frames] == list(range(200))
    times = [dt.datetime.fromisoformat(frame["time"]) for frame in frames]
    steps = {(later - time).total_seconds() for time, later in pairwise(times)}
    assert min(steps) == pytest.approx(3.0, abs=0.002)
    assert max(steps) == pytest.approx(3.0, abs=0.002)
    event = dt.datetime.fromisoformat(forecast_report(seen)["night"]["event"]["time"])  # type: ignore[index]
    assert (times[0] - event).total_seconds() == pytest.approx(27 * 60, abs=0.002)


def test_the_flight_meets_the_press(seen: Forecast) -> None:
    report: dict[str, Any] = forecast_report(seen)
    flight = report["flight"]
    begins = {
        part["name"]: dt.datetime.fromisoformat(part["starts"]) for part in flight["segments"]
    }
    assert flight["take_off"] == flight["segments"][0]["starts"]
    press = dt.datetime.fromisoformat(report["frames"][0]["time"])
    assert abs((begins["take"] - press).total_seconds()) < 0.01
    last = dt.datetime.fromisoformat(report["frames"][-1]["time"])
    stop = dt.datetime.fromisoformat(flight["latest_stop"])
    assert (stop - last).total_seconds() / 60.0 == pytest.approx(flight["margin_min"], abs=0.001)


def test_nothing_but_finite_numbers_reaches_json(plan: Plan) -> None:
    for values in ({}, WINDY, DRIFTING, POLAR, {"ground.lamps.luminance_cd_m2": 0.0}):
        text = json.dumps(report_with(plan, values), allow_nan=False)
        assert "-0.0," not in text


def test_sky_is_null_exactly_where_the_frame_holds_none(seen: Forecast) -> None:
    frames: Any = forecast_report(seen)["frames"]
    # The camera starts 50 degrees down and ends 8 degrees down with a field 36.9 degrees high.
    assert frames[0]["tones"]["sky"] is None
    assert frames[-1]["tones"]["sky"]["frame_share"] > 0.1
    missing = [frame["tones"]["sky"] is None for frame in frames]
    assert missing == sorted(missing, reverse=True)


def test_no_lamps_no_switching_times(plan: Plan) -> None:
    report = report_with(plan, {"ground.lamps.luminance_cd_m2": 0.0})
    assert report["light"]["lamps_on"] is None
    assert report["light"]["lamps_off"] is None


def test_slack_and_limit_are_those_of_the_chosen_start(plan: Plan) -> None:
    late = report_with(plan, {"shoots.A.start_after_event_min": 60.0})
    assert late["starts"]["best"] is not None
    assert late["starts"]["slack_stops"] < -1.0
    assert late["starts"]["limit"] == "land_low"


def test_the_chances_are_those_of_the_starts(seen: Forecast, grid: tuple[GridStart, ...]) -> None:
    report: dict[str, Any] = starts_report(seen, grid)
    assert report["starts"]["p_hold"] == pytest.approx(seen.starts.chance_at(seen.outlook.press_s))
    assert all(0.0 <= start["p_hold"] <= 1.0 for start in report["starts"]["grid"])
    sure = seen.starts.sure_s
    assert (report["starts"]["sure"] is None) == (sure is None)
    if sure is not None:
        earliest = dt.datetime.fromisoformat(report["starts"]["sure"]["earliest"])
        assert earliest.timestamp() == pytest.approx(sure[0], abs=0.001)


# ---- what cannot be ----


@pytest.mark.parametrize(
    ("values", "last"), [(WINDY, "climb"), (DRIFTING, "take")], ids=["hold", "home"]
)
def test_of_a_flight_that_cannot_be_only_the_reason_and_the_way_so_far_are_given(
    plan: Plan, values: dict[str, object], last: str
) -> None:
    flight: dict[str, Any] = report_with(plan, values)["flight"]
    segments, reason = flight.pop("segments"), flight.pop("error")
    assert set(flight.values()) == {None}
    assert reason.endswith(".")
    assert segments[-1]["name"] == last


def test_the_way_so_far_is_timed_where_the_press_is_reached(plan: Plan) -> None:
    hold = report_with(plan, WINDY)["flight"]["segments"]
    assert {segment["starts"] for segment in hold} == {None}
    home = report_with(plan, DRIFTING)
    take = home["flight"]["segments"][-1]
    press = dt.datetime.fromisoformat(home["frames"][0]["time"])
    assert abs((dt.datetime.fromisoformat(take["starts"]) - press).total_seconds()) < 0.01


def test_without_a_span_one_sentence_says_why(plan: Plan) -> None:
    report = report_with(plan, {"bands.street.high_stops": 0.5, "bands.street.low_stops": 0.0})
    starts: dict[str, Any] = report["starts"]
    assert starts["earliest"] is starts["latest"] is starts["best"] is None
    assert re.fullmatch(
        r"No start of this dusk keeps the light: the nearest, \d\d:\d\d:\d\d, falls "
        r"\d+\.\d stops? short because the street (burns|goes dark)\.",
        starts["reason"],
    )


def test_with_a_span_there_is_no_reason(seen: Forecast) -> None:
    assert no_span_reason(seen.outlook.night, seen.starts) is None


def test_polar_night_counts_from_noon_and_says_so(plan: Plan) -> None:
    night: dict[str, Any] = report_with(plan, POLAR)["night"]
    assert night["event"]["name"] == "noon"
    assert "below the horizon" in night["reason"]
    assert "sunset" not in {moment["name"] for moment in night["moments"]}


# ---- findings ----


def test_a_remedy_is_given_as_values_that_the_plan_takes(plan: Plan) -> None:
    late = with_values(plan, {"shoots.A.start_after_event_min": 45.0})
    findings: Any = forecast_report(forecast(late, "A"))["findings"]
    remedies = [finding["remedy"] for finding in findings if finding["remedy"]]
    assert remedies
    mended = with_values(late, remedies[0]["set"])
    assert forecast(mended, "A").outlook.judgement.slack_stops >= 0.0


def test_several_remedies_are_all_given_the_first_as_the_remedy(plan: Plan) -> None:
    report = report_with(plan, {"shoots.A.start_after_event_min": 10.0})
    finding = next(f for f in report["findings"] if f["severity"] == "stop" and f["remedy"])
    assert len(finding["remedies"]) == 2
    assert finding["remedies"][0] == finding["remedy"]


# ---- the listing of starts ----


def test_a_start_of_the_listing_is_what_the_shoot_moved_there_shows(
    plan: Plan, seen: Forecast, grid: tuple[GridStart, ...]
) -> None:
    for start in grid[20:80:15]:
        minutes = (start.time_s - seen.outlook.night.event.time_s) / 60.0
        moved = with_values(plan, {"shoots.A.start_after_event_min": minutes})
        outlook = forecast(moved, "A").outlook
        assert start.slack_stops == pytest.approx(outlook.judgement.slack_stops, abs=0.02)
        assert start.mixed_light_share == pytest.approx(outlook.tones.mixed_light.mean(), abs=1e-9)


def test_starts_are_listed_a_minute_apart(grid: tuple[GridStart, ...]) -> None:
    assert np.diff([start.time_s for start in grid]) == pytest.approx(60.0)


@pytest.mark.parametrize("step_s", [5.0, 10.0, 15.0, 25.0, 60.0, 100.0])
def test_starts_judged_further_apart_are_still_listed_a_minute_apart(step_s: float) -> None:
    # A take of very many frames is judged at starts further apart.
    time_s = 1.8e9 + np.arange(0.0, 7200.0, step_s)
    listed = time_s[minute_indices(time_s)] - time_s[0]
    if step_s > 60.0:
        assert listed.tolist() == (time_s - time_s[0]).tolist()
    else:
        # The listing covers the whole night, each row within half a step of its minute.
        assert len(listed) == 120
        assert np.abs(listed - 60.0 * np.arange(120)).max() <= step_s / 2.0


def test_keepable_share_counts_the_frames_inside_their_limits(plan: Plan) -> None:
    late = with_values(plan, {"shoots.A.start_after_event_min": 40.0})
    tones, bands = forecast(late, "A").outlook.tones, plan.bands
    kept = keepable_shares(tones, bands, plan.camera.highlight_stops)
    # Land may grow dark once the first share of the take is over: it is night then.
    early = len(tones.land.stops) * bands.land.low_share
    inside = [
        stops <= bands.land.high_stops and (frame >= early or stops >= bands.land.low_stops)
        for frame, stops in enumerate(tones.land.stops)
    ]
    assert kept["land"] == sum(inside) / len(inside)
    assert 0.0 < sum(inside) < len(inside)
    # No part of the evening is as bright as 20 stops over mid-grey.
    assert keepable_shares(tones, bands, 20.0)["sky"] == 1.0


def test_a_part_that_no_frame_holds_has_no_share(plan: Plan) -> None:
    down = {f"path.stations.{i}.pitch_deg": -89.0 for i in (0, 1)}
    unlit = {"ground.lamps.lit_share": 0.0}
    dark = with_values(plan, down | unlit)
    kept = start_grid(dark, forecast(dark, "A"))[0].keepable_share
    assert kept["street"] is None
    assert kept["sky"] is None
    assert kept["land"] is not None


def test_dawn_is_listed_toward_the_sunrise(plan: Plan) -> None:
    dawn = with_values(plan, {"shoots.A.twilight": "dawn", "shoots.A.start_after_event_min": -35.0})
    seen = forecast(dawn, "A")
    grid = start_grid(dawn, seen)
    # Too dark at first, too bright at last.
    assert grid[0].limit in ("land_low", "street_low")
    assert grid[-1].limit in ("land_high", "street_high", "sky_clip")


# ---- tables ----


def test_the_table_of_frames_says_what_the_json_says(seen: Forecast) -> None:
    rows, frames = frame_rows(seen), forecast_report(seen)["frames"]
    assert isinstance(frames, list)
    for row, frame in zip(rows, frames, strict=True):
        cells = dict(zip(FRAME_COLUMNS, row, strict=True))
        assert cells["index"] == frame["index"]
        assert cells["time"] == frame["time"]
        assert cells["street_stops"] == frame["tones"]["street"]["stops"]
        assert cells["land_sigma_stops"] == frame["tones"]["land"]["sigma_stops"]
        sky = frame["tones"]["sky"] or {}
        assert cells["sky_high_stops"] == sky.get("high_stops")
        assert cells["sky_frame_share"] == sky.get("frame_share")


def test_the_table_of_starts_says_what_the_json_says(
    seen: Forecast, grid: tuple[GridStart, ...]
) -> None:
    report: Any = starts_report(seen, grid)
    for row, start in zip(start_rows(seen, grid), report["starts"]["grid"], strict=True):
        cells = dict(zip(START_COLUMNS, row, strict=True))
        for name in ("time", "slack_stops", "limit", "p_hold", "mixed_light_share"):
            assert cells[name] == start[name]
        for part in ("street", "land", "sky"):
            assert cells[f"keepable_{part}_share"] == start["keepable_share"][part]


# ---- pages ----


def test_the_page_says_the_verdict_first_and_the_law_last(plan: Plan, seen: Forecast) -> None:
    lines = forecast_page(plan, seen).splitlines()
    assert lines[0].startswith("Gull Tickle · dusk of 2 November 2026 · shoot A")
    assert lines[1].startswith("Holds")
    assert lines[-1] == "Check the local rules and your licence."
    assert sum("Check the local rules" in line for line in lines) == 1


@pytest.mark.parametrize(
    "values", [{}, WINDY, DRIFTING, POLAR], ids=["plain", "hold", "home", "polar"]
)
def test_a_page_is_narrow_and_its_minus_is_a_real_one(
    plan: Plan, values: dict[str, object]
) -> None:
    changed = with_values(plan, values)
    seen = forecast(changed, "A")
    pages = forecast_page(changed, seen) + starts_page(changed, seen, start_grid(changed, seen))
    body = [line for line in pages.splitlines()[1:] if "--set" not in line and "UTC" not in line]
    assert max(map(len, body)) <= 88
    assert [line for line in body if re.search(r"(?<![\w-])-\d", line)] == []
    assert "\N{MINUS SIGN}" in pages


def test_moments_stand_in_columns(plan: Plan, seen: Forecast) -> None:
    lines = forecast_page(plan, seen).splitlines()
    first = lines.index("Moments") + 1
    rows = lines[first : lines.index("", first)]
    assert len({row.index("°  at ") for row in rows}) == 1
    assert len({len(row) for row in rows}) == 1


def test_a_flight_that_cannot_be_ends_with_its_sentence(plan: Plan) -> None:
    windy = with_values(plan, WINDY)
    page = forecast_page(windy, forecast(windy, "A"))
    flight = page.partition("\nFlight\n")[2].partition("\n\n")[0]
    assert "above this craft's limit" in flight
    assert "margin" not in flight


def test_a_name_cannot_steer_the_terminal(plan: Plan) -> None:
    named = with_values(plan, {"place.name": "Cove\x1b[2J\nHolds."})
    title = forecast_page(named, forecast(named, "A")).splitlines()[0]
    assert "\x1b" not in title
    assert title.startswith("Cove [2J Holds. ·")


def test_the_listing_marks_the_starts_that_keep_the_light(
    plan: Plan, seen: Forecast, grid: tuple[GridStart, ...]
) -> None:
    page = starts_page(plan, seen, grid)
    marked = re.findall(r"^  \*  (\d\d:\d\d)", page, re.MULTILINE)
    good = [
        dt.datetime.fromtimestamp(start.time_s, ZoneInfo(ZONE)) for start in grid
        if start.slack_stops >= 0.0
    ]  # fmt: skip
    assert len(marked) == len(good) > 0


def test_the_listing_tells_no_start_as_good_that_is_not(
    plan: Plan, seen: Forecast, grid: tuple[GridStart, ...]
) -> None:
    hair = [
        replace(grid[30], slack_stops=stops, p_hold=0.796, mixed_light_share=0.5)
        for stops in (0.06, -0.04)
    ]
    rows = starts_page(plan, seen, hair).partition("mixed light\n")[2].splitlines()[:2]
    assert "   0.0  " in rows[0]
    assert "  \N{MINUS SIGN}0.1  " in rows[1]
    assert all("79 %" in row for row in rows)
    # To the second: a whole minute near the start may lie outside the span.
    assert all(re.search(r"\d\d:\d\d:\d\d", row) for row in rows)


def section(page: str, name: str) -> str:
    return page.partition(f"\n{name}\n")[2].partition("\n\n")[0]


@pytest.mark.parametrize(("slack", "words"), [
    (0.06, "0.0 stop before the street burns"),
    (0.78, "+0.7 stop before the street burns"),
    (-0.04, "the street burns, 0.1 stop past the limit"),
    (-1.31, "the street burns, 1.4 stops past the limit"),
])  # fmt: skip
def test_slack_on_the_page_is_cut_to_the_unlucky_side(
    plan: Plan, seen: Forecast, slack: float, words: str
) -> None:
    judged = replace(seen.outlook.judgement, slack_stops=slack, limit="street_high")
    page = forecast_page(plan, replace(seen, outlook=replace(seen.outlook, judgement=judged)))
    assert f"this start    {words}" in section(page, "Light")


def test_battery_figures_on_the_page_are_cut_to_the_unlucky_side(
    plan: Plan, seen: Forecast
) -> None:
    outlook, flight = seen.outlook, seen.outlook.flight
    rows = section(forecast_page(plan, seen), "Flight").splitlines()
    for segment, row in zip(flight.segments, rows, strict=False):
        figures = re.search(r"([\d.]+) min +uses (\d+) % +leaves (\d+) %", row)
        assert figures is not None
        minutes, uses, leaves = map(float, figures.groups())
        assert segment.minutes - 1e-6 <= minutes < segment.minutes + 0.1
        assert segment.percent - 1e-6 <= uses < segment.percent + 1.0
        assert segment.charge_after_percent - 1.0 < leaves <= segment.charge_after_percent + 1e-6
    assert outlook.latest_stop_s is not None
    for fraction in (0.1, 0.6, 0.9):
        stop_s = math.floor(outlook.latest_stop_s) + fraction
        later = replace(seen, outlook=replace(outlook, latest_stop_s=stop_s, land_by_s=stop_s))
        page = section(forecast_page(plan, later), "Flight")
        clock = dt.datetime.fromtimestamp(math.floor(stop_s), ZoneInfo(ZONE)).strftime("%H:%M:%S")
        assert f"stop by       {clock}," in page
        assert f"landed by     {clock}" in page


def test_a_battery_that_runs_out_is_told_by_the_clock(plan: Plan) -> None:
    long = with_values(plan, {"shoots.A.clip_length_s": 40.0})
    told = forecast(long, "A")
    page, flight = section(forecast_page(long, told), "Flight"), told.outlook.flight
    assert min(part.charge_after_percent for part in flight.segments) < 0.0
    assert f"leaves {MINUS}" not in page
    (clock,) = re.findall(r"empty at ([\d:]+)", page)
    take_off_s = told.outlook.take_off_s
    assert take_off_s is not None
    minutes = (instant_s(told.outlook.night, clock, near_s=take_off_s) - take_off_s) / 60.0
    # Cut down to the second: charge left then, none a second later.
    just, later = flight.charge_at(np.array([minutes, minutes + 1.0 / 60.0]))
    assert just >= 0.0 >= later - 1e-9
    after = page[page.index("empty at") :].splitlines()[1:]
    assert [line.split()[-1] for line in after if " uses " in line] == ["empty"] * 4


def test_page_and_window_tell_the_press_and_the_slack_alike(plan: Plan) -> None:
    polar = with_values(plan, POLAR)
    seen = forecast(polar, "A")
    light = section(forecast_page(polar, seen), "Light")
    assert "150 min after solar noon" in light
    assert press_text(seen.outlook) in light
    assert slack_text(seen.outlook.judgement.slack_stops) in light or "past the limit" in light


@pytest.mark.parametrize("seconds", [(29.0, 331.0), (31.0, 329.0), (8.0, 39.0)])
def test_spans_on_the_page_are_cut_inward(
    plan: Plan, seen: Forecast, seconds: tuple[float, float]
) -> None:
    night = seen.outlook.night
    minute_s = night.event.time_s // 60.0 * 60.0
    first, last = minute_s + seconds[0], minute_s + seconds[1]
    starts = replace(seen.starts, earliest_s=first, latest_s=last, sure_s=(first, last))
    page = section(forecast_page(plan, replace(seen, starts=starts)), "Light")
    spans = re.findall(r"(?:good|sure) starts   ([\d:]+) to ([\d:]+)", page)
    assert len(spans) == 2
    for span in spans:
        told = [instant_s(night, clock, near_s=first) for clock in span]
        assert first - 1e-3 <= told[0] < told[1] <= last + 1e-3


def test_lamps_that_burn_already_are_not_told_to_come_on_at_noon() -> None:
    site = next(site for site in SITES.glob("skreigrunn.*"))
    changes = {"shoots.A.date": "2026-12-21", "ground.lamps.switching.kind": "offset"}
    told = forecast(with_values(load(site), changes), "A")
    assert forecast_report(told)["light"] == {
        "lamps_on": None, "lamps_off": None, "local_sunset": None,
    }  # fmt: skip
    page = forecast_page(with_values(load(site), changes), told)
    assert "burn already, burn on" in page


def test_motion_stands_in_the_report(seen: Forecast) -> None:
    report: dict[str, Any] = forecast_report(seen)
    motion = report["motion"]
    assert set(motion) == {
        "subjects", "nearest_ground_m", "pan_limit_px", "turn_px_per_frame",
        "scenery_px_per_frame", "turn_smear_px", "scenery_smear_px", "streak_share",
        "gimbal_jitter_px", "hover_drift_px", "hover_drift_middle_px", "soft_share",
    }  # fmt: skip
    # 1920 px in 7 s of clip.
    fps = seen.outlook.shoot.frame_rate_fps
    assert motion["pan_limit_px"] == pytest.approx(1920.0 / 7.0 / fps)
    names = [subject["name"] for subject in motion["subjects"]]
    assert names[:3] == ["cars", "cyclists", "people"]


def test_motion_stands_on_the_page(plan: Plan, seen: Forecast) -> None:
    section = forecast_page(plan, seen).partition("\nMotion\n")[2].partition("\nFlight\n")[0]
    cars = seen.motion.of("cars")
    assert cars is not None
    line = next(row for row in section.splitlines() if row.split()[:1] == ["cars"])
    assert f"{cars.distance_m:.0f} m" in line
    assert f"holds to {math.floor(10.0 * seen.motion.pan_limit_px) / 10.0:.1f} px" in section
