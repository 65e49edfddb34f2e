"""The clock of a place and its skyline."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import numpy as np
import pytest
import tzfpy
from hypothesis import given
from hypothesis import strategies as st

from core.place import (
    known_time_zone,
    local_time,
    offset_text,
    skyline_altitude_deg,
    time_zone_at,
    utc_s,
)

LATITUDES = st.floats(-90.0, 90.0)
LONGITUDES = st.floats(-180.0, 180.0)
PAIRS = st.lists(st.tuples(st.floats(0.0, 360.0), st.floats(-10.0, 90.0)), min_size=1, max_size=12)
SUMMER_S = utc_s(dt.datetime(2026, 7, 1, 12, tzinfo=dt.UTC))
WINTER_S = utc_s(dt.datetime(2026, 1, 1, 12, tzinfo=dt.UTC))


@pytest.mark.parametrize(
    ("latitude_deg", "longitude_deg", "zone"),
    [
        (38.72, -9.14, "Europe/Lisbon"),
        (65.01, 25.47, "Europe/Helsinki"),
        (1.87, -157.4, "Pacific/Kiritimati"),  # UTC+14, east of the date line's clock
        (-14.28, -170.7, "Pacific/Pago_Pago"),  # UTC-11, its neighbour a day behind
        (27.7, 85.3, "Asia/Kathmandu"),  # UTC+5:45
    ],
)
def test_zone_of_known_places(latitude_deg: float, longitude_deg: float, zone: str) -> None:
    assert time_zone_at(latitude_deg, longitude_deg) == zone


@given(LATITUDES, LONGITUDES)
def test_every_point_of_the_globe_has_a_zone(latitude_deg: float, longitude_deg: float) -> None:
    name = time_zone_at(latitude_deg, longitude_deg)
    assert known_time_zone(name)
    offset = local_time(SUMMER_S, name).utcoffset()
    assert offset is not None
    # No clock of the world is more than 14 h from UTC.
    assert abs(offset) <= dt.timedelta(hours=14)


@pytest.mark.parametrize(
    ("longitude_deg", "hours"), [(0.0, 0), (-47.0, -3), (47.0, 3), (180.0, 12), (-180.0, -12)]
)
def test_nautical_zone_where_the_map_is_silent(
    monkeypatch: pytest.MonkeyPatch, longitude_deg: float, hours: int
) -> None:
    monkeypatch.setattr(tzfpy, "get_tz", lambda _lng, _lat: "")
    name = time_zone_at(10.0, longitude_deg)
    assert local_time(SUMMER_S, name).utcoffset() == dt.timedelta(hours=hours)


@pytest.mark.parametrize("name", ["", "Mars/Base", "Europe", "../zone", "Europe/", "UTC\0"])
def test_names_that_are_no_zone(name: str) -> None:
    assert not known_time_zone(name)


@pytest.mark.parametrize(
    ("zone", "time_s", "text"),
    [
        ("Europe/Berlin", SUMMER_S, "CEST, UTC+2"),
        ("Europe/Berlin", WINTER_S, "CET, UTC+1"),
        ("Asia/Kolkata", SUMMER_S, "IST, UTC+5:30"),
        ("America/St_Johns", WINTER_S, "NST, UTC−3:30"),
        ("America/Sao_Paulo", SUMMER_S, "UTC−3"),
        ("UTC", SUMMER_S, "UTC+0"),
        # Dublin Mean Time ran 25 min 21 s behind Greenwich until 1916 (IANA, europe).
        ("Europe/Dublin", utc_s(dt.datetime(1901, 1, 1, tzinfo=dt.UTC)), "DMT, UTC−0:25:21"),
    ],
)
def test_offset_in_words(zone: str, time_s: float, text: str) -> None:
    assert offset_text(zone, time_s) == text


@given(
    st.floats(utc_s(dt.datetime(1901, 1, 2, tzinfo=dt.UTC)), 4.1e9),
    st.sampled_from(["Pacific/Apia", "Europe/Dublin", "Asia/Kathmandu", "America/St_Johns"]),
)
def test_instants_survive_the_clock(time_s: float, zone: str) -> None:
    local = local_time(time_s, zone)
    assert local.tzinfo == ZoneInfo(zone)
    assert utc_s(local) == pytest.approx(time_s, abs=2e-6)


def test_an_open_horizon_is_flat() -> None:
    assert skyline_altitude_deg((), [0.0, 90.0, 359.9]).tolist() == [0.0, 0.0, 0.0]


def test_one_pair_is_a_wall_all_round() -> None:
    assert skyline_altitude_deg(((200.0, 3.0),), [0.0, 200.0, 359.0]).tolist() == [3.0] * 3


def test_straight_lines_between_pairs_and_through_north() -> None:
    skyline = ((350.0, 2.0), (10.0, 6.0), (180.0, 0.0))
    asked = [350.0, 355.0, 0.0, 5.0, 10.0, 95.0, 265.0, -5.0, 725.0]
    expected = [2.0, 3.0, 4.0, 5.0, 6.0, 3.0, 1.0, 3.0, 5.0]
    assert skyline_altitude_deg(skyline, asked) == pytest.approx(expected)


def test_a_house_with_vertical_walls() -> None:
    house = ((90.0, 0.0), (90.0, 12.0), (110.0, 12.0), (110.0, 0.0))
    heights = skyline_altitude_deg(house, [89.99, 90.01, 100.0, 109.99, 110.01, 0.0])
    assert heights == pytest.approx([0.0, 12.0, 12.0, 12.0, 0.0, 0.0])


def test_zero_and_full_circle_are_the_two_sides_of_north() -> None:
    ramp = ((0.0, 0.0), (360.0, 36.0))
    assert skyline_altitude_deg(ramp, [0.01, 180.0, 359.99]) == pytest.approx(
        [0.0, 18.0, 36.0], abs=1e-2
    )


@given(PAIRS, st.lists(st.floats(-1e4, 1e4), min_size=1, max_size=20))
def test_skyline_never_leaves_what_was_typed(
    skyline: list[tuple[float, float]], asked: list[float]
) -> None:
    heights = skyline_altitude_deg(skyline, np.array(asked))
    typed = [altitude for _, altitude in skyline]
    assert heights.shape == (len(asked),)
    assert np.all(heights >= min(typed) - 1e-9)
    assert np.all(heights <= max(typed) + 1e-9)


def test_shape_of_the_question_is_kept() -> None:
    assert skyline_altitude_deg(((0.0, 1.0), (90.0, 5.0)), np.zeros((3, 4))).shape == (3, 4)
