"""What a pilot types is read as meant, or refused in one sentence."""

from __future__ import annotations

import datetime as dt
import re
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from core.edit import PlanError, get_value, with_values
from core.fields import FIELDS, Field, field_of, keys_of
from core.manner import Manner, adopt
from core.night import EventName
from core.parse import parse_value
from core.plan import Camera, Plan
from core.starttime import Clock, FromEvent, parse_start, start_minutes
from tests.strategies import plans

ROME = ZoneInfo("Europe/Rome")
RANGED = [field for field in FIELDS.values() if field.kind == "number" and field.high is not None]
NAMED = {key.rpartition(".")[2]: key.replace("*", "0") for key in FIELDS}


@pytest.mark.parametrize(
    ("name", "text", "value"),
    [
        ("shutter_s", "1/4", 0.25),
        ("shutter_s", "0.25 s", 0.25),
        ("shutter_s", "0,25", 0.25),
        ("shutter_s", "1 s", 1.0),
        ("shutter_s", "1 \u2044 4 sec", 0.25),
        ("shutter_s", "250 ms", 0.25),
        ("shutter_s", "2 min", 120.0),
        ("latitude_deg", "38.25° N", 38.25),
        ("latitude_deg", "38,25 s", -38.25),
        ("longitude_deg", "9.5 W", -9.5),
        ("longitude_deg", "9.5°E", 9.5),
        ("longitude_deg", "\u22129.5°", -9.5),
        # Degrees, minutes and seconds as in ISO 6709, Annex D.
        ("latitude_deg", "38°12'N", 38.2),
        ("latitude_deg", "38º12'N", 38.2),
        ("latitude_deg", "38°12\u203230\u2033S", -(38 + 12 / 60 + 30 / 3600)),
        ("latitude_deg", "N 38 12,5", 38 + 12.5 / 60),
        ("latitude_deg", "38°125", None),
        ("latitude_deg", "38°61'", None),
        ("longitude_deg", "9.4 W", -9.4),
        ("longitude_deg", "W 9°24'", -9.4),
        ("longitude_deg", "-9.4 W", None),
        ("interval_s", "3 s", 3.0),
        ("interval_s", "2 min", 120.0),
        ("interval_s", "0:30", 30.0),
        ("clip_length_s", "10", 10.0),
        ("wait_min", "90 s", 1.5),
        ("wait_min", "1:30", 1.5),
        ("rated_min", "0.5 h", 30.0),
        ("iso", "ISO 100", 100.0),
        ("iso", "iso 12\u2009800", 12800.0),
        ("iso", "12 800", 12800.0),
        ("f_number", "f/1.8", 1.8),
        ("f_number", "1,8", 1.8),
        ("f_number", "F 2.8", 2.8),
        ("nd_stops", "3 stops", 3.0),
        ("nd_stops", "ND 8", 3.0),
        ("nd_stops", "nd1000", 10.0),
        ("nd_stops", "ND 0.9", 3.0),
        ("nd_stops", "no filter", 0.0),
        ("wind_10m_m_s", "5.5 m/s", 5.5),
        ("wind_10m_m_s", "18 km/h", 5.0),
        ("wind_10m_m_s", "10 kn", 10 * 1852 / 3600),
        ("temperature_c", "7 °C", 7.0),
        ("temperature_c", "−7 °C", -7.0),
        ("temperature_c", "- 7", None),
        ("cloud_okta", "4/8", 4.0),
        ("cloud_okta", "4 okta", 4.0),
        ("cloud_okta", "50 %", 4.0),
        ("cloud_okta", "1/2", None),  # half the sky, or half an eighth
        ("cloud_okta", "¾", None),
        ("visibility_km", "800 m", 0.8),
        ("up_m", "100 ft", 30.48),
        ("mass_kg", "249 g", 0.249),
        ("frame_mb", "0.5 GB", 500.0),
        ("excused_share", "5 %", 0.05),
        ("excused_share", "0.05", 0.05),
        ("humidity_percent", "55 %", 55.0),
        ("heading_deg", "270°", 270.0),
        ("luminance_cd_m2", "0.75 cd/m²", 0.75),
    ],
)
def test_a_number_is_read_in_the_unit_of_its_key(name: str, text: str, value: float | None) -> None:
    if value is None:
        with pytest.raises(PlanError, match="was not understood"):
            parse_value(NAMED[name], text)
    else:
        assert parse_value(NAMED[name], text) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "thirds"),
    [("1/30", -15), ("1/6", -8), ("0.3", -5), ("1/3", -5), ("1/2", -3), ("1.3 s", 1), ("3,2", 5)],
)
def test_a_trade_name_is_the_exact_third_stop_of_the_camera(text: str, thirds: int) -> None:
    value = parse_value("shoots.A.shutter_s", text)
    assert value == pytest.approx(2.0 ** (thirds / 3.0), rel=2e-5)
    assert value in Camera().shutters_s


