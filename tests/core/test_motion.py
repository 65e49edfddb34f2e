"""What moves in a take: against a camera model of its own, and the findings with their remedies."""

from __future__ import annotations

import math

import numpy as np
import pytest

from core.edit import with_values
from core.findings import Finding
from core.forecast import forecast, motion
from core.memory import Memory
from core.motion import Motion
from core.path import poses_along, time_law
from core.plan import Camera, Path, Plan, Station
from core.steadiness import drift_m_s, jitter_deg, soft_share
from core.sweep import sweep_of
from tests.dusk import arrays_of, december_plan

LASTING = {"craft__rated_min": 60.0, "flight__set_up_first_min": 0.5}
OVER = {
    "path__stations": [
        {"up_m": 120.0, "pitch_deg": -60.0},
        {"up_m": 120.0, "pitch_deg": -60.0, "east_m": 10.0},
    ]
}


def moved(plan: Plan) -> Motion:
    return motion(plan, "A", Memory())


def found(plan: Plan) -> dict[str, Finding]:
    return {f.code: f for f in forecast(plan, "A").findings}


def pixel(path: Path, share: float, point: np.ndarray, focal: float) -> np.ndarray:
    """Where a fixed point stands in the picture: right, forward and up of the camera."""
    pose = poses_along(path, time_law(path, share))
    here = np.array([pose.east_m[0], pose.north_m[0], pose.up_m[0]])
    heading, pitch = math.radians(pose.heading_deg[0]), math.radians(pose.pitch_deg[0])
    level = np.array([math.sin(heading), math.cos(heading), 0.0])
    right = np.array([math.cos(heading), -math.sin(heading), 0.0])
    axis = math.cos(pitch) * level + np.array([0.0, 0.0, math.sin(pitch)])
    top = -math.sin(pitch) * level + np.array([0.0, 0.0, math.cos(pitch)])
    line = (point - here) / np.linalg.norm(point - here)
    # Angles rather than tangents: pixels count as on the axis.
    return focal * np.array(
        [math.asin(line @ right), math.atan2(float(line @ top), float(line @ axis))]
    )


@pytest.mark.parametrize("share", [0.3, 0.5, 0.7])
def test_the_nearest_ground_moves_as_a_camera_sees_it(share: float) -> None:
    # A path that turns, climbs, tilts and flies at once: the point of ground at the lower edge,
    # projected from a little before and a little after.
    path = Path(
        stations=(
            Station(up_m=80.0, pitch_deg=-50.0, heading_deg=250.0),
            Station(up_m=110.0, pitch_deg=-20.0, heading_deg=300.0, east_m=40.0, north_m=25.0),
        )
    )
    camera, step = Camera(), 1e-4
    sweep = sweep_of(path, camera, 1920.0)
    at = round(share * (len(sweep.share) - 1))
    pose = poses_along(path, time_law(path, share))
    half = math.degrees(math.atan(0.6 * 21.633 / 24.0 * 0.75))
    down = math.radians(half - pose.pitch_deg[0])
    out = pose.up_m[0] / math.tan(down)
    heading = math.radians(pose.heading_deg[0])
    point = np.array(
        [
            pose.east_m[0] + out * math.sin(heading),
            pose.north_m[0] + out * math.cos(heading),
            0.0,
        ]
    )
    assert sweep.near_m[at] == pytest.approx(math.hypot(out, pose.up_m[0]))
    before, after = (pixel(path, share + side * step, point, sweep.focal_px) for side in (-1, 1))
    moved_px = np.linalg.norm(after - before) / (2.0 * step)
    assert sweep.scenery_px[at] == pytest.approx(float(moved_px), rel=5e-3)


def test_looking_up_sees_no_ground() -> None:
    plan = december_plan(path__stations=[{"up_m": 80.0, "pitch_deg": 40.0}])
    seen = moved(plan)
    assert seen.near_m is None
    assert seen.middle_m is None
    assert seen.moving == ()
    assert seen.drift_px == 0.0
    assert seen.soft_share < 1e-6


def test_looking_straight_down_the_ground_is_as_far_as_it_is_high() -> None:
    seen = moved(december_plan(path__stations=[{"up_m": 80.0, "pitch_deg": -90.0}]))
    assert seen.near_m == pytest.approx(80.0)
    cars = seen.of("cars")
    assert cars is not None
    # 14 m/s for 3 s: more than nine lengths of a car of 4.5 m.
    assert cars.lengths_per_frame == pytest.approx(14.0 * 3.0 / 4.5)


