"""What the lens sees: a pinhole without roll over flat ground, and where it puts a point."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from core.exposure import FloatArray
from core.path import half_field_tangents
from core.place import skyline_altitude_deg
from core.plan import Camera, Place
from tests.practice.light import SceneLight
from tests.practice.tiles import GROUND_STEP_M, Pixels, Tile
from tests.practice.truth import Tonight

Size = tuple[int, int]

#: Colours of one luminance each: daylight on land, lamplight, the sky high up and low down.
_REC709 = np.array([0.2126, 0.7152, 0.0722])
#: Altitudes over which the sky's brightening and its colour fall off.
_GLOW_DEG, _WARM_DEG = 14.0, 9.0
#: Nearer to level than this a ray counts as one that meets the ground very far away.
_LEVEL = 1e-4
#: Pixels that are drawn at a time: what stays in the processor's cache.
_BAND = 1 << 15
#: Points of the clouds' pattern along their ceiling's height; the share they move in a second.
_CLOUD_POINTS, _CLOUD_MOVES = 24.0, 0.004
#: How much smaller the ground's fine grain is than its pattern.
_FINER = np.float32(37.0)
_POINTS_PER_M = np.float32(1.0 / GROUND_STEP_M)


def _colour(red: float, green: float, blue: float) -> Pixels:
    colour = np.array([red, green, blue])
    return np.asarray(colour / (colour @ _REC709), dtype=np.float32)


LAND, LAMP = _colour(0.9, 1.0, 1.1), _colour(1.5, 0.95, 0.4)
SKY_HIGH, SKY_LOW = _colour(0.75, 0.95, 1.35), _colour(1.3, 0.95, 0.7)


@dataclass(frozen=True)
class Aim:
    """Where the camera was and looked: metres from the launch point, degrees."""

    east_m: float
    north_m: float
    up_m: float
    heading_deg: float
    pitch_deg: float


@dataclass(frozen=True)
class Ground:
    """The ground's pattern, and the compass heading that its rows run along."""

    tile: Tile
    turned_deg: float


@dataclass(frozen=True)
class Scene:
    """All of a place that the camera may see, but for the light."""

    place: Place
    camera: Camera
    size: Size
    ground: Ground
    clouds: Tile
    tonight: Tonight


def focal_of(camera: Camera, size: Size) -> tuple[float, float]:
    """Focal length in pixels across and down a still; equal where it has the camera's aspect."""
    across, down = half_field_tangents(camera)
    return size[0] / 2.0 / across, size[1] / 2.0 / down


def pixel_of(
    aim: Aim, point: tuple[float, float, float], camera: Camera, size: Size
) -> tuple[float, float]:
    """Where a point (east, north, up) shows: pixels from the left and the top of the still.

    Middles of pixels lie at halves. The point must lie before the lens.
    """
    east, north, up = point[0] - aim.east_m, point[1] - aim.north_m, point[2] - aim.up_m
    heading, pitch = np.radians([aim.heading_deg, aim.pitch_deg])
    right = east * np.cos(heading) - north * np.sin(heading)
    level = east * np.sin(heading) + north * np.cos(heading)
    ahead = level * np.cos(pitch) + up * np.sin(pitch)
    above = up * np.cos(pitch) - level * np.sin(pitch)
    if ahead <= 0.0:
        raise ValueError("The point lies behind the lens.")
    focal = focal_of(camera, size)
    x, y = right / ahead * focal[0] + size[0] / 2.0, size[1] / 2.0 - above / ahead * focal[1]
    return float(x), float(y)


def ground_at(
    aim: Aim, pixel: tuple[float, float], camera: Camera, size: Size
) -> tuple[float, float, float] | None:
    """The point of the ground that shows at a pixel; None where that is sky."""
    focal = focal_of(camera, size)
    across, up = (pixel[0] - size[0] / 2.0) / focal[0], (size[1] / 2.0 - pixel[1]) / focal[1]
    heading, pitch = np.radians([aim.heading_deg, aim.pitch_deg])
    height = np.sin(pitch) + up * np.cos(pitch)
    if height >= -_LEVEL:
        return None
    reach = aim.up_m / -height
    level, right = (np.cos(pitch) - up * np.sin(pitch)) * reach, across * reach
    east = aim.east_m + level * np.sin(heading) + right * np.cos(heading)
    north = aim.north_m + level * np.cos(heading) - right * np.sin(heading)
    return float(east), float(north), 0.0