@pytest.mark.parametrize(
    ("key", "text", "value"),
    [
        ("shoots.A.date", "2026-10-17", dt.date(2026, 10, 17)),
        ("shoots.A.twilight", " Dawn ", "dawn"),
        ("path.timing", "minimum jerk", "minimum_jerk"),
        ("camera.aspect", "4:3", "4:3"),
        ("shoots.A.path_reversed", "Yes", True),
        ("shoots.A.path_reversed", "off", False),
        ("shoots.A.date", "25 Oct 2026", dt.date(2026, 10, 25)),
        ("shoots.A.date", "25/10/2026", dt.date(2026, 10, 25)),
        ("shoots.A.date", "05.06.2026", dt.date(2026, 6, 5)),
        ("shoots.A.date", "2026/6/5", dt.date(2026, 6, 5)),
        ("shoots.A.date", "5/5/2026", dt.date(2026, 5, 5)),
        ("ground.lamps.switching.on_time", "7:05", "07:05"),
        ("ground.lamps.switching.on_time", "7:05 pm", "19:05"),
        ("ground.lamps.switching.on_time", "19:05:30", "19:05:30"),
        ("place.name", "  Old Quay ", "Old Quay"),
        ("shoots.A.conditions.visibility_km", "", None),
        ("path.stations.0.look_at", "none", None),
        ("path.stations.0.look_at", "1, 2,5, 3 m", (1.0, 2.5, 3.0)),
        ("camera.isos", "100; 200; 400", (100.0, 200.0, 400.0)),
        ("camera.shutters_s", "1/4 s, 1/2 s, 1 s", (0.25, 0.5, 1.0)),
    ],
)
def test_what_is_no_number_is_read_too(key: str, text: str, value: object) -> None:
    assert parse_value(key, text) == value


@pytest.mark.parametrize(
    ("text", "start"),
    [
        ("25", 25.0),
        ("+25 min", 25.0),
        ("−3", -3.0),
        ("1500 s", 25.0),
        ("16:42", Clock(dt.time(16, 42))),
        ("16:42:10", Clock(dt.time(16, 42, 10))),
        ("0:24", Clock(dt.time(0, 24))),
        ("7:50 pm", Clock(dt.time(19, 50))),
        ("7:50:10 PM", Clock(dt.time(19, 50, 10))),
        ("12:10 a.m.", Clock(dt.time(0, 10))),
        ("12 pm", Clock(dt.time(12, 0))),
        ("+24:00", 24.0),
        ("27.25", 27.25),
        ("sunset", FromEvent("sunset", 0.0)),
        ("sunset+19", FromEvent("sunset", 19.0)),
        ("Sunset + 19 min", FromEvent("sunset", 19.0)),
        ("sunset+19:30", FromEvent("sunset", 19.5)),
        ("sunrise-38", FromEvent("sunrise", -38.0)),
        ("sunrise − 38 min", FromEvent("sunrise", -38.0)),
        ("38 min before sunrise", FromEvent("sunrise", -38.0)),
        ("midnight + 1 h", FromEvent("midnight", 60.0)),
        ("solar midnight + 60", FromEvent("midnight", 60.0)),
        ("176 min after solar noon", FromEvent("noon", 176.0)),
    ],
)
def test_a_start_is_minutes_a_clock_or_beside_an_event(text: str, start: object) -> None:
    assert parse_start(text) == start
    assert parse_value("shoots.B.start_after_event_min", text) == start


