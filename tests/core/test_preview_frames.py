"""The predicted frames are the model's own light, seen in true perspective."""

from __future__ import annotations

import datetime as dt
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from core.forecast import outlook
from core.memory import Memory
from core.path import focal_px
from core.plan import Camera
from core.preview import frame_indices, frame_size, frames_key, linear_frames
from core.preview.view import Pixels, first_ground_row, ground_points, screen_of, view_of
from tests.dusk import SUNSET_HEADING_DEG, december_plan
from tests.previewing import EvenSky, drawn

RIDGES = [[0.0, 1.0], [180.0, 0.0], [235.0, 6.0], [250.0, 2.0], [300.0, 4.0]]
LEVEL_EASTWARD = [{"up_m": 80.0, "pitch_deg": -10.0, "heading_deg": 63.0}]
UPWARD = [{"up_m": 60.0, "pitch_deg": 10.0, "heading_deg": SUNSET_HEADING_DEG}]
#: A sky read brighter, and a land darker, than the typed figures have them.
READ = [
    {"time": "2026-12-05T17:05:00+00:00", "part": "sky", "stops": 5.0, "shutter_s": 1.0,
     "iso": 100.0, "f_number": 1.7, "nd_stops": 0.0},
    {"time": "2026-12-05T17:05:00+00:00", "part": "land", "stops": -2.6, "shutter_s": 1.0,
     "iso": 100.0, "f_number": 1.7, "nd_stops": 0.0},
]  # fmt: skip
EVENINGS: list[dict[str, Any]] = [
    {"shoots__A__start_after_event_min": 5.0},
    {"shoots__A__start_after_event_min": 15.0},
    {"shoots__A__start_after_event_min": 27.0, "place__skyline": RIDGES},
    {"shoots__A__start_after_event_min": 27.0, "shoots__A__conditions__haze_aod": 0.05},
    {"shoots__A__start_after_event_min": 40.0, "shoots__A__conditions__haze_aod": 0.3},
    {"shoots__A__start_after_event_min": 25.0, "shoots__A__conditions__cloud_okta": 6.0},
    {"shoots__A__start_after_event_min": 27.0, "path__stations": LEVEL_EASTWARD},
    {"shoots__A__start_after_event_min": 35.0, "path__stations": UPWARD},
    {"shoots__A__start_after_event_min": 27.0, "readings": READ},
]


def altitude_deg(camera: Camera, heading_deg: float, pitch_deg: float) -> Pixels:
    return view_of(screen_of(camera, 90, 160), heading_deg, pitch_deg).altitude_deg()


# ---- the picture's means are the model's ----


@pytest.mark.parametrize("evening", EVENINGS)
def test_the_land_in_a_frame_is_as_bright_as_the_model_says(evening: dict[str, Any]) -> None:
    take = drawn(december_plan(**evening))
    open_land = take.frames.land_share > 0.9999
    enough = open_land.mean(axis=(1, 2)) > 0.01
    assert enough.any()
    total = (take.luminance * open_land).sum(axis=(1, 2))
    mean = total[enough] / open_land.sum(axis=(1, 2))[enough]
    # Roofs and yards differ, and a frame holds only some of them.
    assert mean == pytest.approx(take.part_cd_m2("land")[enough], rel=0.03)


@pytest.mark.parametrize("evening", EVENINGS)
def test_the_streets_in_a_frame_are_as_bright_as_the_model_says(evening: dict[str, Any]) -> None:
    take = drawn(december_plan(**evening))
    frames = take.frames
    town = frames.street_share + frames.land_share > 0.9999
    # What the ground gives beyond the land's light comes from the streets.
    land = frames.land_share * take.part_cd_m2("land")[:, None, None]
    light = ((take.luminance - land) * town).sum(axis=(1, 2))
    area = (frames.street_share * town).sum(axis=(1, 2))
    enough = area > 100.0
    assert enough.any()
    assert light[enough] / area[enough] == pytest.approx(
        take.part_cd_m2("street")[enough], rel=0.02
    )


