"""Frames, lengths and the write-time rule."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.clip import (
    WRITE_TOLERANCE_S,
    camera_keeps_up,
    clip_of,
    exact_third_stop_s,
    frame_count,
    write_verdict,
)
from core.plan import Camera, Shoot
from core.words import SHUTTERS_BY_NAME

DATE = dt.date(2026, 12, 5)
WHOLE_FRACTIONS = {f"1/{n}": 1.0 / n for n in (60, 50, 40, 30, 25, 20, 15, 13, 10, 8, 6, 5, 4)}


def marked_s(name: str) -> float:
    """Read the seconds off a dial's mark."""
    return WHOLE_FRACTIONS.get(name) or float(name)


@pytest.mark.parametrize("name", [*WHOLE_FRACTIONS, "0.3", "0.6", "1.3", "2.5", "6", "15", "30"])
def test_a_marked_shutter_stands_for_its_exact_third_stop(name: str) -> None:
    # Cameras time powers of two: 15 s on the dial is 16 s, 30 s is 32 s, 1/60 s is 1/64 s.
    assert exact_third_stop_s(marked_s(name)) == pytest.approx(SHUTTERS_BY_NAME[name], rel=1e-4)


@pytest.mark.parametrize("typed_s", [0.7, 0.9, 1.12, 1.8, 1.0 / 90.0])
def test_a_time_between_the_marks_stands_for_itself(typed_s: float) -> None:
    assert exact_third_stop_s(typed_s) == typed_s


@pytest.mark.parametrize(
    ("left_s", "verdict"),
    [(-0.03, "skips"), (-0.02, "unproven"), (0.0, "unproven"), (0.27, "unproven"), (0.29, "fits")],
)
def test_within_three_tenths_of_the_limit_only_a_trial_tells(left_s: float, verdict: str) -> None:
    assert write_verdict(left_s) == verdict
    assert WRITE_TOLERANCE_S == 0.02


@given(length_s=st.floats(0.1, 600.0), rate=st.floats(1.0, 240.0), interval_s=st.floats(0.2, 600.0))
def test_the_clip_is_as_long_as_its_frames(length_s: float, rate: float, interval_s: float) -> None:
    shoot = Shoot(
        date=DATE, clip_length_s=length_s, frame_rate_fps=rate, interval_s=interval_s, shutter_s=1.0
    )
    clip = clip_of(shoot, Camera())
    assert clip.frames == max(1, round(length_s * rate))
    assert abs(clip.clip_length_s - length_s) <= 0.5 / rate + 1e-9 or clip.frames == 1
    # The first frame takes no interval before it.
    assert clip.shooting_s == pytest.approx((clip.frames - 1) * interval_s)
    assert clip.speed_up == pytest.approx(interval_s * rate)
    assert clip.shutter_angle_deg == pytest.approx(360.0 / interval_s)


@given(shutter_s=st.floats(0.001, 30.0), interval_s=st.floats(0.5, 60.0))
def test_a_longer_interval_never_hurts_the_writing(shutter_s: float, interval_s: float) -> None:
    shoot = Shoot(date=DATE, shutter_s=shutter_s, interval_s=interval_s)
    longer = Shoot(date=DATE, shutter_s=shutter_s, interval_s=interval_s + 1.0)
    assert camera_keeps_up(longer, Camera()) >= camera_keeps_up(shoot, Camera())


def test_a_clip_has_at_least_one_frame() -> None:
    assert frame_count(0.1, 1.0) == 1