@pytest.mark.parametrize(
    "text",
    [
        "",
        "soon",
        "24:00",
        "25:00",
        "30:00",
        "24:10:05",
        "19:60",
        "123:00",
        "13:10 pm",
        "25:00:00:00",
        "16:42:99",
        "solar sunset",
        "sunset*2",
        "sunset+",
        "sunset+3 sheep",
        "moonrise+3",
    ],
)
def test_a_start_that_is_none_is_refused(text: str) -> None:
    with pytest.raises(PlanError, match=r"^The time .* was not understood; .* was expected\.$"):
        parse_start(text)


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("19.30", "19:30 or 19.3 min"),
        ("19,30", "19:30 or 19.3 min"),
        ("0645", "06:45 or 645 min"),
        ("1930", "19:30"),
    ],
)
def test_a_clock_without_its_colon_is_not_taken_for_minutes(text: str, wanted: str) -> None:
    # 19.3 minutes after a sunset at 18:52 would be 19:11, near to what was meant.
    with pytest.raises(PlanError, match=rf"can be a clock time or minutes; {wanted} was expected"):
        parse_start(text)


@pytest.mark.parametrize("text", ["05/06/2026", "5-6-2026"])
def test_a_date_that_could_be_two_is_refused_with_both(text: str) -> None:
    sentence = (
        f'Date "{text}" can be 5 June or 6 May;'
        " a month by its name as in 5 Jun 2026, or 2026-06-05, was expected."
    )
    with pytest.raises(PlanError, match=f"^{re.escape(sentence)}$"):
        parse_value("shoots.A.date", text)


@pytest.mark.parametrize(
    "text", ["25/10/26", "25.10.26", "25. 10. 26", "25 Oct 26", "Oct 25, 26", "25 Oct '26"]
)
def test_a_year_of_two_digits_is_one_of_this_century(text: str) -> None:
    assert parse_value("shoots.A.date", text) == dt.date(2026, 10, 25)


def test_two_digits_that_could_be_year_or_day_are_no_date() -> None:
    """26-10-17 is a day of 2026 to some and of 2017 to others; where years lead, so is 26/10/17."""
    adopt(Manner(dates="ja_JP"))
    for text in ("26-10-17", "26/10/17"):
        with pytest.raises(PlanError, match="was not understood"):
            parse_value("shoots.A.date", text)
    adopt(Manner())
    with pytest.raises(PlanError, match="10 November or 11 October"):
        parse_value("shoots.A.date", "10/11/26")


@pytest.mark.parametrize(
    ("text", "bearing_deg"),
    # WMO-No. 306, code table 0877: the eight main points, and those between them.
    [("N", 0.0), ("ne", 45.0), ("East", 90.0), ("south-east", 135.0), ("SSW", 202.5),
     ("south west", 225.0), ("W", 270.0), ("North-West", 315.0), ("nnw", 337.5)],
)  # fmt: skip
def test_a_direction_may_be_a_point_of_the_compass(text: str, bearing_deg: float) -> None:
    assert parse_value("shoots.A.conditions.wind_from_deg", text) == bearing_deg
    assert parse_value("path.stations.0.heading_deg", text) == bearing_deg
    assert parse_value("place.skyline", f"{text}: 2.5") == ((bearing_deg, 2.5),)


@pytest.mark.parametrize("key", ["path.stations.0.pitch_deg", "shoots.A.conditions.haze_aod"])
def test_what_is_no_direction_has_no_point_of_the_compass(key: str) -> None:
    with pytest.raises(PlanError, match='"N" was not understood'):
        parse_value(key, "N")


def test_calm_is_a_wind_of_nothing_and_no_limit_of_one() -> None:
    assert parse_value("shoots.A.conditions.wind_10m_m_s", "calm") == 0.0
    assert parse_value("shoots.A.conditions.gust_10m_m_s", "Calm") == 0.0
    with pytest.raises(PlanError, match="was not understood"):
        parse_value("craft.wind_limit_m_s", "calm")


