"""What everyone in the trade reckons with. Each: common practice, no source."""

from __future__ import annotations

import datetime as dt
from typing import Any

import numpy as np
import pytest

from core.clip import Clip, camera_keeps_up, clip_of
from core.forecast import outlook, starts
from core.memory import Memory
from core.plan import Shoot
from tests.dusk import december_plan, rows


def clip(**values: Any) -> Clip:
    plan = december_plan(**{f"shoots__A__{key}": value for key, value in values.items()})
    return clip_of(plan.shoots.A, plan.camera)


def test_three_hundred_frames_are_twelve_seconds() -> None:
    # Common practice, no source.
    assert clip(clip_length_s=12.0).frames == 300
    assert clip(clip_length_s=12.0).clip_length_s == 12.0


@pytest.mark.parametrize(("interval_s", "minutes"), [(2.0, 10.0), (3.0, 15.0)])
def test_how_long_three_hundred_frames_take(interval_s: float, minutes: float) -> None:
    # Common practice, no source; between the first and the last frame it is one interval less.
    shooting_s = clip(clip_length_s=12.0, interval_s=interval_s).shooting_s
    assert shooting_s == pytest.approx(60.0 * minutes - interval_s)


def test_a_quarter_of_an_hour_at_two_seconds() -> None:
    # Common practice, no source: 450 frames, 18 s of clip.
    take = clip(clip_length_s=18.0, interval_s=2.0)
    assert take.frames == 450
    assert take.shooting_s == pytest.approx(15.0 * 60.0 - 2.0)


@pytest.mark.parametrize(
    ("interval_s", "shutter_s", "keeps_up"),
    [(2.0, 1.0, False), (2.0, 0.25, True), (3.0, 1.0, True)],
)
def test_which_shutter_goes_with_which_interval(
    interval_s: float, shutter_s: float, keeps_up: bool
) -> None:
    # Common practice, no source.
    plan = december_plan(shoots__A__interval_s=interval_s, shoots__A__shutter_s=shutter_s)
    assert camera_keeps_up(plan.shoots.A, plan.camera) == keeps_up


@pytest.mark.parametrize(
    "row", rows("interval_shutter_table.csv"), ids=lambda row: ",".join(row.values())
)
def test_intervals_and_shutters(row: dict[str, str]) -> None:
    # Common practice, no source, for cameras that take 1.7 s and 1.2 s to write a still.
    plan = december_plan(
        shoots__A__interval_s=float(row["interval_s"]), shoots__A__shutter_s=float(row["shutter_s"])
    )
    angle = clip_of(plan.shoots.A, plan.camera).shutter_angle_deg
    assert angle == pytest.approx(float(row["shutter_angle_deg"]), abs=0.051)
    for write_s in ("1.7", "1.2"):
        camera = december_plan(camera__write_time_s=float(write_s)).camera
        fits = row[f"fits_write_{write_s}s"] == "yes"
        assert camera_keeps_up(plan.shoots.A, camera) == fits
    for rate in (24, 25, 30):
        assert float(row["interval_s"]) * rate == float(row[f"compression_{rate}fps"])


@pytest.mark.parametrize("rate", [24.0, 25.0, 30.0])
def test_speed_up(rate: float) -> None:
    # Common practice, no source: interval times frame rate.
    assert clip(interval_s=3.0, frame_rate_fps=rate).speed_up == 3.0 * rate


def test_lamps_come_on_a_quarter_of_an_hour_after_a_winter_sunset() -> None:
    # Common practice, no source.
    seen = outlook(december_plan(), "A", Memory())
    assert seen.light.lamps_on_s is not None
    assert 15.0 <= (seen.light.lamps_on_s - seen.night.event.time_s) / 60.0 <= 20.0


def test_the_minute_that_the_trade_has_learned() -> None:
    # Common practice, no source: up from a lamplit town to the sunset, 1 s at ISO 100 and
    # f/1.7, 300 frames at 3 s, starts well 27 min after a December sunset at 38 N and is
    # over-exposed in part from 19.
    plan, memory = december_plan(), Memory()
    sunset_s = outlook(plan, "A", memory).night.event.time_s
    found = starts(plan, "A", memory)
    assert found.earliest_s is not None
    assert found.latest_s is not None
    assert found.earliest_s <= sunset_s + 27.0 * 60.0 <= found.latest_s
    early = outlook(december_plan(shoots__A__start_after_event_min=19.0), "A", memory).judgement
    assert early.slack_stops < 0.0
    assert early.limit in {"street_high", "land_high", "sky_clip"}


def test_ten_minutes_outside_the_span_lose_the_take() -> None:
    # Common practice, no source: ten minutes too early or too late lose the night.
    found = starts(december_plan(), "A", Memory())
    assert found.earliest_s is not None
    assert found.latest_s is not None
    for lost_s in (found.earliest_s - 600.0, found.latest_s + 600.0):
        assert np.interp(lost_s, found.time_s, found.slack_stops) < -2.0
        chance = found.chance_at(lost_s)
        assert chance is not None
        assert chance < 0.02


def test_a_plain_shoot_plays_at_twenty_five() -> None:
    # Common practice, no source: 25 frames a second where mains run at 50 Hz.
    assert Shoot(date=dt.date(2026, 12, 5)).frame_rate_fps == 25.0
