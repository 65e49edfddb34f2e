"""Make the sky table: `python -m core.sky.generate [-o assets/sky_table.npz]`.

Runs the solver for every haze and wavelength, which takes some minutes on two cores, and writes
what `core.sky.table` reads. The result is the same every time.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from core.sky.atmosphere import FloatArray
from core.sky.beam import EDGE_DEG, BeamPaths, beam, trace_beams
from core.sky.cie import CLEAR_SKY, standard_sky
from core.sky.daylight import horizontal_illuminance_lx
from core.sky.level import BLEND_FROM_DEG, NIGHT_FLOOR_CD_M2
from core.sky.orders import Grid, Sky, solve
from core.sky.spectrum import linear_rgb, luminance, photopic_quadrature, solver_wavelengths_nm
from core.sky.table import DEFAULT_HAZE_AOD, STEPS_PER_STOP, SkyTable

DEFAULT_PATH = Path(__file__).parents[2] / "assets" / "sky_table.npz"


@dataclass(frozen=True)
class Axes:
    """Nodes of the table."""

    haze_aod: tuple[float, ...] = (0.05, 0.15, 0.30, 0.50)
    height_m: tuple[float, ...] = (0.0, 150.0, 500.0)
    sun_step_deg: float = 0.5
    high_sun_deg: tuple[float, ...] = (
        6.5, 7.0, 8.0, 9.0, 10.0, 11.0, 12.0, 14.0, 16.0, 18.0, 20.0, 22.0, 25.0, 28.0, 32.0,
        36.0, 40.0, 45.0, 50.0, 56.0, 63.0, 71.0, 80.0, 90.0,
    )  # fmt: skip
    view_altitude_deg: tuple[float, ...] = (
        0.0, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.5, 8.0, 10.0, 12.5, 16.0, 20.0, 26.0, 33.0,
        42.0, 52.0, 64.0, 77.0, 90.0,
    )  # fmt: skip
    azimuth_deg: tuple[float, ...] = (
        0.0, 3.0, 6.0, 9.0, 12.0, 16.0, 20.0, 26.0, 33.0, 42.0, 52.0, 64.0, 78.0, 92.0, 107.0,
        125.0, 150.0, 180.0,
    )  # fmt: skip

    @property
    def sun_altitude_deg(self) -> FloatArray:
        """From -12 to +6."""
        return np.arange(-12.0, 6.0 + self.sun_step_deg / 2, self.sun_step_deg)

    @property
    def level_sun_deg(self) -> FloatArray:
        """Every quarter degree from -12 to +6, then on to the zenith."""
        return np.concatenate([np.arange(-12.0, 6.1, 0.25), self.high_sun_deg])

    @property
    def colour_sun_deg(self) -> FloatArray:
        """Whole degrees from -12 to +6, then on to the zenith."""
        return np.concatenate([np.arange(-12.0, 6.5, 1.0), [9.0, 13.0, 20.0, 35.0, 60.0, 90.0]])


@dataclass(frozen=True)
class HazeColumn:
    """Everything computed for one haze; axes as in `SkyTable`, less the first."""

    log2_luminance: FloatArray
    high_diffuse_lx: FloatArray
    direct_lx: FloatArray
    colour_log2: FloatArray


# ---------------------------------------------------------------------- one haze


def _spectral(skies: list[Sky], *where: FloatArray) -> FloatArray:
    """Radiance per unit sunlight at every solver wavelength, on a new last axis."""
    return np.stack([sky.radiance(*where) for sky in skies], axis=-1)


def compute_haze(paths: BeamPaths, aod_550: float, axes: Axes, grid: Grid) -> HazeColumn:
    """Solve one haze at every wavelength and look at it along every direction of the table."""
    skies = [solve(paths, float(w), aod_550, grid) for w in solver_wavelengths_nm()]
    view, azimuth = np.array(axes.view_altitude_deg), np.array(axes.azimuth_deg)
    height_km = np.array(axes.height_m)[:, None, None, None] / 1e3
    sun = axes.sun_altitude_deg[:, None, None]
    table = luminance(_spectral(skies, height_km, sun, view[:, None], azimuth))
    ground = np.zeros(())
    seen = _spectral(skies, ground, axes.colour_sun_deg[:, None, None], view[:, None], azimuth)
    high = _hemisphere_integral(
        lambda s, v, a: luminance(_spectral(skies, ground, s, v, a)),
        np.array(axes.high_sun_deg),
        axes,
    )
    return HazeColumn(
        log2_luminance=np.log2(table),
        high_diffuse_lx=high,
        direct_lx=_direct_lx(paths, aod_550, axes.level_sun_deg),
        colour_log2=np.log2(linear_rgb(seen)[..., [0, 2]]),
    )


def _direct_lx(paths: BeamPaths, aod_550: float, sun_altitude_deg: FloatArray) -> FloatArray:
    """Illuminance of level ground by the Sun alone."""
    total = np.zeros_like(sun_altitude_deg)
    for wavelength, weight in zip(*photopic_quadrature(), strict=True):
        _, level = beam(paths, float(wavelength), aod_550)
        total += weight * np.interp(-sun_altitude_deg, EDGE_DEG, level[0])
    return total


def _hemisphere_integral(
    luminance_of: Callable[[FloatArray, FloatArray, FloatArray], FloatArray],
    sun_altitude_deg: FloatArray,
    axes: Axes,
) -> FloatArray:
    """Horizontal illuminance of a sky, by Gauss points in every cell of the table."""
    view, view_weight = _gauss_cells(axes.view_altitude_deg)
    azimuth, azimuth_weight = _gauss_cells(axes.azimuth_deg)
    level = view_weight * np.sin(np.radians(view)) * np.cos(np.radians(view))
    sky = luminance_of(sun_altitude_deg[:, None, None], view[:, None], azimuth)
    return np.asarray(2.0 * (sky @ azimuth_weight) @ level)


def _gauss_cells(nodes_deg: tuple[float, ...]) -> tuple[FloatArray, FloatArray]:
    """Two Gauss points [deg] and weights [rad] in every interval between nodes."""
    x, w = np.polynomial.legendre.leggauss(2)
    nodes = np.array(nodes_deg)
    half = np.diff(nodes)[:, None] / 2.0
    points = nodes[:-1, None] + half * (1.0 + x)
    return points.ravel(), np.radians(half * w).ravel()


# ------------------------------------------------------------------- whole table


def build_table(axes: Axes | None = None, grid: Grid | None = None) -> SkyTable:
    """Solve every haze and calibrate the result; this is the long part."""
    axes, grid = axes or Axes(), grid or Grid()
    paths = trace_beams()
    return assemble([compute_haze(paths, aod, axes, grid) for aod in axes.haze_aod], axes)


def assemble(columns: list[HazeColumn], axes: Axes) -> SkyTable:
    """Put the hazes together, add the levels of the clear sky and calibrate."""
    level_sun = axes.level_sun_deg
    nothing = np.zeros((len(columns), level_sun.size))
    table = SkyTable(
        haze_aod=np.array(axes.haze_aod),
        height_m=np.array(axes.height_m),
        sun_altitude_deg=axes.sun_altitude_deg,
        view_altitude_deg=np.array(axes.view_altitude_deg),
        azimuth_deg=np.array(axes.azimuth_deg),
        log2_luminance=_quantised(np.stack([c.log2_luminance for c in columns])),
        level_sun_deg=level_sun,
        calibration_log2=np.zeros(level_sun.size),
        diffuse_lx=nothing + 1.0,
        direct_lx=np.stack([c.direct_lx for c in columns]),
        clear_zenith_cd_m2=nothing,
        colour_sun_deg=axes.colour_sun_deg,
        colour_log2=_quantised(np.stack([c.colour_log2 for c in columns])),
    )
    return _calibrated(_with_levels(table, columns, axes), axes)


def _quantised(stops: FloatArray) -> NDArray[np.int16]:
    return np.round(stops * STEPS_PER_STOP).astype(np.int16)


def _with_levels(table: SkyTable, columns: list[HazeColumn], axes: Axes) -> SkyTable:
    """Give the clear sky the illuminance of the computed one, then integrate what is served."""
    level_sun = axes.level_sun_deg
    in_table = level_sun <= axes.sun_altitude_deg[-1]
    # Luminance at +4 and below is the table alone: borrow it for the blend's own suns.
    clear_unit = _hemisphere_integral(
        lambda s, v, a: standard_sky(CLEAR_SKY, s, v, a), np.maximum(level_sun, 0.0), axes
    )
    computed = np.stack(
        [
            np.concatenate(
                [_table_integral(table, aod, level_sun[in_table], axes), c.high_diffuse_lx]
            )
            for aod, c in zip(axes.haze_aod, columns, strict=True)
        ]
    )
    clear = np.where(level_sun >= BLEND_FROM_DEG, computed / clear_unit, 0.0)
    table = replace(table, clear_zenith_cd_m2=clear)
    served = np.stack([_served_integral(table, aod, level_sun, axes) for aod in axes.haze_aod])
    return replace(table, diffuse_lx=served)


def _table_integral(
    table: SkyTable, aod_550: float, sun_altitude_deg: FloatArray, axes: Axes
) -> FloatArray:
    """Illuminance from the interpolated table alone, the CIE sky left out."""
    sky = table.at(aod_550, 0.0)
    return _hemisphere_integral(
        lambda s, v, a: np.exp2(sky.log2_twilight(s, v, a)), sun_altitude_deg, axes
    )


def _served_integral(
    table: SkyTable, aod_550: float, sun_altitude_deg: FloatArray, axes: Axes
) -> FloatArray:
    """Illuminance from the sky as `HazeSky.luminance` gives it, the night sky left out."""
    sky = table.at(aod_550, 0.0)
    return _hemisphere_integral(
        lambda s, v, a: sky.luminance(s, v, a) - NIGHT_FLOOR_CD_M2, sun_altitude_deg, axes
    )


def _calibrated(table: SkyTable, axes: Axes) -> SkyTable:
    """Bring sky and Sun at the default haze to the published illuminance, sun by sun."""
    sun = axes.level_sun_deg
    sky = _served_integral(table, DEFAULT_HAZE_AOD, sun, axes)
    direct = table.at(DEFAULT_HAZE_AOD, 0.0).level.direct_lx
    target = horizontal_illuminance_lx(sun) - np.pi * NIGHT_FLOOR_CD_M2
    return replace(table, calibration_log2=np.log2(target / (sky + direct)))


def write_table(table: SkyTable, path: Path) -> None:
    """Write the table as a compressed archive."""
    path.parent.mkdir(parents=True, exist_ok=True)
    np.savez_compressed(path, **asdict(table))


def main(arguments: list[str] | None = None) -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("-o", "--output", type=Path, default=DEFAULT_PATH)
    path = parser.parse_args(arguments).output
    write_table(build_table(), path)
    print(f"{path}: {path.stat().st_size} bytes")


if __name__ == "__main__":
    main()