@pytest.mark.parametrize("evening", EVENINGS)
def test_the_sky_in_a_frame_is_as_bright_as_its_tone(evening: dict[str, Any]) -> None:
    take = drawn(december_plan(**evening))
    share = take.frames.sky_share
    enough = share.mean(axis=(1, 2)) > 0.1
    assert enough.any()
    mean = (take.luminance * share).sum(axis=(1, 2))[enough] / share.sum(axis=(1, 2))[enough]
    off_stops = np.log2(mean / take.part_cd_m2("sky")[enough])
    assert np.abs(off_stops).max() < 0.05


@pytest.mark.parametrize("evening", EVENINGS)
def test_the_sky_takes_the_share_of_the_frame_that_is_judged(evening: dict[str, Any]) -> None:
    take = drawn(december_plan(**evening))
    judged = take.seen.tones.sky.frame_share[take.frames.indices]
    # The judged share comes from 24 rows of rays on 25 poses.
    assert take.frames.sky_share.mean(axis=(1, 2)) == pytest.approx(judged, abs=0.006)


def test_an_even_grey_sky_is_drawn_even_and_grey() -> None:
    plan = december_plan(path__stations=UPWARD)
    seen = replace(outlook(plan, "A", Memory()), sky=EvenSky(3.0))
    frames = linear_frames(plan, seen, (0,), 45, 80)
    sky = frames.rgb[frames.sky_share > 0.9999]
    assert np.ptp(sky) < 1e-4 * sky.mean()


# ---- what a pilot must see at a glance ----


def test_the_town_goes_from_evening_grey_to_lamplight() -> None:
    plan = december_plan(
        shoots__A__start_after_event_min=8.0,
        shoots__A__interval_s=6.0,
        path__stations=[{"up_m": 80.0, "pitch_deg": -50.0, "heading_deg": 243.0}],
    )
    frames = drawn(plan, 6).frames
    street = frames.street_share > 0.9
    warmth = [
        float((rgb[on][:, 0] / rgb[on][:, 2]).mean())
        for rgb, on in zip(frames.rgb, street, strict=True)
    ]
    assert warmth[0] < 1.2
    assert warmth[-1] > 4.0
    # Daylight may turn a little bluer before the first lamp shows.
    bluest = int(np.argmin(warmth))
    assert bluest <= 1
    assert warmth[bluest:] == sorted(warmth[bluest:])


def test_the_glow_stands_over_the_sun_and_is_redder_than_the_sky_above() -> None:
    level = [{"up_m": 80.0, "pitch_deg": 5.0, "heading_deg": 230.0}]
    take = drawn(december_plan(path__stations=level, shoots__A__start_after_event_min=27.0), 1)
    rgb, sky = take.frames.rgb[0], take.frames.sky_share[0] > 0.9999
    row, col = np.unravel_index(np.argmax(take.luminance[0] * sky), sky.shape)
    view = view_of(screen_of(take.plan.camera, 90, 160), 230.0, 5.0)
    at = float(view.azimuth_deg()[row, col])
    assert at == pytest.approx(float(take.seen.tones.sun_azimuth_deg[0]), abs=8.0)
    assert rgb[row, col, 0] / rgb[row, col, 2] > 2.0 * rgb[0, col, 0] / rgb[0, col, 2]


def test_far_land_lightens_with_haze_and_near_land_does_not() -> None:
    def land_over_model(haze: float, km: tuple[float, float]) -> float:
        plan = december_plan(
            path__stations=LEVEL_EASTWARD, shoots__A__conditions__visibility_km=haze
        )
        take = drawn(plan, 1, 180, 320)
        view = view_of(screen_of(plan.camera, 180, 320), 63.0, -10.0)
        first = first_ground_row(view)
        distance = ground_points(view.rows(first, 180), 0.0, 0.0, 80.0).distance_m
        there = (distance > km[0] * 1000.0) & (distance < km[1] * 1000.0)
        there &= take.frames.street_share[0, first:] == 0.0
        return float(take.luminance[0, first:][there].mean() / take.part_cd_m2("land")[0])

    assert land_over_model(5.0, (3.0, 6.0)) > 1.3 * land_over_model(80.0, (3.0, 6.0))
    assert land_over_model(5.0, (0.1, 0.8)) == pytest.approx(
        land_over_model(80.0, (0.1, 0.8)), rel=1e-4
    )


