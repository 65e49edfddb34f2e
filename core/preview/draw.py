"""Drawing one frame in linear light: ground and town, far land and ridges, sky and discs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.place import skyline_altitude_deg
from core.preview.discs import disc_cover
from core.preview.heavens import KOSCHMIEDER, air_rgb, bearings, sky_rgb
from core.preview.scene import Scene
from core.preview.town import PLAIN_RGB, town_at
from core.preview.view import Pixels, Screen, View, first_ground_row, ground_points, view_of
from core.sky.spectrum import LUMINANCE_OF_RGB

#: The town fades into plain land between these distances, and from the second one on haze
#: lies over the land: nearer, the model's luminances hold as they are. Our choice.
TOWN_FADES_M = (900.0, 1500.0)
#: How far a skyline of 1 degree or more stands; a lower one stands farther in proportion. A
#: plan does not say: our choice.
SKYLINE_M = 5000.0
_ENDLESS_M = np.float32(np.inf)
_LUMINANCE = LUMINANCE_OF_RGB.astype(np.float32)


@dataclass(frozen=True)
class Canvas:
    """One frame being drawn, (rows, cols, 3) in cd/m² and the parts' shares (rows, cols)."""

    rgb: Pixels
    sky_share: Pixels
    street_share: Pixels
    land_share: Pixels


def draw(canvas: Canvas, scene: Scene, screen: Screen, number: int) -> None:
    """Fill a canvas, whose shares are 0, with the scene's frame of that number."""
    poses = scene.poses
    heading, pitch = float(poses.heading_deg[number]), float(poses.pitch_deg[number])
    view = view_of(screen, heading, pitch)
    first = first_ground_row(view)
    distance = np.full((len(view.height), len(view.across)), np.inf, dtype=np.float32)
    canvas.rgb[:first] = _plain(scene, number)
    if first < len(view.height):
        ground = view.rows(first, len(view.height))
        distance[first:] = _draw_ground(canvas, scene, ground, first, number)
    _draw_distance(canvas, scene, view, distance, number)
    _draw_discs(canvas, scene, screen, view, pitch, number)


def _plain(scene: Scene, number: int) -> Pixels:
    """Land without a town, under the frame's daylight, in cd/m²."""
    daylight = scene.daylight[number]
    reflected = PLAIN_RGB * daylight
    return np.asarray(reflected * ((_LUMINANCE @ daylight) / (_LUMINANCE @ reflected)))


def _draw_ground(canvas: Canvas, scene: Scene, view: View, first: int, number: int) -> Pixels:
    """Draw town and plain land from a row on; return how far the ground is, in m."""
    poses = scene.poses
    east, north, up = (float(a[number]) for a in (poses.east_m, poses.north_m, poses.up_m))
    points = ground_points(view, east, north, up)
    near_m, far_m = TOWN_FADES_M
    far = _soft((points.distance_m - near_m) / (far_m - near_m))
    town = town_at(points, scene.lit_share)
    street = town.street * (1.0 - far)
    land = (1.0 - street) * (1.0 - far)
    daylight, lamplight = scene.daylight[number], scene.lamplight[number]
    # What reflected colours weigh in the luminance depends on the colour that lights them.
    weights = _LUMINANCE * daylight / (_LUMINANCE @ daylight)
    blocks = town.blocks * _evening_out(town.blocks @ weights, land)
    lamps = town.lamplight * (_evening_out(town.lamplight, street) * street)
    cover = street[..., None]
    rgb = (blocks + cover * (1.0 - blocks)) * daylight
    rgb += far[..., None] * (_plain(scene, number) - rgb)
    canvas.rgb[first:] = rgb + lamps[..., None] * lamplight
    canvas.street_share[first:] = street
    canvas.land_share[first:] = land
    return points.distance_m