@dataclass(frozen=True)
class _Rays:
    """Rays of some rows, not normalised: right (cols,), level and height (rows, 1)."""

    right: Pixels
    level: Pixels
    height: Pixels
    pixel: float

    @property
    def altitude_deg(self) -> Pixels:
        altitude: Pixels = np.degrees(np.arctan2(self.height, np.hypot(self.right, self.level)))
        return altitude


def light_by_rows(
    scene: Scene, aim: Aim, light: SceneLight, frame: int, time_s: float
) -> Iterator[tuple[slice, Pixels]]:
    """Luminance of a still in cd/m² by colour, (3, rows, cols), as the lens gets it, in bands.

    Each band comes with the rows that it covers. `light` holds the luminances of all frames, of
    which `frame` is this one.
    """
    cols, rows = scene.size
    step = max(_BAND // cols, 1)
    even = _even_sky(scene, aim, light, frame, time_s)
    for first in range(0, rows, step):
        band = slice(first, min(first + step, rows))
        rays = _rays(scene, aim, middles(cols), middles(rows)[band])
        yield band, _seen(scene, aim, rays, light, frame, time_s, even)


def middles(count: int) -> FloatArray:
    """Middles of so many pixels, counted from the edge."""
    return np.asarray(np.arange(count) + 0.5, dtype=float)


def tangents(camera: Camera, size: Size, x: FloatArray, y: FloatArray) -> tuple[Pixels, Pixels]:
    """Rays through pixels, right (cols,) and up (rows, 1), at distance 1 before the lens."""
    focal = focal_of(camera, size)
    right, up = (x - size[0] / 2.0) / focal[0], (size[1] / 2.0 - y) / focal[1]
    return right.astype(np.float32), up.astype(np.float32)[:, None]


def _rays(scene: Scene, aim: Aim, x: FloatArray, y: FloatArray) -> _Rays:
    right, up = tangents(scene.camera, scene.size, x, y)
    pitch = np.radians(aim.pitch_deg)
    along, upward = np.float32(np.cos(pitch)), np.float32(np.sin(pitch))
    pixel = 1.0 / focal_of(scene.camera, scene.size)[1]
    return _Rays(right, along - up * upward, upward + up * along, pixel)


def _level(rays: _Rays, heading_deg: float) -> tuple[Pixels, Pixels]:
    """Level part of rays, east and north, with the middle of the picture at a heading."""
    heading = np.radians(heading_deg)
    ahead, aside = np.float32(np.cos(heading)), np.float32(np.sin(heading))
    return rays.right * ahead + rays.level * aside, rays.level * ahead - rays.right * aside


def _sky_cover(scene: Scene, aim: Aim, rays: _Rays) -> Pixels:
    """Share of each pixel that is sky, (rows, cols) or (rows, 1) over a flat horizon."""
    if not scene.place.skyline:
        flat: Pixels = np.clip(rays.height / np.float32(rays.pixel) + np.float32(0.5), 0.0, 1.0)
        return flat
    azimuth = aim.heading_deg + np.degrees(np.arctan2(rays.right, rays.level))
    ridge = np.maximum(skyline_altitude_deg(scene.place.skyline, azimuth), 0.0)
    above = np.radians(rays.altitude_deg - ridge.astype(np.float32))
    return np.clip(above / rays.pixel + np.float32(0.5), 0.0, 1.0)


def _seen(
    scene: Scene, aim: Aim, rays: _Rays, light: SceneLight, frame: int, time_s: float, even: float
) -> Pixels:
    cover = _sky_cover(scene, aim, rays)
    seen: Pixels = np.zeros((3, len(rays.level), len(rays.right)), dtype=np.float32)
    if cover.min() < 1.0:
        land, lamp = _ground(scene, aim, rays, light, frame)
        land, lamp = (1.0 - cover) * land, (1.0 - cover) * lamp
        for colour in range(3):
            seen[colour] += land * LAND[colour] + lamp * LAMP[colour]
    if cover.max() > 0.0:
        stops, warm = _sky_stops(scene, aim, rays, light, frame, time_s)
        sky = cover * np.exp2(stops + np.float32(light.sky_log2[frame] - even))
        for colour in range(3):
            high, low = SKY_HIGH[colour], SKY_LOW[colour]
            seen[colour] += sky * (high + warm * (low - high))
    return seen


def _ground(
    scene: Scene, aim: Aim, rays: _Rays, light: SceneLight, frame: int
) -> tuple[Pixels, Pixels]:
    """The ground by daylight and by lamplight; its pattern stands still as the camera moves."""
    down: Pixels = np.maximum(-rays.height, np.float32(_LEVEL))
    reach: Pixels = np.float32(aim.up_m) / down
    turned = np.radians(scene.ground.turned_deg)
    east = aim.east_m * np.cos(turned) - aim.north_m * np.sin(turned)
    north = aim.east_m * np.sin(turned) + aim.north_m * np.cos(turned)
    level_x, level_y = _level(rays, aim.heading_deg - scene.ground.turned_deg)
    x: Pixels = (level_x * reach + np.float32(east)) * _POINTS_PER_M
    y: Pixels = (level_y * reach + np.float32(north)) * _POINTS_PER_M
    # A pixel covers most along the line of sight: d(level)/d(up) = height above ground / down².
    covers = np.log2(np.maximum(reach / down, reach) * np.float32(rays.pixel) * _POINTS_PER_M)
    pattern = scene.ground.tile.read(x, y, covers)
    # What large stills resolve beyond the pattern's points: the same pattern, much smaller.
    near = np.clip(-1.0 - covers, 0.0, 1.0)
    if near.any():
        fine = scene.ground.tile.read(x * _FINER, y * _FINER, covers + np.log2(_FINER))
        pattern = pattern * (1.0 + near * (fine.real - 1.0))
    land, lamp = (np.float32(2.0 ** values[frame]) for values in (light.land_log2, light.lamp_log2))
    return land * pattern.real, lamp * pattern.imag


def _sky_stops(
    scene: Scene, aim: Aim, rays: _Rays, light: SceneLight, frame: int, time_s: float
) -> tuple[Pixels, Pixels]:
    """The sky's gradient and clouds in stops, and how warm it is from 0 to 1."""
    altitude = np.maximum(rays.altitude_deg, np.float32(0.0))
    _, toward_sun = _level(rays, aim.heading_deg - float(light.sun_azimuth_deg[frame]))
    toward_sun /= np.hypot(rays.right, rays.level)
    glow = np.exp(altitude * np.float32(-1.0 / _GLOW_DEG)) * (toward_sun + 1.0) / 2.0
    warm = np.exp(altitude * np.float32(-1.0 / _WARM_DEG))
    # Clouds hang on a level ceiling that the wind takes along.
    ceiling = np.float32(_CLOUD_POINTS) / (np.maximum(rays.height, 0.0) + np.float32(0.1))
    moved = _CLOUD_MOVES * _CLOUD_POINTS * (time_s % 86400.0)
    x, y = _level(rays, aim.heading_deg)
    x, y = x * ceiling + np.float32(moved), y * ceiling
    covers = np.log2(np.maximum(ceiling * np.float32(rays.pixel), 1.0))
    clouds = scene.clouds.read(x, y, covers).real
    tonight = scene.tonight
    stops = np.float32(tonight.glow_stops) * glow + np.float32(tonight.cloud_stops) * clouds
    return stops, warm


def _even_sky(scene: Scene, aim: Aim, light: SceneLight, frame: int, time_s: float) -> float:
    """Log2 of the mean of the sky's gradient over the frame, which the true mean replaces."""
    cols, rows = (min(side, most) for side, most in zip(scene.size, (96, 72), strict=True))
    x, y = middles(cols) * scene.size[0] / cols, middles(rows) * scene.size[1] / rows
    rays = _rays(scene, aim, x, y)
    cover = np.broadcast_to(_sky_cover(scene, aim, rays), (rows, cols))
    if not cover.any():
        return 0.0
    stops, _ = _sky_stops(scene, aim, rays, light, frame, time_s)
    return float(np.log2((cover * np.exp2(stops)).sum() / cover.sum()))
