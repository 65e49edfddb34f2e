"""Motion in the image against worked tables and the published pan rule."""

from __future__ import annotations

import datetime as dt
import math

import numpy as np
import pytest

from core.clip import clip_of
from core.motion import PICTURE_PX, motion_of, pan_limit_px, shift_px
from core.path import focal_px, half_field_tangents
from core.plan import Camera, Conditions, Path, Shoot, Station
from core.sweep import sweep_of
from tests.dusk import rows

ROWS = rows("image_motion.csv")


@pytest.mark.parametrize("focal_mm", sorted({row["eq_focal_mm"] for row in ROWS}))
def test_every_row_of_the_table(focal_mm: str) -> None:
    camera = Camera(focal_equivalent_mm=float(focal_mm), aspect="4:3")
    for row in (row for row in ROWS if row["eq_focal_mm"] == focal_mm):
        speed, distance = float(row["speed_m_s"]), float(row["slant_range_m"])
        shutter, interval = float(row["shutter_s"]), float(row["interval_s"])
        for name, seconds, width in (
            ("px_per_frame_1920", interval, 1920.0),
            ("blur_px_1920", shutter, 1920.0),
            ("blur_px_4000", shutter, 4000.0),
        ):
            px = shift_px(speed, seconds, distance, focal_px(camera, width))
            # The table's focal length comes from a field of view rounded to 0.01 degrees.
            assert px == pytest.approx(float(row[name]), rel=2e-4, abs=0.006), row


@pytest.mark.parametrize(("width_px", "focal"), [(1920, 1331.3), (3840, 2662.6), (4000, 2773.5)])
def test_focal_length_in_pixels(width_px: float, focal: float) -> None:
    # 24 mm equivalent by diagonal, 4:3 and 16:9 alike: worked figures.
    assert focal_px(Camera(), width_px) == pytest.approx(focal, abs=0.06)


@pytest.mark.parametrize(("rate", "px"), [(25.0, 10.97), (30.0, 9.14)])
def test_the_pan_rule(rate: float, px: float) -> None:
    # A maker of digital-cinema cameras: no object should cross the frame in less than 7 s.
    assert pan_limit_px(rate) == pytest.approx(px, abs=0.005)


def test_the_pan_rule_as_a_turn() -> None:
    # 24 mm equivalent at 25 fps: 0.409 degrees of turn from frame to frame, on average over
    # the 71.6 degrees across the frame; in pixels on the axis 0.472 degrees make the limit.
    across_deg = 2.0 * math.degrees(math.atan(half_field_tangents(Camera())[0]))
    assert across_deg / (PICTURE_PX / pan_limit_px(25.0)) == pytest.approx(0.409, abs=5e-4)
    turn_deg = math.degrees(pan_limit_px(25.0) / focal_px(Camera(), PICTURE_PX))
    assert turn_deg == pytest.approx(0.472, abs=1e-3)


def flown(path: Path, frames: int, **values: float) -> tuple[Shoot, Path]:
    shoot = Shoot(date=dt.date(2026, 12, 5), clip_length_s=frames / 25.0, **values)  # type: ignore[arg-type]
    return shoot, path


def test_the_worked_path_past_a_foreground() -> None:
    # 60 m sideways in 275 frames, minimum-jerk (peak 1.875 of the mean, Flash & Hogan 1985):
    # 0.411 m a frame, 13.7 px at a foreground 40 m away.
    half = math.degrees(math.atan(0.6 * 21.633 / 24.0 * 0.75))
    up = 40.0 * math.sin(math.radians(half))
    path = Path(
        stations=(
            Station(up_m=up, pitch_deg=0.0),
            Station(up_m=up, pitch_deg=0.0, east_m=60.0),
        )
    )
    shoot, _ = flown(path, 275)
    motion = motion_of(sweep_of(path, Camera(), PICTURE_PX), shoot, clip_of(shoot, Camera()), 10.7)
    assert motion.near_m == pytest.approx(40.0, abs=0.2)
    assert motion.scenery_px_per_frame == pytest.approx(13.7, rel=6e-3)
    assert motion.turn_px_per_frame == pytest.approx(0.0, abs=1e-9)


def test_what_a_turn_smears() -> None:
    # Yaw at 0.1, 0.5 and 1 degree a second smears 4.8, 24 and 48 px of 4000 in 1 s; minimum
    # jerk turns 1.875 times as fast as on average where it is fastest.
    for rate, px in ((0.1, 4.8), (0.5, 24.0), (1.0, 48.0)):
        turned = rate * 100.0 / 1.875
        path = Path(
            stations=(
                Station(pitch_deg=0.0, heading_deg=0.0),
                Station(pitch_deg=0.0, heading_deg=turned),
            )
        )
        peak = float(sweep_of(path, Camera(), 4000.0).turn_px.max()) / 100.0
        assert peak == pytest.approx(px, rel=0.02)


@pytest.mark.parametrize(("near_m", "px"), [(50.0, 55.0), (100.0, 28.0), (300.0, 9.2)])
def test_a_craft_that_drifts(near_m: float, px: float) -> None:
    # Drifting 1 m/s for 1 s, 4000 px wide: worked figures.
    assert shift_px(1.0, 1.0, near_m, focal_px(Camera(), 4000.0)) == pytest.approx(px, rel=0.02)


def test_a_second_in_wind_softens_frames_and_a_quarter_does_not() -> None:
    # Rayleigh's distribution drawn by hand: two independent normal deviates a frame.
    path = Path(stations=(Station(up_m=100.0, pitch_deg=-90.0),))
    air = Conditions(wind_10m_m_s=5.0, gust_10m_m_s=7.0, wind_shear_exponent=0.27)
    sweep = sweep_of(path, Camera(), PICTURE_PX)
    shares = []
    for shutter in (1.0, 0.25):
        shoot = Shoot(date=dt.date(2026, 12, 5), shutter_s=shutter, conditions=air)
        motion = motion_of(sweep, shoot, clip_of(shoot, Camera()), 10.7)
        sigma = math.hypot(motion.jitter_px, motion.middle_drift_px)
        drawn = np.random.default_rng(1).normal(0.0, sigma, (100_000, 2))
        share = float((np.hypot(*drawn.T) > 2.0).mean())
        assert motion.soft_share == pytest.approx(share, abs=0.006)
        shares.append(motion.soft_share)
    assert shares[0] > 0.1
    assert shares[1] < 1e-3
