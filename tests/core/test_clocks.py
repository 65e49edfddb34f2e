"""Clocks that promise no more than the span, the stop and the night they tell."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.clocks import clock_cut, moment_clock, span_texts, span_words
from core.night import Moment, MomentName, night_of
from tests.dusk import instant_s

NIGHT = night_of(41.9, 12.5, "Europe/Rome", dt.date(2026, 10, 17), "dusk")
#: 19:20:00 in Rome, two hours from UTC (tzdata).
BASE_S = dt.datetime(2026, 10, 17, 17, 20, tzinfo=dt.UTC).timestamp()


def told(first: float, last: float) -> tuple[str, str]:
    return span_texts(NIGHT, BASE_S + first, BASE_S + last)


@given(st.floats(0.0, 3600.0), st.floats(0.0, 900.0))
def test_every_start_inside_the_words_lies_inside_the_span(first: float, length: float) -> None:
    last = first + length
    ends = [instant_s(NIGHT, text, near_s=BASE_S + first) - BASE_S for text in told(first, last)]
    assert ends[0] <= ends[1]
    # Half a second where no whole one lies inside; else not more than arithmetic leaves.
    past = 1e-4 if int(last) >= first else 0.5001
    assert first - past <= ends[0]
    assert ends[1] <= last + past


@pytest.mark.parametrize(
    ("first", "last", "texts"),
    [
        (0.0, 300.0, ("19:20", "19:25")),
        (1.0, 301.0, ("19:21", "19:25")),
        (59.0, 359.0, ("19:21", "19:25")),
        # The nearest minutes, 19:20 and 19:26, would both lie outside.
        (20.0, 340.0, ("19:21", "19:25")),
        # Less than from one minute to another: to the second.
        (8.0, 39.0, ("19:20:08", "19:20:39")),
        (30.0, 100.0, ("19:20:30", "19:21:40")),
        (8.4, 39.6, ("19:20:09", "19:20:39")),
        (8.0, 8.0, ("19:20:08", "19:20:08")),
        (8.4, 8.4, ("19:20:08", "19:20:08")),
        (8.4, 8.8, ("19:20:09", "19:20:09")),
    ],
)
def test_spans_are_cut_inward(first: float, last: float, texts: tuple[str, str]) -> None:
    assert told(first, last) == texts


def test_a_span_in_words() -> None:
    assert span_words(NIGHT, BASE_S, BASE_S + 300.0) == "19:20 to 19:25"
    assert span_words(NIGHT, BASE_S, BASE_S + 300.0, "from ") == "from 19:20 to 19:25"
    assert span_words(NIGHT, BASE_S + 8.0, BASE_S + 8.0, "from ") == "at 19:20:08"


def test_a_clock_to_be_kept_is_cut_down() -> None:
    assert clock_cut(NIGHT, BASE_S + 46.9) == "19:20:46"
    assert clock_cut(NIGHT, BASE_S + 46.0) == "19:20:46"


@pytest.mark.parametrize(
    ("name", "after_s", "dusk", "dawn"),
    [
        ("civil", 40.0, "19:20", "19:21"),
        ("civil", 70.0, "19:21", "19:22"),
        ("nautical", 40.0, "19:21", "19:21"),
        ("nautical", 70.0, "19:21", "19:21"),
    ],
)
def test_the_night_of_the_rules_is_told_no_shorter_than_it_is(
    name: MomentName, after_s: float, dusk: str, dawn: str
) -> None:
    # At dusk it begins then, at dawn it ends.
    moment = Moment(name, BASE_S + after_s, -6.0, 250.0)
    assert moment_clock(NIGHT, moment) == dusk
    assert moment_clock(replace(NIGHT, twilight="dawn"), moment) == dawn
