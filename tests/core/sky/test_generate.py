"""The generator, run small: it makes the shipped table but for its coarseness."""

from __future__ import annotations

from dataclasses import asdict, replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from core.sky import generate
from core.sky.beam import BeamPaths, trace_beams
from core.sky.generate import Axes, HazeColumn, assemble, compute_haze, write_table
from core.sky.interpolate import FloatArray
from core.sky.orders import solve
from core.sky.table import STEPS_PER_STOP, SkyTable, load_sky_table
from tests.skies import rms, shipped
from tests.smallsolver import COARSE

HAZE = 0.15
WAVELENGTH_NM = 550.0


@pytest.fixture(scope="module")
def paths() -> BeamPaths:
    return trace_beams()


# The same haze at both ends and every third sun of the table: enough to assemble and calibrate.
SUN_STRIDE = 3
SMALL = Axes(
    haze_aod=(0.05, 0.50),
    height_m=(0.0, 500.0),
    sun_step_deg=0.5 * SUN_STRIDE,
    high_sun_deg=(8.0, 20.0, 90.0),
)


def at_haze(values: FloatArray | NDArray[np.int16]) -> FloatArray:
    return np.asarray(values[list(shipped().haze_aod).index(HAZE)], dtype=np.float64)


def at_levels(values: FloatArray) -> FloatArray:
    """Shipped values at the sun altitudes of the small table."""
    return at_haze(values)[np.isin(shipped().level_sun_deg, SMALL.level_sun_deg)]


def test_the_axes_are_those_of_the_shipped_table() -> None:
    for name in ("haze_aod", "height_m", "view_altitude_deg", "azimuth_deg", "sun_altitude_deg",
                 "level_sun_deg", "colour_sun_deg"):  # fmt: skip
        np.testing.assert_array_equal(getattr(Axes(), name), getattr(shipped(), name))


def test_a_small_solver_makes_the_shipped_table_again(paths: BeamPaths) -> None:
    # One test, because solving is most of its time. What the small solver is short of is most
    # of it below -8, where light has come far.
    column = compute_haze(paths, HAZE, SMALL, COARSE)
    there = at_haze(shipped().log2_luminance)[[0, -1], ::SUN_STRIDE] / STEPS_PER_STOP
    luminance = column.log2_luminance - there
    assert rms(luminance) < 0.04
    assert np.abs(luminance).max() < 0.2
    colour = column.colour_log2 - at_haze(shipped().colour_log2) / STEPS_PER_STOP
    assert rms(colour) < 0.03
    assert np.abs(colour).max() < 0.2
    small = assemble([column, column], SMALL)
    diffuse = np.log2(small.diffuse_lx[0] / at_levels(shipped().diffuse_lx))
    assert np.abs(diffuse).max() < 0.09
    np.testing.assert_allclose(
        small.direct_lx[0], at_levels(shipped().direct_lx), rtol=1e-9, atol=1e-9
    )


def test_calibration_again() -> None:
    # From the shipped luminances alone: levels and calibration follow exactly.
    table, axes = shipped(), Axes()
    bare = replace(table, calibration_log2=np.zeros_like(table.calibration_log2))
    again = generate._calibrated(bare, axes)
    np.testing.assert_allclose(again.calibration_log2, table.calibration_log2, atol=1e-9)
    for haze, served in zip(table.haze_aod, table.diffuse_lx, strict=True):
        integral = generate._served_integral(bare, float(haze), axes.level_sun_deg, axes)
        np.testing.assert_allclose(integral, served, rtol=1e-9)


def test_what_is_written_is_read_and_is_the_same_each_time(tmp_path: Path) -> None:
    first, second = tmp_path / "first.npz", tmp_path / "below" / "second.npz"
    write_table(shipped(), first)
    write_table(shipped(), second)
    assert first.read_bytes() == second.read_bytes()
    read = load_sky_table(first)
    for name, values in asdict(shipped()).items():
        np.testing.assert_array_equal(getattr(read, name), values)


def test_the_command_writes_where_it_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(generate, "build_table", shipped)
    generate.main(["-o", str(tmp_path / "sky.npz")])
    written = load_sky_table(tmp_path / "sky.npz")
    np.testing.assert_array_equal(written.log2_luminance, shipped().log2_luminance)
    assert "sky.npz" in capsys.readouterr().out


def test_interpolation_agrees_with_the_solver_between_the_nodes(paths: BeamPaths) -> None:
    # One wavelength, its table on the shipped nodes and random directions solved anew.
    sky = solve(paths, WAVELENGTH_NM, HAZE, COARSE)
    axes = Axes()
    nodes = np.log2(
        sky.radiance(
            np.array(axes.height_m)[:, None, None, None] / 1e3,
            axes.sun_altitude_deg[:, None, None],
            np.array(axes.view_altitude_deg)[:, None],
            np.array(axes.azimuth_deg),
        )
    )
    rng = np.random.default_rng(5)
    count = 3000
    sun, azimuth = rng.uniform(-12.0, 6.0, count), rng.uniform(0.0, 180.0, count)
    # Evenly over the sphere, and once more over the lowest third, which a level camera sees.
    view = np.degrees(np.arcsin(rng.uniform(0.0, 1.0, count))) * rng.choice([1.0, 0.3], count)
    direct = np.log2(sky.radiance(0.0, sun, view, azimuth))
    table = _as_table(nodes, axes).at(HAZE, 0.0)
    error = table.log2_twilight(sun, view, azimuth) - direct
    cosine = np.sin(np.radians(sun)) * np.sin(np.radians(view))
    cosine += np.cos(np.radians(sun)) * np.cos(np.radians(view)) * np.cos(np.radians(azimuth))
    # The glare about a risen Sun is coarse, as the table's users are told.
    beside = cosine < np.cos(np.radians(5.0))
    assert rms(error[beside]) < 0.02
    assert np.abs(error[beside]).max() < 0.12


def _as_table(log2_nodes: FloatArray, axes: Axes) -> SkyTable:
    """A table without calibration whose every haze is the same."""
    suns = axes.level_sun_deg.size
    high_suns = int((axes.level_sun_deg > axes.sun_altitude_deg[-1]).sum())
    colours = (axes.colour_sun_deg.size, *log2_nodes.shape[2:], 2)
    column = HazeColumn(log2_nodes, np.ones(high_suns), np.zeros(suns), np.zeros(colours))
    table = assemble([column] * len(axes.haze_aod), axes)
    return replace(table, calibration_log2=np.zeros(suns))