def _evening_out(luminance: Pixels, weight: Pixels) -> float:
    """The factor that gives a texture a mean of 1 over the weighted part of the frame.

    Over a whole town it is 1 already; a frame shows only some of it.
    """
    total, light = float(weight.sum()), float((luminance * weight).sum())
    return total / light if total > 1e-3 and light > 1e-3 * total else 1.0


def _draw_distance(
    canvas: Canvas, scene: Scene, view: View, distance_m: Pixels, number: int
) -> None:
    """Lay haze over what is far, and the sky above the skyline, on the upper rows."""
    last = _last_distant_row(view, scene, distance_m)
    upper, rgb = view.rows(0, last), canvas.rgb[:last]
    altitude, azimuth = upper.altitude_deg(), upper.azimuth_deg()
    at = bearings(azimuth - float(scene.sun_azimuth_deg[number]))
    ridge = _skyline(scene, azimuth)
    haze = _haze_share(np.minimum(distance_m[:last], _ridge_distance_m(ridge)), scene)
    rgb += haze[..., None] * (air_rgb(scene.heavens.air[number], at) - rgb)
    cover = np.clip((altitude - ridge) / upper.row_height_deg() + 0.5, 0.0, 1.0)
    above = int((cover.max(axis=1, initial=0.0) > 0.0).sum())
    seen = cover[:above]
    sky = sky_rgb(scene.heavens.log2_rgb[number], altitude[:above], at.rows(above))
    rgb[:above] += seen[..., None] * (sky - rgb[:above])
    canvas.sky_share[:above] = seen
    canvas.street_share[:above] *= 1.0 - seen
    canvas.land_share[:above] *= 1.0 - seen


def _last_distant_row(view: View, scene: Scene, distance_m: Pixels) -> int:
    """Rows, counted from the top, that show haze or may show sky."""
    lowest = min((altitude for _, altitude in scene.skyline), default=0.0)
    edge = float(np.abs(view.across).max())
    corner = np.arctan2(view.height[:, 0], np.hypot(edge, view.forward[:, 0]))
    middle = np.arctan2(view.height[:, 0], np.abs(view.forward[:, 0]))
    highest_deg = np.degrees(np.maximum(corner, middle) + view.pixel_up)
    distant = (highest_deg > lowest) | (distance_m.max(axis=1) > TOWN_FADES_M[1])
    return int(np.flatnonzero(distant)[-1]) + 1 if distant.any() else 0


def _skyline(scene: Scene, azimuth_deg: Pixels) -> Pixels:
    if not scene.skyline:
        return np.zeros_like(azimuth_deg)
    return skyline_altitude_deg(scene.skyline, azimuth_deg).astype(np.float32)


def _draw_discs(
    canvas: Canvas, scene: Scene, screen: Screen, view: View, pitch_deg: float, number: int
) -> None:
    """Add sun and moon behind the skyline; their pixels are no longer the model's sky."""
    for disc in scene.discs[number]:
        found = disc_cover(disc, screen, view.heading_deg, pitch_deg)
        if found is None:
            continue
        rows, cols, lit = found
        sky = canvas.sky_share[rows, cols]
        canvas.rgb[rows, cols] += (lit * sky)[..., None] * disc.rgb.astype(np.float32)
        sky[lit > 0.0] = 0.0


def _ridge_distance_m(ridge_deg: Pixels) -> Pixels:
    return np.where(ridge_deg > 0.0, SKYLINE_M / np.clip(ridge_deg, 1e-3, 1.0), _ENDLESS_M)


def _haze_share(distance_m: Pixels, scene: Scene) -> Pixels:
    """Share of the haze's own light in what is seen so far away: Koschmieder 1924."""
    per_m = np.float32(KOSCHMIEDER / 1000.0 / scene.visibility_km)
    return np.asarray(1.0 - np.exp(-per_m * np.maximum(distance_m - TOWN_FADES_M[1], 0.0)))


def _soft(share: Pixels) -> Pixels:
    x = np.clip(share, 0.0, 1.0)
    return np.asarray(x * x * (3.0 - 2.0 * x))
