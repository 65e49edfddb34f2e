"""The command `settings`: what it prints, and the one sentence for what cannot be used."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import re
from pathlib import Path
from typing import Any

import pytest

from core.newplan import first_plan
from core.planfile import load, save
from tests.app.commands import BANNED, answered, run

KEYS = (
    "interval_s", "shutter_s", "iso", "f_number", "nd_stops", "start", "slack_stops", "p_hold",
    "mixed_light_share", "clip_length_s", "shutter_angle_deg", "margin_min", "costs",
)  # fmt: skip


@pytest.fixture
def plan_path(tmp_path: Path) -> str:
    path = tmp_path / "tickle.duskplan"
    save(first_plan("Gull Tickle", 48.9, -55.7, dt.date(2026, 11, 2)), path)
    return str(path)


def settings(*words: str) -> str:
    return answered("settings", *words)


def reported(*words: str) -> dict[str, Any]:
    report: dict[str, Any] = json.loads(settings(*words, "--format", "json"))
    return report


def test_json_has_the_keys_that_are_promised(plan_path: str) -> None:
    report = reported(plan_path)
    assert 1 <= len(report["settings"]) <= 5
    for choice in report["settings"]:
        assert tuple(choice) == KEYS
        assert dt.datetime.fromisoformat(choice["start"]).utcoffset() is not None
        assert 0.0 <= choice["p_hold"] <= 1.0
        assert all(isinstance(cost, str) for cost in choice["costs"])
    assert report["reason"] is None
    assert {"nd_stops", "earliest", "latest", "why"} == set().union(*report["pack"])
    assert len(report["trade_off"]) == len(load(plan_path).camera.intervals_s)


def test_the_forecast_with_a_choice_set_shows_its_figures(plan_path: str) -> None:
    choice = reported(plan_path)["settings"][0]
    night: Any = json.loads(run("forecast", plan_path, "--format", "json")[1])["night"]
    event = dt.datetime.fromisoformat(night["event"]["time"])
    minutes = (dt.datetime.fromisoformat(choice["start"]) - event).total_seconds() / 60.0
    keys = ("interval_s", "shutter_s", "iso", "f_number", "nd_stops", "clip_length_s")
    values = {key: choice[key] for key in keys} | {"start_after_event_min": minutes}
    sets = [word for k, v in values.items() for word in ("--set", f"shoots.A.{k}={v}")]
    then: Any = json.loads(run("forecast", plan_path, *sets, "--format", "json")[1])
    assert then["starts"]["slack_stops"] == pytest.approx(choice["slack_stops"], abs=1e-3)
    assert then["starts"]["p_hold"] == pytest.approx(choice["p_hold"], abs=1e-3)
    assert then["flight"]["margin_min"] == pytest.approx(choice["margin_min"], abs=1e-6)
    assert then["flight"]["fits"]


def test_csv_has_a_row_a_choice(plan_path: str) -> None:
    rows = list(csv.DictReader(io.StringIO(settings(plan_path, "--format", "csv"))))
    listed = reported(plan_path)["settings"]
    assert [row["start"] for row in rows] == [choice["start"] for choice in listed]
    assert rows[0]["costs"] == "; ".join(listed[0]["costs"])


def test_the_page_tells_choices_filters_and_trade_off(plan_path: str) -> None:
    page = settings(plan_path)
    assert page.startswith("Gull Tickle · dusk of 2 November 2026 · shoot A")
    assert re.search(r"^ 1  1\d:\d\d:\d\d, ", page, re.MULTILINE)
    assert "Filters to pack\n" in page
    assert re.search(r"^ +2 s +\d+ +\d+\.\d s ", page, re.MULTILINE)
    assert page.endswith("Check the local rules and your licence.\n")
    assert max(map(len, page.splitlines())) <= 88


def test_a_start_may_be_fixed(plan_path: str) -> None:
    night: Any = json.loads(run("forecast", plan_path, "--format", "json")[1])["night"]
    at = dt.datetime.fromisoformat(night["event"]["time"]) + dt.timedelta(minutes=22)
    for words in ("sunset+22", f"{at:%H:%M:%S}", "22"):
        for choice in reported(plan_path, "--at", words)["settings"]:
            start = dt.datetime.fromisoformat(choice["start"])
            assert abs((start - at).total_seconds()) < 1.0


def test_the_lamps_coming_on_lie_within_each_take(plan_path: str) -> None:
    light: Any = json.loads(run("forecast", plan_path, "--format", "json")[1])["light"]
    on = dt.datetime.fromisoformat(light["lamps_on"])
    report = reported(plan_path, "--aim", "minute", "--moment", "lamps_on")
    assert report["settings"]
    for choice in report["settings"]:
        start = dt.datetime.fromisoformat(choice["start"])
        shooting_s = (round(choice["clip_length_s"] * 25.0) - 1) * choice["interval_s"]
        assert start <= on <= start + dt.timedelta(seconds=shooting_s)


def test_preferences_may_be_given_for_one_run(plan_path: str) -> None:
    clips = [
        reported(plan_path, "--prefer", f"clip_length_s={length}")["settings"][0]["clip_length_s"]
        for length in (9, 12)
    ]
    assert clips[0] < clips[1]


def test_where_nothing_holds_the_reason_is_told(plan_path: str) -> None:
    narrow = ("--set", "bands.street.high_stops=-1", "--set", "bands.street.low_stops=0")
    report = reported(plan_path, *narrow)
    assert report["settings"] == report["pack"] == []
    assert report["reason"].startswith("No start with any settings of this camera")
    assert report["reason"][:40] in settings(plan_path, *narrow).replace("\n", " ")


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("--aim", "nicest"), "surest, longest, mixed_light or minute"),
        (("--aim", "minute"), "--moment"),
        (("--moment", "17:00"), "--aim minute"),
        (("--aim", "minute", "--moment", "teatime"), '--moment has "teatime"; lamps_on, '),
        # What was typed is wrong first of all: another aim would not mend it.
        (("--moment", "foo"), '--moment has "foo"; lamps_on, lamps_off, a clock time such as'),
        (("--at", "late"), "not understood"),
        (("--at", "sunrise+5"), "counts from"),
        (("--shoot", "C"), "A or B"),
        (("--format", "xml"), "text, json or csv"),
        (("--prefer", "iso"), "KEY=VALUE"),
        (("--prefer", "isos=100"), "is no preference"),
        (("--set", "shoots.A.iso=many"), "shoots.A.iso"),
        (("--aim", "minute", "--moment", "lamps_on", "--set", "ground.lamps.luminance_cd_m2=0",
          "--set", "ground.lamps.switching.on_lx=0.1", "--set", "shoots.A.date=2026-06-21",
          "--set", "place.latitude_deg=80"), "lamps do not switch"),
    ],
)  # fmt: skip
def test_what_cannot_be_used_is_refused_in_a_sentence(
    plan_path: str, words: tuple[str, ...], expected: str
) -> None:
    status, out, err = run("settings", plan_path, *words)
    assert (status, out) == (2, "")
    assert err.count("\n") == 1
    assert err[-2] in ".?"
    assert expected in err
    assert BANNED.search(err) is None
