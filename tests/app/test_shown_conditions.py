"""What the fields of a night's air show of what was typed, and what else may be typed."""

from __future__ import annotations

import pytest

from app.shown.conditions import CONDITIONS, Entry
from core.edit import PlanError
from core.manner import Manner, adopt
from core.plan import Conditions


def entry(name: str) -> Entry:
    return next(one for one in CONDITIONS if one.name == name)


@pytest.mark.parametrize(
    ("text", "speed_m_s", "bearing_deg"),
    [
        ("14 m/s 300", 14.0, 300.0),
        ("14m/s  300°", 14.0, 300.0),
        ("14 300", 14.0, 300.0),
        ("14.5 kn 50 deg", 14.5 * 1852.0 / 3600.0, 50.0),
        ("14 m/s, 300°", 14.0, 300.0),
        ("14 m/s from 300", 14.0, 300.0),
        ("14 m/s,300", 14.0, 300.0),
        ("4,050", 4.0, 50.0),
    ],
)
def test_a_bearing_needs_no_comma(text: str, speed_m_s: float, bearing_deg: float) -> None:
    read = entry("Wind at 10 m").read(text)
    assert read["wind_10m_m_s"] == pytest.approx(speed_m_s)
    assert read["wind_from_deg"] == bearing_deg


@pytest.mark.parametrize(
    "text",
    ["4 NW", "4 m/s nw", "4, NW", "4 m/s, north-west", "4 from NW", "NW 4", "NW, 4 m/s",
     "northwest 4 m/s", "4 north west", "4 @ NW"],
)  # fmt: skip
def test_the_wind_may_come_from_a_point_of_the_compass(text: str) -> None:
    """As forecasts write it; north-west is 315 degrees (WMO-No. 306, code table 0877)."""
    assert entry("Wind at 10 m").read(text) == {"wind_10m_m_s": 4.0, "wind_from_deg": 315.0}


def test_a_decimal_comma_before_a_point_of_the_compass_parts_nothing() -> None:
    read = entry("Wind at 10 m").read("4,5 SW")
    assert read == {"wind_10m_m_s": 4.5, "wind_from_deg": 225.0}


def test_calm_air_is_a_wind_of_nothing() -> None:
    assert entry("Wind at 10 m").read("calm") == {"wind_10m_m_s": 0.0}
    assert entry("Gust").read("Calm") == {"gust_10m_m_s": 0.0}


@pytest.mark.parametrize("text", ["4 XY", "XY 4", "NW", "4 knots"])
def test_a_wind_that_is_not_understood_is_refused_in_a_sentence(text: str) -> None:
    with pytest.raises(PlanError, match="was not understood"):
        entry("Wind at 10 m").read(text)


@pytest.mark.parametrize(("text", "speed_m_s"), [("143", 143.0), ("40 km/h", 40.0 / 3.6)])
def test_a_speed_alone_has_no_bearing(text: str, speed_m_s: float) -> None:
    assert entry("Wind at 10 m").read(text) == {"wind_10m_m_s": pytest.approx(speed_m_s)}


def test_a_converted_wind_is_shown_to_the_tenth() -> None:
    wind = entry("Wind at 10 m")
    air = Conditions(wind_10m_m_s=40.0 / 3.6, gust_10m_m_s=50.0 / 3.6, wind_from_deg=300.0)
    assert wind.text(air) == "11.1 m/s, 300°"
    assert entry("Gust").text(air) == "13.9 m/s"
    assert entry("Gust").text(Conditions(wind_10m_m_s=40.0 / 3.6)) == "15.6 m/s"


@pytest.mark.parametrize(
    ("gust_m_s", "text"),
    [(1.1, "1.1 as 3 m/s"), (3.0, "3 m/s"), (4.5, "4.5 m/s"), (None, "4.2 m/s")],
)
def test_a_gust_below_the_wind_is_told_with_what_it_counts_as(
    gust_m_s: float | None, text: str
) -> None:
    air, gust = Conditions(wind_10m_m_s=3.0, gust_10m_m_s=gust_m_s), entry("Gust")
    assert gust.text(air) == text
    if gust_m_s is not None:
        assert gust.read(gust.text(air)) == {"gust_10m_m_s": gust_m_s}


def test_humidity_may_be_unknown_and_is_stepped_from_a_fair_evening() -> None:
    entry = next(entry for entry in CONDITIONS if entry.name == "Humidity")
    assert entry.text(Conditions()) == "\N{EN DASH}"
    assert entry.step(Conditions(), 1) == {"humidity_percent": 60.0}
    assert entry.read("88 %") == {"humidity_percent": 88.0}
    assert entry.text(Conditions(humidity_percent=88.0)) == "88 %"
    for nothing in ("", "\N{EN DASH}"):
        assert entry.read(nothing) == {"humidity_percent": None}
    assert entry.step(Conditions(humidity_percent=100.0), 1) == {"humidity_percent": 100.0}


def test_a_step_is_one_of_the_unit_that_is_shown() -> None:
    air = Conditions(wind_10m_m_s=4.4704, temperature_c=10.0)
    wind = next(one for one in CONDITIONS if "wind_10m_m_s" in one.keys)
    warmth = next(one for one in CONDITIONS if one.keys == ("temperature_c",))
    assert wind.step(air, 1) == {"wind_10m_m_s": 5.4704}
    adopt(Manner(units="imperial"))
    # 10 mph and 50 °F are stepped to 11 mph and 49 °F (NIST SP 811, appendix B.8).
    assert wind.step(air, 1) == {"wind_10m_m_s": pytest.approx(11 * 0.44704)}
    assert warmth.step(air, -1) == {"temperature_c": pytest.approx((49 - 32) / 1.8)}


@pytest.mark.parametrize("text", ["", "-", "\N{EN DASH}", "none"])
def test_an_unknown_humidity_is_typed_as_it_is_shown_elsewhere(text: str) -> None:
    assert entry("Humidity").read(text) == {"humidity_percent": None}


def test_a_decimal_comma_in_a_wind_is_no_bearing() -> None:
    wind = next(one for one in CONDITIONS if "wind_10m_m_s" in one.keys)
    assert wind.read("10,5") == {"wind_10m_m_s": 10.5}
    with pytest.raises(PlanError):
        wind.read("10,5,3")
