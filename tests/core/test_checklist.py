"""What stands on the list before take-off."""

from __future__ import annotations

import math
from typing import Any

import pytest

from core.checklist import card_gb, checklist_of
from core.forecast import outlook
from core.memory import Memory
from core.plan import Plan
from tests.dusk import december_plan


def listed(plan: Plan) -> dict[str, str]:
    return {
        item.code: f"{item.fact}: {item.how}"
        for item in checklist_of(plan, outlook(plan, "A", Memory()))
    }


def test_everything_to_lock_and_to_look_at_is_on_it() -> None:
    wanted = {
        "filter", "focus", "white_balance", "exposure", "raw", "interval", "card", "battery",
        "lights", "return_height", "landing_place", "sight", "rules",
    }  # fmt: skip
    assert set(listed(december_plan())) == wanted


@pytest.mark.parametrize(("length_s", "mb", "gb"), [(12.0, 24.0, "7.2"), (8.0, 51.3, "10.3")])
def test_card_space_is_never_told_too_small(length_s: float, mb: float, gb: str) -> None:
    # 300 frames of 24 MB are 7.2 GB; 200 of 51.3 MB are 10.26 GB, cut up.
    plan = december_plan(shoots__A__clip_length_s=length_s, camera__frame_mb=mb)
    frames = round(25.0 * length_s)
    assert card_gb(frames, mb) == pytest.approx(frames * mb / 1000.0)
    text = listed(plan)["card"]
    assert text.startswith(f"Card space {gb} GB: for {frames} frames of {mb:g} MB;")
    assert float(gb) >= card_gb(frames, mb) - 1e-9


def test_settings_are_those_of_the_shoot() -> None:
    values: dict[str, Any] = {
        "shoots__A__shutter_s": 0.5, "shoots__A__iso": 200.0, "shoots__A__nd_stops": 3.0,
        "shoots__A__interval_s": 4.0,
    }  # fmt: skip
    told = listed(december_plan(**values))
    assert told["exposure"] == "Automatic ISO and exposure off: set by hand: 0.5 s, ISO 200"
    assert "ND 8" in told["filter"]
    assert told["interval"].startswith("Interval 4 s")
    both = listed(december_plan(camera__f_numbers=[1.7, 2.8]))
    assert "f/1.7" in both["exposure"]


def test_the_return_is_told_no_lower_than_the_path() -> None:
    high = [{"up_m": 110.5, "pitch_deg": -20.0}]
    assert "111 m" in listed(december_plan(path__stations=high))["return_height"]
    assert "80 m" in listed(december_plan())["return_height"]
    # Where the flight itself fails the path is as high as it was.
    windy = december_plan(path__stations=high, shoots__A__conditions__wind_10m_m_s=20.0)
    assert "111 m" in listed(windy)["return_height"]


def test_sight_follows_the_craft_and_the_air() -> None:
    # 327 m per metre of craft and 20 m; 0.3 of the visibility.
    assert f"{math.floor(327.0 * 0.36 + 20.0)} m" in listed(december_plan())["sight"]
    murky = december_plan(shoots__A__conditions__visibility_km=0.4)
    assert "120 m" in listed(murky)["sight"]


def test_dew_adds_a_look_at_the_lens() -> None:
    air = {"shoots__A__conditions__temperature_c": 8.0}
    wet = december_plan(**air, shoots__A__conditions__humidity_percent=95.0)
    dry = december_plan(**air, shoots__A__conditions__humidity_percent=50.0)
    assert "lens_dew" in listed(wet)
    assert "lens_dew" not in listed(dry)


def test_an_unflyable_plan_has_its_list_too() -> None:
    calm = set(listed(december_plan()))
    assert set(listed(december_plan(shoots__A__conditions__wind_10m_m_s=20.0))) == calm


def test_a_full_battery_is_not_asked_to_be_fuller() -> None:
    assert listed(december_plan(shoots__A__battery_start_percent=100.0))["battery"] == (
        "Battery at 100 %: seated and locked"
    )
    assert "or more" in listed(december_plan(shoots__A__battery_start_percent=95.0))["battery"]
