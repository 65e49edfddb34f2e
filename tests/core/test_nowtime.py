"""The clock now: which instant of the night a typed time means, and which means none."""

from __future__ import annotations

import datetime as dt
import re

import pytest

from core.edit import PlanError
from core.night import Night, night_of
from core.nowtime import now_of

ROME = (41.9, 12.5, "Europe/Rome")


def dusk(date: str = "2026-12-05") -> Night:
    return night_of(*ROME, dt.date.fromisoformat(date), "dusk")


def clock(text: str, night: Night) -> str:
    return night.clock(now_of(text, night)).isoformat(timespec="seconds")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("17:25", "2026-12-05T17:25:00+01:00"),
        ("1725", "2026-12-05T17:25:00+01:00"),
        ("17.25", "2026-12-05T17:25:00+01:00"),
        ("5:25 pm", "2026-12-05T17:25:00+01:00"),
        # Before the night has begun its take is asked about too.
        ("9:30", "2026-12-05T09:30:00+01:00"),
        ("17:25:30", "2026-12-05T17:25:30+01:00"),
        # Past midnight it is still the dusk of the fifth.
        ("0:10", "2026-12-06T00:10:00+01:00"),
        ("2026-12-05T17:25", "2026-12-05T17:25:00+01:00"),
        ("2026-12-05 17:25", "2026-12-05T17:25:00+01:00"),
        ("2026-12-05T16:25Z", "2026-12-05T17:25:00+01:00"),
        ("2026-12-06T09:00+01:00", "2026-12-06T09:00:00+01:00"),
    ],
)
def test_a_typed_time_is_an_instant_of_the_night(text: str, expected: str) -> None:
    assert clock(text, dusk()) == expected


def test_minutes_from_the_event_are_counted_from_it() -> None:
    night = dusk()
    assert now_of("sunset+20", night) == pytest.approx(night.event.time_s + 1200.0)
    assert now_of("5 min before sunset", night) == pytest.approx(night.event.time_s - 300.0)


@pytest.mark.parametrize("text", ["2026-12-04T17:25", "2027-12-05T17:25+01:00", "sunset+1200"])
def test_a_time_far_from_the_night_is_refused_with_the_hours_it_may_have(text: str) -> None:
    pattern = (
        r"the dusk of 5 December is too far from it; a time from 00:01 on 5 December to 12:01 on "
        r"6 December was expected\."
    )
    with pytest.raises(PlanError, match=pattern):
        now_of(text, dusk())


@pytest.mark.parametrize("text", ["", "x", "25:00", "17:61", "20", "2026-13-05T17:25", "sunrise"])
def test_what_is_no_time_is_refused(text: str) -> None:
    with pytest.raises(PlanError, match=re.escape("a clock time such as 17:25")):
        now_of(text, dusk())


def test_a_dawn_is_of_the_whole_night_before_it() -> None:
    dawn = night_of(*ROME, dt.date(2026, 12, 5), "dawn")
    assert clock("23:00", dawn) == "2026-12-04T23:00:00+01:00"
    assert clock("6:30", dawn) == "2026-12-05T06:30:00+01:00"


def test_the_hour_that_the_clock_leaves_out_is_refused() -> None:
    # In 2026 Europe's clocks go forward on 29 March at 1:00 UTC (Directive 2000/84/EC).
    dawn = night_of(*ROME, dt.date(2026, 3, 29), "dawn")
    with pytest.raises(PlanError, match="on 29 March the clock goes forward and leaves it out"):
        now_of("2:30", dawn)
    assert clock("3:30", dawn) == "2026-03-29T03:30:00+02:00"


def test_the_hour_that_comes_twice_is_the_one_nearer_to_the_event() -> None:
    # And back on 25 October at 1:00 UTC.
    dawn = night_of(*ROME, dt.date(2026, 10, 25), "dawn")
    assert clock("2:30", dawn) == "2026-10-25T02:30:00+01:00"


def test_in_the_polar_night_the_clock_counts_from_noon() -> None:
    night = night_of(71.0, 25.0, "Europe/Oslo", dt.date(2026, 12, 21), "dusk")
    assert night.event.name == "noon"
    assert clock("15:00", night) == "2026-12-21T15:00:00+01:00"
    assert now_of("noon+90", night) == pytest.approx(night.event.time_s + 5400.0)
