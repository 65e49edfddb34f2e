"""Photometry and light against published standards, tables and spot values."""

from __future__ import annotations

import datetime as dt
import math

import numpy as np
import pytest

from core.exposure import METER_CONSTANT, density_to_stops, mid_grey_cd_m2
from core.forecast import outlook
from core.memory import Memory
from core.night import night_of
from core.plan import Camera, Lamps
from core.sky.daylight import horizontal_illuminance_lx
from tests.dusk import december_plan, rows

HAND = (1.7, 1.0, 100.0)  # f/1.7, 1 s, ISO 100


# ---- exposure ----


def test_meter_constant() -> None:
    # ISO 2720:1974 recommends K = 10.6 to 13.4; most meters are built for 12.5.
    assert METER_CONSTANT == 12.5


def test_a_camera_clips_where_the_two_standards_say_until_its_own_level_is_known() -> None:
    # ISO 12232:2019: S = 78 / H_sat, S_SOS = 10 / H_SOS, H = q L t / N² with
    # q = (pi / 4) T v cos⁴(10 deg), T = 0.9, v = 0.98, which the standard rounds to 0.65.
    q = math.pi / 4.0 * 0.9 * 0.98 * math.cos(math.radians(10.0)) ** 4
    assert q == pytest.approx(0.65, abs=0.005)
    f_number, shutter_s, iso = HAND
    mid = mid_grey_cd_m2(*HAND)
    saturated = 78.0 / iso * f_number**2 / (0.65 * shutter_s)
    # 1 s, f/1.7, ISO 100: clipping at 3.47 cd/m².
    assert saturated == pytest.approx(3.47, abs=0.005)
    assert Camera().highlight_stops == pytest.approx(math.log2(saturated / mid), abs=0.005)
    # Mid-grey of the meter lies 0.30 stop below that of the SOS.
    sos = 10.0 / iso * f_number**2 / (0.65 * shutter_s)
    assert math.log2(sos / mid) == pytest.approx(0.30, abs=0.005)


def test_worked_luminances() -> None:
    # 1 s, f/1.7, ISO 100: EV 1.53 by log2(N² / t), mid-grey 0.361 cd/m².
    assert mid_grey_cd_m2(*HAND) == pytest.approx(0.361, abs=5e-4)
    assert mid_grey_cd_m2(*HAND) == pytest.approx(0.125 * 2.0**1.53, rel=0.005)


# ANSI PH2.7-1986 (after Jones and Condit): exposure values of scenes at ISO 100.
@pytest.mark.parametrize("row", rows("ev100_scenes.csv"), ids=lambda row: row["scene"])
def test_exposure_values_of_scenes(row: dict[str, str]) -> None:
    for ev, luminance in (("ev_lo", "L_lo_cd_m2"), ("ev_hi", "L_hi_cd_m2")):
        # f/1 at the time that this exposure value names.
        mid = mid_grey_cd_m2(1.0, 2.0 ** -float(row[ev]), 100.0)
        assert mid == pytest.approx(float(row[luminance]), rel=1e-3)


# ISO 5 density is log10 of the factor (from memory): stops to two digits.
@pytest.mark.parametrize(
    ("density", "stops"),
    [(0.3, 1.0), (0.6, 2.0), (0.9, 3.0), (1.2, 4.0), (1.8, 6.0), (2.4, 8.0), (3.0, 9.97)],
)
def test_densities_of_filters(density: float, stops: float) -> None:
    assert density_to_stops(density) == pytest.approx(stops, abs=0.03)


# ---- lamps ----


def test_the_lamps_of_a_new_plan_are_a_class_of_street_lighting() -> None:
    # EN 13201-2:2015, M classes, maintained average luminance of the road (from memory).
    published = {row["class"]: row["average"] for row in rows("en13201_classes.csv")}
    assert Lamps().luminance_cd_m2 == float(published["M4"])


# Levels of photocells in service and the sun at which Brown 1952 reaches them.
@pytest.mark.parametrize("row", rows("photocell_levels.csv"), ids=lambda row: row["practice"])
def test_the_sun_at_which_lamps_come_on(row: dict[str, str]) -> None:
    altitude = np.linspace(-8.0, 0.0, 8001)
    reached = np.interp(float(row["on_lx"]), horizontal_illuminance_lx(altitude), altitude)
    assert reached == pytest.approx(float(row["h_on_deg"]), abs=0.05)


# ---- daylight ----

LIGHT = rows("illuminance_vs_solar_altitude.csv")


@pytest.mark.parametrize("row", LIGHT, ids=lambda row: f"{row['h_deg']} deg")
def test_illuminance_is_the_explanatory_supplement_s(row: dict[str, str]) -> None:
    # Seidelmann (ed.) 1992, ch. 9, to the five digits of the table.
    found = float(horizontal_illuminance_lx(float(row["h_deg"])))
    assert found == pytest.approx(float(row["expsupp_lx"]), rel=1e-4)


