"""What a path and a lens make move in the picture, however long the take is."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from core.exposure import FloatArray
from core.path import focal_px, half_field_tangents, poses_along, time_law
from core.plan import Camera, Path
from core.readonly import read_only

#: Instants of the take that stand for it.
SAMPLES = 201


@dataclass(frozen=True)
class Sweep:
    """Arrays are (`SAMPLES`,), over shares of the take's time.

    Attributes
    ----------
    focal_px
        Focal length in pixels of the picture.
    share
        Share of the take's time, 0 to 1.
    turn_px
        How fast the camera turns, in pixels per whole take: divided by the take's seconds it
        is pixels a second.
    scenery_px
        How fast the nearest ground moves in the picture by flight and turn together.
    near_m, middle_m
        Slant range to the nearest ground in the picture and to the middle of that ground;
        infinite where it sees none.
    height_m, top_deg
        Greatest height of the path, and the highest altitude that the picture reaches.

    """

    focal_px: float
    share: FloatArray
    turn_px: FloatArray
    scenery_px: FloatArray
    near_m: FloatArray
    middle_m: FloatArray
    height_m: float
    top_deg: float


def sweep_of(path: Path, camera: Camera, width_px: float) -> Sweep:
    """Follow the camera along a path as flown, for a picture so many pixels wide.

    Slant range to flat ground: height over the sine of the depression. Pixels are those on
    the axis of the lens, focal length times angle: at the edge of a wide picture it is more.
    """
    share = np.linspace(0.0, 1.0, SAMPLES)
    poses = poses_along(path, time_law(path, share))
    focal = focal_px(camera, width_px)
    half_deg = math.degrees(math.atan(half_field_tangents(camera)[1]))
    lowest = np.minimum(half_deg - poses.pitch_deg, 90.0)
    highest = np.clip(-poses.pitch_deg - half_deg, 0.0, None)
    near_m = _ranges_m(poses.up_m, lowest)
    heading, pitch = np.unwrap(np.radians(poses.heading_deg)), np.radians(poses.pitch_deg)
    turns = np.gradient(heading, share), np.gradient(pitch, share)
    places = np.stack([poses.east_m, poses.north_m, poses.up_m], axis=1)
    flown = np.gradient(places, share, axis=0) / near_m[:, None]
    return read_only(
        Sweep(
            focal_px=focal,
            share=share,
            turn_px=focal * np.hypot(turns[0] * np.cos(pitch), turns[1]),
            scenery_px=focal * _passing(heading, np.radians(lowest), flown, turns),
            near_m=near_m,
            middle_m=_ranges_m(poses.up_m, (lowest + highest) / 2.0),
            height_m=float(poses.up_m.max()),
            top_deg=float((poses.pitch_deg + half_deg).max()),
        )
    )


def _ranges_m(up_m: FloatArray, depression_deg: FloatArray) -> FloatArray:
    """Slant range to flat ground, infinite from the horizon up."""
    sine = np.sin(np.radians(depression_deg))
    return np.asarray(np.divide(up_m, sine, out=np.full_like(up_m, np.inf), where=sine > 0.0))


def _passing(
    heading: FloatArray, down: FloatArray, flown: FloatArray, turns: tuple[FloatArray, FloatArray]
) -> FloatArray:
    """Angle per whole take by which a fixed point ahead and `down` moves in the picture.

    `flown` is the way in ranges of the point, (n, 3); `turns` of heading and pitch.
    """
    sin_h, cos_h, sin_d, cos_d = np.sin(heading), np.cos(heading), np.sin(down), np.cos(down)
    across = -(flown[:, 0] * cos_h - flown[:, 1] * sin_h) - turns[0] * cos_d
    ahead = flown[:, 0] * sin_h + flown[:, 1] * cos_h
    rising = -(ahead * sin_d + flown[:, 2] * cos_d) - turns[1]
    return np.asarray(np.hypot(across, rising))