def test_clouds_are_in_the_picture_with_sky_and_cloud_alone() -> None:
    assert moved(december_plan()).of("clouds") is None
    cloudy = {"shoots__A__conditions__cloud_okta": 4.0}
    clouds = moved(december_plan(**cloudy)).of("clouds")
    assert clouds is not None
    half = math.atan(0.6 * 21.633 / 24.0 * 0.75)
    assert clouds.near_m == pytest.approx(1420.0 / math.sin(half - math.radians(8.0)))
    down = [{"up_m": 80.0, "pitch_deg": -60.0}]
    assert moved(december_plan(path__stations=down, **cloudy)).of("clouds") is None


def test_a_single_frame_moves_nowhere() -> None:
    seen = moved(december_plan(shoots__A__clip_length_s=0.1, shoots__A__frame_rate_fps=5.0))
    assert seen.turn_px_per_frame == 0.0
    assert seen.fast_frames.size == 0


def test_results_are_read_only() -> None:
    assert all(not array.flags.writeable for array in arrays_of(moved(december_plan())))


def test_gusts_make_the_craft_less_still() -> None:
    assert jitter_deg(0.0, 10.0) == pytest.approx(0.005)
    assert jitter_deg(10.0, 10.0) == pytest.approx(0.01)
    assert drift_m_s(5.0, 11.0) > drift_m_s(5.0, 6.0) > drift_m_s(0.0, 0.0) > 0.0
    assert soft_share([0.0, 1e-12]) == 0.0
    assert soft_share([1e9]) == pytest.approx(1.0)


def test_too_fast_a_turn_judders_until_the_clip_is_longer() -> None:
    turn = [{"up_m": 120.0, "pitch_deg": -10.0}, {"up_m": 120.0, "pitch_deg": -10.0,
             "heading_deg": 60.0}]  # fmt: skip
    plan = december_plan(path__stations=turn, shoots__A__clip_length_s=6.0, **LASTING)
    told = found(plan)["pan"]
    assert told.severity == "warn"
    seen = moved(plan)
    # 60 degrees in 149 steps, 1.875 times as fast at its fastest, seen 10 degrees down.
    expected = 1331.3 * math.radians(60.0) / 149.0 * 1.875 * math.cos(math.radians(10.0))
    assert seen.turn_px_per_frame == pytest.approx(expected, rel=1e-3)
    assert f"{math.ceil(10.0 * seen.turn_px_per_frame) / 10.0:.1f} px a frame" in told.fact
    frames = seen.fast_frames
    assert f"frame {frames[0] + 1} to {frames[-1] + 1}" in told.rest
    mended = with_values(plan, dict(told.remedies[0].values))
    assert "pan" not in found(mended)


def test_soft_frames_come_with_a_long_shutter_and_go_with_a_shorter_one() -> None:
    windy = {
        "shoots__A__conditions__wind_10m_m_s": 5.0, "shoots__A__shutter_s": 2.0,
        "shoots__A__interval_s": 5.0, "shoots__A__start_after_event_min": 27.0,
    }  # fmt: skip
    plan = december_plan(**OVER, **windy, **LASTING)
    told = found(plan)["soft_frames"]
    share = math.ceil(100.0 * moved(plan).soft_share)
    assert told.fact.startswith(f"About {share} % of the frames come out soft")
    assert told.remedies
    mended = with_values(plan, dict(told.remedies[0].values))
    assert "soft_frames" not in found(mended)
    assert moved(mended).soft_share < 0.2


def test_traffic_jumps_with_short_streaks() -> None:
    # A car moves nine lengths in 3 s: more than two, so only a third of the interval joins.
    short = december_plan(shoots__A__shutter_s=0.5, **OVER, **LASTING)
    told = found(short)["traffic_jumps"]
    assert told.severity == "note"
    assert told.fact == "Cars move 42 m from frame to frame and draw 17 % of it: they jump."
    assert "traffic_jumps" not in found(december_plan(shoots__A__shutter_s=1.0, **OVER, **LASTING))


def test_what_smears_without_juddering_is_told_with_its_frames() -> None:
    near = [{"up_m": 50.0, "pitch_deg": -60.0}, {"up_m": 50.0, "pitch_deg": -60.0, "east_m": 40.0}]
    plan = december_plan(
        path__stations=near, shoots__A__shutter_s=2.0, shoots__A__interval_s=4.0,
        shoots__A__clip_length_s=8.5, **LASTING,
    )  # fmt: skip
    told, seen = found(plan), moved(plan)
    assert seen.scenery_smear_px > 4.0
    assert ("smear" in told) != ("pan" in told)
    assert "smear" in told
    assert "From frame" in told["smear"].rest
