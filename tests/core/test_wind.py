"""Wind at height and the wind triangle."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.wind import components_m_s, ground_speed_m_s, gust_10m_m_s, shear_ratio

BEARINGS = st.floats(-360.0, 360.0)
SPEEDS = st.floats(0.0, 60.0)


@pytest.mark.parametrize(
    ("airspeed", "course", "wind", "wind_from", "expected"),
    [
        (10, 270, 5, 270, 5.0),
        (10, 90, 5, 270, 15.0),
        (10, 0, 5, 270, 8.6603),
        (10, 270, 4.6, 300, 5.7482),
    ],
)
def test_head_tail_and_crosswind(
    airspeed: float, course: float, wind: float, wind_from: float, expected: float
) -> None:
    # The wind triangle, worked by hand.
    speed = ground_speed_m_s(airspeed, course, wind, wind_from)
    assert speed == pytest.approx(expected, abs=5e-5)


@pytest.mark.parametrize(
    ("exponent", "ratio"),
    [(0.10, 1.26), (0.16, 1.45), (0.20, 1.58), (0.27, 1.86), (0.34, 2.19), (0.40, 2.51)],
)
def test_wind_at_100_m_by_the_ground_beneath(exponent: float, ratio: float) -> None:
    # Hellmann exponents of Kaltschmitt, Streicher and Wiese (2007), p. 55, open water to town.
    assert shear_ratio(100.0, exponent) == pytest.approx(ratio, abs=0.005)


def test_a_crosswind_as_fast_as_the_craft_leaves_no_course() -> None:
    assert ground_speed_m_s(10.0, 0.0, 10.5, 90.0) is None


def test_a_headwind_faster_than_the_craft_blows_it_back() -> None:
    assert ground_speed_m_s(10.0, 270.0, 12.0, 270.0) == pytest.approx(-2.0)


@given(SPEEDS, BEARINGS, SPEEDS, BEARINGS)
def test_air_and_wind_add_up_to_the_track(
    airspeed: float, course: float, wind: float, wind_from: float
) -> None:
    speed = ground_speed_m_s(airspeed, course, wind, wind_from)
    head, cross = components_m_s(wind, wind_from, course)
    assert math.hypot(head, cross) == pytest.approx(wind)
    if speed is not None:
        # Through the air the craft covers its track less what the wind carries it.
        assert math.hypot(speed + head, cross) == pytest.approx(airspeed, rel=1e-9, abs=1e-9)


@given(st.floats(0.0, 0.8))
def test_near_the_ground_the_forecast_wind_stands(exponent: float) -> None:
    assert shear_ratio(0.0, exponent) == shear_ratio(10.0, exponent) == 1.0


@given(st.floats(10.0, 1500.0), st.floats(0.0, 500.0), st.floats(0.0, 0.8))
def test_higher_is_never_calmer(height: float, more: float, exponent: float) -> None:
    assert shear_ratio(height + more, exponent) >= shear_ratio(height, exponent)


def test_a_gust_nobody_forecast_is_two_fifths_above_the_mean() -> None:
    assert gust_10m_m_s(5.0, None) == pytest.approx(7.0)


def test_a_gust_is_never_below_the_mean() -> None:
    assert gust_10m_m_s(5.0, 3.0) == 5.0
    assert gust_10m_m_s(5.0, 8.0) == 8.0