@pytest.mark.parametrize(("text", "share"), [("30 %", 0.3), ("30", 0.3), ("0.3", 0.3), ("1", 1.0)])
def test_a_share_is_typed_as_it_is_shown_or_as_plans_have_it(text: str, share: float) -> None:
    assert parse_value("ground.lamps.lit_share", text) == pytest.approx(share)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("10/25/2026", "has no month 25"),
        ("31.02.2026", "is not in the calendar, February 2026 has 28 days"),
        ("29 Feb 2026", "is not in the calendar, February 2026 has 28 days"),
        ("25-10-26", "was not understood"),
        ("25/10/026", "was not understood"),
        ("25 Oct", "was not understood"),
        ("0000-01-01", "was not understood"),
    ],
)
def test_a_date_that_is_none_is_refused_with_why(text: str, why: str) -> None:
    wanted = "a date from 1 Jan 1901 to 31 Dec 2099 such as 10 Oct 2026"
    sentence = f'Date "{text}" {why}; {wanted} was expected.'
    with pytest.raises(PlanError, match=f"^{re.escape(sentence)}$"):
        parse_value("shoots.A.date", text)


@pytest.mark.parametrize(
    ("clock", "event", "minutes"),
    [
        (dt.time(19, 2), dt.datetime(2026, 10, 17, 18, 35, tzinfo=ROME), 27.0),
        (dt.time(18, 30), dt.datetime(2026, 10, 17, 18, 35, tzinfo=ROME), -5.0),
        # Past midnight on either side.
        (dt.time(0, 10), dt.datetime(2026, 6, 20, 23, 50, tzinfo=ROME), 20.0),
        (dt.time(23, 50), dt.datetime(2026, 6, 21, 0, 10, tzinfo=ROME), -20.0),
        # The clock goes back from 03:00 to 02:00 on 2026-10-25 (Directive 2000/84/EC).
        (dt.time(3, 10), dt.datetime(2026, 10, 25, 1, 50, tzinfo=ROME), 140.0),
        (dt.time(2, 40), dt.datetime(2026, 10, 25, 2, 50, fold=1, tzinfo=ROME), -10.0),
    ],
)
def test_a_clock_start_is_the_one_nearest_to_the_event(
    clock: dt.time, event: dt.datetime, minutes: float
) -> None:
    assert start_minutes(Clock(clock), "sunset", event) == pytest.approx(minutes)


def test_a_start_counts_from_the_event_of_its_night() -> None:
    event = dt.datetime(2026, 10, 17, 18, 35, tzinfo=ROME)
    assert start_minutes(FromEvent("sunset", 19.0), "sunset", event) == 19.0
    assert start_minutes(19.0, "midnight", event) == 19.0
    other: EventName = "sunrise"
    with pytest.raises(PlanError, match="counts from sunset, this night from sunrise"):
        start_minutes(FromEvent("sunset", 19.0), other, event)


@pytest.mark.parametrize(
    ("key", "text", "sentence"),
    [
        (
            "shoots.A.shutter_s", "fast",
            ('shutter "fast" was not understood;'
            " a number of seconds from 0.0001 to 120 was expected, such as 1 s."),
        ),
        (
            "shoots.A.interval_s", "3 sheep",
            ('interval "3 sheep" was not understood;'
            " a number of seconds from 0.2 to 600 was expected, such as 3 s."),
        ),
        (
            "shoots.A.twilight", "tea",
            'twilight "tea" was not understood; dusk or dawn was expected.',
        ),
        (
            "shoots.A.date", "2026-02-30",
            ('Date "2026-02-30" is not in the calendar, February 2026 has 28 days;'
            " a date from 1 Jan 1901 to 31 Dec 2099 such as 10 Oct 2026 was expected."),
        ),
        (
            "shoots.A.nd_stops", "1/60",
            ('filter "1/60" was not understood;'
            " a number of stops from 0 to 20 was expected, such as 3 stops or ND 8."),
        ),
        (
            "place.latitude_deg", "9.4 W",
            ('latitude "9.4 W" was not understood; a number of degrees from \u221290 to 90 was'
            " expected, such as 38.25° N."),
        ),
        (
            "place.skyline",
            "10 2; 20",
            (
                'skyline "10 2; 20" was not understood; pairs of azimuth and altitude '
                "such as 190 0; 215 2.5 was expected."
            ),
        ),
        (
            "shoots.A.nd_stops", "ND -8",
            ('filter "ND -8" was not understood;'
            " a number of stops from 0 to 20 was expected, such as 3 stops or ND 8."),
        ),
        (
            "shoots.A.date", "tomorrow",
            ('Date "tomorrow" was not understood;'
            " a date from 1 Jan 1901 to 31 Dec 2099 such as 10 Oct 2026 was expected."),
        ),
    ],
)  # fmt: skip
def test_what_is_not_understood_is_told_with_what_was_expected(
    key: str, text: str, sentence: str
) -> None:
    with pytest.raises(PlanError, match=f"^{re.escape(sentence)}$"):
        parse_value(key, text)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "1/0",
        "1//4",
        "--3",
        "3 3",
        "1e3",
        "nan",
        "inf",
        "\u0663",
        "9" * 390,
        "1" * 5000,
        "1.2.3",
    ],
)
def test_odd_numbers_are_refused(text: str) -> None:
    with pytest.raises(PlanError):
        parse_value("shoots.A.interval_s", text)


