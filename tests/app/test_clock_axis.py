"""The one clock of the sheet: what it shows, where instants stand, when it lies still."""

from __future__ import annotations

import datetime as dt
import itertools
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.sheet.clock import Axis, Clock, ClockAxis, Stay, axis_of, ticks_of

MINUTE = 60.0
# 10 October 2026, 18:39:12 in UTC+2.
SUNSET = dt.datetime(2026, 10, 10, 16, 39, 12, tzinfo=dt.UTC).timestamp()
TAKE = Stay(
    dt.date(2026, 10, 10), "dusk", "sunset", SUNSET, SUNSET + 39 * MINUTE, SUNSET + 56 * MINUTE
)
EARLIER = replace(TAKE, first_s=SUNSET + 28 * MINUTE, last_s=SUNSET + 41 * MINUTE)
OTHER_NIGHT = replace(
    EARLIER,
    date=dt.date(2026, 10, 14),
    event_s=SUNSET + 4 * 86400.0 - 11 * MINUTE,
    first_s=SUNSET + 4 * 86400.0 + 17 * MINUTE,
    last_s=SUNSET + 4 * 86400.0 + 30 * MINUTE,
)


def test_dusk_runs_from_just_before_sunset_to_25_min_after_the_last_landing() -> None:
    axis = axis_of({"A": TAKE, "B": EARLIER})
    assert SUNSET - 4 * MINUTE < axis.first_s <= SUNSET - 2 * MINUTE
    assert TAKE.last_s + 25 * MINUTE <= axis.last_s < TAKE.last_s + 27 * MINUTE
    assert axis.first_s % 120.0 == axis.last_s % 120.0 == 0.0
    assert not axis.two_nights


def test_a_take_off_before_sunset_opens_the_axis() -> None:
    early = replace(EARLIER, first_s=SUNSET - 31 * MINUTE)
    axis = axis_of({"A": TAKE, "B": early})
    assert early.first_s - 2 * MINUTE < axis.first_s <= early.first_s


def test_dawn_shows_the_sunrise_that_comes_after_the_takes() -> None:
    dawn = Stay(
        dt.date(2026, 10, 10), "dawn", "sunrise", SUNSET, SUNSET - 95 * MINUTE, SUNSET - 80 * MINUTE
    )
    axis = axis_of({"A": dawn, "B": dawn})
    assert axis.first_s <= dawn.first_s - 25 * MINUTE
    assert axis.last_s >= SUNSET + 2 * MINUTE


def test_two_nights_lie_over_each_other_at_their_sunsets() -> None:
    axis = axis_of({"A": TAKE, "B": OTHER_NIGHT})
    assert axis.two_nights
    assert axis.event == "sunset"
    assert axis.of(TAKE.event_s, "A") == axis.of(OTHER_NIGHT.event_s, "B") == 0.0
    assert axis.of(OTHER_NIGHT.first_s, "B") == pytest.approx(28 * MINUTE)
    assert axis.first_s < 0.0 < axis.last_s


def test_dusk_and_dawn_of_one_date_are_two_nights() -> None:
    dawn = replace(TAKE, twilight="dawn", event="sunrise")
    axis = axis_of({"A": TAKE, "B": dawn})
    assert axis.two_nights


def test_the_axis_lies_still_while_it_is_held() -> None:
    clock = ClockAxis()
    before = clock.fit({"A": TAKE, "B": EARLIER})
    clock.hold()
    later = replace(TAKE, first_s=TAKE.first_s + 600.0, last_s=TAKE.last_s + 600.0)
    assert clock.fit({"A": later, "B": EARLIER}) == before
    clock.release()
    assert clock.fit({"A": later, "B": EARLIER}).last_s == before.last_s + 600.0


def test_a_held_axis_grows_when_a_take_leaves_it() -> None:
    clock = ClockAxis()
    before = clock.fit({"A": TAKE, "B": EARLIER})
    clock.hold()
    far = replace(TAKE, first_s=TAKE.first_s + 7200.0, last_s=TAKE.last_s + 7200.0)
    grown = clock.fit({"A": far, "B": EARLIER})
    assert grown.first_s == before.first_s
    assert grown.last_s >= far.last_s


def test_a_held_axis_follows_another_date() -> None:
    clock = ClockAxis()
    clock.fit({"A": TAKE, "B": EARLIER})
    clock.hold()
    assert clock.fit({"A": TAKE, "B": OTHER_NIGHT}).two_nights


@given(st.floats(0.0, 1.0), st.floats(300.0, 2000.0), st.floats(1200.0, 50000.0))
def test_a_place_and_its_instant_are_one(share: float, width: float, length_s: float) -> None:
    clock = Clock(Axis(SUNSET, SUNSET + length_s), 112.0, 112.0 + width)
    x = clock.left + share * width
    assert clock.x(clock.axis_s(x)) == pytest.approx(x, abs=1e-3)
    assert clock.left - 1e-3 <= x <= clock.right + 1e-3


def test_ticks_stand_on_whole_ten_minutes_of_the_local_clock() -> None:
    clock = Clock(Axis(SUNSET - 132.0, SUNSET + 5000.0), 112.0, 746.0)
    ticks = ticks_of(clock, 54.0, 7200.0)
    assert all((one + 7200.0) % 600.0 == 0.0 for one in ticks.long_s)
    assert all((one + 7200.0) % 600.0 == 300.0 for one in ticks.short_s)
    assert ticks.labelled_s == ticks.long_s


def test_a_zone_of_quarter_hours_has_its_own_ten_minutes() -> None:
    # Nepal keeps UTC+5:45 (IANA time zone database, Asia/Kathmandu).
    clock = Clock(Axis(0.0, 7200.0), 0.0, 800.0)
    offset_s = (5 * 60 + 45) * MINUTE
    ticks = ticks_of(clock, 54.0, offset_s)
    assert all((one + offset_s) % 600.0 == 0.0 for one in ticks.long_s)


@pytest.mark.parametrize(
    ("label_width", "step_min"), [(54.0, 10.0), (90.0, 20.0), (200.0, 30.0), (300.0, 60.0)]
)
def test_labels_are_spaced_to_fit(label_width: float, step_min: float) -> None:
    clock = Clock(Axis(0.0, 90 * MINUTE), 112.0, 746.0)
    labelled = ticks_of(clock, label_width, 0.0).labelled_s
    assert labelled[1] - labelled[0] == step_min * MINUTE
    assert clock.x(labelled[1]) - clock.x(labelled[0]) >= label_width


def test_a_long_evening_has_fewer_ticks() -> None:
    clock = Clock(Axis(0.0, 14 * 3600.0), 112.0, 746.0)
    ticks = ticks_of(clock, 54.0, 0.0)
    places = [clock.x(one) for one in ticks.long_s]
    assert min(b - a for a, b in itertools.pairwise(places)) >= 12.0
