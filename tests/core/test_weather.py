"""Dew point, cloud base, ice and visibility against published figures; what the pilot is told."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path
from typing import Any

import ephem
import pytest
from pvlib.atmosphere import tdew_from_rh

from core.advice.rules import by_the_clock, by_the_sun
from core.findings import CHECK_RULES, Finding
from core.forecast import forecast, outlook
from core.memory import Memory
from core.weather import (
    cloud_base_m,
    cloud_height_m,
    contrast_share,
    dew_point_c,
    ice_forms,
    spread_c,
)
from tests.dusk import december_plan, rows

RULES = Path(__file__).parents[1] / "reference" / "data" / "rules_cautions.csv"


def found(path_m: float | None = None, **conditions: Any) -> dict[str, Finding]:
    values = {f"shoots__A__conditions__{k}": v for k, v in conditions.items()}
    if path_m is not None:
        values["path__stations"] = [{"up_m": path_m, "pitch_deg": -50.0}]
    plan = december_plan(**values)
    return {f.code: f for f in forecast(plan, "A").findings}


@pytest.mark.parametrize(
    ("celsius", "percent", "dew_c"),
    [(20, 50, 9.26), (12, 90, 10.41), (5, 95, 4.27), (25, 40, 10.46)],
)
def test_dew_point_of_worked_cases(celsius: float, percent: float, dew_c: float) -> None:
    # Worked with the coefficients of WMO-No. 8.
    assert dew_point_c(celsius, percent) == pytest.approx(dew_c, abs=0.006)


@pytest.mark.parametrize("celsius", [-20.0, 0.0, 15.0, 40.0])
@pytest.mark.parametrize("percent", [10.0, 55.0, 100.0])
def test_dew_point_against_an_independent_library(celsius: float, percent: float) -> None:
    # pvlib's tdew_from_rh, Magnus-Tetens with the coefficients of WMO-No. 8.
    assert dew_point_c(celsius, percent) == pytest.approx(tdew_from_rh(celsius, percent), abs=1e-6)


def test_wet_air_is_at_its_dew_point() -> None:
    assert spread_c(7.0, 100.0) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(("celsius", "percent", "base_m"), [(20, 50, 1343), (12, 90, 199)])
def test_cloud_base_of_worked_cases(celsius: float, percent: float, base_m: float) -> None:
    # 125 m for a degree: AMS Glossary of Meteorology, 'dewpoint formula'.
    assert cloud_base_m(celsius, percent) == pytest.approx(base_m, abs=1.0)
    assert cloud_height_m(celsius, percent) == cloud_base_m(celsius, percent)
    assert cloud_height_m(celsius, None) == 1500.0


@pytest.mark.parametrize(("km", "visible_km", "share"), [(5, 10, 0.14), (10, 40, 0.38)])
def test_contrast_of_worked_cases(km: float, visible_km: float, share: float) -> None:
    # Koschmieder 1924, 2 % at the visibility itself.
    assert contrast_share(km, visible_km) == pytest.approx(share, abs=0.005)
    assert contrast_share(visible_km, visible_km) == pytest.approx(0.02, abs=1e-4)


@pytest.mark.parametrize(
    ("celsius", "percent", "ice"),
    [(-15, 95, True), (2, 95, True), (2.1, 100, False), (-15.1, 100, False), (0, 94.9, False)],
)
def test_where_ice_forms(celsius: float, percent: float, *, ice: bool) -> None:
    assert ice_forms(celsius, percent) is ice


def test_plain_air_says_nothing() -> None:
    codes = set(found(humidity_percent=60.0, visibility_km=20.0, cloud_okta=2.0))
    assert not codes & {"windy", "dew", "icing", "cloud_base", "visibility"}


def test_mist_and_low_cloud() -> None:
    told = found(temperature_c=12.0, humidity_percent=90.0, cloud_okta=4.0)
    # 12 - 10.41, cut down; 199 m of base is less than 80 m and 500 ft.
    assert told["dew"].fact.startswith("The air is 1.5 °C above its dew point of 10.4 °C: mist may")
    assert "as low as 198 m; the path reaches 80 m" in told["cloud_base"].fact
    clear = found(temperature_c=12.0, humidity_percent=90.0, cloud_okta=0.0)
    assert "cloud_base" not in clear
    closer = found(temperature_c=12.0, humidity_percent=96.0)
    assert "mist and fog are likely" in closer["dew"].fact


def test_ice_is_a_problem_and_takes_the_place_of_dew() -> None:
    told = found(temperature_c=0.0, humidity_percent=97.0)
    assert told["icing"].severity == "stop"
    assert "dew" not in told


def test_poor_visibility() -> None:
    # Three statute miles, 14 CFR 107.51(c), are 4.83 km.
    told = found(visibility_km=4.8)["visibility"]
    assert (
        told.fact
        == "Visibility is 4.8 km, below the 3 statute miles (4.83 km) that some rules ask."
    )
    assert "visibility" not in found(visibility_km=4.83)


def test_wind_at_height_is_told_before_gusts_reach_the_limit_and_not_twice() -> None:
    # (80 / 10)^0.27 = 1.753: 4 m/s are 7.01 m/s, 66 % of 10.7 m/s.
    told = found(wind_10m_m_s=4.0, gust_10m_m_s=5.0)["windy"]
    assert "4 m/s at 10 m is 7.1 m/s at 80 m, 66 % of" in told.fact
    # 5 x 1.753 = 8.77 m/s, cut up; 10 (0.6 x 10.7 / 4)^(1 / 0.27) = 57.7 m, cut down.
    assert told.rest.startswith("Gusts reach 8.8 m/s there. Below 57 m it stays under 60 %")
    assert "windy" not in found(wind_10m_m_s=4.0, gust_10m_m_s=5.0, path_m=57.0)
    assert "windy" not in found(wind_10m_m_s=3.6, gust_10m_m_s=5.0)
    gusty = found(wind_10m_m_s=4.0, gust_10m_m_s=9.0)
    assert "gust_over_limit" in gusty
    assert "windy" not in gusty


def rules(**values: Any) -> dict[str, Finding]:
    return {f.code: f for f in forecast(december_plan(**values), "A").findings}


def test_both_twilights_at_dusk_and_dawn() -> None:
    # Sunset 16:40 UT: civil twilight ends with the sun at -6 degrees 29.2 min later by
    # Regulation (EU) 2019/947, Art. 2(34), and after 30 min by 14 CFR 107.29(c)(2).
    told = rules()
    assert "begins 17:09" in told["rules"].fact
    assert "ends 17:1" in told["light_on"].fact
    assert told["rules"].rest == CHECK_RULES
    dawn = rules(shoots__A__twilight="dawn", shoots__A__start_after_event_min=-25.0)
    assert "begins 06:" in dawn["light_on"].fact
    assert "before sunrise" in dawn["light_on"].fact


def test_twilights_far_north_differ_by_far() -> None:
    # 63 N in June: the sun sets but stays above -6 degrees all night.
    told = rules(place__latitude_deg=63.0, shoots__A__date=dt.date(2026, 6, 21))
    assert "does not reach 6° below the horizon" in told["rules"].fact
    assert "when the authority says" in told["rules"].fact
    assert "30 min after sunset" in told["light_on"].fact


def legal_text(provision: str) -> str:
    """The words of a provision in the table of rules."""
    return next(row["fact"] for row in rows("rules_cautions.csv") if provision in row["provision"])


@pytest.mark.parametrize(
    ("latitude", "date"),
    [(38.0, dt.date(2026, 12, 5)), (50.0, dt.date(2026, 6, 21)), (59.0, dt.date(2026, 5, 1))],
)
@pytest.mark.parametrize("twilight", ["dusk", "dawn"])
def test_both_twilights_are_those_of_an_independent_almanac(
    latitude: float, date: dt.date, twilight: str
) -> None:
    # Art. 2(34) of Regulation (EU) 2019/947 names civil twilight, the sun's centre 6 degrees
    # down; 14 CFR 107.29(c) names 30 min. PyEphem gives both instants; a clock may be cut by a
    # minute, and the fixed rule counts from a sunset of its own refraction.
    assert "civil twilight" in legal_text("Art. 2(34)")
    assert "30 min" in legal_text("107.29(c)")
    minutes = -25.0 if twilight == "dawn" else 25.0
    seen = outlook(
        december_plan(
            place__latitude_deg=latitude, shoots__A__date=date, shoots__A__twilight=twilight,
            shoots__A__start_after_event_min=minutes,
        ),
        "A",
        Memory(),
    )  # fmt: skip
    here = ephem.Observer()
    here.lat, here.lon, here.pressure = str(latitude), "0", 0.0
    here.date = dt.datetime.combine(date, dt.time(12)).strftime("%Y/%m/%d %H:%M")

    def sun_at(horizon: str, *, centre: bool) -> dt.datetime:
        here.horizon = horizon
        find = here.next_setting if twilight == "dusk" else here.previous_rising
        found_at: dt.datetime = find(ephem.Sun(), use_center=centre).datetime()
        return found_at

    side = 1 if twilight == "dusk" else -1
    fixed = sun_at("-0:34", centre=False) + side * dt.timedelta(minutes=30)
    for told, when in ((by_the_sun(seen), sun_at("-6", centre=True)), (by_the_clock(seen), fixed)):
        hour, minute = map(int, re.findall(r"(\d\d):(\d\d)", told)[0])
        off_s = (when - dt.datetime.combine(when.date(), dt.time(hour, minute))).total_seconds()
        assert abs(off_s) <= 75.0, (told, when)
        # Never cut so that the night is told shorter than it is, but for seconds of refraction.
        assert side * off_s >= -15.0, (told, when)


def test_a_polar_day_has_neither_twilight_nor_lights_to_switch_on() -> None:
    told = rules(place__latitude_deg=72.0, shoots__A__date=dt.date(2026, 6, 21))
    assert "night does not come" in told["rules"].fact
    assert "light_on" not in told
    winter = rules(place__latitude_deg=80.0, shoots__A__date=dt.date(2026, 12, 21))
    assert "Night by many rules all day" in winter["rules"].fact
    assert "gives no time" in winter["light_on"].fact


def test_a_flight_by_day_needs_no_word_on_lights() -> None:
    assert "light_on" not in rules(shoots__A__start_after_event_min=-60.0)


def test_the_rules_told_are_those_in_print() -> None:
    text = RULES.read_text("utf-8")
    assert "30 min before official sunrise to sunrise and sunset to 30 min after" in text
    assert "end of evening civil twilight and beginning of morning civil twilight" in text
    assert "green flashing light" in text
    assert "green flashing" in rules()["light_on"].rest
