"""What the lens sees: a pinhole without roll over flat ground, and where it puts a point."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

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
_CLOUD_M_S, _CLOUD_STEP = 0.004, 24.0


def _colour(red: float, green: float, blue: float) -> Pixels:
    colour = np.array([red, green, blue])
    return (colour / (colour @ _REC709)).astype(np.float32)


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
        return np.degrees(np.arctan2(self.height, np.hypot(self.right, self.level)))


def light_of_rows(scene: Scene, aim: Aim, light: SceneLight, frame: int, time_s: float) -> Pixels:
    """Luminance of a whole still in cd/m² by colour, (rows, cols, 3), as the lens gets it.

    `light` holds the luminances of all frames, of which `frame` is this one.
    """
    cols, rows = scene.size
    still = np.empty((rows, cols, 3), dtype=np.float32)
    step = max(_BAND // cols, 1)
    even = _even_sky(scene, aim, light, frame, time_s)
    for first in range(0, rows, step):
        last = min(first + step, rows)
        rays = _rays(scene, aim, np.arange(first, last) + 0.5, np.arange(cols) + 0.5)
        still[first:last] = _seen(scene, aim, rays, light, frame, time_s, even)
    return still


def _rays(scene: Scene, aim: Aim, y: np.ndarray, x: np.ndarray) -> _Rays:
    focal = focal_of(scene.camera, scene.size)
    right = (x - scene.size[0] / 2.0) / focal[0]
    up = ((scene.size[1] / 2.0 - y) / focal[1])[:, None]
    pitch = np.radians(aim.pitch_deg)
    level, height = np.cos(pitch) - up * np.sin(pitch), np.sin(pitch) + up * np.cos(pitch)
    return _Rays(*(part.astype(np.float32) for part in (right, level, height)), 1.0 / focal[1])


def _sky_cover(scene: Scene, aim: Aim, rays: _Rays) -> Pixels:
    """Share of each pixel that is sky, (rows, cols) or (rows, 1) over a flat horizon."""
    if not scene.place.skyline:
        return np.clip(rays.height / rays.pixel + 0.5, 0.0, 1.0)
    azimuth = aim.heading_deg + np.degrees(np.arctan2(rays.right, rays.level))
    ridge = np.maximum(skyline_altitude_deg(scene.place.skyline, azimuth), 0.0)
    above = np.radians(rays.altitude_deg - ridge.astype(np.float32))
    return np.clip(above / rays.pixel + np.float32(0.5), 0.0, 1.0)


def _seen(
    scene: Scene, aim: Aim, rays: _Rays, light: SceneLight, frame: int, time_s: float, even: float
) -> Pixels:
    cover = _sky_cover(scene, aim, rays)
    seen: Pixels = np.zeros((len(rays.level), len(rays.right), 3), dtype=np.float32)
    if cover.min() < 1.0:
        seen += (1.0 - cover)[..., None] * _ground(scene, aim, rays, light, frame)
    if cover.max() > 0.0:
        stops, warm = _sky_stops(scene, aim, rays, light, frame, time_s)
        mean = light.sky_log2[frame] - even
        colour = SKY_HIGH + warm[..., None] * (SKY_LOW - SKY_HIGH)
        seen += (cover * np.exp2(stops + np.float32(mean)))[..., None] * colour
    return seen


def _ground(scene: Scene, aim: Aim, rays: _Rays, light: SceneLight, frame: int) -> Pixels:
    """Luminance of the ground, whose pattern stands still while the camera moves."""
    down = np.maximum(-rays.height, np.float32(_LEVEL))
    reach = np.float32(aim.up_m) / down
    right, level = rays.right * reach, rays.level * reach
    turn = np.radians(aim.heading_deg - scene.ground.turned_deg)
    turned = np.radians(scene.ground.turned_deg)
    east = aim.east_m * np.cos(turned) - aim.north_m * np.sin(turned)
    north = aim.east_m * np.sin(turned) + aim.north_m * np.cos(turned)
    x = np.float32(east) + level * np.float32(np.sin(turn)) + right * np.float32(np.cos(turn))
    y = np.float32(north) + level * np.float32(np.cos(turn)) - right * np.float32(np.sin(turn))
    # A pixel covers most along the line of sight: d(level)/d(up) = height above ground / down².
    covers = np.log2(np.maximum(reach / down, reach) * np.float32(rays.pixel / GROUND_STEP_M))
    pattern = scene.ground.tile.read(x / GROUND_STEP_M, y / GROUND_STEP_M, covers)
    land, lamp = (np.float32(2.0 ** values[frame]) for values in (light.land_log2, light.lamp_log2))
    return (land * pattern.real)[..., None] * LAND + (lamp * pattern.imag)[..., None] * LAMP


def _sky_stops(
    scene: Scene, aim: Aim, rays: _Rays, light: SceneLight, frame: int, time_s: float
) -> tuple[Pixels, Pixels]:
    """The sky's gradient and clouds in stops, and how warm it is from 0 to 1."""
    altitude = np.maximum(rays.altitude_deg, np.float32(0.0))
    apart = np.radians(aim.heading_deg - light.sun_azimuth_deg[frame])
    toward = rays.level * np.float32(np.cos(apart)) - rays.right * np.float32(np.sin(apart))
    toward /= np.hypot(rays.right, rays.level)
    glow = np.exp(altitude * np.float32(-1.0 / _GLOW_DEG)) * (toward + 1.0) / 2.0
    warm = np.exp(altitude * np.float32(-1.0 / _WARM_DEG))
    heading = np.radians(aim.heading_deg)
    # Clouds hang on a level ceiling that the wind takes along.
    ceiling = np.float32(_CLOUD_STEP) / (np.maximum(rays.height, 0.0) + np.float32(0.1))
    moved = _CLOUD_M_S * _CLOUD_STEP * (time_s % 86400.0)
    x = ceiling * (
        rays.right * np.float32(np.cos(heading)) + rays.level * np.float32(np.sin(heading))
    ) + np.float32(moved)
    y = ceiling * (
        rays.level * np.float32(np.cos(heading)) - rays.right * np.float32(np.sin(heading))
    )
    covers = np.log2(np.maximum(ceiling * np.float32(rays.pixel), 1.0))
    clouds = scene.clouds.read(x, y, covers).real
    tonight = scene.tonight
    stops = np.float32(tonight.glow_stops) * glow + np.float32(tonight.cloud_stops) * clouds
    return stops, warm


def _even_sky(scene: Scene, aim: Aim, light: SceneLight, frame: int, time_s: float) -> float:
    """Log2 of the mean of the sky's gradient over the frame, which the true mean replaces."""
    cols, rows = (min(side, most) for side, most in zip(scene.size, (96, 72), strict=True))
    y = (np.arange(rows) + 0.5) * scene.size[1] / rows
    x = (np.arange(cols) + 0.5) * scene.size[0] / cols
    rays = _rays(scene, aim, y, x)
    cover = np.broadcast_to(_sky_cover(scene, aim, rays), (rows, cols))
    if not cover.any():
        return 0.0
    stops, _ = _sky_stops(scene, aim, rays, light, frame, time_s)
    return float(np.log2((cover * np.exp2(stops)).sum() / cover.sum()))
