"""The sky at run time: interpolation, beyond the table, errors."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.sky.daylight import horizontal_illuminance_lx
from core.sky.interpolate import FloatArray
from core.sky.level import NIGHT_FLOOR_CD_M2
from core.sky.table import (
    DEFAULT_HAZE_AOD,
    STEPS_PER_STOP,
    HazeSky,
    SkyTable,
    load_sky_table,
)
from tests.skies import ROOT, TABLE_PATH, default_sky, ground_lx, hemisphere_lx, rms, shipped

DIRECTIONS = [(1.0, 0.0), (5.0, 0.0), (20.0, 30.0), (90.0, 0.0), (10.0, 180.0), (40.0, 90.0)]


@pytest.fixture(scope="module")
def sky() -> HazeSky:
    return default_sky()


# ---- shapes and inputs ----


def test_inputs_broadcast(sky: HazeSky) -> None:
    sun, view, azimuth = (
        np.array([[[-6.0]], [[5.0]]]),
        np.array([[3.0], [10.0], [50.0]]),
        np.arange(4),
    )
    seen = sky.luminance(sun, view, azimuth)
    assert seen.shape == (2, 3, 4)
    assert sky.colour(sun, view, azimuth).shape == (2, 3, 4, 3)
    assert sky.luminance(-6.0, 10.0, 20.0).shape == ()
    assert sky.illuminance_ratio(-6.0).shape == ()
    for index in np.ndindex(seen.shape):
        one = sky.luminance(sun[index[0], 0, 0], view[index[1], 0], azimuth[index[2]])
        assert float(one) == pytest.approx(float(seen[index]), rel=1e-12)


SUN = st.floats(-90.0, 90.0)
VIEW = st.floats(-90.0, 90.0)
TURN = st.floats(-720.0, 720.0)


@given(SUN, VIEW, TURN)
def test_it_is_positive_and_the_same_on_both_sides(sun: float, view: float, turn: float) -> None:
    sky = default_sky()
    seen = float(sky.luminance(sun, view, turn))
    assert np.isfinite(seen)
    assert seen >= NIGHT_FLOOR_CD_M2
    assert float(sky.luminance(sun, view, -turn)) == pytest.approx(seen, rel=1e-9)
    colour = sky.colour(sun, view, turn)
    assert (colour > 0.0).all()
    assert float(colour @ [0.2126, 0.7152, 0.0722]) == pytest.approx(1.0)


def test_below_the_horizon_the_horizon_is_held(sky: HazeSky) -> None:
    np.testing.assert_array_equal(
        sky.luminance([-6.0, 8.0], [-20.0, -20.0], 30.0), sky.luminance([-6.0, 8.0], 0.0, 30.0)
    )


@pytest.mark.parametrize("haze", [0.0, -0.1, np.nan, np.inf])
def test_a_haze_that_is_none_is_refused(haze: float) -> None:
    with pytest.raises(ValueError, match="haze_aod"):
        shipped().at(haze, 0.0)


def test_a_height_that_is_none_is_refused() -> None:
    with pytest.raises(ValueError, match="height_m"):
        shipped().at(0.12, np.nan)


@pytest.mark.parametrize("bad", [(np.nan, 0.0, 0.0), (91.0, 0.0, 0.0), (0.0, np.inf, 0.0)])
def test_angles_that_are_none_are_refused(sky: HazeSky, bad: tuple[float, float, float]) -> None:
    with pytest.raises(ValueError, match="_deg"):
        sky.luminance(*bad)
    with pytest.raises(ValueError, match="_deg"):
        sky.colour(*bad)


def test_suns_must_form_one_axis(sky: HazeSky) -> None:
    for suns in ([], -6.0, [[-6.0]]):
        with pytest.raises(ValueError, match="one axis"):
            sky.at_suns(suns)


def test_beyond_the_hazes_and_heights_the_nearest_is_used() -> None:
    view = np.array([1.0, 10.0, 60.0])
    for outside, nearest in (((0.01, 0.0), (0.05, 0.0)), ((2.0, 900.0), (0.5, 500.0))):
        np.testing.assert_allclose(
            shipped().at(*outside).luminance(-5.0, view, 30.0),
            shipped().at(*nearest).luminance(-5.0, view, 30.0),
        )


def test_a_file_that_is_no_table_is_refused(tmp_path: Path) -> None:
    other = tmp_path / "other.npz"
    np.savez(other, haze_aod=np.zeros(3))
    with pytest.raises(ValueError, match="not a sky table"):
        load_sky_table(other)
    with pytest.raises(OSError, match="missing"):
        load_sky_table(tmp_path / "missing.npz")


def test_it_needs_no_compiler_at_run_time() -> None:
    code = "import sys, core.sky.table; sys.exit('numba' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=False).returncode == 0


def test_the_file_is_small() -> None:
    assert TABLE_PATH.stat().st_size < 1_000_000


# ---- level ----

ALTITUDES = np.arange(-12.0, 6.01, 0.25)


@pytest.mark.parametrize("sun", [*ALTITUDES, -11.9, -8.13, -5.1, -4.9, -0.9, 0.6, 3.3, 4.9, 5.1])
def test_sky_and_sun_add_up_to_the_published_illuminance(sky: HazeSky, sun: float) -> None:
    expected = float(horizontal_illuminance_lx(sun))
    assert abs(np.log2(ground_lx(sky, sun) / expected)) < 0.02


@pytest.mark.parametrize("haze", [0.05, 0.08, 0.2, 0.3, 0.5])
@pytest.mark.parametrize("sun", [-15.0, -12.0, -8.0, -4.3, 0.0, 3.0, 5.0, 6.0])
def test_at_other_hazes_the_ground_agrees_with_the_ratio(haze: float, sun: float) -> None:
    sky = shipped().at(haze, 0.0)
    expected = float(horizontal_illuminance_lx(sun) * sky.illuminance_ratio(sun))
    assert abs(np.log2(ground_lx(sky, sun) / expected)) < 0.03


@pytest.mark.parametrize("sun", [7.0, 10.0, 20.0, 45.0, 80.0, -14.0, -17.0])
def test_beyond_the_table_too(sky: HazeSky, sun: float) -> None:
    assert abs(np.log2(ground_lx(sky, sun) / horizontal_illuminance_lx(sun))) < 0.05


def test_the_ratio_is_one_at_the_default_haze_at_any_height() -> None:
    sun = np.linspace(-90.0, 90.0, 361)
    for height in (0.0, 120.0):
        np.testing.assert_array_equal(
            shipped().at(DEFAULT_HAZE_AOD, height).illuminance_ratio(sun), 1.0
        )


HAZES = [0.05, 0.08, 0.12, 0.2, 0.3, 0.5]


def test_haze_dims_the_ground_by_day_and_not_at_night() -> None:
    ratios = np.array(
        [shipped().at(h, 0.0).illuminance_ratio([3.0, 0.0, -4.0, -30.0]) for h in HAZES]
    )
    assert (np.diff(ratios[:, :3], axis=0) < 0.0).all()
    np.testing.assert_allclose(ratios[:, 3], 1.0, atol=2e-3)


def test_at_night_the_natural_sky_is_left(sky: HazeSky) -> None:
    seen = sky.luminance(np.array([-19.0, -40.0, -90.0])[:, None], [2.0, 40.0, 90.0], 0.0)
    assert (seen < 1.1 * NIGHT_FLOOR_CD_M2).all()
    np.testing.assert_allclose(sky.colour(-40.0, 30.0, 10.0), 1.0, atol=0.02)


# ---- smoothness ----


@pytest.mark.parametrize("direction", DIRECTIONS)
@pytest.mark.parametrize("haze", [0.05, 0.12, 0.5])
def test_no_step_anywhere(direction: tuple[float, float], haze: float) -> None:
    sun = np.linspace(-30.0, 60.0, 9001)
    stops = np.log2(shipped().at(haze, 0.0).luminance(sun, *direction))
    # Under 5 stops per degree: the clearest horizon, when the last glow sinks into the night near
    # -18. The published curve itself steps by up to 0.014 stop at its joints.
    assert np.abs(np.diff(stops)).max() < 0.05


@pytest.mark.parametrize("direction", DIRECTIONS)
def test_the_blend_is_gentle(sky: HazeSky, direction: tuple[float, float]) -> None:
    sun = np.arange(3.0, 8.01, 0.25)
    slope = np.diff(np.log2(sky.luminance(sun, *direction))) / 0.25
    assert slope.min() > -0.35
    assert slope.max() < 0.9
    assert np.abs(np.diff(slope)).max() < 0.35


# ---- many rays at once ----


def test_settled_suns_agree_with_the_sky(sky: HazeSky) -> None:
    rng = np.random.default_rng(3)
    view, azimuth = rng.uniform(-5.0, 90.0, (5, 200)), rng.uniform(-180.0, 180.0, (5, 200))
    suns = np.array([-20.0, -11.3, -6.0, -2.2, 0.4, 3.9])
    settled = sky.at_suns(suns).luminance(view, azimuth)
    assert settled.shape == (5, 200, 6)
    assert settled.dtype == np.float32
    direct = sky.luminance(suns, view[..., None], azimuth[..., None])
    assert np.abs(np.log2(settled / direct)).max() < 0.03
    assert rms(np.log2(settled / direct)) < 0.002


def test_settled_suns_above_the_table_are_close(sky: HazeSky) -> None:
    rng = np.random.default_rng(4)
    view, azimuth = rng.uniform(0.0, 60.0, 500), rng.uniform(-180.0, 180.0, 500)
    suns = np.array([5.0, 8.0, 15.0])
    settled = sky.at_suns(suns).luminance(view, azimuth)
    difference = np.log2(settled / sky.luminance(suns, view[:, None], azimuth[:, None]))
    assert rms(difference) < 0.03


# ---- physics that must show ----


def test_haze_hides_the_horizon_and_whitens_the_zenith() -> None:
    low, high = (
        np.array([float(shipped().at(h, 0.0).luminance(-4.0, v, 0.0)) for h in HAZES])
        for v in (2.0, 90.0)
    )
    assert (np.diff(low) < 0.0).all()
    assert (np.diff(np.log2(high / low)) > 0.0).all()


def test_flying_higher_looks_over_the_haze() -> None:
    seen = [float(shipped().at(0.3, h).luminance(-4.0, 2.0, 0.0)) for h in (0.0, 120.0, 500.0)]
    assert seen[0] < seen[1] < seen[2]


def test_the_glow_is_red_and_the_zenith_blue(sky: HazeSky) -> None:
    red, _, blue = np.moveaxis(sky.colour([0.0, -4.0, -8.0], 3.0, 0.0), -1, 0)
    assert (red > 1.2).all()
    assert (blue < 0.8).all()
    red, _, blue = np.moveaxis(sky.colour([0.0, -4.0, -8.0], 90.0, 0.0), -1, 0)
    assert (red < 0.9).all()
    assert (blue > 1.4).all()


def test_at_its_nodes_it_is_the_table() -> None:
    table = shipped()
    view, azimuth = np.meshgrid(table.view_altitude_deg, table.azimuth_deg, indexing="ij")
    for haze, height in ((0, 0), (1, 2), (3, 1)):
        sky = table.at(float(table.haze_aod[haze]), float(table.height_m[height]))
        for sun in (0, 10, 36):
            altitude = table.sun_altitude_deg[sun]
            seen = sky.log2_twilight(np.asarray(altitude), view, azimuth)
            calibration = np.interp(altitude, table.level_sun_deg, table.calibration_log2)
            stored = table.log2_luminance[haze, height, sun] / STEPS_PER_STOP
            np.testing.assert_allclose(seen, stored + calibration, atol=1e-9)


@settings(max_examples=30)
@given(st.floats(0.05, 0.5), st.floats(0.0, 500.0))
def test_between_nodes_it_hardly_leaves_their_range(haze: float, height: float) -> None:
    table = shipped()
    view, azimuth = np.array([0.5, 7.0, 33.0, 80.0]), np.array([2.0, 60.0, 130.0, 179.0])
    seen = table.at(haze, height).log2_twilight(np.asarray(-5.0), view, azimuth)
    corners = np.array([
        table.at(float(a), float(h)).log2_twilight(np.asarray(-5.0), view, azimuth)
        for a in table.haze_aod for h in table.height_m
    ])  # fmt: skip
    # The polynomial in haze may swing a little past flat stretches.
    assert (seen >= corners.min(axis=0) - 0.05).all()
    assert (seen <= corners.max(axis=0) + 0.05).all()


def test_the_table_is_frozen() -> None:
    with pytest.raises(AttributeError):
        shipped().haze_aod = np.zeros(1)  # type: ignore[misc]


def test_a_brighter_calibration_brightens_sky_and_ground_alike() -> None:
    table = shipped()
    brighter = replace(table, calibration_log2=table.calibration_log2 + 1.0)
    assert _twice(table, brighter) == pytest.approx(2.0, rel=1e-6)
    before, after = table.at(0.3, 0.0), brighter.at(0.3, 0.0)
    np.testing.assert_allclose(after.level.direct_lx, 2.0 * before.level.direct_lx)
    np.testing.assert_allclose(after.level.diffuse_lx, 2.0 * before.level.diffuse_lx)


def _twice(table: SkyTable, brighter: SkyTable) -> float:
    def without_night(sky: HazeSky) -> float:
        def twilight(sun: float, view: FloatArray, azimuth: FloatArray) -> FloatArray:
            return sky.luminance(sun, view, azimuth) - NIGHT_FLOOR_CD_M2

        return hemisphere_lx(twilight, -5.0)

    return without_night(brighter.at(0.2, 80.0)) / without_night(table.at(0.2, 80.0))
