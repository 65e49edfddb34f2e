"""The camera's way: how it eases, where it stands, where it looks."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.framesky import rays
from core.path import (
    constant_middle,
    focal_px,
    half_field_tangents,
    minimum_jerk,
    poses_along,
    reversed_path,
    station_ways,
    time_law,
)
from core.plan import Camera, Path, Station
from tests.dusk import rows
from tests.strategies import paths

SHARES = st.floats(0.0, 1.0)


# Flash and Hogan 1985, J. Neurosci. 5:1688: s(u) = 10u³ - 15u⁴ + 6u⁵.
@pytest.mark.parametrize(("u", "s"), [(0.1, 0.00856), (0.25, 0.10352), (0.5, 0.5), (1.0, 1.0)])
def test_minimum_jerk(u: float, s: float) -> None:
    assert minimum_jerk(u) == pytest.approx(s, abs=5e-6)


def test_minimum_jerk_is_fastest_in_the_middle() -> None:
    u = np.linspace(0.0, 1.0, 10001)
    speed = np.gradient(minimum_jerk(u), u)
    # Peak speed 1.875 of the mean, from the same polynomial.
    assert speed.max() == pytest.approx(1.875, abs=1e-4)
    assert u[speed.argmax()] == pytest.approx(0.5, abs=1e-3)


# Integral of a smoothstep ramp over a fifth of the time: exact fractions.
@pytest.mark.parametrize(("u", "s"), [(0.1, 0.0234375), (0.2, 0.125), (0.5, 0.5), (0.8, 0.875)])
def test_constant_middle(u: float, s: float) -> None:
    assert constant_middle(u, 0.2) == pytest.approx(s, abs=1e-12)


def test_constant_middle_is_constant_there() -> None:
    u = np.linspace(0.2, 0.8, 601)
    assert np.diff(constant_middle(u)) == pytest.approx(0.001 / 0.85, rel=1e-9)


@pytest.mark.parametrize("timing", ["minimum_jerk", "constant_middle"])
@given(u=SHARES)
def test_time_laws_mirror_and_never_turn_back(timing: str, u: float) -> None:
    path = Path(timing=timing)  # type: ignore[arg-type]
    assert time_law(path, u) + time_law(path, 1.0 - u) == pytest.approx(1.0, abs=1e-9)
    assert 0.0 <= time_law(path, u) <= time_law(path, min(u + 0.01, 1.0)) + 1e-12


def test_two_stations_make_a_straight_line() -> None:
    path = Path(stations=(Station(up_m=20.0), Station(east_m=30.0, north_m=-40.0, up_m=140.0)))
    poses = poses_along(path, np.linspace(0.0, 1.0, 14))
    assert poses.east_m == pytest.approx(np.linspace(0.0, 30.0, 14))
    assert poses.north_m == pytest.approx(np.linspace(0.0, -40.0, 14))
    assert poses.up_m == pytest.approx(np.linspace(20.0, 140.0, 14))


def test_the_way_runs_through_every_station_at_an_even_speed() -> None:
    stations = (
        Station(),
        Station(east_m=100.0),
        Station(east_m=100.0, north_m=20.0),
        Station(north_m=90.0),
    )
    path = Path(stations=stations)
    poses = poses_along(path, np.linspace(0.0, 1.0, 4001))
    track = np.stack([poses.east_m, poses.north_m], axis=1)
    for station in stations:
        assert np.hypot(*(track - (station.east_m, station.north_m)).T).min() < 0.1
    steps = np.hypot(*np.diff(track, axis=0).T)
    assert steps == pytest.approx(steps.mean(), rel=0.02)


@pytest.mark.parametrize(
    ("first", "last", "middle"), [(350.0, 20.0, 5.0), (20.0, 350.0, 5.0), (-170.0, 170.0, 180.0)]
)
def test_the_heading_takes_the_short_way_round(first: float, last: float, middle: float) -> None:
    path = Path(stations=(Station(heading_deg=first), Station(heading_deg=last, east_m=50.0)))
    assert poses_along(path, 0.5).heading_deg == pytest.approx([middle])


def test_turning_on_the_spot() -> None:
    path = Path(stations=(Station(heading_deg=0.0), Station(heading_deg=90.0, pitch_deg=-35.0)))
    poses = poses_along(path, [0.0, 0.25, 1.0])
    assert poses.heading_deg == pytest.approx([0.0, 22.5, 90.0])
    assert poses.pitch_deg == pytest.approx([-15.0, -20.0, -35.0])


PAN = (
    Station(heading_deg=0.0),
    Station(east_m=60.0, heading_deg=0.0),
    Station(east_m=60.0, heading_deg=90.0),
    Station(east_m=60.0, north_m=50.0, heading_deg=90.0),
)


def test_a_turn_on_the_spot_takes_its_share_of_the_way() -> None:
    # 60 m, a quarter turn that counts as 90 m, 50 m: worked by hand.
    path = Path(stations=PAN)
    assert station_ways(path) == pytest.approx([0.0, 0.3, 0.75, 1.0])
    poses = poses_along(path, [0.3, 0.4, 0.525, 0.7, 0.75])
    assert poses.heading_deg == pytest.approx([0.0, 20.0, 45.0, 80.0, 90.0])
    assert poses.east_m == pytest.approx(60.0)
    assert poses.north_m == pytest.approx(0.0)


def test_no_heading_jumps_from_one_frame_to_the_next() -> None:
    # At 300 frames the quarter turn of 90 m among 200 goes at 1.875 of the mean at most.
    path = Path(stations=PAN)
    heading = poses_along(path, time_law(path, np.linspace(0.0, 1.0, 300))).heading_deg
    assert np.abs(np.diff(heading)).max() <= 1.875 * 200.0 / 299.0 + 1e-6


def test_turning_on_the_spot_takes_time_in_proportion_to_the_turn() -> None:
    stations = (
        Station(heading_deg=350.0),
        Station(heading_deg=20.0),
        Station(heading_deg=20.0, pitch_deg=-25.0),
    )
    # 30 degrees across north, then 10 down.
    assert station_ways(Path(stations=stations)) == pytest.approx([0.0, 0.75, 1.0])


def test_within_the_craft_s_own_hold_stations_are_one_place() -> None:
    near = Path(stations=(*PAN[:2], Station(east_m=60.3, heading_deg=90.0), PAN[3]))
    assert station_ways(near) == pytest.approx([0.0, 0.3, 0.75, 1.0], abs=0.002)


def test_the_same_station_twice_takes_no_time() -> None:
    path = Path(stations=(PAN[0], PAN[1], PAN[1], PAN[3]))
    ways = station_ways(path)
    assert ways[1] == ways[2]
    still = Path(stations=(Station(east_m=100.3, north_m=-7.7, up_m=33.3),) * 3)
    assert station_ways(still) == pytest.approx([0.0, 0.5, 1.0])


def test_straight_down_the_camera_keeps_the_heading_of_the_next_pose() -> None:
    mast = (0.0, 0.0, 0.0)
    over, away = Station(look_at=mast), Station(east_m=50.0, north_m=-50.0, look_at=mast)
    for stations in ((over, away), (away, over)):
        poses = poses_along(Path(stations=stations), [0.0, 0.001, 0.5, 0.999, 1.0])
        assert poses.heading_deg == pytest.approx(315.0)
    assert poses_along(Path(stations=(over, away)), 0.0).pitch_deg == pytest.approx(-90.0)


def test_straight_down_all_the_way_the_stations_say_the_heading() -> None:
    mast = (10.0, 20.0, 0.0)
    low = Station(east_m=10.0, north_m=20.0, up_m=30.0, heading_deg=140.0, look_at=mast)
    high = Station(east_m=10.0, north_m=20.0, up_m=90.0, heading_deg=150.0, look_at=mast)
    assert poses_along(Path(stations=(low,)), 0.0).heading_deg == pytest.approx(140.0)
    rising = poses_along(Path(stations=(low, high)), [0.0, 0.5, 1.0])
    assert rising.heading_deg == pytest.approx([140.0, 145.0, 150.0])
    assert rising.pitch_deg == pytest.approx(-90.0)


def test_looking_at_a_point_all_along() -> None:
    # A quarter circle's chord round a mast: always at its foot, 45 degrees down halfway.
    mast = (0.0, 0.0, 0.0)
    path = Path(
        stations=(
            Station(east_m=100.0, up_m=100.0, look_at=mast),
            Station(north_m=100.0, up_m=100.0, look_at=mast),
        )
    )
    poses = poses_along(path, [0.0, 0.5, 1.0])
    assert poses.heading_deg == pytest.approx([270.0, 225.0, 180.0])
    half_way = -np.degrees(np.arctan2(100.0, np.hypot(50.0, 50.0)))
    assert poses.pitch_deg == pytest.approx([-45.0, half_way, -45.0])


@given(path=paths(), way=SHARES)
def test_flown_backwards_the_poses_are_the_same(path: Path, way: float) -> None:
    ahead = poses_along(path, way)
    back = poses_along(reversed_path(path), 1.0 - way)
    for name in ("east_m", "north_m", "up_m", "pitch_deg"):
        assert getattr(back, name) == pytest.approx(getattr(ahead, name), abs=0.01)


# Pinhole without roll, worked by hand: focal length 1331.3 px in a frame of 1920 × 1080.
@pytest.mark.parametrize(
    ("azimuth", "altitude", "heading", "pitch", "x", "y"),
    [
        (300.0, 0.0, 290.0, -10.0, 1198.4, 305.3),
        (300.0, -2.0, 300.0, -10.0, 960.0, 352.9),
        (310.0, 5.0, 290.0, 0.0, 1444.5, 416.1),
    ],
)
def test_pinhole(
    azimuth: float, altitude: float, heading: float, pitch: float, x: float, y: float
) -> None:
    camera = Camera()
    assert focal_px(camera, 1920.0) == pytest.approx(1331.3, abs=0.1)
    pose = poses_along(Path(stations=(Station(heading_deg=heading, pitch_deg=pitch),)), 0.0)
    up, round_ = (grid[0] for grid in rays(pose, camera))
    # Where the ray through that pixel points, between the rays of the grid.
    row, column = y / 1080.0 * up.shape[0] - 0.5, x / 1920.0 * up.shape[1] - 0.5
    seen = [_between(grid, row, column) for grid in (up, round_)]
    assert seen == pytest.approx([altitude, azimuth], abs=0.03)


def _between(grid: np.ndarray, row: float, column: float) -> float:
    r, c = int(row), int(column)
    rows_ = grid[r : r + 2, c] + (column - c) * (grid[r : r + 2, c + 1] - grid[r : r + 2, c])
    return float(rows_[0] + (row - r) * (rows_[1] - rows_[0]))


# Equivalent focal length by the diagonal of 36 × 24 mm; fields of view to a hundredth.
@pytest.mark.parametrize("row", rows("sky_share.csv")[::9], ids=lambda row: row["eq_focal_mm"])
def test_fields_of_view(row: dict[str, str]) -> None:
    focal = float(row["eq_focal_mm"])
    for aspect, down in (("4:3", "vfov_4x3_deg"), ("16:9", "vfov_16x9_deg")):
        camera = Camera(focal_equivalent_mm=focal, aspect=aspect)  # type: ignore[arg-type]
        fields = [2.0 * np.degrees(np.arctan(t)) for t in half_field_tangents(camera)]
        assert fields == pytest.approx([float(row["hfov_deg"]), float(row[down])], abs=0.006)


def test_a_square_frame_is_cut_from_the_full_height() -> None:
    square, full = (Camera(aspect=aspect) for aspect in ("1:1", "4:3"))
    across, down = half_field_tangents(square)
    assert across == pytest.approx(down)
    assert down == pytest.approx(half_field_tangents(full)[1])
