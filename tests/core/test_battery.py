"""What cold and age leave of a battery, and what three kinds of gauge show of it."""

from __future__ import annotations

from typing import Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.battery import Gauge, temperature_share, usable_hover_min
from tests.flying import table

KINDS: tuple[Literal["compensated", "nominal", "unknown"], ...] = (
    "compensated",
    "nominal",
    "unknown",
)
COLD = 0.68  # soaked at -5 degC
CELSIUS = st.floats(-40.0, 55.0)
SHARES = st.floats(0.53, 1.0)
PERCENT = st.floats(0.0, 100.0)


@pytest.mark.parametrize(
    "row", table("battery_temperature_derate.csv"), ids=lambda row: row["T_ambient_C"]
)
@pytest.mark.parametrize("kept_warm", [False, True], ids=["soaked", "kept warm"])
def test_the_temperature_table(row: dict[str, str], kept_warm: bool) -> None:
    # Doyle-Fuller-Newman model of the pouch cell of Ecker et al. (2015), down to 3.3 V, never
    # counted above 1; the rounding of the adopted table is 0.006 at most.
    name, kind = ("kept_warm", "warm25") if kept_warm else ("soaked", "soaked")
    share = temperature_share(float(row["T_ambient_C"]), kept_warm=kept_warm)
    assert share == pytest.approx(float(row[f"adopted_k_T_{name}"]))
    assert share == pytest.approx(min(float(row[f"sim_{kind}_3.3V"]), 1.0), abs=0.006)


def test_between_the_rows_the_share_runs_straight() -> None:
    assert temperature_share(-2.5, kept_warm=False) == pytest.approx((0.68 + 0.79) / 2.0)


def test_far_below_freezing_agrees_with_a_rule_of_the_trade() -> None:
    # A cell gives about half at -18 degC of what it gives at 27 degC: Battery University BU-502.
    assert temperature_share(-18.0, kept_warm=False) == pytest.approx(0.5, abs=0.05)


@given(CELSIUS, st.floats(0.0, 20.0), st.booleans())
def test_cold_never_helps(celsius: float, colder: float, kept_warm: bool) -> None:
    warm = temperature_share(celsius, kept_warm=kept_warm)
    assert temperature_share(celsius - colder, kept_warm=kept_warm) <= warm <= 1.0


@given(CELSIUS)
def test_keeping_the_pack_warm_never_hurts(celsius: float) -> None:
    soaked = temperature_share(celsius, kept_warm=False)
    assert temperature_share(celsius, kept_warm=True) >= soaked


def test_cold_age_and_thin_air_multiply() -> None:
    # 29.8337 x 0.68 x 0.9 / 0.9585, worked by hand.
    assert usable_hover_min(29.8337, 0.68, 0.9, 0.9585) == pytest.approx(19.048, rel=1e-3)


def test_a_compensated_gauge_shows_what_is_left() -> None:
    assert Gauge("compensated", COLD).reading_percent(35.0) == 35.0


def test_a_nominal_gauge_reads_high_in_the_cold_when_nearly_empty() -> None:
    gauge = Gauge("nominal", COLD)
    # Of 100 % of the capacity 68 can be drawn, so an empty pack still shows 32.
    assert gauge.reading_percent(0.0) == pytest.approx(32.0)
    assert gauge.reading_percent(50.0) == pytest.approx(66.0)
    assert gauge.reading_percent(100.0) == 100.0


def test_a_nominal_gauge_at_32_is_empty_and_at_20_has_long_been() -> None:
    gauge = Gauge("nominal", COLD)
    assert gauge.charge_percent(32.0) == pytest.approx(0.0)
    assert gauge.charge_percent(20.0) < 0.0


@given(SHARES, PERCENT)
def test_an_unknown_gauge_gets_the_more_careful_of_both(share: float, percent: float) -> None:
    stop = {kind: Gauge(kind, share).reading_percent(percent) for kind in KINDS}
    assert stop["unknown"] == pytest.approx(max(stop["compensated"], stop["nominal"]), abs=1e-9)
    trigger = {kind: Gauge(kind, share).charge_percent(percent) for kind in KINDS}
    # A higher charge comes earlier in the flight.
    assert trigger["unknown"] == pytest.approx(
        max(trigger["compensated"], trigger["nominal"]), abs=1e-9
    )
    start = {kind: Gauge(kind, share).least_charge_percent(percent) for kind in KINDS}
    assert start["unknown"] == pytest.approx(min(start["compensated"], start["nominal"]), abs=1e-9)


@given(SHARES, PERCENT)
def test_reading_and_charge_are_each_other_s_inverse(share: float, charge: float) -> None:
    for kind in ("compensated", "nominal"):
        gauge = Gauge(kind, share)
        reading = gauge.reading_percent(charge)
        assert gauge.charge_percent(reading) == pytest.approx(charge, abs=1e-9)
        assert gauge.least_charge_percent(reading) == pytest.approx(charge, abs=1e-9)


def test_a_partly_charged_pack_loses_more_to_the_cold_than_it_shows() -> None:
    # 80 % of the capacity less the 32 % that the cold locks away is 48 of 68.
    assert Gauge("nominal", COLD).least_charge_percent(80.0) == pytest.approx(100.0 * 48.0 / 68.0)
    assert Gauge("nominal", COLD).least_charge_percent(100.0) == 100.0
    assert Gauge("compensated", COLD).least_charge_percent(80.0) == 80.0