def test_an_unknown_key_is_told_with_the_nearest_one() -> None:
    with pytest.raises(PlanError, match=r"did you mean shoots\.A\.interval_s\?"):
        parse_value("shoots.A.intervall_s", "3 s")


@settings(max_examples=400)
@given(
    st.sampled_from(sorted(NAMED.values())),
    st.text() | st.text("0123456789.,:/+-−% sminhkgfdsunet°", max_size=20),
)
def test_any_text_is_read_or_refused_in_one_sentence(key: str, text: str) -> None:
    try:
        parse_value(key, text)
    except PlanError as sentence:
        assert re.fullmatch(r"[^\n]+\.", str(sentence))  # noqa: PT017 - both ends are good


@settings(max_examples=1000)
@given(st.data(), st.sampled_from(RANGED))
def test_what_a_field_shows_is_read_back_to_the_digits_shown(
    data: st.DataObject, field: Field
) -> None:
    assert field.low is not None
    assert field.high is not None
    value = data.draw(st.floats(field.low, field.high) | st.sampled_from([field.low, field.high]))
    back = parse_value(field.key.replace("*", "0"), field.text(value))
    # A trade name may lie 0.11 stops from the time that it stands for.
    loose = field.name in ("shutter_s", "shutters_s")
    cut = 0.5 * 10.0 ** -(field.unit.digits or 5) if field.unit else 0.0
    cut = 0.5e-4 if field.unit and field.unit.is_share else cut
    assert back == pytest.approx(value, rel=0.08 if loose else 1e-5, abs=1e-5 + cut)
    assert isinstance(back, float)
    # Taken again and again it stays where it is, and inside its range.
    assert field.text(back) == field.text(value)
    assert loose or field.low <= back <= field.high


@pytest.mark.parametrize(
    ("key", "typed", "shown"),
    [
        ("shoots.A.conditions.wind_10m_m_s", "40 km/h", "11.1 m/s"),
        ("shoots.A.conditions.wind_10m_m_s", "10 kn", "5.1 m/s"),
        ("shoots.A.conditions.wind_10m_m_s", "1 mph", "0.45 m/s"),
        ("craft.hover_induced_m_s", "3.77", "3.77 m/s"),
        ("path.stations.0.up_m", "333 ft", "101.5 m"),
        ("shoots.A.nd_stops", "1/3 stop", "0.33 stops"),
        ("flight.wait_min", "100 s", "1.67 min"),
        ("craft.mass_kg", "249 g", "0.249 kg"),
    ],
)
def test_what_a_conversion_leaves_behind_is_not_shown(key: str, typed: str, shown: str) -> None:
    field = field_of(key)
    assert field is not None
    assert field.text(parse_value(key, typed)) == shown


@settings(max_examples=15, suppress_health_check=list(HealthCheck))
@given(plans())
def test_choices_dates_clocks_and_switches_are_read_back_exactly(plan: Plan) -> None:
    for key in keys_of(plan):
        field = field_of(key)
        assert field is not None
        if field.kind in ("choice", "date", "clock", "switch"):
            value = get_value(plan, key)
            assert parse_value(key, field.text(value)) == value
            assert with_values(plan, {key: parse_value(key, field.text(value))}) == plan


@pytest.mark.parametrize(
    ("text", "pairs"),
    [("190 0; 215° 2.5°", ((190.0, 0.0), (215.0, 2.5))), ("10, -1;", ((10.0, -1.0),)), ("", ())],
)
def test_a_skyline_is_typed_as_pairs(text: str, pairs: tuple[tuple[float, float], ...]) -> None:
    assert parse_value("place.skyline", text) == pairs
    field = field_of("place.skyline")
    assert field is not None
    assert parse_value("place.skyline", field.text(pairs)) == pairs
