"""The command `nights`: page, JSON, table and calendar, and the sentence for what is refused."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import re
from pathlib import Path
from typing import Any

import pytest
import vobject

from core.edit import with_values
from core.newplan import first_plan
from core.planfile import load, save
from tests.app import commands
from tests.app.commands import BANNED

KEYS = {
    "date", "event_time", "earliest", "latest", "best", "slack_stops", "p_hold", "max_frames",
    "decay_stops_per_min", "moon", "reason",
}  # fmt: skip
WORDS = ("--twilight", "dusk", "--from", "2026-10-20", "--to", "2026-10-30")
AWKWARD = 'Göteborg "Å", quay; pier\\3 \N{FULL MOON SYMBOL}\nsecond line, ' + "ø" * 60


@pytest.fixture
def plan_path(tmp_path: Path) -> str:
    path = tmp_path / "tickle.duskplan"
    save(first_plan("Gull Tickle", 48.9, -55.7, dt.date(2026, 11, 2)), path)
    return str(path)


def answered(*words: str) -> str:
    return commands.answered("nights", *words)


def reported(*words: str) -> list[dict[str, Any]]:
    report: dict[str, list[dict[str, Any]]] = json.loads(answered(*words, "--format", "json"))
    return report["nights"]


def test_json_has_the_keys_that_are_promised(plan_path: str) -> None:
    seen = reported(plan_path, *WORDS)
    assert [night["date"] for night in seen] == [f"2026-10-{d}" for d in range(20, 31)]
    for night in seen:
        assert set(night) >= KEYS
        assert dt.datetime.fromisoformat(night["event_time"]).utcoffset() is not None
        assert (night["best"] is None) == (night["reason"] is not None)
        assert (night["p_hold"] is None) == (night["best"] is None)


def test_json_agrees_with_the_forecast_of_each_night(plan_path: str) -> None:
    for night in reported(plan_path, *WORDS)[::5]:
        setting = ("--set", f"shoots.A.date={night['date']}")
        alone = json.loads(commands.answered("forecast", plan_path, *setting, "--format", "json"))
        for key in ("earliest", "latest", "best", "reason"):
            assert night[key] == alone["starts"][key]
        event = dt.datetime.fromisoformat(alone["night"]["event"]["time"])
        late = dt.datetime.fromisoformat(night["event_time"]) - event
        assert abs(late.total_seconds()) < 0.01
        assert night["max_frames"] == alone["flight"]["max_frames"]


def test_csv_has_a_row_a_night(plan_path: str) -> None:
    rows = list(csv.DictReader(io.StringIO(answered(plan_path, *WORDS, "--format", "csv"))))
    seen = reported(plan_path, *WORDS)
    assert [row["date"] for row in rows] == [night["date"] for night in seen]
    for row, night in zip(rows, seen, strict=True):
        assert row["best"] == (night["best"] or "")
        assert float(row["moon_lit_share"]) == night["moon"]["lit_share"]


def test_the_page_has_a_line_a_night_and_the_change_of_the_clocks(plan_path: str) -> None:
    page = answered(plan_path, "--twilight", "dusk", "--from", "2026-10-28", "--to", "2026-11-03")
    assert page.startswith("Gull Tickle · dusk, 2026-10-28 to 2026-11-03 · shoot A")
    assert len(re.findall(r"^2026-1\d-\d\d  \d\d:\d\d  ", page, re.MULTILINE)) == 7
    # In Newfoundland the clocks are put back on the first Sunday of November.
    assert re.search(
        r"^2026-11-01.*\n +clocks are put back 60 min on this day$", page, re.MULTILINE
    )
    assert page.endswith("Check the local rules and your licence.\n")
    assert max(map(len, page.splitlines())) <= 88


def calendar(plan_path: str, *words: str) -> str:
    return answered(plan_path, *WORDS, "--format", "ics", *words)


def test_the_calendar_is_read_back_by_another_library(plan_path: str) -> None:
    seen = [night for night in reported(plan_path, *WORDS) if night["best"] is not None]
    events = vobject.readOne(calendar(plan_path)).vevent_list
    assert len(events) == len(seen) > 0
    shoot = load(plan_path).shoots.A
    frames = round(shoot.clip_length_s * shoot.frame_rate_fps)
    for event, night in zip(events, seen, strict=True):
        best = dt.datetime.fromisoformat(night["best"])
        assert abs((event.dtstart.value - best).total_seconds()) <= 0.5
        length = event.dtend.value - event.dtstart.value
        assert abs(length.total_seconds() - (frames - 1) * shoot.interval_s) <= 1.0
        assert event.summary.value == "Gull Tickle: dusk, shoot A"
        assert BANNED.search(event.description.value) is None
    assert len({event.uid.value for event in events}) == len(events)


def test_a_name_survives_accents_quotes_commas_lines_and_emoji(plan_path: str) -> None:
    plan = load(plan_path)
    save(with_values(plan, {"place.name": AWKWARD}), Path(plan_path))
    events = vobject.readOne(calendar(plan_path)).vevent_list
    assert {event.location.value for event in events} == {AWKWARD}
    assert {event.summary.value for event in events} == {f"{AWKWARD}: dusk, shoot A"}


def test_the_calendar_keeps_to_the_lines_of_the_standard(plan_path: str) -> None:
    plan = load(plan_path)
    save(with_values(plan, {"place.name": AWKWARD}), Path(plan_path))
    text = calendar(plan_path)
    # RFC 5545, section 3.1: lines end in CR LF and are no longer than 75 octets without it.
    assert text.endswith("END:VCALENDAR\r\n")
    assert "\n" not in text.replace("\r\n", "")
    assert max(len(line.encode()) for line in text.split("\r\n")) <= 75
    # Section 3.6: PRODID and VERSION once each; 3.6.1: UID and DTSTAMP in every event.
    assert text.count("\r\nPRODID:") == text.count("\r\nVERSION:2.0\r\n") == 1
    for name in ("UID:", "DTSTAMP:", "DTSTART:", "DTEND:"):
        assert text.count(f"\r\n{name}") == text.count("BEGIN:VEVENT") > 0
    assert all(start.endswith("Z") for start in re.findall(r"\r\nDTSTART:(\S+)", text))


def test_a_newer_calendar_renews_the_entries_of_an_older_one(plan_path: str) -> None:
    found = [
        set(re.findall(r"\r\nUID:(\S+)", calendar(plan_path, "--set", f"shoots.A.iso={iso}")))
        for iso in (100, 125)
    ]
    assert found[0] & found[1]


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("--twilight", "noon", *WORDS[2:]), "dusk or dawn"),
        ((*WORDS[:4], "--to", "2026-10-19"), "swap the dates"),
        ((*WORDS[:4], "--to", "2027-12-31"), "366 at most"),
        ((*WORDS[:2], "--from", "soon", *WORDS[4:]), "was not understood"),
        ((*WORDS, "--format", "xml"), "text, json, csv or ics"),
        ((*WORDS, "--shoot", "C"), "A or B"),
        ((*WORDS, "--set", "shoots.A.iso=many"), "shoots.A.iso"),
        (WORDS[:4], "--to"),
    ],
)
def test_what_cannot_be_used_is_refused_in_a_sentence(
    plan_path: str, words: tuple[str, ...], expected: str
) -> None:
    assert expected in commands.refused("nights", plan_path, *words)
