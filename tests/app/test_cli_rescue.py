"""The commands `rescue` and `series`: what they print, and the one sentence for bad input."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import re
from pathlib import Path
from typing import Any

import pytest

from core.edit import with_values
from core.forecast import forecast
from core.planfile import load, save
from tests.app.commands import answered, refused
from tests.dusk import december_plan

OPTION_KEYS = {
    "kind", "date", "start", "take_off", "latest", "wait_min", "holds", "slack_stops", "limit",
    "p_hold", "kept_share", "mixed_light_share", "frames", "clip_length_s", "margin_min", "set",
    "text",
}  # fmt: skip
TAKE_KEYS = {
    "number", "visit", "take_off", "start", "last_frame", "landing", "interval_s", "shutter_s",
    "iso", "f_number", "nd_stops", "frames", "clip_length_s", "slack_stops", "limit", "p_hold",
    "mixed_light_share", "margin_min", "set",
}  # fmt: skip


@pytest.fixture
def plan_path(tmp_path: Path) -> str:
    """The worked case: sunset 16:40, planned press 17:07:16, take-off 17:01:56."""
    path = tmp_path / "weirs.duskplan"
    save(december_plan(craft__rated_min=40.0), path)
    return str(path)


def reported(*words: str) -> dict[str, Any]:
    report: dict[str, Any] = json.loads(answered(*words, "--format", "json"))
    return report


# ---- rescue ----


def test_on_time_the_page_says_to_keep_the_plan(plan_path: str) -> None:
    page = answered("rescue", plan_path, "--now", "17:01:30")
    assert page.startswith("Two Weirs · dusk of 5 December 2026 · shoot A")
    assert " 1  Keep the plan: wait 0.4 min, take off at 17:01:56 and press at 17:07:16" in page
    assert page.rstrip().endswith("Check the local rules and your licence.")
    assert max(map(len, page.splitlines())) <= 88


def test_json_has_the_keys_of_the_documented_kind(plan_path: str) -> None:
    report = reported("rescue", plan_path, "--now", "17:05")
    assert set(report) == {
        "now", "airborne", "planned", "earliest_start", "reason", "options",
    }  # fmt: skip
    assert report["now"] == "2026-12-05T17:05:00.000+00:00"
    assert report["airborne"] is False
    assert report["reason"] is None
    for option in report["options"]:
        assert set(option) == OPTION_KEYS
        for key in ("start", "take_off"):
            assert dt.datetime.fromisoformat(option[key]).utcoffset() is not None
        assert 0.0 <= option["kept_share"] <= 1.0
        assert (option["latest"] is None) == (not option["holds"])


def test_what_is_to_be_set_gives_the_forecast_that_was_told(plan_path: str) -> None:
    for option in reported("rescue", plan_path, "--now", "17:05")["options"]:
        seen = forecast(with_values(load(plan_path), option["set"]), "A")
        assert seen.outlook.judgement.slack_stops == pytest.approx(option["slack_stops"])
        assert seen.outlook.flight.margin_min == pytest.approx(option["margin_min"])
        press = dt.datetime.fromisoformat(option["start"]).timestamp()
        assert seen.outlook.press_s == pytest.approx(press, abs=0.002)


def test_in_the_air_hovering_is_told(plan_path: str) -> None:
    page = answered("rescue", plan_path, "--now", "17:07:20", "--airborne")
    assert "in the air" in page.splitlines()[1]
    assert re.search(r"hover 0\.\d min for \d+ % of charge", page)


def test_where_no_take_is_left_in_the_air_it_sends_the_craft_home(plan_path: str) -> None:
    page = answered("rescue", plan_path, "--now", "sunset+45", "--airborne")
    assert page.split("\n\n")[1].startswith("Fly home now. From 17:2")


def test_too_late_it_says_so_first_and_gives_tomorrows_minute(plan_path: str) -> None:
    page = answered("rescue", plan_path, "--now", "2026-12-05T17:27")
    paragraphs = page.split("\n\n")
    assert paragraphs[1].startswith("Nothing keeps the light with a press from 17:32 on")
    assert "6 December keeps it with a press at 17:0" in paragraphs[1].replace("\n", " ")
    assert paragraphs[2].startswith(" 1  Come back on 6 December")


def test_csv_has_a_row_an_option(plan_path: str) -> None:
    words = ("rescue", plan_path, "--now", "sunset+25")
    rows = list(csv.DictReader(io.StringIO(answered(*words, "--format", "csv"))))
    assert len(rows) == len(reported(*words)["options"])
    assert set(rows[0]) == OPTION_KEYS


def test_the_other_shoot_and_preferences_count(plan_path: str) -> None:
    report = reported(
        "rescue", plan_path, "--now", "16:50", "--shoot", "B", "--prefer", "iso_accepted=200"
    )
    assert all(key.startswith("shoots.B.") for option in report["options"] for key in option["set"])


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (("--now", "2026-12-09T17:00"), "too far from it"),
        (("--now", "teatime"), "a clock time such as 17:25"),
        (("--now", "17:05", "--shoot", "C"), "A or B was expected"),
        (("--now", "17:05", "--format", "xml"), "text, json or csv was expected"),
        (("--now", "17:05", "--set", "shoots.A.iso"), "KEY=VALUE"),
        (("--now", "17:05", "--prefer", "iso=1"), "is no preference"),
        ((), "needs --now"),
    ],
)
def test_bad_words_are_refused_in_one_sentence(
    plan_path: str, words: tuple[str, ...], named: str
) -> None:
    assert named in refused("rescue", plan_path, *words)


# ---- series ----


def test_a_series_has_clock_times_that_follow_one_another(plan_path: str) -> None:
    report = reported("series", plan_path, "--batteries", "2", "--swap-min", "3")
    assert set(report) == {"batteries", "swap_min", "now", "turnaround_min", "reason", "takes"}
    assert report["now"] is None
    assert (report["batteries"], report["swap_min"]) == (2, 3.0)
    assert [take["visit"] for take in report["takes"]] == ["first", "repeat"]
    times = [
        dt.datetime.fromisoformat(take[key])
        for take in report["takes"]
        for key in ("take_off", "start", "last_frame", "landing")
    ]
    assert times == sorted(times)
    assert times[4] - times[3] >= dt.timedelta(minutes=3)
    for take in report["takes"]:
        assert set(take) == TAKE_KEYS
        seen = forecast(with_values(load(plan_path), take["set"]), "A")
        assert seen.outlook.judgement.slack_stops == pytest.approx(take["slack_stops"])


def test_the_series_page_and_table(plan_path: str) -> None:
    page = answered("series", plan_path)
    assert "2 batteries, 3.0 min for each swap." in page
    assert re.search(r"^ 2  take off at 17:\d\d:\d\d, press at 17:", page, re.MULTILINE)
    rows = list(csv.DictReader(io.StringIO(answered("series", plan_path, "--format", "csv"))))
    assert [row["number"] for row in rows] == ["1", "2"]


def test_a_series_from_now_on_lists_no_take_off_in_the_past(plan_path: str) -> None:
    words = ("series", plan_path, "--now", "17:05")
    report = reported(*words)
    now = dt.datetime.fromisoformat(report["now"])
    assert now.strftime("%H:%M") == "17:05"
    assert report["takes"]
    for take in report["takes"]:
        assert dt.datetime.fromisoformat(take["take_off"]) >= now
    assert "for each swap, from 17:05:00 on." in answered(*words)


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (("--now", "teatime"), "a clock time such as 17:25"),
        (("--now", "2026-12-09T17:00"), "too far from it"),
        (("--batteries", "0"), "a whole number from 1 to 4"),
        (("--batteries", "2.5"), "a whole number from 1 to 4"),
        (("--batteries", "many"), "a whole number from 1 to 4"),
        (("--swap-min", "-3"), "0 to 120 minutes"),
        (("--swap-min", "x"), "0 to 120 minutes"),
    ],
)
def test_bad_words_of_a_series_are_refused(
    plan_path: str, words: tuple[str, ...], named: str
) -> None:
    assert named in refused("series", plan_path, *words)
