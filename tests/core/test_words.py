"""Figures as they stand on screens: real minus, thin thousands, names of the trade."""

from __future__ import annotations

import datetime as dt
import math
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core import words
from core.plan import Camera

ROME = ZoneInfo("Europe/Rome")

# The third-stop scale as it is engraved on cameras (common practice, no source); the exact
# times are 2^(k/3) s.
DIAL = {
    -15: "1/30", -14: "1/25", -13: "1/20", -12: "1/15", -11: "1/13", -10: "1/10", -9: "1/8",
    -8: "1/6", -7: "1/5", -6: "1/4", -5: "0.3", -4: "0.4", -3: "0.5", -2: "0.6", -1: "0.8",
    0: "1", 1: "1.3", 2: "1.6", 3: "2", 4: "2.5", 5: "3.2", 6: "4", 7: "5", 8: "6", 9: "8",
}  # fmt: skip


@pytest.mark.parametrize(("thirds", "name"), DIAL.items())
def test_a_third_stop_has_the_name_on_the_dial(thirds: int, name: str) -> None:
    assert words.shutter_text(2.0 ** (thirds / 3.0)) == f"{name} s"


def test_every_mark_of_a_camera_has_a_name_of_its_own_that_leads_back() -> None:
    scale = Camera().shutters_s
    names = [words.shutter_name(shutter_s) for shutter_s in scale]
    assert [words.SHUTTERS_BY_NAME[name] for name in names] == list(scale)


def test_names_lie_within_a_tenth_of_a_stop_of_their_times() -> None:
    """Which makes them third-stops in order: the next mark is 0.33 stops away."""
    for name, shutter_s in words.SHUTTERS_BY_NAME.items():
        top, _, bottom = name.partition("/")
        assert abs(math.log2(float(top) / float(bottom or 1) / shutter_s)) < 0.1


@pytest.mark.parametrize(
    ("shutter_s", "text"),
    [
        (1 / 60, "1/60 s"), (1 / 64, "1/60 s"), (0.1, "1/10 s"), (1 / 8000, "1/8000 s"),
        (0.0001, "1/10000 s"), (0.35, "0.35 s"), (1.7, "1.7 s"), (30.0, "30 s"), (32.0, "30 s"),
        (120.0, "120 s"), (0.75, "0.75 s"),
    ],
)  # fmt: skip
def test_a_shutter_off_the_scale_is_shown_as_it_is(shutter_s: float, text: str) -> None:
    assert words.shutter_text(shutter_s) == text


@given(st.floats(0.0001, 120.0))
def test_a_shown_shutter_is_a_third_of_a_mark_off_at_most(shutter_s: float) -> None:
    top, _, bottom = words.shutter_name(shutter_s).partition("/")
    assert abs(math.log2(float(top) / float(bottom or 1) / shutter_s)) < 0.11


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (0.0, None, "0"), (-0.0, None, "0"), (3.0, None, "3"), (2.50, None, "2.5"),
        (-15.0, None, "−15"), (1600.0, None, "1600"), (12800.0, None, "12\u2009800"),
        (-1234567.0, None, "−1\u2009234\u2009567"), (0.12345678, None, "0.123457"),
        (1e-9, None, "0.000000001"), (-0.04, 1, "0.0"), (-0.06, 1, "−0.1"),
        (99999.96, 1, "100\u2009000.0"),
    ],
)  # fmt: skip
def test_a_number_has_a_real_minus_and_thin_thousands(
    value: float, digits: int | None, text: str
) -> None:
    """Four digits stay together, five do not: SI Brochure, 9th edition, 5.4.4."""
    assert words.number_text(value, digits) == text


@given(st.floats(-1e9, 1e9))
def test_a_number_reads_back_to_six_figures(value: float) -> None:
    text = words.number_text(value).replace(words.THIN_SPACE, "").replace(words.MINUS, "-")
    assert float(text) == pytest.approx(value, rel=1e-5, abs=1e-300)


@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_what_is_no_number_has_no_text(value: float) -> None:
    with pytest.raises(ValueError, match="finite"):
        words.number_text(value)


@pytest.mark.parametrize(
    ("stops", "text"), [(2.2, "+2.2"), (-2.4, "−2.4"), (0.0, "0.0"), (-0.04, "0.0"), (0.05, "+0.1")]
)
def test_stops_from_mid_grey_show_their_sign(stops: float, text: str) -> None:
    assert words.signed_text(stops + 1e-9 * (stops > 0)) == text


