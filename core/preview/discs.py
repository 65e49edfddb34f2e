"""The discs of sun and moon where they stand in the frame, true to scale."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from core.exposure import FloatArray
from core.preview.heavens import unit_luminance
from core.preview.view import Pixels, Screen
from core.readonly import read_only
from core.sky.atmosphere import coefficients
from core.sky.spectrum import BAND_NM, rgb_of_spectrum

#: Mean apparent radius of either disc, degrees (31.5' across).
RADIUS_DEG = 0.2625
#: Luminance of the sun's disc above the air: 132.5 klx (ASTM G-173) over its solid angle.
SUN_CD_M2 = 132_500.0 / (np.pi * np.radians(RADIUS_DEG) ** 2)
#: A disc is laid over a pixel by so many points on each of its sides.
_POINTS = 6
_HEIGHTS_KM = np.linspace(0.0, 100.0, 201)


@dataclass(frozen=True)
class Disc:
    """A disc in the sky, seen through the air: apparent place and mean lit luminance.

    `bright_limb` points from its middle to the sun, in azimuth (times the cosine of the
    altitude) and altitude; `elongation_deg` 180 is full.
    """

    altitude_deg: float
    azimuth_deg: float
    rgb: FloatArray
    elongation_deg: float = 180.0
    bright_limb: tuple[float, float] = (1.0, 0.0)


def apparent_altitude_deg(altitude_deg: float) -> float:
    """Geometric altitude raised by mean refraction; from -2 degrees up.

    Saemundsson 1986, Sky and Telescope 72:70 (Meeus 1998, eq. 16.4).
    """
    height = max(altitude_deg, -2.0)
    minutes = 1.02 / np.tan(np.radians(height + 10.3 / (height + 5.11)))
    return altitude_deg + float(minutes) / 60.0


def air_mass(apparent_altitude_deg: float) -> float:
    """Air along a ray over that along a vertical one: Kasten & Young 1989, Appl. Opt. 28:4735."""
    height = max(apparent_altitude_deg, 0.0)
    sine = np.sin(np.radians(height))
    return float(1.0 / (sine + 0.50572 * (height + 6.07995) ** -1.6364))


def transmitted_rgb(haze_aod: float, apparent_altitude_deg: float) -> FloatArray:
    """What the air leaves of sunlight from a disc, linear Rec.709; 1 is unattenuated white."""
    left = np.exp(-_depth(haze_aod) * air_mass(apparent_altitude_deg))
    green = float(np.interp(555.0, BAND_NM, left))
    return np.asarray(rgb_of_spectrum(left) * green)


@lru_cache(maxsize=8)
def _depth(haze_aod: float) -> FloatArray:
    """Optical depth of the whole air along a vertical ray, one for each of `BAND_NM`."""
    columns = [coefficients(float(nm), haze_aod, _HEIGHTS_KM).extinction for nm in BAND_NM]
    return read_only(np.trapezoid(np.array(columns), _HEIGHTS_KM, axis=1))


def sun_disc(altitude_deg: float, azimuth_deg: float, haze_aod: float) -> Disc:
    """The sun at a geometric altitude."""
    apparent = apparent_altitude_deg(altitude_deg)
    return Disc(apparent, azimuth_deg, SUN_CD_M2 * transmitted_rgb(haze_aod, apparent))


def moon_disc(
    place: tuple[float, float],
    elongation_deg: float,
    level_lx: float,
    sun: tuple[float, float],
    haze_aod: float,
) -> Disc:
    """The moon, which gives level ground `level_lx`.

    `place` is its topocentric altitude and azimuth. Its lit part is as bright as it must be
    to give that light; `sun` is the sun's altitude and azimuth, toward which the bright limb
    points.
    """
    altitude_deg, azimuth_deg = place
    apparent = apparent_altitude_deg(altitude_deg)
    lit_share = (1.0 - np.cos(np.radians(elongation_deg))) / 2.0
    solid_angle = np.pi * np.radians(RADIUS_DEG) ** 2 * max(lit_share, 1e-3)
    across_lx = level_lx / max(np.sin(np.radians(apparent)), 0.05)
    colour = unit_luminance(transmitted_rgb(haze_aod, apparent))
    limb = _toward(place, sun)
    return Disc(apparent, azimuth_deg, across_lx / solid_angle * colour, elongation_deg, limb)


def _toward(place: tuple[float, float], target: tuple[float, float]) -> tuple[float, float]:
    """Direction on the sky from one (altitude, azimuth) to another, a unit (right, up)."""
    here, there = np.radians(place[0]), np.radians(target[0])
    turn = np.radians(target[1] - place[1])
    right = np.cos(there) * np.sin(turn)
    up = np.sin(there) * np.cos(here) - np.cos(there) * np.sin(here) * np.cos(turn)
    length = max(float(np.hypot(right, up)), 1e-9)
    return float(right) / length, float(up) / length


def disc_cover(
    disc: Disc, screen: Screen, heading_deg: float, pitch_deg: float
) -> tuple[slice, slice, Pixels] | None:
    """Share of the pixels that a disc's lit part covers, and the rows and columns they are.

    None where the disc is outside the frame.
    """
    middle = _project(disc, heading_deg, pitch_deg)
    if middle is None:
        return None
    # Off the axis a picture on a plane stretches: 2 allows for 45 degrees.
    reach = 2.0 * np.tan(np.radians(RADIUS_DEG)) * (1.0 + middle[0] ** 2 + middle[1] ** 2)
    rows = _within(-screen.up[:, 0], -middle[1], screen.pixel_up, float(reach))
    cols = _within(screen.across, middle[0], screen.pixel_across, float(reach))
    if rows.start == rows.stop or cols.start == cols.stop:
        return None
    inner = (np.arange(_POINTS) + 0.5) / _POINTS - 0.5
    up = (screen.up[rows, 0][:, None] + screen.pixel_up * inner).ravel()
    across = (screen.across[cols][:, None] + screen.pixel_across * inner).ravel()
    lit = _lit(disc, across, up, heading_deg, pitch_deg)
    shape = (rows.stop - rows.start, _POINTS, cols.stop - cols.start, _POINTS)
    return rows, cols, lit.reshape(shape).mean(axis=(1, 3)).astype(np.float32)


def _project(disc: Disc, heading_deg: float, pitch_deg: float) -> tuple[float, float] | None:
    altitude, pitch = np.radians(disc.altitude_deg), np.radians(pitch_deg)
    turn = np.radians(disc.azimuth_deg - heading_deg)
    right, forward = np.cos(altitude) * np.sin(turn), np.cos(altitude) * np.cos(turn)
    depth = forward * np.cos(pitch) + np.sin(altitude) * np.sin(pitch)
    if depth < 0.05:
        return None
    up = np.sin(altitude) * np.cos(pitch) - forward * np.sin(pitch)
    return float(right / depth), float(up / depth)


def _within(middles: Pixels, at: float, pixel: float, reach: float) -> slice:
    """The ascending pixels that come within `reach` of a place."""
    first = int(np.searchsorted(middles, at - reach - pixel))
    return slice(first, int(np.searchsorted(middles, at + reach + pixel)))


def _lit(
    disc: Disc, across: FloatArray, up: FloatArray, heading_deg: float, pitch_deg: float
) -> FloatArray:
    """1 where a point of the screen lies on the lit part of the disc, (up, across)."""
    pitch = np.radians(pitch_deg)
    forward = np.cos(pitch) - up[:, None] * np.sin(pitch)
    height = np.sin(pitch) + up[:, None] * np.cos(pitch)
    altitude = np.degrees(np.arctan2(height, np.hypot(across, forward)))
    azimuth = np.degrees(np.arctan2(across, forward)) + heading_deg
    turn = np.mod(azimuth - disc.azimuth_deg + 180.0, 360.0) - 180.0
    x = turn * np.cos(np.radians(disc.altitude_deg)) / RADIUS_DEG
    y = (altitude - disc.altitude_deg) / RADIUS_DEG
    toward = x * disc.bright_limb[0] + y * disc.bright_limb[1]
    aside = x * disc.bright_limb[1] - y * disc.bright_limb[0]
    # The terminator is half an ellipse through the poles of the bright limb.
    edge = np.cos(np.radians(disc.elongation_deg)) * np.sqrt(np.maximum(1.0 - aside**2, 0.0))
    return np.asarray((x**2 + y**2 <= 1.0) & (toward >= edge), dtype=float)
