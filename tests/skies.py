"""The shipped sky for tests: loaded once, integrated, and beside what was measured."""

from __future__ import annotations

import csv
from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np

from core.sky.interpolate import FloatArray
from core.sky.table import HazeSky, SkyTable, load_sky_table

ROOT = Path(__file__).resolve().parent.parent
TABLE_PATH = ROOT / "assets" / "sky_table.npz"
DATA = Path(__file__).parent / "reference" / "data"

Luminance = Callable[[float, FloatArray, FloatArray], FloatArray]


@cache
def shipped() -> SkyTable:
    """The table that comes with the program."""
    return load_sky_table(TABLE_PATH)


def default_sky() -> HazeSky:
    return shipped().at(0.12, 0.0)


def published(name: str) -> list[dict[str, str]]:
    """Rows of a table of reference data whose first lines, marked #, name the source."""
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def hemisphere_lx(
    sky: Luminance, sun_altitude_deg: float, facing_deg: float | None = None
) -> float:
    """Illuminance by a sky: of level ground, or of a wall facing an azimuth from the Sun."""
    view = np.linspace(0.125, 89.875, 360)
    azimuth = np.linspace(-179.5, 179.5, 360)
    solid = np.cos(np.radians(view)) * np.radians(0.25) * np.radians(1.0)
    if facing_deg is None:
        falling = np.sin(np.radians(view))[:, None] * np.ones_like(azimuth)
    else:
        turned = np.cos(np.radians(azimuth - facing_deg))
        falling = np.cos(np.radians(view))[:, None] * np.maximum(turned, 0.0)
    seen = sky(sun_altitude_deg, view[:, None], azimuth)
    return float((seen * falling * solid[:, None]).sum())


def ground_lx(sky: HazeSky, sun_altitude_deg: float) -> float:
    """Level ground under the sky as it is served, and the Sun."""
    direct = float(np.interp(sun_altitude_deg, sky.level.sun_deg, sky.level.direct_lx))
    return hemisphere_lx(sky.luminance, sun_altitude_deg) + direct


def rms(values: FloatArray) -> float:
    return float(np.sqrt(np.mean(np.square(values))))