@pytest.mark.parametrize(
    ("duration_s", "text"),
    [
        (717.0, "11:57"), (0.0, "0:00"), (59.6, "1:00"), (3725.0, "1:02:05"), (-20.0, "−0:20"),
        (-0.4, "0:00"), (3599.5, "1:00:00"),
    ],
)  # fmt: skip
def test_lengths_of_time(duration_s: float, text: str) -> None:
    assert words.duration_text(duration_s) == text


@pytest.mark.parametrize(
    ("second", "minute_text", "second_text"),
    [(10.4, "19:22", "19:22:10"), (29.9, "19:22", "19:22:30"), (59.7, "19:23", "19:23:00")],
)
def test_a_clock_is_rounded(second: float, minute_text: str, second_text: str) -> None:
    moment = dt.datetime(2026, 10, 17, 19, 22, tzinfo=ROME) + dt.timedelta(seconds=second)
    assert words.clock_text(moment) == minute_text
    assert words.clock_text(moment, seconds=True) == second_text


def test_a_clock_rounded_over_the_change_of_the_clock_shows_the_new_hour() -> None:
    """In Rome 01:59:59 on 2026-03-29 is followed by 03:00:00 (Directive 2000/84/EC)."""
    before = dt.datetime(2026, 3, 29, 1, 59, 59, 700_000, tzinfo=ROME)
    assert words.clock_text(before) == "03:00"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (words.seconds_text(2.5), "2.5 s"),
        (words.minutes_text(1.38), "1.4 min"),
        (words.after_event_text("sunset", 19.0), "19 min after sunset"),
        (words.after_event_text("sunrise", -38.0), "38 min before sunrise"),
        (words.after_event_text("noon", 176.2), "176 min after solar noon"),
        (words.degrees_text(-6.24, 1), "−6.2°"),
        (words.coordinate_text(12.3), "12.3°"),
        (words.coordinate_text(-100.0), "−100°"),
        (words.bearing_text(49.6), "050°"),
        (words.bearing_text(-0.2), "000°"),
        (words.bearing_text(359.7), "000°"),
        (words.percent_text(36.4), "36 %"),
        (words.share_text(0.17), "17 %"),
        (words.chance_text(0.78), "7 times in 10"),
        (words.chance_text(0.8), "8 times in 10"),
        (words.chance_text(1.0), "9 times in 10"),
        (words.chance_text(0.1), "once in 10"),
        (words.chance_text(0.07), "less than once in 10"),
        (words.iso_text(1600.0), "ISO 1600"),
        (words.f_number_text(1.8), "f/1.8"),
        (words.filter_text(0.0), "no filter"),
        (words.filter_text(6.0), "ND 64"),
        (words.filter_text(10.0), "ND 1000"),
        (words.filter_text(3.3), "3.3 stops"),
        (words.listed(()), ""),
        (words.listed(("level",)), "level"),
        (words.listed(("level", "clock", "offset")), "level, clock or offset"),
    ],
)
def test_the_other_figures(text: str, expected: str) -> None:
    assert text == expected


def test_what_is_missing_is_cut_up_and_what_is_spare_cut_down() -> None:
    assert words.short_text(0.31) == "0.4 stop"
    assert words.short_text(1.01) == "1.1 stops"
    assert words.slack_text(0.79) == "+0.7 stop"
    assert words.slack_text(-1.21) == "−1.3 stops"


def test_what_burns_is_cut_up_and_what_is_kept_cut_down() -> None:
    assert words.burnt_text(0.083) == "9 %"
    assert words.burnt_text(0.08) == "8 %"
    assert words.kept_text(0.996) == "99 %"
    assert words.kept_text(0.29) == "29 %"


@pytest.mark.parametrize(
    ("text", "bound"),
    [
        ("109 m to station 3", "109~m to station 3"),
        ("one every 3 s, 50 % on the gauge", "one every 3~s, 50~% on the gauge"),
        ("5 to 7 m/s at 14 °C", "5 to 7~m/s at 14~°C"),
        ("1 s, ISO 100, f/1.8", "1~s, ISO~100, f/1.8"),
        ("88 metres, 200 frames", "88 metres, 200 frames"),
    ],
)
def test_a_figure_stays_with_its_unit(text: str, bound: str) -> None:
    assert words.unbroken(text) == bound.replace("~", "\N{NO-BREAK SPACE}")