@pytest.mark.parametrize(("okta", "seen"), [(0.0, True), (8.0, False)])
def test_the_full_moon_rises_opposite_the_sunset_unless_it_is_overcast(
    okta: float, seen: bool
) -> None:
    # Full moon of 24 December 2026, 01:28 UTC (NASA phase tables, from memory).
    moonrise = december_plan(
        shoots__A__date=dt.date(2026, 12, 23),
        shoots__A__start_after_event_min=30.0,
        shoots__A__conditions__cloud_okta=okta,
        path__stations=[{"up_m": 80.0, "pitch_deg": 5.0, "heading_deg": 60.0}],
    )
    take = drawn(moonrise, 1)
    sky = take.luminance[0] * (altitude_deg(moonrise.camera, 60.0, 5.0) > 1.0)
    assert (sky.max() > 50.0 * np.median(sky[sky > 0.0])) == seen


# ---- geometry ----


@pytest.mark.parametrize(
    ("azimuth", "altitude", "heading", "pitch", "u", "v"),
    # Pinhole without roll, 1920 x 1080 at a focal length of 1331.3 px, worked by hand.
    [
        (300.0, 0.0, 290.0, -10.0, 1198.4, 305.3),
        (300.0, -2.0, 300.0, -10.0, 960.0, 352.9),
        (310.0, 5.0, 290.0, 0.0, 1444.5, 416.1),
    ],
)
def test_a_pixel_looks_where_a_pinhole_looks(
    azimuth: float, altitude: float, heading: float, pitch: float, u: float, v: float
) -> None:
    view = view_of(screen_of(Camera(), 1080, 1920), heading, pitch)
    row, col = round(v - 0.5), round(u - 0.5)
    assert view.azimuth_deg()[row, col] == pytest.approx(azimuth, abs=0.03)
    assert view.altitude_deg()[row, col] == pytest.approx(altitude, abs=0.03)


def test_a_street_stays_on_the_ground_from_frame_to_frame() -> None:
    def camera_at(east: float, heading: float) -> dict[str, float]:
        return {"east_m": east, "up_m": 80.0, "pitch_deg": -45.0, "heading_deg": heading}

    camera = december_plan().camera
    pictures = []
    for pose in ((0.0, 243.0), (25.0, 251.0)):
        plan = december_plan(path__stations=[camera_at(*pose)])
        pictures.append(drawn(plan, 1).frames.street_share[0])
    view = view_of(screen_of(camera, 90, 160), 243.0, -45.0)
    points = ground_points(view, 0.0, 0.0, 80.0)
    # The other camera's pixel of each ground point, by the pinhole's equations.
    turn, tilt = np.radians(251.0), np.radians(-45.0)
    east, north = points.east_m - 25.0, points.north_m
    right = east * np.cos(turn) - north * np.sin(turn)
    forward = east * np.sin(turn) + north * np.cos(turn)
    depth = forward * np.cos(tilt) - 80.0 * np.sin(tilt)
    up = -forward * np.sin(tilt) - 80.0 * np.cos(tilt)
    px = focal_px(camera, 160)
    col = np.rint(80.0 + px * right / depth - 0.5).astype(int)
    row = np.rint(45.0 - px * up / depth - 0.5).astype(int)
    inside = (col >= 0) & (col < 160) & (row >= 0) & (row < 90)
    here, there = pictures[0][inside], pictures[1][row[inside], col[inside]]
    assert inside.mean() > 0.4
    assert there[here > 0.99].mean() > 0.9
    assert there[here < 0.01].mean() < 0.05


def test_a_ridge_hides_the_sky_up_to_its_height() -> None:
    plan = december_plan(path__stations=UPWARD, place__skyline=[[0.0, 8.0]])
    take = drawn(plan, 1, 180, 320)
    view = view_of(screen_of(plan.camera, 180, 320), SUNSET_HEADING_DEG, 10.0)
    altitude = view.altitude_deg()
    assert (take.frames.sky_share[0][altitude < 7.8] == 0.0).all()
    assert (take.frames.sky_share[0][altitude > 8.2] == 1.0).all()


