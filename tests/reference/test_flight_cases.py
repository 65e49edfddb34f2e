"""The worked cases of the flight model: ten flights, their timelines, one change at a time.

They were worked outside this program from the same equations, with a shear
exponent of 0.20 and 150 m to the camera.
"""

from __future__ import annotations

import json
from itertools import groupby

import numpy as np
import pytest

from core.air import density_kg_m3
from core.battery import temperature_share
from core.flight import Flight
from core.power import density_factor, hover_minutes
from core.wind import ground_speed_m_s
from tests.flying import Sortie, sortie, table

CASES = {row["case"]: row for row in table("flight_budget_cases.csv")}
FLOWN = [name for name, row in CASES.items() if not row["error"]]
# Case names of the timelines, and names of the segments in both.
SEGMENTS = {
    "checks near the ground": "checks",
    "transit out": "out",
    "shooting": "take",
    "return transit": "home",
}


def worked(name: str) -> Sortie:
    return sortie(json.loads(CASES[name]["inputs_changed_from_default"]))


def close(expected: str) -> object:
    # The tables are rounded to four decimals.
    return pytest.approx(float(expected), rel=1e-3, abs=6e-5)


@pytest.mark.parametrize("name", FLOWN)
def test_what_goes_into_the_budget(name: str) -> None:
    row, case = CASES[name], worked(name)
    height = case.route.camera_height_m
    density = density_kg_m3(case.elevation_m + height, case.conditions.temperature_c)
    share = temperature_share(case.conditions.temperature_c, kept_warm=case.craft.battery_kept_warm)
    energy = case.energy()
    assert hover_minutes(case.craft) == close(row["hover_min"])
    assert share == close(row["k_T"])
    assert density == close(row["rho"])
    assert density_factor(density) == close(row["k_rho"])
    assert energy.usable_hover_min == close(row["usable_hover_min"])
    assert energy.hold_power * case.craft.practice_factor == close(row["p_hold"])


@pytest.mark.parametrize("name", FLOWN)
def test_wind_on_the_way(name: str) -> None:
    row, case = CASES[name], worked(name)
    flown = case.flown()
    assert flown.wind_at_camera_m_s == close(row["wind_cam"])
    assert flown.gust_at_camera_m_s == close(row["gust_cam"])
    assert flown.ground_speed_home_m_s == close(row["vg_back"])
    east = case.route.first_station[0]
    out = ground_speed_m_s(
        case.flight.out_speed_m_s, 90.0 if east > 0.0 else 270.0, float(row["wind_cam"]), 270.0
    )
    assert out == close(row["vg_out"])
    assert ("gust_over_limit" in flown.cautions) == (row["gust_over_limit"] == "True")
    assert ("return_fails_in_gusts" in flown.cautions) == (row["gust_return_ok"] == "False")


@pytest.mark.parametrize("name", FLOWN)
def test_the_budget(name: str) -> None:
    row, flown = CASES[name], worked(name).flown()
    assert flown.before_percent == close(row["spent_before"])
    assert flown.home_percent == close(row["return_pct"])
    assert flown.stop_at_exact_percent == close(row["stop_at_pct"])
    assert flown.max_take_min == close(row["max_shoot_min"])
    assert flown.max_frames == int(row["max_frames"])
    assert flown.latest_stop_min == close(row["latest_stop_min_after_takeoff"])
    # A difference of two rounded figures; the seventh case came home 20 m above the camera in
    # the camera's own air, the program in the thinner air there: 0.03 s.
    rounding = 7e-4 if name.startswith("7") else 1.5e-4
    assert flown.margin_min == pytest.approx(float(row["margin_min"]), abs=rounding)
    assert flown.landing_percent == close(row["land_pct"])
    assert flown.fits == (row["feasible"] == "True")
    take = next(segment for segment in flown.segments if segment.name == "take")
    assert take.minutes == close(row["shoot_min"])
    assert sum(segment.minutes for segment in flown.segments) == close(row["total_min"])
    assert flown.error is None


def timelines() -> list[tuple[str, list[dict[str, str]]]]:
    rows = table("flight_budget_timelines.csv")
    return [(name, list(group)) for name, group in groupby(rows, key=lambda row: row["case"])]


@pytest.mark.parametrize(("name", "rows"), timelines(), ids=lambda value: str(value)[:12])
def test_the_timeline(name: str, rows: list[dict[str, str]]) -> None:
    flown = worked(name).flown()
    expected = [row for row in rows if float(row["minutes"]) > 0.0]
    names = [SEGMENTS.get(row["segment"], row["segment"]) for row in expected]
    assert [segment.name for segment in flown.segments] == names
    for segment, row in zip(flown.segments, expected, strict=True):
        assert segment.minutes == close(row["minutes"])
        assert segment.percent == close(row["percent"])


def test_a_headwind_that_blows_the_craft_back_is_named_with_its_leg() -> None:
    flown = worked("5 headwind return infeasible").flown()
    assert flown.error_leg == "home"
    assert flown.error is not None
    assert "Flying home on 270°" in flown.error
    assert "−0.2 m/s" in flown.error


def test_wind_above_the_craft_s_limit_is_named() -> None:
    flown = worked("10 wind above the craft limit").flown()
    assert flown.error_leg == "hold"
    assert flown.error is not None
    for figure in ("100 m", "12.1 m/s", "10.7 m/s"):
        assert figure in flown.error


@pytest.mark.parametrize(
    "row", table("flight_sensitivities.csv"), ids=lambda row: str(row["changed"])
)
def test_one_change_at_a_time(row: dict[str, str]) -> None:
    assert sortie(json.loads(row["values"])).flown().max_frames == int(row["max_frames"])


def test_the_band_of_the_practice_factor() -> None:
    # A practice factor of 1.05 +- 0.10 gives 239 to 318 frames around 275.
    flown = sortie().flown()
    assert (flown.max_frames_low, flown.max_frames, flown.max_frames_high) == (239, 275, 318)


def test_the_clock_of_the_eighth_case() -> None:
    # Take-off at 21:04:00, latest stop at 21:23:14.
    flown = worked("8 planned 240 frames margin").flown()
    assert flown.latest_stop_min is not None
    assert int((21 * 60 + 4 + flown.latest_stop_min) * 60) == 21 * 3600 + 23 * 60 + 14


def test_facts_of_the_trade() -> None:
    # A 34-minute battery at an interval of 3 s gave about 270 frames on a first visit, set-up and
    # return with a reserve included, and about 330 when the stored path was flown again: common
    # practice, no source.
    assert sortie().flown().max_frames == pytest.approx(270, abs=10)
    assert sortie({"setup_min": 1.0}).flown().max_frames == pytest.approx(330, abs=10)


def test_a_minute_of_waiting_costs_3_6_percent_on_the_250_g_class() -> None:
    # 100 x 1.05 / 29.333, worked by hand.
    assert sortie().flown().take_percent_per_min == pytest.approx(3.58, abs=0.005)


def test_the_charge_curve_passes_the_worked_figures() -> None:
    flown: Flight = worked("8 planned 240 frames margin").flown()
    before = flown.before_min or 0.0
    charge = flown.charge_at(np.array([-1.0, 0.0, 0.5, before, before + 11.95, 99.0]))
    # 100 - 3.5796 / 2, 100 - 20.0192, that less 42.7766, and the landing charge.
    expected = [100.0, 100.0, 98.2102, 79.9808, 37.2042, 31.2762]
    assert charge == pytest.approx(expected, abs=1e-3)
