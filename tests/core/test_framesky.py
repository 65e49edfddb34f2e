"""How much sky the lens sees, and how bright it is."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.framesky import (
    DARK_LOG2,
    SKY_SHARES,
    SUN_ALTITUDES_DEG,
    FrameSky,
    between,
    framesky_of,
    interpolate,
    rays,
    sky_cover,
)
from core.memory import Memory
from core.path import half_field_tangents, poses_along
from core.plan import Camera, Conditions, Path, Station
from core.skies import HAZE_SIGMA_DOUBLINGS, Skies, skies_of
from tests.dusk import HAZE_STOPS_PER_DOUBLING, GlowSky, arrays_of, glowing_skies, rows

AZIMUTHS = (225.0, 240.0, 255.0)
SKYLINES = {
    "sky_4x3_flat_horizon": ("4:3", ()),
    "sky_16x9_flat_horizon": ("16:9", ()),
    "sky_16x9_horizon_3deg": ("16:9", ((0.0, 3.0),)),
    "sky_16x9_horizon_10deg": ("16:9", ((0.0, 10.0),)),
}


def share(pitch_deg: float, camera: Camera, skyline: tuple[tuple[float, float], ...]) -> float:
    pose = poses_along(Path(stations=(Station(pitch_deg=pitch_deg, heading_deg=77.0),)), 0.0)
    return float(sky_cover(*rays(pose, camera), skyline).mean())


def traced(path: Path | None = None, skyline: tuple[tuple[float, float], ...] = ()) -> FrameSky:
    return framesky_of(path or Path(), Camera(), skyline, glowing_skies(), AZIMUTHS)


# Flat horizon: ½ (1 - tan(-pitch) / tan(half the field)); raised all round: 96 × 54 rays.
@pytest.mark.parametrize("column", SKYLINES)
def test_sky_share(column: str) -> None:
    aspect, skyline = SKYLINES[column]
    for row in rows("sky_share.csv"):
        camera = Camera(focal_equivalent_mm=float(row["eq_focal_mm"]), aspect=aspect)  # type: ignore[arg-type]
        found = share(float(row["pitch_deg"]), camera, skyline)
        assert found == pytest.approx(float(row[column]), abs=0.006), row


@pytest.mark.parametrize("column", SKYLINES)
def test_sky_share_of_a_pose_along_the_path(column: str) -> None:
    # The same table, as a shoot reads it: from one pose to the next, not at a pose of its own.
    aspect, skyline = SKYLINES[column]
    table = {(row["eq_focal_mm"], float(row["pitch_deg"])): row for row in rows("sky_share.csv")}
    tilting = Path(stations=(Station(pitch_deg=-50.0), Station(pitch_deg=10.0, east_m=60.0)))
    for focal in {focal for focal, _ in table}:
        camera = Camera(focal_equivalent_mm=float(focal), aspect=aspect)  # type: ignore[arg-type]
        seen = framesky_of(tilting, camera, skyline, glowing_skies(), AZIMUTHS[:1])
        for (of, pitch), row in table.items():
            if of == focal and -50.0 <= pitch <= 10.0:
                way = between(seen.way, np.array([(pitch + 50.0) / 60.0]))
                found = float(interpolate(seen.sky_share, way)[0])
                assert found == pytest.approx(float(row[column]), abs=0.006), row


# Worked cases of a pinhole: 24 mm equivalent, 1920 × 1080; to a tenth of a pixel.
@pytest.mark.parametrize(
    ("azimuth", "altitude", "heading", "pitch", "x", "y"),
    [
        (300.0, 0.0, 290.0, -10.0, 1198.4, 305.3),
        (300.0, -2.0, 300.0, -10.0, 960.0, 352.9),
        (310.0, 5.0, 290.0, 0.0, 1444.5, 416.1),
    ],
)
def test_a_ray_meets_the_frame_where_a_pinhole_says(
    azimuth: float, altitude: float, heading: float, pitch: float, x: float, y: float
) -> None:
    pose = poses_along(Path(stations=(Station(heading_deg=heading, pitch_deg=pitch),)), 0.0)
    # Every pixel of a tenth of its size on a line through the place, across and down.
    columns, tenth = 19200, np.array([y - 0.05, y + 0.05]) / 1080.0
    up, round_ = (grid[0, 0] for grid in rays(pose, Camera(), columns, tenth))
    there = int(np.hypot(up - altitude, (round_ - azimuth) * np.cos(np.radians(altitude))).argmin())
    assert (there + 0.5) / 10.0 == pytest.approx(x, abs=0.1)
    a_pixel_deg = np.degrees(1.0 / 1331.3)
    assert float(up[there]) == pytest.approx(altitude, abs=0.1 * a_pixel_deg)


@settings(max_examples=40)
@given(
    pitch=st.floats(-80.0, 50.0), raise_deg=st.floats(0.1, 8.0), up=st.floats(0.0, 20.0),
    focal=st.floats(14.0, 100.0),
)  # fmt: skip
def test_looking_up_shows_more_sky_and_a_skyline_hides_some(
    pitch: float, raise_deg: float, up: float, focal: float
) -> None:
    camera = Camera(focal_equivalent_mm=focal)
    ridge = ((0.0, up),)
    here = share(pitch, camera, ridge)
    assert 0.0 <= here <= 1.0
    assert share(pitch + raise_deg, camera, ridge) >= here - 1e-9
    assert share(pitch, camera, ((0.0, up + raise_deg),)) <= here + 1e-9


def test_straight_down_and_straight_up() -> None:
    assert share(-90.0, Camera(), ()) == 0.0
    assert share(60.0, Camera(), ()) == 1.0


@given(st.lists(st.floats(-50.0, 50.0), min_size=1, max_size=9, unique=True), st.floats(-60, 60))
def test_reading_between_nodes(nodes: list[float], value: float) -> None:
    axis = np.array(sorted(nodes))
    table = 3.0 * axis - 7.0
    read = interpolate(table, between(axis, np.array([value])))
    assert read == pytest.approx([3.0 * np.clip(value, axis[0], axis[-1]) - 7.0], abs=1e-6)


def test_reading_between_nodes_of_three_axes() -> None:
    x, y, z = np.arange(3.0), np.arange(4.0), np.arange(2.0)
    table = x[:, None, None] + 10.0 * y[:, None] + 100.0 * z
    at = [between(axis, np.array([v])) for axis, v in ((x, 1.25), (y, 2.5), (z, 0.75))]
    assert interpolate(table, *at) == pytest.approx([1.25 + 25.0 + 75.0])
    # Axes that are not asked for are carried along.
    assert interpolate(table, at[0]).shape == (1, 4, 2)


def test_brighter_shares_come_first() -> None:
    sky = traced()
    assert np.all(np.diff(sky.exceeded_log2, axis=-1) <= 1e-9)
    assert np.all(sky.exceeded_log2[..., 0] >= sky.mean_log2)
    assert np.all(sky.exceeded_log2[..., -1] <= sky.mean_log2)
    assert SKY_SHARES[0] == 0.0
    assert SKY_SHARES[-1] == 1.0


def test_the_sky_grows_with_the_sun_and_toward_it() -> None:
    sky = traced(Path(stations=(Station(heading_deg=240.0, pitch_deg=0.0),)))
    assert np.all(np.diff(sky.mean_log2, axis=1) > 0.0)
    # Sun in the middle of the frame or beside it.
    beside = traced(Path(stations=(Station(heading_deg=60.0, pitch_deg=0.0),)))
    middle = sky.sun_azimuth_deg == 240.0
    assert np.all(sky.mean_log2[:, :, middle] > beside.mean_log2[:, :, middle] + 0.5)


def test_the_mean_is_the_area_mean() -> None:
    pitch, heading, sun = -5.0, 250.0, 240.0
    sky = traced(Path(stations=(Station(heading_deg=heading, pitch_deg=pitch),)))
    # A pinhole of its own, with forty times as many rays.
    half_width, half_height = half_field_tangents(Camera())
    x, y = np.meshgrid(np.linspace(-1, 1, 301) * half_width, np.linspace(-1, 1, 201) * half_height)
    forward = np.cos(np.radians(pitch)) - y * np.sin(np.radians(pitch))
    height = np.sin(np.radians(pitch)) + y * np.cos(np.radians(pitch))
    altitude = np.degrees(np.arcsin(height / np.sqrt(x**2 + forward**2 + height**2)))
    azimuth = heading + np.degrees(np.arctan2(x, forward)) - sun
    up = altitude > 0.0
    mean = GlowSky().luminance(-4.0, altitude[up], azimuth[up]).mean()
    node = int(np.flatnonzero(SUN_ALTITUDES_DEG == -4.0)[0])
    toward = int(np.flatnonzero(sky.sun_azimuth_deg == sun)[0])
    assert sky.mean_log2[0, node, toward] == pytest.approx(np.log2(mean), abs=0.02)


def test_a_pose_without_sky_carries_the_nearest_with_some() -> None:
    sky = traced(Path(stations=(Station(pitch_deg=-50.0), Station(pitch_deg=-8.0, east_m=9.0))))
    first = int(np.flatnonzero(sky.sky_share > 0.0)[0])
    assert first > 0
    assert sky.way[first] > 0.5
    assert np.array_equal(sky.mean_log2[0], sky.mean_log2[first])
    assert sky.mean_log2.min() > DARK_LOG2


def test_a_path_that_never_sees_sky() -> None:
    sky = traced(Path(stations=(Station(pitch_deg=-70.0),)))
    assert not sky.sky_share.any()
    assert sky.exceeded_log2 == pytest.approx(DARK_LOG2)


def test_haze_makes_the_sky_unsure_by_its_own_sigma() -> None:
    sky = traced()
    expected = -HAZE_STOPS_PER_DOUBLING * HAZE_SIGMA_DOUBLINGS
    assert sky.haze_slope_stops == pytest.approx(np.full_like(sky.mean_log2, expected), abs=1e-6)


@pytest.mark.parametrize(("haze", "thinner", "thicker"), [(0.05, 0.05, 0.07), (0.5, 0.36, 0.5)])
def test_where_the_skies_end_the_slope_is_still_for_one_sigma(
    haze: float, thinner: float, thicker: float
) -> None:
    # Thinner or thicker than typed there is no sky: against the change of the mean over part of
    # one sigma, between two skies traced as typed.
    def skies(haze_aod: float) -> Skies:
        return skies_of(Conditions(haze_aod=haze_aod), 80.0, Memory())

    path = Path(stations=(Station(heading_deg=250.0, pitch_deg=-2.0),))
    thin, thick, sky = (
        framesky_of(path, Camera(), (), skies(each), AZIMUTHS) for each in (thinner, thicker, haze)
    )
    sigmas = np.log2(thicker / thinner) / HAZE_SIGMA_DOUBLINGS
    expected = (thick.mean_log2 - thin.mean_log2) / sigmas
    twilight = np.abs(SUN_ALTITUDES_DEG + 3.0) <= 5.0
    found = sky.haze_slope_stops
    assert found[:, twilight] == pytest.approx(expected[:, twilight], abs=0.03)
    # They tell a whole sigma from half of one.
    assert np.abs(expected[:, twilight]).max() > 0.15


def test_results_cannot_be_changed() -> None:
    assert not any(array.flags.writeable for array in arrays_of(traced()))


def test_only_the_direction_to_the_sun_counts() -> None:
    turned = Path(stations=(Station(heading_deg=20.0, pitch_deg=-8.0),))
    as_planned = Path(stations=(Station(heading_deg=240.0, pitch_deg=-8.0),))
    one = framesky_of(turned, Camera(), (), glowing_skies(), (5.0, 20.0, 35.0))
    other = framesky_of(as_planned, Camera(), (), glowing_skies(), AZIMUTHS)
    assert one.exceeded_log2 == pytest.approx(other.exceeded_log2, abs=1e-9)