@pytest.mark.parametrize("pitch", [-90.0, -50.0, 0.0, 60.0])
@pytest.mark.parametrize("aspect", ["16:9", "4:3", "1:1"])
def test_any_pitch_and_aspect_gives_finite_light(pitch: float, aspect: str) -> None:
    stations = [{"up_m": 1.0, "pitch_deg": pitch, "heading_deg": 200.0}]
    plan = december_plan(path__stations=stations, camera__aspect=aspect)
    rows, cols = frame_size(plan.camera, 36)
    frames = drawn(plan, 2, rows, cols).frames
    assert frames.rgb.dtype == np.float32
    assert np.isfinite(frames.rgb).all()
    assert (frames.rgb > 0.0).all()
    parts = frames.sky_share + frames.street_share + frames.land_share
    assert parts.min() >= 0.0
    assert parts.max() <= 1.0 + 1e-5


def test_a_town_without_lamps_has_no_lit_street() -> None:
    frames = drawn(december_plan(ground__lamps__luminance_cd_m2=0.0), 2).frames
    assert not frames.street_share.any()


# ---- how it is called ----


def test_frames_are_spread_from_the_first_to_the_last() -> None:
    assert frame_indices(300, 12)[0] == 0
    assert frame_indices(300, 12)[-1] == 299
    assert len(frame_indices(300, 12)) == 12
    assert set(np.diff(frame_indices(300, 12))) <= {27, 28}
    assert frame_indices(3, 12) == (0, 1, 2)
    assert frame_indices(1, 12) == (0,)
    assert frame_indices(300, 1) == (0,)


def test_worker_threads_draw_the_same_picture() -> None:
    plan = december_plan()
    seen = outlook(plan, "A", Memory())

    def draw_once(_: int) -> bytes:
        return linear_frames(plan, seen, (0, 150, 299), 36, 64).rgb.tobytes()

    with ThreadPoolExecutor(4) as pool:
        assert len(set(pool.map(draw_once, range(8)))) == 1


@pytest.mark.parametrize("setting", ["shutter_s", "iso", "nd_stops", "f_number"])
def test_a_setting_that_only_exposes_needs_no_new_frames(setting: str) -> None:
    plain = december_plan()
    value = {"shutter_s": 0.5, "iso": 400.0, "nd_stops": 3.0, "f_number": 2.8}[setting]
    other = december_plan(**{"camera__f_numbers": [1.7, 2.8], f"shoots__A__{setting}": value})
    first, second = (drawn(plan, 2, 18, 32) for plan in (plain, other))
    assert first.seen.mid != second.seen.mid
    assert frames_key(plain, first.seen, (0, 299)) == frames_key(other, second.seen, (0, 299))
    np.testing.assert_allclose(first.frames.rgb, second.frames.rgb, rtol=1e-5)


@pytest.mark.parametrize(
    "change",
    [
        {"shoots__A__interval_s": 5.0},
        {"shoots__A__date": dt.date(2026, 12, 30)},
        {"shoots__A__conditions__haze_aod": 0.3},
        {"shoots__A__conditions__cloud_okta": 4.0},
        {"shoots__A__conditions__skyglow_cd_m2": 0.1},
        {"shoots__A__conditions__visibility_km": 8.0},
        {"shoots__A__path_reversed": True},
        {"place__skyline": RIDGES},
        {"ground__lamps__lit_share": 0.4},
        {"camera__focal_equivalent_mm": 35.0},
        {"path__timing": "constant_middle"},
        {"readings": READ},
    ],
)
def test_whatever_changes_the_picture_needs_new_frames(change: dict[str, Any]) -> None:
    plain, other = december_plan(), december_plan(**change)
    indices = (0, 100, 299)
    first, second = outlook(plain, "A", Memory()), outlook(other, "A", Memory())
    assert frames_key(plain, first, indices) != frames_key(other, second, indices)
    assert hash(frames_key(other, second, indices))
