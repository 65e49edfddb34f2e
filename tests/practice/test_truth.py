"""Truths are drawn as the plan states its uncertainty, and move the light as it says."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import msgspec
import numpy as np
import pytest
from PIL import Image

from app.resources import demo_sites
from core.belief import UNKNOWNS, typed_belief
from core.clip import clip_of
from core.edit import new_plan, with_values
from core.plan import SHOOT_NAMES, Learned, Plan, ShootName
from core.planfile import load
from tests.practice.light import true_night
from tests.practice.take import write_take
from tests.practice.truth import (
    Lasting,
    Tonight,
    Truth,
    drawn_handling,
    drawn_lasting,
    drawn_tonight,
    drawn_truth,
)

PLAN = new_plan("Skarvoy", 62.2, 5.6, dt.date(2026, 10, 10))


def _ground(plan: Plan, truth: Truth) -> tuple[float, float]:
    """Land and street an hour after the press, log2 cd/m²."""
    night = true_night(plan, "A", truth)
    at = night.at(np.array([night.seen.press_s + 3600.0]), np.array([0.5]))
    return float(at.land_log2[0]), float(at.lamp_log2[0])


@pytest.mark.parametrize("okta", [0.0, 6.0])
def test_draws_spread_as_far_as_the_plan_says(okta: float) -> None:
    plan = with_values(PLAN, {"shoots.A.conditions.cloud_okta": okta})
    rng, before = np.random.default_rng(1), typed_belief(okta)
    lasting = [drawn_lasting(plan, rng) for _ in range(2000)]
    nights = [drawn_tonight(plan, "A", rng) for _ in range(2000)]
    drawn = {
        "level": [one.level_stops for one in lasting],
        "lamps": [one.lamps_stops for one in lasting],
        "weather": [one.weather_stops for one in nights],
        "haze": [one.haze_sigmas for one in nights],
        "sky": [one.sky_stops for one in nights],
    }
    spread = {name: np.std(values) for name, values in drawn.items()}
    assert spread == pytest.approx({name: before.sigma_of(name) for name in UNKNOWNS}, rel=0.06)


def test_a_place_stays_while_its_nights_change() -> None:
    place = drawn_truth(PLAN, "A", 1).lasting
    first, second = (drawn_truth(PLAN, "A", seed, place) for seed in (2, 3))
    assert first.lasting == second.lasting == place
    assert first.tonight != second.tonight
    assert first.handling != second.handling


@pytest.mark.parametrize("site", demo_sites(), ids=lambda path: path.stem)
@pytest.mark.parametrize("name", SHOOT_NAMES)
def test_any_drawn_take_of_any_place_can_be_written(
    tmp_path: Path, site: Path, name: ShootName
) -> None:
    plan = with_values(
        load(site),
        {f"shoots.{name}.clip_length_s": 9.0, f"shoots.{name}.frame_rate_fps": 1.0},
    )
    truth = drawn_truth(plan, name, 5)
    take = write_take(tmp_path, plan, truth, 5, (96, 54), name=name)
    assert len(take.frames) == 9 - len(truth.handling.missing)
    for frame in take.frames:
        assert np.isfinite([frame.land_log2, frame.street_log2, frame.sky_log2]).all()
        assert frame.land_log2 <= frame.street_log2
        with Image.open(tmp_path / frame.file) as still:
            still.load()


def test_a_take_draws_its_faults_within_the_plan_s_frames() -> None:
    rng = np.random.default_rng(2)
    drawn = [drawn_handling(PLAN, "A", rng) for _ in range(300)]
    last = clip_of(PLAN.shoots.A, PLAN.camera).frames - 1
    missing = [frame for one in drawn for frame in one.missing]
    assert min(missing) > 0
    assert max(missing) < last
    assert len(missing) / len(drawn) == pytest.approx(2.0, abs=0.3)
    assert all(list(one.missing) == sorted(set(one.missing)) for one in drawn)


def test_offsets_move_land_and_lamps_each_by_itself() -> None:
    land, lamp = _ground(PLAN, Truth())
    assert _ground(PLAN, Truth(Lasting(level_stops=0.7))) == pytest.approx((land + 0.7, lamp))
    assert _ground(PLAN, Truth(Lasting(lamps_stops=-1.2))) == pytest.approx((land, lamp - 1.2))
    dull = Truth(tonight=Tonight(weather_stops=-0.5))
    assert _ground(PLAN, dull)[0] == pytest.approx(land - 0.5, abs=0.02)


def test_lamps_give_half_their_light_half_a_warm_up_after_they_came_on() -> None:
    late = Truth(tonight=Tonight(lamps_late_s=240.0))
    night, on_time = true_night(PLAN, "A", late), true_night(PLAN, "A", Truth())
    assert night.lamps_on_s is not None
    assert on_time.lamps_on_s is not None
    assert night.lamps_on_s - on_time.lamps_on_s == pytest.approx(240.0)
    half_s = night.lamps_on_s + 30.0 * PLAN.ground.lamps.warm_up_min
    before, half, warm = night.lamp_output(half_s + np.array([-900.0, 0.0, 900.0]))
    assert (before, half, warm) == pytest.approx((0.0, 0.5, 1.0))


def test_lamps_that_go_by_the_light_come_on_earlier_on_a_dull_evening() -> None:
    dull = true_night(PLAN, "A", Truth(tonight=Tonight(weather_stops=-1.0)))
    bright = true_night(PLAN, "A", Truth(tonight=Tonight(weather_stops=1.0)))
    assert dull.lamps_on_s is not None
    assert bright.lamps_on_s is not None
    assert bright.lamps_on_s - dull.lamps_on_s > 300.0


def test_what_a_plan_has_learned_does_not_change_what_is_true() -> None:
    taught = Learned(name="level_stops", value=1.0, sigma=0.1, unit="stops", scope="place")
    wiser = msgspec.structs.replace(PLAN, learned=(taught,))
    truth = drawn_truth(PLAN, "A", 4)
    assert _ground(wiser, truth) == _ground(PLAN, truth)