@pytest.mark.parametrize("row", LIGHT, ids=lambda row: f"{row['h_deg']} deg")
def test_illuminance_lies_among_the_independent_sources(row: dict[str, str]) -> None:
    altitude = float(row["h_deg"])
    found = math.log2(float(horizontal_illuminance_lx(altitude)))
    # Column: stops, lowest and highest sun. Two models; then measurements of one city under
    # all weather, and of the sky alone at two sites, so without the sun itself.
    bounds = {
        "brown_cheb_lx": (0.10, -10.0, 10.0),
        "circ171_lx": (0.34, -10.0, 10.0),
        "spitschan_city_lx": (0.42, -7.0, -1.0),
        "koomen_sp_lx": (0.77, -15.0, -1.0),
        "koomen_md_lx": (0.70, -15.0, -1.0),
    }
    for column, (stops, lowest, highest) in bounds.items():
        if row[column] and lowest <= altitude <= highest:
            assert found == pytest.approx(math.log2(float(row[column])), abs=stops), column


# Computed with skyfield DE421 and Brown 1952: minutes from sunset to each altitude, and
# the stops lost in 15 min from -4.17 deg on.
@pytest.mark.parametrize("row", rows("decay_rates.csv"), ids=lambda r: f"{r['lat']} {r['date']}")
def test_how_fast_the_light_goes(row: dict[str, str]) -> None:
    date = dt.datetime.strptime(f"{row['date']} 2026", "%b %d %Y").date()  # noqa: DTZ007
    night = night_of(float(row["lat"]), 0.0, "UTC", date, "dusk")
    time_s = np.arange(night.event.time_s, night.darkest_s, 5.0)
    altitude, _ = night.sun(time_s)

    def reached_s(level_deg: float) -> float:
        return float(np.interp(-level_deg, -altitude, time_s))

    for level in ("-4", "-5.31", "-6", "-8"):
        if row[f"t_{level}"]:
            minutes = (reached_s(float(level)) - night.event.time_s) / 60.0
            # Tenths in the table; at grazing the sun's own hundredth of a degree counts.
            assert minutes == pytest.approx(float(row[f"t_{level}"]), rel=0.004, abs=0.1)
    if row["loss15_from_-4.17"]:
        begin_s = reached_s(-4.17)
        lux = horizontal_illuminance_lx(night.sun(np.array([begin_s, begin_s + 900.0]))[0])
        lost = math.log2(lux[0] / lux[1])
        assert lost == pytest.approx(float(row["loss15_from_-4.17"]), abs=0.12)
    if row["stops_per_min_-3_-7"]:
        minutes = (reached_s(-7.0) - reached_s(-3.0)) / 60.0
        lux = horizontal_illuminance_lx(np.array([-3.0, -7.0]))
        rate = math.log2(lux[0] / lux[1]) / minutes
        assert rate == pytest.approx(float(row["stops_per_min_-3_-7"]), rel=0.01)
        assert 4.0 / minutes == pytest.approx(float(row["deg_per_min"]), rel=0.01)


# ---- the worked evening ----


def test_an_evening_worked_by_hand() -> None:
    # 38 N, 5 December, land 0.15, 1 s, f/1.7, ISO 100, no lamps: pi 0.361 / 0.15 = 7.57 lx
    # make mid-grey. Illuminance by Brown 1952 (25.7 lx at 19 min, 5.4 lx at 27 min); the land
    # passes mid-grey 25.4 min after sunset by Brown, 25.2 by the Explanatory Supplement.
    plan = december_plan(ground__lamps__luminance_cd_m2=0.0, shoots__A__start_after_event_min=19.0)
    seen = outlook(plan, "A", Memory())
    assert math.pi * 2.0**seen.mid / 0.15 == pytest.approx(7.57, abs=0.005)

    def after(name: str, minutes: float) -> float:
        return float(seen.light.at(name, seen.night.event.time_s + 60.0 * minutes))

    assert after("illuminance_lx", 19.0) == pytest.approx(25.7, rel=0.03)
    assert after("illuminance_lx", 27.0) == pytest.approx(5.4, rel=0.03)
    minutes = np.linspace(15.0, 42.0, 2701)
    tone = np.array([after("land_log2", m) for m in minutes]) - seen.mid
    assert minutes[np.abs(tone).argmin()] == pytest.approx(25.2, abs=0.1)
    for at, stops in ((15, 2.8), (19, 1.76), (22, 0.95), (25, 0.10), (27, -0.48), (30, -1.36)):
        assert after("land_log2", at) - seen.mid == pytest.approx(stops, abs=0.08)
    assert seen.tones.land.stops[0] == pytest.approx(1.76, abs=0.08)


@pytest.mark.parametrize(
    ("reflectance", "minutes"),
    [(0.10, 23.3), (0.12, 24.2), (0.18, 26.2), (0.20, 26.8), (0.30, 28.8), (0.50, 31.2)],
)
def test_lighter_land_passes_mid_grey_later(reflectance: float, minutes: float) -> None:
    # The same evening by Brown 1952 for other reflectances.
    plan = december_plan(ground__land_reflectance=reflectance, ground__lamps__luminance_cd_m2=0.0)
    seen = outlook(plan, "A", Memory())
    at_s = seen.night.event.time_s + 60.0 * np.linspace(15.0, 42.0, 2701)
    tone = seen.light.at("land_log2", at_s) - seen.mid
    passed = (at_s[np.abs(tone).argmin()] - seen.night.event.time_s) / 60.0
    assert passed == pytest.approx(minutes, abs=0.3)
